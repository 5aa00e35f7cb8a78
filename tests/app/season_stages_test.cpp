#include <algorithm>
#include <cmath>
#include <cstring>
#include <filesystem>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/workflow.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/decision/limit_rule.h"
#include "models/disease/catalogue.h"
#include "tests/support/app/window_driver.h"

namespace {

namespace fs = std::filesystem;
using app::SeasonView;

/// Bit for bit; what is not known in one is not known in the other.
bool same_bits(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b) {
    return a.rows() == b.rows() && a.cols() == b.cols() &&
           (a.size() == 0 || std::memcmp(a.data(), b.data(), sizeof(double) * static_cast<std::size_t>(a.size())) == 0);
}

void check_same_answer(const SeasonView& a, const SeasonView& b) {
    REQUIRE(a.fields.size() == b.fields.size());
    for (std::size_t f = 0; f < a.fields.size(); ++f) {
        INFO(a.fields[f].name);
        CHECK(a.fields[f].name == b.fields[f].name);
        REQUIRE(a.fields[f].content.has_value() == b.fields[f].content.has_value());
        if (!a.fields[f].content) continue;
        CHECK(a.fields[f].content->median == b.fields[f].content->median);
        CHECK(a.fields[f].content->low90 == b.fields[f].content->low90);
        CHECK(a.fields[f].content->high90 == b.fields[f].content->high90);
        CHECK(a.fields[f].exceedance == b.fields[f].exceedance);
        CHECK(a.fields[f].outline ==
              app::outline_of(a.data, a.data.crops[a.fields[f].crop].field, a.data.crops[a.fields[f].crop].part));
    }
    REQUIRE(a.order.has_value() == b.order.has_value());
    if (a.order) {
        REQUIRE(a.order->fields.size() == b.order->fields.size());
        for (std::size_t r = 0; r < a.order->fields.size(); ++r) {
            CHECK(a.order->fields[r].field == b.order->fields[r].field);
            CHECK(a.order->fields[r].expected_gain == b.order->fields[r].expected_gain);
            CHECK(a.order->fields[r].why == b.order->fields[r].why);
        }
    }
    REQUIRE(a.within.size() == b.within.size());
    for (std::size_t w = 0; w < a.within.size(); ++w) {
        CHECK(same_bits(a.within[w].exceedance, b.within[w].exceedance));
        CHECK(same_bits(a.within[w].median_mg_per_kg, b.within[w].median_mg_per_kg));
    }
    REQUIRE(a.bins.has_value() == b.bins.has_value());
    if (a.bins) {
        CHECK(same_bits(a.bins->draws.mg_per_kg, b.bins->draws.mg_per_kg));
        REQUIRE(a.bins->plan.assignments.size() == b.bins->plan.assignments.size());
        for (std::size_t i = 0; i < a.bins->plan.assignments.size(); ++i) {
            CHECK(a.bins->plan.assignments[i].bin == b.bins->plan.assignments[i].bin);
            CHECK(a.bins->plan.assignments[i].reason == b.bins->plan.assignments[i].reason);
        }
    }
}

/// A pit with a food bin under 1.0 mg/kg (by eu-limit, in force from 2026 on) and a hold bin, and loads of 10 t each.
app::SeasonData pit_with_loads() {
    app::SeasonData data;
    models::Limit limit;
    limit.limit_id = "eu-limit";
    limit.limit_mg_per_kg = 1.0;
    limit.from = models::day_of(2026, 1, 1);
    data.limits = {limit};
    data.bins.resize(2);
    data.bins[0].bin = "S";
    data.bins[0].capacity_t = 25.0;
    data.bins[0].limit_id = "eu-limit";
    data.bins[1].bin = "H";
    data.bins[1].capacity_t = 15.0;
    data.bins[1].purpose = models::Purpose::hold;
    for (const char* name : {"L1", "L2", "L3", "L4"}) {
        models::Load load;
        load.load = name;
        load.net_t = 10.0;
        data.load_by_name[load.load] = data.loads.size();
        data.loads.push_back(load);
    }
    return data;
}

models::Stamp noon_of_july(int day) {
    return *models::parse_stamp("2026-07-" + std::to_string(day) + "T12:00:00+02:00");
}

void test_load(app::SeasonData& data, const std::string& load, models::Reading reading, double don) {
    models::Sample sample;
    sample.sample = "G-" + load;
    sample.load = load;
    sample.stage = models::Stage::truck;
    data.samples.push_back(sample);
    models::Test test;
    test.test = "T-" + load;
    test.sample = sample.sample;
    test.reading = reading;
    test.don_mg_per_kg = don;
    test.time = noon_of_july(10);
    data.tests.push_back(test);
}

void record_move(app::SeasonData& data, const std::string& name, const std::string& from, const std::string& to) {
    models::Move one;
    one.move = name;
    one.from = from;
    one.to = to;
    one.mass_t = 10.0;
    one.time = noon_of_july(11 + static_cast<int>(data.moves.size()));
    data.moves.push_back(one);
}

}  // namespace

