// What the contamination model promises to its user.
#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/error.h"
#include "tests/support/season_simulator.h"
#include "tests/support/simulated_input.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

struct Maker {
    ContaminationInput input;
    std::size_t field(double risk_logit, int season = 2026) {
        input.field_seasons.push_back({"F" + std::to_string(input.field_seasons.size()), "", season, risk_logit});
        return input.field_seasons.size() - 1;
    }
    GrainSample& sample(std::size_t of, SampledGrain from = SampledGrain::field_season) {
        GrainSample s;
        s.sample = "S" + std::to_string(input.samples.size());
        s.from = from;
        s.index = of;
        s.increments = 10;
        s.mass_g = 500.0;
        input.samples.push_back(s);
        return input.samples.back();
    }
    /// Of the last sample.
    AssayResult& result(double don_mg_per_kg, Reading reading = Reading::value) {
        AssayResult r;
        r.test = "T" + std::to_string(input.results.size());
        r.sample = input.samples.size() - 1;
        r.reading = reading;
        r.don_mg_per_kg = don_mg_per_kg;
        r.portion_g = 25.0;
        input.results.push_back(r);
        return input.results.back();
    }
};

Maker from_simulation(const season_simulator::SimulatedSeasons& s, bool places = false) {
    Maker made;
    season_simulator::WrittenDown written;
    written.places = places;
    made.input = season_simulator::input_of(s, written);
    return made;
}

double log_sd(const Content& c) {
    return std::log(c.high90 / c.low90) / (2.0 * 1.6448536269514722);
}

ContaminationPriors fixed_parts(double season, double field, double within, double lot = 0.0) {
    ContaminationPriors priors;
    priors.fixed = {true, season, field, within, lot};
    return priors;
}

}  // namespace

TEST_CASE("without any result there is a ranking by risk and no content") {
    Maker m;
    m.field(-1.0);
    m.field(0.5);
    m.field(-2.0);
    m.sample(0);
    m.result(1.0, Reading::invalid);
    const ContaminationModel model = fit_contamination(m.input);
    CHECK(model.ranking_only());
    CHECK(model.ranking(2026) == std::vector<std::size_t>{1, 0, 2});
    CHECK_FALSE(model.field_season(1).has_value());
    CHECK_FALSE(model.exceedance(1, 1.0).has_value());
    CHECK_THROWS_WITH(model.draws(10, 1), Contains("no DON result"));
    REQUIRE_FALSE(model.learnt().notes.empty());
    CHECK_THAT(model.learnt().notes.back(), Contains("ranked by their disease risk"));
}

TEST_CASE("one result moves its own field most and the other fields of the season with it") {
    Maker m;
    const std::size_t tested = m.field(-1.0), other = m.field(-1.0), elsewhere = m.field(-1.0, 2025);
    m.sample(tested);
    m.result(3.0);
    const ContaminationModel model = fit_contamination(m.input);
    const Content own = *model.field_season(tested), same_season = *model.field_season(other),
                  other_season = *model.field_season(elsewhere);
    CHECK(own.median > same_season.median);
    CHECK(same_season.median > other_season.median);
    CHECK(other_season.median > 0.5);  // the prior's 0.5 mg/kg: the level itself was lifted
    CHECK(log_sd(own) < log_sd(same_season));
    CHECK(log_sd(same_season) < log_sd(other_season));
    CHECK(own.tests == 1);
    CHECK(same_season.tests == 0);
    CHECK(own.low90 < own.low50);
    CHECK(own.median < own.mean);
}

TEST_CASE("the more results the narrower the intervals and five hundred are no burden") {
    double width_before = 1e9;
    ContaminationSettings settings;
    settings.points = 128;
    for (const int tests : {1, 5, 60, 500}) {
        season_simulator::World world;
        world.past_seasons = 0;
        world.tests = tests;
        world.fields = 100;
        world.season_sd_low = world.season_sd_high = 0.5;
        const season_simulator::SimulatedSeasons truth = season_simulator::simulate(world, 3);
        const ContaminationModel model = fit_contamination(from_simulation(truth).input, {}, settings);
        double width = 0.0;
        int held = 0;
        for (std::size_t f = 0; f < 100; ++f) {
            const Content c = *model.field_season(f);
            // From 0.05 mg/kg on: a low end may be no DON at all.
            width += std::log(c.high90 / std::max(c.low90, 0.05)) / 100.0;
            held += truth.content_mg_per_kg[0][f] >= c.low90 && truth.content_mg_per_kg[0][f] <= c.high90 ? 1 : 0;
        }
        CHECK(width < width_before);
        width_before = width;
        CHECK(model.learnt().effective_points >= 30.0);
        CHECK(model.learnt().unsettled == 0);
        // With five tests a field the misses are nearly independent: 100 fields, 90 % +- 3 x 3 %.
        if (tests == 500) CHECK(held >= 81);
    }
}

