// With level and slope flat the evidence of fields that are alike where they are near is the restricted likelihood that
// nlme::gls of R maximises; and a fit on request maximises it too, as lme4::lmer does with what crosses.
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/parameter_integral.h"
#include "models/contamination/parameter_mode.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using namespace models;

namespace {

// nlme 3.1-162, the Meuse data of R's package sp: gls(log(zinc) ~ sqrt(dist), correlation = corExp(c(200, 0.3), ~ x +
// y, nugget = TRUE), method = "REML"), converged to 1e-12: variance left to each place alone (sigma^2 nugget), variance
// that near places share, range, logLik. tests/reference/restricted_gls.sh asks R again.
constexpr double gls_alone = 0.048711641689;
constexpr double gls_shared = 0.149025823287;
constexpr double gls_range_m = 192.514119684;
constexpr double gls_log_likelihood = -77.172106140623;
// The same with range 300, sigma 0.6 and nugget 0.2 held fixed.
constexpr double gls_elsewhere = -82.978663009937;

constexpr double reading_error = 0.02;  ///< of what each place has alone

/// Every site a field of its own; the zinc of its soil the reading, the distance to the river its risk.
class FieldsOfTheMeuse {
 public:
    explicit FieldsOfTheMeuse(const std::filesystem::path& shared) {
        const auto table = tests::reference_table(shared, "data/meuse.csv");
        const Eigen::MatrixX2d places = tests::places_of(table);
        const Eigen::VectorXd zinc = table.numbers("zinc"), dist = table.numbers("dist");
        for (Eigen::Index i = 0; i < zinc.size(); ++i) {
            FieldSeason field{"F" + std::to_string(i), "", 2026, std::sqrt(dist[i]) - 1.0};
            field.place_m = PointM{places(i, 0), places(i, 1)};
            input_.field_seasons.push_back(field);
            GrainSample sample;
            sample.sample = "S" + std::to_string(i);
            sample.index = static_cast<std::size_t>(i);
            sample.increments = 1000000000;
            input_.samples.push_back(sample);
            AssayResult result;
            result.test = "T" + std::to_string(i);
            result.sample = static_cast<std::size_t>(i);
            result.don_mg_per_kg = zinc[i];
            result.curve_log_variance = reading_error;
            input_.results.push_back(result);
            // A reading's density is per mg/kg; and what is flat is integrated without the 2 pi of two coefficients.
            to_gls_ += std::log(zinc[i]);
        }
        to_gls_ += std::log(2.0 * std::acos(-1.0));
    }
    const ContaminationInput& input() const { return input_; }
    /// What the model's log evidence lacks to be gls's logLik.
    double to_gls() const { return to_gls_; }

 private:
    ContaminationInput input_;
    double to_gls_ = 0.0;
};

contamination::Parameters meuse_parameters(double alone, double shared, double range_m) {
    return {0.0, std::sqrt(alone - reading_error), 0.0, 0.0, std::sqrt(shared), range_m};
}

ContaminationPriors flat_priors() {
    ContaminationPriors priors;
    priors.flat_coefficients = true;
    return priors;
}

ContaminationSettings error_of_the_curve_alone() {
    ContaminationSettings settings;
    settings.threads = 1;
    settings.strip_error.own_sampling_cv = settings.strip_error.own_preparation_cv =
        settings.strip_error.own_analysis_cv = 0.0;
    return settings;
}

double evidence_at(const contamination::Layout& layout, const contamination::Parameters& p) {
    contamination::Linearisation at = layout.first_linearisation();
    return contamination::at_fixed_parameters(layout, p, at).log_evidence;
}

}  // namespace

TEST_CASE("the evidence of near fields with a flat level and slope is the restricted likelihood of gls in R") {
    NEEDS_SHARED_DATA(shared);
    const FieldsOfTheMeuse meuse(shared);
    ContaminationPriors priors = flat_priors();
    const contamination::Parameters p = meuse_parameters(0.36 * 0.2, 0.36 * 0.8, 300.0);
    priors.fixed = {true, 0.0, p.field_sd, 0.0, 0.0, p.region_sd, p.range_m};
    const ContaminationModel model = fit_contamination(meuse.input(), priors, error_of_the_curve_alone());
    CHECK(model.learnt().log_evidence + meuse.to_gls() == Approx(gls_elsewhere).margin(2e-8).epsilon(0.0));
}