TEST_CASE("another limit keeps the fit and gives the same bits as a question asked afresh") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    app::SeasonMemory memory;
    app::Question question;
    question.season = 2026;
    question.limit = "1.0";
    const SeasonView first = app::look_at_season(store, question, {}, memory);
    question.limit = "0.75";
    const SeasonView kept = app::look_at_season(store, question, {}, memory);
    CHECK(memory.data.made() == 1);
    CHECK(memory.risks.made() == 1);
    CHECK(memory.fits.made() == 1);
    CHECK(memory.within.made() == 1);
    CHECK(memory.bins.made() == 1);
    check_same_answer(kept, app::look_at_season(store, question));
    // The limit did change something.
    double before = 0.0, after = 0.0;
    for (const app::FieldView& field : first.fields) before += field.exceedance.value_or(0.0);
    for (const app::FieldView& field : kept.fields) after += field.exceedance.value_or(0.0);
    CHECK(after > before + 1.0);

    // What is counted adds up with the table's columns and with the store.
    const app::SeasonCount count = app::count_of(kept);
    int tests = 0, of_season = 0;
    for (const app::FieldView& field : kept.fields) tests += field.tests;
    for (const models::Test& test : kept.data.tests) of_season += app::season_of_test(kept.data, test) == 2026;
    CHECK(count.field_results == tests);
    CHECK(count.field_results + count.load_results + count.bin_probes + count.results_left_out == of_season);
    CHECK(count.bin_probes > 0);
    CHECK(count.fields + count.fields_without == static_cast<int>(kept.fields.size()));
    CHECK_THAT(app::in_words(count), Catch::Contains(std::to_string(tests) + " results of field samples"));

    // A load's reason is one line; the whole of it is longer.
    for (const models::Assignment& load : kept.bins->plan.assignments) {
        CHECK(load.in_short.size() < 90);
        CHECK(load.in_short.size() < load.reason.size());
    }
    for (const models::UnplacedGrain& load : kept.bins->plan.unplaced) CHECK(load.in_short.size() < 90);
}

TEST_CASE("what was done in a field counts once: in the disease risk that holds it or by its published ratio") {
    app::SeasonData data;
    data.crops.resize(2);
    for (std::size_t c = 0; c < 2; ++c) {
        data.crops[c].field = c == 0 ? "Kept" : "Reference";
        data.crops[c].season = 2026;
        data.crops[c].resistance = models::Resistance::susceptible;
        data.crops[c].previous_crop = "oilseed rape";
        data.crops[c].tillage = "reduced";
        data.crops[c].spray_active = false;
        data.crops_by_field[data.crops[c].field].push_back(c);
    }
    data.crops[0].previous_crop = "maize";
    data.crops[0].tillage = "plough";
    data.crops[0].spray_active = true;
    const auto counted_with = [&](const models::DiseaseModel& model) {
        std::vector<app::FieldRisk> risks(2);
        for (std::size_t c = 0; c < 2; ++c) {
            risks[c].crop = c;
            risks[c].risk.model = model.name;
            risks[c].risk.value = 0.3;
            risks[c].risk.logit = -0.85;
        }
        const app::ContaminationView view = app::contamination_of_season(data, risks, {.season = 2026});
        REQUIRE(view.input.field_seasons.size() == 2);
        CHECK(view.input.field_seasons[1].ratios.empty());
        std::vector<std::string> counted;
        for (const std::size_t r : view.input.field_seasons[0].ratios)
            counted.push_back(view.input.ratios[r].what.substr(0, view.input.ratios[r].what.find(" (")));
        return counted;
    };
    const std::string spray = "sprayed against head blight around flowering";
    CHECK(models::default_model().uses_agronomy);
    CHECK(counted_with(models::default_model()) == std::vector<std::string>{spray});
    const auto& all = models::disease_models(true);
    const auto weather_alone = std::find_if(all.begin(), all.end(), [](const models::DiseaseModel& model) {
        return !model.uses_agronomy && model.kind == models::RiskKind::probability;
    });
    REQUIRE(weather_alone != all.end());
    CHECK(counted_with(*weather_alone) == std::vector<std::string>{"after maize", "ploughed", spray});
}

