// Structure within fields: against nlme::gls of R, brute force over parameters, and open data of soils.

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <catch2/catch.hpp>

#include "models/contamination/normal.h"
#include "models/contamination/within_field.h"
#include "models/contamination/within_field_law.h"
#include "models/spatial/kriging.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::PlacedResult;
using models::WithinFieldParameters;
using models::WithinFieldSettings;
using models::WithinFieldStructure;

namespace {

PlacedResult placed_result(std::size_t field, double x_m, double y_m, double don_mg_per_kg, double q,
                           models::Reading reading = models::Reading::value) {
    return {field, {x_m, y_m}, reading, don_mg_per_kg, q};
}

/// Values whose logs are these, as they enter: the log of a reading lies q/2 under that of the content.
std::vector<PlacedResult> placed_logs(const Eigen::MatrixX2d& places_m, const Eigen::VectorXd& logs, double q) {
    std::vector<PlacedResult> results;
    for (Eigen::Index i = 0; i < logs.size(); ++i)
        results.push_back(placed_result(0, places_m(i, 0), places_m(i, 1), std::exp(logs[i] - 0.5 * q), q));
    return results;
}

class FieldDraws {
 public:
    explicit FieldDraws(std::uint64_t seed) : generator_(seed) {}
    double uniform() { return (static_cast<double>(generator_() >> 11) + 0.5) * 0x1p-53; }
    double normal() { return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::acos(-1.0) * uniform()); }

 private:
    std::mt19937_64 generator_;
};

/// A field of 300 x 300 m, sd 0.6, exponential of range 80 m beside 30 % of nugget, or nothing but nugget.
std::vector<PlacedResult> made_field(std::uint64_t seed, int points, bool structured, std::size_t number = 0) {
    FieldDraws draw(seed);
    Eigen::MatrixX2d at(points, 2);
    for (Eigen::Index i = 0; i < points; ++i) at.row(i) << 300.0 * draw.uniform(), 300.0 * draw.uniform();
    Eigen::MatrixXd c = Eigen::MatrixXd::Identity(points, points) * 0.36 * (structured ? 0.3 : 1.0);
    if (structured)
        for (Eigen::Index i = 0; i < points; ++i)
            for (Eigen::Index j = 0; j < points; ++j)
                c(i, j) += 0.36 * 0.7 * std::exp(-(at.row(i) - at.row(j)).norm() / 80.0);
    const Eigen::MatrixXd factor = c.llt().matrixL();
    const double q = std::log(1.0 + 0.15 * 0.15);
    Eigen::VectorXd z = Eigen::VectorXd::NullaryExpr(points, [&] { return draw.normal(); });
    z = (factor * z).eval();
    std::vector<PlacedResult> results;
    for (Eigen::Index i = 0; i < points; ++i) {
        const double reading = 0.5 * std::exp(z[i] - 0.5 * q + std::sqrt(q) * draw.normal());
        results.push_back(placed_result(number, at(i, 0), at(i, 1), reading, q));
    }
    return results;
}

/// Prediction of ln content by kriging at each point of the posterior, as a map makes it.
Eigen::VectorXd mapped_at(const WithinFieldStructure& told, const Eigen::MatrixX2d& places_m,
                          const Eigen::MatrixX2d& targets_m) {
    Eigen::VectorXd mean = Eigen::VectorXd::Zero(targets_m.rows());
    for (const models::WithinFieldPoint& point : told.by_field.at(0).points) {
        const double variance = point.parameters.sd * point.parameters.sd,
                     shared = variance * point.parameters.structured_share;
        std::vector<models::VariogramTerm> terms{
            {.shape = models::VariogramShape::nugget, .partial_sill = variance - shared}};
        if (shared > 0.0)
            terms.push_back({.shape = models::VariogramShape::exponential,
                             .partial_sill = shared,
                             .range_m = point.parameters.range_m});
        const auto n = static_cast<Eigen::Index>(point.log_content.size());
        // Values come before inequalities.
        Eigen::MatrixX2d own_m(n, 2);
        for (Eigen::Index i = 0; i < n; ++i)
            own_m.row(i) =
                places_m.row(static_cast<Eigen::Index>(told.by_field[0].results[static_cast<std::size_t>(i)]));
        const models::SpatialData data{own_m,
                                       Eigen::Map<const Eigen::VectorXd>(point.log_content.data(), n),
                                       Eigen::Map<const Eigen::VectorXd>(point.error_variance.data(), n),
                                       {}};
        mean += point.weight * models::Kriging(data, models::VariogramModel(terms)).at(targets_m).estimate;
    }
    return mean;
}

}  // namespace

