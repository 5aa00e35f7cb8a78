// What is kept of a fit beside a store: advice for a load is the same with it and without it, and quick with it.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/commands/bins_command.h"
#include "app/stages/grain_fit.h"
#include "app/stages/kept_columns.h"
#include "app/workflow.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "tests/app/captured_output.h"

namespace kept_fit_test {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using Row = std::vector<std::pair<std::string, std::string>>;

void write(const fs::path& file, const std::string& bytes) {
    std::ofstream(file, std::ios::binary | std::ios::trunc) << bytes;
}

/// Six fields of wheat, tested, with loads in two bins, one that waits untested and one that is tested.
class Farm {
 public:
    explicit Farm(const char* name)
        : folder(fs::temp_directory_path() / (std::string("kept_fit_") + name + std::to_string(::getpid()))) {
        fs::remove_all(folder);
        fs::create_directories(folder);
        store = (folder / "farm.lodicule").string();
        geo::Store made = geo::Store::create(store);
        const auto row = [&](const char* kind, const Row& values) { geo::add_row(made, kind, values); };
        for (const auto& [bin, purpose, limit] :
             {std::tuple{"S1", "food", "eu-food-wheat"}, std::tuple{"S2", "food", "eu-food-wheat"},
              std::tuple{"H1", "hold", ""}}) {
            Row values{{"bin", bin}, {"capacity_t", "200"}, {"purpose", purpose}, {"draw_off", "first_in"}};
            if (*limit != '\0') values.emplace_back("limit_id", limit);
            row("bins", values);
        }
        std::string outlines;
        for (int f = 0; f < 6; ++f)
            outlines += fmt::format(
                R"({}{{"type":"Feature","properties":{{"field":"F{}"}},"geometry":{{"type":"Polygon","coordinates":)"
                R"([[[{:.3f},50.0],[{:.3f},50.0],[{:.3f},50.003],[{:.3f},50.003],[{:.3f},50.0]]]}}}})",
                f == 0 ? "" : ",", f, 10.0 + 0.01 * f, 10.005 + 0.01 * f, 10.005 + 0.01 * f, 10.0 + 0.01 * f,
                10.0 + 0.01 * f);
        write(folder / "fields.geojson", R"({"type":"FeatureCollection","features":[)" + outlines + "]}");
        geo::import_file(made, "fields", folder / "fields.geojson");
        for (int f = 0; f < 6; ++f) {
            const std::string of = std::to_string(f), field = "F" + of;
            row("crops", {{"field", field}, {"season", "2026"}, {"crop", "wheat"}, {"yield_t_per_ha", "8"}});
            row("samples", {{"sample", "S" + of},
                            {"stage", "truck"},
                            {"kind", "composite"},
                            {"field", field},
                            {"taken_time", "2026-08-01T08:00:00+02:00"},
                            {"increments", "10"},
                            {"mass_g", "1000"}});
            read(made, "T" + of, "S" + of, std::to_string(0.2 + 0.05 * f));
            for (const char* load : {"a", "b"}) add_load(made, load + of, field);
            row("moves", {{"move", "M" + of},
                          {"time", "2026-08-02T10:00:00+02:00"},
                          {"from", "a" + of},
                          {"to", f % 2 == 0 ? "S1" : "S2"},
                          {"mass_t", "20"},
                          {"kind", "dumped"}});
        }
    }
    ~Farm() {
        fs::permissions(folder, fs::perms::owner_all);
        fs::remove_all(folder);
    }

