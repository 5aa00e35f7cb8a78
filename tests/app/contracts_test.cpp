// Contracts, from the table to the plan, and plans for fields that are still to be cut.
#include <algorithm>
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/commands/bins_command.h"
#include "app/stages/bin_prices.h"
#include "app/stages/standing_grain.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "tests/app/captured_output.h"

namespace contracts_test {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Row = std::vector<std::pair<std::string, std::string>>;

/// A store with two food bins and one to hold.
class Sales {
 public:
    explicit Sales(const char* name)
        : folder_(fs::temp_directory_path() / (std::string("contracts_") + name + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        store = (folder_ / "sales.lodicule").string();
        geo::Store::create(store);
        for (const auto& [bin, limit] : {std::pair{"S1", "eu-food-wheat"}, std::pair{"S2", "eu-food-wheat"}})
            row("bins", {{"bin", bin}, {"capacity_t", "500"}, {"purpose", "food"}, {"limit_id", limit}});
        row("bins", {{"bin", "H1"}, {"capacity_t", "500"}, {"purpose", "hold"}});
    }
    ~Sales() { fs::remove_all(folder_); }

    geo::ImportReport row(const char* kind, const Row& values) {
        geo::Store opened = geo::Store::open(store);
        return geo::add_row(opened, kind, values);
    }
    void field(const std::string& name) {
        const fs::path file = folder_ / "fields.geojson";
        std::ofstream(file) << R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"field":")"
                            << name << R"("},"geometry":{"type":"Polygon","coordinates":)"
                            << "[[[10,50],[10.005,50],[10.005,50.003],[10,50.003],[10,50]]]}}]}";
        geo::Store opened = geo::Store::open(store);
        geo::import_file(opened, "fields", file);
    }
    geo::Store open() const { return geo::Store::open(store, geo::Store::Access::read_only); }
    std::string bins(std::vector<std::string> words) {
        words.insert(words.begin(), {"lodicule", "bins", store});
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        const tests::CapturedOutput out(stdout), error(stderr);
        code = app::run_command_line({app::commands::make_bins_command()}, static_cast<int>(bare.size()), bare.data());
        return out.text() + error.text();
    }

    std::string store;
    int code = -1;

 private:
    fs::path folder_;
};

std::optional<models::PlanPrices> prices_of(const app::SeasonData& data, std::vector<std::string>& notes) {
    const models::BinLedger ledger = models::ledger_of_moves(data.bins, data.loads, data.moves);
    std::vector<models::BinForPlan> bins;
    for (const models::Bin& bin : data.bins) {
        models::BinForPlan& one = bins.emplace_back();
        one.bin = bin;
        one.content_t = ledger.bin(bin.bin).mass_t();
        for (const models::Limit& limit : data.limits)
            if (limit.limit_id == bin.limit_id) one.limit = limit;
    }
    return app::prices_of_bins(data, bins, ledger, notes);
}

}  // namespace contracts_test

TEST_CASE("a contract is all rows of its name, its steps by content, and its first row speaks for the whole") {
    using namespace contracts_test;
    Sales sales("rows");
    CHECK(sales.open().contracts().empty());
    sales.row("contracts", {{"contract", "K2"}, {"from_mg_per_kg", "0"}, {"commodity", "wheat"}});
    sales.row("contracts", {{"contract", "K1"},
                            {"from_mg_per_kg", "0.8"},
                            {"commodity", "wheat"},
                            {"price_per_t", "999"},
                            {"tonnes", "1"},
                            {"price_change_per_t", "-12"}});
    sales.row("contracts",
              {{"contract", "K1"}, {"from_mg_per_kg", "0.5"}, {"commodity", "wheat"}, {"price_change_per_t", "-5"}});
    sales.row("contracts", {{"contract", "K1"},
                            {"from_mg_per_kg", "0"},
                            {"buyer", "mill"},
                            {"commodity", "wheat"},
                            {"tonnes", "300"},
                            {"limit_id", "eu-food-wheat"},
                            {"price_per_t", "210"}});
    const std::vector<models::Contract> contracts = sales.open().contracts();
    REQUIRE(contracts.size() == 2);
    const models::Contract& first = contracts[0];
    CHECK(first.contract == "K1");
    CHECK(first.buyer == "mill");
    CHECK(first.limit_id == "eu-food-wheat");
    CHECK(first.price_per_t == 210.0);
    CHECK(first.tonnes == 300.0);
    REQUIRE(first.steps.size() == 3);
    CHECK(first.steps[0].from_mg_per_kg == 0.0);
    CHECK(first.steps[0].price_change_per_t == 0.0);
    CHECK(first.steps[1].price_change_per_t == -5.0);
    CHECK(first.steps[2].from_mg_per_kg == 0.8);
    CHECK(contracts[1].contract == "K2");
    CHECK_FALSE(contracts[1].price_per_t);
}

