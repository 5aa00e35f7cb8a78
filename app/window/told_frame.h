#pragma once

#include <cstddef>
#include <filesystem>
#include <string>

#include "app/window/frame.h"

namespace app::window {

/// Whether nothing is being worked out that somebody at the window waits for.
bool nothing_works(const Session& session);

/// What one frame showed, for a script that works at the real window: one thing a line, its parts divided by tabs.
///   frame 12             how many were drawn
///   heard 34             presses and releases of keys and buttons until then
///   settled yes          nothing is worked out, and no more frames come of what was heard
///   room, season, limit, field, tests    what is chosen
///   place X Y W H NAME   in pixels of the window
///   text X Y W H WORDS   that stand where they can be seen
struct ToldFrame {
    std::size_t frame = 0, heard = 0;
    bool settled = false;
};
std::string text_of(const ToldFrame& told, const Session& session, const Places& places);

/// Writes that after each frame where $LODICULE_PLACES names a file, at one stroke, so that a script that looks in the
/// middle reads a whole frame. Silent otherwise; it tells, and nothing can be asked of the window through it.
class FrameTeller {
 public:
    FrameTeller();
    bool wanted() const { return !file_.empty(); }
    void tell(const ToldFrame& told, const Session& session, const Places& places);

 private:
    std::filesystem::path file_;
};

}  // namespace app::window
