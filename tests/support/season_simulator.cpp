#include "tests/support/season_simulator.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

#include <Eigen/Cholesky>
#include <Eigen/Core>

namespace season_simulator {

namespace {

/// What a stream of random numbers is for.
enum class Stream : std::uint64_t {
    parameters = 1,
    places,
    flowering,
    wetness,
    crop,
    season,
    region,
    field,
    free,
    order,
    looks,
    dates,
    sample,
    control
};

std::uint64_t stirred(std::uint64_t x) {
    x += 0x9e3779b97f4a7c15u;
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
}

/// Uniform and normal numbers that are the same on every machine: the engine is fixed by the standard, the rest is
/// here. Stirring: Steele, Lea & Flood (2014), OOPSLA 2014, 453-472.
class Dice {
 public:
    Dice(std::uint64_t seed, Stream what, int season = 0, int field = 0, int repeat = 0)
        : engine_(stirred(
              stirred(stirred(stirred(seed) + static_cast<std::uint64_t>(what)) + static_cast<std::uint64_t>(season)) +
              (static_cast<std::uint64_t>(field) << 20) + static_cast<std::uint64_t>(repeat))) {}
    double uniform() { return (static_cast<double>(engine_() >> 11) + 0.5) * 0x1p-53; }
    double between(double low, double high) { return low + (high - low) * uniform(); }
    double normal() {
        const double radius = std::sqrt(-2.0 * std::log(uniform()));
        return radius * std::cos(6.283185307179586 * uniform());
    }
    Eigen::VectorXd normals(Eigen::Index n) {
        Eigen::VectorXd z(n);
        for (double& one : z) one = normal();
        return z;
    }
    /// Mean 1 on the plain scale.
    double lognormal_about_one(double coefficient_of_variation) {
        const double variance = std::log(1.0 + coefficient_of_variation * coefficient_of_variation);
        return std::exp(-0.5 * variance + std::sqrt(variance) * normal());
    }
    std::vector<int> order(int n) {
        std::vector<int> fields(static_cast<std::size_t>(n));
        std::iota(fields.begin(), fields.end(), 0);
        for (int i = n - 1; i > 0; --i)
            std::swap(fields[static_cast<std::size_t>(i)],
                      fields[static_cast<std::size_t>(std::min(static_cast<int>(uniform() * (i + 1)), i))]);
        return fields;
    }

 private:
    std::mt19937_64 engine_;
};

/// Published total error of a wheat sample of 454 g, a portion of 25 g and one analysis; flat below 0.05 mg/kg.
double coefficient_of_variation(double content) {
    const double c = std::max(content, 0.05);
    return std::sqrt(0.118 * std::pow(c, 0.833)) / c;
}

/// Lower factor of exp(-distance / range) between places.
Eigen::MatrixXd factor_of_likeness(const std::vector<FieldPlace>& places, double range_m) {
    const auto n = static_cast<Eigen::Index>(places.size());
    Eigen::MatrixXd likeness(n, n);
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j) {
            const FieldPlace &a = places[static_cast<std::size_t>(i)], &b = places[static_cast<std::size_t>(j)];
            likeness(i, j) = std::exp(-std::hypot(a.x_m - b.x_m, a.y_m - b.y_m) / range_m) + (i == j ? 1e-9 : 0.0);
        }
    return likeness.llt().matrixL();
}

std::vector<FieldPlace> places_in_district(const World& world, std::uint64_t seed) {
    Dice dice(seed, Stream::places);
    std::vector<FieldPlace> farms;
    for (int i = 0; i < world.farms; ++i) {
        const double x = dice.between(0.0, world.district_m), y = dice.between(0.0, world.district_m);
        farms.push_back({x, y});
    }
    std::vector<FieldPlace> fields;
    for (int f = 0; f < world.fields; ++f) {
        const FieldPlace& farm = farms[static_cast<std::size_t>(f % world.farms)];
        const double east = world.farm_spread_m * dice.normal(), north = world.farm_spread_m * dice.normal();
        fields.push_back({farm.x_m + east, farm.y_m + north});
    }
    return fields;
}

/// Wetness of a season in the district and at a station outside it, day by day: what counts of it for a flowering date
/// is its mean over the seven days up to that date, with a variance of 1 over places and seasons.
class Wetness {
 public:
    static constexpr int days = 46, window = 7, middle = 23;

