// What one truck, a part or a mixed load holds, against closed forms and against simulations of another make.
#include <cmath>
#include <random>

#include <Eigen/Dense>
#include <catch2/catch.hpp>

#include "models/contamination/grain_of_field.h"
#include "models/error.h"
#include "models/spatial/kriging.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

double upper_tail(double z) {
    return 0.5 * std::erfc(z / std::sqrt(2.0));
}

/// Fields that are known to be N(mean, variance) on the log scale, independent of one another.
FieldsTogether fields_known(const std::vector<double>& log_mean, double variance, double within_sd) {
    FieldsTogether together;
    const auto n = static_cast<Eigen::Index>(log_mean.size());
    together.points.push_back({1.0, Eigen::Map<const Eigen::VectorXd>(log_mean.data(), n),
                               variance * Eigen::MatrixXd::Identity(n, n), within_sd});
    return together;
}

SpreadInField structure(double share, double range_m) {
    SpreadInField spread;
    spread.points.push_back({1.0, {0.0, share, range_m}, {}, {}});
    return spread;
}

GrainFromField one_truck(const GroundCells& ground, double share, SpreadInField spread) {
    GrainFromField from;
    from.ground = &ground;
    from.field_ha = ground.area_ha;
    from.share_of_field = share;
    from.spread = std::move(spread);
    return from;
}

/// Mean of exp(-h / range) between two boxes of the plane, on 24 x 24 places in each.
double mean_kernel(const BoxM& a, const BoxM& b, double range_m) {
    constexpr int k = 24;
    double sum = 0.0;
    for (int i = 0; i < k * k; ++i)
        for (int j = 0; j < k * k; ++j) {
            const double x = a.x_min_m + a.width_m() * (i % k + 0.5) / k - b.x_min_m - b.width_m() * (j % k + 0.5) / k;
            const double y = a.y_min_m + a.height_m() * (static_cast<double>(i / k) + 0.5) / k - b.y_min_m -
                             b.height_m() * (static_cast<double>(j / k) + 0.5) / k;
            sum += std::exp(-std::hypot(x, y) / range_m);
        }
    return sum / std::pow(k, 4);
}

struct Moments {
    double mean = 0.0, variance = 0.0;
    explicit Moments(const Eigen::VectorXd& x) {
        mean = x.mean();
        variance = (x.array() - mean).square().mean();
    }
};

Eigen::VectorXd relative_cut(const GroundCells& ground, const CutCells& cut, const Eigen::MatrixXd& cells) {
    Eigen::VectorXd weights = Eigen::VectorXd::Zero(cells.rows());
    for (const auto& [cell, part] : cut) weights[cell] = part * ground.cells[static_cast<std::size_t>(cell)].share;
    return cells.transpose() * weights / weights.sum();
}

}  // namespace

TEST_CASE("a truck as large as the field is the field") {
    FieldsTogether known = fields_known({std::log(0.7)}, 0.16, 0.5);
    known.points[0].weight = 0.25;
    known.points.push_back(
        {0.75, Eigen::VectorXd::Constant(1, std::log(0.5)), Eigen::MatrixXd::Constant(1, 1, 0.09), 0.3});
    const GroundCells ground = ground_cells(3.0, 60);
    for (const SpreadInField& spread : {SpreadInField{}, structure(0.6, 60.0)}) {
        const GrainLaw law = law_of_grain(known, {one_truck(ground, 1.2, spread)});
        const double over = 0.25 * upper_tail((0.0 - std::log(0.7)) / 0.4) + 0.75 * upper_tail(-std::log(0.5) / 0.3);
        CHECK(law.exceedance(1.0) == Approx(over).epsilon(1e-12));
        CHECK(law.content().mean == Approx(0.25 * 0.7 * std::exp(0.08) + 0.75 * 0.5 * std::exp(0.045)).epsilon(1e-12));
    }
}

