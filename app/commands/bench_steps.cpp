#include "app/commands/bench_steps.h"

#include <cstdio>

#include <fmt/format.h>

#include "app/bench/bench_desk.h"
#include "app/bench/bench_dialogue.h"
#include "app/cautions.h"
#include "app/table_text.h"
#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace app::commands {

namespace {

void print_bench(const std::string& text) {
    std::fwrite(text.data(), 1, text.size(), stdout);
    std::fflush(stdout);
}

/// What is refused without a dialogue is an error.
DeskAnswer must_go(DeskAnswer answer) {
    if (!answer.refused) return answer;
    throw models::Error(answer.says.empty() ? "refused" : answer.says.back());
}

void say_all(const DeskAnswer& answer) {
    for (const std::string& sentence : answer.says) print_bench(wrapped_text(sentence));
}

/// The result as a line of the bench has it.
std::string result_line(const AddTest& asked) {
    std::string line;
    if (asked.void_reason) {
        line = "void " + *asked.void_reason;
    } else {
        if (asked.content) line = *asked.content + (asked.unit ? " " + *asked.unit : "");
        if (asked.test_line)
            line += " lines " + *asked.test_line + (asked.control_line ? " " + *asked.control_line : "");
    }
    if (asked.ran) line += " after " + *asked.ran;
    return line;
}

void one_step(BenchDesk& desk, const AddTest& asked) {
    const bool result = asked.content || asked.test_line || asked.void_reason;
    if (asked.start == result) {
        throw models::Error(
            result ? "a strip is started or read, not both" : "nothing is said of the strip of " + *asked.sample,
            "--sample", "give --start, or what it reads: --content, --test-line with --control-line, or --void REASON");
    }
    if (asked.void_reason && (asked.content || asked.test_line))
        throw models::Error("a void strip has no result", "--void", "leave out --content and --test-line");
    if (asked.control_line && !asked.test_line)
        throw models::Error("the signal of the control line alone says nothing", "--control-line",
                            "give --test-line, too");
    if (asked.start) {
        say_all(must_go(desk.settle(desk.bench().start(*asked.sample, asked.again, desk.now()))));
        return;
    }
    const DeskAnswer read = desk.settle(desk.bench().result(*asked.sample, result_line(asked), desk.now()));
    const bool of_time = read.refused && read.says.back().find("void read too early") != std::string::npos;
    if (of_time) throw models::Error(read.says.back(), "", "here --ran M:SS says how long it ran, and --void REASON");
    say_all(must_go(read));
    say_all(must_go(desk.settle(desk.bench().confirm())));
    print_bench(wrapped_text(spoken(caution::screening)));
}

}  // namespace

void AddTest::declare(Options& options) {
    options.option(sample, "--sample", "CODE", "Of `add STORE test`: the sample, or the running strip, by its code");
    options.option(kit_lot, "--kit-lot", "LOT", "Of `add STORE test`: the kit lot in use");
    options.option(grain, "--grain", "WORD", "Of `add STORE test`: what grain, as the kit lot has it");
    options.option(operator_name, "--operator", "NAME", "Of `add STORE test`: who tests");
    options.flag(start, "--start", "Of `add STORE test`: starts the clock of a strip");
    options.flag(again, "--again", "With --start: one more strip of a sample that has one or a result");
    options.option(content, "--content", "DON", "Of `add STORE test`: what the strip reads: 0.42, \"<0.3\", \">4.6\"");
    options.option(unit, "--unit", "UNIT", "Of --content: mg/kg, ppm, ug/kg or ppb; else mg/kg");
    options.option(test_line, "--test-line", "SIGNAL",
                   "Of `add STORE test`: signal of the test line, read by the kit lot's curve");
    options.option(control_line, "--control-line", "SIGNAL", "Signal of the control line");
    options.option(void_reason, "--void", "REASON", "Of `add STORE test`: the strip gives no result, for this reason");
    options.option(ran, "--ran", "M:SS", "How long the strip had run when it was read; else by its clock");
    options.option(time, "--time", "TIME", "When it happened, as 2026-07-20T09:30:00+02:00; else now");
    options.option(control_every, "--control-every", "N",
                   "A control is due after N strips of grain, 0: not by number; else the kit lot's rule, else 20");
}

std::string AddTest::option_given() const {
    if (sample) return "--sample";
    if (kit_lot) return "--kit-lot";
    if (grain) return "--grain";
    if (operator_name) return "--operator";
    if (start) return "--start";
    if (again) return "--again";
    if (content) return "--content";
    if (unit) return "--unit";
    if (test_line) return "--test-line";
    if (control_line) return "--control-line";
    if (void_reason) return "--void";
    if (ran) return "--ran";
    if (time) return "--time";
    return control_every ? "--control-every" : "";
}

int add_test(const std::string& store_file, const AddTest& asked, const std::string& actor) {
    BenchDesk::Settings settings;
    settings.actor = actor;
    if (asked.control_every) {
        if (*asked.control_every < 0)
            throw models::Error(fmt::format("{} strips are no number of them", *asked.control_every), "--control-every",
                                "give 20, or 0 for no reminder by number");
        settings.control_schedule.every_tests = *asked.control_every;
        settings.said_by_user = true;
    }
    std::optional<models::Stamp> at;
    if (asked.time) {
        at = models::parse_stamp(*asked.time);
        if (!at)
            throw models::Error("\"" + *asked.time + "\" is no time with its offset", "--time",
                                "write it as 2026-07-20T09:30:00+02:00");
        if (at->utc > machine_time().utc + geo::importing::clocks_differ_by) {
            throw models::Error(fmt::format("{} is still to come: this machine's clock shows {}", *asked.time,
                                            models::to_text(machine_time())),
                                "--time", "give the time when it happened, or set the clock right");
        }
        if (!asked.sample)
            throw models::Error("a time is given and no sample", "--time",
                                "give --sample; the bench itself goes by the clock of this machine");
    }
    geo::Store store = geo::Store::open(store_file);
    BenchDesk desk(store, settings, [at] { return at.value_or(machine_time()); });
    if (!asked.sample) {
        for (const auto& [given, option] :
             {std::pair(asked.start || asked.again, "--start"), std::pair(asked.content.has_value(), "--content"),
              std::pair(asked.test_line || asked.control_line, "--test-line"),
              std::pair(asked.void_reason.has_value(), "--void"), std::pair(asked.ran.has_value(), "--ran")}) {
            if (given) throw models::Error("no sample is named", option, "give --sample CODE, too");
        }
    }
    const auto in_use = [&](const char* word, const std::optional<std::string>& value) {
        if (!value) return;
        const DeskAnswer answer = must_go(desk.settle(desk.bench().keep(word, *value, desk.now())));
        if (!asked.sample) say_all(answer);
    };
    if (!asked.sample && !asked.kit_lot) desk.bench().take_up();
    in_use("operator", asked.operator_name);
    in_use("grain", asked.grain);
    in_use("kit", asked.kit_lot);
    if (asked.sample) {
        one_step(desk, asked);
        return 0;
    }
    in_use("unit", asked.unit);
    InputLines lines;
    const bool refused = bench_dialogue(desk, lines, print_bench);
    return refused && !lines.has_a_person() ? 1 : 0;
}

}  // namespace app::commands
