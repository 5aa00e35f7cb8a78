#include <cmath>

#include <catch2/catch.hpp>

#include "app/figures_of_season.h"
#include "app/workflow.h"
#include "geo/store/store.h"
#include "models/disease/catalogue.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;
using models::DateBasis;
using models::day_of;

/// The invented district of the demo, with its season of 2026 to change.
struct District {
    geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    app::SeasonData data = app::read_season_data(store);

    models::CropRecord& crop(const std::string& field) {
        for (models::CropRecord& record : data.crops) {
            if (record.season == 2026 && record.field == field) return record;
        }
        throw std::runtime_error("no field " + field);
    }
    std::vector<app::FieldRisk> risks(const app::RiskSettings& settings = {}) const {
        return app::risks_of_season(store, data, 2026, settings);
    }
    app::FieldRisk risk_of_field(const std::string& field, const app::RiskSettings& settings = {}) const {
        for (app::FieldRisk& risk : risks(settings)) {
            if (data.crops[risk.crop].field == field) return risk;
        }
        throw std::runtime_error("no risk of " + field);
    }
};

bool tells(const std::vector<std::string>& sentences, const std::string& words) {
    return std::any_of(sentences.begin(), sentences.end(),
                       [&](const std::string& sentence) { return sentence.find(words) != std::string::npos; });
}

/// Sown in April, so that the station's hours reach from there to flowering.
void make_spring_wheat(models::CropRecord& crop) {
    crop.wheat_type = models::WheatType::spring;
    crop.sowing_date = day_of(2026, 4, 2);
    crop.heading_date.reset();
    crop.flowering_date.reset();
    crop.flowering_start.reset();
    crop.flowering_end.reset();
    crop.flowering_source.reset();
}

}  // namespace

TEST_CASE("a field whose heading alone is known has the mean risk over the days it may have flowered on") {
    District district;
    const app::FieldRisk from_heading = district.risk_of_field("P03");
    REQUIRE(from_heading.risk.value.has_value());
    CHECK(from_heading.flowering.basis == DateBasis::heading);
    CHECK(from_heading.flowering.day == day_of(2026, 6, 3));  // 29 May + 5 days
    CHECK(from_heading.flowering.sd_days == Approx(3.0).margin(0.05).epsilon(0.0));
    CHECK(from_heading.risk.date.averaged());
    double sum = 0.0;
    for (const models::RiskAtDate& at : from_heading.risk.by_date) sum += at.chance * at.value.value();
    CHECK(*from_heading.risk.value == Approx(sum).epsilon(1e-12));
    CHECK(*from_heading.risk.low <= *from_heading.risk.value);
    CHECK(*from_heading.risk.high >= *from_heading.risk.value);
    CHECK(tells(from_heading.risk.missing, "the observed flowering date"));

    // A date estimated by hand on the most likely day has the same chances.
    district.crop("P03").flowering_date = day_of(2026, 6, 3);
    district.crop("P03").flowering_source = models::FloweringSource::estimated;
    const app::FieldRisk by_hand = district.risk_of_field("P03");
    CHECK(by_hand.flowering.basis == DateBasis::estimated_by_hand);
    CHECK(by_hand.risk.value == from_heading.risk.value);
    // Observed, it is that day's risk.
    district.crop("P03").flowering_source = models::FloweringSource::observed;
    const app::FieldRisk observed = district.risk_of_field("P03");
    CHECK(observed.risk.value == observed.risk.by_date[3].value);
    CHECK_FALSE(observed.risk.sd_over_dates.has_value());
}

