#include "models/error.h"

#include <utility>

#include "models/spoken.h"

namespace models {

namespace {

std::string sentence(const std::string& what_happened, const std::string& where, const std::string& how_to_mend) {
    std::string text;
    if (!where.empty()) text += where + ": ";
    text += what_happened;
    if (!text.empty() && text.back() != '.' && text.back() != '?') text += '.';
    if (!how_to_mend.empty()) {
        text += phrase(" To mend it: {}", how_to_mend);
        if (text.back() != '.' && text.back() != '?') text += '.';
    }
    return text;
}

}  // namespace

Error::Error(std::string what_happened, std::string where, std::string how_to_mend)
    : std::runtime_error(sentence(what_happened, where, how_to_mend)),
      what_happened_(std::move(what_happened)),
      where_(std::move(where)),
      how_to_mend_(std::move(how_to_mend)) {}

}  // namespace models