TEST_CASE("a plan is paid by the contracts that name its bins' limits, and says which it leaves aside") {
    using namespace contracts_test;
    app::SeasonData data;
    models::Limit food;
    food.limit_id = "food";
    food.limit_mg_per_kg = 1.0;
    data.limits = {food};
    models::Bin bin;
    bin.bin = "S";
    bin.capacity_t = 100.0;
    bin.limit_id = "food";
    data.bins = {bin};
    std::vector<std::string> notes;
    CHECK_FALSE(prices_of(data, notes));
    models::Contract elsewhere{"elsewhere", "", "wheat", "other limit", {}, 500.0, {}};
    models::Contract unpriced{"unpriced", "", "wheat", "food", {}, {}, {}};
    data.contracts = {elsewhere, unpriced};
    CHECK_FALSE(prices_of(data, notes));
    CHECK(notes == std::vector<std::string>{"contract unpriced has no price_per_t and has no part in the plan"});
    notes.clear();
    data.contracts = {elsewhere,
                      {"K1", "", "wheat", "food", 50.0, 200.0, {{0.0, 0.0}, {0.5, -5.0}}},
                      {"K2", "", "wheat", "food", {}, 220.0, {}}};
    models::Load load;
    load.load = "L1";
    load.net_t = 30.0;
    data.loads = {load};
    models::Move in, out;
    in.move = "M1", in.from = "L1", in.to = "S", in.mass_t = 30.0;
    out.move = "M2", out.from = "S", out.to = "out", out.mass_t = 10.0, out.kind = models::MoveKind::withdrawn;
    out.time.utc += std::chrono::hours(1);
    data.moves = {in, out};
    auto prices = prices_of(data, notes);
    REQUIRE(prices);
    REQUIRE(prices->contracts.size() == 2);
    CHECK(prices->contracts[0].contract == "K1");
    // 20 t lie in the bin and 10 t were sold from it.
    REQUIRE(prices->contracts[0].tonnes_left);
    CHECK(*prices->contracts[0].tonnes_left == Approx(20.0).epsilon(0.0).margin(1e-9));
    CHECK_FALSE(prices->contracts[1].tonnes_left);
    CHECK(prices->contracts[0].steps.size() == 2);
    CHECK(prices->food_per_t == 200.0);  // what nobody contracted: the lower of the two
    CHECK_THAT(prices->assumed, Contains("no wrong_acceptance_per_t"));
    REQUIRE(notes.size() == 1);
    CHECK_THAT(notes[0], Contains("contracts K1 and K2 name the same limit"));
    data.costs = {{"wrong_acceptance_per_t", 80.0}};
    prices = prices_of(data, notes);
    CHECK(prices->wrong_acceptance_per_t == 80.0);
    CHECK_THAT(prices->assumed, !Contains("wrong_acceptance_per_t"));
}