    Wetness(const World& world, const std::vector<FieldPlace>& fields, std::uint64_t seed)
        : fade_(std::exp(-1.0 / world.weather_days)), seed_(seed) {
        std::vector<FieldPlace> places = fields;
        places.push_back({0.5 * world.district_m, world.district_m + world.weather_from_m});
        factor_ = factor_of_likeness(places, world.weather_range_m);
        double variance = 0.0;
        for (int i = 0; i < window; ++i)
            for (int j = 0; j < window; ++j) variance += std::pow(fade_, std::abs(i - j)) / (window * window);
        scale_ = 1.0 / std::sqrt(variance);
    }
    void make(int season) {
        Dice dice(seed_, Stream::wetness, season);
        wet_ = Eigen::MatrixXd(factor_.rows(), days);
        for (int day = 0; day < days; ++day) {
            const Eigen::VectorXd fresh = factor_ * dice.normals(factor_.rows());
            if (day == 0)
                wet_.col(0) = fresh;
            else
                wet_.col(day) = fade_ * wet_.col(day - 1) + std::sqrt(1.0 - fade_ * fade_) * fresh;
        }
    }
    double before_flowering(std::size_t place, double date) const {
        const int day = std::clamp(static_cast<int>(std::lround(date)), window - 1, days - 1);
        return scale_ * wet_.row(static_cast<Eigen::Index>(place)).segment(day - window + 1, window).mean();
    }
    std::size_t station() const { return static_cast<std::size_t>(factor_.rows()) - 1; }

 private:
    double fade_, scale_ = 1.0;
    std::uint64_t seed_;
    Eigen::MatrixXd factor_, wet_;
};

/// The risk of the season's fields as it was, and as the program is told.
void draw_risks(const World& world, const Wetness& wetness, int season, std::uint64_t seed, SimulatedSeasons& s) {
    const bool current = season == world.past_seasons;
    Dice dates(seed, Stream::flowering, season), crop(seed, Stream::crop, season), slips(seed, Stream::dates, season);
    std::vector<double>& told = s.risk_logit.emplace_back();
    std::vector<double>& acting = s.acting_risk_logit.emplace_back();
    for (std::size_t f = 0; f < s.place.size(); ++f) {
        const double flowered = Wetness::middle + world.flowering_spread_days * dates.normal();
        const double own = std::sqrt(1.0 - world.weather_share) * crop.normal();
        const double slip = slips.normal();
        const auto logit = [&](std::size_t place, double date) {
            return world.risk_mean +
                   world.risk_sd * (std::sqrt(world.weather_share) * wetness.before_flowering(place, date) + own);
        };
        acting.push_back(logit(f, flowered));
        const double date = current ? flowered + world.date_shift_days + world.date_error_days * slip : flowered;
        told.push_back(logit(current && world.weather_from_m > 0.0 ? wetness.station() : f, date));
    }
}

/// The season's level, regions, field effects and so its contents.
void draw_contents(const World& world, const Eigen::MatrixXd& region_factor, int season, std::uint64_t seed,
                   SimulatedSeasons& s) {
    Dice region(seed, Stream::region, season), field(seed, Stream::field, season), free(seed, Stream::free, season);
    s.season_effect.push_back(s.season_sd * Dice(seed, Stream::season, season).normal());
    const Eigen::VectorXd likes = s.region_sd * (region_factor * region.normals(region_factor.rows()));
    s.regional_effect.emplace_back(likes.begin(), likes.end());
    std::vector<double>& content = s.content_mg_per_kg.emplace_back();
    for (std::size_t f = 0; f < s.place.size(); ++f) {
        const double l = s.acting_risk_logit.back()[f];
        double effect = field.normal();
        const double a = field.normal(), b = field.normal(), c = field.normal();
        // Student, three degrees of freedom: variance 3, brought back to 1.
        if (world.heavy_tails) effect /= std::sqrt((a * a + b * b + c * c) / 3.0) * std::sqrt(3.0);
        const double m = s.level + (s.slope + world.bent_slope * (l + 1.0)) * (l + 1.0) + s.season_effect.back() +
                         s.regional_effect.back()[f] + s.field_sd * effect;
        content.push_back(free.uniform() < world.free_share ? 0.0 : std::exp(m));
    }
}

/// A field's ground where contents are alike over a distance: 300 x 300 m, 30 % of the variance without any likeness,
/// increments along a walk in the shape of a W through one half of it.
class Ground {
 public:
    Ground(const World& world, double sd) : increments_(world.increments), sd_(sd), alike_(world.within_range_m > 0.0) {
        if (!alike_) return;
        std::vector<FieldPlace> places;
        for (int k = 0; k < increments_; ++k) {
            const double along = (k + 0.5) / increments_;  // of the walk; its strokes go up and down four times
            const double stroke = 4.0 * along - std::floor(4.0 * along);
            const bool down = static_cast<int>(4.0 * along) % 2 == 0;
            places.push_back({75.0 + 150.0 * along, 150.0 * (down ? 1.0 - stroke : stroke)});
        }
        for (int i = 0; i < 64; ++i) places.push_back({18.75 + 37.5 * (i % 8), 18.75 + 37.5 * (i / 8)});
        factor_ = factor_of_likeness(places, world.within_range_m);
    }
    /// Mean content of a sample's increments over that of the field.
    double sampled_over_field(Dice& dice) const {
        if (!alike_) {
            double sum = 0.0;
            for (int k = 0; k < increments_; ++k) sum += std::exp(-0.5 * sd_ * sd_ + sd_ * dice.normal());
            return sum / increments_;
        }
        const Eigen::VectorXd shared = factor_ * dice.normals(factor_.rows()), alone = dice.normals(factor_.rows());
        const Eigen::ArrayXd content = (sd_ * (std::sqrt(0.7) * shared + std::sqrt(0.3) * alone)).array().exp();
        return content.head(increments_).mean() / content.tail(64).mean();
    }

