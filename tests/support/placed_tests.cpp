#include "tests/support/placed_tests.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

namespace season_simulator {

TestedSeason::TestedSeason(World world, std::uint64_t seed, double limit_mg_per_kg, double wrong_acceptance_per_t,
                           models::ContaminationSettings settings, models::ContaminationPriors priors)
    : world_(std::move(world)),
      seed_(seed),
      limit_mg_per_kg_(limit_mg_per_kg),
      wrong_acceptance_per_t_(wrong_acceptance_per_t),
      settings_(settings),
      priors_(priors) {
    // Every field tested once: those of a shorter list read the same.
    world_.placement = Placement::random;
    world_.tests = world_.fields;
    truth_ = simulate(world_, seed_);
}

models::ContaminationInput TestedSeason::input_after(const std::vector<int>& fields) const {
    World world = world_;
    world.placement = Placement::given;
    world.order = fields;
    world.tests = static_cast<int>(fields.size());
    return input_of(simulate(world, seed_));
}

const models::ContaminationModel& TestedSeason::after(const std::vector<int>& fields) {
    std::vector<int> ascending = fields;
    std::sort(ascending.begin(), ascending.end());
    const auto found = fits_.find(ascending);
    if (found != fits_.end()) return found->second;
    return fits_.emplace(ascending, models::fit_contamination(input_after(ascending), priors_, settings_))
        .first->second;
}

models::TestOrderProblem TestedSeason::problem_after(const std::vector<int>& fields, bool knows_costs, int tests) {
    const models::ContaminationModel& model = after(fields);
    models::TestOrderProblem problem;
    problem.draws_mg_per_kg = model.draws(2000, 1).middleCols(static_cast<Eigen::Index>(first_index()), world_.fields);
    for (int f = 0; f < world_.fields; ++f) {
        const std::size_t index = first_index() + static_cast<std::size_t>(f);
        models::FieldToTest& field = problem.fields.emplace_back();
        field.field = std::to_string(f);
        field.tonnes = 100.0;
        field.risk = 1.0 / (1.0 + std::exp(-truth_.risk_logit.back()[static_cast<std::size_t>(f)]));
        field.exceedance = model.exceedance(index, limit_mg_per_kg_);
        field.tests_so_far = static_cast<int>(std::count(fields.begin(), fields.end(), f));
    }
    problem.limit.limit_mg_per_kg = limit_mg_per_kg_;
    problem.law = model.reading_law({});
    if (knows_costs) {
        problem.costs.wrong_acceptance_per_t = wrong_acceptance_per_t_;
        problem.costs.wrong_rejection_per_t = 1.0;
    }
    problem.tests = tests;
    return problem;
}

std::vector<int> TestedSeason::fields_tested(const WayOfTesting& way, int tests) {
    tests = std::min(tests, world_.fields);
    std::vector<int> fields;
    if (way.by == WayOfTesting::By::random) {
        // The simulator's own: one reading a field, in the order of testing.
        for (const Reading& reading : truth_.readings)
            if (reading.season == world_.past_seasons && static_cast<int>(fields.size()) < tests)
                fields.push_back(reading.field);
        return fields;
    }
    while (static_cast<int>(fields.size()) < tests) {
        const int left = tests - static_cast<int>(fields.size());
        const int batch = way.batch > 0 ? std::min(way.batch, left) : left;
        const models::TestOrderProblem problem = problem_after(fields, way.knows_costs, batch);
        const models::TestOrder order =
            way.by == WayOfTesting::By::value
                ? models::order_of_tests(problem)
                : models::plain_order(problem, way.by == WayOfTesting::By::chance ? models::PlainOrder::exceedance
                                                                                  : models::PlainOrder::risk);
        int taken = 0;
        for (const models::RankedField& ranked : order.fields) {
            if (taken == batch) break;
            int f = 0;
            std::from_chars(ranked.field.data(), ranked.field.data() + ranked.field.size(), f);
            // The habits are asked about every field; only untested ones are left here.
            if (std::count(fields.begin(), fields.end(), f) > 0) continue;
            fields.push_back(f);
            ++taken;
        }
    }
    return fields;
}

}  // namespace season_simulator
