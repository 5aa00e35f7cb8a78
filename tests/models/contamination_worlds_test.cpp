// The fitted model as worlds: the same draws as the model's own, and what a later result makes of them.
#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "models/contamination/worlds.h"
#include "models/decision/bin_probe.h"
#include "models/decision/expected.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

/// Eight fields, each tested once; of each two loads, the first of them tested, and a load of two fields, a bought one.
ContaminationInput season_with_loads() {
    ContaminationInput input;
    const auto sampled = [&](SampledGrain from, std::size_t index, double don) {
        GrainSample sample;
        sample.sample = "S" + std::to_string(input.samples.size());
        sample.from = from;
        sample.index = index;
        sample.increments = 10;
        sample.mass_g = 1000.0;
        input.samples.push_back(sample);
        AssayResult result;
        result.test = "T" + std::to_string(input.results.size());
        result.sample = input.samples.size() - 1;
        result.don_mg_per_kg = don;
        result.portion_g = 50.0;
        result.kit_lot = index % 2 == 0 ? "K1" : "K2";
        input.results.push_back(result);
    };
    for (std::size_t f = 0; f < 8; ++f) {
        input.field_seasons.push_back({"F" + std::to_string(f), "", 2026, -2.0 + 0.4 * static_cast<double>(f)});
        for (const char* load : {"a", "b"}) input.loads.push_back({load + std::to_string(f), {{f, 1.0}}});
    }
    for (std::size_t f = 0; f < 8; ++f) {
        sampled(SampledGrain::field_season, f, 0.3 * std::exp(0.25 * static_cast<double>(f)));
        sampled(SampledGrain::load, 2 * f, 0.28 * std::exp(0.27 * static_cast<double>(f)));
    }
    input.loads.push_back({"mixed", {{1, 0.5}, {6, 0.5}}});
    input.loads.push_back({"bought", {}});
    return input;
}

std::vector<std::size_t> all_fields(const ContaminationInput& input) {
    std::vector<std::size_t> all(input.field_seasons.size());
    for (std::size_t f = 0; f < all.size(); ++f) all[f] = f;
    return all;
}

}  // namespace

TEST_CASE("a load's draws from the worlds are the model's own, whatever else is drawn") {
    const ContaminationInput input = season_with_loads();
    const ContaminationModel model = fit_contamination(input);
    const Eigen::MatrixXd all = model.draws(500, 3);
    const Worlds worlds = model.worlds(500, 3, all_fields(input), tested_loads(input));
    CHECK(tested_loads(input) == std::vector<std::size_t>{0, 2, 4, 6, 8, 10, 12, 14});
    const auto first_load = static_cast<Eigen::Index>(input.field_seasons.size());
    for (std::size_t l = 0; l < input.loads.size(); ++l) {
        INFO(input.loads[l].load);
        const Eigen::VectorXd own = all.col(first_load + static_cast<Eigen::Index>(l));
        // Sums and exponentials in another order: the last digits.
        CHECK((worlds.load(input, l).array() / own.array() - 1.0).abs().maxCoeff() < 1e-12);
    }
    // Field 3's loads need field 3 alone.
    const Worlds few = model.worlds(500, 3, {3}, {});
    CHECK(few.load(input, 7) == worlds.load(input, 7));
    CHECK_THROWS_WITH(few.load(input, 9), Contains("a field of load b4 was not drawn"));
    CHECK(few.load(input, 17).minCoeff() > 0.0);  // bought grain needs no field
}

TEST_CASE("a buyer's test without the model is the model's") {
    const ContaminationInput input = season_with_loads();
    const ContaminationModel model = fit_contamination(input);
    const ReadingLaw own = model.reading_law({});
    const ReadingLaw kept = reading_law({}, model.reading_spread({}), ErrorModel{}, {.analysis_by_horwitz = true});
    const Eigen::ArrayXd at = Eigen::ArrayXd::LinSpaced(5, 0.2, 4.0);
    CHECK((own.log_density({Reading::value, 1.0}, at) == kept.log_density({Reading::value, 1.0}, at)).all());
    CHECK(own.sample(1.0, 0.3, 0.6).don_mg_per_kg == kept.sample(1.0, 0.3, 0.6).don_mg_per_kg);
}

