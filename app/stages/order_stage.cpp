#include "app/stages/order_stage.h"

#include <algorithm>

#include "models/error.h"

namespace app {

namespace {

std::optional<double> cost_named(const SeasonData& data, const std::string& name) {
    for (const models::Cost& cost : data.costs) {
        if (cost.name == name) return cost.value;
    }
    return std::nullopt;
}

int tests_of_season(const SeasonData& data, const models::CropRecord& crop) {
    int tests = 0;
    for (const models::Test& test : data.tests) {
        if (test.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, test.sample);
        if (!s || *s >= data.joined.samples.size()) continue;
        const geo::SampleJoin& join = data.joined.samples[*s];
        if (join.field != crop.field || (!join.part.empty() && !crop.part.empty() && join.part != crop.part)) continue;
        if (season_of_test(data, test) == crop.season) ++tests;
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
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        const models::CropRecord& crop = data.crops[c];
        if (crop.season != settings.season || !view.field_season_of[c]) continue;
        models::FieldToTest field;
        field.field = ground_name(crop.field, crop.part);
        const ExpectedTonnes tonnes = expected_tonnes(data, crop);
        field.tonnes = std::max(tonnes.tonnes, 1e-6);
        tonnes_assumed = tonnes_assumed || tonnes.assumed;
        field.tests_so_far = tests_of_season(data, crop);
        field.status = crop.status.value_or(models::FieldStatus::standing);
        field.expected_cut_date = crop.expected_cut_date;
        for (const FieldRisk& risk : risks) {
            if (risk.crop == c) field.risk = risk.risk.value;
        }
        problem.fields.push_back(std::move(field));
        columns.push_back(*view.field_season_of[c]);
    }
    if (problem.fields.empty()) {
        throw models::Error("season " + std::to_string(settings.season) + " has no wheat fields to rank", "",
                            "import a crops table for it, or name another season");
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
    problem.costs = {cost_named(data, "wrong_acceptance_per_t"), cost_named(data, "wrong_rejection_per_t"),
                     cost_named(data, "test")};
    problem.today = settings.today;
    problem.days_to_result = settings.days_to_result;
    problem.tests = settings.tests;
    problem.repeat = settings.repeat;
    problem.seed = settings.seed;
    problem.threads = std::max(1, settings.threads);
    models::TestOrder order = models::order_of_tests(problem, progress);
    if (tonnes_assumed) {
        order.says +=
            " Where a field's yield is not recorded, the median of the season's yields stands in (one tonne a "
            "hectare where none is).";
    }
    return order;
}

}  // namespace app
