// With level and slope flat the evidence of fields that are alike where they are near is the restricted likelihood that
// nlme::gls of R maximises.
#include <cmath>
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
