#include "app/commands/bins_command.h"

#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/bins_lots.h"
#include "app/commands/bins_plan_output.h"
#include "app/commands/bins_queue.h"
#include "app/commands/bins_record.h"
#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_season.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

struct BinsCommand {
    SeasonOptions season;
    std::optional<std::string> next;
    std::optional<double> upper_cap_pct;
    bool explain = false;
    bool ahead = false;
    std::string zones;
    OutboundOptions outbound;
    QueueOptions queue;
    RecordOptions record;
};

template <typename T>
Json or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json score_json(const models::PlanScore& score) {
    return {{"rule", score.rule},
            {"value", score.value},
            {"tonnes_in_food_bins", score.tonnes_in_food_bins},
            {"tonnes_over_in_food_bins", score.tonnes_over_in_food_bins},
            {"tonnes_not_cleared_in_food_bins", score.tonnes_not_cleared_in_food_bins},
            {"permitted", !(score.tonnes_not_cleared_in_food_bins > 0.0)},
            {"tonnes_held", score.tonnes_held}};
}

Json json_of(const SeasonView& view) {
    const models::BinPlan& plan = view.bins->plan;
    Json out;
    out["season"] = view.season;
    out["assignments"] = Json::array();
    for (const models::Assignment& a : plan.assignments) {
        out["assignments"].push_back({{models::in_words(a.kind), a.name},
                                      {"bin", a.bin},
                                      {"mass_t", a.mass_t},
                                      {"state", models::in_words(a.state)},
                                      {"in_short", a.in_short},
                                      {"reason", a.reason}});
    }
    out["unplaced"] = Json::array();
    for (const models::UnplacedGrain& u : plan.unplaced) {
        out["unplaced"].push_back({{models::in_words(u.kind), u.name},
                                   {"mass_t", u.mass_t},
                                   {"state", models::in_words(u.state)},
                                   {"turn_away", u.turn_away},
                                   {"in_short", u.in_short},
                                   {"reason", u.reason}});
    }
    if (!view.bins->zones.empty()) {
        out["zones"] = Json::array();
        for (const PlannedZone& zone : view.bins->zones)
            out["zones"].push_back(
                {{"zone", zone.zone}, {"field", zone.field}, {"share_of_field", zone.share_of_field}});
    }
    out["bins"] = Json::array();
    for (const models::BinOutlook& bin : plan.bins) {
        out["bins"].push_back({{"bin", bin.bin},
                               {"content_t", bin.content_t},
                               {"mean_mg_per_kg", or_null(bin.mean_mg_per_kg)},
                               {"low90_mg_per_kg", or_null(bin.low90_mg_per_kg)},
                               {"high90_mg_per_kg", or_null(bin.high90_mg_per_kg)},
                               {"exceedance", or_null(bin.exceedance)},
                               {"rejection_probability", or_null(bin.rejection_probability)},
                               {"note", bin.note}});
    }
    out["now"] = Json::array();
    for (const models::BinContent& content : view.bins->ledger.bins) {
        Json layers = Json::array();
        for (const models::Layer& layer : content.layers) {
            Json portions = Json::array();
            for (const models::GrainPortion& portion : layer.portions) {
                portions.push_back({{"source", portion.source}, {"mass_t", portion.mass_t()}});
            }
            layers.push_back(std::move(portions));
        }
        out["now"].push_back({{"bin", content.bin},
                              {"content_t", content.mass_t()},
                              {"order_known", content.order_known},
                              {"layers_from_the_floor", std::move(layers)}});
    }
    // One truck's advice asks the records alone.
    out["uncleared_judged_by"] = view.bins->chances_judged ? "results and chances" : "results";
    out["uncleared_in_bins"] = Json::array();
    for (const UnclearedLoad& load : view.bins->uncleared) {
        out["uncleared_in_bins"].push_back({{"load", load.load},
                                            {"bin", load.bin},
                                            {"mass_t", load.mass_t},
                                            {"result", in_words(load.why)},
                                            {"exceedance", or_null(load.exceedance)},
                                            {"reason", load.reason}});
    }
    out["over_capacity"] = Json::array();
    for (const OverfullBin& bin : view.bins->overfull) {
        out["over_capacity"].push_back(
            {{"bin", bin.bin}, {"content_t", bin.content_t}, {"capacity_t", bin.capacity_t}});
    }
    out["not_kept_apart"] = Json::array();
    for (const MisplacedLoad& load : view.bins->misplaced) {
        out["not_kept_apart"].push_back(
            {{"load", load.load}, {"bin", load.bin}, {"mass_t", load.mass_t}, {"reason", load.reason}});
    }
    out["impossible_moves"] = Json::array();
    for (const models::ImpossibleMove& move : view.bins->ledger.impossible) {
        out["impossible_moves"].push_back({{"move", move.move}, {"why", move.why}, {"mend", move.mend}});
    }
    out["probes"] = Json::array();
    for (const models::ProbeNews& news : view.bins->probes) {
        out["probes"].push_back({{"probe", news.sample},
                                 {"bin", news.bin},
                                 {"counted", news.what == models::ProbeNews::What::counted},
                                 {"before_mg_per_kg", news.before_mg_per_kg},
                                 {"after_mg_per_kg", news.after_mg_per_kg},
                                 {"says", in_words(news)}});
    }
    out["estimate_of"] = models::spoken(estimate_of);
    out["best_of_all_ways"] = plan.best_of_all;
    out["value"] = plan.score.value;
    out["value_in_money"] = plan.value_in_money;
    add_plan_proof(out, plan);
    out["compared_with"] = Json::array();
    for (const models::PlanScore& score : plan.compared_with) out["compared_with"].push_back(score_json(score));
    out["this_plan"] = score_json(plan.score);
    out["says"] = plan.says;
    out["value_says"] = plan.value_says;
    out["notes"] = view.bins->notes;
    out["caution"] = spoken(caution::screening);
    return out;
}

