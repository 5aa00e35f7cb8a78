#include "app/figures_of_ground.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/ground_words.h"
#include "app/words.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/words.h"

namespace app {

using namespace drawing;

std::string as_sentence(std::string words) {
    if (words.empty()) return words;
    if (words[0] >= 'a' && words[0] <= 'z') words[0] = static_cast<char>(words[0] - 'a' + 'A');
    for (const auto& [small, capital] : {std::pair("ä", "Ä"), std::pair("ö", "Ö"), std::pair("ü", "Ü")})
        if (words.starts_with(small)) words.replace(0, 2, capital);
    if (!words.ends_with(".")) words += ".";
    return words;
}

namespace ground_figures {

PairsPanel panel_of(const PairsByDistance& pairs, const char* missing) {
    PairsPanel panel;
    panel.few_pairs = pairs_wanted;
    panel.error = pairs.error_variance;
    for (const models::VariogramClass& one : pairs.classes)
        panel.classes.push_back({one.distance_m, one.gamma, one.pairs});
    if (pairs.values_needed > 0)
        panel.empty = fmt::format(fmt::runtime(missing), pairs_wanted, pairs.pairs, pairs.values_needed);
    if (pairs.believed && !panel.classes.empty()) {
        const double farthest = 1.1 * panel.classes.back().distance_m;
        for (int i = 0; i <= 80; ++i) {
            const double at_m = farthest * i / 80.0;
            panel.believed.push_back({at_m, pairs.believed->at(at_m) + pairs.error_variance});
        }
    }
    return panel;
}

/// "12 fields with a number; 7 that only read below or above the range are not in it"
std::string counts_of(const PairsByDistance& pairs, const char* one, const char* several) {
    std::string counts = spoken(words::pairs_counts, models::counted(pairs.values, one, several), pairs.pairs);
    if (pairs.bounds > 0) counts += spoken(words::pairs_bounds, models::counted(pairs.bounds, one, several));
    return counts + ".";
}

}  // namespace ground_figures

EvidenceFigure evidence_figure_of(const SeasonView& view, const SeasonEvidence& evidence) {
    using namespace ground_figures;
    EvidenceFigure figure;
    figure.title = spoken(words::title_evidence, view.season);
    figure.subtitle = spoken(words::subtitle_evidence);
    figure.between = panel_of(evidence.between, spoken(words::pairs_missing_between));
    figure.between.title = spoken(words::pairs_between);
    figure.between.says = {counts_of(evidence.between, spoken(words::one_field), spoken(words::several_fields))};
    if (!evidence.between.verdict.empty())
        figure.between.says.push_back(spoken(words::verdict_between, as_sentence(evidence.between.verdict)));
    figure.within = panel_of(evidence.within, spoken(words::pairs_missing_within));
    figure.within.title = spoken(words::pairs_within);
    figure.within.says = {counts_of(evidence.within, spoken(words::one_place), spoken(words::several_places))};
    if (!evidence.within.verdict.empty())
        figure.within.says.push_back(spoken(words::verdict_within, as_sentence(evidence.within.verdict)));
    figure.foretold.title = spoken(words::title_foretold);
    if (view.limit) figure.foretold.limit_mg_per_kg = view.limit->limit_mg_per_kg;
    if (evidence.numbers < foretold_wanted) {
        figure.foretold.empty =
            spoken(words::foretold_missing, foretold_wanted, evidence.numbers, foretold_wanted - evidence.numbers);
    } else {
        for (const ForetoldResult& one : evidence.foretold) {
            const TestMark mark = one.reading == models::Reading::below   ? TestMark::below_range
                                  : one.reading == models::Reading::above ? TestMark::above_range
                                                                          : TestMark::value;
            figure.foretold.results.push_back({mark, one.read_mg_per_kg, one.median, one.low90, one.high90});
        }
        figure.foretold.says = {spoken(words::foretold_says, evidence.inside, evidence.numbers,
                                       percent_text(static_cast<double>(evidence.inside) / evidence.numbers),
                                       models::said(fmt::format("{:.1f}", evidence.typical_factor)))};
        const auto bounds = static_cast<long long>(evidence.foretold.size()) - evidence.numbers;
        if (bounds > 0) figure.foretold.says.push_back(spoken(words::foretold_bounds, bounds));
    }
    figure.how_to_read = {spoken(words::read_pairs), spoken(words::read_error), spoken(words::read_line),
                          spoken(words::read_foretold)};
    figure.caution = spoken(caution::screening);
    return figure;
}

TransectFigure transect_figure_of(const SeasonView& view, const Transect& transect) {
    TransectFigure figure;
    figure.length_m = transect.length_m;
    if (view.limit) figure.limit_mg_per_kg = view.limit->limit_mg_per_kg;
    bool surfaces = false, means = false;
    std::string without;
    for (const TransectStretch& stretch : transect.stretches) {
        TransectFigure::Stretch& drawn = figure.stretches.emplace_back();
        drawn.field = stretch.field;
        drawn.from_m = stretch.from_m;
        drawn.to_m = stretch.to_m;
        drawn.by_surface = stretch.by_surface;
        for (const TransectPlace& p : stretch.places)
            drawn.places.push_back({p.at_m, p.median, p.low90, p.high90, p.low50, p.high50});
        (stretch.by_surface ? surfaces : means) |= !stretch.places.empty();
        if (!stretch.note.empty() && without.empty())
            without = spoken(words::named_sentence, stretch.field, stretch.note);
    }
    figure.title =
        spoken(words::title_transect,
               transect.length_m >= 1000.0 ? models::said(fmt::format("{:.1f} km", transect.length_m / 1000.0))
                                           : fmt::format("{:.0f} m", transect.length_m),
               models::counted(static_cast<long long>(transect.stretches.size()), spoken(words::one_stretch),
                               spoken(words::several_stretches)));
    figure.empty = spoken(words::transect_empty);
    std::string note = spoken(words::transect_key);
    if (surfaces) note += std::string(" ") + spoken(words::transect_by_surface);
    if (means) note += std::string(" ") + spoken(words::transect_by_mean);
    if (!without.empty()) note += " " + as_sentence(without);
    if (!transect.stretches.empty()) figure.notes = {note};
    return figure;
}

std::vector<std::string> rests_on_lines(const models::Explanation& explanation) {
    constexpr std::size_t most_lines = 6;
    std::vector<std::string> lines;
    const auto& steps = explanation.steps;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        // Of many tests of its own those between the others' results and the last are counted.
        if (steps.size() > most_lines && i == most_lines - 2) {
            lines.push_back(spoken(words::card_more_steps, steps.size() - most_lines + 1));
            i = steps.size() - 1;
        }
        const models::Explanation::Step& step = steps[i];
        lines.push_back(i == 0 ? with_unit(words::card_first_step, step.what, content_text(step.median))
                               : with_unit(words::card_step, step.what, step.factor, content_text(step.median)));
    }
    return lines;
}