TEST_CASE(
    "readings of one portion never know more than the portion and those of one sample never more than the sample") {
    const double q = 1.0;  // content at which all values lie
    const LogVariance error = log_variance(q, {500.0, 25.0, 1});
    const ContaminationPriors priors = fixed_parts(2.0, 2.0, 1e-3);  // wide, and a composite without variation
    const auto sd_of = [&](int portions, int readings, bool one_portion) {
        Maker m;
        m.sample(m.field(-1.0));
        for (int i = 0; i < portions * readings; ++i) {
            AssayResult& result = m.result(i % 2 == 0 ? 0.9 : 1.1);
            if (one_portion) result.portion = "P" + std::to_string(i / readings);
        }
        return log_sd(*fit_contamination(m.input, priors).field_season(0));
    };
    const double one = sd_of(1, 1, true), many_readings = sd_of(1, 60, true), many_portions = sd_of(60, 1, false);
    CHECK(one > many_readings);
    CHECK(many_readings > many_portions);
    // 60 readings leave the shared part and a sixtieth of the rest. The error is larger at the lower contents that the
    // reading leaves possible, so the spread is above that of the error at 1 mg/kg.
    const double portion_error = std::sqrt(error.sampling + error.preparation + error.analysis / 60.0);
    const double sample_error = std::sqrt(error.sampling + (error.preparation + error.analysis) / 60.0);
    CHECK(many_readings > portion_error);
    CHECK(many_readings < 1.4 * portion_error);
    CHECK(many_portions > 0.98 * sample_error);
    CHECK(many_portions < 1.2 * sample_error);
}

TEST_CASE("a control that reads high takes the kit lot's results down") {
    const auto median_with_control = [](double control_reads) {
        Maker m;
        m.sample(m.field(-1.0));
        m.result(1.5).kit_lot = "L1";
        for (int i = 0; i < 6; ++i) {
            GrainSample& control = m.sample(0, SampledGrain::control);
            control.control_mg_per_kg = 2.0;
            control.control_standard_uncertainty_mg_per_kg = 0.05;
            m.result(control_reads).kit_lot = "L1";
        }
        return fit_contamination(m.input, fixed_parts(0.5, 0.5, 0.4, 0.2)).field_season(0)->median;
    };
    const double high = median_with_control(2.6), right = median_with_control(2.0);
    CHECK(high < right);
    CHECK(high > right * 2.0 / 2.6);  // the prior on lots and the assay error keep part of it
}

TEST_CASE("a laboratory result beside a strip of the same sample counts for more and teaches the lot") {
    Maker m;
    const std::size_t paired = m.field(-1.0), strip_only = m.field(-1.0);
    m.sample(paired);
    m.result(2.0).kit_lot = "L1";
    AssayResult& laboratory = m.result(1.0);
    laboratory.method = Method::laboratory;
    laboratory.standard_uncertainty_mg_per_kg = 0.03;
    m.sample(strip_only);
    m.result(2.0).kit_lot = "L1";
    const ContaminationModel model = fit_contamination(m.input, fixed_parts(0.5, 0.5, 0.4, 0.3));
    CHECK(model.field_season(paired)->median < 1.3);
    Maker alone = m;
    alone.input.results.erase(alone.input.results.begin() + 1);
    const ContaminationModel without = fit_contamination(alone.input, fixed_parts(0.5, 0.5, 0.4, 0.3));
    CHECK(model.field_season(strip_only)->median < without.field_season(strip_only)->median);
    CHECK(model.field_season(paired)->tests == 2);
}

