#include "app/stages/order_stage.h"

#include <algorithm>
#include <map>
#include <thread>
#include <utility>

#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app {

namespace {

std::optional<double> cost_named(const SeasonData& data, const std::string& name) {
    for (const models::Cost& cost : data.costs) {
        if (cost.name == name) return cost.value;
    }
    return std::nullopt;
}

/// Valid tests of the season, by field and part of their samples.
std::map<std::pair<std::string, std::string>, int> tests_by_ground(const SeasonData& data, int season) {
    std::map<std::pair<std::string, std::string>, int> tests;
    for (const models::Test& test : data.tests) {
        if (test.reading == models::Reading::invalid || season_of_test(data, test) != season) continue;
        const auto s = sample_index(data, test.sample);
        if (!s || *s >= data.joined.samples.size() || data.joined.samples[*s].field.empty()) continue;
        ++tests[{data.joined.samples[*s].field, data.joined.samples[*s].part}];
    }
    return tests;
}

}  // namespace

models::ReadingLaw usual_test(const models::ContaminationModel& model) {
    return model.reading_law({});
}

models::TestOrder order_of_fields(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                  const ContaminationView& view, const models::Limit& limit,
                                  const OrderSettings& settings, const models::Progress& progress) {
    models::TestOrderProblem problem;
    std::vector<std::size_t> columns;
    bool tonnes_assumed = false;
    std::vector<const FieldRisk*> risk_by_crop(data.crops.size(), nullptr);
    for (const FieldRisk& risk : risks) risk_by_crop[risk.crop] = &risk;
    const auto tests = tests_by_ground(data, settings.season);
    const auto tests_at = [&tests](const std::string& name, const std::string& part) {
        const auto found = tests.find({name, part});
        return found == tests.end() ? 0 : found->second;
    };
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        const models::CropRecord& crop = data.crops[c];
        if (crop.season != settings.season || !view.field_season_of[c]) continue;
        models::FieldToTest field;
        field.field = ground_name(crop.field, crop.part);
        const ExpectedTonnes tonnes = expected_tonnes(data, crop);
        field.tonnes = std::max(tonnes.tonnes, 1e-6);
        tonnes_assumed = tonnes_assumed || tonnes.assumed;
        // A sample of the whole field speaks of each of its parts too.
        field.tests_so_far = tests_at(crop.field, crop.part) + (crop.part.empty() ? 0 : tests_at(crop.field, ""));
        field.status = crop.status.value_or(models::FieldStatus::standing);
        field.expected_cut_date = crop.expected_cut_date;
        if (risk_by_crop[c] != nullptr) field.risk = risk_by_crop[c]->risk.value;
        if (!view.ranking_only()) {
            field.exceedance =
                view.model->exceedance(*view.field_season_of[c], models::breaking_point(limit).mg_per_kg);
        }
        problem.fields.push_back(std::move(field));
        columns.push_back(*view.field_season_of[c]);
    }
    if (problem.fields.empty()) {
        throw models::Error(models::phrase("season {} has no wheat fields to rank", settings.season), "",
                            models::phrase("import a crops table for it, or name another season"));
    }
    if (!view.ranking_only()) {
        const Eigen::MatrixXd all = view.model->draws(settings.draws, settings.seed);
        problem.draws_mg_per_kg.resize(all.rows(), static_cast<Eigen::Index>(columns.size()));
        for (std::size_t f = 0; f < columns.size(); ++f) {
            problem.draws_mg_per_kg.col(static_cast<Eigen::Index>(f)) = all.col(static_cast<Eigen::Index>(columns[f]));
        }
        problem.law = usual_test(*view.model);
    }
    problem.limit = limit;
    problem.costs = {cost_named(data, "wrong_acceptance_per_t"),
                     cost_named(data, "wrong_rejection_per_t"),
                     cost_named(data, "test"),
                     cost_named(data, "sample"),
                     cost_named(data, "hour"),
                     settings.hours_per_test};
    problem.today = settings.today;
    problem.days_to_result = settings.days_to_result;
    problem.tests = settings.tests;
    problem.repeat = settings.repeat;
    problem.seed = settings.seed;
    problem.threads =
        settings.threads > 0 ? settings.threads : static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
    models::TestOrder order = models::order_of_tests(problem, progress);
    if (order.unit == models::GainUnit::money && problem.costs.hour && !(settings.hours_per_test > 0.0)) {
        order.says += models::phrase(" The cost of an hour is not in it: nobody said how many hours a test takes.");
    }
    if (tonnes_assumed) {
        order.says += models::phrase(
            " Where a field's yield is not recorded, the median of the season's yields stands in (one tonne a "
            "hectare where none is).");
    }
    return order;
}

}  // namespace app
