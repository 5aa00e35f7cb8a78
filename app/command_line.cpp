#include "app/command_line.h"

#include <cstdio>
#include <exception>
#include <map>

#include <CLI/CLI.hpp>

#include "models/error.h"

namespace app {

namespace {

constexpr const char* about =
    "lodicule: keeps a wheat harvest inside its deoxynivalenol (DON) limits.\n"
    "Which field first, what a strip's number means, what is where, which load to which bin.";

/// Options spoken to CLI11.
class ParserOptions : public Options {
 public:
    explicit ParserOptions(CLI::App& parser) : parser_(parser) {}

    void positional(std::string& value, const char* name, const char* sentence, bool required) override {
        parser_.add_option(name, value, sentence)->required(required)->type_name("");
    }
    void positional(std::vector<std::string>& values, const char* name, const char* sentence) override {
        parser_.add_option(name, values, sentence)->required()->type_name("");
    }
    void option(std::string& value, const char* flag, const char* name, const char* sentence, bool required) override {
        parser_.add_option(flag, value, sentence)->required(required)->type_name(name);
    }
    void option(std::optional<std::string>& value, const char* flag, const char* name, const char* sentence) override {
        parser_.add_option(flag, value, sentence)->type_name(name);
    }
    void option(int& value, const char* flag, const char* name, const char* sentence, bool required) override {
        parser_.add_option(flag, value, sentence)->required(required)->type_name(name);
    }
    void option(std::optional<int>& value, const char* flag, const char* name, const char* sentence) override {
        parser_.add_option(flag, value, sentence)->type_name(name);
    }
    void option(double& value, const char* flag, const char* name, const char* sentence) override {
        parser_.add_option(flag, value, sentence)->type_name(name);
    }
    void option(std::optional<double>& value, const char* flag, const char* name, const char* sentence) override {
        parser_.add_option(flag, value, sentence)->type_name(name);
    }
    void flag(bool& value, const char* flag, const char* sentence) override { parser_.add_flag(flag, value, sentence); }
    void footer(const char* text) override { parser_.footer(std::string("\n") + text); }

 private:
    CLI::App& parser_;
};

void say(const std::string& sentence) {
    std::fprintf(stderr, "lodicule: %s\n", sentence.c_str());
}

}  // namespace

int run_command_line(const std::vector<Command>& commands, int argc, const char* const* argv) {
    CLI::App parser{about};
    parser.name("lodicule");
    parser.set_version_flag("--version", std::string("lodicule " LODICULE_VERSION));
    parser.require_subcommand(1);
    parser.get_formatter()->column_width(34);

    std::map<const CLI::App*, std::function<int()>> runs;
    std::vector<std::string> names;
    for (const Command& command : commands) {
        CLI::App* sub = parser.add_subcommand(command.name, command.sentence);
        ParserOptions options(*sub);
        runs[sub] = command.make(options);
        names.emplace_back(command.name);
    }
    if (argc > 1 && argv[1][0] != '-') {
        const std::string wanted = argv[1];
        if (std::find(names.begin(), names.end(), wanted) == names.end()) {
            const std::string near = models::nearest_name(wanted, names);
            say("there is no command \"" + wanted + "\"" + (near.empty() ? "" : "; did you mean \"" + near + "\"?") +
                " `lodicule --help` lists them.");
            return 2;
        }
    }
    try {
        parser.parse(argc, argv);
    } catch (const CLI::Success& success) {
        return parser.exit(success);
    } catch (const CLI::ParseError& error) {
        const CLI::App* where = &parser;
        for (const CLI::App* sub : parser.get_subcommands()) where = sub;
        say(std::string(error.what()) + " `" + (where == &parser ? "lodicule" : "lodicule " + where->get_name()) +
            " --help` tells more.");
        return 2;
    }
    try {
        for (const CLI::App* sub : parser.get_subcommands()) return runs.at(sub)();
    } catch (const models::Cancelled&) {
        say("stopped on request; nothing was changed.");
        return 1;
    } catch (const std::bad_alloc&) {
        say("not enough memory for this.");
        return 1;
    } catch (const std::exception& error) {
        say(error.what());
        return 1;
    }
    return 2;
}

}  // namespace app
