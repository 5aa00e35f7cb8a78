#include "app/workflow.h"

#include <algorithm>

#include "geo/store/store.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace {

models::Progress share_of(const models::Progress& progress, double from, double to) {
    return models::Progress([&progress, from, to](std::string_view what, double share) {
        progress.step(what, from + share * (to - from));
        return true;
    });
}

std::vector<FieldView> fields_of_season(const SeasonView& view) {
    std::vector<FieldView> fields;
    std::vector<const FieldRisk*> risk_by_crop(view.data.crops.size(), nullptr);
    for (const FieldRisk& risk : view.risks) risk_by_crop[risk.crop] = &risk;
    std::vector<int> load_tests(view.contamination.input.field_seasons.size(), 0);
    for (const models::AssayResult& result : view.contamination.input.results) {
        const models::GrainSample& sample = view.contamination.input.samples[result.sample];
        if (sample.from != models::SampledGrain::load) continue;
        for (const models::GrainShare& part : view.contamination.input.loads[sample.index].parts) {
            ++load_tests[part.field_season];
        }
    }
    for (std::size_t c = 0; c < view.data.crops.size(); ++c) {
        const models::CropRecord& crop = view.data.crops[c];
        if (crop.season != view.season) continue;
        FieldView field;
        field.crop = c;
        field.name = ground_name(crop.field, crop.part);
        field.outline = outline_of(view.data, crop.field, crop.part);
        if (risk_by_crop[c] != nullptr) field.risk = risk_by_crop[c]->risk.value;
        const auto index =
            c < view.contamination.field_season_of.size() ? view.contamination.field_season_of[c] : std::nullopt;
        if (!index) {
            field.note = "no wheat this season";
        } else if (view.contamination.ranking_only()) {
            field.note = "no DON result in the store: a ranking only";
        } else {
            field.content = view.contamination.model->field_season(*index);
            if (field.content) field.tests = field.content->tests;
            field.load_tests = load_tests[*index];
            if (view.limit)
                field.exceedance =
                    view.contamination.model->exceedance(*index, models::breaking_point(*view.limit).mg_per_kg);
        }
        fields.push_back(std::move(field));
    }
    std::sort(fields.begin(), fields.end(), [](const FieldView& a, const FieldView& b) { return a.name < b.name; });
    return fields;
}

}  // namespace

SeasonView look_at_season(const geo::Store& store, const Question& question, const models::Progress& progress) {
    SeasonView view;
    view.data = read_season_data(store);
    view.season = question.season.value_or(newest_season(view.data));
    if (!std::binary_search(view.data.seasons.begin(), view.data.seasons.end(), view.season)) {
        std::string known;
        for (const int season : view.data.seasons) known += (known.empty() ? "" : ", ") + std::to_string(season);
        throw models::Error("the store has no crop records of season " + std::to_string(view.season),
                            store.file().filename().string(), "it has " + (known.empty() ? "none at all" : known));
    }
    if (!question.limit.empty()) view.limit = limit_for_season(view.data, question.limit, view.season);

    // What the weather says of every field, in this season and, to learn from, in the ones before.
    RiskSettings risk;
    risk.model = question.risk_model;
    risk.as_of = question.as_of;
    risk.all_seasons = question.upto != Upto::risk;
    view.risks = risks_of_season(store, view.data, view.season, risk, share_of(progress, 0.0, 0.2));
    view.fields = fields_of_season(view);
    if (question.upto == Upto::risk) return view;

    // Risk and results of all seasons in one model.
    ContaminationSettings contamination;
    contamination.season = view.season;
    contamination.hindsight = question.hindsight;
    contamination.threads = question.threads;
    if (view.limit) contamination.basis = view.limit->basis;
    view.contamination = contamination_of_season(view.data, view.risks, contamination, share_of(progress, 0.2, 0.6));
    view.fields = fields_of_season(view);
    if (question.upto == Upto::contamination) return view;

    // Inside a field only where the samples show that there is something to draw.
    const bool everything = question.upto == Upto::everything;
    if (view.limit && (question.upto == Upto::map || everything)) {
        view.within = maps_within_fields(view.data, *view.limit, contamination, share_of(progress, 0.6, 0.75));
        view.structure = structure_of(view.within);
    }

    // Where the next test is worth most.
    if (view.limit && (question.upto == Upto::first || everything)) {
        OrderSettings order = question.order;
        order.season = view.season;
        order.threads = question.threads;
        view.order = order_of_fields(view.data, view.risks, view.contamination, *view.limit, order,
                                     share_of(progress, 0.75, 0.9));
    }

    // What is in the bins, and where each waiting load goes. Contents of loads are kept as is, whatever the map's
    // basis.
    if (question.upto == Upto::bins || (everything && !view.data.bins.empty())) {
        BinsSettings bins;
        bins.season = view.season;
        bins.next = question.next_load;
        if (contamination.basis == models::Basis::as_is) {
            view.bins = bins_of_season(view.data, view.contamination, bins, share_of(progress, 0.9, 1.0));
        } else {
            contamination.basis = models::Basis::as_is;
            const ContaminationView as_is = contamination_of_season(view.data, view.risks, contamination);
            view.bins = bins_of_season(view.data, as_is, bins, share_of(progress, 0.9, 1.0));
        }
    } else if (view.data.bins.empty()) {
        view.no_bins = "the store has no bins";
    }
    return view;
}

const FieldRisk* risk_of(const SeasonView& view, std::size_t crop) {
    for (const FieldRisk& risk : view.risks) {
        if (risk.crop == crop) return &risk;
    }
    return nullptr;
}

}  // namespace app
