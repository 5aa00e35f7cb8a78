#include "app/commands/bins_lots.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/commands/lonely_option.h"
#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/words.h"

namespace app::commands {

namespace {

using OrderedJson = nlohmann::ordered_json;

std::string way_in_words(models::DrawOff drawn) {
    switch (drawn) {
        case models::DrawOff::first_in:
            return "first in first";
        case models::DrawOff::last_in:
            return "last in first";
        default:
            return "mixed";
    }
}

/// "1.2" or "0.9 to 1.4" over the ways of drawing off.
template <typename Get>
std::string over_ways(const BinSold& sold, const Get& get, const char* form) {
    double low = get(sold.ways.front()), high = low;
    for (const models::BinOutbound& way : sold.ways) {
        low = std::min(low, get(way));
        high = std::max(high, get(way));
    }
    const std::string from = fmt::format(fmt::runtime(form), low), to = fmt::format(fmt::runtime(form), high);
    return from == to ? from : from + " to " + to;
}

std::string buyer_in_words(const models::BuyersTest& buyer) {
    std::string text = fmt::format("The buyer's test of each lot: {}, {} a sample", models::in_words(buyer.plan),
                                   models::counted(buyer.plan.increments, "handful"));
    if (buyer.plan.bias != 1.0) {
        const double pct = (buyer.plan.bias - 1.0) * 100.0;
        text +=
            fmt::format("; their reader reads {:.3g} % {} what is there", std::abs(pct), pct > 0.0 ? "over" : "under");
    } else {
        text += "; their reader reads true";
    }
    return text + ".";
}

std::string grain_of_lot(const models::LotToSell& lot) {
    std::string text;
    for (const models::GrainPortion& portion : lot.portions)
        text += fmt::format("{}{} {:.1f}", text.empty() ? "" : ", ", portion.source, portion.mass_t());
    return text;
}

void print_each_lot(const BinSold& sold) {
    for (const models::BinOutbound& way : sold.ways) {
        print(fmt::format("Bin {}, drawn off {}, the first lot to leave first:", sold.bin, way_in_words(way.drawn)));
        TextTable table({">lot", ">t", ">mean mg/kg", ">from", ">to", ">chance over", ">a truck over", ">buyer rejects",
                         "grain, t"});
        for (std::size_t i = 0; i < way.lots.size(); ++i) {
            const models::LotOutlook& lot = way.lots[i];
            table.row({std::to_string(i + 1), fmt::format("{:.1f}", lot.lot.mass_t()),
                       drawing::number_text(lot.mean_mg_per_kg), drawing::number_text(lot.low90_mg_per_kg),
                       drawing::number_text(lot.high90_mg_per_kg), drawing::percent_text(lot.over),
                       drawing::percent_text(lot.holds_over), drawing::percent_text(lot.rejected),
                       grain_of_lot(lot.lot)});
        }
        print(table.text());
    }
}

void print_table(const OutboundView& sold, const OutboundAsked& asked, const SeasonView& view, bool each_lot) {
    print(fmt::format("Grain sold in lots of {} t, season {}", asked.lot_t, view.season));
    print(wrapped_text(buyer_in_words(asked.buyer)));
    TextTable table({"bin", ">t", "drawn off", ">limit", ">lots", ">lots rejected", ">any rejected",
                     ">lots with a truck over", "worst lot"});
    bool range = false;
    for (const BinSold& bin : sold.bins) {
        if (bin.ways.empty()) {
            table.row({bin.bin, fmt::format("{:.1f}", bin.content_t), "–", "–", "–", "–", "–", "–", bin.why_not});
            continue;
        }
        const models::BinOutbound& worst = bin.ways[bin.worst];
        const models::LotOutlook& lot = worst.lots[worst.worst];
        range = range || bin.ways.size() > 1;
        table.row(
            {bin.bin, fmt::format("{:.1f}", bin.content_t),
             bin.ways.size() > 1 ? "not known" : way_in_words(worst.drawn), models::number_in_words(*bin.limit),
             std::to_string(worst.lots.size()),
             over_ways(
                 bin, [](const auto& way) { return way.rejected_lots; }, "{:.1f}"),
             drawing::percent_text(worst.any_rejected),
             over_ways(
                 bin, [](const auto& way) { return way.holding_over; }, "{:.1f}"),
             fmt::format("{} of {}: {}{}", worst.worst + 1, worst.lots.size(), drawing::percent_text(lot.rejected),
                         lot.lot.portions.size() > 1 ? ", most by " + lot.worst_source : "")});
    }
    print(table.text());
    if (each_lot) {
        for (const BinSold& bin : sold.bins)
            if (!bin.ways.empty()) print_each_lot(bin);
    } else {
        print("--lots says each lot.");
    }
    print(
        "lots rejected: expected number that the buyer's test reads over. One bad truck counts for the lot it leaves");
    print("with; a bin that is mixed spreads it over all of them. A test that passes a lot does not make it good:");
    print("lots with a truck over is how many are expected to have grain in them that is itself over.");
    if (range) {
        print(
            "not known: from the best to the worst of first in first, last in first and mixed; the worst lot and the");
        print("chance that any is rejected are of the worst.");
    }
    for (const BinSold& bin : sold.bins)
        if (!bin.closed.empty())
            print(wrapped_text(
                fmt::format("Nothing leaves bin {} before somebody has decided: {}.", bin.bin, bin.closed)));
    for (const std::string& note : sold.notes) print(wrapped_text("Note: " + note + "."));
    print(wrapped_text(spoken(caution::screening)));
}

OrderedJson json_of_way(const models::BinOutbound& way) {
    OrderedJson out;
    out["drawn_off"] = way_in_words(way.drawn);
    out["rejected_lots"] = way.rejected_lots;
    out["rejected_t"] = way.rejected_t;
    out["any_rejected"] = way.any_rejected;
    out["lots_with_a_truck_over"] = way.holding_over;
    out["lots"] = OrderedJson::array();
    for (const models::LotOutlook& lot : way.lots) {
        OrderedJson grain = OrderedJson::array();
        for (const models::GrainPortion& portion : lot.lot.portions)
            grain.push_back({{"source", portion.source}, {"mass_t", portion.mass_t()}});
        out["lots"].push_back({{"mass_t", lot.lot.mass_t()},
                               {"mean_mg_per_kg", lot.mean_mg_per_kg},
                               {"low90_mg_per_kg", lot.low90_mg_per_kg},
                               {"high90_mg_per_kg", lot.high90_mg_per_kg},
                               {"exceedance", lot.over},
                               {"holds_a_truck_over", lot.holds_over},
                               {"rejection_probability", lot.rejected},
                               {"grain", std::move(grain)}});
    }
    return out;
}

OrderedJson json_of_outbound(const OutboundView& sold, const OutboundAsked& asked, const SeasonView& view) {
    OrderedJson out;
    out["season"] = view.season;
    out["lot_t"] = asked.lot_t;
    out["buyer"] = {{"samples", asked.buyer.plan.samples},      {"increments", asked.buyer.plan.increments},
                    {"mass_g", asked.buyer.plan.sample_mass_g}, {"portions", asked.buyer.plan.portions},
                    {"portion_g", asked.buyer.plan.portion_g},  {"analyses", asked.buyer.plan.analyses},
                    {"reads_over_true", asked.buyer.plan.bias}};
    out["bins"] = OrderedJson::array();
    for (const BinSold& bin : sold.bins) {
        OrderedJson ways = OrderedJson::array();
        for (const models::BinOutbound& way : bin.ways) ways.push_back(json_of_way(way));
        out["bins"].push_back(
            {{"bin", bin.bin},
             {"content_t", bin.content_t},
             {"limit_mg_per_kg", bin.limit ? OrderedJson(bin.limit->limit_mg_per_kg) : OrderedJson(nullptr)},
             {"ways", std::move(ways)},
             {"worst_way",
              bin.ways.empty() ? OrderedJson(nullptr) : OrderedJson(way_in_words(bin.ways[bin.worst].drawn))},
             {"why_not", bin.why_not},
             {"closed", bin.closed}});
    }
    out["notes"] = sold.notes;
    out["caution"] = spoken(caution::screening);
    return out;
}

}  // namespace

void OutboundOptions::declare(Options& options) {
    options.option(lot_t, "--outbound", "TONNES",
                   "the bins sold in lots of so much: chance that the buyer rejects them");
    options.option(from, "--from", "BIN", "with --outbound: of this bin only");
    options.option(plan, "--buyer-plan", "PLAN",
                   "with --outbound: increments=40,mass_g=3000,portion_g=50,analyses=2 (samples=, portions=)");
    options.option(bias_pct, "--buyer-bias", "PCT",
                   "with --outbound: what the buyer's reader reads over what is there");
    options.option(limit, "--buyer-limit", "LIMIT",
                   "with --outbound: the buyer's limit_id or mg/kg; else each bin's own");
    options.flag(lots, "--lots", "with --outbound: each lot");
}

bool OutboundOptions::asked() const {
    if (lot_t) return true;
    refuse_lonely({{from.has_value(), "--from"},
                   {plan.has_value(), "--buyer-plan"},
                   {bias_pct.has_value(), "--buyer-bias"},
                   {limit.has_value(), "--buyer-limit"},
                   {lots, "--lots"}},
                  "a lot that is sold", "give --outbound TONNES, too");
    return false;
}

OutboundAsked OutboundOptions::to_ask() const {
    OutboundAsked ask;
    ask.lot_t = *lot_t;
    if (!(ask.lot_t > 0.0) || !std::isfinite(ask.lot_t)) {
        throw models::Error(fmt::format("a lot of {} t is none", ask.lot_t), "--outbound",
                            "give its mass in tonnes, above 0");
    }
    ask.from = from.value_or("");
    ask.limit = limit.value_or("");
    ask.buyer.plan.increments = 10;
    if (plan) ask.buyer.plan = buyer_plan_from_text(*plan, ask.buyer.plan);
    if (bias_pct) {
        if (!(*bias_pct > -100.0 && *bias_pct <= 1000.0)) {
            throw models::Error(fmt::format("a bias of {} % is none", *bias_pct), "--buyer-bias",
                                "give percent, as in --buyer-bias 10 for a reader that reads 1.1 where 1.0 is");
        }
        ask.buyer.plan.bias = 1.0 + *bias_pct / 100.0;
    }
    return ask;
}

void print_outbound(const SeasonView& view, const OutboundOptions& options, bool json, int threads) {
    OutboundAsked asked = options.to_ask();
    asked.threads = threads;
    const OutboundView sold = outbound_of_bins(view.data, *view.bins, view.season, asked);
    if (json)
        print(json_of_outbound(sold, asked, view).dump(2));
    else
        print_table(sold, asked, view, options.lots);
}

}  // namespace app::commands
