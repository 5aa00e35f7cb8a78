#pragma once

#include <algorithm>
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
/// Numbers have the mark before their decimals that the language writes: "1.5", "1,5".
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
    char mark_before_;
};
/// Of this thread; null: English.
const Translation* translation_here();

/// What this thread writes before the decimals of a number that a person reads; '.' in English, whatever the machine.
char decimal_mark();
/// A number that was written with a point, as the language that is spoken writes it: "12.5 %" -> "12,5 %". What is read
/// by programs (tables, JSON, coordinates, lines to type) keeps its point and is not passed through here.
std::string said(std::string number);
/// The other way: a number that a person typed, with the point that it is read by. A comma is its mark where the
/// language that is spoken writes one, and nowhere else. What has no such form stays as it is.
std::string number_as_typed(std::string typed);

/// A number in a place of a sentence, in the form that the place asks for ("{:.1f}") and with that mark.
struct SaidNumber {
    double value;
};
template <typename T>
decltype(auto) as_said(const T& arg) {
    if constexpr (std::is_floating_point_v<T>)
        return SaidNumber{static_cast<double>(arg)};
    else
        return (arg);
}
/// A text with its places filled, numbers as the language that is spoken writes them.
template <typename... Args>
std::string filled(const char* text, const Args&... args) {
    return fmt::vformat(text, fmt::make_format_args(as_said(args)...));
}

/// The word in the language that is spoken, else as it stands in the catalogue. Lives as long as the program.
const char* spoken(const Word& word);

/// The sentence in the language that is spoken, with its places filled.
template <typename First, typename... Rest>
std::string spoken(std::type_identity_t<Sentence<First, Rest...>> sentence, First&& first, Rest&&... rest) {
    return filled(spoken(sentence.word), first, rest...);
}

/// The same where a sentence stands in one place only and is written there: phrase("{} is closed", bin). It is a whole
/// sentence or a whole part of one, so that another language can put its words in another order ({1} {0}).
template <typename... Args>
std::string phrase(std::type_identity_t<Sentence<Args...>> sentence, Args&&... args) {
    return filled(spoken(sentence.word), args...);
}

}  // namespace models

template <>
struct fmt::formatter<models::SaidNumber> : fmt::formatter<double> {
    auto format(const models::SaidNumber& number, fmt::format_context& context) const {
        fmt::memory_buffer written;
        fmt::format_context into(fmt::appender(written), context.args());
        fmt::formatter<double>::format(number.value, into);
        for (char& letter : written)
            if (letter == '.') letter = models::decimal_mark();
        return std::copy(written.begin(), written.end(), context.out());
    }
};
