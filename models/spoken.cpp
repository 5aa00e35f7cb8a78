#include "models/spoken.h"

namespace models {

namespace {

thread_local const Translation* spoken_in_this_thread = nullptr;
thread_local char mark_of_this_thread = '.';

bool is_digit(char letter) {
    return letter >= '0' && letter <= '9';
}

}  // namespace

Translated::Translated(const Translation* translation)
    : before_(spoken_in_this_thread), mark_before_(mark_of_this_thread) {
    spoken_in_this_thread = translation;
    mark_of_this_thread = *spoken(word("mark before the decimals of a number", "."));
}

Translated::~Translated() {
    spoken_in_this_thread = before_;
    mark_of_this_thread = mark_before_;
}

char decimal_mark() {
    return mark_of_this_thread;
}

std::string said(std::string number) {
    for (std::size_t at = 1; at + 1 < number.size(); ++at)
        if (number[at] == '.' && is_digit(number[at - 1]) && is_digit(number[at + 1])) number[at] = decimal_mark();
    return number;
}

std::string number_as_typed(std::string typed) {
    const std::size_t at = typed.find(decimal_mark());
    const bool one_mark = at != std::string::npos && typed.find_first_of(".,", at + 1) == std::string::npos &&
                          typed.find_first_of(".,") == at;
    const bool digits = std::all_of(typed.begin(), typed.end(), [](char letter) {
        return is_digit(letter) || letter == decimal_mark() || letter == '-' || letter == ' ';
    });
    if (one_mark && digits) typed[at] = '.';
    return typed;
}

const Translation* translation_here() {
    return spoken_in_this_thread;
}

const char* spoken(const Word& word) {
    const char* translated = spoken_in_this_thread == nullptr ? nullptr : spoken_in_this_thread->find(word);
    return translated == nullptr ? word.original : translated;
}

}  // namespace models
