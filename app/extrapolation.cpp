#include "app/extrapolation.h"

#include <algorithm>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spoken.h"

namespace app {

namespace {

/// Each reason once, with the fields that it holds for, in the order of the fields.
struct SharedReason {
    std::string words;
    std::vector<std::string> fields;
};

std::vector<std::string> reasons_of(const models::DiseaseRisk& risk) {
    if (!risk.extrapolated) return {};
    if (risk.outside.empty()) return {models::phrase("outside what the model's data hold")};
    return risk.outside;
}

struct SharedReasons {
    std::vector<SharedReason> reasons;
    std::size_t risks = 0;  ///< fields of the season that have one
};

SharedReasons reasons_of_season(const SeasonView& view) {
    SharedReasons all;
    for (const FieldView& field : view.fields) {
        const FieldRisk* entry = risk_of(view, field.crop);
        if (entry == nullptr || !entry->risk.value) continue;
        ++all.risks;
        for (const std::string& words : reasons_of(entry->risk)) {
            auto known = std::find_if(all.reasons.begin(), all.reasons.end(),
                                      [&](const SharedReason& reason) { return reason.words == words; });
            if (known == all.reasons.end()) known = all.reasons.insert(known, {words, {}});
            known->fields.push_back(field.name);
        }
    }
    return all;
}

std::string joined(const std::vector<std::string>& reasons) {
    std::string text;
    for (const std::string& words : reasons) text += (text.empty() ? "" : "; ") + words;
    return text;
}

std::string sentence_of(const SharedReason& reason, std::size_t all_risks) {
    constexpr std::size_t most_named = 6;
    const auto risks = static_cast<long long>(all_risks), these = static_cast<long long>(reason.fields.size());
    if (these == risks) {
        return risks == 1 ? models::phrase("The one disease risk is extrapolated: {}", reason.words)
                          : models::phrase("All {} disease risks are extrapolated: {}", risks, reason.words);
    }
    std::string names;
    for (std::size_t i = 0; i < reason.fields.size() && i < most_named; ++i)
        names += (names.empty() ? "" : "; ") + reason.fields[i];
    if (reason.fields.size() > most_named) names += models::phrase("; {} more", reason.fields.size() - most_named);
    const std::string all = models::counted(risks, models::phrase("disease risk"), models::phrase("disease risks"));
    return these == 1 ? models::phrase("{} of {} is extrapolated ({}): {}", these, all, names, reason.words)
                      : models::phrase("{} of {} are extrapolated ({}): {}", these, all, names, reason.words);
}

}  // namespace

Extrapolations extrapolations_of(const SeasonView& view) {
    const SharedReasons all = reasons_of_season(view);
    Extrapolations out;
    for (const SharedReason& reason : all.reasons) {
        out.sentences.push_back(sentence_of(reason, all.risks));
        if (reason.fields.size() == all.risks) out.of_all.push_back(reason.words);
    }
    return out;
}

std::vector<std::string> Extrapolations::each_beside(const models::DiseaseRisk& risk) const {
    std::vector<std::string> own = reasons_of(risk);
    std::erase_if(
        own, [&](const std::string& words) { return std::find(of_all.begin(), of_all.end(), words) != of_all.end(); });
    return own;
}

std::string Extrapolations::beside(const models::DiseaseRisk& risk) const {
    return joined(each_beside(risk));
}

std::string extrapolation_in_words(const models::DiseaseRisk& risk) {
    return joined(reasons_of(risk));
}

}  // namespace app
