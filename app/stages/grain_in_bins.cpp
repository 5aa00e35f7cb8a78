#include "app/stages/grain_in_bins.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "models/decision/limit_rule.h"

namespace app {

namespace grain_in_bins_parts {

constexpr double over_capacity_by_t = 0.05;  // less is the rounding of tonnages, ours

/// What its own results say of a load against one limit; nullopt where one meets it and none is over.
std::optional<UnclearedLoad> uncleared_for(const std::vector<models::OwnResult>& results, const models::Limit& limit) {
    UnclearedLoad found;
    bool meets = false;
    for (const models::OwnResult& reported : results) {
        const models::OwnResult result = models::on_basis(reported, limit.basis);
        switch (models::outcome_of(result.reading, result.don_mg_per_kg, limit)) {
            case models::LimitOutcome::breaks:
                found.why = UnclearedLoad::Why::over;
                found.test = result.test;
                found.reason =
                    fmt::format("its test {} is over ({} breaks the limit)", result.test, models::in_words(limit));
                return found;
            case models::LimitOutcome::meets:
                meets = true;
                break;
            case models::LimitOutcome::undecided:
                found.why = UnclearedLoad::Why::cannot_decide;
                found.reason = fmt::format("its test {} cannot tell whether it is over", result.test);
                break;
        }
    }
    if (meets) return std::nullopt;
    if (found.reason.empty()) found.reason = "it has no result of its own";
    return found;
}

models::LocalDay last_day(const SeasonData& data) {
    return data.moves.empty() ? models::LocalDay{} : data.moves.back().time.local_day();
}

}  // namespace grain_in_bins_parts

LimitOfBin limit_of_bin(const SeasonData& data, const models::Bin& bin, models::LocalDay day) {
    const std::string& id = bin.limit_id;
    const bool needs_one = bin.purpose == models::Purpose::food || bin.purpose == models::Purpose::feed;
    if (id.empty()) {
        return {std::nullopt, needs_one ? "it has no limit_id, and grain for food or feed needs one" : ""};
    }
    const auto found = std::find_if(data.limits.begin(), data.limits.end(),
                                    [&id](const models::Limit& limit) { return limit.limit_id == id; });
    if (found == data.limits.end()) return {std::nullopt, fmt::format("its limit {} is not in the store", id)};
    if (!models::holds_on(*found, day)) {
        return {std::nullopt,
                fmt::format("its limit {} is not in force at this harvest ({})", id, models::to_text(day))};
    }
    return {*found, ""};
}

Moistures::Moistures(const SeasonData& data) {
    for (const models::Sample& sample : data.samples) {
        if (!sample.load.empty() && sample.moisture_pct) of_load_[sample.load] = *sample.moisture_pct / 100.0;
    }
    std::vector<double> known;
    for (const models::Load& load : data.loads) {
        if (!load.moisture_pct) continue;
        of_load_[load.load] = *load.moisture_pct / 100.0;
        known.push_back(*load.moisture_pct / 100.0);
    }
    if (known.empty()) return;
    std::sort(known.begin(), known.end());
    median_ = known[known.size() / 2];
}

Moistures::Moisture Moistures::of(const std::string& source) const {
    const auto found = of_load_.find(source);
    return found == of_load_.end() ? Moisture{median_, false} : Moisture{found->second, true};
}

std::vector<models::OwnResult> results_of_load(const SeasonData& data, const Moistures& moistures,
                                               const std::string& load) {
    std::vector<models::OwnResult> results;
    for (const models::Test& test : data.tests) {
        if (test.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, test.sample);
        if (!s || data.samples[*s].load != load) continue;
        const models::Sample& sample = data.samples[*s];
        const double moisture = sample.moisture_pct ? *sample.moisture_pct / 100.0 : moistures.of(load).fraction;
        results.push_back({test.test, test.reading, test.don_mg_per_kg, test.method, test.basis, moisture});
    }
    return results;
}

std::vector<UnclearedLoad> uncleared_loads(const SeasonData& data, const models::BinLedger& ledger,
                                           models::LocalDay day) {
    std::vector<UnclearedLoad> all;
    const Moistures moistures(data);
    std::set<std::string> loads;
    for (const models::Load& load : data.loads) loads.insert(load.load);
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const auto limit = limit_of_bin(data, data.bins[b], day).limit;
        if (!limit) continue;
        for (const models::GrainPortion& portion : ledger.bins[b].by_source()) {
            if (loads.count(portion.source) == 0) continue;  // opening content: nobody tested it as a load
            auto found = grain_in_bins_parts::uncleared_for(results_of_load(data, moistures, portion.source), *limit);
            if (!found) continue;
            found->load = portion.source;
            found->bin = data.bins[b].bin;
            found->mass_t = portion.mass_t();
            all.push_back(std::move(*found));
        }
    }
    return all;
}

std::string in_words(UnclearedLoad::Why why) {
    switch (why) {
        case UnclearedLoad::Why::no_result:
            return "missing";
        case UnclearedLoad::Why::over:
            return "over";
        case UnclearedLoad::Why::cannot_decide:
            return "cannot decide";
    }
    return "";
}

std::string in_words(const UnclearedLoad& load) {
    return fmt::format("load {} ({:.1f} t) lies in bin {} uncleared: {}", load.load, load.mass_t, load.bin,
                       load.reason);
}

std::vector<OverfullBin> overfull_bins(const SeasonData& data, const models::BinLedger& ledger) {
    std::vector<OverfullBin> all;
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const double content_t = ledger.bins[b].mass_t();
        if (content_t > data.bins[b].capacity_t + grain_in_bins_parts::over_capacity_by_t) {
            all.push_back({data.bins[b].bin, content_t, data.bins[b].capacity_t});
        }
    }
    return all;
}

std::string in_words(const OverfullBin& bin) {
    return fmt::format("bin {} holds {:.1f} t and takes {:.1f} t: {:.1f} t more than its capacity", bin.bin,
                       bin.content_t, bin.capacity_t, bin.content_t - bin.capacity_t);
}

GrainNow grain_now(const SeasonData& data) {
    const models::BinLedger ledger = models::ledger_of_moves(data.bins, data.loads, data.moves);
    return {uncleared_loads(data, ledger, grain_in_bins_parts::last_day(data)), overfull_bins(data, ledger)};
}

std::vector<std::string> warnings_of_move(const SeasonData& data, const std::string& name) {
    const auto move = std::find_if(data.moves.begin(), data.moves.end(),
                                   [&name](const models::Move& one) { return one.move == name; });
    std::vector<std::string> warnings;
    if (move == data.moves.end()) return warnings;
    const GrainNow now = grain_now(data);
    for (const OverfullBin& bin : now.overfull) {
        if (bin.bin == move->to) warnings.push_back(in_words(bin));
    }
    const bool from_bin =
        std::any_of(data.bins.begin(), data.bins.end(), [&](const models::Bin& bin) { return bin.bin == move->from; });
    for (const UnclearedLoad& load : now.uncleared) {
        if (load.bin == move->to && (from_bin || load.load == move->from)) warnings.push_back(in_words(load));
    }
    return warnings;
}

}  // namespace app
