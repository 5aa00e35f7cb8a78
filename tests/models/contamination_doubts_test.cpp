// What the model takes for granted and what results say of it: each check against outside figures, on seasons that are
// as assumed, and on seasons that are plainly not.
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/counter_random.h"
#include "models/contamination/doubts.h"
#include "models/contamination/leave_one_out.h"
#include "models/contamination/normal.h"
#include "models/contamination/residual_checks.h"
#include "tests/support/season_simulator.h"
#include "tests/support/simulated_input.h"

using namespace models;
using namespace models::contamination;
using Catch::Contains;

namespace doubt_claims {

constexpr int fields_of_made = 30;

/// Deviations of a normal law in an order that has nothing to do with the risks.
double deviation(int field, int season) {
    const int place = (field * 13 + season * 7) % fields_of_made;
    return normal::quantile((place + 0.5) / fields_of_made);
}

/// ln mg/kg of a field of season 0 or 1 by (logit + 1).
using MadeContent = std::function<double(int field, int season, double x)>;

double as_assumed(int field, int season, double x) {
    return -0.7 + 0.9 * x + 0.5 * deviation(field, season);
}

/// Two seasons of 30 fields with a result each, from delivered grain, by a laboratory unless strips are asked for.
ContaminationInput made_input(const MadeContent& content, Method method = Method::laboratory) {
    ContaminationInput input;
    for (int season = 0; season < 2; ++season)
        for (int f = 0; f < fields_of_made; ++f) {
            const double x = -2.0 + 4.0 * ((f * 7 + season * 11) % fields_of_made + 0.5) / fields_of_made;
            input.field_seasons.push_back({"F" + std::to_string(f), "", 2030 + season, x - 1.0});
            input.field_seasons.back().risk_weather_km = 5.0;
            GrainSample sample;
            sample.sample = "S" + std::to_string(input.samples.size());
            sample.index = input.field_seasons.size() - 1;
            sample.increments = 20;
            sample.mass_g = 1000.0;
            sample.chosen_because = ChosenBecause::random;
            input.samples.push_back(sample);
            AssayResult result;
            result.test = "T" + std::to_string(input.results.size());
            result.sample = input.samples.size() - 1;
            result.method = method;
            const double mg_per_kg = std::exp(content(f, season, x));
            result.reading = mg_per_kg < 0.05 ? Reading::below : Reading::value;
            result.don_mg_per_kg = std::max(mg_per_kg, 0.05);
            result.portion_g = 25.0;
            if (method == Method::laboratory) result.standard_uncertainty_mg_per_kg = 0.08 * result.don_mg_per_kg;
            input.results.push_back(result);
        }
    return input;
}

ContaminationPriors known_deviations() {
    ContaminationPriors priors;
    priors.fixed = {true, 0.5, 0.5, 0.3, 0.1, 0.0, 10000.0};
    return priors;
}

ContaminationModel fitted(const ContaminationInput& input, int threads = 1) {
    ContaminationSettings settings;
    settings.threads = threads;
    return fit_contamination(input, known_deviations(), settings);
}

Doubt doubt_of(const ContaminationModel& model, Assumption what) {
    for (const Doubt& doubt : model.learnt().doubts)
        if (doubt.what == what) return doubt;
    FAIL("no such assumption: " + name_of(what));
    return {};
}

std::vector<std::string> doubted(const ContaminationModel& model) {
    std::vector<std::string> names;
    for (const Doubt& doubt : model.learnt().doubts)
        if (doubt.state == DoubtState::doubted) names.push_back(name_of(doubt.what));
    return names;
}

}  // namespace doubt_claims

using namespace doubt_claims;

TEST_CASE("the kurtosis test gives what is printed elsewhere") {
    // The numbers 0 to 19: scipy.stats.kurtosistest(range(20)), example of its documentation: -1.7058104152122062.
    Eigen::VectorXd numbers(20);
    for (int i = 0; i < 20; ++i) numbers[i] = i;
    REQUIRE(kurtosis_test(numbers));
    CHECK_THAT(kurtosis_test(numbers)->z, Catch::WithinAbs(-1.7058104152122062, 1e-12));
    CHECK_THAT(kurtosis_test(numbers)->chance, Catch::WithinAbs(0.08804338332528348, 1e-12));
    // 62 cholesterol values with b2 = 4.58: Z = 2.21 (D'Agostino, Belanger & D'Agostino 1990, Am Stat 44, 316-321).
    CHECK_THAT(kurtosis_z(4.58, 62), Catch::WithinAbs(2.21, 0.006));
    CHECK_FALSE(kurtosis_test(numbers.head(19)));
    CHECK_FALSE(kurtosis_test(Eigen::VectorXd::Constant(30, 2.0)));
}

