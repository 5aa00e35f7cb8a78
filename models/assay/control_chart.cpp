#include "models/assay/control_chart.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include <fmt/format.h>

#include "models/assay/interval_law.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace chart_making {

constexpr double infinite = std::numeric_limits<double>::infinity();

// mean and standard deviation of the range of n values of the standard normal law, by integration
constexpr double range_table[][2] = {{1.128379, 0.852502}, {1.692569, 0.888368}, {2.058751, 0.879808},
                                     {2.325929, 0.864082}, {2.534413, 0.848040}, {2.704357, 0.833205},
                                     {2.847201, 0.819831}, {2.970026, 0.807834}, {3.077505, 0.797051}};

void require_sound(const ControlSeries& series, const ChartSettings& settings) {
    if (settings.least_points < 2 || settings.points_for_limits < settings.least_points) {
        throw Error(fmt::format("limits from {} points, at least {}, cannot be set", settings.points_for_limits,
                                settings.least_points),
                    "", fmt::format("give {} or more", std::max(2, settings.least_points)));
    }
    if (settings.rules.on_one_side != 0 && settings.rules.on_one_side < 2) {
        throw Error(fmt::format("{} on one side is no run", settings.rules.on_one_side), "", "give 2 or more, or 0");
    }
    if (settings.stated_cv && (!(*settings.stated_cv > 0.0) || !std::isfinite(*settings.stated_cv))) {
        throw Error(fmt::format("a coefficient of variation of {} % sets no limits", *settings.stated_cv * 100.0), "",
                    "give one above 0");
    }
    if (!(series.control.assigned_mg_per_kg > 0.0)) {
        throw Error(fmt::format("control {} has no assigned content, so nothing says what it should read",
                                series.control.control),
                    "", "give its assigned_mg_per_kg in the table of controls");
    }
    if (series.readings.empty()) {
        throw Error(fmt::format("control {} has no reading, so there is nothing to chart", series.control.control));
    }
    for (const ControlReading& reading : series.readings) {
        if (settings.logarithm && reading.test.reading == Reading::value && !(reading.don_mg_per_kg > 0.0)) {
            throw Error(fmt::format("a control reading of {} mg/kg has no logarithm", reading.don_mg_per_kg),
                        "test " + reading.test.test, "write it as below the range, such as <0.05");
        }
    }
}

/// Readings a run where all runs have the same number of them and all are values, else 1.
int readings_a_run(const ControlSeries& series) {
    std::vector<int> runs;
    std::optional<LocalDay> day;
    for (const ControlReading& reading : series.readings) {
        if (reading.test.reading != Reading::value) return 1;
        if (day != reading.test.time.local_day()) runs.push_back(0);
        day = reading.test.time.local_day();
        ++runs.back();
    }
    const bool alike = std::all_of(runs.begin(), runs.end(), [&](int run) { return run == runs.front(); });
    return alike && runs.front() <= 10 ? runs.front() : 1;
}

/// Between which distances from the centre line a point lies.
struct Side {
    double least = 0.0, most = 0.0;
};

Side side_of(const ChartPoint& point) {
    if (point.reading == Reading::below) return {-infinite, *point.sds};
    if (point.reading == Reading::above) return {*point.sds, infinite};
    return {*point.sds, *point.sds};
}

bool beyond(const Side& side, double sds, int sign) {
    return sign > 0 ? side.least > sds : side.most < -sds;
}

/// At least `wanted` of the last `of`, the last among them, beyond on one side.
bool so_many_beyond(const std::vector<Side>& sides, std::size_t last, std::size_t of, int wanted, double sds) {
    for (const int sign : {-1, 1}) {
        if (!beyond(sides[last], sds, sign)) continue;
        int found = 0;
        for (std::size_t i = last + 1 >= of ? last + 1 - of : 0; i <= last; ++i) found += beyond(sides[i], sds, sign);
        if (found >= wanted) return true;
    }
    return false;
}

