#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "models/records.h"
#include "models/weather/window.h"

namespace models {

enum class RiskKind { probability, index };  ///< an index orders fields; it is no chance of anything

/// How well a model did on data that it had not seen; it travels with every number the model gives.
struct ModelSkill {
    double auc = 0.0;                  ///< chance that of two fields the diseased one got the higher value
    double brier = 0.0;                ///< mean squared error of the probability
    double brier_without_model = 0.0;  ///< of naming the same share for every field
    int fields = 0, diseased = 0;
    std::string how;  ///< "leave one year out"
};

/// One thing a model asks of the weather.
struct WeatherTerm {
    std::string name;                        ///< "dew_point_depression_degc"
    std::string title;                       ///< "mean of temperature less dew point"
    std::string unit;                        ///< "degC"
    int from_day = 0, to_day = 0;            ///< around flowering, both included
    double data_low = 0.0, data_high = 0.0;  ///< where 90 % of the model's own data lie; beyond is extrapolation
    WindowValue (*measure)(const KnownWeather&, const DayWindow&) = nullptr;
};

/// What a refit knows of a field beside the weather. Its data tell apart winter wheat without and with maize residue,
/// and spring wheat (whatever its residue).
enum class WheatGroup { winter_without_maize_residue, winter_with_maize_residue, spring };
struct Agronomy {
    Resistance resistance = Resistance::susceptible;
    WheatGroup group = WheatGroup::winter_without_maize_residue;
};

/// A rectangle in degrees around the fields that a model was fitted on.
struct Region {
    std::string words;
    double west_deg = 0.0, east_deg = 0.0, south_deg = 0.0, north_deg = 0.0;
};

/// A model of head blight: the chance that a field's severity (mean share of diseased spikelets over all heads) is at
/// least 10 %. It never speaks of DON or of a limit, nor of what to do. One file a model, listed in catalogue.h.
struct DiseaseModel {
    std::string name;    ///< as the command line has it: "dew-point-depression"
    std::string title;   ///< as a person reads it: "Dew-point depression around flowering"
    std::string about;   ///< one or two sentences in the user's words
    std::string label;   ///< where the coefficients come from, in short: "refit by this project from ..."
    std::string source;  ///< author-year, title, doi
    Region region;
    RiskKind kind = RiskKind::probability;
    ModelSkill skill;
    std::vector<WeatherTerm> weather;
    bool uses_agronomy = false;           ///< resistance, wheat type and maize residue
    std::optional<WheatType> wheat_type;  ///< where the data hold only one
    /// @param weather  one value a term, in the order of `weather`; monotone in each of them
    double (*logit)(std::span<const double> weather, const Agronomy& agronomy) = nullptr;

    int first_day() const;  ///< of all weather it needs, from flowering
    int last_day() const;
};

}  // namespace models