std::string number_or_dash(const std::optional<double>& value) {
    return value ? drawing::number_text(*value) : "–";
}
std::string chance_or_dash(const std::optional<double>& value) {
    return value ? drawing::percent_text(*value) : "–";
}

void print_layers(const BinsView& bins) {
    print("What lies in each bin now, from the recorded moves, lowest first:");
    TextTable now({"bin", ">t", "layers"});
    for (const models::BinContent& content : bins.ledger.bins) {
        std::string layers;
        for (const models::Layer& layer : content.layers) {
            for (const models::GrainPortion& portion : layer.portions) {
                layers += fmt::format("{}{} {:.1f}", layers.empty() ? "" : ", ", portion.source, portion.mass_t());
            }
        }
        now.row({content.bin, fmt::format("{:.1f}", content.mass_t()), layers.empty() ? "empty" : layers});
    }
    print(now.text_hanging());
}

void print_uncleared(const BinsView& bins) {
    if (bins.uncleared.empty()) return;
    print("In bins under a limit, and not cleared for it:");
    TextTable uncleared({"load", "bin", ">t", "why"});
    for (const UnclearedLoad& load : bins.uncleared) {
        uncleared.row({load.load, load.bin, fmt::format("{:.1f}", load.mass_t), load.reason});
    }
    print(uncleared.text_hanging());
}

