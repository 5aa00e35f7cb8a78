// What a place tells the user of the contamination model.
#include <algorithm>
#include <cmath>
#include <random>
#include <string>

#include <Eigen/Cholesky>
#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"

using namespace models;
using Catch::Matchers::Contains;

namespace region_world {

struct Fields {
    ContaminationInput input;

    std::size_t field(double east_m, double north_m, int season = 2026, double risk_logit = -1.0) {
        FieldSeason f{"F" + std::to_string(input.field_seasons.size()), "", season, risk_logit};
        f.place_m = PointM{east_m, north_m};
        input.field_seasons.push_back(f);
        return input.field_seasons.size() - 1;
    }
    void result(std::size_t of, double don_mg_per_kg) {
        GrainSample s;
        s.sample = "S" + std::to_string(input.samples.size());
        s.index = of;
        s.increments = 10;
        s.mass_g = 500.0;
        input.samples.push_back(s);
        AssayResult r;
        r.test = "T" + std::to_string(input.results.size());
        r.sample = input.samples.size() - 1;
        r.don_mg_per_kg = don_mg_per_kg;
        r.portion_g = 25.0;
        input.results.push_back(r);
    }
    void without_places() {
        for (FieldSeason& f : input.field_seasons) f.place_m.reset();
    }
};

ContaminationPriors fixed_with(double region_sd, double range_m = 8000.0) {
    ContaminationPriors priors;
    priors.fixed = {true, 0.5, 0.4, 0.4, 0.05, region_sd, range_m};
    return priors;
}

double spread(const Content& c) {
    return std::log(c.high90 / c.low90) / (2.0 * 1.6448536269514722);
}

/// Two past seasons and one of 60 fields in a district of 30 x 30 km, each with results of its own.
Fields district(double region_sd, double range_m, std::uint64_t seed, int tests = 30) {
    std::mt19937_64 engine(seed);
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    Fields made;
    std::vector<double> east, north;
    for (int f = 0; f < 60; ++f) {
        east.push_back(30000.0 * uniform(engine));
        north.push_back(30000.0 * uniform(engine));
    }
    for (int y = 2024; y <= 2026; ++y) {
        Eigen::MatrixXd covariance(60, 60);
        for (Eigen::Index i = 0; i < 60; ++i)
            for (Eigen::Index j = 0; j < 60; ++j) {
                const auto a = static_cast<std::size_t>(i), b = static_cast<std::size_t>(j);
                covariance(i, j) =
                    std::exp(-std::hypot(east[a] - east[b], north[a] - north[b]) / range_m) + (i == j ? 1e-9 : 0.0);
            }
        const Eigen::MatrixXd factor = covariance.llt().matrixL();
        const Eigen::VectorXd z = Eigen::VectorXd::NullaryExpr(60, [&] { return normal(engine); });
        const Eigen::VectorXd region = region_sd * (factor * z);
        const double season = 0.5 * normal(engine);
        for (int f = 0; f < 60; ++f) {
            const double risk = -1.2 + normal(engine);
            const double m = -0.7 + 0.9 * (risk + 1.0) + season + region[f] + 0.35 * normal(engine);
            const std::size_t i =
                made.field(east[static_cast<std::size_t>(f)], north[static_cast<std::size_t>(f)], y, risk);
            if (f < tests) made.result(i, std::exp(m - 0.02 + 0.2 * normal(engine)));
        }
    }
    return made;
}

}  // namespace region_world

TEST_CASE("a result tells more of a near field than of a far one and nothing more in another season") {
    using namespace region_world;
    Fields g;
    const std::size_t tested = g.field(0, 0), near = g.field(1000, 500), far = g.field(60000, 0),
                      near_before = g.field(1000, 500, 2025), far_before = g.field(60000, 0, 2025);
    g.result(tested, 3.0);
    const ContaminationModel model = fit_contamination(g.input, fixed_with(0.6));
    CHECK(model.field_season(tested)->median > model.field_season(near)->median);
    CHECK(model.field_season(near)->median > 1.1 * model.field_season(far)->median);
    CHECK(spread(*model.field_season(near)) < spread(*model.field_season(far)));
    CHECK(model.field_season(near_before)->median == Approx(model.field_season(far_before)->median).epsilon(1e-12));
}

TEST_CASE("a field without a place has the same variance and is told nothing by near ones") {
    using namespace region_world;
    Fields g;
    const std::size_t tested = g.field(0, 0), far = g.field(1e9, 0), lost = g.field(0, 0);
    g.input.field_seasons[lost].place_m.reset();
    g.result(tested, 3.0);
    const ContaminationModel model = fit_contamination(g.input, fixed_with(0.6));
    CHECK(model.field_season(lost)->median == Approx(model.field_season(far)->median).epsilon(1e-12));
    CHECK(spread(*model.field_season(lost)) == Approx(spread(*model.field_season(far))).epsilon(1e-9));
    CHECK(std::any_of(model.learnt().notes.begin(), model.learnt().notes.end(),
                      [](const std::string& note) { return note.find("1 of 3 field-seasons has no place") == 0; }));
}

