#pragma once

#include <cstdint>
#include <string>
#include <vector>

/// Seasons whose truth is known, made without a line of the model's code: its own random numbers, contents drawn
/// increment by increment, readings drawn step by step.
namespace season_simulator {

enum class Placement { random, worst_first };

struct World {
    int fields = 60;
    int past_seasons = 2;
    int past_tests = 20;  ///< in each past season, placed at random
    int tests = 20;       ///< in the season that counts
    Placement placement = Placement::random;
    int increments = 10;
    double season_sd_low = 0.15, season_sd_high = 1.0;  ///< drawn anew for each world, as are the next two
    double field_sd_low = 0.2, field_sd_high = 0.9;
    double slope_low = 0.0, slope_high = 1.6;
    double within_sd_low = 0.2, within_sd_high = 0.6;
    double level_mean = -0.7, level_sd = 0.7;  ///< ln mg/kg where the logit of the risk is -1
    double risk_mean = -1.2, risk_sd = 1.0;    ///< of the logit over fields
    double range_low_mg_per_kg = 0.2, range_high_mg_per_kg = 6.0;
    double lot_bias = 0.0;     ///< log of what the season's kit lot reads too much
    bool heavy_tails = false;  ///< field effects from a Student law of three degrees of freedom, same spread
    double bent_slope = 0.0;   ///< added times the square of (logit + 1)
    double free_share = 0.0;   ///< fields of the season with next to no DON
};

struct Reading {
    int season = 0, field = 0;
    int side = 0;  ///< -1 below, 0 a value, 1 above
    double mg_per_kg = 0.0;
};

struct SimulatedSeasons {
    double level = 0.0, slope = 0.0, season_sd = 0.0, field_sd = 0.0, within_sd = 0.0;
    std::vector<std::vector<double>> risk_logit;         ///< by season and field; the last season counts
    std::vector<std::vector<double>> content_mg_per_kg;  ///< the true arithmetic means of the fields
    std::vector<Reading> readings;
};

SimulatedSeasons simulate(const World& world, std::uint64_t seed);

}  // namespace season_simulator
