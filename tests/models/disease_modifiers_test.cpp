#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "models/disease/catalogue.h"
#include "models/disease/modifiers.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

/// After rape, not ploughed, susceptible, not sprayed: what every ratio is against.
CropRecord reference_wheat() {
    CropRecord crop;
    crop.previous_crop = "oilseed rape";
    crop.tillage = "none";
    crop.resistance = Resistance::susceptible;
    crop.spray_active = false;
    crop.flowering_date = day_of(2026, 6, 10);
    return crop;
}

/// It knows weather only.
const DiseaseModel& weather_alone() {
    return find_model("night-warmth-and-rain");
}

const DonModifier* term_of(const DonModifiers& modifiers, DonFactor factor) {
    const auto found = std::find_if(modifiers.terms.begin(), modifiers.terms.end(),
                                    [&](const DonModifier& term) { return term.factor == factor; });
    return found == modifiers.terms.end() ? nullptr : &*found;
}

}  // namespace

TEST_CASE("a reference field has no term") {
    for (const DiseaseModel& model : disease_models(true)) {
        CHECK(don_modifiers(reference_wheat(), model).terms.empty());
        CHECK(don_modifiers(reference_wheat(), model).log_ratio() == 0.0);
        CHECK(don_modifiers(reference_wheat(), model).variance() == 0.0);
    }
}

TEST_CASE("each factor has its published ratio") {
    const auto ratio = [](auto change) {
        CropRecord crop = reference_wheat();
        change(crop);
        return std::exp(don_modifiers(crop, weather_alone()).log_ratio());
    };
    // Beyer et al. 2006: to 33, 33 and 24 % of maize before, no plough, a susceptible cultivar; Dill-Macky & Jones
    // 2000: half of maize and three quarters of wheat before; Paul et al. 2008: 45, 43, 42, 23 and 12 % less.
    CHECK(ratio([](CropRecord& c) { c.previous_crop = "maize"; }) == Approx(std::sqrt(6.0)));
    CHECK(ratio([](CropRecord& c) { c.previous_crop = "winter wheat"; }) == Approx(4.0 / 3.0));
    CHECK(ratio([](CropRecord& c) { c.previous_crop = "buckwheat"; }) == Approx(1.0));
    CHECK(ratio([](CropRecord& c) { c.tillage = "plough"; }) == Approx(0.33));
    CHECK(ratio([](CropRecord& c) { c.tillage = "reduced"; }) == Approx(1.0));
    CHECK(ratio([](CropRecord& c) { c.resistance = Resistance::moderately_susceptible; }) == Approx(0.24));
    CHECK(ratio([](CropRecord& c) { c.resistance = Resistance::moderately_resistant; }) == Approx(0.24));
    CHECK(ratio([](CropRecord& c) { c.resistance = Resistance::very_susceptible; }) == Approx(1.0));
    CHECK(ratio([](CropRecord& c) { c.spray_active = true; }) ==
          Approx(std::exp((std::log(0.55) + std::log(0.57) + std::log(0.58) + std::log(0.77) + std::log(0.88)) / 5)));
}

TEST_CASE("ratios multiply and their variances add") {
    CropRecord crop = reference_wheat();
    crop.previous_crop = "maize";
    crop.tillage = "plough";
    const DonModifiers both = don_modifiers(crop, weather_alone());
    REQUIRE(both.terms.size() == 2);
    CHECK(both.log_ratio() == Approx(std::log(std::sqrt(6.0)) + std::log(0.33)));
    CHECK(both.variance() == Approx(1.0 / 9.0 + 0.09));  // 0.11/0.33, and 0.3 for 0.07/0.33
    for (const DonModifier& term : both.terms) {
        CHECK_FALSE(term.held);
        CHECK(term.ratio_sd >= 0.3);
    }
}

TEST_CASE("what the disease model holds already is listed and not counted") {
    CropRecord crop = reference_wheat();
    crop.previous_crop = "maize";
    crop.residue = Residue::heavy;
    crop.tillage = "plough";
    crop.resistance = Resistance::moderately_susceptible;
    crop.spray_active = true;
    for (const DiseaseModel& model : disease_models(true)) {
        INFO(model.name);
        const DonModifiers modifiers = don_modifiers(crop, model);
        REQUIRE(modifiers.terms.size() == 4);
        const double spray = term_of(modifiers, DonFactor::spray)->log_ratio;
        for (const DonModifier& term : modifiers.terms) {
            CHECK(term.held == (model.uses_agronomy && term.factor != DonFactor::spray));
            CHECK(term.held == holds(model, term.factor));
            if (term.held) CHECK_THAT(term.sentence, Contains("the disease risk holds it already: not counted again"));
        }
        if (model.uses_agronomy) {
            CHECK(modifiers.log_ratio() == Approx(spray));
            CHECK(modifiers.variance() == Approx(0.09));
        } else {
            CHECK(modifiers.log_ratio() == Approx(std::log(std::sqrt(6.0) * 0.33 * 0.24) + spray));
            CHECK(modifiers.variance() == Approx(1.0 / 9.0 + 0.09 + 0.25 + 0.09));
        }
    }
}