TEST_CASE("a regional deviation held at 0 is the same model as fields without a place") {
    using namespace region_world;
    Fields g = district(0.5, 8000.0, 4, 10);
    const ContaminationModel none = fit_contamination(g.input, fixed_with(0.0));
    ContaminationPriors no_scale;
    no_scale.region_sd_scale = 0.0;
    const ContaminationModel integrated = fit_contamination(g.input, no_scale);
    g.without_places();
    const ContaminationModel placeless = fit_contamination(g.input, fixed_with(0.6));
    const ContaminationModel placeless_integrated = fit_contamination(g.input);
    CHECK_FALSE(none.learnt().region.has_value());
    CHECK_FALSE(integrated.learnt().region.has_value());
    for (const std::size_t f : {125u, 170u}) {
        CHECK(none.field_season(f)->median == placeless.field_season(f)->median);
        CHECK(none.field_season(f)->high90 == placeless.field_season(f)->high90);
        CHECK(integrated.field_season(f)->median == placeless_integrated.field_season(f)->median);
    }
    CHECK(none.draws(5, 1) == placeless.draws(5, 1));
    CHECK(integrated.learnt().parameters.size() == 6);
}

TEST_CASE("draws of near fields move together as far as the region makes them") {
    using namespace region_world;
    Fields g;
    const std::size_t tested = g.field(20000, 0), one = g.field(0, 0), near = g.field(2000, 0), far = g.field(0, 40000);
    g.result(tested, 1.0);
    const ContaminationPriors priors = fixed_with(0.6);
    const ContaminationModel model = fit_contamination(g.input, priors);
    const int n = 20000;
    const Eigen::ArrayXXd log_draws = model.draws(n, 3).array().log();
    const auto covariance = [&](std::size_t a, std::size_t b) {
        const Eigen::ArrayXd x = log_draws.col(static_cast<Eigen::Index>(a)),
                             y = log_draws.col(static_cast<Eigen::Index>(b));
        return ((x - x.mean()) * (y - y.mean())).mean();
    };
    // Level, slope at logit -1 and season are the same for all: what near fields share beyond far ones is the region.
    // Hardly touched by the one result 18 km away. The standard error of a covariance here is about 0.012.
    const double beyond = covariance(one, near) - covariance(one, far);
    CHECK(beyond == Approx(0.36 * (std::exp(-2.0 / 8.0) - std::exp(-40.0 / 8.0))).margin(0.06).epsilon(0.0));
    CHECK(std::sqrt(covariance(near, near)) == Approx(spread(*model.field_season(near))).epsilon(0.03));
    CHECK(model.draws(40, 3) == model.draws(n, 3).topRows(40));
}

TEST_CASE("regions are found where they are and not where they are not") {
    using namespace region_world;
    const ContaminationModel with = fit_contamination(district(0.8, 10000.0, 1).input);
    REQUIRE(with.learnt().region.has_value());
    CHECK(with.learnt().region->supported);
    CHECK(with.learnt().region->evidence_ratio > 3.0);
    CHECK(with.learnt().region->leave_one_out_skill.value() > 0.05);
    CHECK(with.learnt().region->leave_one_out_fields == 90);
    CHECK_THAT(with.learnt().region->sentence, Contains("supported: evidence") && Contains("90 fields"));
    CHECK(with.learnt().region->range_low90_m < with.learnt().region->range_median_m);
    const ContaminationModel without = fit_contamination(district(0.0, 10000.0, 2).input);
    CHECK_FALSE(without.learnt().region->supported);
    CHECK_THAT(without.learnt().region->sentence, Contains("not supported: evidence"));
    CHECK_FALSE(without.learnt().region->range_told);
    CHECK(std::any_of(without.learnt().notes.begin(), without.learnt().notes.end(), [](const std::string& note) {
        return note.find("cannot be told from these results") != std::string::npos;
    }));
    const auto parameter = [](const ContaminationModel& model, const char* name) {
        for (const Learnt::Parameter& p : model.learnt().parameters)
            if (p.name == name) return p.mean;
        return -1.0;
    };
    CHECK(parameter(with, "region_sd") > 0.4);
    CHECK(parameter(without, "region_sd") < 0.3);
    CHECK(parameter(with, "range_m") > 1000.0);
}

TEST_CASE("near fields of a strong region are foretold better with their places than without") {
    using namespace region_world;
    Fields g = district(0.8, 12000.0, 7);
    const ContaminationModel with = fit_contamination(g.input);
    g.without_places();
    const ContaminationModel without = fit_contamination(g.input);
    double narrower = 0.0;
    for (std::size_t f = 150; f < 180; ++f)
        narrower += std::log(spread(*without.field_season(f)) / spread(*with.field_season(f))) / 30.0;
    CHECK(narrower > 0.1);
}

