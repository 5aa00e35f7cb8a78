#include "models/disease/modifiers.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "models/disease/agronomy.h"
#include "models/disease/disease_risk.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr double least_ratio_sd = 0.3;
constexpr int spray_days_before_flowering = 3, spray_days_after_flowering = 6;

/// What is published of one factor.
struct DonRatio {
    DonFactor factor;
    double ratio, sd_of_log;
    const char* what;    ///< as the sentence says it of a field
    const char* unsaid;  ///< what the record lacks
    const char* source;
    Word named;  ///< both, as they stand where nothing else is said of it
};

const DonRatio& ratio_of(DonFactor factor) {
    static const std::vector<DonRatio> ratios = {
        {DonFactor::maize_before, std::sqrt(3.0 * 2.0), std::max(least_ratio_sd, 0.11 / 0.33), "after maize",
         "the previous crop", "Beyer et al. 2006, Dill-Macky & Jones 2000",
         word("after maize (Beyer et al. 2006, Dill-Macky & Jones 2000)")},
        {DonFactor::wheat_before, 1.0 / 0.75, least_ratio_sd, "after wheat", "the previous crop",
         "Dill-Macky & Jones 2000", word("after wheat (Dill-Macky & Jones 2000)")},
        {DonFactor::ploughed, 0.33, std::max(least_ratio_sd, 0.07 / 0.33), "ploughed", "the tillage",
         "Beyer et al. 2006", word("ploughed (Beyer et al. 2006)")},
        {DonFactor::resistance, 0.24, 0.5, "moderately susceptible cultivar", "the cultivar's resistance",
         "Beyer et al. 2006", word("moderately susceptible cultivar (Beyer et al. 2006)")},
        {DonFactor::spray, std::pow(0.55 * 0.57 * 0.58 * 0.77 * 0.88, 1.0 / 5.0), least_ratio_sd,
         "sprayed against head blight around flowering", "whether it was sprayed", "Paul et al. 2008",
         word("sprayed against head blight around flowering (Paul et al. 2008)")}};
    return *std::find_if(ratios.begin(), ratios.end(), [&](const DonRatio& of) { return of.factor == factor; });
}

/// The terms of one record, with the sentence of each.
class ModifierReading {
 public:
    explicit ModifierReading(const DiseaseModel& model) : model_(model) {}

    void there(DonFactor factor, const std::string& but = "") {
        const DonRatio& of = ratio_of(factor);
        DonModifier term = term_of(of);
        term.share = 1.0;
        add(std::move(term), fmt::format("{}: DON times {:.2f}, give or take a factor of {:.2f} ({}){}", of.what,
                                         of.ratio, std::exp(of.sd_of_log), of.source, but));
    }
    void not_said(DonFactor factor) {
        const DonRatio& of = ratio_of(factor);
        DonModifier term = term_of(of);
        term.own_sd = std::abs(term.log_ratio) / std::sqrt(12.0);
        add(std::move(term),
            fmt::format("{} is not said: {}, DON would be times {:.2f} ({})", of.unsaid, of.what, of.ratio, of.source));
    }
    void not_counted(DonFactor factor, std::string why) {
        terms_.push_back(term_of(ratio_of(factor)));
        terms_.back().sentence = std::move(why);
    }
    std::vector<DonModifier> take() { return std::move(terms_); }

 private:
    static DonModifier term_of(const DonRatio& of) {
        DonModifier term;
        term.factor = of.factor;
        term.log_ratio = std::log(of.ratio);
        term.ratio_sd = of.sd_of_log;
        return term;
    }
    void add(DonModifier term, std::string sentence) {
        term.held = holds(model_, term.factor);
        term.sentence = std::move(sentence);
        if (term.held) term.sentence += "; the disease risk holds it already: not counted again";
        terms_.push_back(std::move(term));
    }

    const DiseaseModel& model_;
    std::vector<DonModifier> terms_;
};

void read_previous_crop(const CropRecord& crop, ModifierReading& reading) {
    if (crop.residue == Residue::none) return;  // whatever grew, nothing of it lies there
    if (crop.previous_crop.empty()) {
        reading.not_said(DonFactor::maize_before);
    } else if (names_maize(crop.previous_crop)) {
        reading.there(DonFactor::maize_before);
    } else if (names_wheat(crop.previous_crop)) {
        reading.there(DonFactor::wheat_before);
    }
}

void read_tillage(const CropRecord& crop, ModifierReading& reading) {
    const bool counted_as_no_residue = crop.residue == Residue::none && names_maize(crop.previous_crop);
    if (counted_as_no_residue) return;
    if (crop.tillage.empty()) return reading.not_said(DonFactor::ploughed);
    if (crop.tillage == "plough") reading.there(DonFactor::ploughed);
}

void read_resistance(const CropRecord& crop, ModifierReading& reading) {
    if (!crop.resistance) return reading.not_said(DonFactor::resistance);
    if (*crop.resistance == Resistance::moderately_susceptible) reading.there(DonFactor::resistance);
    if (*crop.resistance == Resistance::moderately_resistant) {
        reading.there(DonFactor::resistance, "; taken for moderately resistant, which has no ratio of its own");
    }
}

void read_spray(const CropRecord& crop, ModifierReading& reading) {
    if (!crop.spray_active) return reading.not_said(DonFactor::spray);
    if (!*crop.spray_active) return;
    const auto flowering = flowering_day(crop);
    if (crop.spray_date && flowering) {
        const auto later = (*crop.spray_date - *flowering).count();
        if (later < -spray_days_before_flowering || later > spray_days_after_flowering) {
            reading.not_counted(DonFactor::spray,
                                fmt::format("sprayed {} days {} flowering: not counted, the published ratios are of "
                                            "sprays around flowering",
                                            std::abs(later), later < 0 ? "before" : "after"));
            return;
        }
    }
    reading.there(DonFactor::spray);
}

}  // namespace

std::string in_words(DonFactor factor) {
    return ratio_of(factor).named.original;
}

double DonModifiers::log_ratio() const {
    double sum = 0.0;
    for (const DonModifier& term : terms) sum += term.held ? 0.0 : term.share * term.log_ratio;
    return sum;
}

double DonModifiers::variance() const {
    double sum = 0.0;
    for (const DonModifier& term : terms) {
        if (!term.held) sum += term.share * term.share * term.ratio_sd * term.ratio_sd + term.own_sd * term.own_sd;
    }
    return sum;
}

bool holds(const DiseaseModel& model, DonFactor factor) {
    switch (factor) {
        case DonFactor::maize_before:
        case DonFactor::ploughed:
        case DonFactor::resistance:
            return model.uses_agronomy;
        case DonFactor::wheat_before:
        case DonFactor::spray:
            break;
    }
    return false;
}

DonModifiers don_modifiers(const CropRecord& crop, const DiseaseModel& model) {
    DonModifiers modifiers;
    if (crop.crop != Crop::wheat && crop.crop != Crop::durum) return modifiers;
    ModifierReading reading(model);
    read_previous_crop(crop, reading);
    read_tillage(crop, reading);
    read_resistance(crop, reading);
    read_spray(crop, reading);
    modifiers.terms = reading.take();
    return modifiers;
}

}  // namespace models