    static void add_load(geo::Store& into, const std::string& load, const std::string& field) {
        geo::add_row(into, "loads",
                     {{"load", load},
                      {"time", "2026-08-02T09:00:00+02:00"},
                      {"commodity", "wheat"},
                      {"net_t", "20"},
                      {"moisture_pct", "14"}});
        geo::add_row(into, "load-parts", {{"load", load}, {"field", field}, {"share", "1"}});
    }
    static void read(geo::Store& into, const std::string& test, const std::string& sample, const std::string& don) {
        geo::add_row(into, "tests",
                     {{"test", test},
                      {"time", "2026-08-02T09:20:00+02:00"},
                      {"sample", sample},
                      {"don", don},
                      {"unit", "mg/kg"},
                      {"portion_g", "50"}});
    }
    void tested(const std::string& load, const std::string& don) {
        geo::Store opened = geo::Store::open(store);
        geo::add_row(opened, "samples",
                     {{"sample", "G" + load},
                      {"stage", "truck"},
                      {"kind", "composite"},
                      {"load", load},
                      {"increments", "10"},
                      {"mass_g", "1000"}});
        read(opened, "R" + load, "G" + load, don);
    }
    std::string bins(std::vector<std::string> words) {
        words.insert(words.begin(), {"lodicule", "bins", store, "--season", "2026"});
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        const tests::CapturedOutput out(stdout), error(stderr);
        code = app::run_command_line({app::commands::make_bins_command()}, static_cast<int>(bare.size()), bare.data());
        return out.text() + error.text();
    }
    std::string next(const std::string& load) { return bins({"--next", load, "--json"}); }
    std::string next_without(const std::string& load) {
        forget();
        return next(load);
    }
    void forget() const {
        fs::remove(app::kept_fit_file(store));
        fs::remove(app::kept_bins_file(store));
    }

    fs::path folder;
    std::string store;
    int code = -1;
};

std::string bytes_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    return all.str();
}

}  // namespace kept_fit_test

TEST_CASE("advice from a kept fit is that of the fit, to the last letter") {
    using namespace kept_fit_test;
    Farm farm("same");
    const std::string first = farm.next("b3");
    REQUIRE(farm.code == 0);
    REQUIRE(fs::exists(app::kept_fit_file(farm.store)));
    REQUIRE(fs::exists(app::kept_bins_file(farm.store)));
    const std::string kept = bytes_of(app::kept_fit_file(farm.store));
    CHECK(farm.next("b3") == first);
    CHECK(farm.bins({"--next", "b3", "--json", "--threads", "1"}) == first);
    CHECK(bytes_of(app::kept_fit_file(farm.store)) == kept);
    // Loads, moves and bins that came since are no matter of the fit.
    {
        geo::Store opened = geo::Store::open(farm.store);
        Farm::add_load(opened, "c0", "F0");
        geo::add_row(opened, "moves",
                     {{"move", "M9"},
                      {"time", "2026-08-02T11:00:00+02:00"},
                      {"from", "b1"},
                      {"to", "S1"},
                      {"mass_t", "20"},
                      {"kind", "dumped"}});
    }
    const std::string after = farm.next("c0");
    CHECK(bytes_of(app::kept_fit_file(farm.store)) == kept);
    CHECK(farm.next_without("c0") == after);
    // The whole plan says the same of each bin's grain as the advice for one load.
    app::Question question;
    question.upto = app::Upto::bins;
    const geo::Store opened = geo::Store::open(farm.store, geo::Store::Access::read_only);
    const app::SeasonView whole = app::look_at_season(opened, question);
    question.next_load = "c0";
    const app::SeasonView one = app::look_at_season_from_kept(opened, question);
    REQUIRE(whole.bins->plan.bins.size() == one.bins->plan.bins.size());
    for (std::size_t b = 0; b < whole.bins->plan.bins.size(); ++b)
        CHECK(whole.bins->plan.bins[b].mean_mg_per_kg == one.bins->plan.bins[b].mean_mg_per_kg);
    CHECK(whole.bins->draws.sources.size() == 13);
    CHECK(one.bins->draws.sources.size() < 7);  // those that wait
}