TEST_CASE("the offset of standing heads is learnt where a field was tested before and after the combine") {
    const auto standing_only = [](bool with_pairs) {
        Maker m;
        for (int f = 0; f < 8; ++f) {
            const std::size_t field = m.field(-1.0);
            m.sample(field).stage = Stage::standing;
            m.result(2.0);
            if (!with_pairs || f == 7) continue;
            m.sample(field);
            m.result(1.2);
        }
        return *fit_contamination(m.input, fixed_parts(0.5, 0.4, 0.3)).field_season(7);
    };
    const Content unpaired = standing_only(false), paired = standing_only(true);
    CHECK(paired.median < unpaired.median);
}

TEST_CASE("a field without a disease risk is wider than its neighbours and says so") {
    Maker m;
    std::vector<std::size_t> fields;
    for (const double l : {-2.5, -1.5, -1.0, -0.5, 0.5}) fields.push_back(m.field(l));
    const std::size_t unknown = m.field(0.0), middle = m.field(-1.0);
    m.input.field_seasons[unknown].risk_logit.reset();
    for (const std::size_t f : fields) {
        m.sample(f);
        m.result(std::exp(0.9 * (*m.input.field_seasons[f].risk_logit + 1.0)));
    }
    const ContaminationModel model = fit_contamination(m.input);
    CHECK(model.field_season(unknown)->risk_unknown);
    CHECK_FALSE(model.field_season(middle)->risk_unknown);
    CHECK(log_sd(*model.field_season(unknown)) > 1.2 * log_sd(*model.field_season(middle)));
    CHECK(std::any_of(model.learnt().notes.begin(), model.learnt().notes.end(),
                      [](const std::string& note) { return note.find("1 of 7 field-seasons") == 0; }));
}

TEST_CASE("fields tested because they looked bad say less about the fields that did not") {
    const auto untested = [](ChosenBecause why) {
        Maker m;
        for (int f = 0; f < 6; ++f) {
            m.sample(m.field(-1.0)).chosen_because = why;
            m.result(3.0);
        }
        m.field(-1.0);
        return fit_contamination(m.input);
    };
    const ContaminationModel planned = untested(ChosenBecause::risk), looked_bad = untested(ChosenBecause::looked_bad);
    CHECK(looked_bad.field_season(6)->median < planned.field_season(6)->median);
    CHECK(log_sd(*looked_bad.field_season(6)) > log_sd(*planned.field_season(6)));
    CHECK(looked_bad.field_season(0)->chosen_outside);
    CHECK_FALSE(looked_bad.field_season(6)->chosen_outside);
    CHECK_FALSE(planned.field_season(0)->chosen_outside);
}

TEST_CASE("an explanation ends at the number that it explains") {
    season_simulator::World world;
    world.tests = 12;
    Maker m = from_simulation(season_simulator::simulate(world, 5));
    const std::size_t field = m.input.samples.back().index;
    const ContaminationModel model = fit_contamination(m.input);
    const Explanation said = model.explain(field);
    const Content content = *model.field_season(field);
    REQUIRE(said.steps.size() == 2 + static_cast<std::size_t>(content.tests));
    CHECK_THAT(said.steps[0].what, Contains("disease risk"));
    CHECK_THAT(said.steps[2].what, Contains("test T") && Contains("mg/kg"));
    double product = said.steps[0].median;
    for (const Explanation::Step& step : said.steps) product *= step.factor;
    CHECK(product == Approx(content.median).epsilon(1e-8));
    CHECK(said.steps.back().low90 == Approx(content.low90).epsilon(1e-8));
    // Without its own tests the field is less well known.
    CHECK(said.steps[1].high90 - said.steps[1].low90 > content.high90 - content.low90);
}

TEST_CASE("a published ratio moves an untested field by just that and widens it by its own error") {
    Maker m;
    const std::size_t tested = m.field(-1.0), plain = m.field(-0.5), sprayed = m.field(-0.5);
    m.input.ratios.push_back({"sprayed", std::log(0.66), 0.3});
    m.input.field_seasons[sprayed].ratios = {0};
    m.sample(tested);
    m.result(1.4);
    const ContaminationModel model = fit_contamination(m.input, fixed_parts(0.4, 0.5, 0.4));
    const Content without = *model.field_season(plain), with = *model.field_season(sprayed);
    CHECK(with.median == Approx(0.66 * without.median).epsilon(1e-9));
    // Independent on the log scale, so variances add.
    CHECK(std::pow(log_sd(with), 2) == Approx(std::pow(log_sd(without), 2) + 0.09).epsilon(1e-9));
    REQUIRE(model.learnt().ratios.size() == 1);
    CHECK(model.learnt().ratios[0].factor == Approx(0.66).epsilon(1e-9));  // no result speaks of it
    CHECK(model.learnt().ratios[0].fields == 1);
    const Explanation said = model.explain(sprayed);
    REQUIRE(said.steps.size() == 3);
    CHECK(said.steps[1].what == "sprayed");
    CHECK(said.steps[1].factor == Approx(0.66).epsilon(1e-9));
    CHECK(said.steps[0].median == Approx(model.explain(plain).steps[0].median).epsilon(1e-9));
    CHECK(said.steps.back().median == Approx(with.median).epsilon(1e-9));
}