void print_tables(const SeasonView& view, const BinsCommand& command) {
    const models::BinPlan& plan = view.bins->plan;
    print(fmt::format("Bin plan, season {}: {}", view.season,
                      models::counted(static_cast<long long>(view.bins->waiting.size()), "load waits", "loads wait")));
    if (command.ahead) {
        const auto pieces = static_cast<long long>(view.bins->zones.size());
        print(fmt::format("Planned ahead for {}{}, by the day of their expected cut.",
                          models::counted(static_cast<long long>(view.bins->standing.size()) - pieces,
                                          "field that is still to be cut", "fields that are still to be cut"),
                          pieces == 0 ? "" : " and " + models::counted(pieces, "zone")));
    }
    if (command.next) print(fmt::format("Advice for load {}, in view of all that wait:", *command.next));
    print(wrapped_text(plan.says));
    const char* grain = !command.ahead ? "load" : view.bins->zones.empty() ? "load, field" : "load, field, zone";
    if (!plan.assignments.empty()) {
        TextTable table({grain, ">t", "goes to", "state", "why"});
        for (const models::Assignment& a : plan.assignments) {
            table.row({a.name, fmt::format("{:.1f}", a.mass_t), a.bin, models::in_words(a.state),
                       command.explain ? a.reason : a.in_short});
        }
        print(table.text_hanging());
    }
    if (!plan.unplaced.empty()) {
        TextTable table({grain, ">t", "no place", "state", "why"});
        for (const models::UnplacedGrain& u : plan.unplaced) {
            table.row({u.name, fmt::format("{:.1f}", u.mass_t),
                       u.turn_away                         ? "turn away"
                       : u.kind == models::GrainKind::load ? "stays on the truck"
                                                           : "not yet",
                       models::in_words(u.state), command.explain ? u.reason : u.in_short});
        }
        print(table.text_hanging());
    }
    if (!command.explain) print("--explain says the whole reason of each.");
    if (command.next) print_next(view, command.season, *command.next);
    if (!command.next) print_layers(*view.bins);
    if (!command.next) print_uncleared(*view.bins);
    print(fmt::format("What is in each bin after this plan ({}):", models::spoken(estimate_of)));
    TextTable table({"bin", ">content t", ">mean mg/kg", ">from", ">to", ">chance over", ">buyer rejects", "note"});
    for (const models::BinOutlook& bin : plan.bins) {
        table.row({bin.bin, fmt::format("{:.1f}", bin.content_t), number_or_dash(bin.mean_mg_per_kg),
                   number_or_dash(bin.low90_mg_per_kg), number_or_dash(bin.high90_mg_per_kg),
                   chance_or_dash(bin.exceedance), chance_or_dash(bin.rejection_probability), bin.note});
    }
    print(table.text());
    TextTable scores({"rule", ">t in food bins", ">of them over", ">not cleared", ">on hold", ">value"});
    const auto add = [&](const models::PlanScore& s) {
        scores.row(
            {s.rule, fmt::format("{:.1f}", s.tonnes_in_food_bins), fmt::format("{:.1f}", s.tonnes_over_in_food_bins),
             fmt::format("{:.1f}", s.tonnes_not_cleared_in_food_bins), fmt::format("{:.1f}", s.tonnes_held),
             s.tonnes_not_cleared_in_food_bins > 0.0 ? std::string("not permitted") : fmt::format("{:.1f}", s.value)});
    };
    add(plan.score);
    for (const models::PlanScore& score : plan.compared_with) add(score);
    print(scores.text());
    print(wrapped_text(plan.value_says));
    for (const std::string& line : lines_of_plan_proof(plan)) print(wrapped_text(line));
    print("not permitted: that rule puts loads into food bins that are not cleared for them.");
    print("buyer rejects: chance that one usual strip test of a well mixed lot from the bin reads over its limit.");
    print_probes(view);
    for (const std::string& note : view.bins->notes) print(wrapped_text("Note: " + note + "."));
    print(wrapped_text(spoken(caution::screening)));
}

