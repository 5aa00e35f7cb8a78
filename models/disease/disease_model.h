#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "models/records.h"
#include "models/weather/window.h"

namespace models {

/// What a model's number is. An index orders fields; it is no chance of anything. A content is mg/kg of DON by an
/// equation of its authors; it is not what the program takes for the content of a field.
enum class RiskKind { probability, index, content };
std::string in_words(RiskKind kind);  ///< "probability", "index", "content"

/// How well a model did on data that it had not seen; it travels with every number the model gives.
struct ModelSkill {
    std::optional<double> auc;                  ///< chance that of two fields the diseased one got the higher value
    std::optional<double> brier;                ///< mean squared error of the probability
    std::optional<double> brier_without_model;  ///< of naming the same share for every field
    int fields = 0;
    std::optional<int> diseased;
    std::string how = {};      ///< "leaving one year out at a time"
    std::string other = {};    ///< what is known where AUC and Brier are not; empty otherwise
    std::string caution = {};  ///< why the figures flatter the model; empty where they do not
};
/// "On fields it had not seen (leaving one year out at a time): AUC 0.73, Brier 0.173 against 0.199 without the model."
std::string in_words(const ModelSkill& skill);

/// One thing a model asks of the weather.
struct WeatherTerm {
    std::string name;              ///< "dew_point_depression_degc"
    std::string title;             ///< "mean of temperature less dew point"
    std::string unit;              ///< "degC"
    int from_day = 0, to_day = 0;  ///< around the model's day 0, both included
    /// Where 90 % of the model's own data lie; beyond is extrapolation. Infinite where no range is known.
    double data_low = 0.0, data_high = 0.0;
    WindowValue (*measure)(const KnownWeather&, const DayWindow&) = nullptr;
    bool every_whole_number = false;  ///< the model turns in this term: bounds look at each whole number between
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

enum class DayZero { flowering, heading };

/// One number of a model's logit. Its name says what it belongs to: "intercept"; a class of Agronomy, as
/// "very_susceptible"; or what of the weather it multiplies, as "dew_point_depression_degc".
struct Coefficient {
    std::string name;
    double value = 0.0;
};

/// A model of head blight: the chance that a field's severity (mean share of diseased spikelets over all heads) is at
/// least 10 %, or an index that orders fields by it. It never speaks of a limit, nor of what to do. One file a model,
/// listed in catalogue.cpp.
struct DiseaseModel {
    std::string name;          ///< as the command line has it: "dew-point-depression"
    std::string title;         ///< as a person reads it: "Dew-point depression around flowering"
    std::string about;         ///< one or two sentences in the user's words
    std::string label;         ///< where the coefficients come from, in short: "refit by this project from ..."
    std::string source;        ///< author-year, title, doi
    bool unconfirmed = false;  ///< nobody checked its numbers against the paper: only for who asks, and always said
    Region region;
    RiskKind kind = RiskKind::probability;
    ModelSkill skill;
    DayZero day_zero = DayZero::flowering;
    std::vector<WeatherTerm> weather;     ///< none: it knows the crop record only
    bool uses_agronomy = false;           ///< resistance, wheat type and maize residue
    std::optional<WheatType> wheat_type;  ///< where the data hold only one
    /// Of a probability or an index.
    /// @param weather  one value a term, in the order of `weather`; monotone in each but for `every_whole_number`
    double (*logit)(std::span<const double> weather, const Agronomy& agronomy) = nullptr;
    /// The numbers of `logit`, for those who judge it: intercept first, then the classes that are added where they hold
    /// (susceptible, and winter wheat without maize residue, are the references and have none), then each that is
    /// multiplied by what it is named after. Empty of a content.
    std::vector<Coefficient> coefficients;
    /// Of a content, instead.
    double (*content_mg_per_kg)(std::span<const double> weather) = nullptr;

    /// 1 / (1 + exp(-logit)), or the content.
    double value(std::span<const double> weather, const Agronomy& agronomy) const;
    int first_day() const;  ///< of all weather it needs, from day 0; 0 where it needs none
    int last_day() const;
};

/// "days -10 to 10 of flowering", "no weather".
std::string weather_in_words(const DiseaseModel& model);

/// The title in the language that is spoken; in a record and in a file it is `title`.
std::string spoken_title(const DiseaseModel& model);

}  // namespace models
