#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench.h"
#include "app/bench/bench_words.h"
#include "geo/tables/words.h"
#include "models/spoken.h"
#include "models/words.h"

/// A sample that the store does not know yet, question by question.
namespace app {

namespace {

/// What a sample can be of, as tables write it; in another language as that language says it.
std::vector<std::string> stages_as_typed() {
    std::vector<std::string> stages = geo::words::of<models::Stage>();
    if (models::translation_here() == nullptr) return stages;
    for (std::string& stage : stages) stage = models::in_words(*geo::words::meant_by<models::Stage>(stage));
    return stages;
}

}  // namespace

BenchAnswer Bench::new_sample(const std::vector<std::string>& words) {
    if (words.size() < 2) return benching::refusal(models::phrase("write the new sample's code: new S99"));
    if (benching::begins_with_a_word(words[1])) {
        return benching::refusal(
            models::phrase("\"{}\" is a word of the bench: give the sample another code", words[1]));
    }
    if (const std::size_t letters = benching::letters_of(words[1]); letters > benching::longest_code) {
        return benching::refusal(
            models::phrase("a code of {} letters is too long: {} are the most", letters, benching::longest_code));
    }
    if (sample_named(words[1]) != nullptr)
        return benching::refusal(
            models::phrase("{} is there already; scan it to start its strip", described(words[1])));
    Asked asked{words[1], "", "", {}};
    for (std::size_t i = 2; i < words.size(); ++i) {
        const auto mark = words[i].find('=');
        if (mark == std::string::npos || mark == 0) {
            return benching::refusal(
                models::phrase("\"{}\" is no column=value: new {} stage=truck load=L7", words[i], words[1]));
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
        asked_->question = models::phrase("{} (no: leave it)", question);
        answer.question = asked_->question;
    };
    if (stage.empty()) {
        ask("stage",
            models::phrase("new sample {}: what was sampled? {}", asked_->sample, benching::listed(stages_as_typed())));
        return answer;
    }
    const bool placed = !value_of("field").empty() || !value_of("load").empty() || !value_of("bin").empty() ||
                        !value_of("longitude_deg").empty();
    if (!placed && stage != "control") {
        const char* place = stage == "truck" ? "load" : stage == "bin" ? "bin" : "field";
        ask(place, stage == "truck" ? models::phrase("new sample {}: of which load?", asked_->sample)
                   : stage == "bin" ? models::phrase("new sample {}: of which bin?", asked_->sample)
                                    : models::phrase("new sample {}: of which field?", asked_->sample));
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
    made_says_ = {
        value_of("kind").empty()
            ? models::phrase("sample {} is recorded as a composite, handfuls put together; scan it to start its strip",
                             asked_->sample)
            : models::phrase("sample {} is recorded; scan it to start its strip", asked_->sample)};
    return answer;
}

BenchAnswer Bench::answer_asked(const std::string& text) {
    std::string value = text;
    if (asked_->column == "stage") {
        const auto& stages = geo::words::of<models::Stage>();
        const std::vector<std::string> typed = stages_as_typed();
        for (std::size_t i = 0; i < stages.size(); ++i)
            if (benching::lower(text) == benching::lower(typed[i])) value = stages[i];
        if (std::find(stages.begin(), stages.end(), value) == stages.end()) {
            BenchAnswer answer =
                benching::refusal(models::phrase("\"{}\" is none of {}", text, benching::listed(typed)));
            answer.question = asked_->question;
            return answer;
        }
    }
    asked_->values.emplace_back(asked_->column, value);
    return ask_on();
}

}  // namespace app