 private:
    int increments_;
    double sd_;
    bool alike_;
    Eigen::MatrixXd factor_;
};

Reading as_read(const World& world, int season, int field, double read) {
    Reading reading{season, field, 0, read};
    if (read < world.range_low_mg_per_kg) reading.side = -1, reading.mg_per_kg = world.range_low_mg_per_kg;
    if (read > world.range_high_mg_per_kg) reading.side = 1, reading.mg_per_kg = world.range_high_mg_per_kg;
    return reading;
}

std::vector<int> order_of_testing(const World& world, int season, std::uint64_t seed, const SimulatedSeasons& s) {
    if (season == world.past_seasons && world.placement == Placement::given) return world.order;
    std::vector<int> order = Dice(seed, Stream::order, season).order(world.fields);
    if (season < world.past_seasons || world.placement == Placement::random) return order;
    std::vector<double> suspect = s.risk_logit.back();
    if (world.placement == Placement::looks_bad) {
        Dice dice(seed, Stream::looks, season);
        for (std::size_t f = 0; f < suspect.size(); ++f)
            suspect[f] = std::log(std::max(s.content_mg_per_kg.back()[f], 0.01)) + 0.7 * dice.normal();
    }
    std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
        return suspect[static_cast<std::size_t>(a)] > suspect[static_cast<std::size_t>(b)];
    });
    return order;
}

void draw_readings(const World& world, const Ground& ground, int season, std::uint64_t seed, SimulatedSeasons& s) {
    const bool current = season == world.past_seasons;
    const std::vector<int> order = order_of_testing(world, season, seed, s);
    const int tests = current ? world.tests : world.past_tests;
    for (int t = 0; t < tests; ++t) {
        const int f = order[static_cast<std::size_t>(t) % order.size()];
        Dice dice(seed, Stream::sample, season, f, t / static_cast<int>(order.size()));
        double sampled = ground.sampled_over_field(dice) * s.content_mg_per_kg.back()[static_cast<std::size_t>(f)];
        const double assay = dice.normal(), stands = dice.uniform();
        const bool standing = current && stands < world.standing_share;
        if (standing) sampled *= std::exp(world.standing_offset);
        const double variance = std::log(1.0 + std::pow(coefficient_of_variation(sampled), 2));
        double read = sampled * std::exp(-0.5 * variance + std::sqrt(variance) * assay);
        if (current) read *= std::exp(world.lot_bias);
        s.readings.push_back(as_read(world, season, f, read));
        s.readings.back().standing = standing;
    }
}

}  // namespace

SimulatedSeasons simulate(const World& world, std::uint64_t seed) {
    SimulatedSeasons s;
    Dice dice(seed, Stream::parameters);
    s.level = world.level_mean + world.level_sd * dice.normal();
    s.slope = dice.between(world.slope_low, world.slope_high);
    s.season_sd = dice.between(world.season_sd_low, world.season_sd_high);
    s.field_sd = dice.between(world.field_sd_low, world.field_sd_high);
    s.within_sd = dice.between(world.within_sd_low, world.within_sd_high);
    s.region_sd = dice.between(world.region_sd_low, world.region_sd_high);
    s.region_range_m = dice.between(world.region_range_low_m, world.region_range_high_m);
    s.place = places_in_district(world, seed);
    Wetness wetness(world, s.place, seed);
    const Eigen::MatrixXd region_factor = factor_of_likeness(s.place, s.region_range_m);
    const Ground ground(world, s.within_sd);
    for (int season = 0; season <= world.past_seasons; ++season) {
        wetness.make(season);
        draw_risks(world, wetness, season, seed, s);
        draw_contents(world, region_factor, season, seed, s);
        draw_readings(world, ground, season, seed, s);
    }
    Dice control(seed, Stream::control);
    for (int i = 0; i < world.controls; ++i) {
        // A control is homogeneous: preparation and analysis are left of the error.
        const double c = world.control_mg_per_kg;
        const double read = c * control.lognormal_about_one(std::sqrt(0.092 * std::pow(c, 0.833)) / c);
        s.controls.push_back(as_read(world, world.past_seasons, -1, read * std::exp(world.lot_bias)));
    }
    return s;
}

}  // namespace season_simulator