TEST_CASE("the models that move with resistance or residue are the ones that hold them") {
    const DonFactor of_the_field[] = {DonFactor::maize_before, DonFactor::ploughed, DonFactor::resistance};
    for (const DiseaseModel& model : disease_models(true)) {
        INFO(model.name);
        std::vector<double> weather(model.weather.size(), 2.0);
        const auto winter = WheatGroup::winter_without_maize_residue;
        const bool moves_with_resistance = model.value(weather, {Resistance::susceptible, winter}) !=
                                           model.value(weather, {Resistance::moderately_susceptible, winter});
        const bool moves_with_residue =
            model.value(weather, {}) !=
            model.value(weather, {Resistance::susceptible, WheatGroup::winter_with_maize_residue});
        CHECK(holds(model, DonFactor::resistance) == moves_with_resistance);
        for (const DonFactor factor : of_the_field) {
            if (factor != DonFactor::resistance) CHECK(holds(model, factor) == moves_with_residue);
        }
        CHECK_FALSE(holds(model, DonFactor::spray));
        CHECK_FALSE(holds(model, DonFactor::wheat_before));
    }
}

TEST_CASE("residue that is said to be none counts neither as maize nor a second time as ploughed") {
    CropRecord crop = reference_wheat();
    crop.previous_crop = "maize";
    crop.residue = Residue::none;
    crop.tillage = "plough";
    CHECK(don_modifiers(crop, weather_alone()).terms.empty());
}

TEST_CASE("what the record does not say shifts nothing and widens") {
    CropRecord crop;
    const DonModifiers open = don_modifiers(crop, weather_alone());
    REQUIRE(open.terms.size() == 4);
    CHECK(open.log_ratio() == 0.0);
    double expected = 0.0;
    for (const DonModifier& term : open.terms) {
        CHECK(term.share == 0.0);
        CHECK_THAT(term.sentence, Contains("is not said"));
        expected += term.log_ratio * term.log_ratio / 12.0;
    }
    CHECK(open.variance() == Approx(expected));
    CHECK_THAT(term_of(open, DonFactor::resistance)->sentence, Contains("the cultivar's resistance is not said"));
    // A model that holds the cultivar and the residue has widened for them itself.
    const DonModifiers held = don_modifiers(crop, default_model());
    CHECK(held.variance() == Approx(std::pow(term_of(open, DonFactor::spray)->own_sd, 2)));
}

TEST_CASE("a spray far from flowering is named and not counted") {
    CropRecord crop = reference_wheat();
    crop.spray_active = true;
    const auto at = [&](int later) {
        crop.spray_date = *crop.flowering_date + std::chrono::days(later);
        return don_modifiers(crop, default_model());
    };
    CHECK(at(0).log_ratio() < 0.0);
    CHECK(at(-3).log_ratio() == at(0).log_ratio());
    CHECK(at(6).log_ratio() == at(0).log_ratio());
    for (const int later : {-4, 7, -30}) {
        CHECK(at(later).log_ratio() == 0.0);
        CHECK(at(later).variance() == 0.0);
        REQUIRE(at(later).terms.size() == 1);
        CHECK_THAT(at(later).terms[0].sentence, Contains("not counted"));
    }
    CHECK_THAT(at(-30).terms[0].sentence, Contains("sprayed 30 days before flowering"));
    crop.spray_date.reset();
    CHECK(don_modifiers(crop, default_model()).log_ratio() < 0.0);
}

TEST_CASE("other crops than wheat have no term") {
    CropRecord crop;
    crop.crop = Crop::barley;
    crop.previous_crop = "maize";
    CHECK(don_modifiers(crop, weather_alone()).terms.empty());
}

TEST_CASE("a term names its factor and size and source in one sentence") {
    CropRecord crop = reference_wheat();
    crop.tillage = "plough";
    const DonModifiers modifiers = don_modifiers(crop, weather_alone());
    REQUIRE(modifiers.terms.size() == 1);
    CHECK(modifiers.terms[0].sentence == "ploughed: DON times 0.33, give or take a factor of 1.35 (Beyer et al. 2006)");
}
