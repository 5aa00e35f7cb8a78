#include <array>
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "geo/work_system.h"
#include "models/calendar.h"
#include "models/disease/catalogue.h"
#include "tests/app/demo_tables.h"

using tests::demo_data::number;
using tests::demo_data::Row;
using tests::demo_data::table;

namespace {

std::map<std::string, double> law() {
    std::map<std::string, double> values;
    for (const Row& row : table("truth/law.csv")) values[row.at("name")] = number(row, "value");
    return values;
}

std::map<std::string, Row> by_name(const std::string& file, const char* column) {
    std::map<std::string, Row> rows;
    for (const Row& row : table(file)) rows[row.at(column)] = row;
    return rows;
}

}  // namespace

TEST_CASE("the true mean of every demo crop follows the written law") {
    const auto value = law();
    int crops = 0;
    for (const Row& row : table("truth/crops.csv")) {
        INFO(row.at("season") << " " << row.at("field"));
        double log_mean = value.at("level") + value.at("slope") * (number(row, "risk_logit") + 1.0);
        for (const char* effect : {"season_effect", "region_effect", "field_effect", "field_season_effect",
                                   "ploughed_effect", "sprayed_effect"}) {
            log_mean += number(row, effect);
        }
        // Seven summands of three decimals, and a mean of three decimals.
        CHECK(std::exp(log_mean) == Approx(number(row, "mean_mg_per_kg")).epsilon(0.004).margin(0.0006));
        CHECK(number(row, "season_effect") == Approx(value.at("season_" + row.at("season"))));
        ++crops;
    }
    CHECK(crops > 80);
}

TEST_CASE("the demo's true disease risk is that of the default model with the true weather") {
    std::map<std::tuple<std::string, std::string, std::string>, Row> recorded;
    for (const Row& row : table("crops.csv")) recorded[{row.at("season"), row.at("field"), row.at("part")}] = row;
    const models::DiseaseModel& model = models::default_model();
    REQUIRE(model.weather.size() == 1);
    for (const Row& row : table("truth/crops.csv")) {
        INFO(row.at("season") << " " << row.at("field"));
        const Row& crop = recorded.at({row.at("season"), row.at("field"), row.at("part")});
        models::Agronomy agronomy;
        const std::map<std::string, models::Resistance> words = {{"VS", models::Resistance::very_susceptible},
                                                                 {"S", models::Resistance::susceptible},
                                                                 {"MS", models::Resistance::moderately_susceptible},
                                                                 {"MR", models::Resistance::moderately_resistant}};
        agronomy.resistance = words.at(crop.at("resistance"));
        if (crop.at("wheat_type") == "spring") {
            agronomy.group = models::WheatGroup::spring;
        } else if (crop.at("previous_crop") == "maize" && crop.at("residue") != "none") {
            agronomy.group = models::WheatGroup::winter_with_maize_residue;
        }
        const std::array<double, 1> depression = {number(row, "depression_degc")};
        // The depression has two decimals, and the slope is about a half.
        CHECK(model.logit(depression, agronomy) == Approx(number(row, "risk_logit")).margin(0.0032).epsilon(0.0));
    }
}

TEST_CASE("the demo's readings scatter about the truth as much as they should") {
    const auto samples = by_name("truth/samples.csv", "sample");
    std::set<std::string> wrongly_typed;
    for (const Row& row : table("tests.csv")) wrongly_typed.insert(row.at("supersedes"));
    double sum = 0.0, squares = 0.0, lowest = 1.0, highest = 0.0;
    int n = 0;
    for (const Row& row : table("truth/tests.csv")) {
        if (wrongly_typed.count(row.at("test"))) continue;
        const double content = number(samples.at(row.at("sample")), "content_mg_per_kg");
        const double q = number(row, "log_variance");
        const double z =
            (std::log(number(row, "unrounded_mg_per_kg") / content) + 0.5 * q - number(row, "log_lot_effect")) /
            std::sqrt(q);
        sum += z;
        squares += z * z;
        lowest = std::min(lowest, q);
        highest = std::max(highest, q);
        ++n;
    }
    REQUIRE(n > 200);
    // A mean of n standard normal numbers lies within 3/sqrt(n) of 0, their variance within 3 sqrt(2/n) of 1, but for
    // one scenario in several hundred; readings of one sample share a part of their error, which widens both a little.
    CHECK(std::abs(sum / n) < 3.3 / std::sqrt(n));
    CHECK(squares / n == Approx(1.0).margin(3.3 * std::sqrt(2.0 / n)).epsilon(0.0));
    CHECK(lowest < 0.02);
    CHECK(highest > 0.2);
}