TEST_CASE("a truck from patches varies by their number in it and in the field") {
    // n = 8 of N = 25 patches: relative variance (e^0.25 - 1) (1/8 - 1/25), lognormal.
    const double v = std::log1p(std::expm1(0.25) * (1.0 / 8.0 - 1.0 / 25.0));
    CHECK(log_variance_of_patches(0.5, 10.0, 0.32, 0.4) == Approx(v).epsilon(1e-12));
    GrainFromField from;
    from.field_ha = 10.0;
    from.share_of_field = 0.32;
    const GrainLaw law = law_of_grain(fields_known({std::log(0.8)}, 0.04, 0.5), {from});
    const Content content = law.content();
    CHECK(content.mean == Approx(0.8 * std::exp(0.02)).epsilon(1e-12));
    CHECK(content.median == Approx(0.8 * std::exp(-0.5 * v)).epsilon(1e-10));
    CHECK(content.high90 == Approx(content.median * std::exp(1.6448536269514722 * std::sqrt(0.04 + v))).epsilon(1e-9));
    CHECK(content.low50 == Approx(content.median * std::exp(-0.6744897501960817 * std::sqrt(0.04 + v))).epsilon(1e-9));
    CHECK(law.exceedance(1.0) == Approx(upper_tail(-std::log(content.median) / std::sqrt(0.04 + v))).epsilon(1e-9));
    // Less than a patch varies as a patch does; a field that is one patch does not vary at all.
    CHECK(log_variance_of_patches(0.5, 1e6, 1e-9, 0.4) == Approx(0.25).epsilon(1e-5));
    CHECK(log_variance_of_patches(0.5, 0.3, 0.5, 0.4) == 0.0);
}

TEST_CASE("a truck from patches holds what patches drawn one by one leave in it") {
    // Eight of 25 lognormal patches against the mean of all 25.
    const double v = log_variance_of_patches(0.5, 10.0, 0.32, 0.4);
    std::mt19937_64 random(20260726);
    std::normal_distribution<double> normal;
    const int runs = 200000;
    int over[3] = {};
    const double limits[3] = {0.85, 1.15, 1.35};
    for (int run = 0; run < runs; ++run) {
        double truck = 0.0, field = 0.0;
        for (int i = 0; i < 25; ++i) {
            const double z = std::exp(0.5 * normal(random));
            field += z / 25.0;
            if (i < 8) truck += z / 8.0;
        }
        for (int k = 0; k < 3; ++k) over[k] += truck / field > limits[k] ? 1 : 0;
    }
    for (int k = 0; k < 3; ++k)
        CHECK(upper_tail((std::log(limits[k]) + 0.5 * v) / std::sqrt(v)) ==
              Approx(static_cast<double>(over[k]) / runs).margin(0.012).epsilon(0.0));
}

TEST_CASE("the model's load of a large field is a truck of eight patches") {
    ContaminationInput input;
    input.field_seasons.push_back({"A1", "", 2026, -1.0});
    input.loads.push_back({"L1", {{0, 1.0}}});
    GrainSample sample;
    sample.sample = "S1";
    input.samples.push_back(sample);
    AssayResult result;
    result.test = "T1";
    result.don_mg_per_kg = 0.9;
    input.results.push_back(result);
    const ContaminationModel model = fit_contamination(input);
    GrainFromField from;
    from.field_ha = 1e9;
    from.share_of_field = 3.2e-9;
    const GrainLaw law = law_of_grain(model.fields_together({0}), {from});
    const Content load = model.load(0).value(), truck = law.content();
    CHECK(truck.median == Approx(load.median).epsilon(1e-6));
    CHECK(truck.mean == Approx(load.mean).epsilon(1e-6));
    CHECK(truck.low90 == Approx(load.low90).epsilon(1e-6));
    CHECK(truck.high90 == Approx(load.high90).epsilon(1e-6));
    CHECK(law.exceedance(1.25) == Approx(model.load_exceedance(0, 1.25).value()).epsilon(1e-6));
    // So grain that is judged without a test of its own is over oftener than its field's mean, in the draws as well.
    const Eigen::MatrixXd draws = model.draws(8000, 2);
    CHECK(model.load_exceedance(0, 1.25).value() > model.exceedance(0, 1.25).value());
    CHECK((draws.col(1).array() > 1.25).count() > (draws.col(0).array() > 1.25).count());
    // And the whole field is the field.
    from.share_of_field = 1.0;
    const GrainLaw whole = law_of_grain(model.fields_together({0}), {from});
    CHECK(whole.content().median == Approx(model.field_season(0).value().median).epsilon(1e-9));
    CHECK(whole.exceedance(1.25) == Approx(model.exceedance(0, 1.25).value()).epsilon(1e-9));
}