void look_for_broken_rules(ControlChart& chart, const ChartLimits& limits) {
    std::vector<Side> sides;
    for (const ChartPoint& point : chart.points) sides.push_back(side_of(point));
    const ControlRules& rules = chart.rules;
    for (std::size_t i = 0; i < sides.size(); ++i) {
        std::vector<ControlRule>& broken = chart.points[i].broken;
        if (rules.one_beyond_three_sd && so_many_beyond(sides, i, 1, 1, 3.0)) {
            broken.push_back(ControlRule::one_beyond_three_sd);
        }
        if (rules.two_of_three_beyond_two_sd && so_many_beyond(sides, i, 3, 2, 2.0)) {
            broken.push_back(ControlRule::two_of_three_beyond_two_sd);
        }
        if (rules.four_of_five_beyond_one_sd && so_many_beyond(sides, i, 5, 4, 1.0)) {
            broken.push_back(ControlRule::four_of_five_beyond_one_sd);
        }
        const auto run = static_cast<std::size_t>(rules.on_one_side);
        if (run > 0 && so_many_beyond(sides, i, run, rules.on_one_side, 0.0)) {
            broken.push_back(ControlRule::eight_on_one_side);
        }
        const auto& range = chart.points[i].range;
        const bool explained = chart.readings_a_point == 1 && i > 0 && !chart.points[i - 1].broken.empty() &&
                               std::abs(*chart.points[i].sds) < std::abs(*chart.points[i - 1].sds);
        if (rules.range_too_wide && range && *range > limits.range_high && !explained) {
            broken.push_back(ControlRule::range_too_wide);
        }
    }
}

ChartPoint point_of(const ControlSeries& series, std::size_t first, int n, bool logarithm) {
    ChartPoint point;
    const ControlReading& front = series.readings[first];
    point.time = front.test.time;
    point.reading = front.test.reading;
    point.sets_limits = point.reading == Reading::value;
    double sum = 0.0, low = infinite, high = -infinite;
    for (std::size_t i = first; i < first + static_cast<std::size_t>(n); ++i) {
        const ControlReading& reading = series.readings[i];
        point.tests.push_back(reading.test.test);
        if (reads_outside(series.control, reading.test.reading, reading.don_mg_per_kg)) {
            point.outside_bounds = true;
            point.sets_limits = false;
        }
        const double y = logarithm ? std::log(reading.don_mg_per_kg) : reading.don_mg_per_kg;
        sum += y;
        low = std::min(low, y);
        high = std::max(high, y);
    }
    point.don_mg_per_kg = n == 1 ? front.don_mg_per_kg : logarithm ? std::exp(sum / n) : sum / n;
    if (n > 1) point.range = high - low;
    return point;
}

double on_scale(const ControlChart& chart, double don_mg_per_kg) {
    return chart.logarithm ? std::log(don_mg_per_kg) : don_mg_per_kg;
}

/// Limits of a point and of a range from the spread of one reading.
void complete(const ControlChart& chart, ChartLimits& limits) {
    const ChartConstants constants = chart_constants(std::max(2, chart.readings_a_point));
    limits.point_sd = limits.widening * limits.reading_sd / std::sqrt(static_cast<double>(chart.readings_a_point));
    limits.range_low = constants.d3_factor() * limits.mean_range / limits.widening;
    limits.range_high = constants.d4_factor() * limits.mean_range * limits.widening;
}

double sds_of(const ControlChart& chart, const ChartPoint& point, const ChartLimits& limits) {
    if (chart.logarithm && !(point.don_mg_per_kg > 0.0)) return -infinite;
    return (on_scale(chart, point.don_mg_per_kg) - limits.centre) / limits.point_sd;
}

/// Distances from the centre line and the rules that are broken, by these limits.
void judge(ControlChart& chart, const ChartLimits& limits) {
    for (ChartPoint& point : chart.points) {
        point.sds = sds_of(chart, point, limits);
        point.broken.clear();
    }
    look_for_broken_rules(chart, limits);
}

void set_limits_from_content(ControlChart& chart, double cv) {
    ChartLimits limits;
    const double assigned = chart.control.assigned_mg_per_kg;
    limits.centre = on_scale(chart, assigned);
    limits.reading_sd = chart.logarithm ? std::sqrt(std::log1p(cv * cv)) : cv * assigned;
    limits.mean_range = chart_constants(std::max(2, chart.readings_a_point)).d2 * limits.reading_sd;
    complete(chart, limits);
    chart.limits = limits;
    chart.says = phrase("centre line at the assigned {} mg/kg, one reading within {:.3g} % of it (stated)", assigned,
                        cv * 100.0);
    judge(chart, limits);
}

enum class LimitsAre { provisional, final };

