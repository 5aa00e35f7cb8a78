#include <cstdio>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/bench/bench_desk.h"
#include "app/commands/add_command.h"
#include "geo/store/started_strips.h"
#include "tests/app/captured_output.h"
#include "tests/geo/store_fixture.h"

namespace bench_command_tests {

using Catch::Matchers::Contains;

/// A text as standard input while it lives.
class GivenInput {
 public:
    explicit GivenInput(const std::string& text) : kept_(std::tmpfile()), before_(::dup(STDIN_FILENO)) {
        std::fwrite(text.data(), 1, text.size(), kept_);
        std::rewind(kept_);
        ::dup2(::fileno(kept_), STDIN_FILENO);
    }
    ~GivenInput() {
        ::dup2(before_, STDIN_FILENO);
        ::close(before_);
        std::fclose(kept_);
    }
    GivenInput(const GivenInput&) = delete;
    GivenInput& operator=(const GivenInput&) = delete;

 private:
    std::FILE* kept_;
    int before_;
};

struct Ended {
    int code = 0;
    std::string out, err;
};

struct CommandFarm {
    store_tests::Farm farm{false};
    CommandFarm() {
        farm.import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\nS2,standing,composite,Fen\n");
        farm.import_text("kit-lots",
                         "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal,curve_a,curve_b,curve_c,"
                         "curve_d,incubation_least_s,incubation_most_s\n"
                         "K7,wheat,6,0.2,6,test_over_control,1.2,1.1,0.9,0.08,370,400\n");
    }
    Ended run(std::vector<std::string> words, const std::string& input = "") const {
        words.insert(words.begin(), {"lodicule", "add", farm.store.file().string()});
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        const GivenInput in(input);
        const tests::CapturedOutput out(stdout), err(stderr);
        const int code =
            app::run_command_line({app::commands::make_add_command()}, static_cast<int>(bare.size()), bare.data());
        return {code, on_one_line(out.text()), on_one_line(err.text())};
    }
    static std::string on_one_line(std::string text) {
        for (char& letter : text) {
            if (letter == '\n') letter = ' ';
        }
        return text;
    }
};

TEST_CASE("a strip is started and read in one step each without a dialogue") {
    const CommandFarm bench;
    const Ended started = bench.run({"test", "--sample", "S1", "--kit-lot", "K7", "--operator", "Ada Holt", "--start",
                                     "--time", "2025-07-20T09:30:00+02:00"});
    CHECK(started.code == 0);
    CHECK_THAT(started.out,
               Contains("strip B250720-01: its clock runs from 09:30:00; read it at 6:10 to 6:40") && !Contains("yes"));
    CHECK_THAT(bench.run({"test", "--sample", "S1", "--start", "--time", "2025-07-20T09:31:00+02:00"}).out,
               Contains("in hand: S1") && Contains("nothing new is started"));
    const Ended read =
        bench.run({"test", "--sample", "S1", "--content", "0.42", "--time", "2025-07-20T09:36:20+02:00"});
    CHECK(read.code == 0);
    CHECK_THAT(read.out, Contains("kit lot K7, ran 6:20: 0.42 mg/kg") && Contains("recorded: test B250720-01 of S1") &&
                             Contains("Screening result, not a certificate"));
    REQUIRE(bench.farm.store.tests().size() == 1);
    CHECK(bench.farm.store.tests()[0].operator_name == "Ada Holt");
    CHECK(geo::running_strips(bench.farm.store).empty());
}

TEST_CASE("signals and void strips are taken in one step and the curve says what they read") {
    const CommandFarm bench;
    const std::string time = "2025-07-20T09:30:00+02:00";
    CHECK_THAT(bench
                   .run({"test", "--sample", "S1", "--kit-lot", "K7", "--test-line", "500", "--control-line", "1000",
                         "--ran", "6:20", "--time", time})
                   .out,
               Contains("ran 6:20: 1.43 mg/kg by the curve of the kit lot"));
    CHECK_THAT(bench.run({"test", "--sample", "S2", "--void", "no control line", "--time", time}).out,
               Contains("void: no control line") && Contains("no clock is known"));
    CHECK_THAT(
        bench.run({"test", "--sample", "S2", "--content", "<200", "--unit", "ug/kg", "--kit-lot", "K7", "--time", time})
            .out,
        Contains("< 0.2 mg/kg"));
    const auto tests = bench.farm.store.tests();
    REQUIRE(tests.size() == 3);
    CHECK(tests[1].reading == models::Reading::invalid);
    CHECK(tests[2].reading == models::Reading::below);
}

TEST_CASE("steps of the bench that make no sense are refused by their words") {
    const CommandFarm bench;
    const auto refused = [&](std::vector<std::string> words, int code = 1) {
        const Ended ended = bench.run(std::move(words));
        CHECK(ended.code == code);
        return ended.err;
    };
    CHECK_THAT(refused({"test", "--sample", "S9", "--start"}), Contains("there is no sample \"S9\" in the store"));
    CHECK_THAT(refused({"test", "--sample", "S1"}), Contains("nothing is said of the strip of S1"));
    CHECK_THAT(refused({"test", "--sample", "S1", "--start", "--content", "1"}), Contains("started or read, not both"));
    CHECK_THAT(refused({"test", "--content", "1"}), Contains("--content: no sample is named"));
    CHECK_THAT(refused({"test", "--sample", "S1", "--void", "spilt", "--content", "1"}),
               Contains("a void strip has no result"));
    CHECK_THAT(refused({"test", "--sample", "S1", "--control-line", "900", "--void", "x"}),
               Contains("the signal of the control line alone says nothing"));
    CHECK_THAT(refused({"test", "--sample", "S1", "--start", "--time", "09:30"}),
               Contains("\"09:30\" is no time with its offset"));
    CHECK_THAT(refused({"test", "--time", "2025-07-20T09:30:00+02:00"}), Contains("a time is given and no sample"));
    CHECK_THAT(refused({"test", "--sample", "S1", "--content", "0,42"}), Contains("decimal comma"));
    CHECK_THAT(refused({"test", "--control-every", "-1"}), Contains("-1 strips are no number of them"));
    CHECK_THAT(refused({"test", "sample=S1"}),
               Contains("the bench takes no column=value") && Contains("add STORE tests sample=S1"));
    CHECK_THAT(refused({"test", "--withdraw", "twice"}), Contains("the bench corrects and withdraws nothing"));
    CHECK_THAT(refused({"tests", "test=T1", "--content", "1"}),
               Contains("--content is of the bench, and here a row of tests is added"));
    CHECK_THAT(refused({"tests"}, 2), Contains("VALUES is required"));
    CHECK(bench.farm.store.tests().empty());
    CHECK(geo::running_strips(bench.farm.store).empty());
}

TEST_CASE("a test that is still to come is refused and one of a clock that differs a little is not") {
    const CommandFarm bench;
    CHECK_THAT(bench.run({"test", "--sample", "S1", "--content", "0.4", "--time", "2199-01-01T09:00:00+02:00"}).err,
               Contains("2199-01-01T09:00:00+02:00 is still to come: this machine's clock shows 2") &&
                   Contains("give the time when it happened, or set the clock right"));
    const auto in = [](std::chrono::minutes ahead) {
        models::Stamp stamp = app::machine_time();
        stamp.utc += ahead;
        return models::to_text(stamp);
    };
    CHECK(bench.run({"test", "--sample", "S1", "--start", "--time", in(std::chrono::hours(3))}).code == 1);
    CHECK(bench.farm.store.tests().empty());
    CHECK(geo::running_strips(bench.farm.store).empty());
    CHECK(bench.run({"test", "--sample", "S1", "--start", "--time", in(std::chrono::hours(1))}).code == 0);
    CHECK(geo::running_strips(bench.farm.store).size() == 1);
}

TEST_CASE("a step with a content that was read too early is refused with its options") {
    const CommandFarm bench;
    bench.run({"test", "--sample", "S1", "--kit-lot", "K7", "--start", "--time", "2025-07-20T09:30:00+02:00"});
    const Ended early =
        bench.run({"test", "--sample", "S1", "--content", "0.42", "--time", "2025-07-20T09:33:33+02:00"});
    CHECK(early.code == 1);
    CHECK_THAT(early.err, Contains("has run 3:33, and kit lot K7 asks for 6:10 at least") &&
                              Contains("here --ran M:SS says how long it ran, and --void REASON"));
    CHECK_THAT(bench.run({"test", "--sample", "S1", "--content", "0.42", "--kit-lot", "k7"}).err,
               Contains("kit lot k7 is not in the store (did you mean \"K7\"?)"));
    CHECK(bench.farm.store.tests().empty());
    CHECK(bench
              .run({"test", "--sample", "S1", "--content", "0.42", "--ran", "6:20", "--time",
                    "2025-07-20T09:33:33+02:00"})
              .code == 0);
    CHECK(bench.farm.store.tests().size() == 1);
}

TEST_CASE("the bench reads lines from a file and its end loses nothing") {
    const CommandFarm bench;
    const Ended first = bench.run({"test", "--operator", "Ada Holt", "--kit-lot", "K7"},
                                  "S1\nresult S2 0.5 after 6:20\nyes\nS1\nlines 500 1000");
    CHECK(first.code == 0);
    CHECK_THAT(first.out, Contains("In use: operator Ada Holt, kit lot K7.") && Contains("recorded: test") &&
                              Contains("not answered and not recorded: the result of S1") &&
                              Contains("1 strip goes on running"));
    CHECK(bench.farm.store.tests().size() == 1);
    CHECK(geo::running_strips(bench.farm.store).size() == 1);
    const Ended again = bench.run({"test"}, "help\nS99\nend\nS2\n");
    CHECK(again.code == 1);  // a line of the file was refused
    CHECK_THAT(again.out, Contains("In use: operator Ada Holt, kit lot K7.") && Contains("read it at") &&
                              Contains("Scan or type") && Contains("there is no sample \"S99\""));
    CHECK(geo::running_strips(bench.farm.store).size() == 1);  // nothing was read after `end`
}

}  // namespace bench_command_tests
