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

#include <GLFW/glfw3.h>
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

/// How long this thread could have run and did not, because others did; 0 where the system does not say.
/// Source: the Linux kernel's documentation, scheduler/sched-stats, /proc/<pid>/schedstat.
double stood_s() {
    std::ifstream in("/proc/thread-self/schedstat");
    long long ran_ns = 0, stood_ns = 0;
    return in >> ran_ns >> stood_ns ? 1e-9 * static_cast<double>(stood_ns) : 0.0;
}

std::string name_of_key(int key) {
    if (key > ' ' && key < 127) return std::string(1, static_cast<char>(key));
    if (key >= GLFW_KEY_F1 && key <= GLFW_KEY_F25) return "F" + std::to_string(key - GLFW_KEY_F1 + 1);
    switch (key) {
        case GLFW_KEY_ENTER:
            return "Enter";
        case GLFW_KEY_RIGHT:
            return "Right";
        case GLFW_KEY_LEFT:
            return "Left";
        case GLFW_KEY_DOWN:
            return "Down";
        case GLFW_KEY_UP:
            return "Up";
        case GLFW_KEY_LEFT_CONTROL:
            return "Ctrl";
        default:
            return std::to_string(key);
    }
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
    std::fprintf(stderr, "%d frames, %d of them while work ran\n", frames_, frames_beside_work_);
    key_idle_.tell("key to its frame");
    key_beside_work_.tell("key to its frame while work runs");
}

void FrameClock::asks(bool waits) {
    if (!wanted_) return;
    waits_ = waits;
    is_at(nullptr);
    asked_ = Clock::now();
    stood_asked_s_ = stood_s();
}

void FrameClock::key_came(int key) {
    if (!wanted_) return;
    const auto now = Clock::now();
    const double stood = stood_s();
    // What is there at once came while nobody asked.
    if (!waits_ || now - asked_ < std::chrono::milliseconds(1)) {
        is_at(nullptr);
        keys_.push_back({key, has_asked_, stood_asked_s_, at_for_s_});
        return;
    }
    const std::chrono::duration<double> late(stood - stood_asked_s_);
    keys_.push_back(
        {key, std::max(asked_, now - std::chrono::duration_cast<Clock::duration>(late)), stood_asked_s_, {}});
}

void FrameClock::has_asked() {
    if (!wanted_) return;
    has_asked_ = Clock::now();
    at_for_s_.clear();
    at_ = nullptr;
}

void FrameClock::is_at(const char* what) {
    if (!wanted_) return;
    const auto now = Clock::now();
    const std::chrono::duration<double> took = now - at_since_;
    constexpr double worth_telling_s = 1e-3;
    if (at_ != nullptr && took.count() >= worth_telling_s) at_for_s_.emplace_back(at_, took.count());
    at_ = what;
    at_since_ = now;
}

void FrameClock::begin() {
    if (!wanted_) return;
    begun_ = Clock::now();
    answered_keys_ = keys_.size();
    is_at("a frame's layout");
    processor_begun_s_ = processor_s(CLOCK_PROCESS_CPUTIME_ID);
}

void FrameClock::laid_out() {
    if (!wanted_) return;
    laid_out_ = Clock::now();
    is_at("a frame's paint");
}

void FrameClock::end(const Frame& frame) {
    if (!wanted_) return;
    const auto now = Clock::now();
    const double wall = std::chrono::duration<double>(now - begun_).count();
    const double processor = processor_s(CLOCK_PROCESS_CPUTIME_ID) - processor_begun_s_;
    ++frames_;
    if (frame.work_runs) ++frames_beside_work_;
    if (std::exchange(first_, false)) tell_moment("first frame");
    if (frame.shows_answer && !std::exchange(answered_, true)) tell_moment("first frame with an answer");
    if (frame.dragging && frame.is_painted) dragged_.add(wall, processor);
    if (frame.zooming && frame.is_painted) zoomed_.add(wall, processor);
    if (!frame.answers_keys) return;
    const auto s_of = [](Clock::duration time) { return std::chrono::duration<double>(time).count(); };
    const double stood = answered_keys_ == 0 ? 0.0 : stood_s();
    // Those that came since are answered by a later frame.
    const auto answered_end = keys_.begin() + static_cast<std::ptrdiff_t>(std::min(answered_keys_, keys_.size()));
    for (auto at = keys_.begin(); at != answered_end; ++at) {
        const Key& key = *at;
        KeyTimes& times = frame.work_runs ? key_beside_work_ : key_idle_;
        times.all.add(s_of(now - key.came), processor);
        times.each.push_back({key.key, frame.room, s_of(now - key.came), s_of(begun_ - key.came),
                              s_of(laid_out_ - begun_), s_of(now - laid_out_), stood - key.stood_s, key.kept_by});
    }
    keys_.erase(keys_.begin(), answered_end);
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

void FrameClock::KeyTimes::tell(const char* what) {
    all.tell(what);
    constexpr std::size_t most = 4;
    const std::size_t told = std::min(most, each.size());
    std::partial_sort(each.begin(), each.begin() + static_cast<std::ptrdiff_t>(told), each.end(),
                      [](const Answered& a, const Answered& b) { return a.whole_s > b.whole_s; });
    for (std::size_t i = 0; i < told; ++i) {
        const Answered& one = each[i];
        std::fprintf(stderr,
                     "    %s in %s: %.1f ms, %.1f until its frame, %.1f laid out, %.1f painted; %.1f of it without a "
                     "processor",
                     name_of_key(one.key).c_str(), one.room, one.whole_s * 1e3, one.until_frame_s * 1e3,
                     one.laid_out_s * 1e3, one.painted_s * 1e3, one.stood_s * 1e3);
        for (const auto& [at, took_s] : one.kept_by) std::fprintf(stderr, ", %s %.1f", at, took_s * 1e3);
        std::fputc('\n', stderr);
    }
}

}  // namespace app::window