/// Limits from these points; none where they do not differ.
std::optional<ChartLimits> limits_from(const ControlChart& chart, const std::vector<std::size_t>& from,
                                       LimitsAre kind) {
    ChartLimits limits;
    limits.points = static_cast<int>(from.size());
    limits.provisional = kind == LimitsAre::provisional;
    if (limits.provisional) limits.widening = provisional_widening(limits.points, chart.readings_a_point);
    std::vector<double> ranges;
    for (std::size_t k = 0; k < from.size(); ++k) {
        const ChartPoint& point = chart.points[from[k]];
        limits.centre += on_scale(chart, point.don_mg_per_kg) / limits.points;
        // A moving range goes from a reading to its neighbour: none across one that sets no limits.
        const bool neighbour = k > 0 && from[k - 1] + 1 == from[k];
        if (point.range && (chart.readings_a_point > 1 || neighbour)) ranges.push_back(*point.range);
    }
    if (!ranges.empty()) {
        limits.mean_range = std::accumulate(ranges.begin(), ranges.end(), 0.0) / static_cast<double>(ranges.size());
    }
    if (!(limits.mean_range > 0.0)) return std::nullopt;
    limits.reading_sd = limits.mean_range / chart_constants(std::max(2, chart.readings_a_point)).d2;
    complete(chart, limits);
    return limits;
}

/// Which points set limits, by their place: the first few the provisional ones, more of them the final ones, and those
/// that lie too far from the provisional ones to be of their kind.
struct LimitSetters {
    std::vector<std::size_t> provisional, final, passed_over;
};

LimitSetters limit_setters(const ControlChart& chart, const ChartSettings& settings) {
    LimitSetters setters;
    std::optional<ChartLimits> limits;
    const auto least = static_cast<std::size_t>(settings.least_points);
    std::vector<std::size_t> usable;
    for (std::size_t i = 0; i < chart.points.size(); ++i) {
        if (chart.points[i].sets_limits) usable.push_back(i);
    }
    if (usable.size() < least) return setters;
    setters.provisional.assign(usable.begin(), usable.begin() + settings.least_points);
    limits = limits_from(chart, setters.provisional, LimitsAre::provisional);
    for (const std::size_t i : usable) {
        if (setters.final.size() == static_cast<std::size_t>(settings.points_for_limits)) break;
        const bool too_far = limits && std::abs(sds_of(chart, chart.points[i], *limits)) > 3.0;
        (too_far ? setters.passed_over : setters.final).push_back(i);
    }
    if (setters.final.size() < static_cast<std::size_t>(settings.points_for_limits)) setters.final.clear();
    return setters;
}

/// "; tests T11, T12, T13 and 4 more lie outside the provisional limits and set none"
std::string passed_over_in_words(const ControlChart& chart, const LimitSetters& setters) {
    constexpr std::size_t named = 3;
    const std::vector<std::size_t>& passed = setters.passed_over;
    if (passed.empty()) return "";
    std::string names;
    const std::size_t shown = passed.size() <= named + 1 ? passed.size() : named;
    for (std::size_t k = 0; k < shown; ++k) {
        names += (k == 0                   ? std::string()
                  : k + 1 == passed.size() ? phrase(" and ")
                                           : std::string(", ")) +
                 chart.points[passed[k]].tests.back();
    }
    if (shown < passed.size()) names += phrase(" and {} more", passed.size() - shown);
    return passed.size() == 1 ? phrase("; test {} lies outside the provisional limits and sets none", names)
                              : phrase("; tests {} lie outside the provisional limits and set none", names);
}

