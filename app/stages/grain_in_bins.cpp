#include "app/stages/grain_in_bins.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/stages/test_content.h"
#include "geo/tables/words.h"
#include "models/decision/bin_plan_score.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace grain_in_bins_parts {

constexpr double over_capacity_by_t = 0.05;  // less is the rounding of tonnages, ours

/// What its own results say of a load against one limit; nullopt where one meets it and none is over.
std::optional<UnclearedLoad> uncleared_for(const std::vector<models::OwnResult>& results, const models::Limit& limit) {
    UnclearedLoad found;
    bool meets = false;
    for (const models::OwnResult& reported : results) {
        if (models::answered_by_laboratory(reported, results)) continue;
        const models::OwnResult result = models::on_basis(reported, limit.basis);
        switch (models::outcome_of(result.reading, result.don_mg_per_kg, limit)) {
            case models::LimitOutcome::breaks:
                found.why = UnclearedLoad::Why::over;
                found.test = result.test;
                found.reason =
                    models::phrase("its test {} is over ({} breaks the limit)", result.test, models::in_words(limit));
                return found;
            case models::LimitOutcome::meets:
                meets = true;
                break;
            case models::LimitOutcome::undecided:
                found.why = UnclearedLoad::Why::cannot_decide;
                found.reason = models::phrase("its test {} cannot tell whether it is over", result.test);
                break;
        }
    }
    if (meets) return std::nullopt;
    if (found.reason.empty()) found.reason = models::phrase("it has no result of its own");
    return found;
}

std::string commodity_of(const models::Load& load) {
    return load.commodity ? std::string(geo::words::word(*load.commodity)) : std::string();
}

/// "durum with the tag organic", "wheat without a tag"
std::string what_it_is(const models::Load& load) {
    const std::string grain = load.commodity ? models::in_words(*load.commodity) : models::phrase("grain");
    return load.keep_apart.empty() ? models::phrase("{} without a tag", grain)
                                   : models::phrase("{} with the tag {}", grain, load.keep_apart);
}

/// Why the load does not belong into the bin; empty where it may lie there.
std::string why_not_there(const models::Load& load, const models::Bin& bin, const std::optional<models::Limit>& limit) {
    const std::string grain = commodity_of(load);
    if (!bin.keep_apart.empty() && load.keep_apart != bin.keep_apart &&
        !(load.keep_apart.empty() && grain == bin.keep_apart)) {
        return models::phrase("bin {} keeps {} apart, and it is {}", bin.bin, bin.keep_apart, what_it_is(load));
    }
    if (!limit || grain.empty() || bin.purpose == models::Purpose::hold) return "";
    // A limit may speak of more than one crop ("cereals") or of a kind of one ("soft wheat"): no word of ours.
    const std::vector<std::string> crops = geo::words::of<models::Crop>();
    if (std::find(crops.begin(), crops.end(), limit->commodity) == crops.end()) return "";
    models::BinForPlan for_plan;
    for_plan.limit = limit;
    models::WaitingGrain waiting;
    waiting.commodity = grain;
    if (models::speaks_of(for_plan, waiting)) return "";
    return models::phrase("the limit of bin {} is for {}, and it is {}", bin.bin, limit->commodity,
                          models::in_words(*load.commodity));
}

/// Why two loads may not meet; empty where they may.
std::string why_not_together(const models::Load& load, const models::Load& other) {
    const bool other_grain = load.commodity && other.commodity && *load.commodity != *other.commodity;
    if (load.keep_apart == other.keep_apart && !other_grain) return "";
    return models::phrase("it is {}, and load {} there is {}", what_it_is(load), other.load, what_it_is(other));
}

