#include "app/window/pit_panel.h"

#include <algorithm>
#include <cctype>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "app/commands/record_cautions.h"
#include "app/figures_of_season.h"
#include "app/pit_words.h"
#include "app/stages/withdrawn_names.h"
#include "app/window/session.h"
#include "app/window/take_over.h"
#include "app/window/typed_number.h"
#include "app/words.h"
#include "geo/check.h"
#include "geo/store/store.h"
#include "models/decision/expected.h"
#include "models/decision/load_life.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spoken.h"

namespace app::window {

namespace {

// --- what is worked out beside the window ---

/// By load, where the plan has it; empty: nowhere.
std::map<std::string, std::string> places_of(const models::BinPlan& plan) {
    std::map<std::string, std::string> places;
    for (const models::Assignment& load : plan.assignments) places[load.name] = load.bin;
    for (const models::UnplacedGrain& load : plan.unplaced) places[load.name];
    return places;
}

void suppose(SeasonData& data, const WhatIf& what_if) {
    for (models::Limit& limit : data.limits)
        if (what_if.limit_mg_per_kg && limit.limit_id == what_if.limit_id)
            limit.limit_mg_per_kg = *what_if.limit_mg_per_kg;
    for (models::Contract& contract : data.contracts)
        if (what_if.price_per_t && contract.contract == what_if.contract) contract.price_per_t = *what_if.price_per_t;
}

struct PlanAsked {
    std::filesystem::path store;
    std::shared_ptr<const Answer> from;
    WhatIf what_if;
    models::InterpolationSettings weather;
    models::Stamp now;
    std::shared_ptr<SeasonMemory> memory;
};

PitPlan plan_of_pit(const PlanAsked& asked, const models::Progress& progress) {
    PitPlan plan;
    plan.from = asked.from;
    plan.what_if = asked.what_if;
    if (plan.what_if.any()) {
        const geo::Store store = geo::Store::open(asked.store, geo::Store::Access::read_only);
        Question question;
        question.season = asked.from->view.season;
        question.upto = Upto::bins;
        question.weather = asked.weather;
        const bool other_numbers = plan.what_if.limit_mg_per_kg || plan.what_if.price_per_t;
        if (!other_numbers) question.upper_cap = plan.what_if.upper_cap;
        plan.altered = look_at_season(store, question, progress, *asked.memory);
        plan.altered->limit = asked.from->view.limit;  // the colours stay
        if (other_numbers) {
            suppose(plan.altered->data, plan.what_if);
            BinsSettings settings;
            settings.season = plan.altered->season;
            settings.upper_cap = plan.what_if.upper_cap;
            plan.altered->bins = bins_of_season(plan.altered->data, plan.altered->contamination, settings, progress);
        }
        std::map<std::string, std::string> before = places_of(asked.from->view.bins->plan);
        for (const auto& [load, bin] : places_of(plan.altered->bins->plan))
            if (before[load] != bin) plan.changes.push_back({load, before[load], bin});
    }
    const SeasonView& view = plan.view();
    QueueSettings queue;
    queue.season = view.season;
    queue.at = asked.now;
    plan.queue = queue_of_season(view.data, *view.bins, queue);
    plan.figure = plan.altered ? bins_figure_of(view) : asked.from->bins;
    for (drawing::BinDrawing& bin : plan.figure.bins)
        for (const models::BinOutlook& look : view.bins->plan.bins) {
            if (look.bin != bin.bin) continue;
            bin.rejection = look.rejection_probability;
            if (bin.coming.empty()) continue;
            bin.planned_mean_mg_per_kg = look.mean_mg_per_kg;
            bin.planned_low90_mg_per_kg = look.low90_mg_per_kg;
            bin.planned_high90_mg_per_kg = look.high90_mg_per_kg;
            bin.planned_exceedance = look.exceedance;
        }
    return plan;
}

/// The layer that the load would be in each bin, and shown in the one that is advised.
void show_would_be(PitTruck& truck, const SeasonView& view) {
    truck.shown_in = truck.next->advised;
    const auto& sources = view.bins->draws.sources;
    const auto found = std::find(sources.begin(), sources.end(), truck.load);
    for (std::size_t b = 0; b < truck.figure.bins.size(); ++b) {
        drawing::BinLayer layer;
        layer.load = truck.load;
        layer.mass_t = truck.next->mass_t;
        if (found != sources.end()) {
            const Eigen::VectorXd draws =
                view.bins->draws.mg_per_kg.col(found - sources.begin()) * view.bins->factor(b, truck.load);
            layer.median_mg_per_kg = models::quantile_of_draws(draws, 0.5);
            layer.low90_mg_per_kg = models::quantile_of_draws(draws, 0.05);
            layer.high90_mg_per_kg = models::quantile_of_draws(draws, 0.95);
        }
        truck.layers.push_back(std::move(layer));
    }
    truck.figure = truck.figure_with(truck.shown_in);
}

PitTruck truck_of_pit(std::shared_ptr<const PitPlan> plan, const std::string& load) {
    PitTruck truck;
    truck.of = std::move(plan);
    truck.load = load;
    truck.figure = truck.of->figure;
    const SeasonView& view = truck.of->view();
    const models::Load* record = load_named(view.data, load);
    if (record == nullptr || !waits(*record, view.bins->ledger)) return truck;
    truck.next = next_load(view.data, *view.bins, load, false, truck.of->queue.at);
    for (const models::Assignment& placed : view.bins->plan.assignments) {
        if (placed.name != load) continue;
        truck.state = placed.state;
        truck.in_short = placed.in_short;
        truck.reason = placed.reason;
    }
    for (const models::UnplacedGrain& left : view.bins->plan.unplaced) {
        if (left.name != load) continue;
        truck.state = left.state;
        truck.in_short = left.in_short;
        truck.reason = left.reason;
        truck.turn_away = left.turn_away;
    }
    if (truck.in_short.empty() && !(truck.next->mass_t > 0.0)) truck.in_short = spoken(words::pit_weigh_it);
    show_would_be(truck, view);
    return truck;
}

std::string in_small_letters(std::string words_of_it) {
    for (char& letter : words_of_it) letter = static_cast<char>(std::tolower(static_cast<unsigned char>(letter)));
    return words_of_it;
}

bool is_done(const PitPanel& pit, const std::string& load) {
    return std::find(pit.done.begin(), pit.done.end(), load) != pit.done.end();
}

/// On the scale stands the load that waits longest, where nobody chose another that still waits.
void choose_by_age(PitPanel& pit) {
    // What was recorded stands until somebody goes on.
    if (pit.recorded && pit.recorded->load == pit.load) return;
    if (!pit.load.empty() && queued_load(*pit.plan, pit.load) != nullptr && !is_done(pit, pit.load)) return;
    pit.load = next_to_come(pit);
}

void say_at_pit(PitPanel& pit, std::string sentence, std::string load, std::string deed = "") {
    pit.said = std::move(sentence);
    pit.said_of = std::move(load);
    pit.said_deed = std::move(deed);
    pit.cautions.clear();
    if (!pit.said_deed.empty() && !pit.said_of.empty()) pit.load_of_deed[pit.said_deed] = pit.said_of;
}

bool is_blank(const std::string& text) {
    return text.find_first_not_of(" \t") == std::string::npos;
}

/// One change of the store, made by the pit: everything that it ever writes goes through here.
/// @param what  as the history of the sitting names it
/// @throws models::Error  the store holds more than the answer that was looked at knows; what geo::write_rows refuses
std::vector<std::string> write_change(Session& session, const std::vector<geo::RowToWrite>& rows,
                                      const std::string& actor, const std::string& what) {
    geo::Store store = geo::Store::open(session.store);
    if (geo::end_of_chain(store).sha256 != session.answer->last_record)
        throw models::Error(spoken(words::pit_store_moved_on));
    const std::vector<geo::ImportReport> reports = session.history.write(store, rows, actor, what);
    return commands::cautions_of_records(store, reports.front());
}

}  // namespace

const SeasonView& PitPlan::view() const {
    return altered ? *altered : from->view;
}

drawing::BinsFigure PitTruck::figure_with(const std::string& bin) const {
    drawing::BinsFigure with = figure;
    for (std::size_t b = 0; b < with.bins.size(); ++b) {
        with.bins[b].would_be.reset();
        if (with.bins[b].bin == bin && b < layers.size()) with.bins[b].would_be = layers[b];
    }
    return with;
}

std::vector<PlaceTaken> places_taken(const PitPlan& before, const PitPlan& after) {
    std::map<std::string, std::string> had = places_of(before.view().bins->plan),
                                       has = places_of(after.view().bins->plan);
    std::vector<PlaceTaken> taken;
    for (const QueuedLoad& row : after.queue.waiting) {
        const auto was = had.find(row.load);
        if (was == had.end() || was->second.empty() || has[row.load] == was->second) continue;
        PlaceTaken one{was->second, row.load, has[row.load], {}};
        for (const QueuedLoad& other : after.queue.waiting) {
            const auto place = had.find(other.load);
            const bool had_it = place != had.end() && place->second == one.bin;
            if (!had_it && has[other.load] == one.bin) one.by.push_back(other.load);
        }
        if (!one.by.empty()) taken.push_back(std::move(one));
    }
    return taken;
}

namespace {

/// What is known of places that were taken follows the plan of what is.
void follow_places(PitPanel& pit) {
    if (pit.plan->altered) return;
    const auto before = std::exchange(pit.as_it_is, pit.plan);
    if (!before || before == pit.plan) return;
    if (before->view().season != pit.plan->view().season) {
        pit.taken.clear();
        return;
    }
    std::map<std::string, std::string> has = places_of(pit.plan->view().bins->plan);
    for (PlaceTaken& one : pit.taken) {
        std::erase_if(one.by, [&](const std::string& load) { return has[load] != one.bin; });
        one.now = has[one.load];
    }
    std::vector<PlaceTaken> fresh = places_taken(*before, *pit.plan);
    if (pit.taken_again) {
        fresh.clear();
        pit.taken = std::move(*pit.taken_again);
        pit.taken_again.reset();
    }
    std::erase_if(pit.taken, [&](const PlaceTaken& one) {
        const bool anew =
            std::any_of(fresh.begin(), fresh.end(), [&](const PlaceTaken& other) { return other.load == one.load; });
        return anew || one.by.empty() || one.now == one.bin || queued_load(*pit.plan, one.load) == nullptr;
    });
    pit.taken.insert(pit.taken.end(), fresh.begin(), fresh.end());
}

}  // namespace

bool look_at_pit(Session& session) {
    PitPanel& pit = session.pit;
    bool changed = false;
    if (const auto left = take_over(session, pit.planning)) {
        if (left->result) {
            if (!pit.plan || pit.plan->from != left->result->from) pit.done.clear();
            pit.plan = left->result;
            follow_places(pit);
        } else if (!left->stopped) {
            pit.refused = left->problem;
            if (pit.what_if.any()) pit.what_if = {};
        }
        changed = true;
    }
    if (const auto left = take_over(session, pit.weighing)) {
        if (left->result)
            pit.truck = left->result;
        else
            pit.refused = left->problem;
        changed = true;
    }
    if (!session.answer || !session.answer->view.bins) return changed;
    changed = look_at_lot(session) || changed;
    const bool planned = pit.plan && pit.plan->from == session.answer && pit.plan->what_if == pit.what_if;
    const bool being_planned = pit.planning && pit.planned_from == session.answer && pit.planned_what_if == pit.what_if;
    if (pit.planning && !being_planned) pit.planning->cancel();
    if (!planned && !pit.planning) {
        pit.planned_from = session.answer;
        pit.planned_what_if = pit.what_if;
        const PlanAsked asked{session.store,   session.answer,  pit.what_if,
                              session.weather, session.clock(), session.memory};
        pit.planning = std::make_unique<Job<PitPlan>>(
            spoken(words::pit_planning),
            [asked](const models::Progress& progress) { return plan_of_pit(asked, progress); }, session.wake);
    }
    if (!pit.plan) return changed;
    const std::string before = pit.load;
    if (planned && !session.working) choose_by_age(pit);
    if (pit.load != before) {
        pit.asks.reset();
        pit.lot_asked.reset();
    }
    if (pit.load.empty()) {
        pit.truck.reset();
    } else if (!pit.weighing && !(pit.truck && pit.truck->of == pit.plan && pit.truck->load == pit.load)) {
        pit.weighing = std::make_unique<Job<PitTruck>>(
            spoken(words::pit_weighing),
            [plan = pit.plan, load = pit.load](const models::Progress&) { return truck_of_pit(plan, load); },
            session.wake);
    }
    return changed || pit.load != before;
}

bool pit_works(const Session& session) {
    return session.room == Room::bins && (session.pit.planning || session.pit.weighing || session.pit.selling);
}

bool pit_clock_runs(const Session& session) {
    if (!session.pit.plan) return false;
    const auto& waiting = session.pit.plan->queue.waiting;
    const models::Stamp now = session.clock();
    return std::any_of(waiting.begin(), waiting.end(), [&](const QueuedLoad& row) {
        return row.since && now.utc >= row.since->utc && now.utc - row.since->utc < std::chrono::hours(48);
    });
}

bool pit_is_up_to_date(const Session& session) {
    const PitPanel& pit = session.pit;
    return pit.plan && pit.plan->from == session.answer && pit.plan->what_if == pit.what_if && !session.working;
}

std::string load_of_code(const SeasonData& data, const std::string& code) {
    if (load_named(data, code) != nullptr) return code;
    if (const auto sample = sample_index(data, code)) {
        const std::string load = grain_of_sample(data, *sample).load;
        if (!load.empty()) return load;
    }
    const std::string small = in_small_letters(code);
    std::string found;
    // The newest load of a ticket.
    for (const models::Load& load : data.loads)
        if (in_small_letters(load.load) == small || (!load.ticket.empty() && in_small_letters(load.ticket) == small))
            found = load.load;
    return found;
}

std::string next_to_come(const PitPanel& pit) {
    for (const QueuedLoad& row : pit.plan->queue.waiting)
        if (!is_done(pit, row.load)) return row.load;
    return "";
}

const QueuedLoad* queued_load(const PitPlan& plan, const std::string& load) {
    for (const QueuedLoad& row : plan.queue.waiting)
        if (row.load == load) return &row;
    return nullptr;
}

std::string rule_against(const Session& session, const PitQuestion& question) {
    if (question.kind != PitQuestion::Kind::decision || question.bin == "out") return "";
    const auto& truck = session.pit.truck;
    if (!truck || truck->load != question.load || !truck->next) return "";
    const BinChoice* choice = choice_named(*truck->next, question.bin);
    return choice == nullptr ? "" : choice->against;
}

std::string plan_against(const Session& session, const PitQuestion& question) {
    if (question.kind != PitQuestion::Kind::decision || question.bin == "out") return "";
    const auto& truck = session.pit.truck;
    if (!truck || truck->load != question.load || !truck->next) return "";
    const BinChoice* choice = choice_named(*truck->next, question.bin);
    return choice == nullptr ? "" : choice->given;
}

std::string why_not_yet(const Session& session, const PitQuestion& question) {
    const PitPanel& pit = session.pit;
    if (pit.what_if.any()) return spoken(words::pit_end_what_if);
    if (!pit_is_up_to_date(session)) return spoken(words::pit_not_up_to_date);
    if (!pit.truck || pit.truck->of != pit.plan || pit.truck->load != question.load || !pit.truck->next)
        return spoken(words::pit_not_up_to_date);
    if (question.kind == PitQuestion::Kind::sample) {
        if (is_blank(question.sample)) return spoken(words::pit_sample_without_name);
        if (sample_index(pit.plan->view().data, question.sample))
            return spoken(words::pit_sample_is_there, question.sample);
        return "";
    }
    if (question.bin.empty()) return spoken(words::pit_choose_a_bin);
    if (question.bin != "out" && choice_named(*pit.truck->next, question.bin) == nullptr)
        return spoken(words::pit_no_such_bin, question.bin);
    if (!tonnes_typed(question.mass)) return spoken(words::pit_no_mass);
    if (!rule_against(session, question).empty() && is_blank(question.reason)) return spoken(words::pit_say_why);
    return "";
}

std::string question_in_words(const Session& session, const PitQuestion& question) {
    const PitPanel& pit = session.pit;
    if (question.kind == PitQuestion::Kind::sample)
        return spoken(words::pit_asks_sample, question.load, question.sample);
    if (question.bin.empty()) return spoken(words::pit_asks_which, question.load);
    const std::string mass = question.mass.empty() ? "?" : question.mass;
    if (question.bin == "out") return spoken(words::pit_asks_away, question.load, mass);
    const std::string advised = pit.truck && pit.truck->next ? pit.truck->next->advised : "";
    const std::string advice = advised == question.bin ? spoken(words::pit_as_advised)
                               : advised.empty()       ? spoken(words::pit_none_advised)
                                                       : spoken(words::pit_other_advised, advised);
    const bool allowed = rule_against(session, question).empty();
    return fmt::format(fmt::runtime(allowed ? spoken(words::pit_asks_into) : spoken(words::pit_asks_lies)),
                       question.load, mass, question.bin, advice);
}

std::string next_sample_name(const SeasonData& data, const std::string& load) {
    for (int number = 1;; ++number) {
        const std::string name = fmt::format("{}-{}", load, number);
        if (!sample_index(data, name) && load_named(data, name) == nullptr) return name;
    }
}

std::string why_no_strips(const SeasonData& data, const models::Stamp& now) {
    if (data.kit_lots.empty()) return spoken(words::pit_no_kit_lot);
    const models::LocalDay today = now.local_day();
    const models::KitLot* last = nullptr;
    for (const models::KitLot& lot : data.kit_lots) {
        if (!lot.expires || *lot.expires >= today) return "";
        if (last == nullptr || *lot.expires > *last->expires) last = &lot;
    }
    return spoken(words::pit_lots_expired, last->kit_lot, models::to_text(*last->expires));
}

void choose_load(Session& session, const std::string& load) {
    PitPanel& pit = session.pit;
    if (pit.asks && pit.asks->load != load) pit.asks.reset();
    // What was looked into beside one truck is not left open beside the next.
    if (pit.load != load) pit.lot_asked.reset();
    pit.recorded.reset();
    pit.load = load;
    pit.refused.clear();
}

void find_load(Session& session, const std::string& code) {
    PitPanel& pit = session.pit;
    pit.refused.clear();
    if (!pit.plan) return;
    const SeasonData& data = pit.plan->view().data;
    const std::string load = load_of_code(data, code);
    if (pit.arrives) {
        fill_arrival(session, code);
        return;
    }
    if (pit.asks) {
        // A label for the sample that is being asked about; everything else waits until the question is answered.
        const bool a_label = pit.asks->kind == PitQuestion::Kind::sample && load.empty() && !sample_index(data, code);
        if (a_label)
            pit.asks->sample = code;
        else
            pit.refused = spoken(words::pit_question_is_open, code);
        return;
    }
    if (load.empty()) {
        pit.refused = spoken(words::pit_no_such_load, code);
        return;
    }
    if (queued_load(*pit.plan, load) == nullptr || is_done(pit, load)) {
        const std::string where = pit.plan->view().bins->ledger.where_is_in_words(load);
        pit.refused =
            where.empty() ? spoken(words::pit_waits_not, load) : spoken(words::pit_waits_not_because, load, where);
        return;
    }
    choose_load(session, load);
    say_at_pit(pit, load == code ? spoken(words::pit_found, load) : spoken(words::pit_found_by, load, code), load);
}

void follow_history(Session& session, const std::string& deed, bool taken_back) {
    PitPanel& pit = session.pit;
    const auto known = pit.load_of_deed.find(deed);
    const std::string of = known == pit.load_of_deed.end() ? "" : known->second;
    if (taken_back) std::erase(pit.done, of);
    pit.taken_again.reset();
    if (const auto places = pit.taken_before.find(deed); taken_back && places != pit.taken_before.end())
        pit.taken_again = places->second;
    if (pit.recorded && pit.recorded->load == of) pit.recorded.reset();
    // The truck that was put back stands on the scale again.
    if (taken_back && !of.empty()) choose_load(session, of);
    if (const auto decided = pit.recorded_by.find(deed); !taken_back && decided != pit.recorded_by.end()) {
        choose_load(session, of);
        pit.done.push_back(of);
        pit.recorded = decided->second;
    }
    say_at_pit(pit, session.history.said() + ".", of, deed);
}

void ask_at_pit(Session& session, const PitQuestion& question) {
    session.pit.refused.clear();
    session.pit.arrives.reset();
    session.pit.asks = question;
}

void arrive_at_pit(Session& session, const std::optional<ArrivedTruck>& truck) {
    PitPanel& pit = session.pit;
    if (truck) pit.asks.reset();
    // What was refused stands beside its box until something in the boxes is another.
    if (!truck || !pit.arrives || truck->typed != pit.arrives->typed) pit.arrival_refused = {};
    pit.arrives = truck;
}

void drop_question(Session& session) {
    session.pit.refused.clear();
    session.pit.asks.reset();
}

bool record_at_pit(Session& session, const std::string& load, const std::string& bin) {
    PitPanel& pit = session.pit;
    if (!pit.asks || pit.asks->load != load || pit.asks->bin != bin) return false;
    const PitQuestion question = *pit.asks;
    pit.refused = why_not_yet(session, question);
    if (!pit.refused.empty()) return false;
    const models::Stamp now = session.clock();
    const SeasonData& data = session.answer->view.data;
    try {
        if (question.kind == PitQuestion::Kind::sample) {
            std::vector<std::pair<std::string, std::string>> values{{"sample", question.sample},
                                                                    {"stage", "truck"},
                                                                    {"kind", "composite"},
                                                                    {"load", load},
                                                                    {"taken_time", models::to_text(now)}};
            if (!is_blank(pit.operator_name)) values.emplace_back("taken_by", pit.operator_name);
            std::vector<geo::RowToWrite> rows{{"samples", values}};
            // Who was directed is tested again before anything is dumped.
            if (load_named(data, load)->status == models::LoadStatus::directed)
                rows.push_back({"loads", {{"load", load}, {"status", "awaiting"}}, "", "sample " + question.sample});
            const std::string deed = spoken(words::pit_done_sample, question.sample, load);
            std::vector<std::string> cautions = write_change(session, rows, pit.operator_name, deed);
            say_at_pit(pit, spoken(words::pit_recorded_sample, question.sample, load), load, deed);
            pit.cautions = std::move(cautions);
        } else {
            LoadDecision decision;
            decision.load = load;
            decision.bin = bin;
            decision.operator_name = is_blank(pit.operator_name) ? "" : pit.operator_name;
            decision.reason = is_blank(question.reason) ? "" : question.reason;
            decision.mass_t = tonnes_typed(question.mass);
            decision.happened = !rule_against(session, question).empty();
            decision.when = now;
            // A move that was taken back keeps its name in the chain of records.
            decision.move = next_move_name(
                data.moves, withdrawn_names(geo::Store::open(session.store, geo::Store::Access::read_only), "moves"));
            const NextLoad& next = *pit.truck->next;
            const DecisionRows change = rows_of_decision(data, next, decision);
            const std::string deed =
                bin == "out" ? spoken(words::pit_done_away, load) : spoken(words::pit_done_into, load, bin);
            std::vector<std::string> cautions = write_change(session, change.rows, decision.operator_name, deed);
            if (!change.caution.empty()) cautions.push_back(change.caution);
            if (bin != "out" && !next.advised.empty() && next.advised != bin && decision.reason.empty())
                cautions.emplace_back(spoken(words::pit_no_reason_written));
            const std::string mass = models::said(mass_text(change.mass_t));
            say_at_pit(pit,
                       bin == "out" ? spoken(words::pit_recorded_away, load, mass, change.move)
                                    : spoken(words::pit_recorded_into, load, mass, bin, change.move),
                       load, deed);
            pit.cautions = std::move(cautions);
            pit.done.push_back(load);
            pit.taken_before[deed] = pit.taken;
            pit.recorded = pit.recorded_by[deed] = {load, bin};
        }
    } catch (const models::Error& error) {
        pit.refused = error.what();
        return false;
    }
    pit.asks.reset();
    return true;
}

models::Stamp newest_at_pit(const std::filesystem::path& file) {
    const geo::Store store = geo::Store::open(file, geo::Store::Access::read_only);
    models::Stamp newest;
    const auto take = [&](const models::Stamp& time) {
        if (time.utc > newest.utc) newest = time;
    };
    for (const models::Load& load : store.loads()) take(load.time);
    for (const models::Move& move : store.moves()) take(move.time);
    for (const models::Test& test : store.tests()) take(test.time);
    return newest;
}

}  // namespace app::window
