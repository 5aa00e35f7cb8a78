// How honest the contamination model is: simulated seasons of 60 fields with two past ones, deviations and slope drawn
// anew for each. Coverage of the 50 and 90 % intervals, reliability of the exceedance, pinball and decision loss
// against the same model under the season's true parameters ("exact").
//   bench_honesty [seasons = 200] [seconds of patience = none]
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <string>
#include <vector>

#include <Eigen/Core>
#include <fmt/format.h>

#include "models/contamination/contamination.h"
#include "tests/support/season_simulator.h"

namespace {

using namespace models;
using season_simulator::Placement;
using season_simulator::SimulatedSeasons;
using season_simulator::World;

constexpr double limit_mg_per_kg = 1.0;

ContaminationInput input_of(const SimulatedSeasons& s, int increments) {
    ContaminationInput input;
    const std::size_t fields = s.risk_logit[0].size();
    for (std::size_t y = 0; y < s.risk_logit.size(); ++y)
        for (std::size_t f = 0; f < fields; ++f)
            input.field_seasons.push_back({"F" + std::to_string(f), "", static_cast<int>(y), s.risk_logit[y][f]});
    for (std::size_t i = 0; i < s.readings.size(); ++i) {
        const season_simulator::Reading& r = s.readings[i];
        GrainSample sample;
        sample.sample = "S" + std::to_string(i);
        sample.index = static_cast<std::size_t>(r.season) * fields + static_cast<std::size_t>(r.field);
        sample.increments = increments;
        input.samples.push_back(sample);
        AssayResult result;
        result.test = "T" + std::to_string(i);
        result.sample = i;
        result.reading = r.side < 0 ? Reading::below : r.side > 0 ? Reading::above : Reading::value;
        result.don_mg_per_kg = r.mg_per_kg;
        input.results.push_back(result);
    }
    return input;
}

/// Priors that know this season's deviations, slope and level.
ContaminationPriors truth_of(const SimulatedSeasons& s) {
    ContaminationPriors priors;
    priors.level_mean = s.level;
    priors.slope_mean = s.slope;
    priors.level_sd = priors.slope_sd = 1e-6;
    priors.fixed = {true, s.season_sd, s.field_sd, s.within_sd, 0.0};
    return priors;
}

struct Score {
    double held90 = 0.0, held50 = 0.0, pinball = 0.0, loss = 0.0, brier = 0.0;
    std::array<double, 10> predicted{}, observed{}, count{};
    double fields = 0.0;
    std::vector<double> held_by_season;