TEST_CASE("events against their chances, chances together and sums of squares agree with R") {
    // Of equal chances the ratio grows with the number: R 4: 1 - pbinom(7, 20, .2); four standard errors of 9,999
    // draws.
    const std::vector<double> fifth(20, 0.2);
    std::vector<int> eight(20, 0);
    std::fill_n(eight.begin(), 8, 1);
    const SureShare found = share_that_is_sure(fifth, eight);
    CHECK_THAT(found.chance, Catch::WithinAbs(0.0321426630, 0.0071));
    CHECK(found.happened == 8);
    CHECK_THAT(found.foretold, Catch::WithinAbs(4.0, 1e-12));
    CHECK_THAT(found.sd, Catch::WithinAbs(std::sqrt(3.2), 1e-12));
    // One event against a chance of a thousandth, among a hundred likely ones of which as many happened as should.
    std::vector<double> chances_of(101, 0.5);
    std::vector<int> half(101, 0);
    chances_of[100] = 0.001;
    std::fill_n(half.begin(), 50, 1);
    CHECK(share_that_is_sure(chances_of, half).chance > 0.2);
    half[100] = 1;
    CHECK(share_that_is_sure(chances_of, half).chance < 0.02);
    // R 4: p.adjust(c(0.01, 0.04, 0.03, 0.005), "holm"), with a check between them that was not made
    const auto chances = together({0.01, 0.04, std::nullopt, 0.03, 0.005});
    CHECK_FALSE(chances[2]);
    CHECK_THAT(*chances[0], Catch::WithinAbs(0.03, 1e-12));
    CHECK_THAT(*chances[1], Catch::WithinAbs(0.06, 1e-12));
    CHECK_THAT(*chances[3], Catch::WithinAbs(0.06, 1e-12));
    CHECK_THAT(*chances[4], Catch::WithinAbs(0.02, 1e-12));
    // R 4: pchisq(35, 20, lower = FALSE), pchisq(10, 20); Wilson & Hilferty are good to some thousandths
    CHECK_THAT(chance_of_squares(35.0, 20.0), Catch::WithinAbs(0.0201042755, 0.001));
    CHECK_THAT(chance_of_squares(10.0, 20.0), Catch::WithinAbs(1.0 - 0.0318280578, 0.0015));
}

TEST_CASE("a term that is tried comes out as in a regression on it") {
    // R 4: lm(dist ~ speed + I(speed^2), data = cars), stopping distances of cars (Ezekiel 1930): 0.913287614 and
    // 0.0999593021; the root of the diagonal of (X'X)^-1 at the square 0.00434685726554.
    constexpr std::array<int, 50> speed{4,  4,  7,  7,  8,  9,  10, 10, 10, 11, 11, 12, 12, 12, 12, 13, 13,
                                        13, 13, 14, 14, 14, 14, 15, 15, 15, 16, 16, 17, 17, 17, 18, 18, 18,
                                        18, 19, 19, 19, 20, 20, 20, 20, 20, 22, 23, 24, 24, 24, 24, 25};
    constexpr std::array<int, 50> dist{2,  10, 4,  22, 16, 10, 18, 26, 34, 17, 28, 14, 20, 24, 28,  26, 34,
                                       34, 46, 26, 36, 60, 80, 20, 26, 54, 32, 40, 32, 40, 50, 42,  56, 76,
                                       84, 36, 46, 68, 32, 48, 52, 56, 64, 66, 54, 70, 92, 93, 120, 85};
    constexpr double scaled = 20.0, field_sd = 0.3;
    ContaminationInput input;
    for (std::size_t i = 0; i < speed.size(); ++i) {
        input.field_seasons.push_back({"F" + std::to_string(i), "", 2030, speed[i] - 1.0});
        GrainSample sample;
        sample.sample = "S" + std::to_string(i);
        sample.index = i;
        sample.mass_g = 1000.0;
        sample.chosen_because = ChosenBecause::random;
        input.samples.push_back(sample);
        AssayResult result;
        result.test = "T" + std::to_string(i);
        result.sample = i;
        result.method = Method::laboratory;
        result.don_mg_per_kg = std::exp(dist[i] / scaled - 2.0);
        result.standard_uncertainty_mg_per_kg = 1e-3 * result.don_mg_per_kg;
        input.results.push_back(result);
    }
    ContaminationPriors priors;
    priors.flat_coefficients = true;
    priors.fixed = {true, 0.0, field_sd, 1e-4, 0.0, 0.0, 10000.0};
    ContaminationSettings settings;
    settings.threads = 1;
    settings.strip_error.own_sampling_cv = 1e-3;
    Layout layout(input, priors, settings);
    Linearisation at = layout.first_linearisation();
    const ParameterIntegral found = at_fixed_parameters(layout, layout.fixed_parameters(), at);
    Eigen::VectorXd square(50);
    for (Eigen::Index i = 0; i < 50; ++i) square[i] = std::pow(speed[static_cast<std::size_t>(i)], 2);
    const TriedTerm term = try_term(layout, at, found, square);
    CHECK_THAT(term.coefficient, Catch::WithinAbs(0.0999593020698 / scaled, 2e-5));
    CHECK_THAT(term.slope, Catch::WithinAbs(0.9132876142426 / scaled, 2e-4));
    CHECK_THAT(term.sd, Catch::WithinAbs(field_sd * 0.00434685726554, 2e-6));
}