TEST_CASE("the likelihood of placed results at fixed parameters is that of gls in R") {
    NEEDS_SHARED_DATA(shared);
    // nlme 3.1-162: gls(log(zinc) ~ 1, corExp(c(250, 1 - .85 * .49 / (.49 + q)), ~ x + y, nugget, fixed), "REML",
    // sigma = sqrt(.49 + q)), q = .02 and 0; two_fields: ~ 0 + side, ~ x + y | side.
    // tests/reference/within_field_gls.sh
    constexpr double one_field = -117.283175718;
    constexpr double without_error = -114.962398518;
    constexpr double two_fields = -120.057145531;
    const auto data = tests::meuse_log_zinc(shared);
    const WithinFieldParameters at{0.7, 0.85, 250.0};
    std::vector<PlacedResult> results = placed_logs(data.positions_m, data.values, 0.02);
    CHECK(models::within_field_log_likelihood(results, at) == Approx(one_field).margin(2e-8).epsilon(0.0));
    CHECK(models::within_field_log_likelihood(placed_logs(data.positions_m, data.values, 0.0), at) ==
          Approx(without_error).margin(2e-8).epsilon(0.0));
    for (PlacedResult& r : results) r.field = r.place.x_m < 179700.0 ? 1 : 0;
    CHECK(models::within_field_log_likelihood(results, at) == Approx(two_fields).margin(2e-8).epsilon(0.0));
}

TEST_CASE("a known field mean gives the plain normal density and a wide one the density of contrasts") {
    const std::vector<PlacedResult> results = made_field(3, 7, true);
    const WithinFieldParameters at{0.5, 0.6, 70.0};
    const double q = results[0].log_error_variance;
    Eigen::MatrixXd c(7, 7);
    Eigen::VectorXd y(7);
    for (Eigen::Index i = 0; i < 7; ++i) {
        y[i] = std::log(results[static_cast<std::size_t>(i)].don_mg_per_kg) + 0.5 * q + 0.9;
        for (Eigen::Index j = 0; j < 7; ++j)
            c(i, j) = i == j ? 0.25 + q
                             : 0.25 * 0.6 *
                                   std::exp(-models::distance_m(results[static_cast<std::size_t>(i)].place,
                                                                results[static_cast<std::size_t>(j)].place) /
                                            70.0);
    }
    const double quadratic = y.dot(c.inverse() * y), two_pi = 2.0 * std::acos(-1.0);
    WithinFieldSettings settings;
    settings.known_means = {{-0.9, 0.0}};
    CHECK(models::within_field_log_likelihood(results, at, settings) ==
          Approx(-0.5 * (quadratic + std::log(c.determinant()) + 7.0 * std::log(two_pi))).epsilon(1e-12));
    settings.known_means = {{-0.9, 1e8}};
    CHECK(models::within_field_log_likelihood(results, at, settings) + 0.5 * std::log(two_pi * 1e8) ==
          Approx(models::within_field_log_likelihood(results, at)).epsilon(1e-6));
}

