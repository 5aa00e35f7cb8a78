#include "app/commands/bins_record.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/bench/bench_desk.h"
#include "app/commands/record_cautions.h"
#include "app/table_text.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/decision/load_life.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/words.h"

namespace app::commands {

namespace {

/// The name after the latest one: M26-28 is followed by M26-29; M1 where there is none.
std::string next_move_name(const std::vector<models::Move>& moves) {
    std::set<std::string> taken;
    for (const models::Move& move : moves) taken.insert(move.move);
    std::string stem = "M", digits = "0";
    if (!moves.empty()) {
        const std::string& last = moves.back().move;
        const std::size_t from = last.find_last_not_of("0123456789") + 1;
        stem = from < last.size() ? last.substr(0, from) : last + "-";
        digits = from < last.size() ? last.substr(from) : "0";
    }
    if (digits.size() > 9) stem += digits + "-", digits = "0";
    for (long number = std::stol(digits) + 1;; ++number) {
        std::string name = stem + fmt::format("{:0{}}", number, digits.size());
        if (taken.count(name) == 0) return name;
    }
}

const BinChoice* choice_named(const NextLoad& next, const std::string& bin) {
    for (const BinChoice& choice : next.choices)
        if (choice.bin == bin) return &choice;
    return nullptr;
}

const BinChoice& known_choice(const NextLoad& next, const std::string& bin, const char* flag,
                              std::vector<std::string> also) {
    if (const BinChoice* choice = choice_named(next, bin)) return *choice;
    for (const BinChoice& one : next.choices) also.push_back(one.bin);
    throw models::Error("there is no bin \"" + bin + "\"", flag,
                        models::mend_of_unknown_name(bin, also, "lodicule export STORE bins --out -"));
}

std::string advised_in_words(const NextLoad& next) {
    return next.advised.empty() ? "no bin is advised" : "advised: " + next.advised;
}

/// A rule is kept where something is still to be done; what has happened is recorded with its reason.
void require_allowed(const NextLoad& next, const RecordOptions& options) {
    if (*options.bin == "out") return;
    const BinChoice* choice = &known_choice(next, *options.bin, "--record", {"out"});
    if (choice->against.empty()) return;
    if (!options.happened) {
        throw models::Error(fmt::format("load {} does not go into {}: {}", next.load, *options.bin, choice->against),
                            "--record",
                            fmt::format("take another bin ({}); if it lies there already, record what happened: "
                                        "--happened --reason WHY",
                                        advised_in_words(next)));
    }
    if (!options.reason || options.reason->find_first_not_of(" \t") == std::string::npos) {
        throw models::Error(fmt::format("load {} in {} breaks a rule: {}", next.load, *options.bin, choice->against),
                            "--happened", "what happened is recorded with its reason: --reason WHY");
    }
}

std::string mass_text(double mass_t) {
    std::string text = fmt::format("{:.3f}", mass_t);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
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
    const char* lonely = operator_name ? "--operator"
                         : reason      ? "--reason"
                         : move        ? "--move"
                         : mass_t      ? "--mass"
                         : happened    ? "--happened"
                                       : nullptr;
    if (lonely != nullptr)
        throw models::Error(std::string(lonely) + " belongs to a move that is recorded", "", "give --record BIN, too");
    return false;
}

void record_next(const SeasonView& view, const SeasonOptions& season, const std::string& load,
                 const RecordOptions& options, const std::optional<std::string>& at) {
    const NextLoad next = next_load(view.data, view.contamination, *view.bins, load, season.own_duplicates);
    require_allowed(next, options);
    const double mass_t = options.mass_t.value_or(next.mass_t);
    if (!(mass_t > 0.0) || !std::isfinite(mass_t)) {
        throw models::Error(fmt::format("a mass of {} t cannot be moved", mass_t),
                            options.mass_t ? "--mass" : "load " + load,
                            options.mass_t ? "write the tonnes that were dumped" : "weigh it, or give --mass TONNES");
    }
    models::Stamp when = machine_time();
    if (at) {
        const auto parsed = models::parse_stamp(*at);
        if (!parsed) throw models::Error("\"" + *at + "\" is no time", "--at", "write 2026-07-16T16:40:00+02:00");
        when = *parsed;
    }
    const bool away = *options.bin == "out";
    const std::string name = options.move.value_or(next_move_name(view.data.moves));
    std::vector<std::pair<std::string, std::string>> values{
        {"move", name},       {"time", models::to_text(when)}, {"from", load},
        {"to", *options.bin}, {"mass_t", mass_text(mass_t)},   {"kind", away ? "rejected" : "dumped"}};
    if (!next.advised.empty()) values.emplace_back("advised_bin", next.advised);
    if (options.operator_name) values.emplace_back("operator", *options.operator_name);
    if (options.reason) values.emplace_back("reason", *options.reason);
    const models::LoadStatus status = away ? models::LoadStatus::turned_away : models::LoadStatus::dumped;
    geo::Store store = geo::Store::open(season.store);
    const std::vector<geo::ImportReport> reports =
        geo::write_rows(store,
                        {{"moves", values},
                         {"loads", {{"load", load}, {"status", away ? "turned_away" : "dumped"}}, "", "move " + name}},
                        options.operator_name.value_or(""));
    std::vector<std::string> cautions = cautions_of_records(store, reports.front());
    if (!next.advised.empty() && next.advised != *options.bin && !options.reason)
        cautions.push_back("it went elsewhere than advised, and no reason is written");
    if (season.json) {
        nlohmann::ordered_json out{{"load", load},
                                   {"move", name},
                                   {"bin", *options.bin},
                                   {"advised_bin", next.advised},
                                   {"mass_t", mass_t},
                                   {"time", models::to_text(when)},
                                   {"status", models::in_words(status)},
                                   {"operator", options.operator_name.value_or("")},
                                   {"reason", options.reason.value_or("")},
                                   {"cautions", cautions}};
        print(out.dump(2));
        return;
    }
    print(fmt::format("Recorded: {} t of load {} {} with move {}, {}.", mass_text(mass_t), load,
                      away ? "turned away" : "into bin " + *options.bin, name, models::to_text(when)));
    print(next.advised.empty() ? std::string("No bin was advised.")
                               : fmt::format("Advised: {}{}.", next.advised,
                                             next.advised == *options.bin ? ", and followed" : ", not followed"));
    for (const std::string& caution : cautions) print(wrapped_text("Caution: " + caution + "."));
    print("A slip is taken back with both of these, and a wrong bin with a move of kind corrected:");
    print(fmt::format("  lodicule add STORE moves move={} --withdraw REASON", name));
    print(fmt::format("  lodicule add STORE loads load={} status=awaiting --correct REASON", load));
}

void direct_next(const SeasonView& view, const SeasonOptions& season, const std::string& load,
                 const RecordOptions& options) {
    const NextLoad next = next_load(view.data, view.contamination, *view.bins, load, season.own_duplicates);
    const std::string& bin = *options.direct;
    if (bin == "out")
        throw models::Error("a load is not sent out of the gate ahead", "--direct",
                            "write that it was turned away: --record out");
    const BinChoice& choice = known_choice(next, bin, "--direct", {});
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
    const NextLoad next = next_load(view.data, view.contamination, *view.bins, load, season.own_duplicates);
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
             {"against", choice.against}});
    }
    out["second_sample"] = nullptr;
    if (next.second) {
        out["second_sample"] = {{"clears", next.second->clears},
                                {"over", next.second->over},
                                {"expected_loss_now", next.second->loss_now},
                                {"expected_loss_after", next.second->loss_after},
                                {"says", next.second_says}};
    }
    return out;
}

