#include "app/bench/bench.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench_words.h"
#include "app/result_words.h"
#include "app/stages/season_data.h"
#include "models/spoken.h"

namespace app {

void Bench::learn(BenchFacts facts) {
    facts_ = std::move(facts);
    if (running_named(in_hand_) == nullptr) in_hand_.clear();
}

BenchAnswer Bench::take(const BenchLine& line, const models::Stamp& now) {
    const std::string text = benching::trimmed(line.text);
    if (const std::size_t letters = benching::letters_of(text); letters > benching::longest_line) {
        return benching::refusal(
            models::phrase("the line has {} letters, and {} are the most", letters, benching::longest_line));
    }
    const bool known = is_code(text);
    if (const std::string why = benching::why_no_text(line.text); !known && !why.empty()) return benching::refusal(why);
    if (text.empty()) {
        BenchAnswer answer;
        answer.show = line.from == LineFrom::keys;
        answer.question = open_question();
        return answer;
    }
    if (line.from == LineFrom::keys) return take_words(text, now);
    if (!known && benching::begins_with_a_word(text)) return too_fast(text);
    BenchAnswer before;
    drop_pending(before);
    BenchAnswer answer = known ? code(text, now) : asked_ ? answer_asked(text) : unknown(text);
    if (!known && answer.refused && benching::like_a_result(text))
        answer.says.back() +=
            models::phrase("; where it is a result it came too fast (results and their yes are typed): type it again");
    answer.says.insert(answer.says.begin(), before.says.begin(), before.says.end());
    return answer;
}

BenchAnswer Bench::too_fast(const std::string& text) {
    BenchAnswer answer = benching::refusal(
        models::phrase("\"{}\" came too fast to be typed, or while the bench was at work: type it again", text));
    // What else was said meant something other than the result that waits.
    const std::string word = benching::english_of_typed(text);
    const bool leaves_it = word == "yes" || word == "y" || word == "show" || word == "help";
    if (!leaves_it) drop_pending(answer);
    answer.question = open_question();
    return answer;
}

std::string Bench::open_question() const {
    if (pending_) return models::phrase("yes records it, no drops it");
    return asked_ ? asked_->question : "";
}

BenchAnswer Bench::take_words(const std::string& text, const models::Stamp& now) {
    const std::vector<std::string> words = benching::words_of(text);
    if (words.empty()) return benching::refusal(models::phrase("there is nothing between the quotes"));
    const std::string first = benching::english_of_typed(words.front());
    const bool alone = words.size() == 1;
    if (alone && (first == "yes" || first == "y")) return confirm();
    BenchAnswer answer;
    if (alone && first == "show") {
        answer.show = true;
        answer.question = open_question();
        return answer;
    }
    if (alone && first == "help") {
        answer.help = true;
        answer.question = open_question();
        return answer;
    }
    drop_pending(answer);
    if (alone && (first == "no" || first == "n")) {
        if (asked_) answer.says.push_back(models::phrase("sample {} is not recorded", asked_->sample));
        if (answer.says.empty()) answer.says.push_back(models::phrase("nothing waits for an answer"));
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
        if (strip == nullptr)
            return after(benching::refusal(models::phrase("no sample is in hand: write `again` and its code")));
        return after(start(strip->sample, true, now));
    }
    if (first == "new") return after(new_sample(words));
    if (first == "mistake") return after(mistake(benching::rest_of(words, 1)));
    if (first == "result") {
        if (words.size() < 3)
            return after(
                benching::refusal(models::phrase("write the sample's code and what the strip reads: result S12 0.42")));
        return after(result(words[1], benching::rest_of(words, 2), now));
    }
    if (benching::kept_word(first) != nullptr) return after(keep(first, benching::rest_of(words, 1), now));
    const bool is_result =
        first == "lines" || first == "void" || std::string("0123456789.<>=").find(first[0]) != std::string::npos;
    if (is_result) return after(result("", text, now));
    return after(unknown(text));
}

bool Bench::is_code(const std::string& text) const {
    return sample_named(text) != nullptr || running_named(text) != nullptr || lot_named(text) != nullptr ||
           is_control(text);
}

bool Bench::is_control(const std::string& name) const {
    return std::any_of(facts_.controls.begin(), facts_.controls.end(),
                       [&](const models::ControlMaterial& control) { return control.control == name; });
}

BenchAnswer Bench::code(const std::string& text, const models::Stamp& now) {
    BenchAnswer before;
    if (asked_)
        before.says.push_back(models::phrase("sample {} is not recorded: its questions were left", asked_->sample));
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
    if (benching::begins_with_a_word(text)) {
        const std::string word = benching::words_of(text).front();
        return benching::refusal(models::phrase(
            "\"{}\" is no sample's code: `{}` is a word of the bench; help lists the words and what goes with them",
            text, word));
    }
    if (const std::size_t letters = benching::letters_of(text); letters > benching::longest_code) {
        return benching::refusal(models::phrase("no sample has a code of {} letters, and {} are the most of a new one",
                                                letters, benching::longest_code));
    }
    std::vector<std::string> names;
    for (const models::Sample& sample : facts_.samples) names.push_back(sample.sample);
    for (const std::string& lot : lot_names()) names.push_back(lot);
    for (const std::string& word : benching::words_of_the_bench()) names.push_back(word);
    return benching::refusal(models::phrase(
        "there is no sample \"{}\" in the store{}; scan it again, or write `new {}` where it is a new one", text,
        benching::did_you_mean(text, names), text.find(' ') == std::string::npos ? text : models::phrase("CODE")));
}

void Bench::drop_pending(BenchAnswer& answer) {
    if (!pending_) return;
    answer.says.push_back(models::phrase("the result of {} was not confirmed and is not recorded", pending_->sample));
    pending_.reset();
}

BenchAnswer Bench::confirm() {
    if (!pending_) return benching::refusal(models::phrase("nothing waits for a yes"));
    BenchAnswer answer;
    answer.writes = std::move(pending_->writes);
    made_ = Made::test;
    made_name_ = pending_->test;
    made_says_ = {models::phrase("recorded: test {} of {}", pending_->test, pending_->sample)};
    pending_.reset();
    return answer;
}

std::vector<std::string> Bench::written(BenchFacts facts, const models::Stamp& now) {
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
            says.front() += (result.reads == reads_cell(models::Reading::invalid, 0.0)
                                 ? models::phrase(", reads {}", result.reads)
                                 : models::phrase(", reads {} mg/kg", result.reads)) +
                            (result.interval.empty() ? "" : models::phrase(", 90 % interval {}", result.interval)) +
                            (result.in_doubt ? models::phrase(", in doubt by a control of its run") : "");
            for (const std::string& flag : result.flags) {
                const bool told = std::find(told_flags_.begin(), told_flags_.end(), flag) != told_flags_.end();
                if (!told && !flag.starts_with(models::phrase("void: {}", "")))
                    says.push_back(models::phrase("flag: {}", flag));
            }
            if (!result.failed) continue;
            for (std::string& doubt : doubts(now, result.test)) says.push_back(std::move(doubt));
        }
        for (std::string& sentence : control_news(now)) says.push_back(std::move(sentence));
    }
    if (!control_due(now).due) told_due_.reset();
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

std::string Bench::described(const std::string& name) const {
    const models::Sample* sample = sample_named(name);
    if (sample == nullptr) return name;
    if (sample->stage == models::Stage::control) return models::phrase("control {}", name);
    if (!sample->load.empty()) return models::phrase("{} (load {})", name, sample->load);
    if (!sample->bin.empty()) return models::phrase("{} (bin {})", name, sample->bin);
    if (sample->field.empty()) return name;
    return models::phrase("{} (field {})", name, ground_name(sample->field, sample->part));
}

}  // namespace app
