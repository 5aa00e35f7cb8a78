#include "app/bench/bench_words.h"

#include <algorithm>
#include <cctype>
#include <charconv>

#include <fmt/format.h>

#include "geo/tables/cells.h"
#include "geo/tables/csv.h"
#include "geo/tables/words.h"
#include "models/error.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace benching {

const std::vector<KeptWord>& kept_words() {
    using models::word;
    static const std::vector<KeptWord> words = {
        {"operator", "operator", word("operator")},
        {"kit", "kit_lot", word("kit lot")},
        {"grain", "commodity", word("grain")},
        {"unit", "unit", word("unit")},
        {"portion", "portion_g", word("portion in g")},
        {"grind", "grind", word("grind")},
        {"extract", "extract", word("extract")},
        {"reader", "reader", word("reader")},
        {"temperature", "temperature_degc", word("temperature in degC")},
        {"dilution", "lot_dilution", word("dilution of the kit lot")},
        {"extra", "extra_dilution", word("extra dilution")},
        {"basis", "basis", word("basis")},
    };
    return words;
}

namespace {

/// What is typed at the bench, in English: words of the catalogue, so that a language has its own.
const std::vector<models::Word>& typed_words() {
    using models::word;
    static const std::vector<models::Word> words = {
        word("typed at the bench", "again"),       word("typed at the bench", "new"),
        word("typed at the bench", "mistake"),     word("typed at the bench", "result"),
        word("typed at the bench", "lines"),       word("typed at the bench", "void"),
        word("typed at the bench", "yes"),         word("typed at the bench", "no"),
        word("typed at the bench", "y"),           word("typed at the bench", "n"),
        word("typed at the bench", "show"),        word("typed at the bench", "help"),
        word("typed at the bench", "end"),         word("typed at the bench", "after"),
        word("typed at the bench", "operator"),    word("typed at the bench", "kit"),
        word("typed at the bench", "grain"),       word("typed at the bench", "unit"),
        word("typed at the bench", "portion"),     word("typed at the bench", "grind"),
        word("typed at the bench", "extract"),     word("typed at the bench", "reader"),
        word("typed at the bench", "temperature"), word("typed at the bench", "dilution"),
        word("typed at the bench", "extra"),       word("typed at the bench", "basis"),
    };
    return words;
}

}  // namespace

std::string as_typed(const std::string& english) {
    for (const models::Word& word : typed_words())
        if (english == word.original) return models::spoken(word);
    return english;
}

std::string english_of_typed(const std::string& typed) {
    const std::string word = lower(typed);
    for (const models::Word& known : typed_words())
        if (word == known.original) return word;
    for (const models::Word& known : typed_words())
        if (word == models::spoken(known)) return known.original;
    return word;
}

const KeptWord* kept_word(const std::string& word) {
    for (const KeptWord& known : kept_words()) {
        if (word == known.word) return &known;
    }
    return nullptr;
}

std::vector<std::string> words_of_the_bench() {
    std::vector<std::string> all = {"again", "new",  "mistake", "result", "lines", "void", "yes",
                                    "no",    "show", "help",    "end",    "quit",  "exit"};
    for (const KeptWord& word : kept_words()) all.emplace_back(word.word);
    for (std::string& word : all) word = as_typed(word);
    return all;
}

bool begins_with_a_word(const std::string& line) {
    const std::vector<std::string> words = words_of(line);
    if (words.empty()) return false;
    const std::string first = english_of_typed(words.front());
    if (words.size() == 1 && (first == "y" || first == "n")) return true;
    const std::vector<std::string> known = words_of_the_bench();
    return std::find(known.begin(), known.end(), as_typed(first)) != known.end();
}

bool like_a_result(const std::string& line) {
    if (line.empty()) return false;
    if (std::string("<>=").find(line.front()) != std::string::npos) return true;
    const std::vector<std::string> words = words_of(line);
    if (words.empty()) return false;
    constexpr double most_mg_per_kg = 100.0;  // as of every result that comes in
    double number = 0.0;
    const std::string first = models::number_as_typed(words.front());
    const auto read = std::from_chars(first.data(), first.data() + first.size(), number);
    return read.ec == std::errc{} && read.ptr == first.data() + first.size() && number <= most_mg_per_kg;
}

std::string trimmed(const std::string& text) {
    const auto is_blank = [](char letter) { return static_cast<unsigned char>(letter) <= 32 || letter == 127; };
    std::size_t first = 0, end = text.size();
    while (first < end && is_blank(text[first])) ++first;
    while (end > first && is_blank(text[end - 1])) --end;
    return text.substr(first, end - first);
}

