#include "app/commands/check_command.h"

#include <memory>
#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/stages/grain_in_bins.h"
#include "app/table_text.h"
#include "geo/check.h"
#include "geo/store/control_materials.h"
#include "geo/store/store.h"
#include "geo/tables/words.h"
#include "models/assay/strip_reading.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct CheckAsked {
    std::string store, noted;
    bool json = false;
};

GrainNow grain_of(const geo::Store& store, std::string& problem) {
    try {
        return grain_now(read_season_data(store));
    } catch (const models::Error& error) {  // the moves do not add up
        problem = error.what();
        return {};
    }
}

/// Tests that count otherwise than they were recorded, or are odd.
std::vector<models::StripReading> odd_strips(const geo::Store& store) {
    std::vector<models::StripReading> odd = store.strip_readings();
    std::erase_if(odd, [](const models::StripReading& strip) { return !strip.voided && strip.flags.empty(); });
    return odd;
}

void print_odd_strips(const std::vector<models::StripReading>& strips) {
    constexpr std::size_t told = 10;
    std::size_t lines = 0;
    for (const models::StripReading& strip : strips) {
        if (++lines > told) break;
        if (strip.voided) fmt::print("{}", wrapped_text(models::in_words(strip) + "."));
        for (const models::StripFlag& flag : strip.flags)
            fmt::print("{}", wrapped_text("test " + strip.test.test + ": " + flag.sentence + "."));
    }
    if (strips.size() > told)
        fmt::print("and {} more, which --json lists\n",
                   models::counted(static_cast<long long>(strips.size() - told), "odd strip"));
}

