#include "app/stages/pit_stage.h"

#include <algorithm>
#include <map>
#include <set>
#include <string_view>
#include <unordered_set>

#include <fmt/format.h>

#include "app/stages/test_content.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

/// What is recorded of each load's samples.
struct SamplesOfLoad {
    std::vector<std::string> unread;  ///< samples without a valid result, in the order of the table
    bool any = false, has_result = false;
    std::optional<models::Stamp> last;  ///< that somebody did something with it
};

void at_least(std::optional<models::Stamp>& last, const std::optional<models::Stamp>& other) {
    if (other && (!last || last->utc < other->utc)) last = other;
}

std::map<std::string, SamplesOfLoad> samples_of_loads(const SeasonData& data) {
    std::map<std::string, SamplesOfLoad> all;
    std::set<std::size_t> read;  // samples taken
    for (const models::Test& test : data.tests) {
        const auto s = sample_index(data, test.sample);
        if (!s) continue;
        const GrainOfSample grain = grain_of_sample(data, *s);
        if (grain.load.empty()) continue;
        SamplesOfLoad& load = all[grain.load];
        at_least(load.last, test.time);
        if (test.reading == models::Reading::invalid) continue;
        load.has_result = true;
        read.insert(grain.taken);
    }
    for (std::size_t s = 0; s < data.samples.size(); ++s) {
        const GrainOfSample grain = grain_of_sample(data, s);
        if (grain.load.empty() || grain.taken != s) continue;
        SamplesOfLoad& load = all[grain.load];
        load.any = true;
        at_least(load.last, data.samples[s].taken_time);
        if (read.count(s) == 0) load.unread.push_back(data.samples[s].sample);
    }
    return all;
}

/// Loads of which grain was moved, of thousands each found at once.
struct MovedLoads {
    explicit MovedLoads(const models::BinLedger& ledger) {
        for (const models::BinContent& content : ledger.bins)
            for (const models::Layer& layer : content.layers)
                for (const models::GrainPortion& portion : layer.portions)
                    if (portion.mass_g != 0) in_bins.insert(portion.source);
        for (const models::OutboundLot& lot : ledger.outbound)
            for (const models::GrainPortion& portion : lot.portions)
                (lot.from == portion.source ? sent_away : in_bins).insert(portion.source);
    }
    std::unordered_set<std::string_view> in_bins;  ///< or drawn off from one since; views into the ledger
    std::unordered_set<std::string_view> sent_away;
};

models::LoadFacts facts_of(const models::Load& load, const MovedLoads& moved, const SamplesOfLoad* samples) {
    models::LoadFacts facts;
    facts.written = load.status;
    if (samples != nullptr) {
        facts.sampled = samples->any;
        facts.has_result = samples->has_result;
    }
    facts.in_bins = moved.in_bins.count(load.load) != 0;
    facts.sent_away = moved.sent_away.count(load.load) != 0;
    return facts;
}

std::string what_it_waits_for(const models::LoadState& state, const SamplesOfLoad* samples) {
    switch (state.status) {
        case models::LoadStatus::arrived:
            return models::phrase("a probe");
        case models::LoadStatus::probed:
            return samples == nullptr || samples->unread.empty()
                       ? models::phrase("its result")
                       : models::phrase("the result of {}", samples->unread.front());
        case models::LoadStatus::awaiting:
            return samples != nullptr && !samples->has_result ? models::phrase("its result")
                                                              : models::phrase("a decision");
        case models::LoadStatus::directed:
            return models::phrase("to be dumped");
        default:
            return "";
    }
}

double hours_between(const models::Stamp& from, const models::Stamp& to) {
    return std::chrono::duration<double, std::ratio<3600>>(to.utc - from.utc).count();
}

QueuedLoad queued(const models::Load& load, const MovedLoads& moved, const SamplesOfLoad* samples,
                  const models::BinPlan& plan, const models::Stamp& at, double directed_h,
                  const std::string& directed_bin) {
    QueuedLoad row;
    row.load = load.load;
    row.written = load.status;
    row.state = models::state_of_load(facts_of(load, moved, samples));
    if (load.time.utc.time_since_epoch().count() != 0) {
        row.since = load.time;
        row.waits_h = hours_between(load.time, at);
    }
    row.mass_t = load.net_t;
    row.waits_for = what_it_waits_for(row.state, samples);
    if (samples != nullptr && !samples->unread.empty()) row.unread_sample = samples->unread.front();
    for (const models::Assignment& a : plan.assignments) {
        if (a.name != load.load) continue;
        row.bin = a.bin;
        row.mass_t = a.mass_t;
        row.advice = a.bin + ": " + a.in_short;
    }
    for (const models::UnplacedGrain& u : plan.unplaced) {
        if (u.name != load.load) continue;
        row.mass_t = u.mass_t;
        row.advice =
            u.turn_away ? models::phrase("turn away: {}", u.in_short) : models::phrase("stays: {}", u.in_short);
    }
    if (row.advice.empty())
        row.advice = row.mass_t ? models::phrase("not in the plan: see the notes of bins") : models::phrase("weigh it");
    if (row.state.status == models::LoadStatus::directed && !directed_bin.empty()) {
        row.directed_bin = directed_bin;
        row.waits_for = models::phrase("to be dumped in {}", directed_bin);
        if (row.bin != directed_bin)
            row.told = models::phrase("load {} was sent to {}, and by what is known now the plan says {}", load.load,
                                      directed_bin, row.advice);
    }
    std::optional<models::Stamp> last = row.since;
    if (samples != nullptr) at_least(last, samples->last);
    if (row.state.status == models::LoadStatus::directed && last) {
        const double since_h = hours_between(*last, at);
        if (since_h > directed_h) {
            if (!row.told.empty()) row.told += "; ";
            row.told +=
                models::phrase("load {} was directed and nothing of it was moved; the last word of it is {} old",
                               load.load, age_in_words(since_h));
        }
    }
    return row;
}