/// Of one load in its bin, against the loads that were there before it.
std::optional<MisplacedLoad> misplaced_in(const SeasonData& data, const models::Bin& bin,
                                          const std::optional<models::Limit>& limit,
                                          const models::GrainPortion& portion,
                                          const std::vector<models::GrainPortion>& met) {
    const models::Load* load = load_named(data, portion.source);
    if (load == nullptr) return std::nullopt;
    std::string reason = why_not_there(*load, bin, limit);
    for (std::size_t i = 0; i < met.size() && reason.empty(); ++i) {
        const models::Load* other = load_named(data, met[i].source);
        if (other != nullptr && other != load) reason = why_not_together(*load, *other);
    }
    if (reason.empty()) return std::nullopt;
    return MisplacedLoad{load->load, bin.bin, portion.mass_t(), std::move(reason)};
}

/// How much a place asks of grain.
int asks(models::Purpose purpose) {
    switch (purpose) {
        case models::Purpose::food:
            return 3;
        case models::Purpose::feed:
            return 2;
        case models::Purpose::other:
            return 1;
        case models::Purpose::hold:
            break;
    }
    return 0;
}

/// Which loads lie where more is asked than where they were advised to go.
class AgainstAdvice {
 public:
    AgainstAdvice(const SeasonData& data, int season) {
        std::map<std::string, int> asked;  // of a bin; what is no bin here, as "none", asks nothing
        for (const models::Bin& bin : data.bins) asked[bin.bin] = asks(bin.purpose);
        for (const models::Move& move : data.moves) {
            if (move.advised_bin.empty() || move.advised_bin == move.to ||
                models::year_of(move.time.local_day()) > season)
                continue;
            const int advised = asked[move.advised_bin];
            if (advised >= asked[move.to]) continue;
            const auto [found, is_first] = advised_.emplace(move.from, advised);
            if (!is_first) found->second = std::min(found->second, advised);
        }
    }
    bool operator()(const std::string& load, const models::Bin& lies_in) const {
        const auto found = advised_.find(load);
        return found != advised_.end() && found->second < asks(lies_in.purpose);
    }

 private:
    std::map<std::string, int> advised_;  // the least that was asked of it where it was to go
};

models::LocalDay last_day(const SeasonData& data) {
    return data.moves.empty() ? models::LocalDay{} : data.moves.back().time.local_day();
}

}  // namespace grain_in_bins_parts

LimitOfBin limit_of_bin(const SeasonData& data, const models::Bin& bin, models::LocalDay day) {
    const std::string& id = bin.limit_id;
    const bool needs_one = bin.purpose == models::Purpose::food || bin.purpose == models::Purpose::feed;
    if (id.empty()) {
        return {std::nullopt,
                needs_one ? models::phrase("it has no limit_id, and grain for food or feed needs one") : ""};
    }
    const auto found = std::find_if(data.limits.begin(), data.limits.end(),
                                    [&id](const models::Limit& limit) { return limit.limit_id == id; });
    if (found == data.limits.end()) return {std::nullopt, models::phrase("its limit {} is not in the store", id)};
    if (!models::holds_on(*found, day)) {
        return {std::nullopt,
                models::phrase("its limit {} is not in force at this harvest ({})", id, models::to_text(day))};
    }
    return {*found, ""};
}

Moistures::Moistures(const SeasonData& data) {
    for (const models::Sample& sample : data.samples) {
        if (!sample.load.empty() && sample.moisture_pct) of_load_[sample.load] = *sample.moisture_pct / 100.0;
    }
    std::vector<double> known;
    of_load_.reserve(data.loads.size());
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

ResultsOfLoads::ResultsOfLoads(const SeasonData& data, const Moistures& moistures) {
    for (const models::Test& recorded : data.tests) {
        if (recorded.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, recorded.sample);
        if (!s) continue;
        const GrainOfSample grain = grain_of_sample(data, *s);
        if (grain.load.empty()) continue;
        const models::Test test = as_decided_on(recorded, data.strips);
        const auto measured_pct = with_moisture(data, *s).moisture_pct;
        const double moisture = measured_pct ? *measured_pct / 100.0 : moistures.of(grain.load).fraction;
        of_load_[grain.load].push_back({test.test, test.reading, test.don_mg_per_kg, test.method, test.basis, moisture,
                                        data.samples[grain.taken].sample});
    }
}

const std::vector<models::OwnResult>& ResultsOfLoads::of(const std::string& load) const {
    static const std::vector<models::OwnResult> none;
    const auto found = of_load_.find(load);
    return found == of_load_.end() ? none : found->second;
}

std::vector<LoadUnderLimit> loads_under_limits(const SeasonData& data, const models::BinLedger& ledger,
                                               models::LocalDay day) {
    std::vector<LoadUnderLimit> all;
    const grain_in_bins_parts::AgainstAdvice against(data, models::year_of(day));
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const auto limit = limit_of_bin(data, data.bins[b], day).limit;
        if (!limit) continue;
        for (const models::GrainPortion& portion : ledger.bins[b].by_source()) {
            const auto load = data.load_by_name.find(portion.source);
            if (load == data.load_by_name.end()) continue;  // opening content: nobody tested it as a load
            all.push_back({load->second, b, portion.mass_t(), *limit, against(portion.source, data.bins[b])});
        }
    }
    return all;
}

