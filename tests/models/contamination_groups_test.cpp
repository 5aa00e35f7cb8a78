// A season with more tested fields than are joined exactly is cut into groups of near ones; the fit says what that
// costs.
#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "models/contamination/contamination.h"
#include "models/contamination/layout.h"
#include "models/contamination/near_groups.h"

using namespace models;
using Catch::Matchers::WithinAbs;

namespace {

/// Between 0 and 1, the same on every machine.
double even(int i, int stream) {
    const double x = std::sin(12.9898 * (i + 1) + 78.233 * (stream + 1)) * 43758.5453;
    return x - std::floor(x);
}

struct District {
    int fields = 48;
    int seasons = 1;
    int untested_every = 6;       ///< the others have one reading
    double across_m = 20000.0;    ///< of each of its clusters, west to east; half of it south to north
    double clusters_apart_m = 0;  ///< above 0: every other field lies so far east
};

ContaminationInput input_of(const District& of) {
    ContaminationInput input;
    for (int season = 0; season < of.seasons; ++season)
        for (int f = 0; f < of.fields; ++f) {
            FieldSeason field{"F" + std::to_string(f), "", 2024 + season, -1.0 + even(f, 1 + 10 * season)};
            field.place_m =
                PointM{of.across_m * even(f, 2) + (f % 2) * of.clusters_apart_m, 0.5 * of.across_m * even(f, 3)};
            input.field_seasons.push_back(field);
            if (f % of.untested_every == 0) continue;
            GrainSample sample;
            sample.sample = "S" + std::to_string(input.samples.size());
            sample.index = input.field_seasons.size() - 1;
            sample.increments = 10;
            sample.mass_g = 1000.0;
            AssayResult result;
            result.test = "T" + std::to_string(input.results.size());
            result.sample = input.samples.size();
            result.portion_g = 10.0;
            result.don_mg_per_kg =
                std::exp(-0.5 + 0.8 * std::sin(field.place_m->x_m / 4000.0) + 0.5 * (even(f, 4 + 10 * season) - 0.5));
            result.reading = result.don_mg_per_kg < 0.3 ? Reading::below : Reading::value;
            if (result.reading == Reading::below) result.don_mg_per_kg = 0.3;
            input.samples.push_back(sample);
            input.results.push_back(result);
        }
    return input;
}

ContaminationPriors known_parameters(double range_m) {
    ContaminationPriors priors;
    priors.fixed = {true, 0.4, 0.3, 0.3, 0.05, 0.6, range_m};
    return priors;
}

ContaminationSettings joined_at_most(int fields, int threads = 1) {
    ContaminationSettings settings;
    settings.most_joined_fields = fields;
    settings.threads = threads;
    return settings;
}

double width90(const Content& content) {
    return content.high90 - content.low90;
}

std::map<std::string, int> groups_by_name(const ContaminationInput& input, int most) {
    const ContaminationPriors priors = known_parameters(5000.0);
    const contamination::Layout layout(input, priors, joined_at_most(most));
    const std::vector<int>& group = layout.joined(layout.fixed_parameters()).group;
    std::map<std::string, int> by_name;
    for (std::size_t f = 0; f < group.size(); ++f) by_name[input.field_seasons[f].field] = group[f];
    return by_name;
}

/// The same fields, listed from the last to the first.
ContaminationInput turned_round(ContaminationInput input) {
    const std::size_t last = input.field_seasons.size() - 1;
    std::reverse(input.field_seasons.begin(), input.field_seasons.end());
    for (GrainSample& sample : input.samples) sample.index = last - sample.index;
    return input;
}

}  // namespace

TEST_CASE("near places are cut into as few groups as may be, of nearly the same number") {
    std::vector<contamination::PlacedUnit> units;
    for (int i = 0; i < 100; ++i) units.push_back({{1000.0 * even(i, 1), 3000.0 * even(i, 2)}, 1});
    const std::vector<int> group = contamination::groups_of_near(units, 35);
    std::map<int, int> count;
    for (const int g : group) ++count[g];
    REQUIRE(count.size() == 3);
    for (const auto& [g, fields] : count) CHECK((fields == 33 || fields == 34));
    // Across the longer side: the first group is the southern third.
    double north_of_first = 0.0, south_of_rest = 3000.0;
    for (std::size_t i = 0; i < units.size(); ++i)
        if (group[i] == 0)
            north_of_first = std::max(north_of_first, units[i].at_m.y_m);
        else
            south_of_rest = std::min(south_of_rest, units[i].at_m.y_m);
    CHECK(north_of_first <= south_of_rest);
    // Places that coincide are told apart by their order alone, and what may not be cut is a group.
    CHECK(contamination::groups_of_near({{{0, 0}, 1}, {{0, 0}, 1}, {{0, 0}, 1}}, 1) == std::vector<int>{0, 1, 2});
    CHECK(contamination::groups_of_near({{{0, 0}, 9}, {{5, 0}, 1}}, 4) == std::vector<int>{0, 1});
    CHECK(contamination::groups_of_near({}, 4).empty());
}