    void add(const ContaminationModel& model, const std::vector<double>& truth, std::size_t first) {
        double held = 0.0;
        for (std::size_t f = 0; f < truth.size(); ++f) {
            const Content c = *model.field_season(first + f);
            const double p = *model.exceedance(first + f, limit_mg_per_kg);
            const bool over = truth[f] > limit_mg_per_kg;
            held += truth[f] >= c.low90 && truth[f] <= c.high90 ? 1.0 : 0.0;
            held50 += truth[f] >= c.low50 && truth[f] <= c.high50 ? 1.0 : 0.0;
            const std::array<std::pair<double, double>, 5> quantiles{
                {{0.05, c.low90}, {0.25, c.low50}, {0.5, c.median}, {0.75, c.high50}, {0.95, c.high90}}};
            for (const auto& [q, at] : quantiles) {
                const double d = std::log(truth[f]) - std::log(at);
                pinball += d > 0.0 ? q * d : (q - 1.0) * d;
            }
            // A tonne over the limit that is taken costs four times one under it that is turned away.
            const bool taken = 4.0 * p < 1.0 - p;
            loss += taken ? (over ? 4.0 : 0.0) : (over ? 0.0 : 1.0);
            brier += (p - over) * (p - over);
            const auto bin = static_cast<std::size_t>(std::min(static_cast<int>(p * 10.0), 9));
            predicted[bin] += p;
            observed[bin] += over;
            count[bin] += 1.0;
        }
        held90 += held;
        fields += static_cast<double>(truth.size());
        held_by_season.push_back(held / static_cast<double>(truth.size()));
    }
    double reliability() const {
        double sum = 0.0;
        for (std::size_t b = 0; b < 10; ++b)
            if (count[b] > 0.0) sum += count[b] * std::pow((predicted[b] - observed[b]) / count[b], 2);
        return sum / fields;
    }
    /// Standard error of the coverage: fields of one season are not independent, seasons are.
    double held_error() const {
        const double n = static_cast<double>(held_by_season.size()), mean = held90 / fields;
        double sum = 0.0;
        for (const double h : held_by_season) sum += (h - mean) * (h - mean);
        return std::sqrt(sum / (n * (n - 1.0)));
    }
};

void study(const char* name, const World& world, int seasons, bool against_exact) {
    Score ours, exact;
    double seconds = 0.0, effective = 0.0, rounds = 0.0;
    int unsettled = 0;
    for (int n = 0; n < seasons; ++n) {
        const SimulatedSeasons s = season_simulator::simulate(world, static_cast<std::uint64_t>(n));
        const ContaminationInput input = input_of(s, world.increments);
        const std::size_t first = static_cast<std::size_t>(world.past_seasons * world.fields);
        const auto start = std::chrono::steady_clock::now();
        const ContaminationModel model = fit_contamination(input);
        seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        ours.add(model, s.content_mg_per_kg.back(), first);
        effective += model.learnt().effective_points;
        rounds += model.learnt().rounds;
        unsettled += model.learnt().unsettled;
        if (against_exact) exact.add(fit_contamination(input, truth_of(s)), s.content_mg_per_kg.back(), first);
    }
    fmt::print("{:26} {:5.3f}+-{:5.3f} {:5.3f} {:8.5f} {:7.4f}", name, ours.held90 / ours.fields, ours.held_error(),
               ours.held50 / ours.fields, ours.reliability(), ours.brier / ours.fields);
    if (against_exact)
        fmt::print("  {:5.3f} {:6.3f}   {:5.3f}", ours.pinball / exact.pinball, ours.loss / exact.loss,
                   exact.held90 / exact.fields);
    else
        fmt::print("  {:5} {:>6}   {:5}", "-", "-", "-");
    fmt::print("  {:5.0f} {:4.1f} {:3} {:6.3f}\n", effective / seasons, rounds / seasons, unsettled, seconds / seasons);
    std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
    const int seasons = argc > 1 ? std::stoi(argv[1]) : 200;
    fmt::print("{} simulated seasons each; limit {} mg/kg; +- is one standard error between seasons\n", seasons,
               limit_mg_per_kg);
    fmt::print("{:26} {:>13} {:>5} {:>8} {:>7}  {:>5} {:>6}   {:>5}  {:>5} {:>4} {:>3} {:>6}\n", "tests, placed",
               "90 % hold", "50 %", "reliab.", "Brier", "pinb.", "loss", "exact", "eff.", "rds", "uns", "s");
    for (const int tests : {0, 1, 5, 10, 20, 40})
        for (const Placement placement : {Placement::random, Placement::worst_first}) {
            if (tests == 0 && placement == Placement::worst_first) continue;
            World world;
            world.tests = tests;
            world.placement = placement;
            study(fmt::format("{} {}", tests,
                              tests == 0                       ? ""
                              : placement == Placement::random ? "random"
                                                               : "worst first")
                      .c_str(),
                  world, seasons, true);
        }
    fmt::print("worlds that the model does not assume, 20 tests at random\n");
    World biased;
    biased.lot_bias = 0.3;
    study("kit lot reads 35 % high", biased, seasons, false);
    World heavy;
    heavy.heavy_tails = true;
    study("heavy tails of fields", heavy, seasons, false);
    World bent;
    bent.bent_slope = 0.3;
    study("bent effect of the risk", bent, seasons, false);
    World none;
    none.slope_low = none.slope_high = 0.0;
    study("risk without effect", none, seasons, false);
    World free;
    free.free_share = 0.2;
    study("a fifth of fields clean", free, seasons, false);
}
