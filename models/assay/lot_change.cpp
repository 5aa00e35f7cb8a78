#include "models/assay/lot_change.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/assay/interval_law.h"
#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace lot_comparison {

double log_of(double don_mg_per_kg, const std::string& lot) {
    if (!(don_mg_per_kg > 0.0) || !std::isfinite(don_mg_per_kg)) {
        throw Error(fmt::format("a reading of {} mg/kg with kit lot {} cannot be compared", don_mg_per_kg, lot), "",
                    "leave readings below or above the range out");
    }
    return std::log(don_mg_per_kg);
}

struct Spread {
    double mean = 0.0, variance_of_mean = 0.0;
};

Spread spread_of(const std::vector<double>& logs) {
    Spread spread;
    const auto n = static_cast<double>(logs.size());
    for (const double y : logs) spread.mean += y / n;
    double squares = 0.0;
    for (const double y : logs) squares += (y - spread.mean) * (y - spread.mean);
    spread.variance_of_mean = logs.size() > 1 ? squares / (n - 1.0) / n : 0.0;
    return spread;
}

std::string percent_change(double factor) {
    const double percent = (factor - 1.0) * 100.0;
    return fmt::format("{:+.1f} %", percent == 0.0 ? 0.0 : percent);
}

void judge(LotChange& change, double difference, double variance) {
    const int least = std::min(change.old_readings, change.new_readings);
    const std::string basis = change.paired
                                  ? counted(change.new_readings, "pair")
                                  : fmt::format("{} with {} and {} with {}", counted(change.old_readings, "reading"),
                                                change.old_lot, change.new_readings, change.new_lot);
    if (least >= 1) change.factor = std::exp(difference);
    if (least >= 2) {
        const double reach = variance > 0.0
                                 ? interval_law::student_quantile(0.95, change.degrees_of_freedom) * std::sqrt(variance)
                                 : 0.0;
        change.low90 = std::exp(difference - reach);
        change.high90 = std::exp(difference + reach);
    }
    if (least < readings_for_a_lot_claim) {
        change.outcome = LotOutcome::too_few;
        change.says =
            fmt::format("{}{}: too few to claim anything about the change from kit lot {} to {}, which takes {}",
                        change.paired ? "" : change.of + ", ", basis, change.old_lot, change.new_lot,
                        change.paired ? fmt::format("{} pairs", readings_for_a_lot_claim)
                                      : fmt::format("{} of each", readings_for_a_lot_claim));
        return;
    }
    const std::string measured =
        fmt::format("kit lot {} reads {} against {} (90 % interval {} to {}; {}, {})", change.new_lot,
                    percent_change(*change.factor), change.old_lot, percent_change(*change.low90),
                    percent_change(*change.high90), change.of, basis);
    if (!change.bound) {
        change.outcome = LotOutcome::no_bound;
        change.says = measured + "; no bound was given, so nothing says whether that matters";
        return;
    }
    const double highest = 1.0 + *change.bound, lowest = 1.0 / highest;
    const std::string bound = fmt::format("the bound of {:.3g} %", *change.bound * 100.0);
    if (*change.low90 >= lowest && *change.high90 <= highest) {
        change.outcome = LotOutcome::equivalent;
        change.says = measured + ", within " + bound + ": the lots read alike";
    } else if (*change.low90 > highest || *change.high90 < lowest) {
        change.outcome = LotOutcome::changed;
        change.says = measured + ", beyond " + bound + ": the lots read differently";
    } else {
        change.outcome = LotOutcome::open;
        change.says = measured + ", which reaches over " + bound + ": open until there are more readings";
    }
}

LotChange begin(const std::string& of, const std::string& old_lot, const std::string& new_lot,
                std::optional<double> bound) {
    if (bound && (!(*bound > 0.0) || !std::isfinite(*bound))) {
        throw Error(fmt::format("a bound of {} % holds no change", *bound * 100.0), "", "give one above 0");
    }
    LotChange change;
    change.of = of;
    change.old_lot = old_lot;
    change.new_lot = new_lot;
    change.bound = bound;
    return change;
}

}  // namespace lot_comparison

LotChange lot_change_of_pairs(const std::string& old_lot, const std::string& new_lot, const std::vector<LotPair>& pairs,
                              std::optional<double> bound) {
    LotChange change = lot_comparison::begin("the same samples read with both", old_lot, new_lot, bound);
    change.paired = true;
    std::vector<double> differences;
    for (const LotPair& pair : pairs) {
        differences.push_back(lot_comparison::log_of(pair.new_mg_per_kg, new_lot) -
                              lot_comparison::log_of(pair.old_mg_per_kg, old_lot));
    }
    change.old_readings = change.new_readings = static_cast<int>(pairs.size());
    change.degrees_of_freedom = std::max(0.0, static_cast<double>(pairs.size()) - 1.0);
    const lot_comparison::Spread spread = lot_comparison::spread_of(differences);
    lot_comparison::judge(change, spread.mean, spread.variance_of_mean);
    return change;
}

LotChange lot_change_of_control(const std::string& control, const std::string& old_lot, const std::string& new_lot,
                                const std::vector<double>& old_mg_per_kg, const std::vector<double>& new_mg_per_kg,
                                std::optional<double> bound) {
    LotChange change = lot_comparison::begin("control " + control, old_lot, new_lot, bound);
    std::vector<double> old_logs, new_logs;
    for (const double y : old_mg_per_kg) old_logs.push_back(lot_comparison::log_of(y, old_lot));
    for (const double y : new_mg_per_kg) new_logs.push_back(lot_comparison::log_of(y, new_lot));
    change.old_readings = static_cast<int>(old_logs.size());
    change.new_readings = static_cast<int>(new_logs.size());
    const lot_comparison::Spread was = lot_comparison::spread_of(old_logs), is = lot_comparison::spread_of(new_logs);
    const double variance = was.variance_of_mean + is.variance_of_mean;
    if (variance > 0.0 && change.old_readings > 1 && change.new_readings > 1) {
        change.degrees_of_freedom = variance * variance /
                                    (was.variance_of_mean * was.variance_of_mean / (change.old_readings - 1) +
                                     is.variance_of_mean * is.variance_of_mean / (change.new_readings - 1));
    }
    lot_comparison::judge(change, is.mean - was.mean, variance);
    return change;
}

}  // namespace models
