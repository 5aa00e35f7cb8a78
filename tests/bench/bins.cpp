// How much of what could be known a plan of bins makes use of: seasons of tests/support/season_simulator.h, whose truth
// is known, planned ahead by the program's own plan (models/decision/bin_plan.h) three times: with no result of the
// season, with some tests, and with the truth itself. Each plan is then paid by the truth.
//     closed = (value with tests - value without) / (value with the truth - value without)
// Then the same grain with the same tests arrives field after field and each is sent on its own, in view of what lies
// in the bins by then (live), and into the first bin with room (first come):
//     lost live = (value with tests - value live) / (value with tests - value of first come)
// And the bins under a limit as the plan with tests leaves them: how many are foretold to be over it, how many are.
// One line a number of tests, with what 95 % of the resampled sets of seasons would give; a study, which never passes
// or fails. Usage: bench_bins [seasons] [first seed] [tests,tests,...]

#include <algorithm>
#include <charconv>
#include <random>
#include <sstream>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "models/decision/bin_plan.h"
#include "models/decision/bin_value.h"
#include "models/decision/expected.h"
#include "models/memory.h"
#include "tests/support/simulated_input.h"

namespace {

constexpr int draws = 1000;
constexpr int fields = 60;

/// Fields of 20 to 140 t, three food bins under 1.0 mg/kg that a contract pays for by its steps, one feed bin that
/// takes all that is under 5, and two on hold for a fifth of the grain. Prices are invented.
models::BinPlanProblem harvest(std::uint64_t seed) {
    models::BinPlanProblem problem;
    double all_t = 0.0;
    for (int f = 0; f < fields; ++f) {
        models::WaitingGrain grain;
        grain.name = "F" + std::to_string(f);
        grain.kind = models::GrainKind::field;
        grain.mass_t = 20.0 + static_cast<double>((seed * 7919 + static_cast<std::uint64_t>(f) * 104729) % 121);
        grain.may_split = true;
        all_t += grain.mass_t;
        problem.grain.push_back(grain);
    }
    const auto add = [&](const char* name, models::Purpose purpose, double capacity_t, double limit_mg_per_kg) {
        models::BinForPlan bin;
        bin.bin.bin = name;
        bin.bin.purpose = purpose;
        bin.bin.capacity_t = capacity_t;
        if (limit_mg_per_kg > 0.0) {
            bin.limit.emplace();
            bin.limit->limit_id = purpose == models::Purpose::food ? "mill" : "feed";
            bin.limit->limit_mg_per_kg = limit_mg_per_kg;
            bin.limit->rounding_mg_per_kg = 0.01;
        }
        problem.bins.push_back(bin);
    };
    for (const char* name : {"S1", "S2", "S3"}) add(name, models::Purpose::food, 0.3 * all_t, 1.0);
    add("E1", models::Purpose::feed, all_t, 5.0);
    for (const char* name : {"H1", "H2"}) add(name, models::Purpose::hold, 0.1 * all_t, 0.0);
    models::ContractForPlan mill;
    mill.contract = mill.limit_id = "mill";
    mill.price_per_t = 217.0;
    mill.steps = {{0.5, -5.0}};
    models::ContractForPlan feed;  // so that grain over the feed limit is paid as little there as it would be
    feed.contract = feed.limit_id = "feed";
    feed.price_per_t = 162.0;
    problem.prices = models::PlanPrices{217.0, 162.0, 0.0, 41.0, {mill, feed}};
    return problem;
}

struct Known {
    std::vector<models::Sent> sent;
    double gap = 0.0;
};

Known planned(models::BinPlanProblem problem, const Eigen::MatrixXd& contents) {
    problem.draws_mg_per_kg = contents;
    const models::BinPlan plan = models::plan_bins(problem);
    const auto broken = models::broken_rules(problem, plan);
    if (!broken.empty()) fmt::print("a plan breaks a rule: {}\n", broken.front());
    Known known;
    known.gap = plan.proof.gap;
    for (const models::Assignment& one : plan.assignments) {
        for (std::size_t b = 0; b < problem.bins.size(); ++b) {
            if (problem.bins[b].bin.bin == one.bin)
                known.sent.push_back({static_cast<std::size_t>(std::stoi(one.name.substr(1))), b, one.mass_t});
        }
    }
    return known;
}

/// Field after field, each planned for on its own with what lies in the bins by then.
std::vector<models::Sent> sent_live(const models::BinPlanProblem& tested, const Eigen::MatrixXd& contents) {
    std::vector<models::Sent> sent;
    std::vector<models::BinForPlan> bins = tested.bins;
    for (std::size_t f = 0; f < tested.grain.size(); ++f) {
        models::BinPlanProblem now = tested;
        now.bins = bins;
        now.grain = {tested.grain[f]};
        now.draws_mg_per_kg = contents.col(static_cast<Eigen::Index>(f));
        const models::BinPlan plan = models::plan_bins(now);
        for (const models::Assignment& one : plan.assignments) {
            const auto bin =
                std::find_if(bins.begin(), bins.end(), [&](const auto& b) { return b.bin.bin == one.bin; });
            sent.push_back({f, static_cast<std::size_t>(bin - bins.begin()), one.mass_t});
            const double together_t = bin->content_t + one.mass_t;
            const Eigen::VectorXd added = one.mass_t * now.draws_mg_per_kg;
            bin->content_draws_mg_per_kg =
                bin->content_t > 0.0
                    ? Eigen::VectorXd((bin->content_t * bin->content_draws_mg_per_kg + added) / together_t)
                    : Eigen::VectorXd(added / together_t);
            bin->content_t = together_t;
        }
    }
    return sent;
}

/// The first bin with room, food before feed before hold, whatever the results say.
std::vector<models::Sent> sent_first_come(const models::BinPlanProblem& problem) {
    std::vector<models::Sent> sent;
    std::vector<double> room_t;
    for (const models::BinForPlan& bin : problem.bins) room_t.push_back(bin.bin.capacity_t);
    for (std::size_t f = 0; f < problem.grain.size(); ++f) {
        double left_t = problem.grain[f].mass_t;
        for (std::size_t b = 0; b < room_t.size() && left_t > 0.0; ++b) {
            const double goes_t = std::min(left_t, room_t[b]);
            if (goes_t <= 0.0) continue;
            sent.push_back({f, b, goes_t});
            room_t[b] -= goes_t;
            left_t -= goes_t;
        }
    }
    return sent;
}

/// What the plans of one season are worth, paid by the truth, and what the plan with tests says of its bins.
struct Paid {
    double without = 0.0, with = 0.0, truth = 0.0, live = 0.0, first_come = 0.0, gap = 0.0;
    double bins = 0.0, over_foretold = 0.0, over = 0.0;
};

Paid sum_of(const std::vector<Paid>& seasons, const std::vector<std::size_t>& of) {
    Paid sum;
    for (const std::size_t s : of) {
        const Paid& one = seasons[s];
        sum.without += one.without;
        sum.with += one.with;
        sum.truth += one.truth;
        sum.live += one.live;
        sum.first_come += one.first_come;
        sum.gap = std::max(sum.gap, one.gap);
        sum.bins += one.bins;
        sum.over_foretold += one.over_foretold;
        sum.over += one.over;
    }
    return sum;
}

double closed_pct(const Paid& sum) {
    return 100.0 * (sum.with - sum.without) / (sum.truth - sum.without);
}
double lost_live_pct(const Paid& sum) {
    return 100.0 * (sum.with - sum.live) / (sum.with - sum.first_come);
}

void look_at_bins(const models::BinPlanProblem& problem, const Eigen::MatrixXd& contents,
                  const Eigen::MatrixXd& true_contents, const std::vector<models::Sent>& sent, Paid& into) {
    auto by = problem;
    for (std::size_t b = 0; b < problem.bins.size(); ++b) {
        if (!problem.bins[b].limit) continue;
        by.draws_mg_per_kg = contents;
        const auto foretold = models::mean_after(by, b, sent);
        by.draws_mg_per_kg = true_contents;
        const auto is = models::mean_after(by, b, sent);
        if (!foretold || !is) continue;
        into.bins += 1.0;
        into.over_foretold += models::exceedance_of_draws(*foretold, *problem.bins[b].limit);
        into.over += models::exceedance_of_draws(*is, *problem.bins[b].limit);
    }
}

/// 2.5 and 97.5 of a hundred of 2,000 sets of as many seasons, drawn with replacement from a fixed seed.
std::pair<double, double> resampled(const std::vector<Paid>& seasons, double of_sum(const Paid&)) {
    std::mt19937_64 random(1);
    std::vector<double> all;
    for (int r = 0; r < 2000; ++r) {
        std::vector<std::size_t> of(seasons.size());
        for (std::size_t& s : of) s = static_cast<std::size_t>(random() % seasons.size());
        all.push_back(of_sum(sum_of(seasons, of)));
    }
    std::sort(all.begin(), all.end());
    return {all[all.size() / 40], all[all.size() - 1 - all.size() / 40]};
}

Eigen::MatrixXd drawn(const models::ContaminationInput& input, std::uint64_t seed, int past_seasons) {
    const auto model = models::fit_contamination(input);
    return Eigen::MatrixXd(model.draws(draws, seed).middleCols(past_seasons * fields, fields));
}

Paid season_of(std::uint64_t seed, season_simulator::Placement placement, int tests) {
    season_simulator::World world;
    world.fields = fields;
    world.placement = placement;
    world.tests = tests;
    const auto simulated = season_simulator::simulate(world, seed);
    const int last = world.past_seasons;
    world.tests = 0;
    const auto past = season_simulator::simulate(world, seed);
    const auto untested = harvest(seed);
    auto tested = untested;
    for (const auto& reading : simulated.readings) {
        if (reading.season != last) continue;
        models::OwnResult own;
        own.test = own.sample = "T";
        own.reading = reading.side < 0   ? models::Reading::below
                      : reading.side > 0 ? models::Reading::above
                                         : models::Reading::value;
        own.don_mg_per_kg = reading.mg_per_kg;
        tested.grain[static_cast<std::size_t>(reading.field)].results.push_back(own);
    }
    Eigen::MatrixXd true_contents(1, fields);
    for (int f = 0; f < fields; ++f)
        true_contents(0, f) = simulated.content_mg_per_kg.back()[static_cast<std::size_t>(f)];
    season_simulator::WrittenDown written;
    written.chosen_because =
        placement == season_simulator::Placement::random ? models::ChosenBecause::random : models::ChosenBecause::risk;
    const Known blind = planned(untested, drawn(season_simulator::input_of(past, written), seed, last));
    const Eigen::MatrixXd told = drawn(season_simulator::input_of(simulated, written), seed, last);
    const Known seen = planned(tested, told);
    const Known knowing = planned(untested, true_contents);
    auto paying = untested;
    paying.draws_mg_per_kg = true_contents;
    Paid paid{models::money_of(paying, blind.sent),
              models::money_of(paying, seen.sent),
              models::money_of(paying, knowing.sent),
              models::money_of(paying, sent_live(tested, told)),
              models::money_of(paying, sent_first_come(paying)),
              std::max({blind.gap, seen.gap, knowing.gap})};
    look_at_bins(tested, told, true_contents, seen.sent, paid);
    return paid;
}

}  // namespace