TEST_CASE("advice for one load is its part of the plan for all that wait") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    app::SeasonMemory memory;
    app::Question question;
    question.season = 2026;
    question.upto = app::Upto::bins;
    const SeasonView all = app::look_at_season(store, question, {}, memory);
    const auto& assignments = all.bins->plan.assignments;
    const auto& unplaced = all.bins->plan.unplaced;
    REQUIRE(assignments.size() > 2);
    REQUIRE(unplaced.size() > 2);
    question.next_load = assignments.back().name;
    const SeasonView placed = app::look_at_season(store, question, {}, memory);
    REQUIRE(placed.bins->plan.assignments.size() == 1);
    CHECK(placed.bins->plan.assignments[0].bin == assignments.back().bin);
    CHECK(placed.bins->plan.unplaced.empty());
    question.next_load = unplaced.front().name;
    const SeasonView left = app::look_at_season(store, question, {}, memory);
    CHECK(left.bins->plan.assignments.empty());
    REQUIRE(left.bins->plan.unplaced.size() == 1);
    CHECK(left.bins->plan.unplaced[0].reason == unplaced.front().reason);
    CHECK(memory.fits.made() == 1);
}

TEST_CASE("a record that is added to the store is seen in the next answer") {
    const fs::path folder = fs::temp_directory_path() / ("season_stages_" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    fs::copy_file(tests::demo_store(), folder / "s.lodicule");
    fs::permissions(folder / "s.lodicule", fs::perms::owner_write, fs::perm_options::add);
    app::SeasonMemory memory;
    app::Question question;
    question.season = 2024;
    question.upto = app::Upto::contamination;
    {
        geo::Store store = geo::Store::open(folder / "s.lodicule");
        const SeasonView before = app::look_at_season(store, question, {}, memory);
        app::look_at_season(store, question, {}, memory);
        CHECK(memory.fits.made() == 1);
        std::string field;
        for (const app::FieldView& row : before.fields) {
            if (row.content && row.content->tests == 0 && row.name.find(',') == std::string::npos) field = row.name;
        }
        REQUIRE_FALSE(field.empty());
        geo::add_row(store, "samples",
                     {{"sample", "G-new"}, {"stage", "standing"}, {"kind", "composite"}, {"field", field}}, {});
        geo::add_row(store, "tests",
                     {{"test", "T-new"},
                      {"sample", "G-new"},
                      {"time", "2024-07-20T09:30:00+02:00"},
                      {"don", "4.5"},
                      {"unit", "mg/kg"}},
                     {});
        const SeasonView after = app::look_at_season(store, question, {}, memory);
        CHECK(memory.fits.made() == 2);
        for (std::size_t f = 0; f < after.fields.size(); ++f) {
            if (after.fields[f].name != field) continue;
            CHECK(after.fields[f].tests == 1);
            CHECK(after.fields[f].content->median > 1.2 * before.fields[f].content->median);
        }
    }
    fs::remove_all(folder);
}

TEST_CASE("a recorded move needs no new fit and a result does") {
    const fs::path folder = fs::temp_directory_path() / ("season_moves_" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    fs::copy_file(tests::demo_store(), folder / "s.lodicule");
    fs::permissions(folder / "s.lodicule", fs::perms::owner_write, fs::perm_options::add);
    app::SeasonMemory memory;
    app::Question question;
    question.season = 2026;
    question.upto = app::Upto::bins;
    {
        geo::Store store = geo::Store::open(folder / "s.lodicule");
        const SeasonView before = app::look_at_season(store, question, {}, memory);
        const std::string load = before.bins->waiting.front();
        geo::add_row(
            store, "moves",
            {{"move", "M-new"}, {"time", "2026-07-16T18:00:00+02:00"}, {"from", load}, {"to", "H1"}, {"mass_t", "5"}});
        const SeasonView after = app::look_at_season(store, question, {}, memory);
        CHECK(after.bins->waiting.size() + 1 == before.bins->waiting.size());
        CHECK(&after.contamination.model->learnt() == &before.contamination.model->learnt());
        check_same_answer(after, app::look_at_season(store, question));
        const auto standing = std::find_if(before.data.samples.begin(), before.data.samples.end(), [](const auto& one) {
            return one.stage == models::Stage::standing && one.parent.empty() && one.taken_time &&
                   models::year_of(one.taken_time->local_day()) == 2026;
        });
        REQUIRE(standing != before.data.samples.end());
        geo::add_row(store, "tests",
                     {{"test", "T-new"},
                      {"sample", standing->sample},
                      {"time", "2026-07-16T18:30:00+02:00"},
                      {"don", "1.5"},
                      {"unit", "mg/kg"}});
        const SeasonView tested = app::look_at_season(store, question, {}, memory);
        CHECK(&tested.contamination.model->learnt() != &after.contamination.model->learnt());
    }
    fs::remove_all(folder);
}

TEST_CASE("who records a move learns what is wrong with it and nothing is refused") {
    app::SeasonData data = pit_with_loads();
    test_load(data, "L1", models::Reading::value, 0.6);
    test_load(data, "L2", models::Reading::value, 1.2);
    test_load(data, "L4", models::Reading::below, 2.5);
    record_move(data, "M1", "L1", "S");
    CHECK(app::warnings_of_moves(data, {"M1"}).empty());
    record_move(data, "M2", "L2", "S");
    CHECK(app::warnings_of_moves(data, {"M2"}) ==
          std::vector<std::string>{
              "load L2 (10.0 t) lies in bin S uncleared: its test T-L2 is over (over 1.0 mg/kg breaks the limit)"});
    record_move(data, "M3", "L3", "S");
    CHECK(app::warnings_of_moves(data, {"M3"}) ==
          std::vector<std::string>{"bin S holds 30.0 t and takes 25.0 t: 5.0 t more than its capacity",
                                   "load L3 (10.0 t) lies in bin S: it has no result of its own"});
    // Into a bin without a limit anything may go.
    record_move(data, "M4", "L4", "H");
    CHECK(app::warnings_of_moves(data, {"M4"}).empty());
    // From there into the food bin: a result that cannot tell clears nothing.
    record_move(data, "M5", "H", "S");
    const auto turned = app::warnings_of_moves(data, {"M5"});
    // Of the loads that were there before it nothing is said again.
    REQUIRE(turned.size() == 2);
    CHECK(turned[0] == "bin S holds 40.0 t and takes 25.0 t: 15.0 t more than its capacity");
    CHECK(turned[1] == "load L4 (10.0 t) lies in bin S: its test T-L4 cannot tell whether it is over");

    const app::GrainNow now = app::grain_now(data);
    REQUIRE(now.uncleared.size() == 3);
    CHECK(now.uncleared[0].load == "L2");
    CHECK(now.uncleared[0].why == app::UnclearedLoad::Why::over);
    CHECK(now.uncleared[1].why == app::UnclearedLoad::Why::no_result);
    CHECK(now.uncleared[2].why == app::UnclearedLoad::Why::cannot_decide);
    REQUIRE(now.overfull.size() == 1);
    CHECK(now.overfull[0].bin == "S");
    // A limit that was not in force on the day says nothing.
    data.limits[0].from = models::day_of(2027, 1, 1);
    CHECK(app::grain_now(data).uncleared.empty());
}

TEST_CASE("weather from far away is named and from too far away it is none") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    app::SeasonData data = app::read_season_data(store);
    const auto moved_east = [&](double km) {
        app::SeasonData other = data;
        for (models::Station& station : other.stations) station.place_m.x_m += 1000.0 * km;
        return app::risks_of_season(store, other, 2026, {});
    };
    const auto says = [](const std::vector<std::string>& sentences, const std::string& words) {
        return std::any_of(sentences.begin(), sentences.end(),
                           [&](const std::string& one) { return one.find(words) != std::string::npos; });
    };
    int valued = 0, named = 0;
    for (const app::FieldRisk& risk : moved_east(60.0)) {
        if (!risk.risk.value) continue;
        ++valued;
        named += says(risk.risk.notes, "weather from ") && says(risk.risk.notes, " km away");
    }
    CHECK(valued > 20);
    CHECK(named == valued);
    int told = 0;
    for (const app::FieldRisk& risk : moved_east(6300.0)) {
        CHECK_FALSE(risk.risk.value);
        told += says(risk.risk.missing, "km away, and weather from more than 100 km away is none of this field's");
    }
    CHECK(told > 20);
    for (const app::FieldRisk& risk : moved_east(0.0)) CHECK_FALSE(says(risk.risk.notes, "weather from "));
}

TEST_CASE("grain that does not belong into its bin by tag or commodity is told") {
    app::SeasonData data = pit_with_loads();
    data.limits[0].commodity = "durum";
    data.bins[0].keep_apart = "durum";
    data.bins[0].capacity_t = 100.0;
    data.loads[0].commodity = models::Crop::wheat;
    data.loads[1].commodity = models::Crop::durum;  // says so by its commodity
    data.loads[2].commodity = models::Crop::durum;
    data.loads[2].keep_apart = "organic";
    data.loads[3].commodity = models::Crop::wheat;
    for (const char* load : {"L1", "L2", "L3", "L4"}) test_load(data, load, models::Reading::value, 0.4);
    record_move(data, "M1", "L1", "S");
    CHECK(app::warnings_of_moves(data, {"M1"}) ==
          std::vector<std::string>{"load L1 (10.0 t) does not belong into bin S: bin S keeps durum apart, and it is "
                                   "wheat without a tag"});
    record_move(data, "M2", "L2", "H");
    CHECK(app::warnings_of_moves(data, {"M2"}).empty());
    record_move(data, "M3", "L4", "H");
    CHECK(
        app::warnings_of_moves(data, {"M3"})[1] ==
        "load L4 (10.0 t) does not belong into bin H: it is wheat without a tag, and load L2 there is durum without a "
        "tag");
    record_move(data, "M4", "L3", "S");
    const app::GrainNow now = app::grain_now(data);
    REQUIRE(now.misplaced.size() == 3);
    CHECK(now.misplaced[0].load == "L1");
    CHECK(now.misplaced[1].reason == "bin S keeps durum apart, and it is durum with the tag organic");
    CHECK(now.misplaced[2].load == "L4");
    // Without a tag of the bin its limit still speaks of durum only.
    data.bins[0].keep_apart.clear();
    CHECK(app::grain_now(data).misplaced[0].reason == "the limit of bin S is for durum, and it is wheat");
    // "cereals" may hold both, so only the grain that it meets tells.
    data.limits[0].commodity = "cereals";
    CHECK_THAT(app::grain_now(data).misplaced[0].reason, Catch::StartsWith("it is durum"));
}

TEST_CASE("a recorded move that cannot have happened is named and everything else goes on") {
    app::SeasonData data = pit_with_loads();
    record_move(data, "M1", "L1", "S");
    record_move(data, "M2", "L1", "H");
    record_move(data, "M3", "L2", "S");
    const app::GrainNow now = app::grain_now(data);
    REQUIRE(now.impossible.size() == 1);
    CHECK(app::in_words(now.impossible[0]) ==
          "move M2 cannot have happened and is left out: 10.0 t are to leave load L1, which has 0.0 t left of its 10.0 "
          "t (10.0 t of it lie in bin S); correct the mass moved or the weight of the load, or withdraw it: lodicule "
          "add STORE moves move=M2 --withdraw REASON");
    CHECK(now.uncleared.size() == 2);
    // The next move is not told of the one before.
    CHECK_THAT(app::warnings_of_moves(data, {"M3"}).at(0), Catch::Contains("load L2"));
    CHECK(app::warnings_of_moves(data, {"M2"}).size() == 1);
}

TEST_CASE("a load counts at its own moisture and only else at the median") {
    app::SeasonData data = pit_with_loads();
    data.loads[0].moisture_pct = 13.0;
    data.loads[1].moisture_pct = 15.0;
    data.loads[2].moisture_pct = 18.0;
    const app::Moistures moistures(data);
    CHECK(moistures.of("L1").fraction == Approx(0.13));
    CHECK(moistures.of("L1").measured);
    CHECK(moistures.of("L4").fraction == Approx(0.15));
    CHECK_FALSE(moistures.of("L4").measured);
    CHECK(moistures.of("opening of S").fraction == Approx(0.15));
    // 0.85 as is: on dry matter 0.977 at 13 % and 1.037 at 18 %.
    data.limits[0].basis = models::Basis::dry;
    test_load(data, "L1", models::Reading::value, 0.85);
    test_load(data, "L3", models::Reading::value, 0.85);
    record_move(data, "M1", "L1", "S");
    record_move(data, "M2", "L3", "S");
    const app::GrainNow now = app::grain_now(data);
    REQUIRE(now.uncleared.size() == 1);
    CHECK(now.uncleared[0].load == "L3");
}

TEST_CASE("what was split from a sample is of its grain and wetness and has its season") {
    app::SeasonData data = pit_with_loads();
    data.loads[2].moisture_pct = 15.5;
    data.loads[3].parts = {{"Fen", "north", "", 1.0}};
    const auto sample = [](const char* name, const char* parent, const char* load) {
        models::Sample one;
        one.sample = name;
        one.parent = parent;
        one.load = load;
        return one;
    };
    data.samples = {sample("A", "", "L3"), sample("A1", "A", ""),  sample("A2", "A1", ""),
                    sample("B", "", "L4"), sample("C", "B", "L3"), sample("D", "", "")};
    data.samples[3].moisture_pct = 13.0;
    data.samples[5].field = "Fen";
    CHECK(app::grain_of_sample(data, 2).load == "L3");
    CHECK(app::grain_of_sample(data, 2).taken == 0);
    CHECK(app::grain_of_sample(data, 4).load == "L4");  // what was taken decides
    CHECK(app::grain_of_sample(data, 5).field == "Fen");
    CHECK(app::with_moisture(data, 2).moisture_pct == 15.5);  // of its load
    CHECK(app::with_moisture(data, 4).moisture_pct == 13.0);  // of the sample it was split from
    CHECK_FALSE(app::with_moisture(data, 5).moisture_pct);
    // Wheat of the south, cut in December: a test of its load in January is of the season before.
    models::CropRecord crop;
    crop.field = "Fen";
    crop.season = 2025;
    crop.flowering_date = models::day_of(2025, 10, 20);
    data.crops = {crop};
    data.crops_by_field["Fen"] = {0};
    models::Test test;
    test.sample = "C";
    test.time = *models::parse_stamp("2026-01-04T12:00:00+02:00");
    CHECK(app::season_of_test(data, test) == 2025);
    test.sample = "A1";
    CHECK(app::season_of_test(data, test) == 2026);  // bought grain: the year of its stamp
}

TEST_CASE("splits of one sample are one sample of the contamination model with the smaller mass") {
    app::SeasonData data;
    models::CropRecord crop;
    crop.field = "Fen";
    crop.season = 2026;
    crop.crop = models::Crop::wheat;
    data.crops = {crop};
    data.crops_by_field["Fen"] = {0};
    data.seasons = {2026};
    for (const char* name : {"A", "A1", "A2"}) {
        models::Sample one;
        one.sample = name;
        one.kind = models::SampleKind::composite;
        one.stage = models::Stage::standing;
        if (*(name + 1) == '\0') {
            one.field = "Fen";
            one.mass_g = 5000.0;
        } else {
            one.parent = "A";
            one.mass_g = 500.0;
        }
        data.samples.push_back(one);
    }
    for (const char* name : {"A1", "A2"}) {
        models::Test test;
        test.test = std::string("T") + name;
        test.sample = name;
        test.don_mg_per_kg = 0.6;
        test.time = noon_of_july(10);
        data.tests.push_back(test);
    }
    app::ContaminationSettings settings;
    settings.season = 2026;
    const app::ContaminationView view = app::contamination_of_season(data, {}, settings);
    REQUIRE(view.input.samples.size() == 1);
    CHECK(view.input.samples[0].sample == "A");
    CHECK(view.input.samples[0].mass_g == 500.0);
    REQUIRE(view.input.results.size() == 2);
    CHECK(view.input.results[0].sample == view.input.results[1].sample);
}

TEST_CASE("the errors of own duplicates are those of the map where they are asked for") {
    const fs::path folder = fs::temp_directory_path() / ("season_own_errors_" + std::to_string(::getpid()));
    fs::remove_all(folder);
    fs::create_directories(folder);
    fs::copy_file(tests::demo_store(), folder / "s.lodicule");
    fs::permissions(folder / "s.lodicule", fs::perms::owner_write, fs::perm_options::add);
    app::Question question;
    question.season = 2024;
    question.upto = app::Upto::contamination;
    {
        geo::Store store = geo::Store::open(folder / "s.lodicule");
        const SeasonView published = app::look_at_season(store, question);
        // Portions of one sample that differ twofold: a bench far worse than the published one.
        for (const char* pair : {"A", "B", "C", "D"}) {
            const std::string of = std::string("D") + pair;
            geo::add_row(store, "loads", {{"load", of}, {"time", "2023-07-20T09:00:00+02:00"}}, {});
            geo::add_row(store, "samples", {{"sample", of}, {"stage", "truck"}, {"kind", "composite"}, {"load", of}},
                         {});
            for (const char* half : {"1", "2"}) {
                geo::add_row(
                    store, "samples",
                    {{"sample", of + half}, {"stage", "truck"}, {"kind", "composite"}, {"load", of}, {"parent", of}},
                    {});
                for (const char* strip : {"a", "b"}) {
                    geo::add_row(
                        store, "tests",
                        {{"test", of + half + strip},
                         {"sample", of + half},
                         {"time", "2023-07-20T09:30:00+02:00"},
                         {"don", *half == '1' ? (*strip == 'a' ? "0.5" : "0.58") : (*strip == 'a' ? "1.2" : "1.05")},
                         {"unit", "mg/kg"}},
                        {});
                }
            }
        }
        app::SeasonMemory memory;
        const SeasonView same = app::look_at_season(store, question, {}, memory);
        question.own_duplicates = true;
        const SeasonView own = app::look_at_season(store, question, {}, memory);
        CHECK(memory.fits.made() == 2);
        const auto& notes = own.contamination.notes;
        CHECK(std::any_of(notes.begin(), notes.end(),
                          [](const std::string& note) { return note.starts_with("own duplicates: "); }));
        // Tested fields are less sure by a worse bench, taken together: where samples contradicted one another they may
        // no longer do so.
        double before = 0.0, after = 0.0;
        int tested = 0;
        for (std::size_t f = 0; f < own.fields.size(); ++f) {
            if (!own.fields[f].content || own.fields[f].tests == 0) continue;
            const auto width = [](const models::Content& c) { return std::log(c.high90 / c.low90); };
            ++tested;
            before += width(*same.fields[f].content);
            after += width(*own.fields[f].content);
        }
        CHECK(tested > 3);
        CHECK(after > 1.05 * before);
        CHECK(published.contamination.notes.size() <= same.contamination.notes.size());
    }
    fs::remove_all(folder);
}
