#pragma once

#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "app/bench/bench_desk.h"
#include "geo/store/store.h"

namespace app::window {

/// The bench of the window: the same machine, and the same records, as `add STORE test` has at a terminal. It is opened
/// when somebody goes there, so that who only looks never holds the store for writing.
class BenchPanel {
 public:
    /// A line and what came of it, or what the bench said by itself (then the line is empty).
    struct Said {
        std::string line;
        std::vector<std::string> sentences;
        bool refused = false;
        bool by_scanner = false;
    };

    /// @throws models::Error  the store cannot be written
    BenchPanel(const std::filesystem::path& store, std::function<models::Stamp()> clock);

    void take(const BenchLine& line);
    /// What strips that came into or ran out of their time have to say; true where something did.
    bool listen();
    /// Whether a clock runs that is to be seen running.
    bool clock_runs() const { return !view_.running.empty(); }
    /// As it stands now.
    const BenchView& look();

    const BenchView& view() const { return view_; }
    const std::string& question() const { return question_; }
    const std::deque<Said>& said() const { return said_; }  ///< the newest last
    bool shows_help() const { return shows_help_; }

 private:
    void keep(Said said);

    geo::Store store_;
    BenchDesk desk_;
    BenchView view_;
    std::string question_;
    std::deque<Said> said_;
    bool shows_help_ = false;
};

/// The time of the newest strip or test of a store: the moment that a picture of its bench is of, so that the same
/// store gives the same picture.
models::Stamp newest_at_bench(const geo::Store& store);

}  // namespace app::window
