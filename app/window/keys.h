#pragma once

#include <deque>
#include <map>

namespace app::window {

/// The keys as they come from the keyboard, so that none is lost where somebody, or a scanner, types faster than frames
/// are drawn. Dear ImGui sees at a frame only which keys are down: what was pressed and let go in between is gone, and
/// three presses are one. Here every press waits for its frame:
///   - presses of one key that wait together fall into one frame and are counted in it
///   - another key waits for the next frame, for the one before may change who it is meant for
///   - what is let go after a press is down for the frame of that press: Ctrl of Ctrl+Z, whichever is let go first
///   - where a list or a box for typing reads the keys, one press at a time, since Dear ImGui counts none
class Keys {
 public:
    /// From the keyboard; a key that is held and repeats is pressed again. Keys go by the numbers of Dear ImGui's
    /// KeysDown, which are GLFW's.
    void pressed_now(int key) { waiting_.push_back({key, true}); }
    void released_now(int key) { waiting_.push_back({key, false}); }

    /// Takes the next presses from those that wait and tells Dear ImGui which keys are down. Before its NewFrame.
    void begin_frame(bool one_by_one);
    /// How often the key was pressed for this frame.
    int presses(int key) const;
    bool any_in_frame() const { return !presses_.empty(); }
    /// Another frame is wanted for what still waits.
    bool any_waiting() const { return !waiting_.empty(); }

 private:
    struct Change {
        int key;
        bool down;
    };
    std::deque<Change> waiting_;
    std::map<int, int> presses_;
};

}  // namespace app::window
