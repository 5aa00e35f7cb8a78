// Kriging of real data beside Meuse zinc, against answers of the R package gstat 2.1: cadmium in the soil of the Swiss
// Jura (259 sites, 100 held back; Goovaerts 1997, Geostatistics for Natural Resources Evaluation, package gstat).

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <vector>

#include <catch2/catch.hpp>

#include "models/spatial/indicator.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using models::Kriging;
using models::KrigingSettings;
using models::SpatialData;
using models::VariogramModel;

namespace {

constexpr const char* cadmium_model = "nugget 0.3 + spherical 0.3 range 0.2 + spherical 0.26 range 1.3";  // km

SpatialData jura_cadmium(const std::filesystem::path& shared) {
    const auto table = tests::reference_table(shared, "data/jura_pred.csv");
    return {tests::places_of(table, "Xloc", "Yloc"), table.numbers("Cd"), {}, {}};
}

/// A column of 0 and 1 for each rock but the first.
Eigen::MatrixXd rocks_of(const std::filesystem::path& shared, const std::string& name) {
    const std::vector<std::string> rocks = {"Kimmeridgian", "Sequanian", "Portlandian", "Quaternary"};
    std::ifstream file(shared / "reference" / name);
    std::string line, cell;
    std::getline(file, line);
    std::vector<Eigen::RowVector4d> rows;
    while (std::getline(file, line)) {
        std::istringstream cells(line);
        for (int column = 0; column < 6; ++column) std::getline(cells, cell, ',');
        Eigen::RowVector4d row;
        for (Eigen::Index k = 0; k < 4; ++k) row[k] = cell == rocks[static_cast<std::size_t>(k)] ? 1.0 : 0.0;
        rows.push_back(row);
    }
    Eigen::MatrixXd out(static_cast<Eigen::Index>(rows.size()), 4);
    for (Eigen::Index i = 0; i < out.rows(); ++i) out.row(i) = rows[static_cast<std::size_t>(i)];
    return out;
}

/// Where the last neighbour and the next are as far apart as a 32-bit number can tell, gstat may have taken either.
bool is_tie(const SpatialData& data, const Eigen::RowVector2d& place, std::size_t count) {
    std::vector<double> squared;
    for (Eigen::Index i = 0; i < data.values.size(); ++i) {
        squared.push_back((data.positions_m.row(i) - place).squaredNorm());
    }
    std::nth_element(squared.begin(), squared.begin() + static_cast<std::ptrdiff_t>(count), squared.end());
    const double next = squared[count],
                 last = *std::max_element(squared.begin(), squared.begin() + static_cast<std::ptrdiff_t>(count));
    return next - last < 1e-6 * next;
}

void check_local(const SpatialData& data, const VariogramModel& model, const geo::PointTable& expected, int count,
                 const Eigen::MatrixXd& drift = {}) {
    KrigingSettings settings;
    settings.neighbourhood.count = count;
    const Eigen::MatrixX2d places = tests::places_of(expected);
    const auto found = Kriging(data, model, settings).at(places, drift);
    const Eigen::VectorXd estimate = expected.numbers("pred"), variance = expected.numbers("var");
    long long ties = 0;
    double worst = 0.0;
    for (Eigen::Index i = 0; i < places.rows(); ++i) {
        if (is_tie(data, places.row(i), static_cast<std::size_t>(count))) {
            ++ties;
            continue;
        }
        worst = std::max({worst, std::abs(found.estimate[i] - estimate[i]), std::abs(found.variance[i] - variance[i])});
    }
    CHECK(worst < 1e-11);
    CHECK(ties < places.rows() / 20);
}

}  // namespace

TEST_CASE("cadmium at the Jura sites held back agrees with gstat with and without rock as a drift") {
    NEEDS_SHARED_DATA(shared);
    SpatialData data = jura_cadmium(shared);
    const VariogramModel model = VariogramModel::parse(cadmium_model);
    const auto plain = tests::reference_table(shared, "kriging/jura_Cd_ok_at_validation.csv");
    const auto ordinary = Kriging(data, model).at(tests::places_of(plain));
    CHECK(tests::largest_difference(ordinary.estimate, plain.numbers("pred")) < 1e-12);
    CHECK(tests::largest_difference(ordinary.variance, plain.numbers("var")) < 1e-12);

    data.drift = rocks_of(shared, "data/jura_pred.csv");
    const auto by_rock = tests::reference_table(shared, "kriging/jura_Cd_ked_rock_at_validation.csv");
    const auto external = Kriging(data, model).at(tests::places_of(by_rock), rocks_of(shared, "data/jura_val.csv"));
    CHECK(tests::largest_difference(external.estimate, by_rock.numbers("pred")) < 1e-11);
    CHECK(tests::largest_difference(external.variance, by_rock.numbers("var")) < 1e-11);
}

TEST_CASE("the Jura grid from all data and from the nearest agrees with gstat") {
    NEEDS_SHARED_DATA(shared);
    SpatialData data = jura_cadmium(shared);
    check_local(data, VariogramModel::parse(cadmium_model),
                tests::reference_table(shared, "kriging/jura_Cd_ok_grid_nmax24.csv"), 24);
    SpatialData under = data;
    under.values = models::indicators_of(data.values, 0.8);
    check_local(under, VariogramModel::parse("nugget 0.1 + spherical 0.12 range 0.9"),
                tests::reference_table(shared, "indicator/jura_Cd_le_0.8_nmax32.csv"), 32);
    data.values = data.values.array().log();
    const auto logs = tests::reference_table(shared, "kriging/jura_logCd_ok_grid.csv");
    const auto found =
        Kriging(data, VariogramModel::parse("nugget 0.2 + spherical 0.25 range 1")).at(tests::places_of(logs));
    CHECK(tests::largest_difference(found.estimate, logs.numbers("pred")) < 1e-12);
    CHECK(tests::largest_difference(found.variance, logs.numbers("var")) < 1e-12);
}

TEST_CASE("Meuse zinc from the nearest 32 with a drift agrees with gstat and its trend is the one of all data") {
    NEEDS_SHARED_DATA(shared);
    SpatialData data = tests::meuse_log_zinc(shared);
    data.drift = tests::reference_table(shared, "data/meuse.csv").numbers("dist").array().sqrt();
    const Eigen::MatrixXd cells = tests::reference_table(shared, "data/meuse_grid.csv").numbers("dist").array().sqrt();
    const VariogramModel model = VariogramModel::parse("nugget 0.0798 + spherical 0.1485283 range 877.3");
    check_local(data, model, tests::reference_table(shared, "kriging/meuse_uk_sqrtdist_nmax32.csv"), 32, cells);
    const auto trend = tests::reference_table(shared, "kriging/meuse_trend_blue_sqrtdist.csv").numbers("z.pred");
    const Eigen::VectorXd coefficients = Kriging(data, model).coefficients();
    CHECK(tests::largest_difference((coefficients[0] + coefficients[1] * cells.array()).matrix(), trend) < 1e-12);
}