TEST_CASE("what results say of a published ratio is told of the other fields that it holds for") {
    Maker m;
    const std::size_t plain = m.field(-1.0), sprayed = m.field(-1.0), other = m.field(-1.0),
                      other_plain = m.field(-1.0);
    m.input.ratios.push_back({"sprayed", std::log(0.66), 0.3});
    m.input.field_seasons[sprayed].ratios = m.input.field_seasons[other].ratios = {0};
    const auto read = [&](double in_sprayed) {
        Maker made = m;
        made.sample(plain);
        made.result(1.0);
        made.sample(sprayed);
        made.result(in_sprayed);
        return fit_contamination(made.input);
    };
    const ContaminationModel helped = read(0.3), useless = read(2.0);
    CHECK(helped.learnt().ratios[0].factor < 0.66);
    CHECK(useless.learnt().ratios[0].factor > 0.66);
    const auto against_plain = [&](const ContaminationModel& model) {
        return model.field_season(other)->median / model.field_season(other_plain)->median;
    };
    CHECK(against_plain(helped) < 0.66);
    CHECK(against_plain(useless) > 0.66);
    CHECK(useless.learnt().ratios[0].high90 / useless.learnt().ratios[0].low90 < std::exp(2.0 * 1.645 * 0.3));
}

TEST_CASE("a published ratio that is none is refused") {
    Maker m;
    const std::size_t field = m.field(-1.0);
    m.input.field_seasons[field].ratios = {0};
    CHECK_THROWS_WITH(fit_contamination(m.input), Contains("field F0, season 2026") &&
                                                      Contains("a published ratio of the field is not in the list"));
    m.input.ratios.push_back({"sprayed", std::log(0.66), 0.3});
    m.input.field_seasons[field].ratios = {0, 0};
    CHECK_THROWS_WITH(fit_contamination(m.input), Contains("counts twice"));
    m.input.field_seasons[field].ratios = {0};
    m.input.ratios[0].log_ratio = std::log(0.0);
    CHECK_THROWS_WITH(fit_contamination(m.input), Contains("sprayed") && Contains("is no number"));
}

TEST_CASE("draws have the quantiles and exceedances that the model prints") {
    season_simulator::World world;
    world.tests = 15;
    Maker m = from_simulation(season_simulator::simulate(world, 16));
    m.input.loads.push_back({"one field", {{130, 1.0}}});
    m.input.loads.push_back({"three fields", {{121, 0.5}, {140, 0.3}, {150, 0.2}}});
    m.input.loads.push_back({"half bought", {{125, 0.5}}});
    const ContaminationModel model = fit_contamination(m.input);
    const int n = 20000;
    Eigen::MatrixXd draws = model.draws(n, 7);
    REQUIRE(draws.cols() == 183);
    for (const Eigen::Index column : {125, 170, 180, 181, 182}) {
        const auto index = static_cast<std::size_t>(column);
        const Content c = index < 180 ? *model.field_season(index) : *model.load(index - 180);
        const double over = index < 180 ? *model.exceedance(index, 1.0) : *model.load_exceedance(index - 180, 1.0);
        // Shares of draws: 4 standard errors sqrt(p (1 - p) / n) are 0.014 at most; mixes besides are taken as
        // lognormal, which costs up to 0.02 here where half of a load is of unknown origin (and more, up to 0.07 at the
        // median, where the known half is far cleaner than bought grain is believed to be).
        const double tolerance = index <= 180 ? 0.015 : 0.03;
        const auto share_below = [&](double x) { return (draws.col(column).array() < x).cast<double>().mean(); };
        CHECK(share_below(c.low90) == Approx(0.05).margin(tolerance).epsilon(0.0));
        CHECK(share_below(c.median) == Approx(0.5).margin(tolerance).epsilon(0.0));
        CHECK(share_below(c.high90) == Approx(0.95).margin(tolerance).epsilon(0.0));
        CHECK(1.0 - share_below(1.0) == Approx(over).margin(tolerance).epsilon(0.0));
    }
    // Draw i depends on the seed and i alone.
    CHECK(model.draws(50, 7) == draws.topRows(50));
    CHECK(model.draws(50, 8) != draws.topRows(50));
}

