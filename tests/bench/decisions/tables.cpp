#include "tests/bench/decisions/tables.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "tests/bench/honesty/estimate.h"

namespace decisions {

using honesty::Estimate;
using honesty::Record;
using honesty::Seasons;

namespace {

using BySeed = std::map<std::uint64_t, const Record*>;

/// Seasons that were tried both ways.
Seasons compared(const BySeed& ours, const BySeed& otherwise) {
    Seasons seasons;
    for (const auto& [seed, record] : ours) {
        const auto found = otherwise.find(seed);
        if (found == otherwise.end()) continue;
        honesty::Season& season = seasons.emplace_back();
        season.record = record;
        season.otherwise = found->second;
    }
    return seasons;
}

/// "-23.1 % [-31.0, -14.2]"
std::string percent(const Seasons& seasons, const honesty::Statistic& ratio) {
    const Estimate e = honesty::estimate(seasons, ratio);
    if (!std::isfinite(e.value)) return "-";
    const std::string value = fmt::format("{:+.1f} %", 100.0 * (e.value - 1.0));
    if (!std::isfinite(e.low95)) return value;
    return fmt::format("{} [{:+.1f}, {:+.1f}]", value, 100.0 * (e.low95 - 1.0), 100.0 * (e.high95 - 1.0));
}

/// Most that a way's loss may be of that of tests at random; none: no goal is set.
double goal_of(const std::string& way) {
    if (way == "first-by-5") return 0.82;
    return way == "first" ? 0.92 : 1e9;
}

}  // namespace

void print_tables(const std::vector<Record>& records) {
    std::vector<std::string> ways;
    std::map<std::string, BySeed> seasons_of;
    std::set<std::uint64_t> seeds;
    int tests = 0;
    for (const Record& record : records) {
        if (seasons_of.count(record.placement) == 0) ways.push_back(record.placement);
        seasons_of[record.placement][record.seed] = &record;
        seeds.insert(record.seed);
        tests = std::max(tests, record.tests);
    }
    if (ways.empty()) return;
    fmt::print(
        "simulated seasons: {} (seeds {} to {}) of 60 fields, two past ones with 20 tests each; {} tests placed\n"
        "loss a tonne of accept / reject at {} mg/kg: taken although over {:.0f}, turned away although not over 1\n"
        "[from, to]: 95 %, by resampling whole seasons, what is compared together. by-5: results of five are in\n"
        "before the next five are placed. expected: the loss that the fits themselves expect\n",
        seeds.size(), *seeds.begin(), *seeds.rbegin(), tests, honesty::limit_mg_per_kg, honesty::wrong_acceptance);

    fmt::print("\n{:25} {:7} {:9} {:26} {:26} {}\n", "tests placed", "loss/t", "expected", "against random",
               "against worst first", "expected, against random");
    for (const std::string& way : ways) {
        const BySeed& ours = seasons_of[way];
        const Seasons all = compared(ours, ours);
        std::string line = fmt::format("{:25} {:<7.4f} {:<9.4f}", way, honesty::loss(all), honesty::expected_loss(all));
        const Seasons random = compared(ours, seasons_of["random"]), worst = compared(ours, seasons_of["worst-first"]);
        if (way != "random" && !random.empty()) {
            const bool missed = honesty::loss_over_otherwise(random) > goal_of(way);
            line += fmt::format(" {:26}", percent(random, honesty::loss_over_otherwise) + (missed ? " *" : ""));
        } else {
            line += fmt::format(" {:26}", "");
        }
        const bool beside_worst = way != "worst-first" && !worst.empty();
        line += fmt::format(" {:26}", beside_worst ? percent(worst, honesty::loss_over_otherwise) : "");
        if (way != "random" && !random.empty()) line += " " + percent(random, honesty::expected_loss_over_otherwise);
        fmt::print("{}\n", line.substr(0, line.find_last_not_of(' ') + 1));
    }
    fmt::print("goal: first-by-5 at least 18 % below random, first at least 8 %; both below worst first. *: missed\n");

    const std::vector<std::pair<const char*, double Record::*>> parameters{{"season sd", &Record::season_sd},
                                                                           {"field sd", &Record::field_sd},
                                                                           {"region sd", &Record::region_sd},
                                                                           {"slope", &Record::slope}};
    fmt::print("\nagainst random, by thirds (lowest, middle, highest) of\n{:25}", "tests placed");
    for (const auto& [name, parameter] : parameters) fmt::print("  {:20}", name);
    fmt::print("\n");
    for (const std::string& way : ways) {
        if (way == "random" || way == "none") continue;
        const Seasons random = compared(seasons_of[way], seasons_of["random"]);
        if (random.size() < 3) continue;
        std::string line = fmt::format("{:25}", way);
        for (const auto& [name, parameter] : parameters) {
            line += "  ";
            for (const Seasons& third : honesty::thirds(random, parameter))
                line +=
                    fmt::format("{:<7}", fmt::format("{:+.0f} %", 100.0 * (honesty::loss_over_otherwise(third) - 1.0)));
            line.resize(line.size() - 1);
        }
        fmt::print("{}\n", line.substr(0, line.find_last_not_of(' ') + 1));
    }
}

}  // namespace decisions
