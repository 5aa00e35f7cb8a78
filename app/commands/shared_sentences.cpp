#include "app/commands/shared_sentences.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/commands/risk_output.h"
#include "app/commands/season_options.h"
#include "app/table_text.h"

namespace app::commands {

namespace {

std::vector<std::string> sentences_of(const std::string& row) {
    std::vector<std::string> sentences;
    std::size_t from = 0;
    while (from < row.size()) {
        const std::size_t end = row.find("; ", from);
        sentences.push_back(row.substr(from, end - from));
        if (end == std::string::npos) break;
        from = end + 2;
    }
    return sentences;
}

std::string mark_of(std::size_t i) {
    constexpr std::size_t letters = 26;
    return i < letters ? fmt::format("({})", static_cast<char>('a' + i)) : fmt::format("({})", i + 1);
}

}  // namespace

void SharedSentences::count(const std::string& row) {
    for (const std::string& sentence : sentences_of(row)) ++rows_[sentence];
}

std::string SharedSentences::shortened(const std::string& sentence) {
    constexpr std::size_t long_sentence = 40;
    constexpr int many = 3;
    if (sentence.size() <= long_sentence || rows_[sentence] < many) return sentence;
    auto said = std::find(said_.begin(), said_.end(), sentence);
    if (said == said_.end()) said = said_.insert(said_.end(), sentence);
    return mark_of(static_cast<std::size_t>(said - said_.begin()));
}

std::string SharedSentences::in_table(const std::string& row) {
    std::string text;
    for (const std::string& sentence : sentences_of(row)) join_sentence(text, shortened(sentence));
    return text;
}

void SharedSentences::print_under() const {
    for (std::size_t i = 0; i < said_.size(); ++i) print(wrapped_text(mark_of(i) + " " + said_[i] + "."));
}

}  // namespace app::commands
