#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include <catch2/catch.hpp>

#include "app/drawing/cairo_painter.h"
#include "app/drawing/svg_painter.h"
#include "app/figures_of_ground.h"
#include "app/figures_of_season.h"
#include "app/stages/evidence_stage.h"
#include "app/stages/transect_stage.h"
#include "geo/store/store.h"
#include "tests/support/app/window_driver.h"

using namespace app;

namespace {

const SeasonView& demo_map_season() {
    static const SeasonView view = [] {
        const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
        Question question;
        question.season = 2026;
        question.limit = "1.0";
        question.upto = Upto::map;
        return look_at_season(store, question);
    }();
    return view;
}

models::OutlineM square_field(double west_m, double south_m, double side_m) {
    return {{{{west_m, south_m},
              {west_m + side_m, south_m},
              {west_m + side_m, south_m + side_m},
              {west_m, south_m + side_m}},
             {}}};
}

/// Two fields of 100 m, 300 m apart, and a part of 20 m inside the first.
struct ThreeFields {
    models::Field first, second, part;
    SeasonView view;
    ThreeFields() {
        first.field = "A";
        first.outline_m = square_field(0.0, 0.0, 100.0);
        second.field = "B";
        second.outline_m = square_field(400.0, 0.0, 100.0);
        part.field = "A";
        part.part = "corner";
        part.outline_m = square_field(40.0, 40.0, 20.0);
        models::Content content;
        content.median = 0.5;
        content.low90 = 0.2;
        content.high90 = 1.5;
        content.low50 = 0.4;
        content.high50 = 0.7;
        FieldView a{0, "A", &first, content, 0.1, {}, 1, 0, {}, ""};
        content.median = 2.0;
        FieldView corner{1, "A, corner", &part, content, 0.9, {}, 1, 0, {}, ""};
        FieldView b{2, "B", &second, {}, {}, {}, 0, 0, {}, "no wheat this season: barley"};
        view.fields = {a, corner, b};
    }
};

}  // namespace

TEST_CASE(
    "a line has the numbers of the fields it crosses, a gap between them, and of two that overlap the smaller's") {
    const ThreeFields three;
    const Transect along = transect_along(three.view, {{-50.0, 50.0}, {550.0, 50.0}});
    CHECK(along.length_m == 600.0);
    REQUIRE(along.stretches.size() == 4);
    const std::vector<std::tuple<std::string, double, double>> expected = {
        {"A", 50.0, 90.0}, {"A, corner", 90.0, 110.0}, {"A", 110.0, 150.0}, {"B", 450.0, 550.0}};
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(along.stretches[i].field == std::get<0>(expected[i]));
        // To a ten-thousandth of the line.
        CHECK_THAT(along.stretches[i].from_m, Catch::WithinAbs(std::get<1>(expected[i]), 0.06));
        CHECK_THAT(along.stretches[i].to_m, Catch::WithinAbs(std::get<2>(expected[i]), 0.06));
    }
    CHECK(along.stretches[0].places.at(0).median == 0.5);
    CHECK(along.stretches[0].places.at(1).high90 == 1.5);
    CHECK(along.stretches[1].places.at(0).median == 2.0);
    CHECK(along.stretches[3].places.empty());
    CHECK(along.stretches[3].note == "no wheat this season: barley");
    CHECK(transect_along(three.view, {{-50.0, 200.0}, {550.0, 200.0}}).stretches.empty());
}

TEST_CASE("in a field with a surface the line takes the cell under each place, with its own spread") {
    ThreeFields three;
    WithinField within;
    within.field = "A";
    within.supported = true;
    within.grid = models::grid_over({0.0, 0.0, 100.0, 100.0}, 10.0);
    within.median_mg_per_kg.resize(10, 10);
    within.log_sd.setConstant(10, 10, 0.3);
    for (int r = 0; r < 10; ++r)
        for (int c = 0; c < 10; ++c) within.median_mg_per_kg(r, c) = 0.1 * (c + 1);
    within.low90_mg_per_kg = within.median_mg_per_kg * std::exp(-1.6448536269514722 * 0.3);
    within.high90_mg_per_kg = within.median_mg_per_kg * std::exp(1.6448536269514722 * 0.3);
    three.view.within = {within};
    const Transect along = transect_along(three.view, {{0.0, 15.0}, {100.0, 15.0}});
    REQUIRE(along.stretches.size() == 1);
    CHECK(along.stretches[0].by_surface);
    for (const TransectPlace& place : along.stretches[0].places) {
        const int column = std::min(static_cast<int>(place.at_m / 10.0), 9);
        if (std::abs(place.at_m / 10.0 - std::round(place.at_m / 10.0)) < 1e-6) continue;  // an edge of cells
        CHECK_THAT(place.median, Catch::WithinAbs(0.1 * (column + 1), 1e-12));
        // Half of a normal law lies within 0.6745 standard deviations (any table of the normal law).
        CHECK_THAT(std::log(place.high50 / place.median), Catch::WithinAbs(0.6745 * 0.3, 1e-4));
    }
}

TEST_CASE("a line without a length or with an end that is no place is refused") {
    const ThreeFields three;
    CHECK_THROWS_WITH(transect_along(three.view, {{1.0, 2.0}, {1.0, 2.0}}),
                      Catch::Contains("both ends of the line are at one place"));
    CHECK_THROWS_WITH(transect_along(three.view, {{std::nan(""), 2.0}, {1.0, 2.0}}),
                      Catch::Contains("an end of the line is no place"));
}

