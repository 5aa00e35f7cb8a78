#include "models/spoken.h"

namespace models {

namespace {
thread_local const Translation* spoken_in_this_thread = nullptr;
}

Translated::Translated(const Translation* translation) : before_(spoken_in_this_thread) {
    spoken_in_this_thread = translation;
}

Translated::~Translated() {
    spoken_in_this_thread = before_;
}

const Translation* translation_here() {
    return spoken_in_this_thread;
}

const char* spoken(const Word& word) {
    const char* translated = spoken_in_this_thread == nullptr ? nullptr : spoken_in_this_thread->find(word);
    return translated == nullptr ? word.original : translated;
}

}  // namespace models
