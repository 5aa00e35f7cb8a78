#include "app/stages/review_stage.h"

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "app/forecast_words.h"
#include "app/stages/field_history.h"
#include "app/stages/forecast_review.h"
#include "app/workflow.h"
#include "models/disease/catalogue.h"
#include "models/error.h"
#include "tests/app/review_store.h"

using Catch::Contains;

namespace {

app::SeasonsReviewed reviewed(const tests::ReviewStore& store, const std::string& limit = "1.0") {
    app::Question question;
    question.limit = limit;
    std::vector<const models::DiseaseModel*> by;
    for (const models::DiseaseModel& model : models::disease_models()) by.push_back(&model);
    return app::review_seasons(geo::Store::open(store.store(), geo::Store::Access::read_only), question, {2021, 2023},
                               by);
}

const models::DiseaseModel& without_weather() {
    return models::find_model("cultivar-and-residue");
}

}  // namespace

TEST_CASE("a field is judged by its last scouting visit after flowering and before the cut") {
    const tests::ReviewStore store("review_visits");
    const auto review = reviewed(store);
    const app::ScoutingUsed& used = review.risks.scouting;
    CHECK(used.visits == 22);
    REQUIRE(used.found.size() == 17);
    const auto of = [&](const char* field, int season) {
        for (const app::SeverityFound& found : used.found) {
            const models::CropRecord& crop = review.side.data.crops[review.side.over.records[found.record]];
            if (crop.field == field && crop.season == season) return found;
        }
        return app::SeverityFound{};
    };
    CHECK(of("A", 2021).severity_pct == 15.0);  // not 2 of the visit before, nor 0 of the one before flowering
    CHECK(of("B", 2021).severity_pct == 4.0);   // not 50 after the load of 15 July
    CHECK(of("C", 2021).severity_pct == 22.0);  // the later one has no severity
    CHECK_FALSE(of("A", 2022).diseased);        // 9.9 %
    CHECK(of("D", 2022).diseased);              // 10 % itself
    CHECK(of("F", 2022).day == models::LocalDay{});
    std::string notes;
    for (const std::string& note : used.notes) notes += note + "\n";
    CHECK_THAT(notes, Contains("1 visit not counted: no wheat"));
    CHECK_THAT(notes, Contains("1 visit not counted: after the field was cut"));
    CHECK_THAT(notes, Contains("1 visit not counted: before flowering nothing shows"));
    CHECK_THAT(notes, Contains("1 visit not counted: no severity was written down"));
    CHECK_THAT(notes, Contains("1 visit not counted: a later one of the same field and season counts"));
    const auto events =
        std::count_if(used.found.begin(), used.found.end(), [](const auto& one) { return one.diseased; });
    CHECK(events == 8);
}

TEST_CASE("a visit to a field that is booked in parts counts for none of them") {
    const tests::ReviewStore store("review_parts");
    app::SeasonData data;
    models::CropRecord crop;
    crop.field = "P";
    crop.season = 2024;
    crop.part = "north";
    data.crops = {crop};
    data.crops_by_field["P"] = {0};
    app::RisksOverSeasons over;
    over.seasons = {2024};
    over.records = {0};
    over.flowering = {models::day_of(2024, 6, 1)};
    const models::Scouting visit{"P", models::day_of(2024, 6, 20), 50.0, 12.0, std::nullopt};
    const auto used = app::severity_found(data, over, {visit});
    CHECK(used.found.empty());
    REQUIRE(used.notes.size() == 1);
    CHECK_THAT(used.notes[0], Contains("the field is booked in parts"));
    data.crops[0].part.clear();
    CHECK(app::severity_found(data, over, {visit}).found.size() == 1);
}

TEST_CASE("models without weather rank by what the crop records say and others are told to have no number") {
    const tests::ReviewStore store("review_models");
    const auto review = reviewed(store);
    const app::ModelReview& one = review.risks.of(without_weather());
    CHECK(one.cases.happened.size() == 17);
    REQUIRE(one.rank);
    // By comparing every pair of a diseased field and another.
    double wins = 0.0, pairs = 0.0;
    for (Eigen::Index i = 0; i < 17; ++i) {
        for (Eigen::Index j = 0; j < 17; ++j) {
            if (!one.cases.happened[static_cast<std::size_t>(i)] || one.cases.happened[static_cast<std::size_t>(j)])
                continue;
            pairs += 1.0;
            wins += one.cases.predicted[i] > one.cases.predicted[j]    ? 1.0
                    : one.cases.predicted[i] == one.cases.predicted[j] ? 0.5
                                                                       : 0.0;
        }
    }
    CHECK(pairs == 72.0);
    CHECK(one.rank->auc == Approx(wins / pairs));
    CHECK(one.auc_over_seasons.low95);
    REQUIRE(one.brier);
    REQUIRE(one.local);
    CHECK(one.local->without.size() == 3);
    CHECK(review.risks.of(models::default_model()).cases.happened.empty());
    CHECK(review.risks.models.front().model == &without_weather());
}

