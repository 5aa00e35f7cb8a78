#include "app/commands/cut_off_command.h"

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/commands/add_command.h"
#include "app/commands/new_command.h"
#include "geo/store/store.h"
#include "models/assay/kit_lot.h"
#include "tests/app/captured_output.h"

namespace {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;

/// A folder with a validation of 20 + 20 samples over five days at 1.0 mg/kg and a store with kit lot K7.
class ValidationBench {
 public:
    ValidationBench() : folder_(fs::temp_directory_path() / ("cut_off_command_" + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        // Mean 1.006, standard deviation 0.0515446, as in the model's own test.
        const std::vector<std::string> at_target = {"1.02", ".95", "1.10", ".98", "1.05", ".92", "1.00",
                                                    "1.08", ".97", "1.03", ".99", "1.06", ".94", "1.01",
                                                    "1.04", ".96", "1.07", ".93", "1.00", "1.02"};
        std::string table = "sample,date,response\n";
        for (std::size_t i = 0; i < 20; ++i) {
            const std::string day = "2026-07-0" + std::to_string(1 + i % 5);
            table += "positive," + day + "," + at_target[i] + "\n";
            table += "negative," + day + ",0." + std::to_string(10 + i * 7 % 11) + "\n";
        }
        write("validation.csv", table);
        run({"new", store()});
        run({"add", store(), "kit-lots", "kit_lot=K7", "commodity=wheat", "dilution=1", "low_mg_per_kg=0.2",
             "high_mg_per_kg=6", "portion_g=20"});
    }
    ~ValidationBench() { fs::remove_all(folder_); }
    std::string store() const { return (folder_ / "s.lodicule").string(); }
    std::string file(const std::string& name) const { return (folder_ / name).string(); }
    void write(const std::string& name, const std::string& text) const { std::ofstream(folder_ / name) << text; }

    struct Answer {
        int code = 0;
        std::string out, err;
    };
    Answer run(std::vector<std::string> words) const {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        using namespace app::commands;
        Answer answer;
        const tests::CapturedOutput out(stdout), err(stderr);
        answer.code = app::run_command_line({make_new_command(), make_add_command(), make_cut_off_command()},
                                            static_cast<int>(bare.size()), bare.data());
        answer.out = out.text();
        answer.err = err.text();
        return answer;
    }
    Answer cut_off(std::vector<std::string> words) const {
        words.insert(words.begin(), {"cut-off", file("validation.csv"), "--target", "1.0"});
        return run(words);
    }

 private:
    fs::path folder_;
};

}  // namespace

TEST_CASE("a validation gives its cut-off and keeps it with the kit lot") {
    const ValidationBench bench;
    const auto answer = bench.cut_off({"--json", "--keep", bench.store(), "--kit-lot", "K7"});
    INFO(answer.err);
    REQUIRE(answer.code == 0);
    const auto json = nlohmann::json::parse(answer.out);
    // (EU) 2023/2782, Annex II: mean - 1.729 SD = 0.9169, to two significant figures.
    CHECK(json.at("cut_off") == 0.92);
    CHECK(json.at("before_rounding").get<double>() == Approx(1.006 - 1.729133 * 0.0515446).epsilon(1e-6));
    const geo::Store store = geo::Store::open(bench.store(), geo::Store::Access::read_only);
    const auto lots = store.kit_lots();
    REQUIRE(lots.size() == 1);
    REQUIRE(lots[0].cut_off);
    CHECK(lots[0].cut_off->mg_per_kg == 0.92);
    CHECK(lots[0].cut_off->for_limit_mg_per_kg == 1.0);
    CHECK(lots[0].cut_off->from == "20 + 20 samples, 2026-07-01 to 2026-07-05");
    CHECK(lots[0].portion_g == 20.0);  // what was not said stays
}

TEST_CASE("negative samples that hold over a fifth of the target are told") {
    const ValidationBench bench;
    CHECK_THAT(bench.cut_off({}).out, !Contains("a fifth of"));  // they read 0.15 on average
    std::string table;
    std::ifstream(bench.file("validation.csv")) >> table;
    table += "\n";
    for (int i = 0; i < 20; ++i) {
        const std::string day = "2026-07-0" + std::to_string(1 + i % 5);
        table += "positive," + day + ",1.0" + std::to_string(i % 7) + "\n";
        table += "negative," + day + ",0.3" + std::to_string(i % 5) + "\n";
    }
    bench.write("validation.csv", table);
    // Mean of 0.30 to 0.34.
    const auto told = bench.cut_off({"--json"});
    INFO(told.err);
    const auto json = nlohmann::json::parse(told.out);
    CHECK(json.at("target_mg_per_kg") == 1.0);
    CHECK_THAT(json.at("caution").get<std::string>(),
               Contains("The negative samples read 0.32 mg/kg on average, and should hold at most 0.2, a fifth of the "
                        "target: the share of good grain that is suspected is overstated."));
    // Responses that are no contents say nothing of it.
    for (std::size_t at = 0; (at = table.find(",1.0", at)) != std::string::npos;) table.replace(at, 4, ",950");
    bench.write("validation.csv", table);
    CHECK(nlohmann::json::parse(bench.cut_off({"--json"}).out).at("caution").is_null());
}

TEST_CASE("a cut-off tells each of its two rates once and how a finer one is had") {
    const ValidationBench bench;
    const auto answer = bench.cut_off({});
    REQUIRE(answer.code == 0);
    std::string text = answer.out;
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos;) text[at] = ' ';
    // R 4.2: pt((1.006 - 0.92) / 0.0515446, 19, lower.tail = FALSE) = 0.05581
    CHECK_THAT(text, Contains("cut-off  0.92") && Contains("Grain at the target passes in 5.6 % of cases") &&
                         !Contains(" 6 %"));
    CHECK_THAT(text, Contains("Of samples free of DON under 0.1 % are suspected") && !Contains("under 1 %"));
    CHECK_THAT(text, Contains("write the target with one more figure (1.00) for a finer cut-off"));
    const auto finer = bench.run({"cut-off", bench.file("validation.csv"), "--target", "1.000"});
    CHECK_THAT(finer.out, Contains("cut-off  0.9169") && Contains("5.0 %") && !Contains("one more figure"));
}

