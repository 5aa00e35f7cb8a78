#pragma once

#include <string>
#include <vector>

#include "app/bench/bench.h"
#include "models/listed.h"
#include "models/spoken.h"

namespace geo::tables {
struct CellRefusal;
}

/// What the parts of the bench share; app/bench/bench.h is what everyone else uses.
namespace app::benching {

/// What a test carries on to the next one until it is changed, by the word it is said with.
struct KeptWord {
    const char* word;
    const char* column;  ///< of tests
    models::Word label;  ///< as a sentence has it
};
const std::vector<KeptWord>& kept_words();
const KeptWord* kept_word(const std::string& word);

/// A word of the bench as the language that is spoken types it: "again", "nochmal"; in a sentence that tells what to
/// type it stands so, too. The English one is always understood.
std::string as_typed(const std::string& english);
/// The English word of one that was typed, small letters or capitals; what is no word of the bench as it is.
std::string english_of_typed(const std::string& typed);

/// Words that a line of the bench begins with: again, kit, void ... No sample is looked up by such a line.
std::vector<std::string> words_of_the_bench();
bool begins_with_a_word(const std::string& line);
/// A number up to the most that grain is found with, or one of < > = before it.
bool like_a_result(const std::string& line);

/// Without blanks, tabs and what scanners send about a code.
std::string trimmed(const std::string& text);
/// Why a line can be no text that somebody typed or scanned: arrow keys, bytes that are no letters, signs that cannot
/// be seen. Empty where it can.
std::string why_no_text(const std::string& line);
std::size_t letters_of(const std::string& text);
std::string lower(std::string text);
std::vector<std::string> words_of(const std::string& text);
std::string clock_time(const models::Stamp& stamp);  ///< "09:30:00"
/// The words from `first` on as one text again.
std::string rest_of(const std::vector<std::string>& words, std::size_t first);
using models::listed;
/// The known name that was meant, other in capitals or nearly spelt so; empty where none is near.
std::string meant(const std::string& text, const std::vector<std::string>& known);
/// " (did you mean "K7"?)", or nothing.
std::string did_you_mean(const std::string& text, const std::vector<std::string>& known);

/// What a cell is refused with, and how the line that was typed is mended.
std::string refused_cell(const geo::tables::CellRefusal& refusal);

/// A grain as a person reads it: a crop in the language that is spoken, any other word as it is written.
std::string grain_in_words(const std::string& grain);
/// What a kept word was given, as a person reads it: names as they are written, numbers with the mark of the language.
std::string kept_in_words(const std::string& column, const std::string& value);

/// Nothing was done, and why.
BenchAnswer refusal(std::string sentence);

inline constexpr std::size_t longest_line = 400, longest_code = 64;  // letters; ours

}  // namespace app::benching