TEST_CASE("the evidence of near fields is highest where gls in R ends and as high as gls says") {
    NEEDS_SHARED_DATA(shared);
    const FieldsOfTheMeuse meuse(shared);
    const contamination::Layout layout(meuse.input(), flat_priors(), error_of_the_curve_alone());
    const auto at = [&](const Eigen::Vector3d& off) {
        return evidence_at(layout, meuse_parameters(gls_alone * std::exp(off[0]), gls_shared * std::exp(off[1]),
                                                    gls_range_m * std::exp(off[2]))) +
               meuse.to_gls();
    };
    const double top = at(Eigen::Vector3d::Zero());
    CHECK(top == Approx(gls_log_likelihood).margin(1e-6).epsilon(0.0));
    // Newton's step from there, over logs, is next to nothing.
    constexpr double h = 0.02;
    Eigen::Vector3d slope;
    Eigen::Matrix3d bend;
    for (int i = 0; i < 3; ++i) {
        const Eigen::Vector3d a = h * Eigen::Vector3d::Unit(i);
        const double far_up = at(2.0 * a), up = at(a), down = at(-a), far_down = at(-2.0 * a);
        slope[i] = (8.0 * (up - down) - (far_up - far_down)) / (12.0 * h);
        bend(i, i) = (up + down - 2.0 * top) / (h * h);
        for (int j = 0; j < i; ++j) {
            const Eigen::Vector3d b = h * Eigen::Vector3d::Unit(j);
            bend(i, j) = bend(j, i) = (at(a + b) + at(-a - b) - at(a - b) - at(b - a)) / (4.0 * h * h);
        }
    }
    const Eigen::Vector3d step = (-bend).llt().solve(slope);
    CAPTURE(slope.transpose(), step.transpose());
    CHECK((-bend).llt().info() == Eigen::Success);
    CHECK(step.cwiseAbs().maxCoeff() < 1e-4);
}

TEST_CASE("without its prior the most probable law of very many fields is that of restricted likelihood in R") {
    NEEDS_SHARED_DATA(shared);
    const FieldsOfTheMeuse meuse(shared);
    const contamination::Layout layout(meuse.input(), flat_priors(), error_of_the_curve_alone());
    ContaminationPriors priors = flat_priors();
    priors.range_median_m = 400.0;
    const auto mode = contamination::most_probable_parameters(
        Eigen::VectorXd::Zero(contamination::Parameters::count), [&](const Eigen::MatrixXd& points) {
            Eigen::VectorXd restricted(points.rows());
            for (Eigen::Index i = 0; i < points.rows(); ++i)
                restricted[i] = evidence_at(layout, contamination::Parameters::at(points.row(i), priors)) +
                                0.5 * points.row(i).squaredNorm();
            return restricted;
        });
    const auto found = contamination::Parameters::at(mode.law.centre, priors);
    CAPTURE(mode.steps, found.season_sd, found.field_sd, found.within_sd, found.lot_sd, found.region_sd, found.range_m);
    // Its gradient is a difference over 0.15 of the prior's spread: it ends that near, and need not call that settled.
    CHECK(found.field_sd * found.field_sd + reading_error == Approx(gls_alone).epsilon(0.03));
    CHECK(found.region_sd * found.region_sd == Approx(gls_shared).epsilon(0.03));
    CHECK(found.range_m == Approx(gls_range_m).epsilon(0.03));
    CHECK(evidence_at(layout, found) + meuse.to_gls() == Approx(gls_log_likelihood).margin(1e-3).epsilon(0.0));
}