int main(int argc, char** argv) {
    models::keep_freed_memory();
    int seasons = 20;
    std::uint64_t first_seed = 1;
    std::vector<int> numbers_of_tests{10, 20, 40, 60};
    const auto number = [](std::string_view text, auto& value) {
        std::from_chars(text.data(), text.data() + text.size(), value);
    };
    if (argc > 1) number(argv[1], seasons);
    if (argc > 2) number(argv[2], first_seed);
    if (argc > 3) {
        numbers_of_tests.clear();
        std::istringstream list(argv[3]);
        for (std::string one; std::getline(list, one, ',');) number(one, numbers_of_tests.emplace_back());
    }
    fmt::print(
        "tests,placed,seasons,value_without,value_with,value_truth,closed_pct,low95,high95,largest_gap_pct,value_live,"
        "value_first_come,lost_live_pct,low95,high95,bins_under_a_limit,over_foretold,over\n");
    for (const auto placement : {season_simulator::Placement::random, season_simulator::Placement::worst_first}) {
        for (const int tests : numbers_of_tests) {
            std::vector<Paid> paid;
            std::vector<std::size_t> all;
            for (int season = 0; season < seasons; ++season) {
                all.push_back(paid.size());
                paid.push_back(season_of(first_seed + static_cast<std::uint64_t>(season), placement, tests));
            }
            const Paid sum = sum_of(paid, all);
            const auto [low, high] = resampled(paid, closed_pct);
            const auto [live_low, live_high] = resampled(paid, lost_live_pct);
            fmt::print("{},{},{},{:.0f},{:.0f},{:.0f},{:.1f},{:.1f},{:.1f},{:.2f},{:.0f},{:.0f},{:.1f},{:.1f},{:.1f},",
                       tests, placement == season_simulator::Placement::random ? "random" : "worst first", seasons,
                       sum.without / seasons, sum.with / seasons, sum.truth / seasons, closed_pct(sum), low, high,
                       100.0 * sum.gap, sum.live / seasons, sum.first_come / seasons, lost_live_pct(sum), live_low,
                       live_high);
            fmt::print("{:.0f},{:.2f},{:.0f}\n", sum.bins, sum.over_foretold, sum.over);
            std::fflush(stdout);
        }
    }
}