TEST_CASE("what is known of fields together has the covariance of the model's draws") {
    ContaminationInput input;
    for (int i = 0; i < 3; ++i) input.field_seasons.push_back({"A" + std::to_string(i), "", 2026, -1.0 + 0.5 * i});
    GrainSample sample;
    sample.sample = "S1";
    input.samples.push_back(sample);
    AssayResult result;
    result.test = "T1";
    result.don_mg_per_kg = 0.9;
    input.results.push_back(result);
    ContaminationPriors priors;
    priors.fixed = {true, 0.5, 0.4, 0.4, 0.1};
    const ContaminationModel model = fit_contamination(input, priors);
    const FieldsTogether known = model.fields_together({2, 0});
    REQUIRE(known.points.size() == 1);
    const Eigen::MatrixXd logs = model.draws(20000, 3).array().log();
    const Eigen::VectorXd a = logs.col(2), b = logs.col(0);
    const FieldsTogether::Point& point = known.points[0];
    CHECK(point.mean[0] == Approx(a.mean()).margin(0.02).epsilon(0.0));
    CHECK(point.covariance(0, 0) == Approx(Moments(a).variance).epsilon(0.03));
    CHECK(point.covariance(0, 1) == Approx(((a.array() - a.mean()) * (b.array() - b.mean())).mean())
                                        .margin(0.03 * point.covariance(0, 0))
                                        .epsilon(0.0)
                                        .epsilon(0.0));
    CHECK(point.within_sd == 0.4);
    CHECK_THROWS_WITH(model.fields_together({1, 1}), Contains("field A1, season 2026 is asked for twice"));
    CHECK_THROWS_WITH(model.fields_together({7}), Contains("there is no field-season number 7"));
}

TEST_CASE("the parts of a field together have the field's mean in every draw") {
    const GroundCells ground = ground_cells(9.0, 120);
    const std::vector<CutCells> trucks = trucks_of_ground(ground, 0.3);
    SpreadInField both = structure(0.7, 80.0);
    both.points[0].weight = 0.5;
    both.points.push_back({0.5, {0.0, 0.0, 1.0}, {}, {}});
    for (const SpreadInField& spread : {SpreadInField{}, both}) {
        const Eigen::MatrixXd cells = relative_contents(ground, spread, Eigen::VectorXd::Constant(200, 0.6), 11);
        Eigen::VectorXd together = Eigen::VectorXd::Zero(200);
        for (const CutCells& truck : trucks) together += share_of(ground, truck) * relative_cut(ground, truck, cells);
        CHECK((together.array() - 1.0).abs().maxCoeff() < 1e-12);
        CHECK(Moments(relative_cut(ground, trucks[0], cells)).variance > 1e-6);
    }
}

TEST_CASE("the variance of a cut is that of the mean kernels of block and field") {
    // A small sd, so that contents are linear in their logs: var = sd^2 (C(v,v) - 2 C(v,V) + C(V,V)), Journel &
    // Huijbregts (1978), Mining Geostatistics, II.C.
    const double length = 400.0, width = 200.0, range = 70.0, sd = 0.1;
    const BoxM field{0.0, 0.0, length, width};
    const OutlineM outline{{{{0.0, 0.0}, {length, 0.0}, {length, width}, {0.0, width}}, {}}};
    const GroundCells ground = ground_cells(outline, 200);
    REQUIRE(ground.cells.size() == 200);
    const int draws = 20000;
    const Eigen::MatrixXd cells =
        relative_contents(ground, structure(1.0, range), Eigen::VectorXd::Constant(draws, sd), 5);
    const double field_field = mean_kernel(field, field, range);
    // The first strip of a fifth, and a corner of 100 x 100 m.
    const OutlineM corner{{{{0.0, 0.0}, {100.0, 0.0}, {100.0, 100.0}, {0.0, 100.0}}, {}}};
    const std::pair<CutCells, BoxM> cuts[] = {{strip_of_ground(ground, 0.0, 0.2), {0.0, 0.0, length, 40.0}},
                                              {part_of_ground(ground, corner), {0.0, 0.0, 100.0, 100.0}}};
    for (const auto& [cut, box] : cuts) {
        const double expected =
            sd * sd * (mean_kernel(box, box, range) - 2.0 * mean_kernel(box, field, range) + field_field);
        CHECK(Moments(relative_cut(ground, cut, cells)).variance == Approx(expected).epsilon(0.04));
    }
}

