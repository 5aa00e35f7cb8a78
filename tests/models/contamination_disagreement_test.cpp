// What happens when samples of one field contradict one another.
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/disagreement.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

struct Strip {
    double don_mg_per_kg;
    Reading reading = Reading::value;
};

/// Some fields of one season, each with composites that each have one strip.
ContaminationInput fields_with(const std::vector<std::vector<Strip>>& strips) {
    ContaminationInput input;
    for (std::size_t f = 0; f < strips.size(); ++f) {
        input.field_seasons.push_back({"F" + std::to_string(f), "", 2026, -1.0 + 0.2 * static_cast<double>(f)});
        for (const Strip& strip : strips[f]) {
            GrainSample sample;
            sample.sample = "S" + std::to_string(input.samples.size());
            sample.index = f;
            sample.increments = 20;
            sample.mass_g = 1000.0;
            AssayResult result;
            result.test = "T" + std::to_string(input.results.size());
            result.sample = input.samples.size();
            result.reading = strip.reading;
            result.don_mg_per_kg = strip.don_mg_per_kg;
            result.portion_g = 25.0;
            input.samples.push_back(sample);
            input.results.push_back(result);
        }
    }
    return input;
}

Content first_field(const std::vector<std::vector<Strip>>& strips) {
    return *fit_contamination(fields_with(strips)).field_season(0);
}

std::string all_notes(const ContaminationModel& model) {
    std::string text;
    for (const std::string& note : model.learnt().notes) text += note + "\n";
    return text;
}

contamination::SiteTable table_of(const Strip& strip, const ErrorModel& error) {
    contamination::SiteSample sample;
    sample.sampling_error = &error;
    sample.portions = {{std::nullopt, {{strip.reading, strip.don_mg_per_kg, 1, &error, -1.0}}}};
    return contamination::SiteTable(sample);
}

}  // namespace

TEST_CASE("the more the second strip of a field reads the more the field is said to hold") {
    const std::vector<Strip> rising = {{0.2, Reading::below}, {0.3}, {0.6}, {1.2}, {3.0}, {8.0}, {30.0}};
    for (const Strip& first : {Strip{0.2, Reading::below}, Strip{0.5}, Strip{3.0}, Strip{6.0, Reading::above}}) {
        double before = 0.0;
        for (const Strip& second : rising) {
            INFO(first.don_mg_per_kg << " and " << second.don_mg_per_kg);
            const Content content = first_field({{first, second}, {{0.7}}, {{0.5, Reading::below}}});
            CHECK(content.median > before);
            before = content.median;
        }
    }
}

TEST_CASE("samples that contradict one another widen the field's interval and are named") {
    const std::vector<std::vector<Strip>> others = {{{0.7}}, {{0.5, Reading::below}}};
    const auto with = [&](std::vector<Strip> own) {
        return std::vector<std::vector<Strip>>{std::move(own), others[0], others[1]};
    };
    const ContaminationModel model = fit_contamination(fields_with(with({{30.0}, {0.2}})));
    const Content torn = *model.field_season(0), sure = first_field(with({{3.0}, {2.5}}));
    CHECK(torn.median > 0.2);
    CHECK(torn.median < 30.0);
    CHECK(std::log(torn.high90 / torn.low90) > 2.0 * std::log(sure.high90 / sure.low90));
    CHECK_THAT(all_notes(model), Contains("field F0, season 2026 contradict one another") &&
                                     Contains("T0 30 mg/kg, T1 0.2 mg/kg") && Contains("test again"));
    // Two against one: nearer to the two.
    const Content outvoted = first_field(with({{3.0}, {3.0}, {0.2, Reading::below}}));
    CHECK(outvoted.median > first_field(with({{3.0}, {0.2, Reading::below}})).median);
    CHECK(outvoted.median > 0.7);  // the season's usual
    // What contradicts itself can be explained, and ends at the number that it explains.
    const Explanation said = model.explain(0);
    CHECK(said.steps.back().median == Approx(torn.median).epsilon(1e-8));
    for (const Explanation::Step& step : said.steps) CHECK(std::isfinite(step.high90));
}

TEST_CASE("samples that agree within their errors are left alone") {
    const ErrorModel error;
    const auto one = table_of({1.0}, error), two = table_of({1.5}, error),
               bound = table_of({0.8, Reading::below}, error);
    CHECK(contamination::variance_of_disagreement({{{&one}, 0.02}, {{&two}, 0.02}}) == 0.0);
    CHECK(contamination::variance_of_disagreement({{{&one}, 0.02}, {{&bound}, 0.02}}) == 0.0);
    CHECK(contamination::variance_of_disagreement({{{&one}, 0.02}}) == 0.0);
    CHECK_THAT(all_notes(fit_contamination(fields_with({{{1.0}, {1.5}}, {{0.7}}}))), !Contains("contradict"));
}

TEST_CASE("the variance added is that which makes Birge's ratio the quantile of chi square") {
    // With a constant error two readings d apart, of variance t each, have G = d^2 / 2t; chi-square's 99 % quantile on
    // one degree of freedom is 6.6349 (any table), to half a percent by Wilson & Hilferty.
    ErrorModel constant;
    constant.own_sampling_cv = 0.1;
    constant.own_preparation_cv = 0.0;
    constant.own_analysis_cv = 0.1;
    const auto low = table_of({0.5}, constant), high = table_of({5.0}, constant);
    const double q = std::log1p(0.02), composite = 0.03, d = std::log(10.0);
    const double added = contamination::variance_of_disagreement({{{&low}, composite}, {{&high}, composite}});
    CHECK(added == Approx(d * d / (2.0 * 6.6349) - composite - q).epsilon(0.02));
}

TEST_CASE("whatever two strips of a field read there is an answer") {
    std::mt19937 generator(5);
    const auto uniform = [&] { return (static_cast<double>(generator()) + 0.5) / 4294967296.0; };
    const auto normal = [&] { return std::sqrt(-2.0 * std::log(uniform())) * std::cos(6.283185307179586 * uniform()); };
    for (int trial = 0; trial < 30; ++trial) {
        std::vector<std::vector<Strip>> strips(static_cast<std::size_t>(2 + trial % 7));
        for (auto& field : strips) {
            const double content = 0.7 * std::exp(normal());
            for (int k = 0; k < 2; ++k) {
                const double read = content * std::exp((trial % 3 == 0 ? 1.5 : 0.4) * normal());
                field.push_back(read < 0.2   ? Strip{0.2, Reading::below}
                                : read > 6.0 ? Strip{6.0, Reading::above}
                                             : Strip{read});
            }
        }
        const ContaminationModel model = fit_contamination(fields_with(strips));
        INFO(trial);
        CHECK(model.learnt().unsettled == 0);
        for (std::size_t f = 0; f < strips.size(); ++f) {
            const Content content = *model.field_season(f);
            CHECK(content.low90 > 1e-3);
            CHECK(content.high90 < 1e3);
        }
    }
}