int run(const BinsCommand& command) {
    Question question;
    question.upto = Upto::bins;
    question.next_load = command.next;
    question.bins_ahead = command.ahead;
    if (!command.zones.empty() && !command.ahead)
        throw models::Error("zones are of fields that are still to be cut", "--zones", "give --ahead, too");
    question.bins_zones = command.zones;
    if (command.upper_cap_pct) {
        if (!(*command.upper_cap_pct >= 5.0 && *command.upper_cap_pct <= 100.0)) {
            throw models::Error(fmt::format("an upper cap of {} % is none", *command.upper_cap_pct), "--upper-cap",
                                "give 5 to 100 percent, as in --upper-cap 90");
        }
        question.upper_cap = *command.upper_cap_pct / 100.0;
    }
    const bool record = command.record.asked(command.next), queue = command.queue.asked(),
               outbound = command.outbound.asked();
    if (record + queue + outbound > 1 || (command.next && (queue || outbound))) {
        throw models::Error("--queue, --outbound and --next LOAD are three questions", "", "ask one at a time");
    }
    if (outbound) command.outbound.to_ask();  // a slip is told before the work
    question.all_grain = outbound;
    const SeasonView view = look(command.season, question);
    if (record && command.record.direct) {
        direct_next(view, command.season, *command.next, command.record);
    } else if (record) {
        record_next(view, command.season, *command.next, command.record, command.queue.at);
    } else if (queue) {
        print_queue(view, command.queue, command.season.json);
    } else if (outbound) {
        print_outbound(view, command.outbound, command.season.json, command.season.threads);
    } else if (command.season.json) {
        Json out = json_of(view);
        if (command.next) out["next"] = json_of_next(view, command.season, *command.next);
        print(out.dump(2));
    } else {
        print_tables(view, command);
    }
    return 0;
}

}  // namespace

Command make_bins_command() {
    return {
        "bins", "What is in each bin, and which bin each waiting load goes to.", [](Options& options) {
            auto command = std::make_shared<BinsCommand>();
            command->season.declare(options);
            command->season.declare_contamination(options);
            options.option(command->next, "--next", "LOAD",
                           "advice for this load, the truck on the scale, in view of all that wait");
            options.option(command->upper_cap_pct, "--upper-cap", "PCT",
                           "above this chance of being over a load counts as over without a result of its own");
            options.flag(command->ahead, "--ahead",
                         "plan for the fields that are still to be cut, too; a field may be split over bins");
            options.option(command->zones, "--zones", "FILE",
                           "with --ahead: fields are cut apart by the areas of this map file, as `map --split` writes "
                           "it");
            options.flag(command->explain, "--explain", "the whole reason of each load instead of one line");
            command->queue.declare(options);
            command->outbound.declare(options);
            command->record.declare(options);
            options.footer(
                "Examples\n"
                "  lodicule bins season.lodicule --season 2026\n"
                "  lodicule bins season.lodicule --season 2026 --queue\n"
                "  lodicule bins season.lodicule --season 2026 --next W26-30\n"
                "  lodicule bins season.lodicule --season 2026 --next W26-30 --record H1 --operator Ada\n"
                "  lodicule bins season.lodicule --season 2026 --next W26-30 --direct H1\n"
                "  lodicule bins season.lodicule --season 2026 --ahead --zones out/zones.gpkg\n"
                "  lodicule bins season.lodicule --season 2026 --outbound 25 --from S3 --buyer-bias 10 --lots\n"
                "A load goes into a bin under a limit only if it is itself cleared for it: no valid result over, and "
                "a\n"
                "chance of being over of at most 5 %. What is over goes to feed or other, or is turned away; what is\n"
                "undecided goes on hold. Grain over a limit is never brought under it by mixing.\n"
                "Where a contract with a price names the limit of a bin the value is money over the draws of "
                "contents:\n"
                "what contracts pay by their steps, nothing for a lot that a load over its limit spoils, minus its "
                "cost\n"
                "(wrong_acceptance_per_t of the costs). Places for all loads come before it. Without contracts the\n"
                "value counts tonnes (value_in_money is false). bound and gap say how far the best plan may be.\n"
                "What the fit says of grain is kept beside the store (STORE.kept-fit, STORE.kept-bins) and makes "
                "--next\n"
                "quick, a result that came since weighing on it; both files may be deleted at any time.");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::commands
