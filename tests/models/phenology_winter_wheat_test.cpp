// The winter-wheat scheme of V. Garnica (2024), vcgarnica/SNB_window_pane, code/3_anthesis.R.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <sstream>

#include <catch2/catch.hpp>

#include "models/phenology/day_length.h"
#include "models/phenology/thermal_scheme.h"
#include "models/phenology/winter_wheat.h"
#include "tests/models/phenology_weather.h"
#include "tests/support/made_weather.h"
#include "tests/support/shared_data.h"
#include "tests/support/table.h"

using namespace models;
using std::chrono::days;

namespace {

const LocalDay october = day_of(2021, 10, 15);

/// Days from sowing to flowering; -1 where the weather ends before.
int days_to_flowering(const TemperatureDays& temperatures, LocalDay sowing, double latitude_deg,
                      Pace pace = Pace::likely) {
    const auto course = follow_winter_wheat(temperatures, sowing, latitude_deg, pace);
    return course.flowering ? static_cast<int>((*course.flowering - sowing).count()) : -1;
}

double spell_degc(int day) {
    return 4.0 * std::sin(12.9898 * day) * std::cos(78.233 * day);
}

/// Daily means of Greensboro, a year put together of months from several years, as the winter of 2021 and the spring of
/// 2022: the climate there, not a season.
std::map<LocalDay, double> typical_means_degc(const std::filesystem::path& shared) {
    std::istringstream lines(tests::read_text(shared / "data/weather/greensboro_nc_tmy3_723170TYA.CSV"));
    std::string line;
    std::map<LocalDay, std::pair<double, int>> sums;
    std::size_t column = 0;
    for (int row = 0; std::getline(lines, line); ++row) {
        std::vector<std::string> cells;
        std::istringstream parts(line);
        for (std::string cell; std::getline(parts, cell, ',');) cells.push_back(cell);
        if (row == 1) {
            const auto found = std::find(cells.begin(), cells.end(), "Dry-bulb (C)");
            REQUIRE(found != cells.end());
            column = static_cast<std::size_t>(found - cells.begin());
        }
        if (row < 2) continue;
        const auto month = static_cast<unsigned>(std::stoi(cells[0].substr(0, 2)));
        const auto day = static_cast<unsigned>(std::stoi(cells[0].substr(3, 2)));
        auto& [sum, hours] = sums[day_of(month >= 7 ? 2021 : 2022, month, day)];
        sum += std::stod(cells[column]);
        ++hours;
    }
    std::map<LocalDay, double> means;
    for (const auto& [day, sum] : sums) means[day] = sum.first / sum.second;
    return means;
}

/// The day's mean as both extremes: what the scheme asks for.
TemperatureDays of_means(const std::map<LocalDay, double>& means_degc) {
    std::vector<DayExtremes> extremes;
    for (const auto& [day, mean] : means_degc) extremes.push_back({day, mean, mean});
    return TemperatureDays::from_extremes(extremes);
}

}  // namespace

TEST_CASE("vernalization by temperature has the values of the scheme") {
    const std::map<double, double> expected = {{-4, 0.0},      {0, 0.571429}, {3, 1.0},  {8, 1.0}, {10, 1.0},
                                               {14, 0.428571}, {17, 0.0},     {-5, 0.0}, {18, 0.0}};
    for (const auto& [temperature, rate] : expected) {
        CHECK(vernalization_rate(temperature) == Approx(rate).margin(5e-7).epsilon(0));
    }
    CHECK(vernalization_factor(29.9) == 0.0);
    CHECK(vernalization_factor(30.0) == 0.0);
    CHECK(vernalization_factor(55.0) == 0.5);
    CHECK(vernalization_factor(80.0) == 1.0);
    CHECK(vernalization_factor(120.0) == 1.0);
}

