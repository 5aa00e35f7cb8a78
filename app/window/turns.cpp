#include "app/window/turns.h"

#include <utility>

namespace app::window {

Turns::Turns(std::function<void(Turns&)> work) : work_(std::move(work)) {
    thread_ = std::thread([this] {
        may_work_.acquire();
        try {
            if (!given_up_) work_(*this);
        } catch (const GivenUp&) {
        } catch (...) {
            thrown_ = std::current_exception();
        }
        done_ = true;
        has_worked_.release();
    });
}

Turns::~Turns() {
    given_up_ = true;
    may_work_.release();
    thread_.join();
}

bool Turns::go_on(Clock::duration about) {
    const auto now = Clock::now();
    until_ = about < Clock::time_point::max() - now ? now + about : Clock::time_point::max();
    while (!done_) {
        may_work_.release();
        has_worked_.acquire();
        if (deed_ == nullptr) break;
        const auto* deed = std::exchange(deed_, nullptr);
        (*deed)();
    }
    if (thrown_) std::rethrow_exception(std::exchange(thrown_, nullptr));
    return done_;
}

void Turns::breathe() {
    if (Clock::now() >= until_) hand_over();
}

void Turns::outside(const std::function<void()>& deed) {
    deed_ = &deed;
    hand_over();
}

void Turns::hand_over() {
    has_worked_.release();
    may_work_.acquire();
    if (given_up_) throw GivenUp();
}

}  // namespace app::window
