#pragma once

#include <chrono>
#include <exception>
#include <functional>
#include <semaphore>
#include <thread>

namespace app::window {

/// Long work done a little at a time between things that must not wait for it. It runs on a thread of its own, but only
/// while `go_on` waits for it: the two never run at the same time, so they may share what they like. The work says
/// where it can be left by calling `breathe`, and has done what only the other thread may do (the graphics card) by
/// `outside`.
class Turns {
 public:
    using Clock = std::chrono::steady_clock;

    /// Nothing of the work is done before the first `go_on`.
    explicit Turns(std::function<void(Turns&)> work);
    /// Work that is not done is given up where it next breathes.
    ~Turns();
    Turns(const Turns&) = delete;
    Turns& operator=(const Turns&) = delete;

    /// Goes on with the work for about so long; true when it is done. What the work throws is thrown here.
    bool go_on(Clock::duration about);

    // For the work.
    void breathe();
    void outside(const std::function<void()>& deed);

 private:
    struct GivenUp {};
    void hand_over();

    std::function<void(Turns&)> work_;
    std::binary_semaphore may_work_{0}, has_worked_{0};
    const std::function<void()>* deed_ = nullptr;
    std::exception_ptr thrown_;
    Clock::time_point until_{};
    bool done_ = false, given_up_ = false;
    std::thread thread_;
};

}  // namespace app::window
