#include "models/contamination/within_field_words.h"

#include <cmath>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spoken.h"

namespace models::contamination {

namespace {

std::string odds(double ratio) {
    if (ratio >= 1000.0) return phrase("more than 1000 to 1");
    return phrase("{} to 1", said(fmt::format("{:.{}f}", ratio, ratio < 10.0 ? 1 : 0)));
}

/// "30 m", "120 m", "1400 m": a range is not known to more than two digits.
std::string metres(double m) {
    if (m < 10.0) return said(fmt::format("{:.2g} m", m));
    const double step = std::pow(10.0, std::floor(std::log10(m)) - 1.0);
    return fmt::format("{:.0f} m", std::round(m / step) * step);
}

std::string tenths(double chance) {
    const auto n = static_cast<int>(std::lround(10.0 * chance));
    return n <= 0 ? phrase("fewer than 1 in 20") : n >= 10 ? phrase("more than 19 in 20") : phrase("about {} in 10", n);
}

}  // namespace

std::string words_of_structure(const WithinFieldStructure& told, double least_ratio) {
    if (told.by_field.empty())
        return phrase("not supported: no field has enough placed results to show structure within it");
    const std::string results = counted(told.results, phrase("placed result"), phrase("placed results")) +
                                (told.fields == 1 ? std::string() : phrase(" in {} fields", told.fields));
    const std::string says =
        told.evidence_ratio >= 1.0
            ? phrase("{} that near places are alike", odds(told.evidence_ratio))
            : phrase("{} that near places are no more alike than far ones", odds(1.0 / told.evidence_ratio));
    const double percent = std::abs(100.0 * told.leave_one_out_skill);
    const std::string skill = phrase("(leave-one-out skill {:.2f})", told.leave_one_out_skill);
    if (told.supported)
        return phrase(
            "supported: {} say {}, within some {} ({} to {}); the others foretell each with {:.0f} % less squared "
            "error than the mean of its field {}",
            results, says, metres(told.range_m.median), metres(told.range_m.low90), metres(told.range_m.high90),
            percent, skill);
    std::string text = phrase("not supported: {} say {}", results, says);
    if (told.evidence_ratio >= 1.0 && told.evidence_ratio < least_ratio)
        text += phrase(", and {:.2g} to 1 is asked for", least_ratio);
    text += told.leave_one_out_skill > 0.0 && told.evidence_ratio < least_ratio
                ? fmt::format(" {}", skill)
                : phrase("; the others foretell each no better than the mean of its field {}", skill);
    text += phrase(
        "; were places alike within {}, with 30 % of the variance left to each alone, {} such "
        "samplings would show it",
        metres(told.sought.range_m), tenths(told.power));
    return text;
}

}  // namespace models::contamination
