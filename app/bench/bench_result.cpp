#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "app/bench/bench.h"
#include "app/bench/bench_words.h"
#include "app/result_words.h"
#include "geo/tables/cells.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "models/spoken.h"

/// From a line with a result to a test that waits for its "yes".
namespace app {

namespace benching {

/// What was typed of a strip: "0.42", "<0.3 ppm", "lines 512 940", "void spilt", each with "after 6:20" behind.
struct Typed {
    std::string don, unit, test_signal, control_signal, void_reason;
    std::optional<std::chrono::seconds> after;
    std::string wrong;  ///< not empty: why it cannot be understood
};

/// "6:20", "0:06:20", "380"
std::optional<std::chrono::seconds> read_minutes(const std::string& text) {
    long long total = 0;
    std::size_t from = 0;
    int parts = 0;
    while (true) {
        const std::size_t mark = std::min(text.find(':', from), text.size());
        long long part = 0;
        const auto read = std::from_chars(text.data() + from, text.data() + mark, part);
        if (read.ec != std::errc{} || read.ptr != text.data() + mark || part < 0 || part > 1'000'000) return {};
        if (parts > 0 && (part > 59 || mark - from != 2)) return {};
        total = total * 60 + part;
        if (++parts > 3) return {};
        if (mark == text.size()) return std::chrono::seconds(total);
        from = mark + 1;
    }
}

Typed read_typed(const std::string& text) {
    Typed typed;
    std::vector<std::string> words = words_of(text);
    const auto back = [&](std::size_t n) { return english_of_typed(words[words.size() - n]); };
    if (words.size() >= 3 && back(2) == "after") {
        typed.after = read_minutes(words.back());
        if (!typed.after) {
            typed.wrong =
                models::phrase("\"{}\" is no time that a strip ran: write minutes:seconds, after 6:20", words.back());
            return typed;
        }
        words.resize(words.size() - 2);
    }
    if (!words.empty() && english_of_typed(words.front()) == "void") {
        typed.void_reason = rest_of(words, 1);
        if (typed.void_reason.empty()) typed.wrong = models::phrase("write why it is void: void no control line");
        return typed;
    }
    std::size_t next = 0;
    if (!words.empty() && words.front().starts_with("=")) {
        words.front().erase(0, 1);
        if (words.front().empty()) words.erase(words.begin());
    }
    const auto here = [&] {
        if (next >= words.size()) return std::string();
        const std::string word = lower(words[next]);
        return english_of_typed(word) == "lines" ? std::string("lines") : word;
    };
    const auto number = [](const std::string& written) {
        const std::size_t at = written.find_first_not_of("<>");
        return at == std::string::npos ? written : written.substr(0, at) + models::number_as_typed(written.substr(at));
    };
    if (!here().empty() && here() != "lines") {
        typed.don = number(words[next++]);
        if ((typed.don == "<" || typed.don == ">") && next < words.size()) typed.don += number(words[next++]);
        if (!here().empty() && here() != "lines") typed.unit = here(), ++next;
    }
    if (here() == "lines") {
        ++next;
        if (next < words.size()) typed.test_signal = number(words[next++]);
        if (next < words.size()) typed.control_signal = number(words[next++]);
        if (typed.test_signal.empty())
            typed.wrong = models::phrase("write the signals of test line and control line: lines 512 940");
    }
    if (next < words.size())
        typed.wrong = models::phrase("\"{}\" is not understood here; `help` lists the words", rest_of(words, next));
    if (typed.don.empty() && typed.test_signal.empty() && typed.wrong.empty())
        typed.wrong = models::phrase("write what the strip reads: 0.42, <0.3, >4.6, lines 512 940, or void and why");
    return typed;
}

/// A number of a column of tests; `wrong` says why it is none.
std::optional<double> number_of(const char* column, const std::string& text, std::string& wrong) {
    if (text.empty()) return std::nullopt;
    std::optional<geo::tables::CellRefusal> refusal;
    const geo::Value value = geo::tables::read_cell(*geo::tables::kind_named("tests").find(column), text, {}, refusal);
    if (refusal) wrong = refused_cell(*refusal);
    const double* number = std::get_if<double>(&value);
    return refusal || number == nullptr ? std::nullopt : std::optional(*number);
}

}  // namespace benching

namespace {

/// Why a content that was read so early is none, and what to type instead.
BenchAnswer too_early(const models::StartedStrip& strip, const std::string& kit_lot,
                      const models::ReadingWindow& window, std::chrono::seconds ran, bool by_clock,
                      const std::string& content) {
    const std::string least = models::minutes_text(*window.least);
    if (!by_clock) {
        return benching::refusal(models::phrase(
            "strip {} of {} had run {} when it was read, and kit lot {} asks for {} at least: so early it "
            "tells no content, and none is recorded; write `void read too early`",
            strip.strip, strip.sample, models::minutes_text(ran), kit_lot, least));
    }
    return benching::refusal(models::phrase(
        "too early: strip {} of {} has run {}, and kit lot {} asks for {} at least. It is not recorded: read "
        "it in {}; or write `{} after M:SS`, {}, where it ran longer than its clock; or `void read too early`",
        strip.strip, strip.sample, models::minutes_text(ran), kit_lot, least, models::minutes_text(*window.least - ran),
        content, models::in_words(window)));
}

/// The start of a strip whose clock was started too late.
BenchWrite earlier_start(const models::StartedStrip& strip, std::chrono::seconds ran, const models::Stamp& now,
                         std::string& sentence) {
    models::Stamp started = strip.started;
    started.utc = now.utc - ran;
    const std::string late = models::minutes_text(strip.started.utc - started.utc);
    sentence = models::phrase(
        "its clock was started {} too late: yes also corrects its start from {} to {}, and the record "
        "keeps both",
        late, benching::clock_time(strip.started), benching::clock_time(started));
    BenchWrite write{"strips", {{"strip", strip.strip}, {"started", models::to_text(started)}}};
    write.correct_because = fmt::format("its clock was started {} too late: read now after {}, as its result says",
                                        late, models::minutes_text(ran));
    return write;
}

}  // namespace

BenchAnswer Bench::result(const std::string& code, const std::string& text, const models::Stamp& now) {
    const benching::Typed typed = benching::read_typed(text);
    if (!typed.wrong.empty()) return benching::refusal(typed.wrong);
    const std::string unit = typed.unit.empty() ? (kept("unit").empty() ? "mg/kg" : kept("unit")) : typed.unit;
    models::RecordedTest recorded;
    models::Test& test = recorded.test;
    std::string wrong;
    if (!typed.don.empty()) {
        std::optional<geo::tables::CellRefusal> refusal;
        const auto don = geo::tables::read_don(typed.don, unit, {}, refusal);
        if (refusal || !don) return benching::refusal(benching::refused_cell(*refusal));
        constexpr double most_mg_per_kg = 100.0;  // as of every result that comes in
        if (don->don_mg_per_kg > most_mg_per_kg) {
            return benching::refusal(models::phrase(
                "\"{}\" is no sample of the store, and no content: grain is found with {:.0f} mg/kg at most", text,
                most_mg_per_kg));
        }
        test.reading = geo::words::meant_by<models::Reading>(don->reading).value_or(models::Reading::value);
        test.don_mg_per_kg = don->don_mg_per_kg;
    }
    recorded.test_signal = benching::number_of("test_signal", typed.test_signal, wrong);
    recorded.control_signal = benching::number_of("control_signal", typed.control_signal, wrong);
    if (!wrong.empty()) return benching::refusal(wrong);
    recorded.only_signals = typed.don.empty() && typed.void_reason.empty();

    // Whose strip it is.
    const models::StartedStrip* strip = running_named(code.empty() ? in_hand_ : code);
    if (strip == nullptr && code.empty())
        return benching::refusal(
            models::phrase("no strip is in hand: scan its sample first, or write result CODE and what it reads"));
    if (strip == nullptr) {
        if (sample_named(code) == nullptr && !is_control(code)) return unknown(code);
        if (sample_named(code) == nullptr) {
            return benching::refusal(
                models::phrase("control {} has no sample record: write `new {} stage=control` first", code, code));
        }
        const auto running = running_of(code);
        if (running.size() > 1)
            return benching::refusal(models::phrase(
                "{} strips of {} run: write result, the strip's name and what it reads", running.size(), code));
        if (!running.empty()) strip = running.front();
    }

    // When it was read, and how long it had run.
    const std::string sample = strip != nullptr ? strip->sample : code;
    test.sample = sample;
    test.time = now;
    std::optional<std::chrono::seconds> ran = typed.after;
    std::vector<std::string> odd;
    std::optional<BenchWrite> corrects_start;
    if (strip != nullptr) {
        const std::chrono::seconds by_clock = now.utc - strip->started.utc;
        if (by_clock < std::chrono::seconds(0)) {
            odd.push_back(
                models::phrase("the strip was started at {}, later than now: one of the two clocks is wrong, and "
                               "how long it ran is not recorded",
                               models::to_text(strip->started)));
        } else if (typed.after && *typed.after > by_clock) {
            std::string sentence;
            corrects_start = earlier_start(*strip, *typed.after, now, sentence);
            odd.push_back(std::move(sentence));
        } else {
            ran = typed.after.value_or(by_clock);
            test.time.utc = strip->started.utc + *ran;
        }
    } else if (!typed.after) {
        odd.push_back(models::phrase("it was not started here: no clock is known, so nothing says how long it ran"));
    }
    if (ran) {
        recorded.incubation_s = static_cast<double>(ran->count());
        const models::Stamp started{test.time.utc - *ran, test.time.offset};
        std::string doubt = start_in_doubt(sample, started);
        if (!doubt.empty()) odd.push_back(std::move(doubt));
    }

    // What it carries: of its start, else what is kept.
    test.test = strip != nullptr ? strip->strip : new_name(now);
    const auto carried = [&](const char* column, const std::string& of_start) {
        return of_start.empty() ? kept(column) : of_start;
    };
    test.kit_lot = strip != nullptr ? lot_of(*strip) : kept("kit_lot");
    test.commodity = strip != nullptr ? grain_of(*strip) : grain_for(sample, test.kit_lot);
    if (const std::string is_another = another_grain(sample, test.commodity); !is_another.empty()) {
        const auto& [load, grain] = facts_.load_grain.at(sample);
        return benching::refusal(models::phrase(
            "{}, and the grain in use is {}: it is not recorded. Write `grain {}`, then the result; where the load is "
            "written down wrong, correct it: lodicule add STORE loads load={} commodity={} --correct REASON",
            is_another, benching::grain_in_words(test.commodity), benching::lower(benching::grain_in_words(grain)),
            load, benching::lower(test.commodity)));
    }
    const std::string dilution = carried(
        "lot_dilution", strip != nullptr && strip->lot_dilution ? geo::tables::number_text(*strip->lot_dilution) : "");
    test.operator_name = kept("operator").empty() && strip != nullptr ? strip->operator_name : kept("operator");
    recorded.dilution = benching::number_of("lot_dilution", dilution, wrong);
    recorded.temperature_degc = benching::number_of("temperature_degc", kept("temperature_degc"), wrong);
    test.extra_dilution = benching::number_of("extra_dilution", kept("extra_dilution"), wrong).value_or(1.0);
    if (!typed.void_reason.empty()) {
        test.reading = models::Reading::invalid;
        test.void_reason = typed.void_reason;
    }

    BenchAnswer answer;
    if (strip != nullptr) in_hand_ = strip->strip;
    if (strip != nullptr && ran && typed.void_reason.empty()) {
        const models::ReadingWindow window =
            models::reading_window(facts_.kit_lots, test.kit_lot, test.commodity, recorded.dilution);
        const bool early = window.least && *ran < *window.least;
        if (early && !typed.don.empty())
            return too_early(*strip, test.kit_lot, window, *ran, !typed.after,
                             benching::rest_of(benching::words_of(text), 0));
        if (early && !typed.after)
            odd.push_back(models::phrase("it has {} to run: answer no, and read it then",
                                         models::minutes_text(*window.least - *ran)));
        if (window.most && *ran > *window.most && !typed.after)
            odd.push_back(
                models::phrase("where it was read in time and is typed late, answer no and write how long it had "
                               "run: ... after M:SS, {}",
                               models::in_words(window)));
        constexpr std::chrono::seconds hardly_run{60};  // ours
        if (!window.why_none.empty() && *ran < hardly_run) {
            odd.push_back(models::phrase("it ran only {}, and nothing says how long it must: {}",
                                         models::minutes_text(*ran), window.why_none));
        }
    }
    if (strip == nullptr && typed.void_reason.empty()) {
        // A result typed twice would count twice.
        const auto same = std::find_if(facts_.tests.rbegin(), facts_.tests.rend(), [&](const models::Test& one) {
            return one.sample == sample && one.reading != models::Reading::invalid;
        });
        if (same != facts_.tests.rend())
            odd.push_back(
                models::phrase("{} has {} mg/kg of test {} already: answer no where this is the same strip, for "
                               "every result counts",
                               sample, reads_cell(same->reading, same->don_mg_per_kg), same->test));
    }
    const models::StripReading counts = models::read_strip(recorded, facts_.kit_lots);
    const bool is_void = counts.test.reading == models::Reading::invalid;
    std::string sentence = described(sample);
    if (strip != nullptr) sentence += models::phrase(", strip {}", strip->strip);
    sentence +=
        test.kit_lot.empty() ? models::phrase(", no kit lot said") : models::phrase(", kit lot {}", test.kit_lot);
    if (ran) sentence += models::phrase(", ran {}", models::minutes_text(*ran));
    const std::string reads = reads_cell(counts.test.reading, counts.test.don_mg_per_kg);
    sentence += is_void           ? models::phrase(": void: {}", counts.test.void_reason)
                : counts.by_curve ? models::phrase(": {} mg/kg by the curve of the kit lot", reads)
                                  : fmt::format(": {} mg/kg", reads);
    answer.says.push_back(std::move(sentence));
    told_flags_.clear();
    for (const models::StripFlag& flag : counts.flags) {
        answer.says.push_back(models::phrase("flag: {}", flag.sentence));
        told_flags_.push_back(flag.sentence);
    }
    for (std::string& one : odd) answer.says.push_back(std::move(one));
    answer.question = models::phrase("yes records it, no drops it");

    BenchWrite write{"tests", {{"test", test.test}, {"time", models::to_text(test.time)}, {"sample", sample}}};
    const auto give = [&](const char* column, const std::string& value) {
        if (!value.empty()) write.values.emplace_back(column, value);
    };
    if (!typed.don.empty()) {
        give("don", typed.don);
        give("unit", unit);
    }
    give("test_signal", typed.test_signal);
    give("control_signal", typed.control_signal);
    if (!typed.void_reason.empty()) {
        give("valid", "no");
        give("void_reason", typed.void_reason);
    }
    give("kit_lot", test.kit_lot);
    give("commodity", test.commodity);
    give("lot_dilution", dilution);
    give("operator", test.operator_name);
    if (ran) give("incubation_s", std::to_string(ran->count()));
    for (const char* column :
         {"grind", "extract", "portion_g", "reader", "temperature_degc", "extra_dilution", "basis"})
        give(column, kept(column));
    Pending pending{sample, test.test, {}};
    if (corrects_start) pending.writes.push_back(std::move(*corrects_start));
    pending.writes.push_back(std::move(write));
    pending_ = std::move(pending);
    return answer;
}

}  // namespace app
