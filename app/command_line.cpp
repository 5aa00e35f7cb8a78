#include "app/command_line.h"

#include <cstdio>
#include <exception>
#include <map>
#include <memory>

#include <CLI/CLI.hpp>

#include "app/table_text.h"
#include "models/error.h"

namespace app {

namespace {

constexpr const char* about =
    "begin here: lodicule demo DIR\n\n"
    "lodicule keeps a wheat harvest inside its deoxynivalenol (DON) limits.\n"
    "Which field first, what a strip's number means, what is where, which load to which bin.";

/// Options spoken to CLI11.
class ParserOptions : public Options {
 public:
    explicit ParserOptions(CLI::App& parser) : parser_(parser) {}

    void positional(std::string& value, const char* name, const char* sentence, bool required) override {
        parser_.add_option(name, value, sentence)->required(required)->type_name("");
    }
    void positional(std::vector<std::string>& values, const char* name, const char* sentence, bool required) override {
        parser_.add_option(name, values, sentence)->required(required)->type_name("");
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

/// The first word left over that looks like an option; empty where none does.
std::string first_unknown_option(const CLI::App& command) {
    std::vector<std::string> left = command.remaining();
    for (const std::string& word : left) {
        if (word.starts_with("--")) return word;
    }
    return "";
}

std::vector<std::string> option_names(const CLI::App& command) {
    std::vector<std::string> names;
    for (const CLI::Option* option : command.get_options()) {
        for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    }
    return names;
}

/// Help of which no line is wider than a terminal: what an option does goes on under its first word.
class NarrowHelp : public CLI::Formatter {
 public:
    NarrowHelp() { column_width(34); }

 private:
    std::string make_option_desc(const CLI::Option* option) const override {
        std::string lines = wrapped_text(option->get_description(), 100 - get_column_width());
        lines.pop_back();  // the formatter ends the line itself
        return lines;
    }
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
    parser.footer(
        "\nThe commands stand in the order of the job. `lodicule COMMAND --help` tells what each takes, with "
        "examples.");
    parser.formatter(std::make_shared<NarrowHelp>());
    parser.get_formatter()->label("SUBCOMMAND", "COMMAND");
    parser.get_formatter()->label("Positionals", "Given in this order");
    if (argc == 1) {
        say("say what is to be done: `lodicule --help` lists the commands. Begin here: lodicule demo DIR");
        return 2;
    }

    std::map<const CLI::App*, std::function<int()>> runs;
    std::vector<std::string> names;
    for (const Command& command : commands) {
        CLI::App* sub = parser.add_subcommand(command.name, command.sentence);
        sub->group("Commands");
        ParserOptions options(*sub);
        runs[sub] = command.make(options);
        names.emplace_back(command.name);
    }
    if (argc > 1 && argv[1][0] != '-') {
        const std::string wanted = argv[1];
        if (std::find(names.begin(), names.end(), wanted) == names.end()) {
            const std::string near = models::nearest_name(wanted, names);
            say("there is no command \"" + wanted + "\"" + (near.empty() ? "." : "; did you mean \"" + near + "\"?") +
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
        if (const std::string unknown = first_unknown_option(*where); !unknown.empty()) {
            const std::string near = models::nearest_name(unknown, option_names(*where));
            say("there is no option \"" + unknown + "\"" + (near.empty() ? "." : "; did you mean \"" + near + "\"?") +
                " `lodicule " + where->get_name() + " --help` lists them.");
            return 2;
        }
        std::string what = error.what();
        if (!what.empty() && what.back() != '.' && what.back() != '?') what += '.';
        say(what + " `" + (where == &parser ? "lodicule" : "lodicule " + where->get_name()) + " --help` tells more.");
        return 2;
    }
    try {
        for (const CLI::App* sub : parser.get_subcommands()) {
            const int code = runs.at(sub)();
            if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) {
                say("what was to be printed could not be written: the disk is full, or its reader went away.");
                return 1;
            }
            return code;
        }
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