TEST_CASE("plan, queue and lots from a kept fit are those of the fit, to the last letter") {
    using namespace kept_fit_test;
    Farm farm("all");
    const std::vector<std::vector<std::string>> questions{
        {"--json"}, {}, {"--queue", "--json"}, {"--queue"}, {"--outbound", "25", "--json"}, {"--outbound", "25"}};
    std::vector<std::string> first;
    for (const auto& words : questions) {
        farm.forget();
        first.push_back(farm.bins(words));
        REQUIRE(farm.code == 0);
        CHECK(fs::exists(app::kept_fit_file(farm.store)));
    }
    const auto ask_again = [&] {
        for (std::size_t q = 0; q < questions.size(); ++q) {
            INFO(q);
            CHECK(farm.bins(questions[q]) == first[q]);
            std::vector<std::string> alone = questions[q];
            alone.insert(alone.end(), {"--threads", "1"});
            CHECK(farm.bins(alone) == first[q]);
        }
    };
    const std::string kept = bytes_of(app::kept_fit_file(farm.store));
    ask_again();
    CHECK(bytes_of(app::kept_fit_file(farm.store)) == kept);
    // A column of the fit that is damaged is not taken, whoever asks.
    std::string damaged = kept;
    for (std::size_t at = kept.find("}") + 1; at < damaged.size(); at += 4096)
        damaged[at] = static_cast<char>(damaged[at] ^ 64);
    for (std::size_t q = 0; q < questions.size(); ++q) {
        write(app::kept_fit_file(farm.store), damaged);
        fs::remove(app::kept_bins_file(farm.store));
        CHECK(farm.bins(questions[q]) == first[q]);
        CHECK(bytes_of(app::kept_fit_file(farm.store)) == kept);
    }
}

TEST_CASE("kept sums of a bin are not taken for other grain that lies there since") {
    using namespace kept_fit_test;
    Farm farm("other_grain");
    farm.next("b3");
    REQUIRE(fs::exists(app::kept_bins_file(farm.store)));
    const std::string sums = bytes_of(app::kept_bins_file(farm.store));
    {  // the lowest load of a bin turns out to lie in the other one, and a load comes on top
        geo::Store opened = geo::Store::open(farm.store);
        const auto move = [&](const char* name, const char* minute, const char* load, const char* bin,
                              const char* kind) {
            geo::add_row(opened, "moves",
                         {{"move", name},
                          {"time", std::string("2026-08-02T12:") + minute + ":00+02:00"},
                          {"from", load},
                          {"to", bin},
                          {"mass_t", "20"},
                          {"kind", kind}});
        };
        move("M7", "00", "a0", "S2", "corrected");
        move("M8", "01", "b1", "S1", "dumped");
    }
    const std::string after = farm.next("b3");
    CHECK(bytes_of(app::kept_bins_file(farm.store)) != sums);
    CHECK(farm.next_without("b3") == after);
    write(app::kept_bins_file(farm.store), sums);  // of before
    CHECK(farm.next("b3") == after);
}

TEST_CASE("a kept fit that is damaged, cut off, foreign or old is as good as none") {
    using namespace kept_fit_test;
    Farm farm("damaged");
    const std::string first = farm.next("b3");
    const fs::path fit = app::kept_fit_file(farm.store), means = app::kept_bins_file(farm.store);
    for (const fs::path& file : {fit, means}) {
        const std::string whole = bytes_of(file);
        std::string late = whole, early = whole;
        late[whole.size() - 5] = static_cast<char>(late[whole.size() - 5] ^ 1);
        early[120] = static_cast<char>(early[120] ^ 1);
        std::string all_columns = whole;
        for (std::size_t at = whole.find("}") + 1; at < all_columns.size(); at += 4096)
            all_columns[at] = static_cast<char>(all_columns[at] ^ 64);
        for (const std::string& bytes :
             {late, early, all_columns, whole.substr(0, whole.size() / 2), std::string(),
              std::string("lodicule kept 1 "), std::string(4000, 'x'), "lodicule kept 2 " + whole.substr(16)}) {
            write(file, bytes);
            CHECK(farm.next("b3") == first);
            CHECK(bytes_of(file) == whole);  // and made again
        }
    }
    // A folder in its place: none can be written, and none is needed.
    fs::remove(fit);
    fs::create_directories(fit / "in the way");
    CHECK(farm.next("b3") == first);
    CHECK(farm.code == 0);
}