std::optional<UnclearedLoad> why_uncleared(const SeasonData& data, const LoadUnderLimit& lies,
                                           const std::vector<models::OwnResult>& results,
                                           std::optional<double> exceedance, const models::ClearingCaps& caps) {
    auto found = grain_in_bins_parts::uncleared_for(results, lies.limit);
    const bool breaks = found && found->why == UnclearedLoad::Why::over;
    if (exceedance && !breaks) {
        const models::Clearing clearing = models::clear_grain(results, exceedance, lies.limit, caps);
        if (clearing.state == models::ClearingState::cleared) return std::nullopt;
        const double cap = clearing.state == models::ClearingState::over ? *caps.upper_cap : caps.load_cap;
        const std::string chance = models::chance_in_words(*exceedance, cap), most = models::chance_in_words(cap),
                          limit = models::number_in_words(lies.limit);
        if (clearing.state == models::ClearingState::over) {
            found = UnclearedLoad{};
            found->why = UnclearedLoad::Why::over;
            found->reason =
                models::phrase("its chance of being over {}, {}, is above the {} from which you take grain as over",
                               limit, chance, most);
        } else if (*exceedance > cap && !found) {
            found = UnclearedLoad{};
            found->why = UnclearedLoad::Why::chance;
            found->reason = models::phrase(
                "its own result is not over; by all that is known {} chance over {}, and at most {} clears it", chance,
                limit, most);
        } else if (*exceedance > cap) {
            found->reason += "; " + models::spoken(models::word("in a sentence", "{} chance over {}"), chance, limit);
        } else {
            found = UnclearedLoad{};
            found->why = UnclearedLoad::Why::contradicted;
            found->reason = clearing.in_short;
        }
    }
    if (!found) return std::nullopt;
    found->load = data.loads[lies.load].load;
    found->bin = data.bins[lies.bin].bin;
    found->mass_t = lies.mass_t;
    found->exceedance = exceedance;
    found->against_advice = lies.against_advice;
    return found;
}

std::vector<UnclearedLoad> uncleared_loads(const SeasonData& data, const models::BinLedger& ledger,
                                           models::LocalDay day) {
    std::vector<UnclearedLoad> all;
    const Moistures moistures(data);
    const ResultsOfLoads results(data, moistures);
    for (const LoadUnderLimit& lies : loads_under_limits(data, ledger, day)) {
        auto found = why_uncleared(data, lies, results.of(data.loads[lies.load].load), std::nullopt);
        if (found) all.push_back(std::move(*found));
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
        case UnclearedLoad::Why::chance:
            return "chance over";
        case UnclearedLoad::Why::contradicted:
            return "contradicted";
    }
    return "";
}