namespace {

double learnt_value(const Learnt& learnt, const std::string& name) {
    for (const Learnt::Parameter& parameter : learnt.parameters)
        if (parameter.name == name) return parameter.mean;
    FAIL("nothing was learnt of " + name);
    return 0.0;
}

bool is_noted(const Learnt& learnt, const std::string& words) {
    return std::any_of(learnt.notes.begin(), learnt.notes.end(),
                       [&](const std::string& note) { return note.find(words) != std::string::npos; });
}

ContaminationSettings by_restricted_likelihood() {
    ContaminationSettings settings = error_of_the_curve_alone();
    settings.parameters = ParametersBy::restricted_likelihood;
    return settings;
}

// Two of the data sets of R's package lme4 (1.1-31) and what lmer makes of them by REML, asked again by
// tests/reference/restricted_lme4.sh. Penicillin (Davies & Goldsmith 1972, Statistical Methods in Research and
// Production): diameters of 24 plates (rows here) by 6 samples, lmer(diameter ~ 1 + (1 | plate) + (1 | sample)).
constexpr int penicillin[24][6] = {
    {27, 23, 26, 23, 23, 21}, {27, 23, 26, 23, 23, 21}, {25, 21, 25, 24, 24, 20}, {26, 23, 25, 23, 23, 20},
    {25, 22, 26, 22, 23, 20}, {24, 22, 25, 23, 22, 19}, {24, 20, 23, 21, 22, 19}, {26, 22, 26, 24, 24, 21},
    {24, 21, 24, 22, 22, 20}, {24, 21, 24, 23, 22, 19}, {26, 23, 26, 24, 24, 21}, {25, 22, 26, 24, 24, 20},
    {26, 24, 26, 24, 25, 22}, {26, 23, 26, 23, 23, 20}, {26, 23, 25, 24, 24, 22}, {25, 22, 25, 23, 23, 20},
    {25, 21, 24, 23, 23, 20}, {25, 22, 24, 23, 23, 19}, {24, 21, 23, 21, 21, 19}, {26, 23, 26, 24, 24, 21},
    {25, 21, 24, 22, 22, 18}, {25, 22, 25, 22, 22, 20}, {24, 21, 24, 22, 24, 19}, {24, 21, 24, 22, 21, 18}};
constexpr double lmer_plate = 0.716908176766;
constexpr double lmer_sample = 3.730917588346;
constexpr double lmer_residual = 0.302415462713;
constexpr double lmer_log_likelihood = -165.430294495543;
// Dyestuff2 (Box & Tiao 1973, Bayesian Inference in Statistical Analysis): 5 yields of each of 6 batches, made so that
// the variance of batches comes out as 0, lmer(Yield ~ 1 + (1 | Batch)).
constexpr double dyestuff2[30] = {7.298, 3.846,  2.434,  9.566, 7.990, 5.220, 6.556, 0.608, 11.788, -0.892,
                                  0.110, 10.386, 13.434, 5.510, 8.166, 2.212, 4.852, 7.092, 9.288,  4.980,
                                  0.282, 9.014,  4.458,  9.446, 7.198, 1.722, 4.782, 8.106, 0.758,  3.758};
constexpr double lmer_residual_alone = 13.806309627586;
constexpr double lmer_log_likelihood_alone = -80.914139;

/// A value of ln content, of a field of its own without a place.
void add_value(ContaminationInput& input, int season, const std::string& lot, double log_content) {
    const std::string number = std::to_string(input.field_seasons.size());
    input.field_seasons.push_back({"F" + number, "", season, -1.0});
    GrainSample sample;
    sample.sample = "S" + number;
    sample.index = input.field_seasons.size() - 1;
    sample.increments = 1000000000;
    AssayResult result;
    result.test = "T" + number;
    result.sample = input.samples.size();
    result.kit_lot = lot;
    result.don_mg_per_kg = std::exp(log_content);
    result.curve_log_variance = reading_error;
    input.samples.push_back(sample);
    input.results.push_back(result);
}

}  // namespace

TEST_CASE("a fit by restricted likelihood alone ends where gls in R ends, as high, and says what nothing tells") {
    NEEDS_SHARED_DATA(shared);
    const FieldsOfTheMeuse meuse(shared);
    const ContaminationModel model = fit_contamination(meuse.input(), {}, by_restricted_likelihood());
    const Learnt& learnt = model.learnt();
    CHECK(learnt.parameters_by == "restricted-likelihood");
    CHECK(std::pow(learnt_value(learnt, "field_sd"), 2) + reading_error == Approx(gls_alone).epsilon(2e-3));
    CHECK(std::pow(learnt_value(learnt, "region_sd"), 2) == Approx(gls_shared).epsilon(2e-3));
    CHECK(learnt_value(learnt, "range_m") == Approx(gls_range_m).epsilon(2e-3));
    CHECK(learnt.log_evidence + meuse.to_gls() == Approx(gls_log_likelihood).margin(1e-5).epsilon(0.0));
    CHECK(is_noted(learnt, "where the restricted likelihood is highest (REML)"));
    // One season, one kit lot, and samples of the whole field.
    CHECK(is_noted(learnt, "is the same whatever seasons (0.54), places within a field (0.4) and kit lots and runs"));
    CHECK_FALSE(is_noted(learnt, "did not settle"));
    REQUIRE(learnt.region);
    CHECK(learnt.region->range_told);
}