TEST_CASE("results of seasons that are as assumed lie evenly in what the others foretell") {
    // Under the season's own parameters, so that nothing but the propagation and the readings' law is tried. Bounds are
    // spread over their stretch by a number of their own. 30 seasons of 60 results.
    season_simulator::World world;
    world.past_seasons = 2;
    std::array<double, 10> count{};
    double n = 0.0, sum = 0.0, squares = 0.0;
    for (std::uint64_t seed = 0; seed < 30; ++seed) {
        const auto seasons = season_simulator::simulate(world, seed);
        ContaminationSettings settings;
        settings.threads = 1;
        Layout layout(season_simulator::input_of(seasons), season_simulator::truth_of(seasons), settings);
        Linearisation at = layout.first_linearisation();
        const ParameterIntegral found = at_fixed_parameters(layout, layout.fixed_parameters(), at);
        for (const Foretold& one : foretell_each(layout, found).readings) {
            const double place =
                one.low + (one.high - one.low) * counter_uniform(1, seed, static_cast<std::uint64_t>(one.site));
            count[std::min(static_cast<std::size_t>(10.0 * place), std::size_t{9})] += 1.0;
            n += 1.0;
            sum += place;
            squares += place * place;
        }
    }
    REQUIRE(n == 1800.0);
    // Four standard errors, as if the results of a season told nothing of one another's places.
    CHECK_THAT(sum / n, Catch::WithinAbs(0.5, 4.0 * std::sqrt(1.0 / 12.0 / n)));
    CHECK_THAT(squares / n, Catch::WithinAbs(1.0 / 3.0, 4.0 * std::sqrt(4.0 / 45.0 / n)));
    for (const double tenth : count) CHECK_THAT(tenth / n, Catch::WithinAbs(0.1, 4.0 * std::sqrt(0.09 / n)));
}

TEST_CASE("the interval that all others give a sample's reading holds it nine times in ten") {
    season_simulator::World world;
    world.past_seasons = 1;
    int told = 0, inside = 0, over_median = 0;
    for (std::uint64_t seed = 100; seed < 130; ++seed) {
        const auto seasons = season_simulator::simulate(world, seed);
        ContaminationSettings settings;
        settings.threads = 1;
        Layout layout(season_simulator::input_of(seasons), season_simulator::truth_of(seasons), settings);
        Linearisation at = layout.first_linearisation();
        const ParameterIntegral found = at_fixed_parameters(layout, layout.fixed_parameters(), at);
        for (const models::Learnt::LeftOut& one : told_of_newest(layout, foretell_each(layout, found))) {
            if (one.reading != models::Reading::value) continue;
            CHECK(one.low90 < one.median);
            CHECK(one.median < one.high90);
            // The quantiles and the place of the reading come from one law.
            const bool holds = one.read_mg_per_kg >= one.low90 && one.read_mg_per_kg <= one.high90;
            if (std::abs(one.at_most - 0.05) > 0.005 && std::abs(one.at_most - 0.95) > 0.005)
                CHECK(holds == (one.at_most > 0.05 && one.at_most < 0.95));
            ++told;
            inside += holds ? 1 : 0;
            over_median += one.read_mg_per_kg > one.median ? 1 : 0;
        }
    }
    REQUIRE(told > 300);
    // Four standard errors. Values alone are the higher half of a law of which the low end reads as a bound.
    const double n = told;
    CHECK_THAT(inside / n, Catch::WithinAbs(0.9, 0.05 + 4.0 * std::sqrt(0.09 / n)));
    CHECK(over_median / n > 0.5 - 4.0 * std::sqrt(0.25 / n));
}

