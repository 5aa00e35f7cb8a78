#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/spoken.h"

/// The languages that the program speaks. Its words stand in app/words.h and the headers named there, and its reasons
/// and verdicts where they are found (models/spoken.h). Translations are kept by an open standard, GNU gettext:
/// app/languages/de.po for German, compiled into the program.
namespace app {

using models::phrase;
using models::Sentence;
using models::spoken;
using models::Word;
using models::word;

/// While it lives, what this thread says is in that language (models::Translated). A Job speaks the language of who
/// began it. Numbers have its decimal mark (models/spoken.h), and no locale of the machine is asked.
class SpokenIn {
 public:
    /// @param language  a code as of languages(); of one that is not there or cannot be read: English
    explicit SpokenIn(const std::string& language);

 private:
    models::Translated translated_;
};

/// "en", then those that the program holds and those for which $LODICULE_LANGUAGE_DIR has a file (de.mo), by code. A
/// file there goes before what the program holds: a translator sees new words without a compiler.
std::vector<std::string> languages();
/// As it names itself: "English", "Deutsch".
std::string name_of_language(const std::string& code);
/// Why a language cannot be spoken and English is; empty where it can be.
std::string problem_of_language(const std::string& code);

/// Whether a translation takes what its original takes: the same places ({}, {:.1f}), each as often and with the same
/// form; {1} {0} where a language needs another order.
bool same_places(std::string_view original, std::string_view translation);

}  // namespace app