TEST_CASE("the number of threads changes no digit") {
    season_simulator::World world;
    Maker m = from_simulation(season_simulator::simulate(world, 2));
    m.input.loads.push_back({"mix", {{120, 0.6}, {121, 0.4}}});
    m.sample(0, SampledGrain::load);
    m.result(1.1);
    ContaminationSettings settings;
    settings.points = 64;
    settings.threads = 1;
    const ContaminationModel one = fit_contamination(m.input, {}, settings);
    settings.threads = 3;
    const ContaminationModel three = fit_contamination(m.input, {}, settings);
    CHECK(one.learnt().log_evidence == three.learnt().log_evidence);
    CHECK(one.field_season(121)->high90 == three.field_season(121)->high90);
    CHECK(one.load(0)->median == three.load(0)->median);
    CHECK(one.draws(20, 1) == three.draws(20, 1));
}

TEST_CASE("what a new test may read is a probability law with the field's content as its mean") {
    Maker m;
    m.sample(m.field(-1.0));
    m.result(1.0);
    const ContaminationModel model = fit_contamination(m.input);
    TestDesign design;
    design.low_mg_per_kg = 0.2;
    design.high_mg_per_kg = 6.0;
    const ReadingLaw law = model.reading_law(design);
    const Eigen::ArrayXd at = Eigen::ArrayXd::Constant(1, 0.9);
    const auto probability = [&](Reading reading, double x) { return std::exp(law.log_density({reading, x}, at)[0]); };
    double inside = 0.0, mean = 0.0;
    const int steps = 60000;
    for (int i = 0; i < steps; ++i) {
        const double y = (i + 0.5) * 60.0 / steps;
        const double mass = probability(Reading::value, y) * 60.0 / steps;
        mean += y * mass;
        if (y > 0.2 && y < 6.0) inside += mass;
    }
    CHECK(inside + probability(Reading::below, 0.2) + probability(Reading::above, 6.0) ==
          Approx(1.0).margin(1e-4).epsilon(0.0));
    // Kit lots are centred on the log scale, so the mean is a little above: exp(lot variance / 2).
    CHECK(mean == Approx(0.9).epsilon(0.02));
    CHECK(law.sample(0.9, 0.5, 0.5).reading == Reading::value);
    CHECK(law.sample(0.9, 0.5, 1e-6).reading == Reading::below);
    CHECK(law.sample(0.9, 0.5, 1.0 - 1e-12).reading == Reading::above);
    int low = 0;
    for (int i = 0; i < 200; ++i)
        for (int j = 0; j < 200; ++j)
            low += law.sample(0.4, (i + 0.5) / 200, (j + 0.5) / 200).reading == Reading::below ? 1 : 0;
    const Eigen::ArrayXd at_low = Eigen::ArrayXd::Constant(1, 0.4);
    CHECK(low / 40000.0 ==
          Approx(std::exp(law.log_density({Reading::below, 0.2}, at_low)[0])).margin(2e-3).epsilon(0.0));
}

TEST_CASE("a load's own result counts for the load and for its field") {
    Maker m;
    const std::size_t field = m.field(-1.0), other = m.field(-1.0);
    m.input.loads.push_back({"L1", {{field, 1.0}}});
    m.input.loads.push_back({"L2", {{field, 1.0}}});
    m.sample(0, SampledGrain::load);
    m.result(4.0);
    const ContaminationModel model = fit_contamination(m.input);
    CHECK(model.load(0)->median > model.load(1)->median);
    CHECK(model.load(1)->median > model.field_season(other)->median);
    CHECK(log_sd(*model.load(0)) < log_sd(*model.load(1)));
    CHECK(model.load(0)->tests == 1);
    CHECK(model.field_season(field)->tests == 0);
}