TEST_CASE("pairs are made within one season or field only, counted, and what is missing is named") {
    const SeasonEvidence evidence = evidence_of_season(demo_map_season());
    // By hand: fields with a number by season, n (n - 1) / 2 pairs each.
    const auto& input = demo_map_season().contamination.input;
    std::map<int, std::set<std::size_t>> fields;
    for (const models::AssayResult& result : input.results) {
        const models::GrainSample& sample = input.samples[result.sample];
        if (sample.from != models::SampledGrain::field_season || result.reading != models::Reading::value) continue;
        const models::FieldSeason& field = input.field_seasons[sample.index];
        if (field.place_m && field.risk_logit) fields[field.season].insert(sample.index);
    }
    long long pairs = 0;
    for (const auto& [season, of] : fields) pairs += static_cast<long long>(of.size() * (of.size() - 1) / 2);
    CHECK(evidence.between.pairs == pairs);
    long long in_classes = 0;
    for (const models::VariogramClass& one : evidence.between.classes) {
        CHECK(one.pairs >= 25);  // about as many each, thirty where distances differ
        in_classes += one.pairs;
    }
    CHECK(in_classes <= pairs);
    CHECK(evidence.between.values_needed == 0);
    CHECK(evidence.between.error_variance > 0.0);
    CHECK_FALSE(evidence.between.verdict.empty());
    CHECK(evidence.within.verdict == demo_map_season().structure.reason);

    // A season without any result: what is missing, in words.
    SeasonView empty;
    const SeasonEvidence nothing = evidence_of_season(empty);
    CHECK(nothing.between.values_needed == 9);  // 9 fields make 36 pairs, 8 make 28
    const app::drawing::EvidenceFigure figure = evidence_figure_of(empty, nothing);
    CHECK(figure.between.empty ==
          "It takes 30 pairs of tested fields of one season; so far there are 0, and 9 more tested fields would "
          "give them.");
    CHECK_THAT(figure.within.empty, Catch::Contains("so far there are 0, and 9 more such tests in one field"));
    CHECK(figure.foretold.empty == "It takes 5 results of the season that are a number; there are 0: 5 more tests.");
}

TEST_CASE("each result of the season is foretold by the others, and most lie where they are foretold to") {
    const SeasonEvidence evidence = evidence_of_season(demo_map_season());
    REQUIRE(evidence.numbers >= 20);
    for (const ForetoldResult& one : evidence.foretold) {
        CHECK(one.low90 < one.median);
        CHECK(one.median < one.high90);
        CHECK_FALSE(one.sample.empty());
        CHECK_FALSE(one.grain.empty());
    }
    // Nine of ten are to lie inside; four standard errors of a share.
    const double share = static_cast<double>(evidence.inside) / evidence.numbers;
    CHECK(share > 0.9 - 4.0 * std::sqrt(0.09 / evidence.numbers));
    CHECK(evidence.typical_factor > 1.0);
}

TEST_CASE("evidence and profile are drawn by every painter, with the count of each class and each field's name") {
    const SeasonView& view = demo_map_season();
    const app::drawing::EvidenceFigure evidence = evidence_figure_of(view, evidence_of_season(view));
    const auto box = app::drawing::box_of(map_figure_of(view, app::drawing::MapShows::content));
    const double y = 0.5 * (box->y_min_m + box->y_max_m);
    const Transect along = transect_along(view, {{box->x_min_m, y}, {box->x_max_m, y}});
    const app::drawing::TransectFigure profile = transect_figure_of(view, along);
    const app::drawing::Look look = app::drawing::look_for(1000.0, 900.0);
    const std::string svg =
        app::drawing::svg_text(1000.0, 900.0, look.theme.paper, "evidence", "", [&](app::drawing::Painter& painter) {
            app::drawing::draw_evidence_figure(painter, {0.0, 0.0, 1000.0, 900.0}, evidence, look);
        });
    for (const auto& one : evidence.between.classes)
        CHECK_THAT(svg, Catch::Contains(">" + std::to_string(one.pairs) + "<"));
    CHECK_THAT(svg, Catch::Contains("Near fields alike?"));
    const std::string line =
        app::drawing::svg_text(1000.0, 360.0, look.theme.paper, "profile", "", [&](app::drawing::Painter& painter) {
            app::drawing::draw_transect_figure(painter, {0.0, 0.0, 1000.0, 360.0}, profile, look);
        });
    REQUIRE_FALSE(profile.stretches.empty());
    CHECK_THAT(line, Catch::Contains(profile.stretches.front().field));
    CHECK_THAT(line, Catch::Contains("limit 1"));
    const auto draw = [&](app::drawing::Painter& painter) {
        app::drawing::draw_evidence_figure(painter, {0.0, 0.0, 595.0, 842.0}, evidence, app::drawing::page_look(8.0));
    };
    CHECK(app::drawing::pdf_bytes({{595.0, 842.0, draw}}, "evidence").starts_with("%PDF"));
    CHECK(app::drawing::png_bytes(595, 842, look.theme.paper, draw) ==
          app::drawing::png_bytes(595, 842, look.theme.paper, draw));
}

TEST_CASE("the card of a field says its number, its chance and each step it rests on") {
    const SeasonView& view = demo_map_season();
    for (const FieldView& field : view.fields) {
        if (!field.content || field.tests == 0) continue;
        const models::Explanation says =
            view.contamination.model->explain(*view.contamination.field_season_of[field.crop]);
        const Card card = field_card(view, field, &says);
        CHECK(card.front() == code_and_name(field));
        CHECK_THAT(card.front(), Catch::StartsWith(field.name));
        CHECK_THAT(card.at(1), Catch::Contains("mg/kg, within"));
        CHECK_THAT(card.at(2), Catch::Contains("chance of lying over 1"));
        CHECK(card.size() <= 11);
        CHECK_THAT(card.back(), Catch::Contains("mg/kg"));
        const Card waiting = field_card(view, field, nullptr);
        CHECK_THAT(waiting.back(), Catch::Contains("being worked out"));
        break;
    }
}