std::string in_words(const UnclearedLoad& load) {
    // Whether grain without a result is cleared is the model's to say, and not the records'.
    if (!load.exceedance && load.why != UnclearedLoad::Why::over)
        return models::phrase("load {} ({:.1f} t) lies in bin {}: {}", load.load, load.mass_t, load.bin, load.reason);
    return models::phrase("load {} ({:.1f} t) lies in bin {} uncleared: {}", load.load, load.mass_t, load.bin,
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
    return models::phrase("bin {} holds {:.1f} t and takes {:.1f} t: {:.1f} t more than its capacity", bin.bin,
                          bin.content_t, bin.capacity_t, bin.content_t - bin.capacity_t);
}

std::vector<MisplacedLoad> misplaced_loads(const SeasonData& data, const models::BinLedger& ledger,
                                           models::LocalDay day) {
    std::vector<MisplacedLoad> all;
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const auto limit = limit_of_bin(data, data.bins[b], day).limit;
        std::vector<models::GrainPortion> first;  // of the loads there
        for (const models::GrainPortion& portion : ledger.bins[b].by_source()) {
            auto found = grain_in_bins_parts::misplaced_in(data, data.bins[b], limit, portion, first);
            if (found) all.push_back(std::move(*found));
            if (first.empty() && load_named(data, portion.source)) first.push_back(portion);
        }
    }
    return all;
}

std::string why_misplaced(const SeasonData& data, const models::Bin& bin, const std::optional<models::Limit>& limit,
                          const models::Load& load, const std::vector<models::GrainPortion>& there) {
    const auto found = grain_in_bins_parts::misplaced_in(data, bin, limit, {load.load, 1}, there);
    return found ? found->reason : "";
}

std::string in_words(const MisplacedLoad& load) {
    return models::phrase("load {} ({:.1f} t) does not belong into bin {}: {}", load.load, load.mass_t, load.bin,
                          load.reason);
}

std::string in_words(const models::ImpossibleMove& move) {
    return models::phrase(
        "move {} cannot have happened and is left out: {}; {}, or withdraw it: lodicule add STORE moves move={} "
        "--withdraw REASON",
        move.move, move.why, move.mend, move.move);
}

GrainNow grain_now(const SeasonData& data) {
    const models::BinLedger ledger = models::ledger_of_possible_moves(data.bins, data.loads, data.moves);
    const models::LocalDay day = grain_in_bins_parts::last_day(data);
    return {uncleared_loads(data, ledger, day), overfull_bins(data, ledger), misplaced_loads(data, ledger, day),
            ledger.impossible};
}

std::vector<std::string> warnings_of_moves(const SeasonData& data, const std::vector<std::string>& moves) {
    const std::set<std::string> asked(moves.begin(), moves.end());
    const models::BinLedger ledger = models::ledger_of_possible_moves(data.bins, data.loads, data.moves);
    const models::LocalDay day = grain_in_bins_parts::last_day(data);
    std::map<std::string, std::string> into;
    for (const models::Move& move : data.moves) into[move.move] = move.to;
    std::vector<std::string> warnings;
    for (const models::ImpossibleMove& move : ledger.impossible) {
        if (asked.count(move.move) != 0) warnings.push_back(in_words(move));
    }
    std::set<std::string> bins_filled;
    std::set<std::pair<std::string, std::string>> brought;  // load and bin
    std::vector<std::string> misplaced;
    for (const models::MoveDone& done : ledger.done) {
        if (asked.count(done.move) == 0) continue;
        const std::string& to = into[done.move];
        const auto bin =
            std::find_if(data.bins.begin(), data.bins.end(), [&](const models::Bin& one) { return one.bin == to; });
        if (bin == data.bins.end()) continue;
        bins_filled.insert(to);
        const auto limit = limit_of_bin(data, *bin, day).limit;
        for (const models::GrainPortion& portion : done.carried) {
            if (!brought.emplace(portion.source, to).second) continue;
            const auto found = grain_in_bins_parts::misplaced_in(data, *bin, limit, portion, done.met);
            if (found) misplaced.push_back(in_words(*found));
        }
    }
    for (const OverfullBin& bin : overfull_bins(data, ledger)) {
        if (bins_filled.count(bin.bin) != 0) warnings.push_back(in_words(bin));
    }
    warnings.insert(warnings.end(), misplaced.begin(), misplaced.end());
    for (const UnclearedLoad& load : uncleared_loads(data, ledger, day)) {
        if (brought.count({load.load, load.bin}) != 0) warnings.push_back(in_words(load));
    }
    return warnings;
}

}  // namespace app