void set_limits_from_readings(ControlChart& chart, const ChartSettings& settings) {
    const LimitSetters setters = limit_setters(chart, settings);
    int usable = 0;
    for (ChartPoint& point : chart.points) {
        usable += point.sets_limits ? 1 : 0;
        point.sets_limits = false;
    }
    const auto counted_points = [&](int number) {
        return chart.readings_a_point > 1 ? counted(number, spoken(word("run")), spoken(word("runs")))
                                          : counted(number, spoken(word("reading")), spoken(word("readings")));
    };
    if (setters.provisional.empty()) {
        const std::string least = counted_points(settings.least_points);
        if (usable == static_cast<int>(chart.points.size())) {
            chart.says = phrase("no limits yet: they take {} of this kit lot", least);
        } else if (usable == 0) {
            chart.says = phrase(
                "no limits yet: they take {} of this kit lot inside the range and what the control accepts, and none "
                "of these is",
                least);
        } else {
            chart.says = usable == 1 ? phrase(
                                           "no limits yet: they take {} of this kit lot inside the range and what "
                                           "the control accepts, and {} of these is",
                                           least, usable)
                                     : phrase(
                                           "no limits yet: they take {} of this kit lot inside the range and what "
                                           "the control accepts, and {} of these are",
                                           least, usable);
        }
        return;
    }
    const std::vector<std::size_t>& from = setters.final.empty() ? setters.provisional : setters.final;
    const std::optional<ChartLimits> provisional = limits_from(chart, setters.provisional, LimitsAre::provisional);
    chart.limits = setters.final.empty() ? provisional : limits_from(chart, from, LimitsAre::final);
    if (!chart.limits) {
        chart.says = phrase("no limits: the readings that set them do not differ, so nothing is known of their spread");
        return;
    }
    for (const std::size_t i : from) chart.points[i].sets_limits = true;
    chart.says = phrase(
        "{} from the first {} of {} of this kit lot that can set them{}; the centre line is {:.0f} % of the assigned "
        "content",
        chart.limits->provisional ? phrase("provisional limits, {:.1f} times as wide until there are {},",
                                           chart.limits->widening, settings.points_for_limits)
                                  : phrase("limits"),
        chart.limits->points, counted_points(usable - static_cast<int>(setters.passed_over.size())),
        passed_over_in_words(chart, setters), 100.0 * chart.mg_per_kg_at(0.0) / chart.control.assigned_mg_per_kg);
    // What a reading broke when it was read, by the limits that there were then.
    std::vector<bool> broke_then(chart.points.size(), false);
    if (provisional) {
        judge(chart, *provisional);
        for (std::size_t i = setters.provisional.back(); i < chart.points.size(); ++i)
            broke_then[i] = !chart.points[i].broken.empty();
    }
    judge(chart, *chart.limits);
    for (std::size_t i = 0; i < from.back(); ++i)
        chart.points[i].by_later_limits = !chart.points[i].broken.empty() && !broke_then[i];
}

}  // namespace chart_making

ChartConstants chart_constants(int n) {
    if (n < 2 || n > 10) {
        throw Error(fmt::format("a chart of {} readings a point has no constants here", n), "", "give 2 to 10");
    }
    const auto& row = chart_making::range_table[n - 2];
    return {n, row[0], row[1], std::sqrt(2.0 / (n - 1)) * std::exp(std::lgamma(0.5 * n) - std::lgamma(0.5 * (n - 1)))};
}

double provisional_widening(int points, int readings_a_point) {
    constexpr double covariance_of_neighbours = 0.16275158;  // (4/pi)(sqrt(3)/2 + pi/12) - 4/pi
    constexpr double tail_beyond_three_sd = 0.001349898;
    const ChartConstants constants = chart_constants(std::max(2, readings_a_point));
    const double m = points;
    const double of_runs = constants.d3 * constants.d3 / m;
    const double of_neighbours =
        ((m - 1.0) * constants.d3 * constants.d3 + 2.0 * (m - 2.0) * covariance_of_neighbours) / std::pow(m - 1.0, 2);
    const double variation = (readings_a_point > 1 ? of_runs : of_neighbours) / (constants.d2 * constants.d2);
    const auto c4 = [](double nu) {
        return std::sqrt(2.0 / nu) * std::exp(std::lgamma(0.5 * (nu + 1.0)) - std::lgamma(0.5 * nu));
    };
    double low = 0.1, high = 1e4;  // between them 1/c4^2 - 1 falls from 30 to nothing
    for (int step = 0; step < 60; ++step) {
        const double middle = std::sqrt(low * high), there = c4(middle);
        (1.0 / (there * there) - 1.0 > variation ? low : high) = middle;
    }
    return c4(low) * interval_law::student_upper_quantile(tail_beyond_three_sd, low) * std::sqrt(1.0 + 1.0 / m) / 3.0;
}

double ChartConstants::a2() const {
    return 3.0 / (d2 * std::sqrt(static_cast<double>(n)));
}
double ChartConstants::d3_factor() const {
    return std::max(0.0, 1.0 - 3.0 * d3 / d2);
}
double ChartConstants::d4_factor() const {
    return 1.0 + 3.0 * d3 / d2;
}

const std::vector<ControlRule>& all_control_rules() {
    static const std::vector<ControlRule> rules = {
        ControlRule::one_beyond_three_sd, ControlRule::two_of_three_beyond_two_sd,
        ControlRule::four_of_five_beyond_one_sd, ControlRule::eight_on_one_side, ControlRule::range_too_wide};
    return rules;
}

