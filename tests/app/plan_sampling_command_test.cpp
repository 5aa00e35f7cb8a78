#include "app/commands/plan_sampling_command.h"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "tests/app/captured_output.h"

using Catch::Matchers::Contains;

namespace {

int run_plan(std::vector<std::string> words) {
    words.insert(words.begin(), {"lodicule", "plan-sampling"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    return app::run_command_line({app::commands::make_plan_sampling_command()}, static_cast<int>(bare.size()),
                                 bare.data());
}

std::string printed_by_plan(const std::vector<std::string>& words) {
    const tests::CapturedOutput out(stdout);
    CHECK(run_plan(words) == 0);
    return out.text();
}

std::string refused_by_plan(const std::vector<std::string>& words) {
    const tests::CapturedOutput out(stderr);
    CHECK(run_plan(words) == 1);
    return out.text();
}

nlohmann::json json_by_plan(std::vector<std::string> words) {
    words.push_back("--json");
    return nlohmann::json::parse(printed_by_plan(words));
}

/// A file beside the others of the system that goes when the test ends.
class PlanPicture {
 public:
    explicit PlanPicture(const std::string& ending)
        : path_(std::filesystem::temp_directory_path() / ("lodicule_plan_" + std::to_string(::getpid()) + ending)) {}
    ~PlanPicture() { std::filesystem::remove(path_); }
    std::string name() const { return path_.string(); }
    bool exists() const { return std::filesystem::exists(path_); }
    std::string bytes() const {
        std::ifstream in(path_, std::ios::binary);
        return {std::istreambuf_iterator<char>(in), {}};
    }

 private:
    std::filesystem::path path_;
};

}  // namespace

TEST_CASE("plan-sampling gives the operating characteristic of the reference procedure without a store") {
    // 454 g, 25 g, one analysis, from s2 = 0.118 C^0.833 (Whitaker et al. 2000, J AOAC Int 83, 1285-1292) by hand.
    const double content[] = {0.5, 0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0};
    const double normal[] = {0.9740, 0.7940, 0.6195, 0.5000, 0.3898, 0.2536, 0.1095, 0.0146};
    const double lognormal[] = {0.9528, 0.8242, 0.6825, 0.5663, 0.4434, 0.2713, 0.0824, 0.0016};
    const auto rows =
        json_by_plan({"--limit", "1.0", "--contents", "0.5,0.75,0.9,1.0,1.1,1.25,1.5,2.0"})["operating_characteristic"];
    REQUIRE(rows.size() == 8);
    for (std::size_t i = 0; i < 8; ++i) {
        INFO(content[i] << " mg/kg");
        CHECK(rows[i]["content_mg_per_kg"] == content[i]);
        CHECK(rows[i]["accepted_normal"].get<double>() == Approx(normal[i]).margin(5.1e-5).epsilon(0.0));
        CHECK(rows[i]["accepted_lognormal"].get<double>() == Approx(lognormal[i]).margin(5.1e-5).epsilon(0.0));
        CHECK(rows[i]["accepted"] == rows[i]["accepted_lognormal"]);
    }
    const auto of_normal = json_by_plan({"--limit", "1.0", "--shape", "normal"});
    CHECK(of_normal["shape"] == "normal");
    CHECK(of_normal["operating_characteristic"][0]["accepted"] ==
          of_normal["operating_characteristic"][0]["accepted_normal"]);
}

TEST_CASE("plan-sampling finds the cheapest plan by strips and minutes and grain") {
    const std::vector<std::string> question = {"--limit",
                                               "1.0",
                                               "--mass",
                                               "1000",
                                               "--portion",
                                               "5",
                                               "--good",
                                               "0.6",
                                               "--bad",
                                               "1.5",
                                               "--masses",
                                               "454,1000,2000",
                                               "--portions-of",
                                               "5,10,25",
                                               "--cost-strip",
                                               "9",
                                               "--cost-minute",
                                               "0.6",
                                               "--minutes-sample",
                                               "8",
                                               "--minutes-analysis",
                                               "6"};
    const auto out = json_by_plan(question);
    // One sample of 1 kg ground, two portions of 25 g, two strips: 8 + 2 * 6 minutes; 2 * 9 + 20 * 0.6 = 30.
    CHECK(out["cheapest"]["strips"] == 2);
    CHECK(out["cheapest"]["minutes"] == 20.0);
    CHECK(out["cheapest"]["cost"].get<double>() == Approx(30.0));
    CHECK(out["cheapest"]["good_rejected"].get<double>() <= 0.05);
    CHECK(out["cheapest"]["bad_accepted"].get<double>() <= 0.05);
    CHECK(out["target"]["good_rejected"].get<double>() > 0.05);
    const std::string text = printed_by_plan(question);
    CHECK_THAT(text, Contains("Cheapest plan within both risks: 1 sample of 1000 g, 2 portions of 25 g"));
    CHECK_THAT(text, Contains("Extrapolation: A portion of 5 g"));
    CHECK_THAT(text, Contains("Screening result, not a certificate."));
    CHECK(json_by_plan({"--limit", "1.0", "--good", "0.99", "--bad", "1.01"})["cheapest"].is_null());
    CHECK_THAT(printed_by_plan({"--limit", "1.0", "--good", "0.99", "--bad", "1.01"}),
               Contains("No plan of up to 12 samples") && Contains("No costs are given"));
}

TEST_CASE("plan-sampling takes an own error at the mass of its duplicates and refuses to guess it") {
    std::vector<std::string> words = {"--limit",
                                      "1.0",
                                      "--own-sampling",
                                      "20",
                                      "--own-preparation",
                                      "20",
                                      "--own-analysis",
                                      "10",
                                      "--portions-of",
                                      "0.5,5,25",
                                      "--good",
                                      "0.6",
                                      "--bad",
                                      "1.5",
                                      "--cost-strip",
                                      "9",
                                      "--cost-kilogram",
                                      "5",
                                      "--masses",
                                      "50,454,5000"};
    CHECK_THAT(refused_by_plan(words), Contains("the own sampling error does not say at which mass it was measured") &&
                                           Contains("--own-sampling-mass"));
    words.insert(words.end(), {"--own-sampling-mass", "454", "--own-portion", "25"});
    const auto out = json_by_plan(words);
    CHECK(out["cheapest"]["portion_g"] == 25.0);
    CHECK(out["cheapest"]["sample_mass_g"].get<double>() >= 454.0);
    CHECK(out["cheapest"]["minutes"].is_null());
    CHECK(out["cheapest"]["cost"].get<double>() > 0.0);
    CHECK_THAT(printed_by_plan(words),
               Contains("Sampling: coefficient of variation 20.0 %, the user's own duplicates of 454 g"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--own-portion", "25"}),
               Contains("--own-portion") && Contains("give --own-preparation as well"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--own-sampling", "20", "--own-sampling-mass", "0"}),
               Contains("0 g is no mass of duplicates"));
    const auto free_of_cost = json_by_plan({"--limit", "1.0"});
    CHECK(free_of_cost["plan"]["cost"].is_null());
    CHECK(free_of_cost["plan"]["minutes"].is_null());
}

TEST_CASE("plan-sampling says what official control would take of a lot") {
    const auto increments = [](const std::string& tonnes) {
        return json_by_plan({"--limit", "1.0", "--lot", tonnes})["official_sampling"]["increments"].get<int>();
    };
    // (EU) 2023/2782, Annex I, part II, A, table 2.
    CHECK(increments("0.5") == 5);
    CHECK(increments("20") == 60);
    CHECK(increments("20.1") == 100);
    CHECK_THAT(printed_by_plan({"--limit", "1.0", "--lot", "300"}), Contains("in 3 sublots of 100 t"));
    CHECK_THAT(printed_by_plan({"--limit", "1.0", "--lot", "900", "--undivided"}),
               Contains("undivided") && Contains("130 increments"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--lot", "2000"}), Contains("under 1500 t"));
}

TEST_CASE("plan-sampling takes the limit by its rounding and its comparison") {
    const auto at_limit = [](std::vector<std::string> more) {
        more.insert(more.begin(), {"--limit", "2.0", "--contents", "2.0", "--shape", "normal"});
        return json_by_plan(more)["operating_characteristic"][0]["accepted"].get<double>();
    };
    CHECK(at_limit({}) == Approx(0.5));
    // 2.04 is written 2.0 and meets the limit, so that more lots pass.
    CHECK(at_limit({"--rounding", "0.1"}) > 0.53);
    CHECK(at_limit({"--rounding", "0.1", "--at-or-over"}) < 0.47);
}

TEST_CASE("plan-sampling weighs the risks of both sides over lots as they come") {
    const auto lots = json_by_plan({"--limit", "1.0", "--lots-median", "1.0", "--lots-cv", "80"})["lots"];
    CHECK(lots["over"].get<double>() == Approx(0.5));
    CHECK(lots["over_and_accepted"].get<double>() > 0.0);
    CHECK(lots["accepted"].get<double>() + lots["good_and_rejected"].get<double>() -
              lots["over_and_accepted"].get<double>() ==
          Approx(1.0 - lots["over"].get<double>()));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--lots-median", "1.0"}), Contains("coefficient of variation"));
}

TEST_CASE("plan-sampling draws its chart as a picture or a page and the same twice") {
    const struct { const char *ending, *begins; } kinds[] = {{".png", "\x89PNG"}, {".svg", "<svg"}, {".pdf", "%PDF"}};
    for (const auto& kind : kinds) {
        const PlanPicture picture(kind.ending);
        const std::vector<std::string> question = {"--limit", "1.0", "--good", "0.6",
                                                   "--bad",   "1.5", "--out",  picture.name()};
        const auto out = nlohmann::json::parse(printed_by_plan([&] {
            auto words = question;
            words.push_back("--json");
            return words;
        }()));
        CHECK(out["files"][0] == picture.name());
        const std::string first = picture.bytes();
        CHECK(first.substr(0, 4) == std::string(kind.begins).substr(0, 4));
        printed_by_plan(question);
        CHECK(picture.bytes() == first);
    }
    const PlanPicture none(".gif");
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--out", none.name()}), Contains("end the name in .png"));
    CHECK_FALSE(none.exists());
}

TEST_CASE("plan-sampling refuses what cannot be by its words") {
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--mass", "20"}),
               Contains("a portion of 25 g is larger than the sample of 20 g"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--good", "1.2", "--bad", "1.5"}),
               Contains("does not lie on both sides of 1.0 mg/kg"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--good", "0.5"}), Contains("needs a good content and a bad one"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--cost-strip", "-2"}), Contains("a cost of -2 for a strip is none"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--cost-minute", "1"}), Contains("--minutes-sample"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--samples", "0"}), Contains("judges nothing"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--portion", "nan"}), Contains("a portion of nan g is none"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--contents", "0.5,nan"}), Contains("nan"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--good", "nan", "--bad", "2"}),
               Contains("nan mg/kg cannot be judged"));
    CHECK_THAT(refused_by_plan({"--limit", "1,0"}), Contains("decimal comma"));
    CHECK_THAT(refused_by_plan({"--limit", "wheat-food"}), Contains("no store is read here"));
    CHECK_THAT(refused_by_plan({"--limit", "0"}), Contains("no limit"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--rounding", "-0.1"}), Contains("cannot be rounded to -0.1"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--shape", "flat"}), Contains("write lognormal or normal"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--good", "0.5", "--bad", "2", "--good-rejected", "0"}),
               Contains("not between 0 and 100 %"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--own-sampling", "-5"}), Contains("--own-sampling"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--masses", "500"}), Contains("need a target"));
    CHECK_THAT(refused_by_plan({"--limit", "1.0", "--undivided"}), Contains("--undivided needs a lot"));
}
