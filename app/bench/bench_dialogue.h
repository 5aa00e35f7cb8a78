#pragma once

#include <chrono>
#include <functional>
#include <optional>
#include <string>

#include "app/bench/bench_desk.h"

namespace app {

/// Where the lines of a bench come from.
class BenchLines {
 public:
    enum class Got { line, nothing_yet, ended };
    virtual ~BenchLines() = default;
    /// @param patience  how long to wait for a line; nullopt: until there is one
    virtual Got next(BenchLine& line, std::optional<std::chrono::seconds> patience) = 0;
    virtual bool has_a_person() const = 0;  ///< a terminal, and not a file or a pipe
};

/// A bench at a terminal, or fed by a pipe, until the lines end or `end` is said. Everything is recorded when it is
/// said, so that the end loses nothing.
/// @returns  whether a line was refused
bool bench_dialogue(BenchDesk& desk, BenchLines& lines, const std::function<void(const std::string&)>& print);

/// Lines of standard input. At a terminal a line that was there before a person could have read the question is one of
/// the scanner.
class InputLines : public BenchLines {
 public:
    InputLines();
    Got next(BenchLine& line, std::optional<std::chrono::seconds> patience) override;
    bool has_a_person() const override { return terminal_; }

 private:
    bool terminal_ = false, ended_ = false;
    std::string waiting_;
};

}  // namespace app