TEST_CASE("the number of threads changes no digit of a model with regions") {
    using namespace region_world;
    Fields g = district(0.5, 8000.0, 3, 12);
    g.input.loads.push_back({"mix", {{120, 0.5}, {171, 0.5}}});
    ContaminationSettings settings;
    settings.points = 64;
    settings.threads = 1;
    const ContaminationModel one = fit_contamination(g.input, {}, settings);
    settings.threads = 3;
    const ContaminationModel three = fit_contamination(g.input, {}, settings);
    CHECK(one.learnt().log_evidence == three.learnt().log_evidence);
    CHECK(one.learnt().region->evidence_ratio == three.learnt().region->evidence_ratio);
    CHECK(one.field_season(171)->high90 == three.field_season(171)->high90);
    CHECK(one.load(0)->median == three.load(0)->median);
    CHECK(one.draws(20, 1) == three.draws(20, 1));
}

TEST_CASE("an explanation tells results of near fields from the rest and ends at the number that it explains") {
    using namespace region_world;
    const Fields g = district(0.7, 10000.0, 5);
    const ContaminationModel model = fit_contamination(g.input);
    const Explanation untested = model.explain(155), tested = model.explain(125);
    REQUIRE(untested.steps.size() == 3);
    CHECK(untested.steps[1].what == "results of fields further away, their loads and past seasons");
    CHECK_THAT(untested.steps[2].what, Contains("results of ") && Contains(" within ") && Contains(" km"));
    CHECK(untested.steps.back().median == Approx(model.field_season(155)->median).epsilon(1e-8));
    CHECK(untested.steps.back().high90 / untested.steps.back().low90 <
          untested.steps[1].high90 / untested.steps[1].low90);
    REQUIRE(tested.steps.size() == 4);
    CHECK(tested.steps.back().low90 == Approx(model.field_season(125)->low90).epsilon(1e-8));
}

TEST_CASE("hundreds of results with regions are averaged about the most probable values") {
    using namespace region_world;
    Fields g = district(0.6, 10000.0, 11, 60);
    for (std::size_t f = 0; f < 150; ++f) g.result(f, 0.6);  // 330 readings
    ContaminationSettings settings;
    settings.points = 64;
    const ContaminationModel model = fit_contamination(g.input, {}, settings);
    CHECK(model.learnt().unsettled == 0);
    CHECK(model.learnt().effective_points >= 4.0);
    const Content c = *model.field_season(179);
    CHECK(c.low90 < c.median);
    CHECK(c.median < c.high90);
    const Explanation said = model.explain(179);
    CHECK(said.steps.back().median == Approx(c.median).epsilon(1e-8));
}

TEST_CASE("the error of a strip's curve widens what its result says and leaves where it points") {
    using namespace region_world;
    const auto of = [](double curve_log_variance) {
        Fields g;
        g.result(g.field(0, 0), 1.0);
        g.input.results[0].curve_log_variance = curve_log_variance;
        ContaminationPriors priors;
        priors.fixed = {true, 0.0, 0.5, 0.0, 0.0, 0.0, 1.0};
        priors.level_mean = 0.0;
        priors.level_sd = priors.slope_sd = 1e-9;
        ContaminationSettings settings;
        settings.strip_error.own_sampling_cv = settings.strip_error.own_preparation_cv = 0.0;
        settings.strip_error.own_analysis_cv = 0.2;
        return *fit_contamination(g.input, priors, settings).field_season(0);
    };
    // One normal law times another: prior N(0, 0.25), reading N(q/2, q + curve) about ln 1.
    const double q = std::log(1.04);
    for (const double curve : {0.0, 0.05, 0.3}) {
        const Content c = of(curve);
        const double precision = 1.0 / 0.25 + 1.0 / (q + curve);
        CHECK(std::log(c.median) == Approx(0.5 * q / (q + curve) / precision).margin(1e-9).epsilon(0.0));
        CHECK(std::pow(spread(c), 2) == Approx(1.0 / precision).epsilon(1e-8));
    }
}

TEST_CASE("places and ranges that are no numbers are refused by name") {
    using namespace region_world;
    Fields g;
    g.field(0, 0);
    g.result(g.field(NAN, 0), 1.0);
    CHECK_THROWS_WITH(fit_contamination(g.input), Contains("field F1, season 2026") && Contains("is no number"));
    g.input.field_seasons[1].place_m = PointM{1.0, 2.0};
    CHECK_THROWS_WITH(fit_contamination(g.input, fixed_with(0.5, 0.0)), Contains("range of regions is not above zero"));
    g.input.results[0].curve_log_variance = -0.1;
    CHECK_THROWS_WITH(fit_contamination(g.input), Contains("test T0") && Contains("curve is below zero"));
}
