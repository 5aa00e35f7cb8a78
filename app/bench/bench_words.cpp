#include "app/bench/bench_words.h"

#include <algorithm>
#include <cctype>

#include "app/bench/bench.h"

namespace app {

namespace benching {

const std::vector<KeptWord>& kept_words() {
    static const std::vector<KeptWord> words = {
        {"operator", "operator", "operator"},
        {"kit", "kit_lot", "kit lot"},
        {"grain", "commodity", "grain"},
        {"unit", "unit", "unit"},
        {"portion", "portion_g", "portion in g"},
        {"grind", "grind", "grind"},
        {"extract", "extract", "extract"},
        {"reader", "reader", "reader"},
        {"temperature", "temperature_degc", "temperature in degC"},
        {"dilution", "lot_dilution", "dilution of the kit lot"},
        {"extra", "extra_dilution", "extra dilution"},
        {"basis", "basis", "basis"},
    };
    return words;
}

const KeptWord* kept_word(const std::string& word) {
    for (const KeptWord& known : kept_words()) {
        if (word == known.word) return &known;
    }
    return nullptr;
}

std::string trimmed(const std::string& text) {
    const auto is_blank = [](char letter) { return static_cast<unsigned char>(letter) <= 32 || letter == 127; };
    std::size_t first = 0, end = text.size();
    while (first < end && is_blank(text[first])) ++first;
    while (end > first && is_blank(text[end - 1])) --end;
    return text.substr(first, end - first);
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

std::string rest_of(const std::vector<std::string>& words, std::size_t first) {
    std::string text;
    for (std::size_t i = first; i < words.size(); ++i) text += (i == first ? "" : " ") + words[i];
    return text;
}

std::string listed(const std::vector<std::string>& parts) {
    std::string text;
    for (std::size_t i = 0; i < parts.size(); ++i) {
        const bool last = i + 1 == parts.size();
        text += (i == 0 ? "" : last ? " and " : ", ") + parts[i];
    }
    return text;
}

}  // namespace benching

std::string bench_help() {
    return "Scan or type\n"
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
           "  ... after 6:20     behind any of these: how long it had run when it was read, where that was\n"
           "                     before it was typed\n"
           "  result S12 0.42    of a strip that was not started here: no clock is known of it\n"
           "  yes, no            records the result that was just told, or drops it; nothing else records one\n"
           "  mistake REASON     its clock was started by mistake: no strip was run\n"
           "Also\n"
           "  new S99            a sample that the store does not know; or new S99 stage=truck load=L7\n"
           "  Enter, or show     the bench: what runs, the last results, whether a control is due\n"
           "  = 12               a result that looks like a sample's code\n"
           "  end                leaves; strips go on running and are there again when the bench is opened\n"
           "A result that was recorded wrong is corrected outside: lodicule add STORE tests test=... don=...\n"
           "unit=mg/kg --correct REASON\n";
}

}  // namespace app