TEST_CASE("the nugget is averaged over the places of a truck and a structure is not") {
    const GroundCells ground = ground_cells(10.0, 100);
    const Eigen::VectorXd sd = Eigen::VectorXd::Constant(4000, 0.5);
    const CutCells truck = strip_of_ground(ground, 0.4, 0.2);
    // 200 of 1000 places: e^0.25 - 1 times (1/200 - 1/1000).
    const Moments loose(relative_cut(ground, truck, relative_contents(ground, structure(0.0, 50.0), sd, 8)));
    CHECK(loose.variance == Approx(std::expm1(0.25) * (1.0 / 200.0 - 1.0 / 1000.0)).epsilon(0.06));
    const Moments shared(relative_cut(ground, truck, relative_contents(ground, structure(0.7, 80.0), sd, 8)));
    CHECK(shared.variance > 5.0 * loose.variance);
}

TEST_CASE("patches simulated on cells vary as patches do in closed form") {
    // Patches of 50 x 50 m in a field of 100 x 400 m: 16 of them, and a strip along it takes half.
    const OutlineM outline{{{{0.0, 0.0}, {400.0, 0.0}, {400.0, 100.0}, {0.0, 100.0}}, {}}};
    const GroundCells ground = ground_cells(outline, 64);
    REQUIRE(ground.cells.size() == 64);
    SpreadInField patches;
    patches.patch_ha = 0.25;
    const Moments half(relative_cut(ground, strip_of_ground(ground, 0.0, 0.5),
                                    relative_contents(ground, patches, Eigen::VectorXd::Constant(20000, 0.3), 2)));
    CHECK(half.variance == Approx(std::expm1(0.09) * (1.0 / 8.0 - 1.0 / 16.0)).epsilon(0.04));
}

TEST_CASE("a truck from anywhere holds what a simulation of another make says") {
    // A field of 300 x 200 m at 10 m, exponential with a share of .8, sd .7; a strip of 300 x 50 m from anywhere.
    const double range = 60.0, share = 0.8, sd = 0.7;
    std::mt19937_64 random(7);
    std::normal_distribution<double> normal;
    std::uniform_int_distribution<int> first_row(0, 15);
    const int columns = 30, rows = 20, n = columns * rows, runs = 3000;
    Eigen::MatrixXd covariance(n, n);
    for (int i = 0; i < n; ++i)
        for (int j = 0; j < n; ++j)
            covariance(i, j) =
                sd * sd * share *
                std::exp(-10.0 * std::hypot(i % columns - j % columns, i / columns - j / columns) / range);
    const Eigen::MatrixXd factor = covariance.llt().matrixL();
    Eigen::MatrixXd z(n, runs);
    for (int r = 0; r < runs; ++r)
        for (int i = 0; i < n; ++i) z(i, r) = normal(random);
    Eigen::MatrixXd field = factor * z;
    for (int r = 0; r < runs; ++r)
        for (int i = 0; i < n; ++i)  // one place of 100 m2 a cell
            field(i, r) = std::exp(field(i, r) + sd * std::sqrt(1.0 - share) * normal(random));
    std::vector<double> truck;
    for (int r = 0; r < runs; ++r) {
        const int row = first_row(random);
        truck.push_back(field.col(r).segment(row * columns, 5 * columns).mean() / field.col(r).mean());
    }
    const GroundCells ground =
        ground_cells(OutlineM{{{{0.0, 0.0}, {300.0, 0.0}, {300.0, 200.0}, {0.0, 200.0}}, {}}}, 150);
    GrainSettings settings;
    settings.draws = 4000;
    // The field's mean is 1 mg/kg for certain, so that the truck's content is R.
    const GrainLaw law =
        law_of_grain(fields_known({0.0}, 1e-8, sd), {one_truck(ground, 0.25, structure(share, range))}, settings);
    CHECK(law.content().mean == Approx(1.0).epsilon(1e-6));
    for (const double limit : {0.7, 0.85, 1.0, 1.2, 1.5}) {
        const double found =
            static_cast<double>(std::count_if(truck.begin(), truck.end(), [&](double r) { return r > limit; })) / runs;
        CHECK(law.exceedance(limit) == Approx(found).margin(0.025).epsilon(0.0));
    }
}