TEST_CASE("inequalities have the probability that brute force gives them and leave the same moments") {
    // P(z1 + e1 < -0.3 and z2 + e2 > 0.4), z normal with means 0.2 and 0.1: the second given the first by its
    // conditional law, the first by 20,000 strips.
    Eigen::Matrix2d c;
    c << 0.5, 0.3, 0.3, 0.4;
    const Eigen::Vector2d mean(0.2, 0.1), bound(-0.3, 0.4), noise(0.05, 0.02), side(-1.0, 1.0);
    double mass = 0.0, first = 0.0;
    const double sd = std::sqrt(c(0, 0));
    for (int i = 0; i < 20000; ++i) {
        const double z = mean[0] + sd * (-8.0 + 16.0 * (i + 0.5) / 20000.0);
        const double density = models::normal::density((z - mean[0]) / sd) * 16.0 / 20000.0;
        const double below = models::normal::cdf((bound[0] - z) / std::sqrt(noise[0]));
        const double centre = mean[1] + c(1, 0) / c(0, 0) * (z - mean[0]);
        const double spread = c(1, 1) - c(1, 0) * c(1, 0) / c(0, 0) + noise[1];
        const double weight = density * below * models::normal::cdf((centre - bound[1]) / std::sqrt(spread));
        mass += weight;
        first += weight * z;
    }
    const auto found = models::contamination::propagate_bounds(mean, c, bound, noise, side);
    CHECK(found.settled);
    CHECK(std::exp(found.log_probability) == Approx(mass).epsilon(0.03));
    const Eigen::Matrix2d precision = c.inverse() + Eigen::Matrix2d(found.tau.asDiagonal());
    const Eigen::Vector2d centre = precision.inverse() * (c.inverse() * mean + found.nu);
    CHECK(centre[0] == Approx(first / mass).margin(0.01).epsilon(0.0));
    // One inequality alone is exact.
    const auto alone = models::contamination::propagate_bounds(mean.head(1), c.topLeftCorner(1, 1), bound.head(1),
                                                               noise.head(1), side.head(1));
    CHECK(alone.log_probability ==
          Approx(models::normal::log_cdf((bound[0] - mean[0]) / std::sqrt(0.55))).epsilon(1e-12));
}

TEST_CASE("placed results left out are foretold as the kriging engine foretells them") {
    const std::vector<PlacedResult> results = made_field(11, 25, true);
    models::contamination::FieldOfPlaces field;
    const Eigen::Index n = 25;
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    data.error_variances.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const PlacedResult& r = results[static_cast<std::size_t>(i)];
        data.positions_m.row(i) << r.place.x_m, r.place.y_m;
        data.error_variances[i] = r.log_error_variance * (1.0 + 0.1 * static_cast<double>(i));
        data.values[i] = std::log(r.don_mg_per_kg);
    }
    field.values = field.places = n;
    field.distance_m = Eigen::MatrixXd::NullaryExpr(n, n, [&](Eigen::Index i, Eigen::Index j) {
        return (data.positions_m.row(i) - data.positions_m.row(j)).norm();
    });
    field.log_content = data.values;
    field.error_variance = data.error_variances;
    field.side = Eigen::VectorXd::Zero(n);
    const WithinFieldParameters at{0.6, 0.7, 80.0};
    const auto left = models::contamination::left_out(field, at, models::contamination::field_at(field, at));
    const auto kriged =
        models::Kriging(data, models::VariogramModel::parse("nugget 0.108 + exponential 0.252 range 80"))
            .leave_one_out();
    CHECK(tests::largest_difference(left.mean, kriged.predicted) < 1e-11);
    CHECK(tests::largest_difference(left.variance, kriged.variance + data.error_variances) < 1e-11);
}