TEST_CASE("nothing is doubted in a season that is as assumed, and each check speaks in one that is not") {
    const ContaminationModel clean = fitted(made_input(as_assumed));
    CHECK(doubted(clean).empty());
    CHECK(clean.learnt().doubts.size() == 12);
    for (const Doubt& doubt : clean.learnt().doubts) {
        INFO(name_of(doubt.what) << ": " << doubt.sentence);
        CHECK(doubt.sentence.ends_with("."));
        CHECK_FALSE(doubt.assumption.empty());
        CHECK((!doubt.chance || (*doubt.chance >= 0.0 && *doubt.chance <= 1.0)));
    }

    SECTION("no effect of the risk") {
        const auto model =
            fitted(made_input([](int f, int season, double x) { return as_assumed(f, season, x) - 0.9 * x; }));
        const Doubt told = doubt_of(model, Assumption::risk_effect);
        CHECK(told.state == DoubtState::doubted);
        CHECK(*told.chance > 0.2);
        CHECK_THAT(told.sentence, Contains("The results do not follow the disease risk: from the least to the most "
                                           "suspect tenth of the fields of 2031 DON is multiplied by") &&
                                      Contains("as published"));
    }
    SECTION("a bent effect") {
        const auto model =
            fitted(made_input([](int f, int season, double x) { return as_assumed(f, season, x) + 0.5 * x * x; }));
        const Doubt told = doubt_of(model, Assumption::straight_effect);
        CHECK(told.state == DoubtState::doubted);
        CHECK(*told.chance < 0.001);
        CHECK_THAT(told.sentence,
                   Contains("from the least suspect to the middle fields DON is multiplied by 1.4, from the middle to "
                            "the most suspect by 10") &&
                       Contains("less than 0.1 %"));
    }
    SECTION("a season whose risks say nothing") {
        const auto model = fitted(made_input(
            [](int f, int season, double x) { return as_assumed(f, season, x) - (season == 1 ? 0.9 * x : 0.0); }));
        const Doubt told = doubt_of(model, Assumption::season_effect);
        CHECK(told.state == DoubtState::doubted);
        CHECK_THAT(told.sentence,
                   Contains("In 2031 the results follow the disease risk otherwise than in other seasons") &&
                       Contains("Flowering dates or weather may be wrong"));
        CHECK(doubt_of(model, Assumption::straight_effect).state != DoubtState::doubted);
    }
    SECTION("one field far beyond the others") {
        const auto model = fitted(made_input([](int f, int season, double x) {
            return as_assumed(f, season, x) + (f == 4 && season == 1 ? 3.5 : 0.0);
        }));
        const Doubt told = doubt_of(model, Assumption::no_outliers);
        CHECK(told.state == DoubtState::doubted);
        CHECK_THAT(told.sentence, Contains("field F4, season 2031 (") && Contains("far higher"));
    }
    SECTION("fields without DON") {
        const auto model = fitted(made_input(
            [](int f, int season, double x) { return f % 5 == 0 ? std::log(0.001) : 1.0 + as_assumed(f, season, x); }));
        const Doubt told = doubt_of(model, Assumption::low_results);
        CHECK(told.state == DoubtState::doubted);
        CHECK_THAT(told.sentence,
                   Contains("results lie under 0.05 mg/kg where") && Contains("some fields may hold no DON at all"));
    }
    SECTION("a season that scatters more") {
        const auto model = fitted(made_input([](int f, int season, double x) {
            return as_assumed(f, season, x) + (season == 1 ? 0.7 * deviation(f, season) : 0.0);
        }));
        const Doubt told = doubt_of(model, Assumption::season_spread);
        CHECK(told.state == DoubtState::doubted);
        CHECK_THAT(told.sentence, Contains("The results of 2031 lie ") && Contains("its intervals are too narrow"));
    }
}