void print_next(const SeasonView& view, const SeasonOptions& season, const std::string& load) {
    const NextLoad next = next_load(view.data, view.contamination, *view.bins, load, season.own_duplicates);
    TextTable table({"bin", "for", ">expected loss", "rule"});
    for (const BinChoice& choice : next.choices) {
        const std::string loss =
            choice.loss ? fmt::format("{:.1f}{}", *choice.loss, next.in_money ? "" : " t") : "waits";
        table.row({choice.bin + (choice.advised ? " (advised)" : ""), models::in_words(choice.purpose),
                   choice.purpose == models::Purpose::hold || choice.loss ? loss : "–",
                   choice.against.empty() ? "may go in" : "not: " + choice.against});
    }
    print(fmt::format("Load {} ({:.1f} t) against each bin:", next.load, next.mass_t));
    print(table.text());
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
        print(fmt::format("Between {} and the second best, {}, lie {:.1f}{} of expected loss.", best->bin, second->bin,
                          *second->loss - *best->loss, next.in_money ? "" : " t"));
    print(wrapped_text(next.in_money
                           ? "expected loss: by the store's costs of a wrong acceptance (the load and what lies in the "
                             "bin) and of a wrong rejection (good grain that does not go for food)."
                           : "expected loss: tonnes spoilt where it is over (itself and what lies in the bin) and good "
                             "tonnes that do not go for food; costs of both in the store make it money."));
    if (!next.second_says.empty()) {
        std::string says = next.second_says;
        says[0] = static_cast<char>(says[0] - 'a' + 'A');
        print(wrapped_text(says + "."));
    }
}

}  // namespace app::commands
