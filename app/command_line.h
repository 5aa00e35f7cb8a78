#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace app {

/// What a command declares about itself: each option once, with its sentence. The help page, the parser and the
/// refusal of an unknown option all come from this.
class Options {
 public:
    virtual ~Options() = default;
    virtual void positional(std::string& value, const char* name, const char* sentence, bool required = true) = 0;
    virtual void positional(std::vector<std::string>& values, const char* name, const char* sentence,
                            bool required = true) = 0;
    virtual void option(std::string& value, const char* flag, const char* name, const char* sentence,
                        bool required = false) = 0;
    virtual void option(std::optional<std::string>& value, const char* flag, const char* name,
                        const char* sentence) = 0;
    virtual void option(int& value, const char* flag, const char* name, const char* sentence,
                        bool required = false) = 0;
    virtual void option(std::optional<int>& value, const char* flag, const char* name, const char* sentence) = 0;
    virtual void option(double& value, const char* flag, const char* name, const char* sentence) = 0;
    virtual void option(std::optional<double>& value, const char* flag, const char* name, const char* sentence) = 0;
    virtual void flag(bool& value, const char* flag, const char* sentence) = 0;
    /// Shown under the options: examples, what the numbers mean, cautions.
    virtual void footer(const char* text) = 0;
};

/// `lodicule NAME ...`: declares its options, then runs with them. run returns the exit code; it prints results to
/// stdout and says everything else on stderr.
struct Command {
    const char* name;
    const char* sentence;
    /// Called once: declares the options into the given object and returns what is to be run with them.
    std::function<std::function<int()>(Options&)> make;
};

/// 0 done, 1 refused or failed with one clear sentence on stderr (nothing half-done), 2 wrong usage.
int run_command_line(const std::vector<Command>& commands, int argc, const char* const* argv);

}  // namespace app