TEST_CASE("a part whose places read high holds more than its field and kriging agrees") {
    // 36 places; contents rise eastward from 0.3 to 1.5 mg/kg.
    SpreadInField spread;
    WithinFieldPoint point{1.0, {0.6, 0.9, 120.0}, {}, {}};
    SpatialData data;
    data.positions_m.resize(36, 2);
    data.values.resize(36);
    for (int i = 0; i < 36; ++i) {
        const PointM place{25.0 + 50.0 * (i % 6), 25.0 + 50.0 * static_cast<double>(i / 6)};
        spread.places.push_back(place);
        point.log_content.push_back(std::log(0.3) + 0.32 * (i % 6) + 0.05 * ((i * 7) % 5 - 2));
        point.error_variance.push_back(0.02);
        data.positions_m.row(i) << place.x_m, place.y_m;
        data.values[i] = point.log_content.back();
    }
    data.error_variances = Eigen::VectorXd::Constant(36, 0.02);
    spread.points.push_back(point);
    const GroundCells ground =
        ground_cells(OutlineM{{{{0.0, 0.0}, {300.0, 0.0}, {300.0, 300.0}, {0.0, 300.0}}, {}}}, 256);
    const int draws = 4000;
    const Eigen::MatrixXd cells = relative_contents(ground, spread, Eigen::VectorXd::Constant(draws, 0.4), 21);
    const OutlineM west{{{{0.0, 0.0}, {150.0, 0.0}, {150.0, 300.0}, {0.0, 300.0}}, {}}};
    const OutlineM east{{{{150.0, 0.0}, {300.0, 0.0}, {300.0, 300.0}, {150.0, 300.0}}, {}}};
    const CutCells low = part_of_ground(ground, west), high = part_of_ground(ground, east);
    CHECK(relative_cut(ground, high, cells).mean() > 1.3);
    CHECK(relative_cut(ground, low, cells).mean() < 0.7);
    CHECK(share_of(ground, low) * relative_cut(ground, low, cells).mean() +
              share_of(ground, high) * relative_cut(ground, high, cells).mean() ==
          Approx(1.0).epsilon(1e-12));
    // Differences of logs between cells, against kriging of small blocks with the same covariance.
    const double variance = 0.36;
    const VariogramModel model(
        {{.shape = VariogramShape::nugget, .partial_sill = 0.1 * variance},
         {.shape = VariogramShape::exponential, .partial_sill = 0.9 * variance, .range_m = 120.0}});
    Eigen::MatrixX2d at(2, 2);
    const std::size_t two[2] = {3, 243};
    for (int k = 0; k < 2; ++k) at.row(k) << ground.cells[two[k]].centre.x_m, ground.cells[two[k]].centre.y_m;
    const KrigingEstimates kriged = Kriging(data, model).at(at);
    const Eigen::VectorXd apart = (cells.row(two[1]).array() / cells.row(two[0]).array()).log().transpose();
    CHECK(apart.mean() == Approx(kriged.estimate[1] - kriged.estimate[0]).margin(0.03).epsilon(0.0));
    // The law of a part is that of its own ground; of a truck from anywhere the mean stays the field's.
    GrainFromField from = one_truck(ground, 0.5, spread);
    const FieldsTogether known = fields_known({0.0}, 0.01, 0.4);
    CHECK(law_of_grain(known, {from}).content().mean == Approx(std::exp(0.005)).epsilon(1e-9));
    from.cut = high;
    CHECK(law_of_grain(known, {from}).content().mean ==
          Approx(std::exp(0.005) * relative_cut(ground, high, cells).mean()).epsilon(0.02));
}