TEST_CASE("what is published about the risk does not count as results that follow it") {
    ContaminationInput input = made_input(as_assumed);
    CHECK(doubt_of(fitted(input), Assumption::risk_effect).state == DoubtState::nothing_against);
    // Two results of fields of nearly the same risk: the slope is above 0 by what is published, not by them.
    input.samples = {input.samples[1], input.samples[5]};
    input.results = {input.results[1], input.results[5]};
    for (std::size_t i = 0; i < 2; ++i) input.results[i].sample = i;
    const ContaminationModel model = fitted(input);
    const Doubt told = doubt_of(model, Assumption::risk_effect);
    CHECK(*told.chance < 0.05);
    CHECK(told.state == DoubtState::cannot_be_told);
    CHECK_THAT(told.sentence, Contains("Whether the results follow the disease risk is open: from the least to the"));
    CHECK_THAT(model.learnt().notes.back(), Contains("a disease risk that says nothing"));
}

TEST_CASE("a kit lot that nothing is held against is named with what it would do") {
    const ContaminationInput strips = made_input(as_assumed, Method::strip);
    const Doubt alone = doubt_of(fitted(strips), Assumption::kit_lot);
    CHECK(alone.state == DoubtState::cannot_be_told);
    CHECK_FALSE(alone.chance);
    CHECK_THAT(
        alone.sentence,
        Contains("No control and no laboratory result speaks of the strips that name no kit lot (30 of 30 samples "
                 "of 2031): nothing here would show if all its strips read 35 % too much") &&
            Contains("the intervals allow for 10 %"));
    CHECK_THAT(fitted(strips).learnt().notes.back(),
               Contains("These results would not show, or hardly: a kit lot that reads 35 % too much"));

    ContaminationInput named = strips;
    for (AssayResult& result : named.results) result.kit_lot = "K7";
    named.lots_compared = {{"K7", 0.22, 0.0019, 0, 12, "kit lot K7 reads 25 % high (12 controls)"}};
    const Doubt off = doubt_of(fitted(named), Assumption::kit_lot);
    CHECK(off.state == DoubtState::doubted);
    CHECK(*off.chance < 0.05);
    CHECK_THAT(off.sentence,
               Contains("A kit lot of 2031 does not read true: kit lot K7 reads 25 % high (12 controls)."));
    named.lots_compared[0].log_mean = 0.01;
    CHECK(doubt_of(fitted(named), Assumption::kit_lot).state == DoubtState::nothing_against);
    // Two controls say next to nothing.
    named.lots_compared[0] = {"K7", 0.01, 0.0085, 0, 2, "kit lot K7 reads 1 % high (2 controls)"};
    const Doubt few = doubt_of(fitted(named), Assumption::kit_lot);
    CHECK(few.state == DoubtState::cannot_be_told);
    CHECK_THAT(few.sentence, Contains("Few comparisons speak of, and would show from"));
    // Laboratories alone.
    CHECK(doubt_of(fitted(made_input(as_assumed)), Assumption::kit_lot).state == DoubtState::nothing_against);
}

TEST_CASE("where samples, weather and dates come from is told") {
    ContaminationInput input = made_input(as_assumed);
    CHECK(doubt_of(fitted(input), Assumption::risk_weather).state == DoubtState::nothing_against);
    CHECK(doubt_of(fitted(input), Assumption::stage).state == DoubtState::nothing_against);
    CHECK(doubt_of(fitted(input), Assumption::reason).state == DoubtState::cannot_be_told);
    for (std::size_t i = 30; i < 60; ++i) {
        input.field_seasons[i].risk_weather_km = 60.0;
        input.field_seasons[i].date_observed = i >= 40;
        input.samples[i].stage = Stage::standing;
        input.samples[i].chosen_because = ChosenBecause::unknown;
    }
    const ContaminationModel model = fitted(input);
    const Doubt weather = doubt_of(model, Assumption::risk_weather), stage = doubt_of(model, Assumption::stage);
    CHECK(weather.state == DoubtState::doubted);
    CHECK_THAT(
        weather.sentence,
        Contains("The disease risks of 30 of 30 fields rest on weather from 60 km away: rain that fell there need "
                 "not have fallen here"));
    CHECK(stage.state == DoubtState::cannot_be_told);
    CHECK_THAT(stage.sentence, Contains("30 of 30 samples of 2031 are from standing heads, and little ties them to "
                                        "delivered grain: if heads read 50 % more"));
    const Doubt reason = doubt_of(model, Assumption::reason);
    CHECK(reason.state == DoubtState::doubted);
    CHECK(reason.said_elsewhere);
    CHECK_THAT(reason.sentence, Contains("30 of 30 samples of 2031 were taken because something looked bad, was asked "
                                         "for, or for no recorded reason"));
    CHECK_THAT(doubt_of(model, Assumption::risk_dates).sentence,
               Contains("10 of 30 disease risks of 2031 count from a date that nobody saw"));
    CHECK_THAT(doubt_of(model, Assumption::increments).sentence, Contains("No field was sampled more than once"));

    ContaminationInput nobody = input;
    for (FieldSeason& field : nobody.field_seasons) field.risk_weather_km.reset();
    CHECK_THAT(doubt_of(fitted(nobody), Assumption::risk_weather).sentence,
               Contains("Nobody says how far from the fields the weather was measured"));
}

