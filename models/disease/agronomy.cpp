#include "models/disease/agronomy.h"

#include <algorithm>
#include <cctype>
#include <utility>

#include "models/spoken.h"

namespace models {

namespace {

enum class MaizeResidue { none, there, unknown, not_said_after_maize };

std::string lower_case(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return text;
}

MaizeResidue maize_residue(const CropRecord& crop) {
    if (crop.residue == Residue::none) return MaizeResidue::none;
    if (crop.previous_crop.empty()) return MaizeResidue::unknown;
    if (!names_maize(crop.previous_crop)) return MaizeResidue::none;
    return crop.residue ? MaizeResidue::there : MaizeResidue::not_said_after_maize;
}

std::vector<Resistance> possible_resistances(const CropRecord& crop) {
    if (crop.resistance) return {*crop.resistance};
    return {Resistance::susceptible, Resistance::very_susceptible, Resistance::moderately_susceptible,
            Resistance::moderately_resistant};
}

/// The first is the one to compute with.
std::vector<WheatGroup> possible_groups(const CropRecord& crop, MaizeResidue residue) {
    std::vector<WheatGroup> groups;
    if (crop.wheat_type != WheatType::spring) {
        const bool with = residue == MaizeResidue::there || residue == MaizeResidue::not_said_after_maize;
        groups.push_back(with ? WheatGroup::winter_with_maize_residue : WheatGroup::winter_without_maize_residue);
        if (residue == MaizeResidue::unknown) groups.push_back(WheatGroup::winter_with_maize_residue);
        if (residue == MaizeResidue::not_said_after_maize) groups.push_back(WheatGroup::winter_without_maize_residue);
    }
    if (crop.wheat_type != WheatType::winter) groups.push_back(WheatGroup::spring);
    return groups;
}

}  // namespace

bool names_maize(const std::string& crop) {
    const std::string name = lower_case(crop);
    return name == "corn" || name.ends_with(" corn") || name.find("maize") != std::string::npos;
}

bool names_wheat(const std::string& crop) {
    const std::string name = lower_case(crop);
    return name == "wheat" || name.ends_with(" wheat") || name.ends_with("durum");
}

AgronomyReading read_agronomy(const CropRecord& crop) {
    AgronomyReading reading;
    const MaizeResidue residue = maize_residue(crop);
    for (const WheatGroup group : possible_groups(crop, residue)) {
        for (const Resistance resistance : possible_resistances(crop)) reading.possible.push_back({resistance, group});
    }
    reading.taken = reading.possible.front();

    const auto open = [&](std::string what, std::string taken) {
        reading.missing.push_back(std::move(what));
        reading.notes.push_back(std::move(taken));
    };
    if (!crop.resistance) {
        open(phrase("the cultivar's resistance"),
             "the resistance is not given: taken as susceptible, low and high span all classes");
    }
    if (!crop.wheat_type) {
        open(phrase("winter or spring wheat"),
             "winter or spring is not given: taken as winter wheat, low and high span both");
    }
    if (crop.wheat_type == WheatType::spring) return reading;  // its class holds every residue
    if (residue == MaizeResidue::unknown) {
        open(phrase("the previous crop"),
             "the previous crop is not given: taken as without maize residue, low and high span with and without");
    }
    if (residue == MaizeResidue::not_said_after_maize) {
        open(phrase("the residue"),
             "after maize, the residue is not given: taken as with maize residue, low and high span with and without");
    }
    return reading;
}

}  // namespace models