TEST_CASE("the evidence ratio of structure is that of a dense grid over sd and share and range") {
    const std::vector<PlacedResult> results = made_field(5, 20, true);
    // Midpoints of equal parts of the prior in each direction, over the range that the header names.
    std::vector<double> nearest;
    double widest = 0.0;
    for (const PlacedResult& a : results) {
        double near = 1e9;
        for (const PlacedResult& b : results) {
            const double d = models::distance_m(a.place, b.place);
            widest = std::max(widest, d);
            if (d > 0.0) near = std::min(near, d);
        }
        nearest.push_back(near);
    }
    std::sort(nearest.begin(), nearest.end());
    const double low = std::log(nearest[10]), high = std::log(0.5 * widest);
    constexpr int parts = 32;
    const auto middle = [](int i) { return (i + 0.5) / parts; };
    double plain = 0.0, structured = 0.0;
    for (int i = 0; i < parts; ++i) {
        WithinFieldParameters p;
        p.sd = 0.4 * std::exp(0.5 * models::normal::quantile(middle(i)));
        plain += std::exp(models::within_field_log_likelihood(results, p)) / parts;
        for (int j = 0; j < parts; ++j)
            for (int k = 0; k < parts; ++k) {
                p.structured_share = middle(j);
                p.range_m = std::exp(low + middle(k) * (high - low));
                structured += std::exp(models::within_field_log_likelihood(results, p)) / std::pow(parts, 3);
            }
    }
    const WithinFieldStructure told = models::within_field_structure(results);
    CHECK(told.log_evidence_plain == Approx(std::log(plain)).margin(0.03).epsilon(0.0));
    CHECK(told.log_evidence_structured == Approx(std::log(structured)).margin(0.03).epsilon(0.0));
    CHECK(told.evidence_ratio == Approx(structured / plain).epsilon(0.05));
}

TEST_CASE("the Meuse zinc and the Jura cadmium have structure") {
    NEEDS_SHARED_DATA(shared);
    const auto meuse = tests::meuse_log_zinc(shared);
    const auto zinc = models::within_field_structure(placed_logs(meuse.positions_m, meuse.values, 0.01));
    CHECK(zinc.supported);
    CHECK(zinc.evidence_ratio > 1000.0);
    CHECK(zinc.leave_one_out_skill > 0.6);
    CHECK_THAT(zinc.reason,
               Contains("supported: 155 placed results say more than 1000 to 1 that near places are alike"));
    const auto table = tests::reference_table(shared, "data/jura_pred.csv");
    const auto cadmium = models::within_field_structure(
        placed_logs(1000.0 * tests::places_of(table, "Xloc", "Yloc"), table.numbers("Cd").array().log(), 0.0));
    CHECK(cadmium.supported);
    CHECK(cadmium.leave_one_out_skill > 0.2);
}

TEST_CASE("soil metals under a limit foretell held-out sites better as inequalities than as half the limit") {
    NEEDS_SHARED_DATA(shared);
    // Every second of the 259 Jura sites, two in five of them under the limit; 100 sites held out; all seven metals.
    // Root mean squared error of ln content on average 0.476 against 0.487. Metal by metal the inequalities win five
    // times; for Co and Ni, whose logs are skewed to the left, half the limit happens to be near what lies under it.
    const auto table = tests::reference_table(shared, "data/jura_pred.csv");
    const auto held = tests::reference_table(shared, "data/jura_val.csv");
    const auto every_second = [](const Eigen::MatrixXd& all) {
        return Eigen::MatrixXd(all(Eigen::seq(0, Eigen::last, 2), Eigen::all));
    };
    const Eigen::MatrixX2d places = 1000.0 * every_second(tests::places_of(table, "Xloc", "Yloc")),
                           targets = 1000.0 * tests::places_of(held, "Xloc", "Yloc");
    WithinFieldSettings quick;
    quick.points = 64;
    quick.enough_effective = 16.0;
    double censored = 0.0, half = 0.0;
    int won = 0;
    for (const char* metal : {"Cd", "Co", "Cr", "Cu", "Ni", "Pb", "Zn"}) {
        const Eigen::VectorXd truth = held.numbers(metal).array().log(), content = every_second(table.numbers(metal));
        std::vector<double> sorted(content.begin(), content.end());
        std::sort(sorted.begin(), sorted.end());
        const double limit = sorted[sorted.size() * 2 / 5];
        std::vector<PlacedResult> known, halved;
        for (Eigen::Index i = 0; i < content.size(); ++i) {
            const bool below = content[i] < limit;
            known.push_back(placed_result(0, places(i, 0), places(i, 1), below ? limit : content[i], 1e-4,
                                          below ? models::Reading::below : models::Reading::value));
            halved.push_back(placed_result(0, places(i, 0), places(i, 1), below ? 0.5 * limit : content[i], 1e-4));
        }
        const auto rmse = [&](const std::vector<PlacedResult>& results) {
            const WithinFieldStructure told = models::within_field_structure(results, quick);
            CHECK(told.supported);
            return std::sqrt((mapped_at(told, places, targets) - truth).squaredNorm() /
                             static_cast<double>(truth.size()));
        };
        const double as_inequalities = rmse(known), as_half = rmse(halved);
        censored += as_inequalities;
        half += as_half;
        UNSCOPED_INFO(metal << ": " << as_inequalities << " as inequalities, " << as_half << " as half the limit");
        won += as_inequalities < as_half ? 1 : 0;
    }
    CAPTURE(won, censored / 7.0, half / 7.0);
    CHECK(censored < 0.99 * half);
    CHECK(won >= 4);
}

