#include "app/commands/bins_record.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/bench/bench_desk.h"
#include "app/commands/lonely_option.h"
#include "app/commands/record_cautions.h"
#include "app/stages/load_decision.h"
#include "app/stages/withdrawn_names.h"
#include "app/table_text.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/decision/load_life.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/words.h"

namespace app::commands {

namespace {

const BinChoice& known_choice(const NextLoad& next, const std::string& bin, const char* flag) {
    if (const BinChoice* choice = choice_named(next, bin)) return *choice;
    std::vector<std::string> known;
    for (const BinChoice& one : next.choices) known.push_back(one.bin);
    throw models::Error("there is no bin \"" + bin + "\"", flag,
                        models::mend_of_unknown_name(bin, known, "lodicule export STORE bins --out -"));
}

std::string advised_in_words(const NextLoad& next) {
    return next.advised.empty() ? "no bin is advised" : "advised: " + next.advised;
}

}  // namespace

void RecordOptions::declare(Options& options) {
    options.option(bin, "--record", "BIN", "with --next: it goes there (out: turned away); written with the advice");
    options.option(direct, "--direct", "BIN", "with --next: it is sent there and not yet dumped; --queue shows it");
    options.option(operator_name, "--operator", "NAME", "with --record or --direct: who decided; else the user's name");
    options.option(reason, "--reason", "TEXT", "with --record or --direct: why it goes elsewhere than advised");
    options.option(move, "--move", "NAME", "with --record: the name of the move; else the one after the last");
    options.option(mass_t, "--mass", "TONNES", "with --record: so much of the load; else all of it");
    options.flag(happened, "--happened",
                 "with --record: it lies there already, whatever the rules say; needs --reason");
}

bool RecordOptions::asked(const std::optional<std::string>& next) const {
    if (bin && direct)
        throw models::Error("a load is sent to a bin, or it was dumped there", "",
                            "give --direct BIN first, and --record BIN once it is dumped");
    if (direct) {
        if (!next) throw models::Error("--direct sends one load to a bin", "", "name it: --next LOAD");
        const char* of_a_move = move ? "--move" : mass_t ? "--mass" : happened ? "--happened" : nullptr;
        if (of_a_move != nullptr)
            throw models::Error(std::string(of_a_move) + " belongs to a move, and a load that is sent has not moved",
                                "", "give it with --record BIN, once the load is dumped");
        return true;
    }
    if (bin) {
        if (!next) throw models::Error("--record writes where one load goes", "", "name it: --next LOAD");
        return true;
    }
    refuse_lonely({{operator_name.has_value(), "--operator"},
                   {reason.has_value(), "--reason"},
                   {move.has_value(), "--move"},
                   {mass_t.has_value(), "--mass"},
                   {happened, "--happened"}},
                  "a move that is recorded", "give --record BIN, too");
    return false;
}

void record_next(const SeasonView& view, const SeasonOptions& season, const std::string& load,
                 const RecordOptions& options, const std::optional<std::string>& at) {
    const NextLoad next = next_load(view.data, *view.bins, load, season.own_duplicates);
    LoadDecision decision;
    decision.load = load;
    decision.bin = *options.bin;
    decision.operator_name = options.operator_name.value_or("");
    decision.reason = options.reason.value_or("");
    decision.move = options.move.value_or("");
    decision.mass_t = options.mass_t;
    decision.happened = options.happened;
    decision.when = machine_time();
    if (at) {
        const auto parsed = models::parse_stamp(*at);
        if (!parsed) throw models::Error("\"" + *at + "\" is no time", "--at", "write 2026-07-16T16:40:00+02:00");
        decision.when = *parsed;
    }
    geo::Store store = geo::Store::open(season.store);
    if (decision.move.empty())  // one that was withdrawn keeps its name in the chain of records
        decision.move = next_move_name(view.data.moves, withdrawn_names(store, "moves"));
    const DecisionRows change = rows_of_decision(view.data, next, decision);
    const bool away = *options.bin == "out";
    const std::vector<geo::ImportReport> reports = geo::write_rows(store, change.rows, decision.operator_name);
    std::vector<std::string> cautions = cautions_of_records(store, reports.front());
    if (!change.caution.empty()) cautions.push_back(change.caution);
    if (!next.advised.empty() && next.advised != *options.bin && !options.reason)
        cautions.push_back("it went elsewhere than advised, and no reason is written");
    if (season.json) {
        nlohmann::ordered_json out{{"load", load},
                                   {"move", change.move},
                                   {"bin", *options.bin},
                                   {"advised_bin", next.advised},
                                   {"mass_t", change.mass_t},
                                   {"time", models::to_text(decision.when)},
                                   {"status", models::in_words(change.status)},
                                   {"operator", options.operator_name.value_or("")},
                                   {"reason", options.reason.value_or("")},
                                   {"cautions", cautions}};
        print(out.dump(2));
        return;
    }
    print(fmt::format("Recorded: {} t of load {} {} with move {}, {}.", mass_text(change.mass_t), load,
                      away ? "turned away" : "into bin " + *options.bin, change.move, models::to_text(decision.when)));
    print(next.advised.empty() ? std::string("No bin was advised.")
                               : fmt::format("Advised: {}{}.", next.advised,
                                             next.advised == *options.bin ? ", and followed" : ", not followed"));
    for (const std::string& caution : cautions) print(wrapped_text("Caution: " + caution + "."));
    print("A slip is taken back with both of these, and a wrong bin with a move of kind corrected:");
    print(fmt::format("  lodicule add STORE moves move={} --withdraw REASON", change.move));
    print(fmt::format("  lodicule add STORE loads load={} status=awaiting --correct REASON", load));
}

void direct_next(const SeasonView& view, const SeasonOptions& season, const std::string& load,
                 const RecordOptions& options) {
    const NextLoad next = next_load(view.data, *view.bins, load, season.own_duplicates);
    const std::string& bin = *options.direct;
    if (bin == "out")
        throw models::Error("a load is not sent out of the gate ahead", "--direct",
                            "write that it was turned away: --record out");
    const BinChoice& choice = known_choice(next, bin, "--direct");
    if (!choice.against.empty())
        throw models::Error(fmt::format("load {} does not go into {}: {}", load, bin, choice.against), "--direct",
                            fmt::format("take another bin ({})", advised_in_words(next)));
    const models::Load* recorded = load_named(view.data, load);
    if (const std::string why_not = models::why_not_followed(recorded->status, models::LoadStatus::directed);
        !why_not.empty())
        throw models::Error("load " + load + " is not sent to a bin: " + why_not, "--direct");
    std::string because = "sent to " + bin;
    if (!next.advised.empty() && next.advised != bin) because += ", advised " + next.advised;
    if (options.reason) because += ": " + *options.reason;
    geo::Store store = geo::Store::open(season.store);
    geo::write_rows(store, {{"loads", {{"load", load}, {"status", "directed"}, {"directed_bin", bin}}, "", because}},
                    options.operator_name.value_or(""));
    std::vector<std::string> cautions;
    if (!next.advised.empty() && next.advised != bin && !options.reason)
        cautions.push_back("it is sent elsewhere than advised, and no reason is written");
    if (season.json) {
        nlohmann::ordered_json out{{"load", load},
                                   {"directed_bin", bin},
                                   {"advised_bin", next.advised},
                                   {"status", models::in_words(models::LoadStatus::directed)},
                                   {"operator", options.operator_name.value_or("")},
                                   {"reason", options.reason.value_or("")},
                                   {"cautions", cautions}};
        print(out.dump(2));
        return;
    }
    print(fmt::format("Load {} is sent to bin {}; it is not dumped yet.", load, bin));
    print(next.advised.empty()
              ? std::string("No bin was advised.")
              : fmt::format("Advised: {}{}.", next.advised, next.advised == bin ? ", and followed" : ", not followed"));
    for (const std::string& caution : cautions) print(wrapped_text("Caution: " + caution + "."));
    print("Once it is dumped, write that with --record " + bin + "; a slip is taken back with");
    print(fmt::format("  lodicule add STORE loads load={} status=awaiting --correct REASON", load));
}

nlohmann::ordered_json json_of_next(const SeasonView& view, const SeasonOptions& season, const std::string& load) {
    const NextLoad next = next_load(view.data, *view.bins, load, season.own_duplicates);
    nlohmann::ordered_json out{{"load", next.load},
                               {"mass_t", next.mass_t},
                               {"advised_bin", next.advised},
                               {"loss_in_money", next.in_money},
                               {"bins", nlohmann::ordered_json::array()}};
    for (const BinChoice& choice : next.choices) {
        out["bins"].push_back(
            {{"bin", choice.bin},
             {"expected_loss", choice.loss ? nlohmann::ordered_json(*choice.loss) : nlohmann::ordered_json(nullptr)},
             {"may_go_in", choice.against.empty()},
             {"against", choice.against},
             {"plan_says", choice.given}});
    }
    const auto number = [](const std::optional<double>& value) {
        return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
    };
    out["second_sample"] = nullptr;
    if (next.second) {
        out["second_sample"] = {{"clears", next.second->clears},
                                {"over", next.second->over},
                                {"for_bin", next.second_bin},
                                {"expected_loss_now", next.second->loss_now},
                                {"expected_loss_after", next.second->loss_after},
                                {"costs", number(next.test_cost)},
                                {"pays", next.second_pays},
                                {"says", next.second_says}};
    }
    out["step"] = word_of(next.advice.step);
    out["do_now"] = next.advice.says;
    out["why_not_cleared"] = next.advice.why;
    out["ways"] = next.advice.ways;
    out["holds"] = {{"median_mg_per_kg", number(next.evidence.median_mg_per_kg)},
                    {"low90_mg_per_kg", number(next.evidence.low90_mg_per_kg)},
                    {"high90_mg_per_kg", number(next.evidence.high90_mg_per_kg)},
                    {"own_results", next.evidence.own_results},
                    {"other_results_of_its_fields", next.evidence.field_results},
                    {"says", next.evidence.says}};
    return out;
}

void print_next(const SeasonView& view, const SeasonOptions& season, const std::string& load) {
    const NextLoad next = next_load(view.data, *view.bins, load, season.own_duplicates);
    const auto sentence = [](std::string says) {
        if (!says.empty() && says[0] >= 'a' && says[0] <= 'z') says[0] = static_cast<char>(says[0] - 'a' + 'A');
        return says + ".";
    };
    print(wrapped_text("What to do: " + next.advice.says + "."));
    for (const std::string& way : next.advice.ways) print(wrapped_text("  - " + way + "."));
    print(wrapped_text(sentence(next.evidence.says)));
    TextTable table({"bin", "for", next.in_money ? ">expected loss, money" : ">expected loss", "rule"});
    for (const BinChoice& choice : next.choices) {
        const std::string loss =
            choice.loss ? fmt::format("{:.1f}{}", *choice.loss, next.in_money ? "" : " t") : "waits";
        table.row({choice.bin + (choice.advised ? " (advised)" : ""), models::in_words(choice.purpose),
                   choice.purpose == models::Purpose::hold || choice.loss ? loss : "–",
                   !choice.against.empty() ? "not: " + choice.against
                   : choice.given.empty()  ? "may go in"
                                           : "may go in, but not by the plan: " + choice.given});
    }
    print(fmt::format("Load {} ({:.1f} t) against each bin:", next.load, next.mass_t));
    print(table.text_hanging());
    const BinChoice* best = nullptr;
    const BinChoice* second = nullptr;
    for (const BinChoice& choice : next.choices) {
        if (!choice.against.empty() || !choice.loss) continue;
        if (best == nullptr)
            best = &choice;
        else if (second == nullptr)
            second = &choice;
    }
    if (best != nullptr && second != nullptr)
        print(fmt::format("Between {} and the second best, {}, lie {:.1f} {}of expected loss.", best->bin, second->bin,
                          *second->loss - *best->loss, next.in_money ? "" : "t "));
    print(wrapped_text(next.in_money
                           ? "expected loss: by the store's costs of a wrong acceptance (the load and what lies in the "
                             "bin) and of a wrong rejection (good grain that does not go for food), in their currency."
                           : "expected loss: tonnes spoilt where it is over (itself and what lies in the bin) and good "
                             "tonnes that do not go for food; costs of both in the store make it money."));
    if (!next.second_says.empty()) print(wrapped_text(sentence(next.second_says)));
}

}  // namespace app::commands