TEST_CASE("a mixed load holds its fields' contents by their shares") {
    FieldsTogether known = fields_known({std::log(0.5), std::log(2.0)}, 1e-10, 0.4);
    GrainFromField a, b;
    a.field_ha = b.field_ha = 5.0;
    a.share = 0.25;
    b.share = 0.75;
    const Content sure = law_of_grain(known, {a, b}).content();
    CHECK(sure.median == Approx(0.25 * 0.5 + 0.75 * 2.0).epsilon(1e-4));
    CHECK(sure.high90 == Approx(sure.median).epsilon(1e-3));
    // Unsure and alike: against drawing both.
    known.points[0].covariance << 0.25, 0.15, 0.15, 0.49;
    GrainSettings settings;
    settings.draws = 8000;
    const GrainLaw law = law_of_grain(known, {a, b}, settings);
    CHECK(law.content().mean == Approx(0.25 * 0.5 * std::exp(0.125) + 0.75 * 2.0 * std::exp(0.245)).epsilon(1e-9));
    std::mt19937_64 random(3);
    std::normal_distribution<double> normal;
    const Eigen::Matrix2d factor = known.points[0].covariance.llt().matrixL();
    const int runs = 100000;
    int over[3] = {};
    const double limits[3] = {0.8, 1.6, 3.0};
    for (int r = 0; r < runs; ++r) {
        const double u = normal(random), v = normal(random);
        const double content =
            0.25 * 0.5 * std::exp(factor(0, 0) * u) + 0.75 * 2.0 * std::exp(factor(1, 0) * u + factor(1, 1) * v);
        for (int k = 0; k < 3; ++k) over[k] += content > limits[k] ? 1 : 0;
    }
    for (int k = 0; k < 3; ++k)
        CHECK(law.exceedance(limits[k]) == Approx(static_cast<double>(over[k]) / runs).margin(0.01).epsilon(0.0));
}

TEST_CASE("draws of grain have its law and come again for a seed") {
    const GroundCells ground = ground_cells(10.0, 100);
    const GrainLaw law =
        law_of_grain(fields_known({std::log(0.8)}, 0.09, 0.5), {one_truck(ground, 0.3, structure(0.6, 80.0))});
    const Eigen::VectorXd draws = law.draws(20000, 4);
    CHECK(draws.mean() == Approx(law.content().mean).epsilon(0.01));
    CHECK((draws.array() > 1.0).cast<double>().mean() == Approx(law.exceedance(1.0)).margin(0.01).epsilon(0.0));
    CHECK((draws.head(100) - law.draws(100, 4)).cwiseAbs().maxCoeff() == 0.0);
    CHECK((draws.head(100) - law.draws(100, 5)).cwiseAbs().maxCoeff() > 0.0);
    const GrainLaw again =
        law_of_grain(fields_known({std::log(0.8)}, 0.09, 0.5), {one_truck(ground, 0.3, structure(0.6, 80.0))});
    CHECK(again.exceedance(1.0) == law.exceedance(1.0));
}

TEST_CASE("trucks of one field are drawn together and move with its mean") {
    const GroundCells ground = ground_cells(10.0, 100);
    const std::vector<CutCells> trucks = trucks_of_ground(ground, 0.25);
    const Eigen::MatrixXd draws =
        draws_of_cuts(fields_known({std::log(0.8)}, 0.25, 0.5), ground, structure(0.7, 60.0), trucks, 8000, 9);
    const Eigen::VectorXd field = draws.rowwise().mean();
    CHECK(field.array().log().mean() == Approx(std::log(0.8)).margin(0.02).epsilon(0.0));
    CHECK(Moments(field.array().log()).variance == Approx(0.25).epsilon(0.05));
    const Eigen::VectorXd first = (draws.col(0).array() / field.array()).log();
    const double along = ((first.array() - first.mean()) * (field.array().log() - std::log(0.8))).mean();
    CHECK(std::abs(along) < 0.01);  // the pattern does not depend on the mean
}

TEST_CASE("a compact truck varies more than a strip along the field") {
    const GroundCells ground = ground_cells(20.0, 200);
    const FieldsTogether known = fields_known({0.0}, 1e-8, 0.6);
    GrainSettings block;
    block.cut_as = CutAs::block;
    const GrainFromField from = one_truck(ground, 0.15, structure(0.8, 80.0));
    CHECK(law_of_grain(known, {from}, block).content().high90 > law_of_grain(known, {from}).content().high90);
}