TEST_CASE("fields that stand are wheat that is not cut or away, by the day of their cut") {
    using namespace contracts_test;
    app::SeasonData data;
    app::ContaminationView view;
    const auto field = [&](const char* name, models::Crop crop, std::optional<models::LocalDay> cut) {
        models::CropRecord record;
        record.field = name;
        record.season = 2026;
        record.crop = crop;
        record.expected_cut_date = cut;
        record.yield_t_per_ha = 8.0;
        models::Field outline;
        outline.field = name;
        outline.area_ha = 5.0;
        data.outline_by_ground[{name, ""}] = data.fields.size();
        data.fields.push_back(outline);
        data.crops_by_field[name].push_back(data.crops.size());
        data.crops.push_back(record);
        view.field_season_of.push_back(data.crops.size() - 1);
    };
    field("A", models::Crop::wheat, {});
    field("B", models::Crop::wheat, models::day_of(2026, 8, 9));
    field("C", models::Crop::wheat, models::day_of(2026, 8, 2));
    field("D", models::Crop::wheat, models::day_of(2026, 8, 1));
    data.crops.back().status = models::FieldStatus::cut;
    field("E", models::Crop::wheat, {});
    view.field_season_of.back().reset();  // no wheat to the model
    models::Load load;
    load.load = "L1";
    load.time = *models::parse_stamp("2026-08-03T10:00:00+02:00");
    load.net_t = 15.0;
    load.keep_apart = "organic";
    load.parts.resize(1);
    load.parts[0].field = "C";
    load.parts[0].share = 1.0;
    data.loads = {load};
    const std::vector<app::StandingGrain> standing = app::standing_grain(data, view, 2026, app::Moistures(data));
    REQUIRE(standing.size() == 3);
    CHECK(standing[0].grain.name == "C");
    CHECK(standing[0].grain.mass_t == Approx(25.0).epsilon(0.0).margin(1e-9));  // of 40 t 15 were delivered
    CHECK(standing[0].grain.keep_apart == "organic");
    CHECK(standing[0].grain.may_split);
    CHECK(standing[1].grain.name == "B");
    CHECK(standing[1].field_season == 1);
    CHECK(standing[2].grain.name == "A");
    CHECK_FALSE(standing[2].cut);
    CHECK_FALSE(standing[2].tonnes_assumed);
    CHECK(app::standing_grain(data, view, 2025, app::Moistures(data)).empty());
}

TEST_CASE("a plan ahead from the command line places fields and says what it takes for granted") {
    using namespace contracts_test;
    Sales sales("ahead");
    CHECK_THAT(sales.bins({"--ahead"}), Contains("no crop records and no loads"));
    CHECK(sales.code == 1);
    sales.field("C");
    sales.row("crops", {{"field", "C"}, {"season", "2026"}, {"crop", "wheat"}, {"status", "cut"}});
    CHECK_THAT(sales.bins({"--ahead"}), Contains("no wheat field of the season is still to be cut"));
    CHECK(sales.code == 0);
    CHECK_THAT(sales.bins({"--ahead", "--season", "2019"}), Contains("no crop records of season 2019"));
    CHECK(sales.code == 1);
    CHECK_THAT(sales.bins({"--ahead", "--upper-cap", "2"}), Contains("an upper cap of 2 % is none"));
    CHECK_THAT(sales.bins({"--ahead", "--next", "L9"}), Contains("there is no load \"L9\""));
    CHECK_THAT(sales.bins({"--ahead", "--outbound", "25", "--from", "S9"}), Contains("no bin \"S9\""));
    CHECK(sales.code == 1);
}

TEST_CASE("a contract that cannot be is refused by its words") {
    using namespace contracts_test;
    Sales sales("refused");
    const auto refused = [&](const Row& values) -> std::string {
        try {
            sales.row("contracts", values);
            return "taken";
        } catch (const models::Error& error) {
            return error.what();
        }
    };
    CHECK_THAT(refused({{"contract", "K"}, {"from_mg_per_kg", "0"}, {"commodity", "wheat"}, {"limit_id", "nobody"}}),
               Contains("nobody") && Contains("limit"));
    CHECK_THAT(refused({{"contract", "K"}, {"from_mg_per_kg", "0"}, {"commodity", "wheat"}, {"tonnes", "-1"}}),
               Contains("tonnes") && Contains("-1"));
    CHECK_THAT(refused({{"contract", "K"}, {"from_mg_per_kg", "-0.5"}, {"commodity", "wheat"}}),
               Contains("from_mg_per_kg"));
    CHECK_THAT(refused({{"contract", "K"}, {"from_mg_per_kg", "0"}}), Contains("commodity"));
    CHECK(sales.open().contracts().empty());
}