std::string limit_of_grain_in_words(const SeasonView& view, const FieldView& field) {
    if (!field.of_its_grain || !view.limit) return "";
    const std::string grain = models::in_words(view.data.crops[field.crop].crop);
    const models::Limit& other = field.of_its_grain->limit;
    return with_unit(words::limit_of_other_grain, grain, set_content_text(view.limit->limit_mg_per_kg), grain,
                     other.limit_id, set_content_text(other.limit_mg_per_kg),
                     percent_text(field.of_its_grain->exceedance));
}

std::string code_and_name(const FieldView& field) {
    const std::string name = field.outline == nullptr ? "" : field.outline->name;
    if (name.empty() || name == field.name) return field.name;
    return field.outline->part.empty() ? spoken(words::ground_and_name, field.name, name)
                                       : spoken(words::part_and_name, field.name, name);
}

std::string tests_in_words(int tests, int load_tests) {
    const std::string own = tests > 0
                                ? models::counted(tests, spoken(words::one_test), spoken(words::several_tests))
                                : std::string(load_tests > 0 ? spoken(words::no_test) : spoken(words::field_no_test));
    return load_tests > 0 ? spoken(words::tests_of_field_and_loads, own, load_tests) : own;
}

std::string reading_in_words(const FieldReading& reading) {
    const std::string content = content_text(reading.don_mg_per_kg);
    return reading.reading == models::Reading::below   ? spoken(words::card_below, content)
           : reading.reading == models::Reading::above ? spoken(words::card_above, content)
                                                       : content;
}

std::string readings_apart_in_words(const ReadingsApart& apart) {
    return apart.nearer_low ? with_unit(words::readings_apart_low, apart.high.test, reading_in_words(apart.high),
                                        apart.low.test, reading_in_words(apart.low))
                            : with_unit(words::readings_apart_high, apart.high.test, reading_in_words(apart.high),
                                        apart.low.test, reading_in_words(apart.low));
}