TEST_CASE("a field is over by its own results where at least half of those that decide break the limit") {
    const tests::ReviewStore store("review_don");
    const auto review = reviewed(store);
    const auto& crops = review.side.data.crops;
    std::string found;
    for (const app::DonFound& one : review.risks.don) {
        const models::CropRecord& crop = crops[review.side.over.records[one.record]];
        found += fmt::format("{}{}{} ", crop.field, crop.season % 100, one.over ? "+" : "-");
    }
    // E 2021 is below 2, which tells nothing of 1; D 2021 is void; A 2022 has one over and one under; the load of A and
    // D together is of neither.
    std::string sorted;
    for (const char* name : {"A21+ ", "B21- ", "C21+ ", "A22+ ", "B22- ", "C22+ ", "D23+ ", "F23- "}) {
        CHECK_THAT(found, Contains(name));
        sorted += name;
    }
    CHECK(found.size() == sorted.size());
    std::string notes;
    for (const std::string& note : review.risks.don_notes) notes += note + "\n";
    CHECK_THAT(notes, Contains("1 field left out: no result of it tells which side of the limit it lies on"));
    CHECK_THAT(notes, Contains("1 result of mixed, bought or other grain not counted"));
    CHECK_THAT(notes, Contains("1 of 8 tested fields were tested because of their risk or their looks"));
}