TEST_CASE("as many fields as may be joined are joined exactly, to the last bit") {
    const ContaminationInput input = input_of({});
    const ContaminationModel at_threshold = fit_contamination(input, known_parameters(5000.0), joined_at_most(40)),
                             far_from_it = fit_contamination(input, known_parameters(5000.0), joined_at_most(4000));
    CHECK_FALSE(at_threshold.learnt().groups);
    CHECK(at_threshold.learnt().notes == far_from_it.learnt().notes);
    CHECK(at_threshold.learnt().log_evidence == far_from_it.learnt().log_evidence);
    CHECK((at_threshold.draws(20, 7) == far_from_it.draws(20, 7)));
    // One fewer, and it is cut.
    CHECK(fit_contamination(input, known_parameters(5000.0), joined_at_most(39)).learnt().groups);
}

TEST_CASE("the error that a cut season tells is what the exact fit finds") {
    const ContaminationInput input = input_of({.fields = 48, .seasons = 2});
    const ContaminationModel cut = fit_contamination(input, known_parameters(5000.0), joined_at_most(20)),
                             exact = fit_contamination(input, known_parameters(5000.0), joined_at_most(1000));
    std::vector<double> medians, widths;
    for (std::size_t f = 0; f < input.field_seasons.size(); ++f) {
        const Content a = *cut.field_season(f), b = *exact.field_season(f);
        medians.push_back(std::abs(a.median / b.median - 1.0));
        widths.push_back(std::abs(width90(a) / width90(b) - 1.0));
    }
    std::sort(medians.begin(), medians.end());
    std::sort(widths.begin(), widths.end());
    REQUIRE(cut.learnt().groups);
    const Learnt::Groups& told = *cut.learnt().groups;
    CHECK(told.groups == 4);
    CHECK(told.largest == 20);
    CHECK(told.groups_checked == 4);
    CHECK(told.fields_checked == 96);
    CHECK(told.median_most > 0.01);  // a cut through a district of four ranges is felt
    // Both are propagated to a hundred thousandth of a spread.
    CHECK_THAT(told.median_most, WithinAbs(medians.back(), 5e-5));
    CHECK_THAT(told.median_middle, WithinAbs(medians[medians.size() / 2], 5e-5));
    CHECK_THAT(told.width_most, WithinAbs(widths.back(), 5e-5));
    CHECK_THAT(told.width_middle, WithinAbs(widths[widths.size() / 2], 5e-5));
    const auto& notes = cut.learnt().notes;
    CHECK(std::any_of(notes.begin(), notes.end(), [](const std::string& note) {
        return note.find("2 seasons have more than 20 tested fields: near ones are joined in 4 groups of at most 20") !=
               std::string::npos;
    }));
}

TEST_CASE("a cut between two clusters a hundred ranges apart loses nothing") {
    const ContaminationInput input =
        input_of({.fields = 48, .untested_every = 5, .across_m = 600.0, .clusters_apart_m = 20000.0});
    const ContaminationModel cut = fit_contamination(input, known_parameters(200.0), joined_at_most(24)),
                             exact = fit_contamination(input, known_parameters(200.0), joined_at_most(1000));
    REQUIRE(cut.learnt().groups);
    CHECK(cut.learnt().groups->groups == 2);
    CHECK_THAT(cut.learnt().groups->median_most, WithinAbs(0.0, 1e-9));
    CHECK_THAT(cut.learnt().groups->width_most, WithinAbs(0.0, 1e-9));
    CHECK_THAT(cut.learnt().log_evidence, WithinAbs(exact.learnt().log_evidence, 1e-9));
    for (std::size_t f = 0; f < input.field_seasons.size(); ++f) {
        CHECK_THAT(cut.field_season(f)->median, WithinAbs(exact.field_season(f)->median, 1e-9));
        CHECK_THAT(*cut.exceedance(f, 1.25), WithinAbs(*exact.exceedance(f, 1.25), 1e-9));
    }
}

