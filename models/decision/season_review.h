#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

namespace models {

/// Fields of several seasons: what was predicted of each and whether it happened. The season is the unit of all that is
/// told here: fields of one season share its weather, so another field is no new evidence of how a model does in a year
/// that nobody has seen; another season is.
struct SeasonCases {
    Eigen::VectorXd predicted;   ///< chances, or any score that rises with the event
    std::vector<bool> happened;  ///< as long
    std::vector<int> season;     ///< as long
};
std::vector<int> seasons_of(const SeasonCases& cases);  ///< ascending, each once
SeasonCases only_season(const SeasonCases& cases, int season);
SeasonCases without_season(const SeasonCases& cases, int season);

struct SeasonTally {
    int season = 0;
    int n = 0, events = 0;
    double mean_predicted = 0.0;
    std::optional<double> auc;    ///< among the fields of that season; none without an event or a non-event
    std::optional<double> brier;  ///< none where a prediction is no chance
};
/// @throws Error  sizes differ; a prediction is not a number
std::vector<SeasonTally> tally_of_seasons(const SeasonCases& cases);

/// Chance that of two fields the one with the event had the higher prediction, ties half; nullopt without an event or
/// without a non-event.
std::optional<double> area_under_curve(const SeasonCases& cases);
/// The same over pairs of fields of one season: how well fields are ordered when the season is what it is.
///   sum_s pairs_s AUC_s / sum_s pairs_s,   pairs_s = events x non-events of season s
std::optional<double> area_within_seasons(const SeasonCases& cases);
/// The curve whose area that is: for every bound, from over the highest prediction down to the lowest, which share of
/// the non-events and of the events lies at or over it. From (0, 0) to (1, 1); ties are one step. Empty without an
/// event or without a non-event.
struct OperatingPoint {
    double non_events = 0.0, events = 0.0;  ///< shares at or over the bound
};
std::vector<OperatingPoint> operating_curve(const SeasonCases& cases);
/// Mean square of prediction - found; nullopt of nothing.
std::optional<double> brier_score(const SeasonCases& cases);

/// Of each case the share that happened in the other seasons: what somebody without a model would say of a season that
/// he has not seen. @throws Error  sizes differ; fewer than two seasons
Eigen::VectorXd climatology_of_others(const SeasonCases& cases);
/// 1 - Brier / Brier of that share: above 0 the predictions say more than the share, below 0 less. nullopt with fewer
/// than two seasons, or where the share alone is right everywhere.
/// Source: Murphy & Epstein (1989), Monthly Weather Review 117, 572-581 (skill against a climatology); that it comes
/// from other seasons is what makes it a forecast too.
std::optional<double> skill_against_climatology(const SeasonCases& cases);

/// A number of all seasons with how far it would move had other seasons come: each season is left out in turn.
/// With m_j of n cases in season j of g, h_j = n / m_j, T all together and T_j without season j (the delete-m_j
/// jackknife):
///   centre = g T - sum (1 - m_j / n) T_j,   variance = 1/g sum (h_j T - (h_j - 1) T_j - centre)^2 / (h_j - 1)
///   interval T -+ t(0.975, g - 1) sqrt(variance)
/// Source: Busing, Meijer & van der Leeden (1999), Statistics and Computing 9, 3-8.
struct OverSeasons {
    std::optional<double> value;
    struct LeftOut {
        int season = 0;
        std::optional<double> value;  ///< without that season
    };
    std::vector<LeftOut> without;
    std::optional<double> standard_error, low95, high95;
    std::string not_told;  ///< why there is no interval: a sentence without its full stop
};
using SeasonStatistic = std::function<std::optional<double>(const SeasonCases&)>;
/// @param low, high  what the number can be at most; the interval ends there
/// @throws Error  sizes differ; a prediction is not a number
OverSeasons over_seasons(const SeasonCases& cases, const SeasonStatistic& statistic, double low, double high);
/// Fewer seasons say nothing of others, and nothing is claimed (ours).
inline constexpr int least_seasons = 3;

/// What is believed of a model's local fit before a season was seen. Intercept around 0: local odds within a factor of
/// 7 of the published ones either way in 19 of 20 places; slope around 1: within 0 and 2. Both are ours.
struct CalibrationPrior {
    double intercept_sd = 1.0;
    double slope_sd = 0.5;
};
/// A published chance brought to the place where it is used:
///   logit p' = a + b logit p,   a ~ N(0, intercept_sd^2), b ~ N(1, slope_sd^2), at the posterior mode
/// with p kept within 0.001 and 0.999. Each season is predicted by a fit to the others; that, and not the fit to all,
/// is what it is judged by. It is offered only where it helps: with three seasons or more, where the left-out seasons'
/// Brier score falls by more than one standard error of that fall over seasons, and where the order of fields stays.
/// Sources: Cox (1958), Biometrika 45, 562-565 (intercept and slope of predictions); Steyerberg et al. (2004),
/// Statistics in Medicine 23, 2567-2586 (updating a model with shrinkage); Breiman et al. (1984), Classification and
/// Regression Trees, section 3.4.3 (one standard error).
struct LocalCalibration {
    double intercept = 0.0, slope = 1.0;  ///< of all seasons
    struct LeftOut {
        int season = 0, n = 0;
        double intercept = 0.0, slope = 1.0;  ///< of the other seasons
        double brier_published = 0.0, brier_local = 0.0;
    };
    std::vector<LeftOut> without;
    double brier_published = 0.0, brier_local = 0.0;  ///< over all cases, each predicted by the other seasons
    std::optional<double> gain_standard_error;        ///< of brier_published - brier_local, over seasons
    bool offered = false;
    std::string reason;  ///< why it is offered or not: a sentence without its full stop

    double apply(double published) const;  ///< 0 to 1 to 0 to 1
};
/// @throws Error  sizes differ; a prediction is no chance; fewer than two seasons; a standard deviation not above 0
LocalCalibration local_calibration(const SeasonCases& cases, const CalibrationPrior& prior = {});

/// The share of n and the 95 % interval that n independent cases would leave it, for a picture: fields of one season
/// are not independent, so the truth is wider. Wilson (1927), Journal of the American Statistical Association 22,
/// 209-212.
struct ShareInterval {
    double share = 0.0, low95 = 0.0, high95 = 1.0;
};
/// @throws Error  n not above 0, or events outside 0 to n
ShareInterval share_interval(int events, int n);

}  // namespace models
