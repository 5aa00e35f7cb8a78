#include "app/bench/bench.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench_words.h"
#include "geo/tables/cells.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "models/counted.h"
#include "models/error.h"

namespace app {

using benching::listed;

namespace {

constexpr std::size_t longest_line = 400;

BenchAnswer refusal(std::string sentence) {
    BenchAnswer answer;
    answer.refused = true;
    answer.says.push_back(std::move(sentence));
    return answer;
}

std::string clock_time(const models::Stamp& stamp) {
    return models::to_text(stamp).substr(11, 8);
}

}  // namespace

void Bench::learn(BenchFacts facts) {
    facts_ = std::move(facts);
    if (running_named(in_hand_) == nullptr) in_hand_.clear();
}

void Bench::take_up() {
    if (facts_.running.empty()) return;
    const models::StartedStrip& last = facts_.running.back();
    const auto keep_if_said = [this](const char* column, const std::string& value) {
        if (!value.empty()) kept_.emplace(column, value);
    };
    keep_if_said("kit_lot", last.kit_lot);
    keep_if_said("commodity", last.commodity);
    keep_if_said("operator", last.operator_name);
    if (last.lot_dilution) keep_if_said("lot_dilution", geo::tables::number_text(*last.lot_dilution));
}

BenchAnswer Bench::take(const BenchLine& line, const models::Stamp& now) {
    const std::string text = benching::trimmed(line.text);
    if (text.size() > longest_line)
        return refusal(fmt::format("the line has {} letters, and {} are the most", text.size(), longest_line));
    if (text.empty()) {
        BenchAnswer answer;
        answer.show = line.from == LineFrom::keys;
        return answer;
    }
    if (line.from == LineFrom::keys) return take_words(text, now);
    BenchAnswer before;
    drop_pending(before);
    BenchAnswer answer = is_code(text) ? code(text, now) : asked_ ? answer_asked(text) : unknown(text);
    if (!is_code(text) && answer.refused)
        answer.says.back() += "; a scanner gives codes, results and their yes are typed";
    answer.says.insert(answer.says.begin(), before.says.begin(), before.says.end());
    return answer;
}

BenchAnswer Bench::take_words(const std::string& text, const models::Stamp& now) {
    const std::vector<std::string> words = benching::words_of(text);
    if (words.empty()) return refusal("there is nothing between the quotes");
    const std::string first = benching::lower(words.front());
    const bool alone = words.size() == 1;
    if (alone && (first == "yes" || first == "y")) return confirm();
    BenchAnswer answer;
    if (alone && first == "show") {
        answer.show = true;
        return answer;
    }
    if (alone && first == "help") {
        answer.help = true;
        return answer;
    }
    drop_pending(answer);
    if (alone && (first == "no" || first == "n")) {
        if (asked_) answer.says.push_back("sample " + asked_->sample + " is not recorded");
        if (answer.says.empty()) answer.says.push_back("nothing waits for an answer");
        asked_.reset();
        return answer;
    }
    if (alone && (first == "end" || first == "quit" || first == "exit")) {
        answer.leave = true;
        return answer;
    }
    const auto after = [&](BenchAnswer next) {
        next.says.insert(next.says.begin(), answer.says.begin(), answer.says.end());
        return next;
    };
    if (is_code(text)) return after(code(text, now));
    if (asked_) return after(answer_asked(text));
    if (first == "again") {
        if (!alone) return after(start(benching::rest_of(words, 1), true, now));
        const models::StartedStrip* strip = running_named(in_hand_);
        if (strip == nullptr) return after(refusal("no sample is in hand: write `again` and its code"));
        return after(start(strip->sample, true, now));
    }
    if (first == "new") return after(new_sample(words));
    if (first == "mistake") return after(mistake(benching::rest_of(words, 1)));
    if (first == "result") {
        if (words.size() < 3)
            return after(refusal("write the sample's code and what the strip reads: result S12 0.42"));
        return after(result(words[1], benching::rest_of(words, 2), now));
    }
    if (benching::kept_word(first) != nullptr) return after(keep(first, benching::rest_of(words, 1), now));
    const bool like_a_result =
        first == "lines" || first == "void" || std::string("0123456789.<>=").find(first[0]) != std::string::npos;
    if (like_a_result) return after(result("", text, now));
    return after(unknown(text));
}

bool Bench::is_code(const std::string& text) const {
    return sample_named(text) != nullptr || running_named(text) != nullptr || lot_named(text) != nullptr ||
           std::any_of(facts_.controls.begin(), facts_.controls.end(),
                       [&](const models::ControlMaterial& control) { return control.control == text; });
}

BenchAnswer Bench::code(const std::string& text, const models::Stamp& now) {
    BenchAnswer before;
    if (asked_) before.says.push_back("sample " + asked_->sample + " is not recorded: its questions were left");
    asked_.reset();
    const models::StartedStrip* strip = running_named(text);
    const bool of_lot = lot_named(text) != nullptr && sample_named(text) == nullptr;
    BenchAnswer answer = strip != nullptr ? hold(*strip, now)
                         : of_lot         ? keep("kit", text, now)
                                          : start(text, false, now);
    answer.says.insert(answer.says.begin(), before.says.begin(), before.says.end());
    return answer;
}

BenchAnswer Bench::unknown(const std::string& text) const {
    std::vector<std::string> names;
    for (const models::Sample& sample : facts_.samples) names.push_back(sample.sample);
    for (const models::KitLot& lot : facts_.kit_lots) names.push_back(lot.kit_lot);
    for (const char* word : {"again", "new", "mistake", "result", "lines", "void", "show", "help", "end"})
        names.emplace_back(word);
    for (const benching::KeptWord& word : benching::kept_words()) names.emplace_back(word.word);
    std::string near = models::nearest_name(text, names);
    for (const std::string& name : names) {
        if (benching::lower(name) == benching::lower(text)) near = name;
    }
    return refusal(fmt::format(
        "there is no sample \"{}\" in the store{}; scan it again, or write `new {}` where it is a new one", text,
        near.empty() ? "" : " (did you mean \"" + near + "\"?)", text.find(' ') == std::string::npos ? text : "CODE"));
}

BenchAnswer Bench::hold(const models::StartedStrip& strip, const models::Stamp& now) {
    in_hand_ = strip.strip;
    const models::ReadingWindow window = window_of(strip);
    const models::StripClock clock = models::clock_of(strip, window, now.utc);
    BenchAnswer answer;
    answer.says.push_back(fmt::format("in hand: {}, strip {}, {}; nothing new is started", described(strip.sample),
                                      strip.strip, models::in_words(clock, window)));
    return answer;
}

BenchAnswer Bench::start(const std::string& wanted, bool again, const models::Stamp& now) {
    const models::Sample* sample = sample_named(wanted);
    const bool known_control = std::any_of(facts_.controls.begin(), facts_.controls.end(),
                                           [&](const auto& control) { return control.control == wanted; });
    if (sample == nullptr && !known_control) return unknown(wanted);
    if (!again) {
        const auto running = running_of(wanted);
        if (!running.empty()) {
            BenchAnswer answer = hold(*running.front(), now);
            if (running.size() > 1) {
                std::vector<std::string> strips;
                for (const models::StartedStrip* strip : running) strips.push_back(strip->strip);
                answer.says.push_back(fmt::format("{} strips of it run, {}; type a strip's name to take that one",
                                                  running.size(), listed(strips)));
            }
            return answer;
        }
        const auto is_of_it = [&](const models::Test& test) { return test.sample == wanted; };
        const auto last = std::find_if(facts_.tests.rbegin(), facts_.tests.rend(), [&](const models::Test& test) {
            return is_of_it(test) && test.reading != models::Reading::invalid;
        });
        if (last != facts_.tests.rend() && sample != nullptr && sample->stage != models::Stage::control) {
            const auto count = std::count_if(facts_.tests.begin(), facts_.tests.end(), is_of_it);
            return refusal(fmt::format(
                "{} has {} already; nothing is started. `again {}` starts one more strip: every valid result counts",
                described(wanted), models::counted(count, "test"), wanted));
        }
    }
    BenchAnswer answer;
    if (sample == nullptr) {
        answer.writes.push_back({"samples", {{"sample", wanted}, {"stage", "control"}, {"kind", "composite"}}});
    }
    models::StartedStrip strip{new_name(now), wanted, kept("kit_lot"), kept("commodity"),
                               std::nullopt,  now,    kept("operator")};
    BenchWrite write{"strips", {{"strip", strip.strip}, {"sample", wanted}, {"started", models::to_text(now)}}};
    for (const char* column : {"kit_lot", "commodity", "lot_dilution", "operator"}) {
        if (!kept(column).empty()) write.values.emplace_back(column, kept(column));
    }
    strip.lot_dilution = kept_number("lot_dilution");
    answer.writes.push_back(std::move(write));
    made_ = Made::strip;
    made_name_ = strip.strip;
    made_says_.clear();
    const models::ReadingWindow window = window_of(strip);
    made_says_.push_back(fmt::format("{}, strip {}: its clock runs from {}{}", described(wanted), strip.strip,
                                     clock_time(now),
                                     window.why_none.empty() ? "; read it at " + models::in_words(window) : ""));
    if (!window.why_none.empty()) made_says_.push_back("nothing says when it may be read: " + window.why_none);
    for (std::string& sentence : about_kit_lot(now)) {
        const bool of_time = sentence.starts_with("its strips") || sentence.starts_with("nothing says");
        if (!of_time) made_says_.push_back(std::move(sentence));
    }
    if (sample != nullptr && sample->taken_time && sample->taken_time->utc > now.utc) {
        made_says_.push_back(
            fmt::format("the sample was taken at {}, which is still to come: one of the two clocks "
                        "is wrong",
                        models::to_text(*sample->taken_time)));
    }
    const bool of_control = known_control || (sample != nullptr && sample->stage == models::Stage::control);
    if (!of_control) {
        for (std::string& sentence : control_sentences(now)) made_says_.push_back(std::move(sentence));
    }
    return answer;
}

BenchAnswer Bench::keep(const std::string& word, const std::string& value, const models::Stamp& now) {
    const benching::KeptWord* known = benching::kept_word(word);
    if (known == nullptr) return unknown(word);
    BenchAnswer answer;
    if (value.empty()) {
        const std::string now_kept = kept(known->column);
        answer.says.push_back(fmt::format("{}: {}", known->label, now_kept.empty() ? "not said" : now_kept));
        return answer;
    }
    if (value == "-") {
        kept_.erase(known->column);
        answer.says.push_back(fmt::format("{}: not said any more", known->label));
        return answer;
    }
    const std::string column_name = known->column;
    if (column_name == "unit") {
        std::optional<geo::tables::CellRefusal> wrong;
        geo::tables::read_don("1", value, {}, wrong);
        if (wrong) return refusal(wrong->what + ": " + wrong->mend);
    } else {
        std::optional<geo::tables::CellRefusal> wrong;
        geo::tables::read_cell(*geo::tables::kind_named("tests").find(column_name), value, {}, wrong);
        if (wrong) return refusal(fmt::format("{}: {}: {}", known->label, wrong->what, wrong->mend));
    }
    kept_[column_name] = value;
    answer.says.push_back(fmt::format("{} {}, until it is changed", known->label, value));
    if (column_name == "kit_lot" || column_name == "commodity" || column_name == "lot_dilution") {
        for (std::string& sentence : about_kit_lot(now)) answer.says.push_back(std::move(sentence));
    }
    return answer;
}

BenchAnswer Bench::mistake(const std::string& reason) {
    const models::StartedStrip* strip = running_named(in_hand_);
    if (strip == nullptr) return refusal("no strip is in hand: scan its sample, or type the strip's name, first");
    if (reason.empty()) return refusal("write why, in a few words: mistake wrong sample scanned");
    BenchAnswer answer;
    answer.writes.push_back({"strips", {{"strip", strip->strip}}, "started by mistake: " + reason});
    made_ = Made::withdrawal;
    made_name_ = strip->strip;
    made_says_ = {
        fmt::format("strip {} of {} is withdrawn: started by mistake: {}", strip->strip, strip->sample, reason)};
    return answer;
}

BenchAnswer Bench::new_sample(const std::vector<std::string>& words) {
    if (words.size() < 2) return refusal("write the new sample's code: new S99");
    if (sample_named(words[1]) != nullptr)
        return refusal(fmt::format("{} is there already; scan it to start its strip", described(words[1])));
    Asked asked{words[1], "", {}};
    for (std::size_t i = 2; i < words.size(); ++i) {
        const auto mark = words[i].find('=');
        if (mark == std::string::npos || mark == 0) {
            return refusal("\"" + words[i] + "\" is no column=value: new " + words[1] + " stage=truck load=L7");
        }
        asked.values.emplace_back(words[i].substr(0, mark), words[i].substr(mark + 1));
    }
    asked_ = std::move(asked);
    return ask_on();
}

BenchAnswer Bench::ask_on() {
    BenchAnswer answer;
    const auto value_of = [&](const char* column) -> std::string {
        for (const auto& [name, value] : asked_->values) {
            if (name == column) return value;
        }
        return "";
    };
    const std::string stage = value_of("stage");
    const auto ask = [&](const char* column, const std::string& question) {
        asked_->column = column;
        answer.question = question + " (no: leave it)";
    };
    if (stage.empty()) {
        ask("stage", fmt::format("new sample {}: what was sampled? {}", asked_->sample,
                                 listed(geo::words::of<models::Stage>())));
        return answer;
    }
    const bool placed = !value_of("field").empty() || !value_of("load").empty() || !value_of("bin").empty() ||
                        !value_of("longitude_deg").empty();
    if (!placed && stage != "control") {
        const char* place = stage == "truck" ? "load" : stage == "bin" ? "bin" : "field";
        ask(place, fmt::format("new sample {}: of which {}?", asked_->sample, place));
        return answer;
    }
    BenchWrite write{"samples", {{"sample", asked_->sample}}};
    for (const auto& value : asked_->values) write.values.push_back(value);
    if (value_of("kind").empty()) write.values.emplace_back("kind", "composite");
    if (value_of("taken_by").empty() && !kept("operator").empty())
        write.values.emplace_back("taken_by", kept("operator"));
    answer.writes.push_back(std::move(write));
    made_ = Made::sample;
    made_name_ = asked_->sample;
    made_says_ = {fmt::format("sample {} is recorded{}; scan it to start its strip", asked_->sample,
                              value_of("kind").empty() ? " as a composite, handfuls put together" : "")};
    return answer;
}

BenchAnswer Bench::answer_asked(const std::string& text) {
    if (asked_->column == "stage") {
        const auto& stages = geo::words::of<models::Stage>();
        if (std::find(stages.begin(), stages.end(), text) == stages.end())
            return refusal(fmt::format("\"{}\" is none of {}", text, listed(stages)));
    }
    asked_->values.emplace_back(asked_->column, text);
    return ask_on();
}

void Bench::drop_pending(BenchAnswer& answer) {
    if (!pending_) return;
    answer.says.push_back(fmt::format("the result of {} was not confirmed and is not recorded", pending_->sample));
    pending_.reset();
}

BenchAnswer Bench::confirm() {
    if (!pending_) return refusal("nothing waits for a yes");
    BenchAnswer answer;
    answer.writes.push_back({"tests", pending_->values});
    made_ = Made::test;
    made_name_ = pending_->test;
    made_says_ = {fmt::format("recorded: test {} of {}", pending_->test, pending_->sample)};
    pending_.reset();
    return answer;
}

std::vector<std::string> Bench::written(BenchFacts facts, const models::Stamp& now) {
    const bool was_due = models::control_due(facts_.tests, facts_.samples, facts_.controls, facts_.running,
                                             kept("kit_lot"), now, facts_.control_schedule)
                             .due;
    learn(std::move(facts));
    std::vector<std::string> says = std::move(made_says_);
    made_says_.clear();
    if (made_ == Made::strip) {
        in_hand_ = made_name_;
        if (const models::StartedStrip* strip = running_named(in_hand_))
            seen_[in_hand_] = models::clock_of(*strip, window_of(*strip), strip->started.utc).state;
    }
    if (made_ == Made::sample) asked_.reset();
    if (made_ == Made::test) {
        for (const BenchResult& result : facts_.last) {
            if (result.test != made_name_) continue;
            says.front() += ", reads " + result.reads + (result.reads == "void" ? "" : " mg/kg") +
                            (result.interval.empty() ? "" : ", 90 % interval " + result.interval);
            for (const std::string& flag : result.flags) {
                const bool told = std::find(told_flags_.begin(), told_flags_.end(), flag) != told_flags_.end();
                if (!told && !flag.starts_with("void: ")) says.push_back("flag: " + flag);
            }
        }
        if (!was_due) {
            for (std::string& sentence : control_sentences(now)) says.push_back(std::move(sentence));
        }
    }
    made_ = Made::nothing;
    return says;
}

void Bench::not_written() {
    if (made_ == Made::sample) asked_.reset();
    made_ = Made::nothing;
    made_says_.clear();
}

const models::Sample* Bench::sample_named(const std::string& name) const {
    const auto found = std::lower_bound(
        facts_.samples.begin(), facts_.samples.end(), name,
        [](const models::Sample& sample, const std::string& wanted) { return sample.sample < wanted; });
    return found == facts_.samples.end() || found->sample != name ? nullptr : &*found;
}

const models::KitLot* Bench::lot_named(const std::string& name) const {
    for (const models::KitLot& lot : facts_.kit_lots) {
        if (lot.kit_lot == name) return &lot;
    }
    return nullptr;
}

const models::StartedStrip* Bench::running_named(const std::string& name) const {
    for (const models::StartedStrip& strip : facts_.running) {
        if (strip.strip == name) return &strip;
    }
    return nullptr;
}

std::vector<const models::StartedStrip*> Bench::running_of(const std::string& sample) const {
    std::vector<const models::StartedStrip*> found;
    for (const models::StartedStrip& strip : facts_.running) {
        if (strip.sample == sample) found.push_back(&strip);
    }
    return found;
}

std::string Bench::described(const std::string& name) const {
    const models::Sample* sample = sample_named(name);
    if (sample == nullptr) return name;
    if (sample->stage == models::Stage::control) return "control " + name;
    if (!sample->load.empty()) return fmt::format("{} (load {})", name, sample->load);
    if (!sample->bin.empty()) return fmt::format("{} (bin {})", name, sample->bin);
    if (sample->field.empty()) return name;
    return fmt::format("{} (field {}{})", name, sample->field, sample->part.empty() ? "" : ", " + sample->part);
}

std::string Bench::kept(const char* column) const {
    const auto found = kept_.find(column);
    return found == kept_.end() ? "" : found->second;
}

std::optional<double> Bench::kept_number(const char* column) const {
    std::optional<geo::tables::CellRefusal> refused;
    const geo::Value value =
        geo::tables::read_cell(*geo::tables::kind_named("tests").find(column), kept(column), {}, refused);
    const double* number = std::get_if<double>(&value);
    return number == nullptr ? std::nullopt : std::optional(*number);
}

std::string Bench::new_name(const models::Stamp& now) const {
    const std::string day = models::to_text(now.local_day());
    for (int number = 1;; ++number) {
        const std::string name =
            fmt::format("B{}{}{}-{:02}", day.substr(2, 2), day.substr(5, 2), day.substr(8, 2), number);
        if (facts_.names.count(name) == 0) return name;
    }
}

models::ReadingWindow Bench::window_of(const models::StartedStrip& strip) const {
    return models::reading_window(facts_.kit_lots, strip.kit_lot.empty() ? kept("kit_lot") : strip.kit_lot,
                                  strip.commodity.empty() ? kept("commodity") : strip.commodity, strip.lot_dilution);
}

}  // namespace app
