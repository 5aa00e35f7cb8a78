// With fixed parameters, Gaussian errors and a level that is not known beforehand the contamination model is kriging.
#include <cmath>
#include <vector>

#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/parameter_integral.h"
#include "models/contamination/point_posterior.h"

using namespace models;

namespace {

// Fourteen tested fields and six untested ones.
const std::vector<double> east_m{1200, 3400, 5100,  8800,  12500, 15200, 2600,  6900,  9300,  14100,
                                 700,  4800, 11200, 16900, 2100,  7600,  10400, 13300, 16000, 24000};
const std::vector<double> north_m{900,   4100,  1500,  2700,  1100, 3900, 8200, 7300,  9600, 8100,
                                  13400, 12800, 14900, 13100, 2500, 4400, 6200, 12100, 600,  21000};
const std::vector<double> drift{-1.9, -0.4, -2.6, 0.3,  -1.2, -0.9, -1.5, 0.1,  -2.2, -0.7,
                                -1.1, -0.2, -1.8, -2.9, -0.8, -1.4, 0.5,  -2.1, -0.1, -1.0};
const std::vector<double> don{0.31, 0.84, 0.22, 1.95, 0.47, 0.66, 0.58, 2.6, 0.27, 0.73, 1.12, 1.31, 0.52, 0.18};
const std::vector<double> error{0.02, 0.05, 0.11, 0.01, 0.04, 0.08, 0.03, 0.02, 0.15, 0.05, 0.06, 0.02, 0.09, 0.2};

// gstat 2.1-0: krige(z ~ 1 or z ~ drift, model vgm(0.35, "Exp", 6000, 0.09)), z = ln don, with an error of 0.05 for all
// results (its component "Err"), the last with weights = 1 / error. tests/reference/region_kriging_gstat.sh asks gstat
// again.
const std::vector<double> ordinary_estimate{-0.7644147346661, 0.0236474561672,  -0.2046829349008,
                                            -0.8673234234997, -0.5827440951976, -0.7376160786616};
const std::vector<double> ordinary_variance{0.2394663818393, 0.2512355438134, 0.2780455762700,
                                            0.2883968315945, 0.3390876001179, 0.5083459356444};
const std::vector<double> universal_estimate{-0.2858550550472, -0.5845039784566, 0.8059298286166,
                                             -1.1224113793131, 0.2401399332158,  -0.2860533595422};
const std::vector<double> universal_variance{0.2498538240058, 0.2680104415029, 0.3243695670632,
                                             0.2913481516970, 0.3697999944341, 0.5175944626269};
const std::vector<double> filtered_estimate{-0.2901031554661, -0.5755692239053, 0.8256602913302,
                                            -1.1264824401864, 0.2400344203227,  -0.2920113511168};
const std::vector<double> filtered_variance{0.2461817841498, 0.2711358345555, 0.3188879648939,
                                            0.3072125309219, 0.3719209096433, 0.5203755114789};

// The same with block = c(4000, 3000), the first of ordinary kriging: the mean of ln content over such a rectangle
// about each of the six places, the drift there being that of the place.
const std::vector<double> block_estimate{-0.7534225835444, -0.0210601783520, -0.2035144607520,
                                         -0.8671478809539, -0.5822981341653, -0.7380735371294};
const std::vector<double> block_variance{0.0740520046977, 0.0808002560522, 0.1023142952556,
                                         0.1126452543765, 0.1635339766519, 0.3297279223927};
const std::vector<double> drift_block_estimate{-0.2741820901572, -0.5943227884446, 0.8071023489699,
                                               -1.1219482383533, 0.2414930050329,  -0.2858971312916};
const std::vector<double> drift_block_variance{0.0844690228786, 0.0957056562968, 0.1486386569857,
                                               0.1155899233104, 0.1943141202467, 0.3390016044850};

/// @param each  with the error of each result, else with 0.05 for all
ContaminationInput kriging_input(bool with_drift, bool each) {
    ContaminationInput input;
    for (std::size_t i = 0; i < east_m.size(); ++i) {
        FieldSeason field{"F" + std::to_string(i), "", 2026, with_drift ? drift[i] : -0.3};
        field.place_m = PointM{east_m[i], north_m[i]};
        input.field_seasons.push_back(field);
    }
    for (std::size_t i = 0; i < don.size(); ++i) {
        GrainSample sample;
        sample.sample = "S" + std::to_string(i);
        sample.index = i;
        input.samples.push_back(sample);
        AssayResult result;
        result.test = "T" + std::to_string(i);
        result.sample = i;
        result.don_mg_per_kg = don[i];
        result.curve_log_variance = each ? error[i] : 0.05;
        input.results.push_back(result);
    }
    return input;
}

ContaminationPriors kriging_priors() {
    ContaminationPriors priors;
    priors.flat_coefficients = true;
    priors.fixed = {true, 0.0, std::sqrt(0.09), 0.0, 0.0, std::sqrt(0.35), 6000.0};
    return priors;
}

ContaminationSettings kriging_settings() {
    ContaminationSettings settings;
    settings.strip_error.own_sampling_cv = settings.strip_error.own_preparation_cv =
        settings.strip_error.own_analysis_cv = 0.0;
    return settings;
}

ContaminationModel kriged(bool with_drift, bool each) {
    return fit_contamination(kriging_input(with_drift, each), kriging_priors(), kriging_settings());
}

/// A block as sixteen untested fields at gstat's Gauss-Legendre nodes: the joint law of their contents, from which the
/// model draws and mixes, gives the mean of their logs. What each field has of its own is no part of a block, as gstat
/// leaves out the nugget.
void check_blocks(bool with_drift, const std::vector<double>& estimate, const std::vector<double>& variance) {
    const double node[]{-0.4305681558, -0.1699905218, 0.1699905218, 0.4305681558};
    const double share[]{0.1739274226, 0.3260725774, 0.3260725774, 0.1739274226};
    ContaminationInput input = kriging_input(with_drift, false);
    const std::size_t fields = input.field_seasons.size();
    Eigen::VectorXd weight(16);
    for (std::size_t t = don.size(); t < fields; ++t)
        for (int k = 0; k < 16; ++k) {
            FieldSeason field = input.field_seasons[t];
            field.part = std::to_string(k);
            field.place_m = PointM{east_m[t] + 4000.0 * node[k % 4], north_m[t] + 3000.0 * node[k / 4]};
            input.field_seasons.push_back(field);
            weight[k] = share[k % 4] * share[k / 4];
        }
    const contamination::Layout layout(input, kriging_priors(), kriging_settings());
    contamination::Linearisation at = layout.first_linearisation();
    const contamination::Parameters p = layout.fixed_parameters();
    const auto found = contamination::at_fixed_parameters(layout, p, at);
    const auto point = contamination::point_posterior(layout, at, p, found.points.front().sites);
    for (std::size_t t = 0; t < estimate.size(); ++t) {
        std::vector<contamination::Item> nodes;
        for (std::size_t k = 0; k < 16; ++k) nodes.push_back({contamination::LocalKind::field, fields + 16 * t + k});
        const contamination::JointLaw joint = contamination::joint_law(layout, at, point, nodes);
        CHECK(weight.dot(joint.mean) == Approx(estimate[t]).margin(5e-8).epsilon(0.0));
        CHECK(weight.dot(joint.covariance * weight) - 0.09 * weight.squaredNorm() ==
              Approx(variance[t]).margin(5e-8).epsilon(0.0));
    }
}

void check_untested(const ContaminationModel& model, const std::vector<double>& estimate,
                    const std::vector<double>& variance) {
    REQUIRE(estimate.size() == east_m.size() - don.size());
    for (std::size_t i = 0; i < estimate.size(); ++i) {
        const Content c = *model.field_season(don.size() + i);
        CHECK(std::log(c.median) == Approx(estimate[i]).margin(1e-10).epsilon(0.0));
        const double sd = std::log(c.high90 / c.low90) / (2.0 * 1.6448536269514722);
        CHECK(sd * sd == Approx(variance[i]).margin(1e-10).epsilon(0.0));
    }
}

}  // namespace

TEST_CASE("with a flat level and one known error untested fields have the values of ordinary kriging") {
    check_untested(kriged(false, false), ordinary_estimate, ordinary_variance);
}

TEST_CASE("with a flat slope on the risk untested fields have the values of universal kriging") {
    check_untested(kriged(true, false), universal_estimate, universal_variance);
}

TEST_CASE("results whose error is known are filtered as error-filtering kriging filters them") {
    check_untested(kriged(true, true), filtered_estimate, filtered_variance);
}

TEST_CASE("the mean of near untested fields has the estimate and variance of block kriging") {
    check_blocks(false, block_estimate, block_variance);
    check_blocks(true, drift_block_estimate, drift_block_variance);
}