TEST_CASE(
    "structure of a range of 80 m is found in four of five fields of sixty points and seldom where there is none") {
    int found = 0, false_alarms = 0;
    for (std::uint64_t seed = 0; seed < 25; ++seed) {
        found += models::within_field_structure(made_field(700 + seed, 60, true)).supported ? 1 : 0;
        false_alarms += models::within_field_structure(made_field(700 + seed, 60, false)).supported ? 1 : 0;
    }
    CHECK(found >= 20);
    CHECK(false_alarms <= 2);
}

TEST_CASE("values without structure are called structured at most once in ten fields") {
    int wrong = 0;
    for (std::uint64_t seed = 0; seed < 100; ++seed)
        wrong += models::within_field_structure(made_field(9000 + seed, 25, false)).supported ? 1 : 0;
    CHECK(wrong <= 10);
}

TEST_CASE("fields speak together of structure that none of them shows alone") {
    std::vector<PlacedResult> all;
    double largest_alone = 0.0;
    for (std::size_t f = 0; f < 6; ++f) {
        const auto one = made_field(40 + f, 20, true, f);
        largest_alone = std::max(largest_alone, models::within_field_structure(one).evidence_ratio);
        all.insert(all.end(), one.begin(), one.end());
    }
    const auto together = models::within_field_structure(all);
    CHECK(together.supported);
    CHECK(together.evidence_ratio > largest_alone);
    CHECK(together.fields == 6);
    CHECK_THAT(together.reason, Contains("120 placed results in 6 fields"));
}

TEST_CASE("a field without structure seldom gets a surface from the structure of another") {
    int supported = 0, own = 0, false_surfaces = 0;
    for (std::uint64_t seed = 0; seed < 20; ++seed) {
        std::vector<PlacedResult> both = made_field(100 + seed, 80, true, 0);
        const auto plain = made_field(200 + seed, 40, false, 1);
        both.insert(both.end(), plain.begin(), plain.end());
        const auto told = models::within_field_structure(both);
        REQUIRE(told.by_field.size() == 2);
        supported += told.supported ? 1 : 0;
        own += told.by_field[0].mapped ? 1 : 0;
        false_surfaces += told.by_field[1].mapped ? 1 : 0;
    }
    CHECK(supported >= 15);
    CHECK(own >= 15);
    CHECK(false_surfaces <= 3);
}

TEST_CASE("nine points cannot show structure and the sentence says how seldom such points do") {
    const auto told = models::within_field_structure(made_field(2, 9, true));
    CHECK_FALSE(told.supported);
    CHECK(told.power < 0.25);
    CHECK_THAT(told.reason, Contains("not supported: 9 placed results say") && Contains("leave-one-out skill") &&
                                Contains("such samplings would show it"));
    const auto more = models::within_field_structure(made_field(2, 120, false));
    CHECK(more.power > 0.9);
}

