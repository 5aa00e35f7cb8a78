#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "models/progress.h"

namespace app::commands {

/// What a command shows and hears while it works long. Where stderr is a terminal, one line that is written over and
/// goes away at the end: what is done, how much of it, the time left; not before half a second. Ctrl-C asks the work to
/// stop at its next step, which then throws models::Cancelled; a second Ctrl-C ends the program at once. One at a time.
class TerminalProgress {
 public:
    TerminalProgress();
    ~TerminalProgress();  ///< clears the line; Ctrl-C does again what it did before
    TerminalProgress(const TerminalProgress&) = delete;
    TerminalProgress& operator=(const TerminalProgress&) = delete;

    const models::Progress& progress() const { return progress_; }
    /// Clears the line, so that something else can be said; the next step writes it again.
    void clear();

 private:
    struct Line;
    std::unique_ptr<Line> line_;
    models::Progress progress_;
};

/// The line itself: "importing samples, 12,288 rows   43 %, 3 s left", at most 79 letters.
/// @param share      of the work that `what` names, 0 to 1
/// @param elapsed_s  since that work began
std::string progress_line(std::string_view what, double share, double elapsed_s);

}  // namespace app::commands
