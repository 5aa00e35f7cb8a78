#include <catch2/catch.hpp>

#include "app/figures_of_ground.h"
#include "app/spoken_dates.h"
#include "app/stages/field_history.h"

/// Readings of one sample that cannot both be right, and how a field is named and its tests are counted.
using app::FieldReading;
using app::ReadingsApart;
using models::Reading;

namespace {

struct Read {
    std::size_t sample = 0;
    Reading reading = Reading::value;
    double don_mg_per_kg = 1.0;
};

/// One field with two samples, read so.
std::optional<ReadingsApart> apart_of(const std::vector<Read>& reads, double median_mg_per_kg = 0.23) {
    app::ContaminationView view;
    view.input.samples.resize(2);
    view.input.samples[0].sample = "G1";
    view.input.samples[1].sample = "G2";
    for (const Read& read : reads) {
        models::AssayResult result;
        result.test = "S" + std::to_string(view.input.results.size() + 1);
        result.sample = read.sample;
        result.reading = read.reading;
        result.don_mg_per_kg = read.don_mg_per_kg;
        view.input.results.push_back(result);
    }
    CHECK(app::readings_of_field(view, 0).size() == reads.size());
    CHECK(app::readings_of_field(view, 1).empty());
    CHECK_FALSE(app::readings_apart(view, 1, median_mg_per_kg));
    return app::readings_apart(view, 0, median_mg_per_kg);
}

}  // namespace

TEST_CASE("two readings of one sample that cannot both be right are found and those that can are not") {
    const auto apart = apart_of({{0, Reading::value, 1.5}, {0, Reading::below, 0.34}});
    REQUIRE(apart);
    CHECK(apart->high.test == "S1");
    CHECK(apart->low.test == "S2");
    CHECK(apart->low.sample == "G1");
    CHECK(apart->nearer_low);
    CHECK(app::readings_apart_in_words(*apart) ==
          "Tests S1 (1.5) and S2 (below 0.34 mg/kg) of one sample do not agree; the estimate lies nearer the lower "
          "one. Look for a mix-up and test again.");
    const auto high = apart_of({{0, Reading::value, 0.2}, {0, Reading::above, 4.6}}, 3.0);
    REQUIRE(high);
    CHECK(app::readings_apart_in_words(*high) ==
          "Tests S2 (above 4.6) and S1 (0.20 mg/kg) of one sample do not agree; the estimate lies nearer the higher "
          "one. Look for a mix-up and test again.");
    // Of several the two that lie furthest apart.
    const auto widest = apart_of({{0, Reading::value, 0.3}, {0, Reading::value, 2.0}, {0, Reading::value, 4.0}}, 0.5);
    REQUIRE(widest);
    CHECK(widest->low.test == "S1");
    CHECK(widest->high.test == "S3");
    // Other samples may differ as fields do; near ones agree; a bound leaves room for what lies beyond it.
    CHECK_FALSE(apart_of({{0, Reading::value, 1.5}, {1, Reading::below, 0.34}}));
    CHECK_FALSE(apart_of({{0, Reading::value, 1.5}, {0, Reading::value, 1.2}}));
    CHECK_FALSE(apart_of({{0, Reading::value, 0.2}, {0, Reading::below, 0.34}}));
    CHECK_FALSE(apart_of({{0, Reading::above, 0.2}, {0, Reading::value, 4.0}}));
    CHECK_FALSE(apart_of({{0, Reading::value, 1.5}}));
}

TEST_CASE("a field is called by its code and its name, and its tests are counted apart from those of its loads") {
    models::Field outline;
    app::FieldView field;
    field.name = "U08";
    CHECK(app::code_and_name(field) == "U08");
    field.outline = &outline;
    CHECK(app::code_and_name(field) == "U08");
    outline.name = "Sunny Corner";
    CHECK(app::code_and_name(field) == "U08, Sunny Corner");
    field.name = "U02, main";
    outline.part = "main";
    CHECK(app::code_and_name(field) == "U02, main (Sunny Corner)");
    field.name = "Sunny Corner";
    CHECK(app::code_and_name(field) == "Sunny Corner");
    CHECK(app::tests_in_words(2, 2) == "2 tests of the field, 2 of its loads");
    CHECK(app::tests_in_words(0, 3) == "no test of the field, 3 of its loads");
    CHECK(app::tests_in_words(1, 0) == "1 test");
    CHECK(app::tests_in_words(0, 0) == "no test of its own");
}

TEST_CASE("dates in a sentence are said as everywhere in the window, and other numbers stay") {
    CHECK(app::with_spoken_dates("sowing on 2025-10-13: from 2026-04-01 to 2026-07-10") ==
          "sowing on 13 Oct 2025: from 1 Apr 2026 to 10 Jul 2026");
    CHECK(app::with_spoken_dates("2025-10-13") == "13 Oct 2025");
    CHECK(app::with_spoken_dates("lot 12025-10-134, 1982-2015, 2026-02-30, 7-2025-10-13") ==
          "lot 12025-10-134, 1982-2015, 2026-02-30, 7-2025-10-13");
    CHECK(app::with_spoken_dates("").empty());
}
