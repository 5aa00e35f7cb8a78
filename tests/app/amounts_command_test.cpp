#include "app/commands/amounts_command.h"

#include <filesystem>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/commands/add_command.h"
#include "app/commands/check_command.h"
#include "app/commands/new_command.h"
#include "tests/app/captured_output.h"

namespace {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;

/// A store with kit lot K7 of 0.2 to 6 mg/kg, its curve and no ratio, and a truck's sample S1.
class CurveBench {
 public:
    CurveBench() : folder_(fs::temp_directory_path() / ("amounts_command_" + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        must({"new", store()});
        must({"add", store(), "kit-lots", "kit_lot=K7", "commodity=wheat", "dilution=6", "low_mg_per_kg=0.2",
              "high_mg_per_kg=6", "signal=test_over_control", "curve_a=1.2", "curve_b=1.1", "curve_c=0.9",
              "curve_d=0.08"});
        must({"add", store(), "loads", "load=L1", "time=2026-07-20T09:00:00+02:00"});
        must({"add", store(), "samples", "sample=S1", "stage=truck", "kind=composite", "load=L1"});
    }
    ~CurveBench() { fs::remove_all(folder_); }
    std::string store() const { return (folder_ / "s.lodicule").string(); }

    struct Said {
        int code = 0;
        std::string out, err;
    };
    Said run(std::vector<std::string> words) const {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        using namespace app::commands;
        Said said;
        const tests::CapturedOutput out(stdout), err(stderr);
        said.code = app::run_command_line(
            {make_new_command(), make_add_command(), make_check_command(), make_amounts_command()},
            static_cast<int>(bare.size()), bare.data());
        said.out = out.text();
        said.err = err.text();
        return said;
    }
    void must(const std::vector<std::string>& words) const {
        const Said said = run(words);
        INFO(said.err);
        REQUIRE(said.code == 0);
    }

 private:
    fs::path folder_;
};

}  // namespace

TEST_CASE("amounts without a ratio of their lot are refused and how to give one is said") {
    const CurveBench bench;
    const auto said = bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--portion", "20"});
    CHECK(said.code == 1);
    CHECK(said.out.empty());
    CHECK_THAT(said.err, Contains("kit lot K7 does not say how much extractant its procedure takes") &&
                             Contains("extract_ml_per_g=") && Contains("--common-practice"));
}

TEST_CASE("amounts carry the label of their ratio and the range that results") {
    const CurveBench bench;
    const auto common =
        bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--portion", "20", "--common-practice"});
    CHECK(common.code == 0);
    CHECK_THAT(common.out, Contains("with 100 ml") && Contains("common practice, no source") &&
                               Contains("0.2 to 6 mg/kg") && Contains("the lot's own dilution"));
    bench.must({"add", bench.store(), "kit-lots", "kit_lot=K7", "commodity=wheat", "dilution=6", "extract_ml_per_g=4",
                "--correct", "read from the leaflet"});
    const auto own =
        bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--portion", "20", "--expect", "15", "--json"});
    CHECK(own.code == 0);
    CHECK_THAT(own.out, Contains("\"extractant_ml\": 80.0") && Contains("\"ratio_source\": \"kit lot K7\"") &&
                            Contains("\"extra_dilution\": 4.0") && Contains("\"high_mg_per_kg\": 24.0"));
    const auto small =
        bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--portion", "20", "--sample-mass", "15"});
    CHECK(small.code == 1);
    CHECK_THAT(small.err, Contains("a portion of 20 g is larger than the sample of 15 g"));
    const auto unknown = bench.run({"amounts", bench.store(), "--kit-lot", "K9", "--portion", "20"});
    CHECK_THAT(unknown.err, Contains("kit lot K9 is not in the store"));
}

TEST_CASE("amounts take the portion of the lot's procedure and name the option that is wrong") {
    const CurveBench bench;
    const auto without = bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--common-practice"});
    CHECK(without.code == 1);
    CHECK_THAT(without.err,
               Contains("--portion: kit lot K7 does not say how much ground grain its procedure extracts") &&
                   Contains("such as --portion 20"));
    bench.must({"add", bench.store(), "kit-lots", "kit_lot=K7", "commodity=wheat", "dilution=6", "portion_g=20",
                "--correct", "read from the leaflet"});
    const auto own = bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--common-practice"});
    CHECK(own.code == 0);
    CHECK_THAT(own.out, Contains("grind     20 g") && Contains("with 100 ml"));
    const auto thin =
        bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--common-practice", "--extra-dilution", "0.5"});
    CHECK_THAT(thin.err, Contains("--extra-dilution: an extra dilution of 0.5 thins nothing"));
    const auto none = bench.run({"amounts", bench.store(), "--kit-lot", "K7", "--common-practice", "--portion", "0"});
    CHECK_THAT(none.err, Contains("--portion: a portion of 0 g is none"));
}

TEST_CASE("a strip's signals are told as a content when it is added and check names what is odd") {
    const CurveBench bench;
    const auto add = [&](const std::string& test, const std::string& test_signal, const std::string& control_signal) {
        return bench.run({"add", bench.store(), "tests", "test=" + test, "time=2026-07-20T10:00:00+02:00", "sample=S1",
                          "kit_lot=K7", "test_signal=" + test_signal, "control_signal=" + control_signal});
    };
    CHECK_THAT(add("T1", "500", "1000").out, Contains("test T1 reads 1.43 mg/kg by the curve of kit lot K7"));
    CHECK_THAT(add("T2", "500", "0").out, Contains("test T2 is void: no control line: its signal is 0"));
    CHECK_THAT(add("T3", "4000", "1000").out, Contains("test T3 is void: a signal of 4 is none that this lot gives"));
    const auto check = bench.run({"check", bench.store(), "--json"});
    CHECK(check.code == 0);
    CHECK_THAT(check.out, Contains("\"odd_strips\"") && Contains("\"test\": \"T2\"") && Contains("\"test\": \"T3\"") &&
                              !Contains("\"test\": \"T1\""));
}
