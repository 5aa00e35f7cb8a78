#pragma once

#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include <fmt/format.h>

namespace app {

/// A word or sentence that is drawn, as it stands in the catalogue (app/words.h and the headers named there): in
/// English, which is also the key to its translations. A context tells two meanings of one English word apart.
/// Translations are kept by an open standard, GNU gettext: app/languages/de.po for German, compiled into the program.
struct Word {
    const char* original;
    const char* context;
};
/// These are the words that xgettext finds (tests/house/words_of_catalogue.sh).
consteval Word word(const char* original) {
    return {original, nullptr};
}
consteval Word word(const char* context, const char* original) {
    return {original, context};
}

/// The translations of one language, read once and kept until the program ends.
class Catalogue;

/// While it lives, what this thread says with spoken() is in that language; without one it is English, as in all output
/// of the command line. A Job speaks the language of who began it. Numbers are the same in every language, and no
/// locale of the machine is asked.
class SpokenIn {
 public:
    /// @param language  a code as of languages(); of one that is not there or cannot be read: English
    explicit SpokenIn(const std::string& language);
    explicit SpokenIn(const Catalogue* catalogue);
    ~SpokenIn();
    SpokenIn(const SpokenIn&) = delete;
    SpokenIn& operator=(const SpokenIn&) = delete;

 private:
    const Catalogue* before_;
};
/// Of this thread; null: English.
const Catalogue* spoken_catalogue();

/// "en", then those that the program holds and those for which $LODICULE_LANGUAGE_DIR has a file (de.mo), by code. A
/// file there goes before what the program holds: a translator sees new words without a compiler.
std::vector<std::string> languages();
/// As it names itself: "English", "Deutsch".
std::string name_of_language(const std::string& code);
/// Why a language cannot be spoken and English is; empty where it can be.
std::string problem_of_language(const std::string& code);

/// The word in the language that is spoken, else as it stands in the catalogue. Lives as long as the program.
const char* spoken(const Word& word);

/// Whether a translation takes what its original takes: the same places ({}, {:.1f}), each as often and with the same
/// form; {1} {0} where a language needs another order.
bool same_places(std::string_view original, std::string_view translation);

/// A sentence of the catalogue whose places were held against what goes into them when the program was compiled.
template <typename... Args>
struct Sentence {
    consteval Sentence(const Word& of) : word(of) { (void)fmt::format_string<Args...>(of.original); }
    Word word;
};
/// The sentence in the language that is spoken, with its places filled.
template <typename First, typename... Rest>
std::string spoken(std::type_identity_t<Sentence<First, Rest...>> sentence, First&& first, Rest&&... rest) {
    return fmt::vformat(spoken(sentence.word), fmt::make_format_args(first, rest...));
}

}  // namespace app