TEST_CASE("delivered grain of the same fields says what standing heads read") {
    ContaminationInput input = made_input(as_assumed);
    for (std::size_t i = 30; i < 60; ++i) {
        GrainSample standing = input.samples[i];
        standing.stage = Stage::standing;
        standing.sample += "h";
        AssayResult result = input.results[i];
        result.test += "h";
        result.sample = input.samples.size();
        result.don_mg_per_kg *= 1.6;
        *result.standard_uncertainty_mg_per_kg *= 1.6;
        input.samples.push_back(standing);
        input.results.push_back(result);
    }
    const Doubt told = doubt_of(fitted(input), Assumption::stage);
    CHECK(told.state == DoubtState::doubted);
    CHECK_THAT(told.sentence,
               Contains("% more than delivered grain; 30 of 60 samples of 2031 are from standing heads"));
}

TEST_CASE("at most three sentences stand under a table, the surest doubts first") {
    CHECK(warnings_of({}).empty());
    const auto doubt = [](DoubtState state, double chance, const char* sentence, const char* in_short = "") {
        return Doubt{Assumption::no_outliers, "", state, chance, sentence, in_short};
    };
    std::vector<Doubt> list{doubt(DoubtState::doubted, 0.03, "Third."),
                            doubt(DoubtState::doubted, 0.001, "First."),
                            doubt(DoubtState::nothing_against, 0.5, "Nothing."),
                            doubt(DoubtState::cannot_be_told, 0.5, "A lot.", "a lot"),
                            doubt(DoubtState::cannot_be_told, 0.5, "In the list alone."),
                            doubt(DoubtState::cannot_be_told, 0.5, "A walk.", "a walk"),
                            doubt(DoubtState::doubted, 0.02, "Second.")};
    const std::vector<std::string> lines = warnings_of(list);
    REQUIRE(lines.size() == 3);
    CHECK(lines[0] == "First.");
    CHECK(lines[1] == "Second. 1 more assumption is doubted, too (map --assumptions).");
    CHECK(lines[2] == "These results would not show, or hardly: a lot; a walk.");
    list[1].said_elsewhere = true;
    CHECK(warnings_of(list)[0] == "Second.");
    CHECK(in_words(DoubtState::doubted) == "doubted");
    CHECK(in_words(DoubtState::nothing_against) == "nothing against it");
    CHECK(in_words(DoubtState::cannot_be_told) == "cannot be told from these results");
}

TEST_CASE("doubts are the same with any number of threads, and few results leave them open") {
    const season_simulator::World world;
    const ContaminationInput input = season_simulator::input_of(season_simulator::simulate(world, 3));
    const auto sentences = [&](int threads) {
        ContaminationSettings settings;
        settings.threads = threads;
        settings.points = 64;
        settings.enough_effective = 8.0;
        std::string all;
        const ContaminationModel model = fit_contamination(input, {}, settings);
        for (const Doubt& doubt : model.learnt().doubts) {
            all += doubt.sentence + in_words(doubt.state);
            all += doubt.chance ? std::to_string(*doubt.chance) : "none";
        }
        return all;
    };
    const std::string alone = sentences(1);
    CHECK_FALSE(alone.empty());
    CHECK(alone == sentences(3));

    ContaminationInput few = made_input(as_assumed);
    few.results.resize(2);
    const ContaminationModel model = fitted(few);
    for (const Assumption what : {Assumption::straight_effect, Assumption::season_effect, Assumption::no_outliers,
                                  Assumption::low_results, Assumption::season_spread}) {
        INFO(name_of(what));
        CHECK(doubt_of(model, what).state == DoubtState::cannot_be_told);
    }
    ContaminationInput none = made_input(as_assumed);
    none.results.clear();
    CHECK(fitted(none).learnt().doubts.empty());
}