TEST_CASE("a forecast is held against the first result that came after it") {
    const tests::ReviewStore store("review_forecasts");
    store.keep_season_2022();
    const auto review = reviewed(store);
    const app::ForecastReview& forecasts = review.forecasts;
    CHECK(forecasts.kept == 7);
    CHECK(forecasts.followed == 3);
    const app::ForecastClass& blind = forecasts.classes[0];
    REQUIRE(blind.checks.size() == 3);
    CHECK(blind.checks[0].forecast.field == "A");
    CHECK(*blind.checks[0].forecast.exceedance == 0.30);  // of 5 July, the last before the result of 6 July
    CHECK(blind.checks[0].result.test == "A2");
    CHECK(*blind.checks[0].over);
    CHECK_FALSE(*blind.checks[0].inside);  // 1.25 beside 0.3 to 1.2
    CHECK(*blind.checks[0].inside_with_error);
    CHECK(blind.checks[1].reading == models::Reading::below);
    CHECK_FALSE(*blind.checks[1].over);
    CHECK(*blind.checks[1].inside);  // below 0.2 leaves 0.15 to 0.2
    CHECK(blind.checks[2].grain == "load LC");
    CHECK(*blind.checks[2].over);  // above 2
    // (0.3 - 1)^2, 0.1^2 and (0.7 - 1)^2 by hand.
    CHECK(blind.brier->brier == Approx((0.49 + 0.01 + 0.09) / 3.0));
    REQUIRE(blind.seasons.size() == 1);
    CHECK(blind.seasons[0].inside == 2);
    CHECK(blind.seasons[0].intervals == 3);
    CHECK_FALSE(blind.skill);
    CHECK_THAT(blind.skill_over_seasons.not_told, Contains("from 1 season nothing can be told of other seasons"));
    const app::ForecastClass& knowing = forecasts.classes[1];
    REQUIRE(knowing.checks.size() == 1);
    CHECK(*knowing.checks[0].forecast.exceedance == 0.60);  // the one of 20 July has nothing after it
    CHECK(knowing.checks[0].result.test == "A3");
    CHECK(knowing.brier->brier == Approx(0.36));

    // A reading with an error of its own is over more often than a content of 0.6 is.
    const double s = std::log(1.2 / 0.3) / 3.2897072539;
    const double exact = 0.5 * std::erfc(-std::log(0.6) / (s * std::sqrt(2.0)));
    CHECK(*blind.checks[0].chance_read_over > exact);
    CHECK(*blind.checks[0].chance_read_over < 0.3);

    // In whole fields, by hand: 0.3 came out over, 0.1 within, 0.7 over; then 0.6 within.
    const auto in_short = app::forecasts_in_short(forecasts);
    REQUIRE(in_short.size() == 2);
    CHECK(in_short[0].fields == 3);
    CHECK(in_short[0].on_foretold_side == 2);
    CHECK(in_short[0].over == 2);
    CHECK(in_short[0].foretold_over == Approx(1.1));
    CHECK(in_short[0].inside == 3);
    CHECK(in_short[0].groups.empty());  // three fields make no groups
    CHECK(in_short[1].own_results_known);
    CHECK(in_short[1].on_foretold_side == 0);
    CHECK(
        app::forecasts_in_words(forecasts).at(0) ==
        "No better than calling every field over the limit: of 3 fields foretold before a first result of theirs, 2 "
        "came out on the side that was foretold, and 2 are over it. The chances add up to 1.1 over the limit; 2 were. "
        "3 of 3 results lay where a reading was foretold with a chance of 90 %. So few tell little.");
    // It comes from the numbers: where more fields are foretold rightly than one answer for all would be, it is better.
    app::ForecastReview told = forecasts;
    app::ForecastClass& before = told.classes[0];
    for (Eigen::Index i = 0; i < before.cases.predicted.size(); ++i)
        before.cases.predicted[i] = before.cases.happened[static_cast<std::size_t>(i)] ? 0.9 : 0.1;
    CHECK_THAT(app::forecasts_in_words(told).at(0),
               Catch::StartsWith("Better than calling every field over the limit: of 3 fields foretold before a first "
                                 "result of theirs, 3 came out on the side that was foretold, and 2 are over it."));
    before.cases.happened.assign(before.cases.happened.size(), false);
    for (Eigen::Index i = 0; i < before.cases.predicted.size(); ++i) before.cases.predicted[i] = i == 0 ? 0.9 : 0.1;
    CHECK_THAT(app::forecasts_in_words(told).at(0),
               Catch::StartsWith("No better than calling every field within the limit: of 3 fields foretold before a "
                                 "first result of theirs, 2 came out on the side that was foretold, and 3 are within "
                                 "it."));
    CHECK_THAT(app::forecasts_in_words(reviewed(store, "2").forecasts).at(0), Contains("7 of other limits are"));

    CHECK(reviewed(store, "2").forecasts.kept == 0);
    CHECK(reviewed(store, "2").forecasts.of_other_limits == 7);
    const auto by_forecasts = reviewed(store, "");
    CHECK(by_forecasts.limit_of_forecasts);
    CHECK(by_forecasts.limit->limit_mg_per_kg == 1.0);
}

TEST_CASE("a forecast made after the results of a field is held against none of them") {
    const tests::ReviewStore store("review_late");
    store.keep("2023-08-01T08:00:00Z", {tests::ReviewStore::forecast(2022, "B", 0.1, 0.4, 0.15, 1.0, 0)});
    const auto review = reviewed(store);
    CHECK(review.forecasts.kept == 1);
    CHECK(review.forecasts.followed == 0);
    CHECK_FALSE(review.forecasts.classes[0].brier);
}

TEST_CASE("a forecast as of a day is held against the results of later days whenever it was made") {
    const tests::ReviewStore store("review_as_of");
    using tests::ReviewStore;
    const auto of_a = ReviewStore::forecast(2022, "A", 0.2, 0.5, 0.25, 1.0, 0);
    store.keep("2023-08-01T08:00:00Z", {ReviewStore::afterwards(of_a, models::day_of(2022, 7, 5)),
                                        ReviewStore::afterwards(of_a, models::day_of(2022, 7, 6))});
    auto review = reviewed(store);
    CHECK(review.forecasts.kept == 2);
    CHECK(review.forecasts.afterwards == 2);
    CHECK(review.forecasts.classes[0].checks.empty());
    REQUIRE(review.forecasts.classes[2].checks.size() == 1);
    // The reading of 6 July is known at the end of that day: the next is of the 9th.
    CHECK(*review.forecasts.classes[2].checks[0].forecast.as_of == models::day_of(2022, 7, 6));
    CHECK(review.forecasts.classes[2].checks[0].result.test == "A3");
    // The same once more says nothing new; another day, another basis or another limit does.
    {
        geo::Store opened = geo::Store::open(store.store());
        CHECK(geo::keep_forecasts(opened, {ReviewStore::afterwards(of_a, models::day_of(2022, 7, 5))}) == 0);
        auto dry = ReviewStore::afterwards(of_a, models::day_of(2022, 7, 5));
        dry.basis = models::Basis::dry;
        CHECK(geo::keep_forecasts(opened, {dry}) == 1);
    }
    review = reviewed(store);
    CHECK(review.forecasts.kept == 2);
    CHECK(review.forecasts.of_other_limits == 1);
}