TEST_CASE("bought grain is known by its own results alone") {
    Maker m;
    m.sample(m.field(-1.0));
    m.result(0.4);
    m.input.loads.push_back({"untested", {}});
    m.input.loads.push_back({"tested", {}});
    m.sample(1, SampledGrain::load);
    m.result(2.0);
    const ContaminationModel model = fit_contamination(m.input);
    CHECK(model.load(0)->median == Approx(0.5).epsilon(0.05));  // the documented prior, less half the load's variance
    CHECK(log_sd(*model.load(0)) > 1.4);
    CHECK(model.load(1)->median == Approx(2.0).epsilon(0.25));
    CHECK(log_sd(*model.load(1)) < 0.4);
}

TEST_CASE("priors are said in words with their source") {
    const std::vector<std::string> said = describe(ContaminationPriors{});
    CHECK(std::all_of(said.begin(), said.end(), [](const std::string& s) { return s.back() == '.'; }));
    CHECK_THAT(said[1], Contains("0.9 +- 0.5") && Contains("0.766"));
    ContaminationPriors wide;
    wide.season_sd_scale = 1.6;
    CHECK_THAT(describe(wide)[2], Contains("1.6"));
}

TEST_CASE("input that points nowhere is refused by name") {
    Maker m;
    m.sample(m.field(-1.0));
    m.result(1.0);
    const auto refusal = [&](const auto& spoil) {
        ContaminationInput input = m.input;
        spoil(input);
        try {
            fit_contamination(input);
        } catch (const Error& error) {
            return std::string(error.what());
        }
        return std::string("accepted");
    };
    CHECK_THAT(refusal([](auto& i) { i.results[0].sample = 7; }), Contains("test T0") && Contains("no known sample"));
    CHECK_THAT(refusal([](auto& i) { i.samples[0].index = 7; }), Contains("sample S0") && Contains("field-season"));
    CHECK_THAT(refusal([](auto& i) { i.results[0].don_mg_per_kg = 0.0; }), Contains("below the lowest content"));
    CHECK_THAT(refusal([](auto& i) { i.results[0].portion_g = -1.0; }), Contains("portion"));
    CHECK_THAT(refusal([](auto& i) { i.samples[0].increments = 0; }), Contains("increment"));
    CHECK_THAT(refusal([](auto& i) { i.field_seasons.push_back(i.field_seasons[0]); }), Contains("stands twice"));
    CHECK_THAT(refusal([](auto& i) { i.field_seasons[0].risk_logit = INFINITY; }), Contains("finite logit"));
    CHECK_THAT(refusal([](auto& i) { i.loads.push_back({"L", {{0, 0.7}, {0, 0.7}}}); }), Contains("add up to 1.4"));
}

TEST_CASE("intervals hold the truth of twelve simulated seasons") {
    // 12 seasons of 60 fields, 12 tests each, deviations and slope drawn anew; in two of them near fields are alike as
    // well, and the model is told where fields lie. Fields of one season share its level and slope: taking 15
    // independent ones a season, the standard error of the coverage is sqrt(.9 x .1 / 180) = 2.2 %; three of them
    // either way.
    int held = 0, held50 = 0, fields = 0;
    ContaminationSettings settings;
    for (std::uint64_t seed = 0; seed < 12; ++seed) {
        season_simulator::World world;
        world.tests = 12;
        world.placement =
            seed % 2 == 0 ? season_simulator::Placement::random : season_simulator::Placement::worst_first;
        const bool regional = seed % 5 == 4;
        world.region_sd_high = regional ? 0.8 : 0.0;
        settings.points = regional ? 64 : 112;
        const season_simulator::SimulatedSeasons truth = season_simulator::simulate(world, 1000 + seed);
        const ContaminationModel model = fit_contamination(from_simulation(truth, regional).input, {}, settings);
        CHECK(model.learnt().region.has_value() == regional);
        for (std::size_t f = 0; f < 60; ++f, ++fields) {
            const Content c = *model.field_season(120 + f);
            const double x = truth.content_mg_per_kg.back()[f];
            held += x >= c.low90 && x <= c.high90 ? 1 : 0;
            held50 += x >= c.low50 && x <= c.high50 ? 1 : 0;
        }
    }
    CHECK(held >= 0.834 * fields);
    CHECK(held <= 0.966 * fields);
    CHECK(held50 >= 0.38 * fields);  // 3 sqrt(.25 / 180) = 11 %
    CHECK(held50 <= 0.62 * fields);
}