TEST_CASE("equal values and points at one place are not called structured") {
    FieldDraws draw(1);
    std::vector<PlacedResult> equal, together;
    for (int i = 0; i < 30; ++i) {
        equal.push_back(placed_result(0, 100.0 * draw.uniform(), 100.0 * draw.uniform(), 0.2, 0.02));
        together.push_back(placed_result(0, 10.0, 10.0, 0.5 + draw.uniform(), 0.02));
    }
    CHECK_FALSE(models::within_field_structure(equal).supported);
    for (const auto& few : {together, std::vector<PlacedResult>{}, std::vector<PlacedResult>{equal[0]}})
        CHECK(models::within_field_structure(few).reason ==
              "not supported: no field has enough placed results to show structure within it");
}

TEST_CASE("two results that share a place share its content") {
    // The one place holds both: as one result of the mean of their logs and half the error, but for the density of
    // their difference, which is N(0, 2 q) and known to both cases alike.
    std::vector<PlacedResult> apart = made_field(21, 12, true), merged = apart;
    const double q = apart[0].log_error_variance;
    PlacedResult again = apart[0];
    again.don_mg_per_kg *= 1.2;
    apart.push_back(again);
    merged[0].log_error_variance = 0.5 * q;
    merged[0].don_mg_per_kg *= std::sqrt(1.2) * std::exp(0.25 * q);
    const WithinFieldParameters at{0.5, 0.5, 60.0};
    const double difference = std::log(1.2);
    const double of_difference = -0.25 * difference * difference / q - 0.5 * std::log(4.0 * std::acos(-1.0) * q);
    CHECK(models::within_field_log_likelihood(apart, at) ==
          Approx(models::within_field_log_likelihood(merged, at) + of_difference).epsilon(1e-10));
}

TEST_CASE("the verdict on structure is the same to the last bit for any number of threads") {
    const auto results = made_field(8, 30, true);
    WithinFieldSettings one, three;
    one.threads = 1;
    three.threads = 3;
    const auto a = models::within_field_structure(results, one), b = models::within_field_structure(results, three);
    CHECK(a.evidence_ratio == b.evidence_ratio);
    CHECK(a.leave_one_out_skill == b.leave_one_out_skill);
    CHECK(a.reason == b.reason);
}

TEST_CASE("placed results that cannot be are refused in words") {
    const auto refused = [](PlacedResult result, const char* words) {
        CHECK_THROWS_WITH(models::within_field_structure({result}), Contains(words) && Contains("placed result 1"));
    };
    refused(placed_result(0, 1.0, 1.0, 0.5, 0.02, models::Reading::invalid), "a void reading tells nothing");
    refused(placed_result(0, 1.0, NAN, 0.5, 0.02), "the place is not a number");
    refused(placed_result(0, 1.0, 1.0, 0.0, 0.02), "the content is not above zero");
    refused(placed_result(0, 1.0, 1.0, 0.5, -0.02), "the error variance is not a number from 0");
    WithinFieldSettings settings;
    settings.least_ratio = 1.0;
    CHECK_THROWS_WITH(models::within_field_structure({}, settings), Contains("cries wolf"));
    settings = {};
    settings.known_means = {{0.0, 1.0}};
    CHECK_THROWS_WITH(models::within_field_log_likelihood({placed_result(1, 1.0, 1.0, 0.5, 0.02)}, {}, settings),
                      Contains("no mean is given for field number 1"));
    const std::vector<PlacedResult> twice{placed_result(0, 1.0, 1.0, 0.5, 0.0), placed_result(0, 1.0, 1.0, 0.6, 0.0),
                                          placed_result(0, 9.0, 1.0, 0.6, 0.0), placed_result(0, 9.0, 5.0, 0.6, 0.0)};
    CHECK_THROWS_WITH(models::within_field_structure(twice),
                      Contains("two values without an error of their own lie at one place"));
}