TEST_CASE("thermal response by temperature has the values of the scheme") {
    const std::map<double, double> expected = {{5, 3.854866}, {10, 8.585402}, {15, 15.40016}, {20, 22.24861},
                                               {26, 26.0},    {30, 22.56198}, {1.5, 0.0},     {-3, 0.0},
                                               {37, 0.0},     {37.1, 0.0}};
    for (const auto& [temperature, response] : expected) {
        CHECK(thermal_response_degc(temperature) == Approx(response).margin(5e-6).epsilon(0));
    }
    CHECK(sine_response(26.0) == Approx(1.0));
    CHECK(sine_response(1.5) == Approx(0.0).margin(1e-15).epsilon(0.0));
    CHECK(sine_response(0.0) < 0.0);
    CHECK(photoperiod_factor(5.0) == 0.0);
    CHECK(photoperiod_factor(4.0) == 0.0);
    CHECK(photoperiod_factor(12.5) == 0.5);
    CHECK(photoperiod_factor(20.0) == 1.0);
    CHECK(photoperiod_factor(21.0) == 1.0);
}

TEST_CASE("ten degrees on the line take the crop through its stages on days that a hand can count") {
    // At 10 degC each day is one of vernalization: V is 30 on the 30th day and 80 on the 80th, the day of sowing being
    // the first. The day there is 12.11 to 12.12 h long, so p = 0.474; a s p = 8.585402 x 0.518404 x 0.474 = 2.110 to
    // 2.113. From the 31st day f is 1/50, 2/50, ... 1: 25.5 in all, 53.8 of the 352 that are needed; the rest takes
    // 298.2 / 2.11 = 141.1 to 141.4, so 142 days more: the 222nd.
    const auto temperatures = tests::made_temperatures(october, 300, [](LocalDay) { return 10.0; });
    const auto course = follow_winter_wheat(temperatures, october, 0.0);
    CHECK(course.vernalization_begins == october + days(29));
    CHECK(course.vernalization_in_full == october + days(79));
    CHECK(course.flowering == october + days(221));
    CHECK(course.vernal_days == Approx(222.0));
}

TEST_CASE("without cold the crop stays where it was") {
    const auto temperatures = tests::made_temperatures(october, 390, [](LocalDay) { return 20.0; });
    const auto course = follow_winter_wheat(temperatures, october, 36.0);
    CHECK_FALSE(course.flowering.has_value());
    CHECK_FALSE(course.vernalization_begins.has_value());
    CHECK(course.development == development_at_sowing);
    CHECK(course.vernal_days == 0.0);
}

TEST_CASE("warmer springs flower earlier") {
    int before = 1000;
    for (int warmer = 0; warmer <= 8; ++warmer) {
        const auto year = tests::seasons(14.0, 10.0, day_of(2022, 7, 20));
        const auto temperatures = tests::made_temperatures(
            october, 300, [&](LocalDay day) { return year(day) + (day >= day_of(2022, 3, 1) ? 0.5 * warmer : 0.0); });
        const int now = days_to_flowering(temperatures, october, 36.0);
        INFO(warmer);
        REQUIRE(now > 0);
        CHECK(now < before);
        before = now;
    }
}

TEST_CASE("longer days flower earlier and later sowing never earlier") {
    const auto temperatures = tests::made_temperatures(october, 330, tests::seasons(13.0, 10.0, day_of(2022, 7, 20)));
    int before = 1000;
    for (const double latitude : {20.0, 36.0, 50.0}) {
        const int now = days_to_flowering(temperatures, october, latitude);
        CHECK(now <= before);
        before = now;
    }
    LocalDay flowered = october;
    for (int later = 0; later <= 60; later += 5) {
        const auto course = follow_winter_wheat(temperatures, october + days(later), 36.0);
        REQUIRE(course.flowering.has_value());
        CHECK(*course.flowering >= flowered);
        flowered = *course.flowering;
    }
}

TEST_CASE("a southern year is the northern one half a year later") {
    const LocalDay sowing_south = october - days(182);
    const auto north = tests::made_temperatures(october, 330, tests::seasons(13.0, 9.0, day_of(2022, 7, 20)));
    const auto south =
        tests::made_temperatures(sowing_south, 330, tests::seasons(13.0, 9.0, day_of(2022, 7, 20) - days(182)));
    const int there = days_to_flowering(south, sowing_south, -36.0), here = days_to_flowering(north, october, 36.0);
    CHECK(std::abs(there - here) <= 3);  // the earth's orbit is not round: northern days differ by minutes
    CHECK(follow_winter_wheat(south, sowing_south, -36.0).flowering < day_of(2021, 12, 1));
    CHECK(days_to_flowering(south, sowing_south, 36.0) > there + 5);  // with the days of the wrong hemisphere
}