TEST_CASE("seasons and kit lots that cross have the restricted likelihood of lmer in R") {
    ContaminationInput input;
    constexpr double scale = 2.0;
    double to_lmer = 0.5 * std::log(2.0 * std::acos(-1.0)) - 143.0 * std::log(scale);
    for (int plate = 0; plate < 24; ++plate)
        for (int sample = 0; sample < 6; ++sample) {
            const double log_content = (penicillin[plate][sample] - 23.0) / scale;
            add_value(input, 1900 + plate, std::string("lot ") + static_cast<char>('A' + sample), log_content);
            to_lmer += log_content;  // a reading's density is per mg/kg
        }
    const ContaminationModel model = fit_contamination(input, {}, by_restricted_likelihood());
    const Learnt& learnt = model.learnt();
    const auto variance = [&](const char* name) { return std::pow(scale * learnt_value(learnt, name), 2); };
    CHECK(variance("season_sd") == Approx(lmer_plate).epsilon(2e-3));
    CHECK(variance("lot_sd") == Approx(lmer_sample).epsilon(2e-3));
    CHECK(variance("field_sd") + scale * scale * reading_error == Approx(lmer_residual).epsilon(2e-3));
    CHECK(learnt.log_evidence + to_lmer == Approx(lmer_log_likelihood).margin(1e-5).epsilon(0.0));
}

TEST_CASE("a variance that lmer in R puts at 0 is 0 by restricted likelihood, and said to be at its bound") {
    ContaminationInput input;
    constexpr double scale = 4.0;
    double to_lmer = 0.5 * std::log(2.0 * std::acos(-1.0)) - 29.0 * std::log(scale);
    for (int i = 0; i < 30; ++i) {
        const double log_content = (dyestuff2[i] - 5.0) / scale;
        add_value(input, 1900 + i / 5, "one lot", log_content);
        to_lmer += log_content;
    }
    const ContaminationModel model = fit_contamination(input, {}, by_restricted_likelihood());
    const Learnt& learnt = model.learnt();
    CHECK(learnt_value(learnt, "season_sd") == 0.0);
    CHECK(scale * scale * (std::pow(learnt_value(learnt, "field_sd"), 2) + reading_error) ==
          Approx(lmer_residual_alone).epsilon(2e-3));
    CHECK(learnt.log_evidence + to_lmer == Approx(lmer_log_likelihood_alone).margin(1e-5).epsilon(0.0));
    CHECK(is_noted(learnt, "is highest at a standard deviation of 0 of seasons: at its bound"));
    // What is known of its fields is still a law, and a season without a result is like the others.
    CHECK(model.field_season(0)->high90 > model.field_season(0)->low90);
}

TEST_CASE("restricted likelihood is refused where hardly a field is tested, and a way that is not there by its name") {
    ContaminationInput input;
    for (int i = 0; i < 9; ++i) add_value(input, 2026, "one lot", 0.1 * i);
    CHECK_THROWS_WITH(fit_contamination(input, {}, by_restricted_likelihood()),
                      Catch::Contains("restricted likelihood needs results of 10 field-seasons, and there are 9") &&
                          Catch::Contains("which have priors"));
    CHECK_THROWS_WITH(parameters_by_named("most-probabel"),
                      Catch::Contains("did you mean \"most-probable\"") && Catch::Contains("restricted-likelihood"));
    CHECK(parameters_by_named(name_of(ParametersBy::integrated)) == ParametersBy::integrated);
}

TEST_CASE("most probable parameters on request are one value near the mean of the integrated ones") {
    ContaminationInput input;
    for (int plate = 0; plate < 6; ++plate)
        for (int sample = 0; sample < 6; ++sample)
            add_value(input, 1900 + plate, std::string("lot ") + static_cast<char>('A' + sample),
                      (penicillin[plate][sample] - 23.0) / 4.0);
    ContaminationSettings settings = error_of_the_curve_alone();
    settings.points = 64;
    const ContaminationModel integrated = fit_contamination(input, {}, settings);
    CHECK(integrated.learnt().parameters_by == "integrated");
    settings.parameters = ParametersBy::most_probable;
    const ContaminationModel most_probable = fit_contamination(input, {}, settings);
    CHECK(most_probable.learnt().parameters_by == "most-probable");
    CHECK(is_noted(most_probable.learnt(), "As asked for the standard deviations and the range are taken at their"));
    for (const Learnt::Parameter& parameter : most_probable.learnt().parameters) {
        if (parameter.name == "level" || parameter.name == "slope") continue;
        CAPTURE(parameter.name);
        CHECK(parameter.sd == 0.0);
        double sd = 0.0;
        for (const Learnt::Parameter& other : integrated.learnt().parameters)
            if (other.name == parameter.name) sd = other.sd;
        CHECK(std::abs(parameter.mean - learnt_value(integrated.learnt(), parameter.name)) < 1.5 * sd);
    }
}
