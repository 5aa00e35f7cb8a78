#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/figures/bins_figure.h"
#include "app/job.h"
#include "app/stages/load_decision.h"
#include "app/stages/next_stage.h"
#include "app/stages/pit_stage.h"
#include "app/window/pit_arrival.h"
#include "app/window/pit_lot.h"
#include "app/workflow.h"

namespace app::window {

struct Answer;
struct Session;

/// Other numbers than the store's, to see what the plan would be. Nothing of it is ever written, and nothing is
/// recorded while it is looked at.
struct WhatIf {
    std::string limit_id;                   ///< of a limit that a bin names
    std::optional<double> limit_mg_per_kg;  ///< instead of that one's number
    std::string contract;
    std::optional<double> price_per_t;  ///< instead of that contract's
    std::optional<double> upper_cap;    ///< 0.05 to 1: above this chance of being over a load is over
    bool operator==(const WhatIf&) const = default;
    bool any() const { return limit_mg_per_kg || price_per_t || upper_cap; }
};

/// A load that would go elsewhere.
struct PlanChange {
    std::string load, before, after;  ///< bins; empty: no place
};

/// The queue and where all of it goes, by the answer or by other numbers.
struct PitPlan {
    std::shared_ptr<const Answer> from;
    WhatIf what_if;
    std::optional<SeasonView> altered;  ///< by other numbers; none: the answer's own view counts
    QueueView queue;
    drawing::BinsFigure figure;
    std::vector<PlanChange> changes;  ///< against the answer
    const SeasonView& view() const;
};

/// The truck on the scale against each bin.
struct PitTruck {
    std::shared_ptr<const PitPlan> of;
    std::string load;
    std::optional<NextLoad> next;  ///< none: it does not wait
    models::ClearingState state = models::ClearingState::undecided;
    std::string in_short, reason;  ///< why, in a few words and whole
    bool turn_away = false;
    std::string shown_in;                   ///< the bin in which the figure shows its layer; empty: none
    drawing::BinsFigure figure;             ///< the plan's with that layer
    std::vector<drawing::BinLayer> layers;  ///< what it would be in each bin of the figure, on its limit's basis
    /// With its layer in another bin, the one that is asked about.
    drawing::BinsFigure figure_with(const std::string& bin) const;
};

/// What is to be recorded; nothing is written before a person has said yes to it.
struct PitQuestion {
    enum class Kind { decision, sample };
    Kind kind = Kind::decision;
    std::string load;
    std::string bin;                   ///< "out": turned away
    std::string mass, reason, sample;  ///< as they are being typed
    bool operator==(const PitQuestion&) const = default;
};

/// What was recorded of a truck that still stands on the scale of the window, until another is chosen.
struct PitRecorded {
    std::string load;
    std::string bin;  ///< "out": turned away
};

/// A place that the plan kept for a load, and that other loads have by the plan after it.
struct PlaceTaken {
    std::string bin, load;        ///< the load that had it
    std::string now;              ///< bin of that load since; empty: none
    std::vector<std::string> by;  ///< loads that have it now
};
/// What of that a plan changed against the one before it: of loads that still wait by `after`, the longest first.
std::vector<PlaceTaken> places_taken(const PitPlan& before, const PitPlan& after);

/// What the pit of the window knows besides the answer. It lies in the session and is changed by actions alone.
struct PitPanel {
    std::string load;  ///< on the scale; empty: none is chosen
    WhatIf what_if;
    std::string operator_name;  ///< who decides
    std::optional<PitQuestion> asks;
    std::optional<ArrivedTruck> arrives;  ///< a truck that is being written down
    ArrivalRefused arrival_refused;
    std::optional<LotAsked> lot_asked;  ///< that somebody thinks of selling

    std::shared_ptr<const PitPlan> plan;      ///< the last one there is
    std::shared_ptr<const PitPlan> as_it_is;  ///< the last one that was no what-if
    std::vector<PlaceTaken> taken;            ///< in this sitting, and still so
    /// As it was before a deed, by what the history of the sitting calls it.
    std::map<std::string, std::vector<PlaceTaken>> taken_before;
    /// A deed was taken back: by the next plan the places are as they were before it, and nobody took one by that.
    std::optional<std::vector<PlaceTaken>> taken_again;
    std::optional<PitRecorded> recorded;  ///< of the truck on the scale
    std::shared_ptr<const PitTruck> truck;
    std::unique_ptr<Job<PitPlan>> planning;
    std::unique_ptr<Job<PitTruck>> weighing;
    std::shared_ptr<const PitLot> lot;
    std::unique_ptr<Job<PitLot>> selling;
    std::shared_ptr<const Answer> planned_from;  ///< what is being planned
    WhatIf planned_what_if;

    std::string refused;    ///< why the last action was not done: shown beside what it was about
    std::string said;       ///< what was recorded, taken back or found last
    std::string said_of;    ///< the load that it speaks of
    std::string said_deed;  ///< that one as the history of the sitting names it; empty: it is none
    std::map<std::string, std::string> load_of_deed;  ///< by what the history of the sitting calls the deed
    std::map<std::string, PitRecorded> recorded_by;   ///< by the same, of decisions
    std::vector<std::string> cautions;                ///< of what was recorded
    std::vector<std::string> done;                    ///< loads recorded since the answer was worked out
};

/// Takes what finished work has to give and begins what is wanted next; true where something changed.
bool look_at_pit(Session& session);
bool pit_works(const Session& session);
/// Whether a clock of the queue is to be seen running: a load that came less than two days ago.
bool pit_clock_runs(const Session& session);
/// Whether what is shown is of the numbers that are asked for.
bool pit_is_up_to_date(const Session& session);

/// The load that a code is of, by its name, its ticket or a sample of it, whatever the letters' case; empty: none.
std::string load_of_code(const SeasonData& data, const std::string& code);
/// The load that waits longest and was not recorded since; empty: none waits.
std::string next_to_come(const PitPanel& pit);
/// The row of the queue; null where the load does not wait.
const QueuedLoad* queued_load(const PitPlan& plan, const std::string& load);
/// Why nothing may be recorded as it stands; empty: it may.
std::string why_not_yet(const Session& session, const PitQuestion& question);
/// The rule that the move would break; empty: none.
std::string rule_against(const Session& session, const PitQuestion& question);
/// What the plan has against it where no rule is broken; empty: nothing.
std::string plan_against(const Session& session, const PitQuestion& question);
/// What is going to be recorded, load and bin together, in one sentence.
std::string question_in_words(const Session& session, const PitQuestion& question);
/// A name for another sample of a load: "W26-30-2" after the first.
std::string next_sample_name(const SeasonData& data, const std::string& load);
/// Which strips may be used on a day, where none may: a sentence. Empty where some may.
std::string why_no_strips(const SeasonData& data, const models::Stamp& now);

// What the actions do.
void choose_load(Session& session, const std::string& load);
void find_load(Session& session, const std::string& code);
void ask_at_pit(Session& session, const PitQuestion& question);
void drop_question(Session& session);
/// None: what was being written of it is dropped.
void arrive_at_pit(Session& session, const std::optional<ArrivedTruck>& truck);
/// A record was taken back or done again: what is said of it follows.
/// @param deed  as the history of the sitting names it
void follow_history(Session& session, const std::string& deed, bool taken_back);
/// Writes what is asked, as one change. True where it was written.
bool record_at_pit(Session& session, const std::string& load, const std::string& bin);

/// The time of the newest record of grain: the moment that a picture of the pit is of.
models::Stamp newest_at_pit(const std::filesystem::path& store);

}  // namespace app::window