TEST_CASE("a new result of a load weighs on the kept fit, and what speaks of more is fitted anew") {
    using namespace kept_fit_test;
    Farm farm("new");
    farm.next("b3");
    const fs::path fit = app::kept_fit_file(farm.store);
    const std::string kept = bytes_of(fit);
    const auto chance = [](const std::string& json, const std::string& bin) {
        const auto read = nlohmann::json::parse(json);
        for (const auto& one : read.at("bins"))
            if (one.at("bin") == bin) return one.at("mean_mg_per_kg").get<double>();
        return -1.0;
    };
    farm.tested("b3", "0.5");
    const std::string weighed = farm.next("b3");
    CHECK(bytes_of(fit) == kept);
    CHECK(farm.next("b3") == weighed);
    const std::string anew = farm.next_without("b3");
    CHECK(bytes_of(fit) != kept);
    const auto second = [](const std::string& json) {
        return nlohmann::json::parse(json).at("next").at("second_sample").at("over").get<double>();
    };
    CHECK(nlohmann::json::parse(weighed).at("assignments").at(0).at("bin") ==
          nlohmann::json::parse(anew).at("assignments").at(0).at("bin"));
    CHECK(second(weighed) == Approx(second(anew)).epsilon(0.0).margin(0.02));
    for (const char* bin : {"S1", "S2"}) CHECK(std::abs(std::log(chance(weighed, bin) / chance(anew, bin))) < 0.05);
    // A surprise, a bound, and a second sample of a load: each a fit of its own.
    std::string last = bytes_of(fit);
    for (const auto& [load, don] : {std::pair{"b4", "9"}, std::pair{"b5", "<0.2"}}) {
        farm.tested(load, don);
        farm.next("b0");
        INFO(load << " reads " << don);
        CHECK(bytes_of(fit) != last);
        last = bytes_of(fit);
    }
    {
        geo::Store opened = geo::Store::open(farm.store);
        geo::add_row(
            opened, "samples",
            {{"sample", "G2"}, {"stage", "truck"}, {"kind", "composite"}, {"load", "b3"}, {"increments", "10"}});
        Farm::read(opened, "R2", "G2", "0.4");
    }
    farm.next("b0");
    CHECK(bytes_of(fit) != last);
}

TEST_CASE("a folder that may not be written keeps nothing, and the advice is the same") {
    using namespace kept_fit_test;
    Farm farm("read_only");
    const std::string first = farm.next("b3");
    farm.forget();
    fs::permissions(farm.folder, fs::perms::owner_read | fs::perms::owner_exec);
    CHECK(farm.next("b3") == first);
    fs::permissions(farm.folder, fs::perms::owner_all);
    if (::geteuid() != 0) CHECK_FALSE(fs::exists(app::kept_fit_file(farm.store)));
}

TEST_CASE("columns are kept to the last bit and found by their names") {
    using namespace kept_fit_test;
    const fs::path file = fs::temp_directory_path() / ("kept_columns_" + std::to_string(::getpid()));
    const Eigen::VectorXd one = Eigen::VectorXd::LinSpaced(7, -1.0, 1e300), two = one.reverse() / 3.0;
    REQUIRE(app::keep_columns(file, "key", {{"says", 0.1}}, {{"two", &two}, {"one\n", &one}}));
    const auto kept = app::KeptColumns::open(file);
    REQUIRE(kept);
    CHECK(kept->key() == "key");
    CHECK(kept->says().at("says").get<double>() == 0.1);
    CHECK(*kept->column("one\n") == one);
    CHECK(*kept->column("two") == two);
    CHECK_FALSE(kept->column("three"));
    fs::remove(file);
    CHECK_FALSE(app::keep_columns(file / "no folder", "key", {}, {{"one", &one}}));
    CHECK(app::KeyOf().add(std::string("ab")).add(std::string("c")).sha256() !=
          app::KeyOf().add(std::string("a")).add(std::string("bc")).sha256());
    CHECK(app::KeyOf().add(std::optional<double>()).sha256() != app::KeyOf().add(std::optional(0.0)).sha256());
}