std::string why_no_text(const std::string& line) {
    for (std::size_t at = line.find('\x1b'); at != std::string::npos; at = line.find('\x1b', at + 1)) {
        if (at + 1 < line.size() && (line[at + 1] == '[' || line[at + 1] == 'O'))
            return models::phrase(
                "an arrow key or the like is in the line, and the bench knows none: type the line again");
    }
    if (!geo::tables::is_utf8(line))
        return models::phrase("the line has bytes that are no letters (UTF-8): scan or type it again");
    for (const char letter : trimmed(line)) {
        const auto code = static_cast<unsigned char>(letter);
        if ((code < 32 && letter != '\t') || code == 127)
            return models::phrase("the line has signs in it that cannot be seen: scan or type it again");
    }
    return "";
}

std::size_t letters_of(const std::string& text) {
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; }));
}

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return text;
}

std::vector<std::string> words_of(const std::string& text) {
    std::vector<std::string> words;
    std::string word;
    bool in_quotes = false;
    for (const char letter : text) {
        if (letter == '"') {
            in_quotes = !in_quotes;
        } else if (static_cast<unsigned char>(letter) <= 32 && !in_quotes) {
            if (!word.empty()) words.push_back(std::move(word));
            word.clear();
        } else {
            word += letter;
        }
    }
    if (!word.empty()) words.push_back(std::move(word));
    return words;
}

std::string clock_time(const models::Stamp& stamp) {
    return models::to_text(stamp).substr(11, 8);
}

std::string rest_of(const std::vector<std::string>& words, std::size_t first) {
    std::string text;
    for (std::size_t i = first; i < words.size(); ++i) text += (i == first ? "" : " ") + words[i];
    return text;
}

std::string meant(const std::string& text, const std::vector<std::string>& known) {
    const std::string wanted = lower(text);
    for (const std::string& name : known) {
        if (lower(name) == wanted) return name;
    }
    return models::nearest_name(text, known);
}

std::string did_you_mean(const std::string& text, const std::vector<std::string>& known) {
    const std::string name = meant(text, known);
    return name.empty() ? "" : models::phrase(" (did you mean \"{}\"?)", name);
}

std::string refused_cell(const geo::tables::CellRefusal& refusal) {
    return refusal.what + ": " + refusal.mend_of_typed();
}

std::string grain_in_words(const std::string& grain) {
    const auto crop = geo::words::meant_by<models::Crop>(grain);
    return crop ? models::in_words(*crop) : grain;
}

std::string kept_in_words(const std::string& column, const std::string& value) {
    if (column == "commodity") return grain_in_words(value);
    return column == "operator" || column == "kit_lot" ? value : models::said(value);
}

BenchAnswer refusal(std::string sentence) {
    BenchAnswer answer;
    answer.refused = true;
    answer.says.push_back(std::move(sentence));
    return answer;
}

}  // namespace benching

std::string bench_words_page() {
    return models::phrase(
        "Scan or type\n"
        "  S12                a sample: the clock of its strip starts. While it runs, the same code takes\n"
        "                     that strip in hand and starts nothing\n"
        "  again, again S12   one more strip of a sample that has a result or a running strip\n"
        "  kit K1, or K1      the kit lot in use; also operator, grain, unit, portion, grind, extract,\n"
        "                     reader, temperature, dilution (of the kit lot), extra (dilution), basis:\n"
        "                     kept until changed; - clears: kit -\n"
        "Type, for the strip in hand\n"
        "  0.42  <0.3  >4.6   what it reads, mg/kg unless `unit ug/kg` says so (0.42 ppm for once)\n"
        "  lines 512 940      signals of its test line and control line, read by the kit lot's curve\n"
        "  void no control line\n"
        "                     it gives no result, for this reason\n"
        "  ... after 6:20     behind any of these: how long it had run when it was read, where it was typed\n"
        "                     later, or its clock was started too late: then its start is corrected, too.\n"
        "                     A content read before its kit lot's least time is not taken: it is void\n"
        "  result S12 0.42    of a strip that was not started here: no clock is known of it\n"
        "  yes, no            records the result that was just told, or drops it; nothing else records one\n"
        "  mistake REASON     its clock was started by mistake: no strip was run\n"
        "Also\n"
        "  new S99            a sample that the store does not know; or new S99 stage=truck load=L7\n"
        "  Enter, or show     the bench: what runs, the last results, whether a control is due;\n"
        "                     ? in doubt by a control, ! a control that failed, * flagged\n"
        "  = 12               a result that looks like a sample's code\n"
        "  end, quit          leaves; strips go on running and are there again when the bench is opened\n");
}

std::string bench_help() {
    return bench_words_page() +
           "A result that was recorded wrong is corrected outside: lodicule add STORE tests test=... don=...\n"
           "unit=mg/kg --correct REASON\n";
}

}  // namespace app