std::string in_words(ControlRule rule, const ControlRules& settings) {
    switch (rule) {
        case ControlRule::one_beyond_three_sd:
            return phrase("one beyond 3 standard deviations of the centre line");
        case ControlRule::two_of_three_beyond_two_sd:
            return phrase("two of three in a row beyond 2 standard deviations on one side");
        case ControlRule::four_of_five_beyond_one_sd:
            return phrase("four of five in a row beyond 1 standard deviation on one side");
        case ControlRule::eight_on_one_side:
            return phrase("{} in a row on one side of the centre line",
                          settings.on_one_side == 8 ? phrase("eight") : std::to_string(settings.on_one_side));
        case ControlRule::range_too_wide:
            return phrase("neighbouring readings farther apart than the limit of their range");
    }
    return "";
}

std::string name_of(ControlRule rule) {
    switch (rule) {
        case ControlRule::one_beyond_three_sd:
            return "beyond-3";
        case ControlRule::two_of_three_beyond_two_sd:
            return "two-of-three";
        case ControlRule::four_of_five_beyond_one_sd:
            return "four-of-five";
        case ControlRule::eight_on_one_side:
            return "one-side";
        case ControlRule::range_too_wide:
            return "range";
    }
    return "";
}

ControlRules control_rules_named(const std::vector<std::string>& names, int on_one_side) {
    ControlRules rules{false, false, false, 0, false};
    std::vector<std::string> known;
    std::string list;
    for (const ControlRule rule : all_control_rules()) {
        known.push_back(name_of(rule));
        list += (list.empty() ? "" : ", ") + known.back();
    }
    for (const std::string& name : names) {
        const auto found = std::find(known.begin(), known.end(), name);
        if (found == known.end()) {
            const std::string near = nearest_name(name, known);
            throw Error("there is no rule \"" + name + "\"" + (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                        "", "use " + list);
        }
        switch (all_control_rules()[static_cast<std::size_t>(found - known.begin())]) {
            case ControlRule::one_beyond_three_sd:
                rules.one_beyond_three_sd = true;
                break;
            case ControlRule::two_of_three_beyond_two_sd:
                rules.two_of_three_beyond_two_sd = true;
                break;
            case ControlRule::four_of_five_beyond_one_sd:
                rules.four_of_five_beyond_one_sd = true;
                break;
            case ControlRule::eight_on_one_side:
                rules.on_one_side = on_one_side;
                break;
            case ControlRule::range_too_wide:
                rules.range_too_wide = true;
                break;
        }
    }
    return rules;
}

std::string limit_in_words(double mg_per_kg) {
    return said(fmt::format("{:#.3g}", mg_per_kg));
}

double ControlChart::mg_per_kg_at(double sds) const {
    const double y = limits->centre + sds * limits->point_sd;
    return logarithm ? std::exp(y) : y;
}

ControlChart control_chart(const ControlSeries& series, const ChartSettings& settings) {
    chart_making::require_sound(series, settings);
    ControlChart chart;
    chart.control = series.control;
    chart.method = series.method;
    chart.kit_lot = series.kit_lot;
    chart.logarithm = settings.logarithm;
    chart.rules = settings.rules;
    chart.readings_a_point = chart_making::readings_a_run(series);
    const auto n = static_cast<std::size_t>(chart.readings_a_point);
    for (std::size_t i = 0; i < series.readings.size(); i += n) {
        ChartPoint point = chart_making::point_of(series, i, chart.readings_a_point, chart.logarithm);
        const bool moves =
            n == 1 && i > 0 && point.reading == Reading::value && chart.points.back().reading == Reading::value;
        if (moves) {
            point.range = std::abs(chart_making::on_scale(chart, point.don_mg_per_kg) -
                                   chart_making::on_scale(chart, chart.points.back().don_mg_per_kg));
        }
        chart.points.push_back(std::move(point));
    }
    const bool lots_unknown = series.method == Method::strip && series.kit_lot.empty();
    if (lots_unknown || settings.stated_cv) {
        for (ChartPoint& point : chart.points) point.sets_limits = false;
    }
    if (lots_unknown) {
        chart.says = phrase("no limits: the kit lot of these readings is not recorded, and they may be of several");
    } else if (settings.stated_cv) {
        chart_making::set_limits_from_content(chart, *settings.stated_cv);
    } else {
        chart_making::set_limits_from_readings(chart, settings);
    }
    return chart;
}

}  // namespace models