TEST_CASE("what the demo tables show of a reading is the true reading within its range") {
    const auto truth = by_name("truth/tests.csv", "test");
    std::map<std::string, Row> lots;
    for (const Row& row : table("kit-lots.csv")) lots[row.at("kit_lot") + row.at("commodity")] = row;
    std::map<std::string, std::string> corrected_by;
    std::vector<Row> rows = table("tests.csv");
    for (const Row& row : rows) corrected_by[row.at("supersedes")] = row.at("test");
    for (const Row& row : table("survey.csv")) rows.push_back(row);
    int below = 0, above = 0, value = 0;
    for (const Row& row : rows) {
        INFO(row.at("test"));
        const double read = number(truth.at(row.at("test")), "unrounded_mg_per_kg");
        const std::string don = row.at("don");
        if (row.count("valid") && row.at("valid") == "no") {
            CHECK(don.empty());
            continue;
        }
        if (row.at("method") == "laboratory") {
            CHECK(row.at("unit") == "ug/kg");
            CHECK(number(row, "don") == Approx(1000.0 * read).margin(0.6).epsilon(0.0));
            continue;
        }
        if (corrected_by.count(row.at("test"))) {  // the point in the wrong place
            CHECK(number(row, "don") == Approx(10.0 * read).margin(0.06).epsilon(0.0));
            continue;
        }
        const Row& lot = lots.at(row.at("kit_lot") + row.at("commodity"));
        const double dilution = row.count("extra_dilution") ? number(row, "extra_dilution") : 1.0;
        const double low = dilution * number(lot, "low_mg_per_kg"), high = dilution * number(lot, "high_mg_per_kg");
        Row bound = row;
        bound["don"] = don.substr(don.starts_with("<") || don.starts_with(">") ? 1 : 0);
        if (read < low) {
            CHECK(don.starts_with("<"));
            CHECK(number(bound, "don") == Approx(low));
            ++below;
        } else if (read > high) {
            CHECK(don.starts_with(">"));
            CHECK(number(bound, "don") == Approx(high));
            ++above;
        } else {
            CHECK(number(row, "don") == Approx(read).margin(0.0051).epsilon(0.0));
            ++value;
        }
        CHECK(row.at("time").substr(0, 10) <= lot.at("expires"));
    }
    CHECK(below > 15);
    CHECK(above >= 1);
    CHECK(value > 120);
}

TEST_CASE("one closely sampled demo field has structure and the other has none") {
    const geo::WorkSystem work(17.36, 47.42);
    struct Place {
        models::PointM at;
        double log_don;
    };
    std::map<std::string, std::vector<Place>> places;
    for (Row row : table("survey.csv")) {
        if (row.at("don")[0] == '<' || row.at("don")[0] == '>') row["don"] = row.at("don").substr(1);
        places[row.at("field")].push_back({work.from_degrees(number(row, "longitude_deg"), number(row, "latitude_deg")),
                                           std::log(number(row, "don"))});
    }
    const auto half_mean_square = [](const std::vector<Place>& in, double from_m, double to_m) {
        double sum = 0.0;
        int pairs = 0;
        for (std::size_t i = 0; i < in.size(); ++i) {
            for (std::size_t j = i + 1; j < in.size(); ++j) {
                const double away = models::distance_m(in[i].at, in[j].at);
                if (away < from_m || away > to_m) continue;
                sum += 0.5 * std::pow(in[i].log_don - in[j].log_don, 2);
                ++pairs;
            }
        }
        REQUIRE(pairs >= 15);
        return sum / pairs;
    };
    CHECK(half_mean_square(places["C02"], 0, 110) < 0.6 * half_mean_square(places["C02"], 250, 450));
    CHECK(half_mean_square(places["R04"], 0, 150) > 0.7 * half_mean_square(places["R04"], 250, 450));
}
