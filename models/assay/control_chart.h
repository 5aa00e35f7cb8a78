#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/control_material.h"

namespace models {

/// What a chart of n readings a point is drawn with. Of n values from a normal law of standard deviation 1: d2 and d3
/// mean and standard deviation of their range, c4 the mean of their standard deviation. From them
///   A2 = 3 / (d2 sqrt n),  D3 = max(0, 1 - 3 d3/d2),  D4 = 1 + 3 d3/d2
/// Source: ISO 7870-2:2013, Shewhart control charts, table 2, which prints three digits; here six, by integration.
struct ChartConstants {
    int n = 2;
    double d2 = 0.0, d3 = 0.0, c4 = 0.0;
    double a2() const;
    double d3_factor() const;  ///< the D3 of the tables
    double d4_factor() const;  ///< the D4 of the tables
};
/// @throws Error  n under 2 or over 10
ChartConstants chart_constants(int n);

/// Provisional limits rest on a few points, so neither centre line nor spread is known well: of readings in control,
/// the limits of 8 would call one in 32 beyond 3 standard deviations, not one in 370. They are wider by
///   w = c4(nu) t(nu; 0.99865) sqrt(1 + 1/m) / 3
/// so that a next point is called as rarely as it should be; t: Student's quantile; m points. A mean range is taken as
/// a standard deviation of nu degrees of freedom with the same coefficient of variation V,
///   1/c4(nu)^2 - 1 = V^2,  c4(nu) = sqrt(2/nu) G((nu + 1)/2) / G(nu/2),  G the gamma function
///   (V d2)^2 = d3^2 / m of m runs,  ((m - 1) d3^2 + 2 (m - 2) c) / (m - 1)^2 of m - 1 moving ranges
/// with c = 0.16275 the covariance of neighbouring moving ranges. 8 readings: nu 4.6, w 1.95; by simulation one point
/// in control of 590 is called (12 readings: 457). Sources: Hillier (1969), J. Quality Technology 1, 17-26 (the
/// principle); Patnaik (1950), Biometrika 37, 78-87 (nu); both from memory.
double provisional_widening(int points, int readings_a_point);

/// What a chart watches for. "beyond" is farther from the centre line than so many standard deviations of a point.
enum class ControlRule {
    one_beyond_three_sd,
    two_of_three_beyond_two_sd,  ///< of three in a row, the last among them, on one side
    four_of_five_beyond_one_sd,  ///< of five in a row, the last among them, on one side
    eight_on_one_side,
    range_too_wide  ///< of the readings of a run, or from one reading to the next: over D4 times the mean range. The
                    ///< way back from a reading that broke a rule itself is that reading's, not the next one's
};
/// Which of them are looked at. A reading known only to lie below or above a number counts where that settles it.
/// Sources: ISO 7870-2:2013, 5 (one beyond three; tests of runs); Western Electric (1956), Statistical Quality Control
/// Handbook, 23-28 (two of three, four of five, eight on one side); Westgard, Barry, Hunt & Groth (1981), Clinical
/// Chemistry 27, 493-501, for the use of several together (from memory). Of readings in control, all rules together
/// call about one point in 43 wrongly: a mark is a reason to look, and throws nothing away.
struct ControlRules {
    bool one_beyond_three_sd = true;
    bool two_of_three_beyond_two_sd = true;
    bool four_of_five_beyond_one_sd = true;
    int on_one_side = 8;  ///< how many in a row; 0: not looked at
    bool range_too_wide = true;
};
/// "one reading beyond 3 standard deviations of its centre line"; `settings` says how many on one side.
std::string in_words(ControlRule rule, const ControlRules& settings = {});
/// Short, as an option is written: "beyond-3", "two-of-three", "four-of-five", "one-side", "range".
std::string name_of(ControlRule rule);
const std::vector<ControlRule>& all_control_rules();
/// The rules with these names and no others. @throws Error  no such name (the nearest and all are named)
ControlRules control_rules_named(const std::vector<std::string>& names, int on_one_side = 8);

struct ChartSettings {
    /// Readings enter by their logarithm: their spread is a share of the content, as the error model has it, and the
    /// limits of a chart on the logarithm are never below zero. Off: as they are read, as printed examples do.
    bool logarithm = true;
    /// Limits are set by the first so many points of the lot and then stay. Until there are so many the first
    /// `least_points` set provisional ones, which stay as long: a drift does not move the limits that are to show it.
    /// Points outside the provisional limits set no final ones. Under `least_points` there are none. 20 is common
    /// practice; the rest is ours.
    int points_for_limits = 20;
    int least_points = 8;
    /// Limits from the assigned content instead: it is the centre line, and this is the coefficient of variation of one
    /// reading (fraction), as whoever assigned the content stated it.
    std::optional<double> stated_cv = std::nullopt;
    ControlRules rules = {};
};

/// Centre line and spread on the scale of the chart (ln mg/kg, or mg/kg).
struct ChartLimits {
    double centre = 0.0;
    double reading_sd = 0.0;  ///< of one reading: mean range / d2, or the stated one
    double widening = 1.0;    ///< of provisional limits, see provisional_widening
    double point_sd = 0.0;    ///< that rules count in: widening x reading_sd / sqrt n
    double mean_range = 0.0, range_low = 0.0, range_high = 0.0;
    int points = 0;  ///< that set them; 0: from the assigned content
    bool provisional = false;
};

/// One reading, or the mean of the readings of one run.
struct ChartPoint {
    std::vector<std::string> tests;
    Stamp time;
    Reading reading = Reading::value;
    double don_mg_per_kg = 0.0;   ///< on the logarithm the geometric mean
    std::optional<double> range;  ///< on the scale of the chart: of the run, or from the point before
    std::optional<double> sds;    ///< from the centre line, in standard deviations of a point; none without limits
    bool sets_limits = false;
    bool outside_bounds = false;  ///< a reading of it is outside what the control accepts
    std::vector<ControlRule> broken;
    /// It breaks them by limits that were set after it was read; by those that there were then it broke none.
    bool by_later_limits = false;
};

/// The chart of one control and one kit lot: never joined across lots. Where every run (one local day) has the same
/// number n of readings, 2 to 10, a point is their mean and the spread comes from their ranges (mean and range chart):
///   centre = mean of means,  sd of a reading = mean R / d2(n),  limits of the mean = centre +- A2 mean R
/// otherwise each reading is a point (individuals chart): sd = mean moving range / d2(2), the moving ranges between
/// neighbours that set limits.
/// Readings outside the control's own accepted bounds and those below or above the range are on the chart and set no
/// limits. Strips without a recorded kit lot get no limits, for they may be of several.
/// Source: ISO 7870-2:2013, 4 to 7.
struct ControlChart {
    ControlMaterial control;
    Method method = Method::strip;
    std::string kit_lot;
    int readings_a_point = 1;
    bool logarithm = true;
    std::optional<ChartLimits> limits;
    std::vector<ChartPoint> points;
    std::string says;  ///< where the limits come from, or why there are none
    ControlRules rules;

    /// The content at so many standard deviations of a point from the centre line. Needs limits.
    double mg_per_kg_at(double sds) const;
};
/// A line of a chart with three digits: "1.78", "0.580".
std::string limit_in_words(double mg_per_kg);
/// @throws Error  a setting makes no sense (points, stated cv); a series without readings or assigned content; on the
///                logarithm a reading of zero
ControlChart control_chart(const ControlSeries& series, const ChartSettings& settings = {});

}  // namespace models
