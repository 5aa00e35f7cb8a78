#include "app/window/frame_clock.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>
#include <utility>

#include <unistd.h>

namespace app::window {

namespace {

/// Since this process was started; 0 where the system does not say.
double seconds_alive() {
    std::ifstream in("/proc/self/stat");
    const std::string line{std::istreambuf_iterator<char>(in), {}};
    // The name of the program stands in brackets and may hold blanks; the time of the start is the 20th word after it.
    const auto name_end = line.rfind(')');
    if (name_end == std::string::npos) return 0.0;
    std::istringstream words(line.substr(name_end + 1));
    std::string word;
    for (int i = 0; i < 19; ++i) words >> word;
    long long ticks = 0;
    if (!(words >> ticks)) return 0.0;
    std::timespec now{};
    clock_gettime(CLOCK_BOOTTIME, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec) -
           static_cast<double>(ticks) / static_cast<double>(sysconf(_SC_CLK_TCK));
}

double processor_s(clockid_t of) {
    std::timespec used{};
    clock_gettime(of, &used);
    return static_cast<double>(used.tv_sec) + 1e-9 * static_cast<double>(used.tv_nsec);
}

void tell_moment(const char* what) {
    std::fprintf(stderr, "%s %.3f s after the start, %.3f s of processor, of that %.3f s the window's own\n", what,
                 seconds_alive(), processor_s(CLOCK_PROCESS_CPUTIME_ID), processor_s(CLOCK_THREAD_CPUTIME_ID));
}

}  // namespace

FrameClock::FrameClock() : wanted_(std::getenv("LODICULE_TIMING") != nullptr) {}

FrameClock::~FrameClock() {
    if (!wanted_) return;
    dragged_.tell("frame while the map is dragged");
    zoomed_.tell("frame while the map is zoomed");
    drawn_anew_.tell("map drawn anew until it is whole");
    drawn_at_a_time_.tell("map drawn anew, longest at a time");
    key_idle_.tell("key to its frame");
    key_beside_work_.tell("key to its frame while work runs");
}

void FrameClock::key_came() {
    if (wanted_) keys_.push_back(Clock::now());
}

void FrameClock::begin() {
    if (!wanted_) return;
    begun_ = Clock::now();
    processor_begun_s_ = processor_s(CLOCK_PROCESS_CPUTIME_ID);
}

void FrameClock::end(const Frame& frame) {
    if (!wanted_) return;
    const auto now = Clock::now();
    const double wall = std::chrono::duration<double>(now - begun_).count();
    const double processor = processor_s(CLOCK_PROCESS_CPUTIME_ID) - processor_begun_s_;
    if (std::exchange(first_, false)) tell_moment("first frame");
    if (frame.shows_answer && !std::exchange(answered_, true)) tell_moment("first frame with an answer");
    if (frame.dragging) dragged_.add(wall, processor);
    if (frame.zooming) zoomed_.add(wall, processor);
    if (!frame.answers_keys) return;
    for (const auto& came : keys_)
        (frame.work_runs ? key_beside_work_ : key_idle_)
            .add(std::chrono::duration<double>(now - came).count(), processor);
    keys_.clear();
}

void FrameClock::drew_map(double whole_s, double processor_s_of_it, double longest_s_at_a_time) {
    if (!wanted_) return;
    drawn_anew_.add(whole_s, processor_s_of_it);
    drawn_at_a_time_.add(longest_s_at_a_time, 0.0);
}

void FrameClock::Times::add(double wall, double processor) {
    wall_s.push_back(wall);
    processor_s += processor;
}

void FrameClock::Times::tell(const char* what) {
    if (wall_s.empty()) return;
    std::sort(wall_s.begin(), wall_s.end());
    const std::size_t n = wall_s.size();
    std::fprintf(stderr,
                 "%s: median %.1f ms, slowest of twenty %.1f ms, slowest %.1f ms, processor %.1f ms, %zu times\n", what,
                 wall_s[n / 2] * 1e3, wall_s[n * 19 / 20] * 1e3, wall_s.back() * 1e3,
                 processor_s / static_cast<double>(n) * 1e3, n);
}

}  // namespace app::window
