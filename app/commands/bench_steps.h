#pragma once

#include <optional>
#include <string>

#include "app/command_line.h"

namespace app::commands {

/// `lodicule add STORE test`: the bench (app/bench/bench.h), or one step of it without a dialogue.
struct AddTest {
    std::optional<std::string> sample, kit_lot, grain, operator_name, content, unit, test_line, control_line,
        void_reason, ran, time;
    bool start = false, again = false;
    std::optional<int> control_every;

    void declare(Options& options);
    /// An option that only the bench has; empty: none was given.
    std::string option_given() const;
};

/// @param actor  who the records are by; empty: the user's name
int add_test(const std::string& store, const AddTest& asked, const std::string& actor);

}  // namespace app::commands