TEST_CASE("a cut-off is checked for a further grain without making another") {
    const ValidationBench bench;
    const auto holds = bench.cut_off({"--study", "new-commodity", "--against", "0.91"});
    CHECK(holds.code == 0);
    CHECK_THAT(holds.out, Contains("holds for the further grain"));
    const auto fails = bench.cut_off({"--study", "verification", "--against", "0.95"});
    CHECK_THAT(fails.out, Contains("could not be verified here") && Contains("validate in full"));
}

TEST_CASE("a validation that cannot be read says the row and what to write") {
    const ValidationBench bench;
    const auto refused = [&](const std::string& table, std::vector<std::string> words = {}) {
        bench.write("bad.csv", table);
        words.insert(words.begin(), {"cut-off", bench.file("bad.csv"), "--target", "1.0"});
        const auto answer = bench.run(words);
        CHECK(answer.code == 1);
        CHECK(answer.out.empty());
        return answer.err;
    };
    CHECK_THAT(refused("sample,date,response\nspiked,2026-07-01,1\n"),
               Contains("\"spiked\" is neither negative nor positive") && Contains("row 2"));
    CHECK_THAT(refused("sample,date,response\npositive,1.7.2026,1\n"), Contains("\"1.7.2026\" is no date"));
    CHECK_THAT(refused("sample,date,response\npositive,2026-07-01,\n"), Contains("the response is missing"));
    CHECK_THAT(refused("sample,date,response\npositive,2026-07-01,1\n"), Contains("20 negative and 20 positive"));
    CHECK_THAT(refused("sample,date\npositive,2026-07-01\n"), Contains("response"));
    CHECK_THAT(refused("sample,date,response\n"), Contains("20"));
    CHECK_THAT(bench.cut_off({"--kit-lot", "K7"}).err, Contains("give both --keep STORE and --kit-lot LOT"));
    CHECK_THAT(bench.cut_off({"--study", "half"}).err, Contains("\"half\" is no study"));
    CHECK_THAT(bench.cut_off({"--study", "verification"}).err, Contains("checks a cut-off that stands"));
    CHECK_THAT(bench.cut_off({"--falling", "--keep", bench.store(), "--kit-lot", "K7"}).err, Contains("a signal"));
    CHECK_THAT(bench.cut_off({"--keep", bench.store(), "--kit-lot", "K8"}).err, Contains("K8"));
    CHECK_THAT(bench
                   .run({"cut-off", bench.file("validation.csv"), "--target", "0.50", "--keep", bench.store(),
                         "--kit-lot", "K7"})
                   .err,
               Contains("does not lie below its target 0.50"));
    CHECK_THAT(bench.run({"cut-off", bench.file("validation.csv"), "--target", "1,0"}).err,
               Contains("\"1,0\" is no screening target"));
}