TEST_CASE("the groups of a season do not depend on the order of its fields") {
    const ContaminationInput input = input_of({.fields = 90});
    const ContaminationInput other = turned_round(input);
    CHECK(groups_by_name(input, 20) == groups_by_name(other, 20));
    const ContaminationModel a = fit_contamination(input, known_parameters(5000.0), joined_at_most(20)),
                             b = fit_contamination(other, known_parameters(5000.0), joined_at_most(20));
    CHECK(a.learnt().groups->groups == 4);
    CHECK_THAT(b.learnt().groups->median_most, WithinAbs(a.learnt().groups->median_most, 1e-9));
    for (std::size_t f = 0; f < 90; ++f)
        CHECK_THAT(b.field_season(89 - f)->median, WithinAbs(a.field_season(f)->median, 1e-9));
}

TEST_CASE("fields of one load stay in one group and a field without a result goes with the nearest that has one") {
    ContaminationInput input = input_of({.fields = 60});
    // A load of the two fields that lie farthest apart in the list of places.
    const auto by_x = [&](std::size_t a, std::size_t b) {
        return input.field_seasons[a].place_m->x_m < input.field_seasons[b].place_m->x_m;
    };
    std::vector<std::size_t> tested;
    for (std::size_t f = 0; f < 60; ++f)
        if (f % 6 != 0) tested.push_back(f);
    const auto [west, east] = std::minmax_element(tested.begin(), tested.end(), by_x);
    const std::map<std::string, int> before = groups_by_name(input, 25);
    CHECK(before.at(input.field_seasons[*west].field) != before.at(input.field_seasons[*east].field));
    input.loads.push_back({"L1", {{*west, 0.5}, {*east, 0.5}}});
    GrainSample sample = input.samples.front();
    sample.sample = "SL";
    sample.from = SampledGrain::load;
    sample.index = 0;
    AssayResult result = input.results.front();
    result.test = "TL";
    result.sample = input.samples.size();
    input.samples.push_back(sample);
    input.results.push_back(result);
    const std::map<std::string, int> after = groups_by_name(input, 25);
    CHECK(after.at(input.field_seasons[*west].field) == after.at(input.field_seasons[*east].field));
    for (std::size_t f = 0; f < 60; f += 6) {
        std::size_t nearest = tested.front();
        for (const std::size_t other : tested)
            if (distance_m(*input.field_seasons[other].place_m, *input.field_seasons[f].place_m) <
                distance_m(*input.field_seasons[nearest].place_m, *input.field_seasons[f].place_m))
                nearest = other;
        CHECK(after.at(input.field_seasons[f].field) == after.at(input.field_seasons[nearest].field));
    }
    const ContaminationModel model = fit_contamination(input, known_parameters(5000.0), joined_at_most(25));
    CHECK(model.load(0)->median > 0.0);
}

TEST_CASE("a cut season is drawn, joined and foretold as it is told, whatever the threads") {
    const ContaminationInput input = input_of({.fields = 48});
    ContaminationSettings one = joined_at_most(20), three = joined_at_most(20, 3);
    ContaminationPriors priors;
    priors.free_share_median = 0.0;  // one normal law a field
    one.parameters = three.parameters = ParametersBy::most_probable;
    const ContaminationModel model = fit_contamination(input, priors, one),
                             other = fit_contamination(input, priors, three);
    CHECK(model.learnt().parameters_by == "most-probable");
    REQUIRE(model.learnt().groups);
    CHECK(model.learnt().groups->median_most == other.learnt().groups->median_most);
    CHECK(model.learnt().log_evidence == other.learnt().log_evidence);
    REQUIRE(model.learnt().region);
    CHECK(model.learnt().region->sentence == other.learnt().region->sentence);
    CHECK(model.learnt().region->leave_one_out_skill);
    const int n = 4000;
    const Eigen::MatrixXd draws = model.draws(n, 5);
    CHECK((draws == other.draws(n, 5)));
    for (const std::size_t f : std::vector<std::size_t>{0, 1, 17, 30, 47}) {
        const Content content = *model.field_season(f);
        CHECK(content.median == other.field_season(f)->median);
        const auto under = [&](double bound) {
            return static_cast<double>((draws.col(static_cast<Eigen::Index>(f)).array() < bound).count()) / n;
        };
        // Four standard errors of a share of 4,000.
        CHECK_THAT(under(content.median), WithinAbs(0.5, 0.032));
        CHECK_THAT(under(content.low90), WithinAbs(0.05, 0.014));
        CHECK_THAT(under(content.high90), WithinAbs(0.95, 0.014));
        CHECK(model.explain(f).steps.back().median == Approx(content.median).epsilon(1e-3));
    }
    const FieldsTogether together = model.fields_together({1, 30});
    REQUIRE(together.points.size() == 1);
    const Content second = *model.field_season(30);
    CHECK(std::sqrt(together.points[0].covariance(1, 1)) * 2.0 * 1.6448536269514722 ==
          Approx(std::log(second.high90 / second.low90)).epsilon(1e-6));
}
