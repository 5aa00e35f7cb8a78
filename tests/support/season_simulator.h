#pragma once

#include <cstdint>
#include <string>
#include <vector>

/// Seasons whose truth is known, made without a line of the model's code: its own random numbers, its own weather,
/// contents drawn increment by increment, readings drawn step by step. Everything has a stream of random numbers of its
/// own, so one seed has the same fields, weather and contents whatever is tested and whatever goes wrong, and the tests
/// of a longer list begin with those of a shorter one.
namespace season_simulator {

enum class Placement {
    random,
    worst_first,  ///< by the disease risk that the program is told
    looks_bad,    ///< by the true content as an eye guesses it: a reason that no model knows
    given,        ///< World::order
};

struct World {
    int fields = 60;
    int past_seasons = 2;
    int past_tests = 20;  ///< in each past season, placed at random
    int tests = 20;       ///< in the season that counts
    Placement placement = Placement::random;
    std::vector<int> order = {};  ///< of fields, for Placement::given
    int increments = 10;

    // Drawn anew for each seed, evenly between the two.
    double season_sd_low = 0.15, season_sd_high = 1.0;
    double field_sd_low = 0.2, field_sd_high = 0.9;
    double region_sd_low = 0.0, region_sd_high = 0.0;  ///< 0.8 in the study
    double region_range_low_m = 3000.0, region_range_high_m = 40000.0;
    double slope_low = 0.0, slope_high = 1.6;
    double within_sd_low = 0.2, within_sd_high = 0.6;
    double level_mean = -0.7, level_sd = 0.7;  ///< ln mg/kg where the logit of the risk is -1

    // The district: farms anywhere in it, their fields about them.
    double district_m = 40000.0;
    int farms = 12;
    double farm_spread_m = 1200.0;  ///< sd of a field about its farm, east and north

    // The disease risk: a logit whose variance over fields and seasons is that of the weather around flowering and that
    // of the crop itself.
    double risk_mean = -1.2, risk_sd = 1.0;
    double weather_share = 0.5;          ///< of that variance
    double weather_range_m = 25000.0;    ///< wetness is alike exp(-distance / range) ...
    double weather_days = 4.0;           ///< ... exp(-days / this)
    double flowering_spread_days = 3.0;  ///< sd of the fields of a season

    double range_low_mg_per_kg = 0.2, range_high_mg_per_kg = 6.0;  ///< of the strip

    // What the model does not assume.
    double lot_bias = 0.0;           ///< log of what the season's kit lot reads too much
    int controls = 0;                ///< strips of a control that were read with that lot
    double control_mg_per_kg = 1.0;  ///< its content, true
    bool heavy_tails = false;        ///< field effects: Student, three degrees of freedom, same spread
    double bent_slope = 0.0;         ///< added times the square of (logit + 1)
    double free_share = 0.0;         ///< of the fields of each season: no DON at all
    double standing_share = 0.0;     ///< of the season's tests: taken from standing heads ...
    double standing_offset = 0.0;    ///< ... which read so much more (log)
    double date_shift_days = 0.0;    ///< flowering dates of the season that counts are told late by this and ...
    double date_error_days = 0.0;    ///< ... with this sd a field
    double weather_from_m = 0.0;     ///< above 0: all fields are told the weather of a station so far outside
    double within_range_m = 0.0;     ///< above 0: contents within a field are alike over such a distance, and the
                                     ///< increments of a sample come from one walk through it
};

struct Reading {
    int season = 0, field = 0;
    int side = 0;  ///< -1 below, 0 a value, 1 above
    double mg_per_kg = 0.0;
    bool standing = false;  ///< taken from standing heads
};

struct FieldPlace {
    double x_m = 0.0, y_m = 0.0;
};

/// By season and field where a list has two indices; the last season counts.
struct SimulatedSeasons {
    double level = 0.0, slope = 0.0, season_sd = 0.0, field_sd = 0.0, within_sd = 0.0;
    double region_sd = 0.0, region_range_m = 0.0;
    std::vector<FieldPlace> place;                       ///< of each field, the same in all seasons
    std::vector<std::vector<double>> risk_logit;         ///< as the program is told
    std::vector<std::vector<double>> acting_risk_logit;  ///< as it was
    std::vector<double> season_effect;
    std::vector<std::vector<double>> regional_effect;
    std::vector<std::vector<double>> content_mg_per_kg;  ///< the true arithmetic means of the fields; 0: no DON
    std::vector<Reading> readings;                       ///< of grain
    std::vector<Reading> controls;                       ///< of the control, with the lot of the season that counts
};

SimulatedSeasons simulate(const World& world, std::uint64_t seed);

}  // namespace season_simulator
