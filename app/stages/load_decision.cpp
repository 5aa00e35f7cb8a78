#include "app/stages/load_decision.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/stages/grain_in_bins.h"
#include "app/stages/test_content.h"
#include "app/stages/withdrawn_names.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

/// A rule is kept where something is still to be done; what has happened is recorded with its reason.
void require_allowed(const NextLoad& next, const LoadDecision& decision) {
    if (decision.bin == "out") return;
    const BinChoice* choice = choice_named(next, decision.bin);
    if (choice == nullptr) {
        std::vector<std::string> known{"out"};
        for (const BinChoice& one : next.choices) known.push_back(one.bin);
        throw models::Error("there is no bin \"" + decision.bin + "\"", "--record",
                            models::mend_of_unknown_name(decision.bin, known, "lodicule export STORE bins --out -"));
    }
    if (choice->against.empty()) return;
    if (!decision.happened) {
        const std::string advised =
            next.advised.empty() ? models::phrase("no bin is advised") : models::phrase("advised: {}", next.advised);
        throw models::Error(models::phrase("load {} does not go into {}: {}", next.load, decision.bin, choice->against),
                            "--record",
                            fmt::format("take another bin ({}); if it lies there already, record what happened: "
                                        "--happened --reason WHY",
                                        advised));
    }
    if (decision.reason.find_first_not_of(" \t") == std::string::npos) {
        throw models::Error(models::phrase("load {} in {} breaks a rule: {}", next.load, decision.bin, choice->against),
                            "--happened", "what happened is recorded with its reason: --reason WHY");
    }
}

/// Whether the program had something to advise: not of grain that it knows nothing of, or whose mass is not known.
bool was_advised(const NextLoad& next) {
    return next.advice.step != NextStep::nothing && next.advice.step != NextStep::weigh;
}

/// The records' own word, that it has no result or one that is over, is told of every move (warnings_of_moves).
std::string caution_of(const SeasonData& data, const NextLoad& next, const LoadDecision& decision) {
    const BinChoice* choice = choice_named(next, decision.bin);
    if (choice == nullptr || !choice->not_cleared || choice->limit.empty()) return "";
    const auto load = data.load_by_name.find(decision.load);
    const auto bin = std::find_if(data.bins.begin(), data.bins.end(),
                                  [&](const models::Bin& one) { return one.bin == decision.bin; });
    if (load == data.load_by_name.end() || bin == data.bins.end()) return "";
    LoadUnderLimit lies;
    lies.load = load->second;
    lies.bin = static_cast<std::size_t>(bin - data.bins.begin());
    const auto limit =
        limit_of_bin(data, *bin, harvest_day(data, season_of_load(data, data.loads[load->second]))).limit;
    if (!limit) return "";
    lies.limit = *limit;
    const Moistures moistures(data);
    const ResultsOfLoads results(data, moistures);
    if (why_uncleared(data, lies, results.of(decision.load), std::nullopt)) return "";
    return models::phrase("load {} is not cleared for {}: {}", decision.load, decision.bin, choice->clearing.in_short);
}

}  // namespace

const BinChoice* choice_named(const NextLoad& next, const std::string& bin) {
    for (const BinChoice& choice : next.choices)
        if (choice.bin == bin) return &choice;
    return nullptr;
}

std::string mass_text(double mass_t) {
    std::string text = fmt::format("{:.3f}", mass_t);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
}

DecisionRows rows_of_decision(const SeasonData& data, const NextLoad& next, const LoadDecision& decision) {
    require_allowed(next, decision);
    DecisionRows out;
    out.mass_t = decision.mass_t.value_or(next.mass_t);
    if (!(out.mass_t > 0.0) || !std::isfinite(out.mass_t)) {
        throw models::Error(models::phrase("a mass of {} t cannot be moved", out.mass_t),
                            decision.mass_t ? "--mass" : "load " + decision.load,
                            decision.mass_t ? "write the tonnes that were dumped" : "weigh it, or give --mass TONNES");
    }
    const bool away = decision.bin == "out";
    out.move = decision.move.empty() ? next_move_name(data.moves, {}) : decision.move;
    out.advised = next.advised;
    out.status = away ? models::LoadStatus::turned_away : models::LoadStatus::dumped;
    std::vector<std::pair<std::string, std::string>> values{
        {"move", out.move},   {"time", models::to_text(decision.when)}, {"from", decision.load},
        {"to", decision.bin}, {"mass_t", mass_text(out.mass_t)},        {"kind", away ? "rejected" : "dumped"}};
    if (!next.advised.empty())
        values.emplace_back("advised_bin", next.advised);
    else if (!away && was_advised(next))
        values.emplace_back("advised_bin", none_advised);
    if (!decision.operator_name.empty()) values.emplace_back("operator", decision.operator_name);
    if (!decision.reason.empty()) values.emplace_back("reason", decision.reason);
    out.caution = caution_of(data, next, decision);
    out.rows = {
        {"moves", values},
        {"loads", {{"load", decision.load}, {"status", away ? "turned_away" : "dumped"}}, "", "move " + out.move}};
    return out;
}

}  // namespace app
