#include "models/words.h"

namespace models {

std::string in_words(Crop crop) {
    switch (crop) {
        case Crop::wheat:
            return "wheat";
        case Crop::durum:
            return "durum";
        case Crop::barley:
            return "barley";
        case Crop::oats:
            return "oats";
        case Crop::maize:
            return "maize";
        case Crop::rye:
            return "rye";
        case Crop::triticale:
            return "triticale";
    }
    return "this crop";
}

std::string in_words(Purpose purpose) {
    switch (purpose) {
        case Purpose::food:
            return "food";
        case Purpose::feed:
            return "feed";
        case Purpose::hold:
            return "hold";
        case Purpose::other:
            return "other";
    }
    return "";
}

std::string in_words(DrawOff draw_off) {
    switch (draw_off) {
        case DrawOff::first_in:
            return "first in, first out";
        case DrawOff::last_in:
            return "last in, first out";
        case DrawOff::mixed:
            return "mixed when drawn";
        case DrawOff::unknown:
            return "draw-off not known";
    }
    return "";
}

std::string in_words(Stage stage) {
    switch (stage) {
        case Stage::standing:
            return "standing crop";
        case Stage::combine:
            return "combine stream";
        case Stage::truck:
            return "truck";
        case Stage::bin:
            return "bin";
        case Stage::control:
            return "control";
    }
    return "";
}

std::string in_words(Basis basis) {
    switch (basis) {
        case Basis::as_is:
            return "as is, at the grain's own moisture";
        case Basis::dry:
            return "on dry matter";
        case Basis::pct12:
            return "at 12 % moisture";
    }
    return "";
}

}  // namespace models