TEST_CASE("a later result of a load weighs on the worlds as a new fit has it") {
    const ContaminationInput before = season_with_loads();
    const ContaminationModel model = fit_contamination(before);
    const Worlds fitted = model.worlds(4000, 1, all_fields(before), tested_loads(before));
    for (const double reads : {0.4, 0.9, 1.6}) {
        for (const char* lot : {"K1", "K9"}) {  // one that the fit knows, and one that it does not
            INFO(reads << " mg/kg with lot " << lot);
            ContaminationInput after = before;
            GrainSample sample = before.samples.front();
            sample.sample = "new";
            sample.from = SampledGrain::load;
            sample.index = 9;  // the second load of field 4, whose results are about 0.8 mg/kg
            after.samples.push_back(sample);
            AssayResult result = before.results.front();
            result.test = "new";
            result.sample = after.samples.size() - 1;
            result.don_mg_per_kg = reads;
            result.kit_lot = lot;
            after.results.push_back(result);
            Worlds worlds = fitted;
            const WorldsWeighed weighed =
                weigh_worlds(worlds, after, {after.results.size() - 1}, ErrorModel{}, {.analysis_by_horwitz = true});
            CHECK(weighed.effective > 1000.0);
            CHECK(weighed.weight.sum() == Approx(1.0).epsilon(0.0).margin(1e-12));
            const std::vector<Eigen::Index> chosen = chosen_by(weighed.weight);
            const ContaminationModel anew = fit_contamination(after);
            for (const std::size_t l : {std::size_t{9}, std::size_t{8}, std::size_t{11}}) {
                INFO("load " << after.loads[l].load);
                const Content content = *anew.load(l);
                const Eigen::VectorXd draws = worlds.load(after, l)(chosen);
                // With 1,000 draws the standard error of a median is 0.04 of the spread of its log, 0.02 here.
                CHECK(std::log(quantile_of_draws(draws, 0.5) / content.median) ==
                      Approx(0.0).epsilon(0.0).margin(0.06));
                CHECK(std::log(quantile_of_draws(draws, 0.95) / content.high90) ==
                      Approx(0.0).epsilon(0.0).margin(0.12));
                Limit limit;
                limit.limit_mg_per_kg = 1.25;
                CHECK(exceedance_of_draws(draws, limit) ==
                      Approx(*anew.load_exceedance(l, 1.25)).epsilon(0.0).margin(0.03));
            }
        }
    }
}

TEST_CASE("a result that nobody expected is told, and one of a load without DON leaves no world") {
    const ContaminationInput before = season_with_loads();
    const ContaminationModel model = fit_contamination(before);
    const Worlds fitted = model.worlds(4000, 1, all_fields(before), tested_loads(before));
    ContaminationInput after = before;
    GrainSample sample = before.samples.front();
    sample.sample = "new";
    sample.from = SampledGrain::load;
    sample.index = 1;
    after.samples.push_back(sample);
    AssayResult result = before.results.front();
    result.sample = after.samples.size() - 1;
    result.don_mg_per_kg = 30.0;  // its field reads 0.3 mg/kg
    after.results.push_back(result);
    const std::vector<std::size_t> fresh{after.results.size() - 1};
    Worlds worlds = fitted;
    CHECK(weigh_worlds(worlds, after, fresh, ErrorModel{}, ErrorModel{}).surprise < 0.01);
    after.results.back().don_mg_per_kg = 0.3;
    worlds = fitted;
    CHECK(weigh_worlds(worlds, after, fresh, ErrorModel{}, ErrorModel{}).surprise > 0.2);
    worlds = fitted;
    worlds.fields[0].setZero();
    const WorldsWeighed none = weigh_worlds(worlds, after, fresh, ErrorModel{}, ErrorModel{});
    CHECK(none.weight.size() == 0);
    CHECK(none.effective == 0.0);
}