TEST_CASE("a field whose weather does not go back to sowing says what an estimate of its flowering lacks") {
    District district;
    const app::FieldRisk sown_only = district.risk_of_field("T07");
    CHECK_FALSE(sown_only.risk.value.has_value());
    CHECK_FALSE(sown_only.flowering.day.has_value());
    REQUIRE(sown_only.risk.missing.size() >= 2);
    CHECK(sown_only.risk.missing[0] == "the flowering date");
    CHECK_THAT(sown_only.risk.missing[1],
               Contains("to estimate it: temperatures from sowing on 2025-10-13: the weather goes from 2026-04-01"));
    district.crop("T07").sowing_date.reset();
    CHECK(district.risk_of_field("T07").risk.missing ==
          std::vector<std::string>{"the flowering, heading or sowing date"});
}

TEST_CASE("spring wheat flowers by unconfirmed degree days only where they are asked for and says so") {
    District district;
    make_spring_wheat(district.crop("C01"));
    const app::FieldRisk refused = district.risk_of_field("C01");
    CHECK_FALSE(refused.risk.value.has_value());
    CHECK(tells(refused.risk.missing, "those known here are unconfirmed and have to be asked for"));

    app::RiskSettings asked;
    asked.include_unconfirmed = true;
    const app::FieldRisk risk = district.risk_of_field("C01", asked);
    REQUIRE(risk.risk.value.has_value());
    CHECK(risk.flowering.basis == DateBasis::sowing);
    CHECK(risk.flowering.unconfirmed);
    CHECK(risk.risk.unconfirmed);
    CHECK(risk.risk.extrapolated);  // the scheme is of Saskatchewan
    // 807 to 901 degree days above 0 from 2 April are reached in the first days of June by the demo's daily tables.
    CHECK(*risk.flowering.day >= day_of(2026, 6, 1));
    CHECK(*risk.flowering.day <= day_of(2026, 6, 8));
    CHECK(risk.flowering.sd_days > 3.0);
    CHECK_THAT(risk.risk.date.method, Contains("method 1") && Contains("hourly temperatures") &&
                                          Contains("sowing on 2026-04-02") && Contains("(unconfirmed)"));
    CHECK(tells(risk.risk.notes, "unconfirmed"));
    CHECK(risk.station == refused.station);
}

TEST_CASE("dates of one field that contradict each other are told on that field and the others stand") {
    District district;
    const std::vector<app::FieldRisk> before = district.risks();
    district.crop("C01").sowing_date = *district.crop("C01").flowering_date + std::chrono::days(3);
    const std::vector<app::FieldRisk> after = district.risks();
    REQUIRE(after.size() == before.size());
    for (std::size_t r = 0; r < after.size(); ++r) {
        const std::string& field = district.data.crops[after[r].crop].field;
        INFO(field);
        if (field != "C01") {
            CHECK(after[r].risk.value == before[r].risk.value);
            CHECK(after[r].risk.missing == before[r].risk.missing);
            continue;
        }
        CHECK(before[r].risk.value.has_value());
        CHECK_FALSE(after[r].risk.value.has_value());
        CHECK_FALSE(after[r].flowering.day.has_value());
        REQUIRE(after[r].risk.missing.size() == 1);
        CHECK_THAT(after[r].risk.missing[0], Contains("the dates contradict each other: sowing on ") &&
                                                 Contains("comes after") && Contains("check the two dates"));
    }
}

TEST_CASE("as of a day no date that was written later is used") {
    const District district;
    app::RiskSettings settings;
    settings.as_of = day_of(2026, 5, 30);
    int observed = 0, from_heading = 0, unknown = 0;
    for (const app::FieldRisk& risk : district.risks(settings)) {
        const models::CropRecord& crop = district.data.crops[risk.crop];
        if (risk.risk.date.basis == DateBasis::none) {
            if (crop.crop != models::Crop::wheat && crop.crop != models::Crop::durum) continue;
            CHECK(crop.heading_date.value_or(*settings.as_of + std::chrono::days(1)) > *settings.as_of);
            ++unknown;
            continue;
        }
        INFO(crop.field);
        const bool flowered = crop.flowering_date && *crop.flowering_date <= *settings.as_of;
        if (risk.risk.date.basis == DateBasis::heading) {
            CHECK_FALSE(flowered);
            CHECK(*crop.heading_date <= *settings.as_of);
            ++from_heading;
        } else if (risk.risk.date.basis == DateBasis::observed) {
            CHECK((flowered || (crop.flowering_start && *crop.flowering_start <= *settings.as_of)));
            ++observed;
        }
    }
    CHECK(observed > 0);
    CHECK(from_heading > 0);
    CHECK(unknown > 0);
}

