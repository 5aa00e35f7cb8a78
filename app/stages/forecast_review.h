#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/field_results.h"
#include "app/stages/season_data.h"
#include "geo/store/kept_forecasts.h"
#include "models/decision/clearing.h"
#include "models/decision/review.h"
#include "models/decision/season_review.h"

namespace app {

/// A kept forecast and the first result of its field that came after it.
struct ForecastCheck {
    geo::KeptForecast forecast;
    models::Test result;
    std::string grain;  ///< "field F01", "load L07"
    models::Reading reading = models::Reading::value;
    double don_mg_per_kg = 0.0;              ///< value or bound, on the limit's basis
    std::optional<bool> over;                ///< of the limit; none: the reading cannot tell
    std::optional<double> chance_read_over;  ///< that a reading with its own error breaks the limit
    /// Whether the reading lies in the forecast's 90 % interval: as it stands, which is that of the field's content,
    /// and widened by the error that the reading has of its own. A bound counts as inside where it does not rule the
    /// interval out. None where the forecast has no interval, or the error of the reading cannot be worked out.
    std::optional<bool> inside, inside_with_error;
};

struct ForecastSeason {
    int season = 0;
    int n = 0, over = 0;  ///< that can be told
    double mean_exceedance = 0.0;
    std::optional<double> brier;
    int intervals = 0, inside = 0;                        ///< as it stands
    int intervals_with_error = 0, inside_with_error = 0;  ///< with the reading's own error
};

/// Forecasts of one kind: made while no result of the field was known, or with some; at their time, or afterwards as of
/// a past day. Who makes a forecast afterwards may know how it ended, and the program and the records may have been
/// mended since: its score is no score of what anybody had in hand, and the two are never added up.
struct ForecastClass {
    bool own_results_known = false, made_afterwards = false;
    std::vector<ForecastCheck> checks;  ///< one a crop record: by season, field and part
    models::SeasonCases cases;          ///< exceedance against over
    std::optional<models::BrierParts> brier, brier_as_read;
    std::optional<double> skill;
    models::OverSeasons skill_over_seasons;
    std::vector<ForecastSeason> seasons;
};

struct ForecastReview {
    std::optional<models::Limit> limit;  ///< that the forecasts speak of
    int kept = 0;                        ///< of these seasons and that limit
    int of_other_limits = 0;
    int afterwards = 0;                    ///< of `kept`: made afterwards
    int followed = 0;                      ///< crop records with a result after a forecast
    std::array<ForecastClass, 4> classes;  ///< no own result known, some known; then the same two, made afterwards
};

/// Forecasts of one kind in whole fields.
struct ForecastsInShort {
    bool own_results_known = false, made_afterwards = false;
    int fields = 0;            ///< whose result can be told from the limit
    int on_foretold_side = 0;  ///< over where a chance of one half or more was foretold, else not over
    int over = 0;
    double foretold_over = 0.0;     ///< sum of the chances
    int intervals = 0, inside = 0;  ///< with the reading's own error
    struct Group {
        double chance = 0.0;  ///< mean of what was foretold
        int fields = 0, over = 0;
    };
    std::vector<Group> groups;  ///< of like chances, the lowest first; none where there are too few fields
};
/// Of the kinds that there are, in their order.
std::vector<ForecastsInShort> forecasts_in_short(const ForecastReview& review);

/// The limit that most forecasts of these seasons are of: the limit_id that they name where it still has that number,
/// else the number, on their basis (as is where they tell none). nullopt where none is kept.
std::optional<models::Limit> limit_of_most_forecasts(const std::vector<geo::KeptForecast>& forecasts,
                                                     const std::vector<int>& seasons,
                                                     const std::vector<models::Limit>& limits);

/// Holds forecasts against what came after them in time, by the time stamps of forecast and test, of one made
/// afterwards by the day that it is as of (geo::came_after). Of each crop record and kind the last forecast counts that
/// a result followed, and the first result after it: many forecasts of a field that are kept day by day say little more
/// than one, nor do many readings of it. With m the median of the forecast, s = ln(high90 / low90) / 3.29 and a reading
/// about its field with log mean d and log variance q (reading_about_field), taken at m:
///   interval for a reading   exp(ln m + d -+ 1.645 sqrt(s^2 + q))
///   chance to read over L    F((ln m + d - ln L) / sqrt(s^2 + q))
/// as if the forecast's law were lognormal.
/// @param results  of the seasons, held against the limit
ForecastReview review_forecasts(const SeasonData& data, const std::vector<int>& seasons,
                                const std::vector<geo::KeptForecast>& forecasts,
                                const std::optional<models::Limit>& limit, const std::vector<FieldResults>& results);

/// What testing took in a season, and what became of its fields.
struct SeasonOfStrips {
    int season = 0;
    int strips = 0, laboratory = 0;  ///< tests of grain, voids among them
    int voids = 0;                   ///< of both
    int controls = 0;                ///< readings of controls by strip
    int samples = 0;                 ///< of grain that these tests are of
    std::optional<double> money;     ///< (strips + controls) x test + samples x sample; none without both costs
    // Between the first and the last kept forecast of a field, by what they knew:
    int fields = 0;                                             ///< crop records with two forecasts or more
    int to_within = 0, to_beyond = 0;                           ///< whose chance moved under the load cap, or over it
    std::vector<std::string> to_within_names, to_beyond_names;  ///< which, by ground_name
    double to_within_t = 0.0, to_beyond_t = 0.0;                ///< and their expected tonnes
    bool tonnes_assumed = false;                                ///< a yield stands in
};
/// One a season. No cost is assumed: without `test` and `sample` in the costs table there is no sum.
std::vector<SeasonOfStrips> strips_over_seasons(const SeasonData& data, const std::vector<int>& seasons,
                                                const std::vector<geo::KeptForecast>& forecasts,
                                                const std::optional<models::Limit>& limit,
                                                double load_cap = models::ClearingCaps{}.load_cap);

}  // namespace app
