#include "models/words.h"

#include "models/spoken.h"

namespace models {

std::string in_words(Crop crop) {
    switch (crop) {
        case Crop::wheat:
            return phrase("wheat");
        case Crop::durum:
            return phrase("durum");
        case Crop::barley:
            return phrase("barley");
        case Crop::oats:
            return phrase("oats");
        case Crop::maize:
            return phrase("maize");
        case Crop::rye:
            return phrase("rye");
        case Crop::triticale:
            return phrase("triticale");
    }
    return phrase("this crop");
}

std::string in_words(Purpose purpose) {
    switch (purpose) {
        case Purpose::food:
            return phrase("food");
        case Purpose::feed:
            return phrase("feed");
        case Purpose::hold:
            return phrase("hold");
        case Purpose::other:
            return phrase("other");
    }
    return "";
}

std::string in_words(DrawOff draw_off) {
    switch (draw_off) {
        case DrawOff::first_in:
            return phrase("first in, first out");
        case DrawOff::last_in:
            return phrase("last in, first out");
        case DrawOff::mixed:
            return phrase("mixed when drawn");
        case DrawOff::unknown:
            return phrase("draw-off not known");
    }
    return "";
}

std::string in_words(Stage stage) {
    switch (stage) {
        case Stage::standing:
            return phrase("standing crop");
        case Stage::combine:
            return phrase("combine stream");
        case Stage::truck:
            return phrase("truck");
        case Stage::bin:
            return phrase("bin");
        case Stage::control:
            return phrase("control");
    }
    return "";
}

std::string in_words(Basis basis) {
    switch (basis) {
        case Basis::as_is:
            return phrase("as is, at the grain's own moisture");
        case Basis::dry:
            return phrase("on dry matter");
        case Basis::pct12:
            return phrase("at 12 % moisture");
    }
    return "";
}

}  // namespace models
