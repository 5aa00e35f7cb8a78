#pragma once

#include <string>
#include <vector>

/// What the parts of the bench share; app/bench/bench.h is what everyone else uses.
namespace app::benching {

/// What a test carries on to the next one until it is changed, by the word it is said with.
struct KeptWord {
    const char* word;
    const char* column;  ///< of tests
    const char* label;   ///< as a sentence has it
};
const std::vector<KeptWord>& kept_words();
const KeptWord* kept_word(const std::string& word);

/// Without blanks, tabs and what scanners send about a code.
std::string trimmed(const std::string& text);
std::string lower(std::string text);
std::vector<std::string> words_of(const std::string& text);
/// The words from `first` on as one text again.
std::string rest_of(const std::vector<std::string>& words, std::size_t first);
/// "A, B and C"
std::string listed(const std::vector<std::string>& parts);

}  // namespace app::benching