/// Lower than a purpose, best first.
std::vector<models::Purpose> lower_than(models::Purpose purpose) {
    using models::Purpose;
    switch (purpose) {
        case Purpose::food:
            return {Purpose::feed, Purpose::other, Purpose::hold};
        case Purpose::feed:
            return {Purpose::other, Purpose::hold};
        default:
            return {Purpose::hold};
    }
}

const models::Move* first_dump_of(const SeasonData& data, const std::string& load) {
    const models::Move* first = nullptr;
    for (const models::Move& move : data.moves) {
        if (move.from != load || move.kind != models::MoveKind::dumped) continue;
        if (first == nullptr || move.time.utc < first->time.utc) first = &move;
    }
    return first;
}

LateResult late_in_bin(const SeasonData& data, const BinsView& bins, const models::Test& test, const std::string& load,
                       const models::Move& dumped, const std::string& bin, double mass_t) {
    LateResult late{load, test.test, test.time, dumped.time, bin, mass_t, false, ""};
    const auto place =
        std::find_if(data.bins.begin(), data.bins.end(), [&](const auto& one) { return one.bin == bin; });
    const auto b = static_cast<std::size_t>(place - data.bins.begin());
    if (!bins.limits[b].limit) {
        late.says = models::phrase("no limit there");
        return late;
    }
    const models::Limit& limit = *bins.limits[b].limit;
    models::OwnResult result;
    result.reading = test.reading;
    result.don_mg_per_kg = test.don_mg_per_kg;
    result.basis = test.basis;
    result.moisture = bins.moistures->of(load).fraction;
    result = models::on_basis(result, limit.basis);
    const std::string content = models::content_in_words(result.don_mg_per_kg, limit.limit_mg_per_kg);
    const std::string number = test.reading == models::Reading::above   ? models::phrase("above {}", content)
                               : test.reading == models::Reading::below ? models::phrase("below {}", content)
                                                                        : content;
    switch (models::outcome_of(result.reading, result.don_mg_per_kg, limit)) {
        case models::LimitOutcome::breaks:
            late.over = true;
            late.says =
                models::phrase("{} is over {}: nothing more into {}", number, models::number_in_words(limit), bin);
            break;
        case models::LimitOutcome::meets:
            late.says = models::phrase("{} meets {}", number, models::number_in_words(limit));
            break;
        case models::LimitOutcome::undecided:
            late.says = models::phrase("{} cannot tell about {}", number, models::number_in_words(limit));
            break;
    }
    return late;
}

std::vector<LateResult> late_results(const SeasonData& data, const BinsView& bins) {
    std::vector<LateResult> all;
    for (const models::Test& recorded : data.tests) {
        if (recorded.reading == models::Reading::invalid) continue;
        const auto s = sample_index(data, recorded.sample);
        if (!s) continue;
        const std::string load = grain_of_sample(data, *s).load;
        const models::Move* dumped = load.empty() ? nullptr : first_dump_of(data, load);
        if (dumped == nullptr || recorded.time.utc <= dumped->time.utc) continue;
        const models::Test test = as_decided_on(recorded, data.strips);
        const auto places = bins.ledger.where_is(load);
        for (const auto& [bin, mass_t] : places)
            all.push_back(late_in_bin(data, bins, test, load, *dumped, bin, mass_t));
        for (const models::OutboundLot& lot : bins.ledger.outbound) {
            for (const models::GrainPortion& portion : lot.portions) {
                if (portion.source != load || lot.from == load) continue;
                all.push_back({load, test.test, test.time, dumped->time, "out", portion.mass_t(), false,
                               models::phrase("left bin {} with move {}: tell who has it", lot.from, lot.move)});
            }
        }
    }
    std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.read.utc < b.read.utc; });
    return all;
}