TEST_CASE("whatever the missing days were the crop flowers between the two bounds") {
    const auto year = tests::seasons(13.5, 9.0, day_of(2022, 7, 20));
    const auto complete = tests::made_extremes(
        october, 280, [&](LocalDay day) { return year(day) + spell_degc(static_cast<int>((day - october).count())); });
    const int truth = days_to_flowering(TemperatureDays::from_extremes(complete), october, 36.0);
    int opened = 0;
    for (int pattern = 0; pattern < 12; ++pattern) {
        auto partly = complete;
        for (int n = 5; n < 275; ++n) {
            if ((n * 37 + pattern * 11) % 97 < 8)
                partly[static_cast<std::size_t>(n)].minimum_degc = HourlySeries::missing;
        }
        // The bounds speak of what the neighbours had: a day outside them is given a temperature inside.
        const auto gaps = TemperatureDays::from_extremes(partly);
        auto filled = complete;
        for (std::size_t n = 0; n < filled.size(); ++n) {
            if (!std::isnan(partly[n].minimum_degc)) continue;
            const DayRange range = *gaps.mean_degc(filled[n].day);
            const double mean =
                std::clamp((filled[n].minimum_degc + filled[n].maximum_degc) / 2.0, range.low, range.high);
            filled[n] = {filled[n].day, mean - 6.0, mean + 6.0};
        }
        const int inside = days_to_flowering(TemperatureDays::from_extremes(filled), october, 36.0);
        const int earliest = days_to_flowering(gaps, october, 36.0, Pace::fastest);
        const int latest = days_to_flowering(gaps, october, 36.0, Pace::slowest);
        const int likely = days_to_flowering(gaps, october, 36.0);
        INFO(pattern << ": " << earliest << " " << likely << " " << latest << ", all seen " << truth);
        REQUIRE(earliest > 0);
        CHECK(earliest <= inside);
        CHECK(inside <= latest);
        CHECK(earliest <= likely);
        CHECK(likely <= latest);
        opened += latest > earliest ? 1 : 0;
    }
    CHECK(opened == 12);
}

TEST_CASE("the error of the scheme is that of the dates its author lists") {
    // predicted less observed, days, of AL24 BE24 CL22 KS22 KS23 KS24 LB23 LB24 MR22 OX23 PY22 PY23 RO24 RW22 SB22 SB23
    // SB24 UN23 (vcgarnica/SNB_prediction, data/anthesis.csv, MIT licence).
    const std::vector<double> differences = {3, 5, 0, -1, 4, 3, -8, -4, -1, -1, 2, -5, -2, 0, 2, 7, 9, -5};
    double squares = 0.0;
    for (const double difference : differences) squares += difference * difference;
    CHECK(winter_wheat_error_sd_days == Approx(std::sqrt(squares / 18.0)).margin(0.05).epsilon(0));
}

TEST_CASE("a typical year near Roxboro flowers within twice the scheme's error of its author's date there") {
    // The author's site RO24, 100 km from Greensboro, was predicted for 25 April and observed on 27 April.
    NEEDS_SHARED_DATA(shared);
    const auto course = follow_winter_wheat(of_means(typical_means_degc(shared)), day_of(2021, 10, 10), 36.1);
    REQUIRE(course.flowering.has_value());
    INFO(to_text(*course.flowering));
    const auto away = static_cast<double>((*course.flowering - day_of(2022, 4, 25)).count());
    CHECK(std::abs(away) < 2.0 * winter_wheat_error_sd_days);
    CHECK(course.vernalization_in_full < day_of(2022, 3, 1));
}