Card field_card(const SeasonView& view, const FieldView& field, const models::Explanation* explanation,
                const ReadingsApart* apart) {
    Card card{code_and_name(field)};
    if (!field.content) {
        card.push_back(field.note.empty() ? spoken(words::field_unknown) : field.note);
        if (field.risk) card.push_back(spoken(words::disease_risk, percent_text(*field.risk)));
        return card;
    }
    card.push_back(with_unit(words::card_content, content_text(field.content->median),
                             content_interval_text(field.content->low90, field.content->high90)));
    if (field.exceedance && view.limit)
        card.push_back(with_unit(words::card_over, percent_text(*field.exceedance),
                                 set_content_text(view.limit->limit_mg_per_kg)));
    if (std::string other = limit_of_grain_in_words(view, field); !other.empty()) card.push_back(std::move(other));
    card.push_back(field.load_tests > 0 ? tests_in_words(field.tests, field.load_tests)
                   : field.tests > 0
                       ? models::counted(field.tests, spoken(words::one_own_test), spoken(words::several_own_tests))
                       : std::string(spoken(words::field_no_test)));
    if (field.content->contradicted) card.push_back(field.note);
    if (apart != nullptr) card.push_back(readings_apart_in_words(*apart));
    card.push_back(explanation == nullptr ? spoken(words::card_working) : spoken(words::card_rests_on));
    if (explanation != nullptr)
        for (std::string& line : rests_on_lines(*explanation)) card.push_back("– " + line);
    return card;
}

std::string place_line(const SeasonView& view, const FieldView& field, const models::PointM& place) {
    if (field.outline == nullptr) return "";
    for (const WithinField& within : view.within) {
        if (!within.supported || within.field != field.outline->field || within.part != field.outline->part) continue;
        const int column = static_cast<int>(std::floor((place.x_m - within.grid.x_min_m) / within.grid.cell_m));
        const int row = static_cast<int>(std::floor((within.grid.y_max_m - place.y_m) / within.grid.cell_m));
        if (row < 0 || column < 0 || row >= within.grid.rows || column >= within.grid.columns) return "";
        const double median = within.median_mg_per_kg(row, column);
        if (std::isnan(median)) return "";
        return with_unit(
            words::card_place, content_text(median),
            content_interval_text(within.low90_mg_per_kg(row, column), within.high90_mg_per_kg(row, column)),
            within.points);
    }
    return "";
}

ResultInBrief in_brief(const ResultRow& row) {
    return {row.test.test, row.stage, row.budget ? std::optional(row.budget->truth) : std::nullopt, row.all_flags()};
}

Card test_card(const SeasonView& view, const models::Test& test, const ResultInBrief* result) {
    const char* side = test.reading == models::Reading::below   ? spoken(words::card_below)
                       : test.reading == models::Reading::above ? spoken(words::card_above)
                                                                : "{}";
    Card card{spoken(words::card_test, test.test, test.sample)};
    const std::string read = fmt::format(fmt::runtime(side), content_and_unit_text(test.don_mg_per_kg));
    const char* method =
        test.method == models::Method::laboratory ? spoken(words::card_laboratory) : spoken(words::card_strip);
    if (test.reading == models::Reading::invalid) {
        card.push_back(spoken(words::card_void, test.void_reason));
        return card;
    }
    card.push_back(spoken(words::card_read, method, read));
    if (result != nullptr) {
        card.back() += spoken(words::card_stage, models::in_words(result->stage));
        if (result->by_itself) {
            const models::TrueContent& truth = *result->by_itself;
            if (truth.content_mg_per_kg && truth.low90_mg_per_kg && truth.high90_mg_per_kg)
                card.push_back(with_unit(words::card_by_itself, content_text(*truth.content_mg_per_kg),
                                         content_interval_text(*truth.low90_mg_per_kg, *truth.high90_mg_per_kg)));
            else if (truth.high90_mg_per_kg)
                card.push_back(with_unit(words::card_by_itself_below, content_text(*truth.high90_mg_per_kg)));
            else if (truth.low90_mg_per_kg)
                card.push_back(with_unit(words::card_by_itself_above, content_text(*truth.low90_mg_per_kg)));
        }
        for (const std::string& flag : result->flags) card.push_back(as_sentence(flag));
    }
    if (view.contamination.ranking_only()) return card;
    for (const models::Learnt::LeftOut& one : view.contamination.model->learnt().left_out)
        if (view.contamination.input.samples[one.sample].sample == test.sample && one.median > 0.0)
            card.push_back(with_unit(words::card_foretold, content_text(one.median),
                                     content_interval_text(one.low90, one.high90)));
    return card;
}

}  // namespace app
