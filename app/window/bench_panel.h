#pragma once

#include <deque>
#include <functional>
#include <map>
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

    using Writer = std::function<void(geo::Store&, const std::vector<geo::RowToWrite>&, const std::string& actor)>;

    /// @param write  makes the records, so that they can be taken back; empty: they are made and forgotten
    /// @throws models::Error  the store cannot be written
    BenchPanel(const std::filesystem::path& store, std::function<models::Stamp()> clock, Writer write = {});

    /// As the bench was left: the strip in hand, where it still runs, and what is kept from test to test.
    void take_up_again(const std::string& strip, const std::map<std::string, std::string>& kept);
    /// Records were made or taken back beside the bench.
    void look_again();
    void read_again();

    void take(const BenchLine& line);
    /// What was done beside the line: a record taken back, or made again.
    void say(std::string sentence) { keep({"", {std::move(sentence)}, false, false}); }
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
    /// The line of a result that waits for its yes; empty: none does.
    const std::string& line_that_waits() const { return line_that_waits_; }

 private:
    void keep(Said said);

    geo::Store store_;
    BenchDesk desk_;
    BenchView view_;
    std::string question_, line_that_waits_;
    std::deque<Said> said_;
    bool shows_help_ = false;
};

/// The time of the newest strip or test of a store: the moment that a picture of its bench is of, so that the same
/// store gives the same picture.
models::Stamp newest_at_bench(const geo::Store& store);

}  // namespace app::window