std::vector<FrozenBin> frozen_bins(const SeasonData& data, const BinsView& bins) {
    std::vector<FrozenBin> all;
    const auto read_at = [&](const std::string& name) -> std::optional<models::Stamp> {
        for (const models::Test& test : data.tests)
            if (!name.empty() && test.test == name) return test.time;
        return std::nullopt;
    };
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const models::Bin& bin = data.bins[b];
        std::string because;
        std::optional<models::Stamp> since;
        std::vector<std::string> causes;
        for (const UnclearedLoad& load : bins.uncleared) {
            if (load.bin != bin.bin || load.why != UnclearedLoad::Why::over) continue;
            causes.push_back(load.load);
            because += (because.empty() ? "" : ", ") +
                       (load.test.empty()
                            ? models::phrase("{:.1f} t of load {}: {}", load.mass_t, load.load, load.reason)
                            : models::phrase("{:.1f} t of load {} by test {}", load.mass_t, load.load, load.test));
            at_least(since, read_at(load.test));
        }
        for (const ProbedOver& over : bins.probed_over) {
            if (over.bin != bin.bin) continue;
            causes.emplace_back();
            because += (because.empty() ? "" : ", ") + in_words(over);
            at_least(since, read_at(over.test));
        }
        if (because.empty()) continue;
        all.push_back({bin.bin, bin.purpose, lower_than(bin.purpose), because, since, causes});
    }
    return all;
}

std::vector<models::Move> gone_of_season(const SeasonData& data, int season) {
    std::vector<models::Move> gone;
    for (const models::Move& move : data.moves) {
        if (move.kind != models::MoveKind::dumped && move.to != "out") continue;
        const models::Load* load = load_named(data, move.from);
        if (load != nullptr && season_of_load(data, *load) == season) gone.push_back(move);
    }
    std::stable_sort(gone.begin(), gone.end(), [](const auto& a, const auto& b) { return a.time.utc > b.time.utc; });
    return gone;
}

/// Of the season's loads: a move of another harvest is told where that one's queue stands.
std::vector<OtherBinUsed> other_bins_used(const SeasonData& data, const BinsView& bins, int season) {
    std::vector<OtherBinUsed> all;
    for (const models::Move& move : data.moves) {
        if (move.advised_bin.empty() || move.advised_bin == move.to) continue;
        const models::Load* moved = load_named(data, move.from);
        if ((moved != nullptr ? season_of_load(data, *moved) : models::year_of(move.time.local_day())) != season)
            continue;
        OtherBinUsed used{move.move, move.from, move.advised_bin, move.to, move.operator_name, move.reason, move.time,
                          true,      {}};
        for (const auto& [bin, mass_t] : bins.ledger.where_is(move.from))
            if (bin == move.to) used.put_right = false;
        if (!used.put_right) {
            for (const UnclearedLoad& load : bins.uncleared)
                if (load.load == move.from && load.bin == move.to) used.means.push_back(in_words(load));
            for (const MisplacedLoad& load : bins.misplaced)
                if (load.load == move.from && load.bin == move.to) used.means.push_back(in_words(load));
            for (const OverfullBin& bin : bins.overfull)
                if (bin.bin == move.to) used.means.push_back(in_words(bin));
        }
        all.push_back(std::move(used));
    }
    return all;
}

}  // namespace

models::LoadState state_of(const SeasonData& data, const models::BinLedger& ledger, const models::Load& load) {
    const auto samples = samples_of_loads(data);
    const auto found = samples.find(load.load);
    const MovedLoads moved(ledger);
    return models::state_of_load(facts_of(load, moved, found == samples.end() ? nullptr : &found->second));
}

QueueView queue_of_season(const SeasonData& data, const BinsView& bins, const QueueSettings& settings) {
    QueueView view;
    view.at_last_record = !settings.at;
    view.at = settings.at.value_or(last_record_of_grain(data, settings.season));
    const auto samples = samples_of_loads(data);
    const MovedLoads moved(bins.ledger);
    const GrainThatWaits waits_now(bins.ledger);
    for (const models::Load& load : data.loads) {
        if (season_of_load(data, load) != settings.season) continue;
        const auto found = samples.find(load.load);
        const SamplesOfLoad* of_load = found == samples.end() ? nullptr : &found->second;
        if (waits_now(load)) {
            const auto sent = data.directed_bins.find(load.load);
            view.waiting.push_back(queued(load, moved, of_load, bins.plan, view.at, settings.directed_h,
                                          sent == data.directed_bins.end() ? "" : sent->second));
            continue;
        }
        const models::LoadState state = models::state_of_load(facts_of(load, moved, of_load));
        if (!state.odd.empty())
            view.odd.push_back(models::phrase("load {}: {}", load.load, state.odd));
        else if (state.derived)
            view.odd.push_back(models::phrase("load {}: its status still says {}, and by the moves it was {}",
                                              load.load, models::in_words(load.status),
                                              models::in_words(state.status)));
    }
    std::stable_sort(view.waiting.begin(), view.waiting.end(), [](const QueuedLoad& a, const QueuedLoad& b) {
        return a.waits_h.value_or(1e9) > b.waits_h.value_or(1e9);
    });
    view.stale = stale_loads(data, bins, view.at);
    view.late = late_results(data, bins);
    view.frozen = frozen_bins(data, bins);
    view.other_bins = other_bins_used(data, bins, settings.season);
    view.gone = gone_of_season(data, settings.season);
    return view;
}

}  // namespace app
