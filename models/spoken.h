#pragma once

#include <string>
#include <type_traits>

#include <fmt/format.h>

namespace models {

/// A word or sentence that a person reads, as it stands in the catalogue of messages: in English, which is also the key
/// to its translations. A context tells two meanings of one English word apart.
struct Word {
    const char* original;
    const char* context;
};
/// These are the words that xgettext finds (tests/house/words_of_catalogue.sh), beside those of phrase().
consteval Word word(const char* original) {
    return {original, nullptr};
}
consteval Word word(const char* context, const char* original) {
    return {original, context};
}

/// A sentence of the catalogue whose places were held against what goes into them when the program was compiled.
template <typename... Args>
struct Sentence {
    consteval Sentence(const Word& of) : word(of) { (void)fmt::format_string<Args...>(of.original); }
    consteval Sentence(const char* original) : word{original, nullptr} { (void)fmt::format_string<Args...>(original); }
    Word word;
};

/// Another language. Whoever translates gives one to Translated; what it answers lives as long as the program.
class Translation {
 public:
    virtual ~Translation() = default;
    /// Null: it has no such word.
    virtual const char* find(const Word& word) const = 0;
};

/// While it lives, what this thread says with spoken() and phrase() is in that language; without one it is English.
/// Reasons and verdicts are worded where they are found, so a language is a property of the work that finds them. What
/// is written to a store, and the output of the command line, is English always.
class Translated {
 public:
    explicit Translated(const Translation* translation);  ///< null: English
    ~Translated();
    Translated(const Translated&) = delete;
    Translated& operator=(const Translated&) = delete;

 private:
    const Translation* before_;
};
/// Of this thread; null: English.
const Translation* translation_here();

/// The word in the language that is spoken, else as it stands in the catalogue. Lives as long as the program.
const char* spoken(const Word& word);

/// The sentence in the language that is spoken, with its places filled.
template <typename First, typename... Rest>
std::string spoken(std::type_identity_t<Sentence<First, Rest...>> sentence, First&& first, Rest&&... rest) {
    return fmt::vformat(spoken(sentence.word), fmt::make_format_args(first, rest...));
}

/// The same where a sentence stands in one place only and is written there: phrase("{} is closed", bin). It is a whole
/// sentence or a whole part of one, so that another language can put its words in another order ({1} {0}).
template <typename... Args>
std::string phrase(std::type_identity_t<Sentence<Args...>> sentence, Args&&... args) {
    return fmt::vformat(spoken(sentence.word), fmt::make_format_args(args...));
}

}  // namespace models