TEST_CASE("grain that cannot be is refused") {
    const FieldsTogether known = fields_known({0.0}, 0.1, 0.4);
    GrainFromField from;
    CHECK_THROWS_WITH(law_of_grain(known, {from}), Contains("the size of the field is not known"));
    from.field_ha = 5.0;
    from.share_of_field = 0.0;
    CHECK_THROWS_WITH(law_of_grain(known, {from}), Contains("0 of a field's grain is no share"));
    from.share_of_field = 0.5;
    from.share = 0.5;
    CHECK_THROWS_WITH(law_of_grain(known, {from}), Contains("the shares of the load add up to 0.5"));
    from.share = 1.0;
    from.spread = structure(0.5, 50.0);
    CHECK_THROWS_WITH(law_of_grain(known, {from}), Contains("need the field's ground"));
    from.spread = structure(1.5, 50.0);
    CHECK_THROWS_WITH(law_of_grain(known, {from}), Contains("give a share from 0 to 1"));
    const GroundCells ground = ground_cells(5.0, 50);
    from.ground = &ground;
    from.spread = structure(0.5, 50.0);
    from.spread.places.push_back({1.0, 2.0});
    CHECK_THROWS_WITH(law_of_grain(known, {from}), Contains("not equally many"));
    from.spread = {};
    CHECK_THROWS_WITH(law_of_grain(known, {from, from}), Contains("the shares of the load add up to 2"));
}

TEST_CASE("cuts beside draws of their field take the spread of each draw and have the field's mean together") {
    // Two values of what differs inside fields: none with a quarter of the weight, 0.5 with the rest.
    FieldsTogether known = fields_known({0.0}, 0.1, 0.0);
    known.points[0].weight = 0.25;
    known.points.push_back({0.75, Eigen::VectorXd::Zero(1), Eigen::MatrixXd::Constant(1, 1, 0.1), 0.5});
    const GroundCells ground = ground_cells(8.0, 200);
    SpreadInField spread;  // a patch is a cell
    spread.patch_ha = ground.area_ha / static_cast<double>(ground.cells.size());
    const std::vector<CutCells> cuts{strip_of_ground(ground, 0.0, 0.1), strip_of_ground(ground, 0.1, 0.5),
                                     strip_of_ground(ground, 0.6, 0.4)};
    const int n = 20000;
    const Eigen::MatrixXd relative = relative_contents_of_cuts(known, ground, spread, cuts, n, 1, 7);
    REQUIRE(relative.rows() == n);
    const Eigen::VectorXd together = relative * Eigen::Vector3d(0.1, 0.5, 0.4);
    CHECK((together.array() - 1.0).abs().maxCoeff() < 1e-12);
    const auto without = (relative.col(0).array() - 1.0).abs() < 1e-12;
    CHECK(static_cast<double>(without.count()) / n == Approx(0.25).epsilon(0.0).margin(1e-3));
    // Cochran (1977), section 2.6: n of N patches vary by (e^0.25 - 1) (1/n - 1/N). 15000 draws know a variance to 1.2
    // %, a ratio of means to the first order adds 1/N.
    for (const auto& [cut, share] : {std::pair{0, 0.1}, std::pair{1, 0.5}}) {
        const double variance = (relative.col(cut).array() - 1.0).square().sum() / (0.75 * n);
        CHECK(variance == Approx(std::expm1(0.25) * (1.0 / (share * 200.0) - 1.0 / 200.0)).epsilon(0.05));
    }
    // The same draws whatever is asked beside, and others for another pattern.
    CHECK(relative_contents_of_cuts(known, ground, spread, {cuts[0]}, n, 1, 7) == relative.leftCols(1));
    CHECK(relative_contents_of_cuts(known, ground, spread, {cuts[0]}, n, 1, 8) != relative.leftCols(1));
    CHECK_THROWS_WITH(relative_contents_of_cuts(known, ground, spread, {}, n, 1, 7), Contains("nothing is cut"));
    CHECK_THROWS_WITH(relative_contents_of_cuts(fields_known({0.0, 0.0}, 0.1, 0.1), ground, spread, cuts, n, 1, 7),
                      Contains("need what is known of that field alone"));
}