TEST_CASE("a field's risk is the same whichever other fields are asked about and whenever") {
    District district;
    make_spring_wheat(district.crop("C01"));
    app::RiskSettings settings;
    settings.include_unconfirmed = true;
    const std::vector<app::FieldRisk> all = district.risks(settings), again = district.risks(settings);
    District alone;
    for (std::size_t r = 0; r < all.size(); ++r) {
        const models::CropRecord& crop = district.data.crops[all[r].crop];
        INFO(crop.field);
        CHECK(again[r].risk.value == all[r].risk.value);
        if (crop.field != "C01" && crop.field != "P03" && crop.field != "T03") continue;
        alone.data.crops = {crop};
        const app::FieldRisk one = alone.risks(settings).front();
        CHECK(one.risk.value == all[r].risk.value);
        CHECK(one.risk.low == all[r].risk.low);
        CHECK(one.risk.high == all[r].risk.high);
        CHECK(one.risk.date.days.chance == all[r].risk.date.days.chance);
        CHECK(one.risk.notes == all[r].risk.notes);
    }
}

TEST_CASE("the contamination model takes the mean and the spread of the logits over the dates by their chances") {
    models::DiseaseRisk risk;
    risk.date.most_likely = day_of(2026, 6, 3);
    risk.date.basis = DateBasis::heading;
    risk.by_date = {{-1, 0.2, 0.25}, {0, 0.4, 0.75}};
    risk.value = 0.25 * 0.2 + 0.75 * 0.4;
    risk.logit = std::log(*risk.value / (1.0 - *risk.value));
    risk.missing_hours = {risk.value, risk.value};
    risk.unknown_agronomy = {risk.value, risk.value};
    const double one = std::log(0.2 / 0.8), other = std::log(0.4 / 0.6);
    const auto taken = app::risk_logit(risk);
    REQUIRE(taken.has_value());
    CHECK(taken->logit == Approx(0.25 * one + 0.75 * other));
    CHECK(taken->sd == Approx(std::sqrt(0.25 * 0.75) * (other - one)));
    // An observed date is the day, and days beside it say nothing more.
    risk.date.basis = DateBasis::observed;
    CHECK(app::risk_logit(risk)->logit == *risk.logit);
    CHECK(app::risk_logit(risk)->sd == Approx(0.0).margin(1e-12).epsilon(0.0));
}

TEST_CASE("the hours around an estimated flowering date count from its most likely day and say so") {
    const District district;
    app::Question question;
    question.season = 2026;
    question.upto = app::Upto::risk;
    const app::SeasonView view = app::look_at_season(district.store, question);
    for (const app::FieldRisk& risk : view.risks) {
        const models::CropRecord& crop = view.data.crops[risk.crop];
        if (crop.field != "P03" && crop.field != "T07" && crop.field != "C01") continue;
        const app::drawing::HoursFigure figure = app::hours_figure_of(district.store, view, risk.crop);
        if (crop.field == "P03") {
            CHECK_THAT(figure.subtitle, Contains("flowering 3 Jun (most likely day, estimated from heading, ±3 days)"));
            CHECK(figure.hours.size() > 400);
        } else if (crop.field == "T07") {
            CHECK(figure.hours.empty());
            CHECK_THAT(figure.note, Contains("neither recorded nor can it be estimated"));
        } else {
            CHECK_THAT(figure.subtitle, Contains("(observed)"));
        }
    }
}