int check_one(const CheckAsked& asked) {
    geo::Store store = geo::Store::open(asked.store, geo::Store::Access::read_only);
    const auto findings = geo::check_store(store, asked.noted);
    // Of a file that is damaged nothing more is read.
    const geo::ChainEnd end = findings.front().good ? geo::end_of_chain(store) : geo::ChainEnd{};
    bool good = true, sound = true;  // sound: in itself, whatever was noted of it
    nlohmann::ordered_json list = nlohmann::ordered_json::array();
    for (const geo::CheckFinding& finding : findings) {
        good = good && finding.good;
        sound = sound && (finding.good || finding.what == "noted hash");
        list.push_back({{"what", finding.what}, {"good", finding.good}, {"detail", finding.detail}});
        if (!asked.json) fmt::print("{:<18}{:<7}{}\n", finding.what, finding.good ? "good" : "WRONG", finding.detail);
    }
    // Not of the store's soundness, but what a person should look at: the grain that it says lies in the bins.
    std::string ledger;
    const GrainNow grain = good ? grain_of(store, ledger) : GrainNow{};
    const auto overlapping = good ? geo::overlapping_fields(store) : std::vector<geo::OverlappingFields>{};
    const auto failed = good ? models::failed_controls(store.tests(), store.samples(), geo::control_materials(store))
                             : std::vector<models::FailedControl>{};
    const auto strips = good ? odd_strips(store) : std::vector<models::StripReading>{};
    const auto withdrawn = good ? store.withdrawals() : std::vector<geo::Withdrawal>{};
    if (asked.json) {
        nlohmann::ordered_json out = {
            {"good", good}, {"records", end.records}, {"last_sha256", end.sha256}, {"findings", std::move(list)}};
        out["uncleared_in_bins"] = nlohmann::ordered_json::array();
        for (const UnclearedLoad& load : grain.uncleared) {
            out["uncleared_in_bins"].push_back(
                {{"load", load.load}, {"bin", load.bin}, {"mass_t", load.mass_t}, {"result", in_words(load.why)}});
        }
        out["over_capacity"] = nlohmann::ordered_json::array();
        for (const OverfullBin& bin : grain.overfull) {
            out["over_capacity"].push_back(
                {{"bin", bin.bin}, {"content_t", bin.content_t}, {"capacity_t", bin.capacity_t}});
        }
        out["not_kept_apart"] = nlohmann::ordered_json::array();
        for (const MisplacedLoad& load : grain.misplaced) {
            out["not_kept_apart"].push_back(
                {{"load", load.load}, {"bin", load.bin}, {"mass_t", load.mass_t}, {"reason", load.reason}});
        }
        out["impossible_moves"] = nlohmann::ordered_json::array();
        for (const models::ImpossibleMove& move : grain.impossible) {
            out["impossible_moves"].push_back({{"move", move.move}, {"why", move.why}, {"mend", move.mend}});
            if (ledger.empty()) ledger = "move " + move.move + ": " + move.why;
        }
        out["overlapping_fields"] = nlohmann::ordered_json::array();
        for (const geo::OverlappingFields& pair : overlapping) {
            out["overlapping_fields"].push_back({{"field", pair.field}, {"other", pair.other}, {"share", pair.share}});
        }
        out["controls_outside"] = nlohmann::ordered_json::array();
        for (const models::FailedControl& control : failed) {
            const auto bound = [](const std::optional<double>& value) {
                return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
            };
            out["controls_outside"].push_back({{"control", control.control.control},
                                               {"test", control.test.test},
                                               {"time", models::to_text(control.test.time)},
                                               {"kit_lot", control.test.kit_lot},
                                               {"reading", geo::words::word(control.test.reading)},
                                               {"don_mg_per_kg", control.test.don_mg_per_kg},
                                               {"low_mg_per_kg", bound(control.control.low_mg_per_kg)},
                                               {"high_mg_per_kg", bound(control.control.high_mg_per_kg)},
                                               {"outside_bounds", control.outside_bounds},
                                               {"broken_rules", control.broken_rules},
                                               {"tests_in_doubt", control.in_doubt}});
        }
        out["odd_strips"] = nlohmann::ordered_json::array();
        for (const models::StripReading& strip : strips) {
            nlohmann::ordered_json flags = nlohmann::ordered_json::array();
            for (const models::StripFlag& flag : strip.flags) flags.push_back(flag.sentence);
            out["odd_strips"].push_back({{"test", strip.test.test},
                                         {"kit_lot", strip.test.kit_lot},
                                         {"void_reason", strip.voided ? strip.test.void_reason : ""},
                                         {"flags", std::move(flags)}});
        }
        out["withdrawn"] = nlohmann::ordered_json::array();
        for (const geo::Withdrawal& record : withdrawn) {
            out["withdrawn"].push_back({{"kind", record.kind},
                                        {"name", record.name},
                                        {"reason", record.reason},
                                        {"actor", record.actor},
                                        {"utc", record.utc}});
        }
        out["moves_problem"] = ledger;
        fmt::print("{}\n", out.dump(2, ' ', false, nlohmann::json::error_handler_t::replace));
    } else if (good) {
        fmt::print(
            "last hash         {}\n{}", end.sha256,
            wrapped_text(fmt::format(
                "{} in it. Only a note of it kept elsewhere (on paper, with the buyer) shows later that the end "
                "was not cut off: lodicule check {} --expect HASH",
                models::counted(static_cast<long long>(end.records), "record ends", "records end"), asked.store)));
        if (!ledger.empty()) fmt::print("moves: {}\n", ledger);
        for (const models::ImpossibleMove& move : grain.impossible)
            fmt::print("{}", wrapped_text(in_words(move) + "."));
        for (const OverfullBin& bin : grain.overfull) fmt::print("{}\n", in_words(bin));
        for (const MisplacedLoad& load : grain.misplaced) fmt::print("{}", wrapped_text(in_words(load) + "."));
        for (const models::FailedControl& control : failed) {
            fmt::print("{}", wrapped_text(models::in_words(control) + "."));
        }
        print_odd_strips(strips);
        if (!overlapping.empty()) fmt::print("{}", wrapped_text(geo::in_words(overlapping) + "."));
        for (const geo::Withdrawal& record : withdrawn) fmt::print("{}", wrapped_text(in_words(record) + "."));
        if (!grain.uncleared.empty()) {
            fmt::print("loads in bins under a limit without a result of their own that meets it:\n");
            TextTable table({"load", "bin", ">t", "result"});
            for (const UnclearedLoad& load : grain.uncleared) {
                table.row({load.load, load.bin, fmt::format("{:.1f}", load.mass_t), in_words(load.why)});
            }
            fmt::print("{}", table.text());
        }
    } else if (sound) {
        fmt::print(
            stderr,
            "lodicule: {}: the store is whole in itself, and is not the one that the hash was noted of, or lost its "
            "last records. Look for the right file; if this is it, compare it with the last backup.\n",
            asked.store);
    } else {
        fmt::print(stderr, "lodicule: {}: the store is not as it was made. Keep a copy, and take the last backup.\n",
                   asked.store);
    }
    return good ? 0 : 1;
}

}  // namespace

Command make_check_command() {
    return {
        "check", "Looks whether the store is whole and nobody altered it.", [](Options& options) {
            const auto asked = std::make_shared<CheckAsked>();
            options.positional(asked->store, "STORE", "The store");
            options.option(asked->noted, "--expect", "HASH",
                           "A last hash noted earlier: it must still stand in the chain of records");
            options.flag(asked->json, "--json", "The findings as JSON");
            options.footer(
                "Checked are the database file, the rules of its tables, the chain of records (every row of\n"
                "every table against what was said when it went in), names that records refer to, the\n"
                "outlines, the weather. Any row altered, taken away or put in past this program is found; not\n"
                "looked at are bytes that hold no data and the systems of coordinates that the store does not use.\n"
                "One thing a file cannot show by itself: that its last records were cut off together with their\n"
                "rows. So `check` prints the last hash of the chain: note it elsewhere, give it back by --expect.");
            return [asked] { return check_one(*asked); };
        }};
}

}  // namespace app::commands