TEST_CASE("six sites flower on their author's dates once their loggers are read two degrees lower") {
    // Predicted dates of vcgarnica/SNB_prediction, data/anthesis.csv, from gridded temperatures since the usual sowing
    // date. Here the loggers in the fields serve from February on, and a typical winter before (the crop hardly moves
    // then). A logger in a crop need not read what the grid has. The 2 degC are chosen by this: that one number brings
    // six dates together is what is tested.
    NEEDS_SHARED_DATA(shared);
    struct Site {
        const char* name;
        double latitude_deg;
        LocalDay sowing, predicted;
    };
    const std::vector<Site> sites = {{"CL22", 35.671203, day_of(2021, 10, 10), day_of(2022, 4, 24)},
                                     {"KS22", 35.378138, day_of(2021, 10, 20), day_of(2022, 4, 16)},
                                     {"MR22", 34.949337, day_of(2021, 10, 10), day_of(2022, 4, 21)},
                                     {"PY22", 35.849167, day_of(2021, 10, 30), day_of(2022, 4, 22)},
                                     {"RW22", 34.511219, day_of(2021, 10, 20), day_of(2022, 4, 13)},
                                     {"SB22", 35.696489, day_of(2021, 10, 10), day_of(2022, 4, 25)}};
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const auto typical = typical_means_degc(shared);
    for (const Site& site : sites) {
        const StationDays station(tests::logger_hours(hourly, site.name));
        const auto logger = TemperatureDays::from_hours({&station, {}});
        const auto flowering = [&](double lower_degc) {
            auto means = typical;
            for (const auto& day : logger.days()) {
                if (day.seen()) means[day.day] = logger.mean_degc(day.day)->likely - lower_degc;
            }
            return *follow_winter_wheat(of_means(means), site.sowing, site.latitude_deg).flowering;
        };
        INFO(site.name << " " << to_text(flowering(2.0)) << ", as read " << to_text(flowering(0.0)));
        CHECK(std::abs((flowering(2.0) - site.predicted).count()) <= 2);
        // As read they are early by more than the scheme's error: a station's warmth matters more than all else.
        CHECK(static_cast<double>((site.predicted - flowering(0.0)).count()) > winter_wheat_error_sd_days);
    }
}

TEST_CASE("degree-day phases follow one another with their own bases") {
    ThermalScheme scheme;
    scheme.name = "made";
    scheme.method = DegreeDayMethod::mean_limited;
    scheme.phases = {{"emergence", 2.0, {}, 80.0, 80.0}, {"flowering", 5.0, {}, 100.0, 150.0}};
    const auto temperatures = tests::made_temperatures(october, 60, [](LocalDay) { return 10.0; });
    // 8 a day: the tenth day. Then 5 a day: 20, 25 or 30 days more.
    CHECK(follow_thermal_scheme(scheme, temperatures, october, Pace::likely, 0.0).flowering == october + days(29));
    const auto course = follow_thermal_scheme(scheme, temperatures, october);
    REQUIRE(course.phase_ends.size() == 2);
    CHECK(course.phase_ends[0] == october + days(9));
    CHECK(course.flowering == october + days(34));
    CHECK(follow_thermal_scheme(scheme, temperatures, october, Pace::likely, 1.0).flowering == october + days(39));
    // 2 degC warmer: 10 and 7 a day.
    CHECK(follow_thermal_scheme(scheme, temperatures, october, Pace::likely, 0.0, 2.0).flowering == october + days(22));
}

TEST_CASE("spring wheat in Saskatchewan needs 807 to 901 degree days and says it is unconfirmed") {
    const ThermalScheme scheme = spring_wheat_saskatchewan();
    CHECK_FALSE(scheme.confirmed);
    const LocalDay may = day_of(2022, 5, 10);
    const auto temperatures = tests::made_temperatures(may, 120, [](LocalDay) { return 16.0; });
    CHECK(follow_thermal_scheme(scheme, temperatures, may, Pace::likely, 0.0).flowering == may + days(50));  // 51 x 16
    CHECK(follow_thermal_scheme(scheme, temperatures, may, Pace::likely, 1.0).flowering == may + days(56));  // 57 x 16
}
