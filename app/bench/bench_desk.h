#pragma once

#include <functional>
#include <string>
#include <vector>

#include "app/bench/bench.h"

namespace geo {
class Store;
}

namespace app {

/// What the bench knows of a store. Results are those of results_of_season (app/stages/results_stage.h).
/// @param results  how many of the last results
/// @param lots_have_own  kit lots that have a rule of their own for controls go by it
BenchFacts bench_facts(const geo::Store& store, const models::ControlSchedule& schedule, std::size_t results,
                       bool lots_have_own = true);

/// What is said after a line, the records being made.
struct DeskAnswer {
    std::vector<std::string> says;
    std::string question;  ///< what has to be answered now; empty: nothing
    bool refused = false;
    bool show = false, help = false, leave = false;
};

/// The bench with its store: makes the records that the bench asks for, at once, so that a power cut loses no clock and
/// no result; and sees what others bring into the store meanwhile.
class BenchDesk {
 public:
    struct Settings {
        models::ControlSchedule control_schedule;
        bool said_by_user = false;  ///< the schedule stands before those of kit lots
        std::size_t last_results = 5;
        std::string actor;  ///< of the records; empty: the name the operating system gives
        /// Makes the records; empty: geo::write_rows. All or none, and a refusal is a models::Error.
        std::function<void(geo::Store&, const std::vector<BenchWrite>&, const std::string& actor)> write = {};
    };
    BenchDesk(geo::Store& store, Settings settings, std::function<models::Stamp()> clock);

    /// A line, and what came of it.
    DeskAnswer take(const BenchLine& line);
    /// An answer that the bench gave without a line: its records are made.
    DeskAnswer settle(BenchAnswer answer);
    /// What others, or whoever took a record back, brought into the store meanwhile.
    void look_again();
    void read_again();  ///< whether or not anything was recorded

    Bench& bench() { return bench_; }
    models::Stamp now() const { return clock_(); }
    BenchView view() const { return bench_.view(clock_()); }

 private:
    BenchFacts facts() const;
    std::string last_record() const;

    geo::Store& store_;
    Settings settings_;
    std::function<models::Stamp()> clock_;
    Bench bench_;
    std::string seen_;  ///< the end of the chain of records that the bench's facts are of
};

/// The bench as a page: what is in use, what runs, the last results, whether a control is due.
std::string bench_page(const BenchView& view);
/// Of the page alone, a sentence each: what is kept from test to test, and whether a control is due.
std::string bench_in_use(const BenchView& view);
std::string bench_control(const BenchView& view);

/// This machine's time with its own offset (TZ).
models::Stamp machine_time();

}  // namespace app
