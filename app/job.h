#pragma once

#include <atomic>
#include <chrono>
#include <exception>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <utility>

#include "app/language.h"
#include "models/progress.h"

namespace app {

/// From now on this thread, and every thread that it starts, gives way to the rest of the program: work beside the
/// window takes what a key, or a hand that moves the map, leaves of the processor.
void give_way();

/// Work of so many seconds has ended on this thread: what it freed goes back to the system, after long work all that is
/// free. After short work the rest stays for the next frame, which would have to ask for it again page by page.
void give_back_freed_memory(double seconds);

/// How often work says that it came further: as often as a bar is looked at. Each time the window draws a frame, which
/// without a graphics card takes both processors from the work.
inline constexpr std::chrono::milliseconds between_tellings{200};

/// A Job whatever its result.
class AnyJob {
 public:
    AnyJob() = default;
    virtual ~AnyJob() = default;
    AnyJob(const AnyJob&) = delete;
    AnyJob& operator=(const AnyJob&) = delete;
    virtual void cancel() = 0;
    virtual bool done() const = 0;
    /// Done, and nobody waits who lets it go. Its thread gives way until its last step, so that between being done and
    /// this, others that want the processor may come first.
    virtual bool ended() const = 0;
};

/// One long computation beside the window: it says how far it is, can be asked to stop, and hands its result over when
/// the window asks. The work gets a Progress and runs on a thread of its own; whatever it throws is kept as a sentence.
/// A Job that goes out of scope asks its work to stop and waits for it.
template <typename Result>
class Job : public AnyJob {
 public:
    using Work = std::function<Result(const models::Progress&)>;

    /// @param wake  called (from the working threads) when there is something new to show: at the end, and at steps
    ///              that lie `between_tellings` apart; may be empty
    Job(std::string name, Work work, std::function<void()> wake = {})
        : name_(std::move(name)), started_(std::chrono::steady_clock::now()) {
        thread_ = std::jthread([this, work = std::move(work), wake = std::move(wake),
                                language = models::translation_here()](const std::stop_token& stop) mutable {
            const models::Translated translated(language);
            give_way();
            std::optional<std::chrono::steady_clock::time_point> told;
            const models::Progress progress([&](std::string_view what, double share) {
                bool tell = false;
                {
                    const std::lock_guard lock(mutex_);
                    what_ = what;
                    const auto now = std::chrono::steady_clock::now();
                    tell = !told || now - *told >= between_tellings;
                    if (tell) told = now;
                }
                share_ = share;
                if (tell && wake) wake();
                return !stop.stop_requested();
            });
            try {
                auto result = std::make_shared<const Result>(work(progress));
                const std::lock_guard lock(mutex_);
                result_ = std::move(result);
            } catch (const models::Cancelled&) {
                const std::lock_guard lock(mutex_);
                cancelled_ = true;
            } catch (const std::exception& error) {
                const std::lock_guard lock(mutex_);
                problem_ = error.what();
            }
            work = nullptr;  // what it held is let go here
            give_back_freed_memory(seconds());
            done_ = true;
            if (wake) wake();
            ended_ = true;
        });
    }

    void cancel() override { thread_.request_stop(); }
    bool done() const override { return done_; }
    bool ended() const override { return ended_; }
    const std::string& name() const { return name_; }
    double share() const { return share_; }
    std::string what() const {
        const std::lock_guard lock(mutex_);
        return what_;
    }
    double seconds() const {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - started_).count();
    }
    /// By the share done so far; nullopt while too little is done to tell.
    std::optional<double> seconds_left() const {
        const double share = share_;
        if (share < 0.02) return std::nullopt;
        return seconds() * (1.0 - share) / share;
    }

    /// Once done: the result, or null where it failed or was stopped.
    std::shared_ptr<const Result> result() const {
        const std::lock_guard lock(mutex_);
        return result_;
    }
    /// Once done: why there is no result; empty where there is one or it was stopped on request.
    std::string problem() const {
        const std::lock_guard lock(mutex_);
        return problem_;
    }
    bool cancelled() const {
        const std::lock_guard lock(mutex_);
        return cancelled_;
    }

 private:
    std::string name_;
    std::chrono::steady_clock::time_point started_;
    mutable std::mutex mutex_;
    std::string what_;
    std::string problem_;
    std::shared_ptr<const Result> result_;
    bool cancelled_ = false;
    std::atomic<double> share_{0.0};
    std::atomic<bool> done_{false}, ended_{false};
    std::jthread thread_;  // last: joined before the rest goes
};

}  // namespace app