TEST_CASE("without a limit that of most forecasts counts by its name and basis") {
    const tests::ReviewStore store("review_limit_of_most");
    store.import("limits", "limits.csv",
                 "limit_id,jurisdiction,commodity,purpose,stage,limit_mg_per_kg,basis,from,kind,mixing,source\n"
                 "mill-dry,contract,wheat,food,unprocessed,1.5,dry,2022-06-01,contract,forbidden,the mill\n");
    auto one = tests::ReviewStore::forecast(2022, "A", 0.2, 0.5, 0.25, 1.0, 0);
    one.limit_mg_per_kg = 1.5;
    one.limit_id = "mill-dry";
    one.basis = models::Basis::dry;
    store.keep("2022-07-01T08:00:00Z", {one});
    const auto named = reviewed(store, "");
    CHECK(named.limit_of_forecasts);
    CHECK(named.limit->limit_id == "mill-dry");
    CHECK(named.limit->basis == models::Basis::dry);
    CHECK(named.forecasts.kept == 1);
    CHECK(reviewed(store, "1.5").forecasts.kept == 0);  // as is, which is another thing
}

TEST_CASE("what the strips took is counted and priced by the costs table alone") {
    const tests::ReviewStore store("review_strips");
    store.keep_season_2022();
    auto of = reviewed(store).strips;
    REQUIRE(of.size() == 3);
    CHECK(of[0].strips == 4);  // the void one was used up as well
    CHECK(of[0].laboratory == 1);
    CHECK(of[0].voids == 1);
    CHECK(of[0].samples == 5);
    CHECK_FALSE(of[0].money);
    // A went from 3 % to 40 %, beyond the load cap of 5 %; the others have one forecast.
    CHECK(of[1].fields == 1);
    CHECK(of[1].to_beyond == 1);
    CHECK(of[1].to_within == 0);
    CHECK(of[1].to_beyond_t > 50.0);  // some 12 ha of 6 t
    CHECK(of[1].to_beyond_t < 90.0);
    store.import("costs", "costs.csv", "name,value\ntest,12\nsample,5\n");
    of = reviewed(store).strips;
    CHECK(*of[0].money == Approx(4 * 12 + 5 * 5));
}

TEST_CASE("the years of a field stand side by side by all that is known now") {
    const tests::ReviewStore store("review_history");
    const geo::Store opened = geo::Store::open(store.store(), geo::Store::Access::read_only);
    app::Question question;
    question.season = 2023;
    question.limit = "1.0";
    question.upto = app::Upto::contamination;
    question.risk_model = "cultivar-and-residue";
    const auto view = app::look_at_season(opened, question);
    const auto history = app::history_of_field(view, opened.scouting(), "A", 2021);
    REQUIRE(history.years.size() == 3);
    CHECK(history.grower == "Orl");
    CHECK(*history.years[0].severity_pct == 15.0);
    CHECK(history.years[0].tests == 1);
    CHECK(history.years[1].tests == 2);
    CHECK(history.years[1].load_tests == 1);  // of the load that holds A and D
    CHECK(history.years[2].tests == 0);
    CHECK(history.years[0].content->median > history.years[1].content->median);
    CHECK(*history.years[0].exceedance > 0.9);
    CHECK(*history.years[2].risk > *history.years[1].risk);  // after maize
    CHECK(app::history_of_field(view, {}, "F", 2022).years.size() == 2);
    CHECK_FALSE(app::history_of_field(view, {}, "F", 2022).years[0].content);  // barley
    CHECK_THROWS_WITH(app::history_of_field(view, {}, "AA", 2021), Contains("no crop record is of a field \"AA\""));
    CHECK_THROWS_WITH(app::history_of_field(view, {}, "A", 2024), Contains("field A has no crop record in 2024-2023"));
}
