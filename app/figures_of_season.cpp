#include "app/figures_of_season.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "app/extrapolation.h"
#include "app/words.h"
#include "models/counted.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/disease/catalogue.h"
#include "models/words.h"

namespace app {

using namespace drawing;

namespace {

constexpr double nan_value = std::numeric_limits<double>::quiet_NaN();

std::string limit_text_of(const SeasonView& view) {
    if (!view.limit) return "";
    std::string text = spoken(words::limit_sentence, models::in_words(*view.limit));
    if (view.limit->limit_id != "given by hand" && !view.limit->source.empty() &&
        view.limit->source != "given by hand") {
        text += ", " + view.limit->limit_id;
    }
    if (!view.limit->confirmed) text += spoken(words::limit_from_memory);
    return text;
}

TestMark mark_of(models::Reading reading) {
    switch (reading) {
        case models::Reading::value:
            return TestMark::value;
        case models::Reading::below:
            return TestMark::below_range;
        case models::Reading::above:
            return TestMark::above_range;
        case models::Reading::invalid:
            return TestMark::invalid;
    }
    return TestMark::invalid;
}

/// The supported surfaces of all fields laid into one grid.
std::optional<MapSurface> surface_of(const SeasonView& view) {
    std::vector<models::PointM> corners;
    double cell = 0.0;
    for (const WithinField& within : view.within) {
        if (!within.supported) continue;
        const models::GridM& g = within.grid;
        corners.push_back({g.x_min_m, g.y_max_m});
        corners.push_back({g.x_min_m + g.columns * g.cell_m, g.y_max_m - g.rows * g.cell_m});
        cell = std::max(cell, g.cell_m);
    }
    if (corners.empty()) return std::nullopt;
    MapSurface surface;
    const models::BoxM box = models::bounding_box(corners);
    while (box.width_m() / cell * box.height_m() / cell > 2.0e6) cell *= 2.0;
    surface.grid = models::grid_over(box, cell);
    const auto cells = static_cast<std::size_t>(surface.grid.cells());
    surface.median_mg_per_kg.assign(cells, nan_value);
    surface.exceedance.assign(cells, nan_value);
    surface.interval_factor.assign(cells, nan_value);
    for (const WithinField& within : view.within) {
        if (!within.supported) continue;
        const models::GridM& g = within.grid;
        for (int row = 0; row < surface.grid.rows; ++row) {
            for (int column = 0; column < surface.grid.columns; ++column) {
                const models::PointM place = surface.grid.centre(row, column);
                const int r = static_cast<int>(std::floor((g.y_max_m - place.y_m) / g.cell_m));
                const int c = static_cast<int>(std::floor((place.x_m - g.x_min_m) / g.cell_m));
                if (r < 0 || c < 0 || r >= g.rows || c >= g.columns || std::isnan(within.median_mg_per_kg(r, c)))
                    continue;
                const auto k = static_cast<std::size_t>(row) * static_cast<std::size_t>(surface.grid.columns) +
                               static_cast<std::size_t>(column);
                surface.median_mg_per_kg[k] = within.median_mg_per_kg(r, c);
                surface.exceedance[k] = within.exceedance(r, c);
                surface.interval_factor[k] = within.high90_mg_per_kg(r, c) / within.low90_mg_per_kg(r, c);
            }
        }
    }
    return surface;
}

/// Whether a field's own surface is drawn: its structure is supported.
bool surface_speaks_for(const SeasonView& view, const models::Field& field) {
    return std::any_of(view.within.begin(), view.within.end(), [&](const WithinField& within) {
        return within.supported && within.field == field.field && within.part == field.part;
    });
}

/// Another crop, or no weather to go by.
void say_why_without(MapField& mark, const SeasonView& view, const FieldView& field) {
    const auto& wheat = view.contamination.field_season_of;
    if (field.crop >= wheat.size() || !wheat[field.crop]) {
        mark.without = MapField::Without::other_crop;
        mark.note = field.note;
        return;
    }
    const FieldRisk* risk = risk_of(view, field.crop);
    if (risk == nullptr || risk->risk.value) return;
    mark.without = MapField::Without::no_weather;
    std::string missing;
    for (const std::string& sentence : risk->risk.missing) missing += (missing.empty() ? "" : "; ") + sentence;
    if (!missing.empty()) mark.note = spoken(words::field_no_weather, missing);
}

/// What is said under a figure that puts the fields in the order of their disease risks.
std::string ranking_caution(const SeasonView& view) {
    std::string text = spoken(caution::risk_is_not_don);
    for (const std::string& sentence : extrapolations_of(view).sentences) text += " " + sentence + ".";
    return text;
}

/// Where the surfaces reach the limit.
MapContour contour_at(const SeasonView& view, double limit_mg_per_kg) {
    MapContour contour;
    contour.level_mg_per_kg = limit_mg_per_kg;
    for (const WithinField& within : view.within) {
        for (geo::ContourLine& line : lines_of_equal_content(within, {limit_mg_per_kg}))
            contour.lines_m.push_back(std::move(line.line_m));
    }
    return contour;
}

/// "observed", "estimated", "most likely day, estimated from heading, ±3 days".
std::string words_of(const FloweringDay& flowering) {
    const char* word =
        flowering.basis == models::DateBasis::observed ? spoken(words::observed) : spoken(words::estimated);
    const bool worked_out =
        flowering.basis == models::DateBasis::heading || flowering.basis == models::DateBasis::sowing;
    if (!worked_out) return word;
    const std::string from = spoken(words::estimated_from, models::in_words(flowering.basis), flowering.sd_days);
    return flowering.unconfirmed ? from + spoken(words::and_unconfirmed) : from;
}

/// Results of the season whose run had a control that reads outside what it accepts or breaks a rule of its chart.
long long results_in_doubt(const SeasonView& view) {
    std::set<std::string> doubted;
    for (const models::FailedControl& control : failed_controls(view.data, view.season))
        doubted.insert(control.in_doubt.begin(), control.in_doubt.end());
    return std::count_if(view.data.tests.begin(), view.data.tests.end(), [&](const models::Test& test) {
        return doubted.count(test.test) != 0 && season_of_test(view.data, test) == view.season;
    });
}

}  // namespace

std::vector<std::size_t> tests_on_map(const SeasonView& view) {
    std::vector<std::size_t> tests;
    for (std::size_t t = 0; t < view.data.tests.size(); ++t) {
        const models::Test& test = view.data.tests[t];
        if (season_of_test(view.data, test) != view.season) continue;
        const auto s = sample_index(view.data, test.sample);
        if (!s || !view.data.samples[*s].place_m || *s >= view.data.joined.samples.size()) continue;
        if (view.data.joined.samples[*s].position_fits) tests.push_back(t);
    }
    return tests;
}

MapFigure map_figure_of(const SeasonView& view, MapShows shows) {
    MapFigure figure;
    const bool ranking = view.contamination.ranking_only();
    figure.shows = ranking ? MapShows::ranking : shows;
    figure.title = ranking                         ? spoken(words::title_ranking, view.season)
                   : shows == MapShows::exceedance ? spoken(words::title_exceedance, view.season)
                                                   : spoken(words::title_content, view.season);
    figure.subtitle = ranking ? spoken(words::subtitle_ranking,
                                       models::counted(static_cast<long long>(view.fields.size()),
                                                       spoken(words::one_field), spoken(words::several_fields)))
                              : spoken(words::subtitle_map, spoken(estimate_of), in_words(count_of(view)));
    std::map<std::size_t, int> rank_of;
    if (ranking) {
        std::vector<const FieldView*> by_risk;
        for (const FieldView& field : view.fields) {
            if (field.risk) by_risk.push_back(&field);
        }
        std::stable_sort(by_risk.begin(), by_risk.end(),
                         [](const FieldView* a, const FieldView* b) { return *a->risk > *b->risk; });
        for (std::size_t i = 0; i < by_risk.size(); ++i) rank_of[by_risk[i]->crop] = static_cast<int>(i) + 1;
    }
    for (const FieldView& field : view.fields) {
        if (field.outline == nullptr) continue;
        MapField mark;
        mark.label = field.name;
        mark.outline_m = field.outline->outline_m;
        mark.tests = field.tests;
        mark.exceedance = field.exceedance;
        mark.carries_surface = !ranking && surface_speaks_for(view, *field.outline);
        if (field.content) {
            mark.median_mg_per_kg = field.content->median;
            mark.low90_mg_per_kg = field.content->low90;
            mark.high90_mg_per_kg = field.content->high90;
            if (field.content->contradicted) mark.note = field.note;
        }
        if (const auto rank = rank_of.find(field.crop); rank != rank_of.end()) mark.rank = rank->second;
        say_why_without(mark, view, field);
        figure.fields.push_back(std::move(mark));
    }
    for (const std::size_t t : tests_on_map(view)) {
        const models::Test& test = view.data.tests[t];
        const models::Sample& sample = view.data.samples[*sample_index(view.data, test.sample)];
        figure.tests.push_back({*sample.place_m, mark_of(test.reading), test.don_mg_per_kg});
    }
    if (!ranking) figure.surface = surface_of(view);
    if (figure.surface && view.limit) {
        MapContour contour = contour_at(view, view.limit->limit_mg_per_kg);
        if (!contour.lines_m.empty()) figure.contours.push_back(std::move(contour));
    }
    if (view.limit) figure.limit_mg_per_kg = view.limit->limit_mg_per_kg;
    figure.limit_text = limit_text_of(view);
    if (!ranking && !view.structure.reason.empty()) {
        figure.verdict = spoken(words::verdict, view.structure.reason);
    }
    if (const auto doubts = results_in_doubt(view); !ranking && doubts > 0) {
        figure.verdict += (figure.verdict.empty() ? "" : " ") +
                          spoken(words::in_doubt_by_control,
                                 models::counted(doubts, spoken(words::one_result), spoken(words::several_results)));
    }
    figure.caution = ranking ? spoken(words::no_result_caution) + std::string(" ") + ranking_caution(view)
                             : std::string(spoken(caution::screening)) + " " + spoken(caution::only_don);
    return figure;
}

RankFigure rank_figure_of(const SeasonView& view) {
    RankFigure figure;
    figure.title = spoken(words::title_order, view.season);
    figure.risk_only = view.contamination.ranking_only();
    if (view.order) figure.subtitle = view.order->says;
    std::map<std::string, const FieldView*> by_name;
    for (const FieldView& field : view.fields) by_name[field.name] = &field;
    if (view.order) {
        for (const models::RankedField& ranked : view.order->fields) {
            RankRow row;
            row.rank = ranked.rank;
            row.field = ranked.field;
            row.why = ranked.why;
            row.tests = ranked.tests_so_far;
            if (const auto found = by_name.find(ranked.field); found != by_name.end()) {
                const FieldView& field = *found->second;
                if (field.content) {
                    row.median_mg_per_kg = field.content->median;
                    row.low90_mg_per_kg = field.content->low90;
                    row.high90_mg_per_kg = field.content->high90;
                    row.low50_mg_per_kg = field.content->low50;
                    row.high50_mg_per_kg = field.content->high50;
                    row.exceedance = field.exceedance;
                }
                if (const FieldRisk* risk = risk_of(view, field.crop)) {
                    row.risk = risk->risk.value;
                    row.risk_low = risk->risk.low;
                    row.risk_high = risk->risk.high;
                    row.risk_extrapolated = extrapolation_in_words(risk->risk);
                }
            }
            figure.rows.push_back(std::move(row));
        }
    }
    if (view.limit) figure.limit_mg_per_kg = view.limit->limit_mg_per_kg;
    figure.limit_text = limit_text_of(view);
    figure.caution = figure.risk_only ? ranking_caution(view) : spoken(caution::screening);
    return figure;
}

BinsFigure bins_figure_of(const SeasonView& view) {
    BinsFigure figure;
    figure.title = spoken(words::title_bins, view.season);
    figure.caution = std::string(spoken(caution::screening)) + " " + spoken(words::no_mixing_caution);
    if (!view.bins) return figure;
    const BinsView& bins = *view.bins;
    std::map<std::string, Eigen::Index> column;
    for (std::size_t k = 0; k < bins.draws.sources.size(); ++k)
        column[bins.draws.sources[k]] = static_cast<Eigen::Index>(k);
    double total_t = 0.0;
    for (std::size_t b = 0; b < view.data.bins.size(); ++b) {
        const models::Bin& bin = view.data.bins[b];
        const models::BinContent& content = bins.ledger.bins[b];
        BinDrawing drawing;
        drawing.bin = bin.bin;
        drawing.capacity_t = bin.capacity_t;
        drawing.purpose = models::in_words(bin.purpose);
        drawing.hold = bin.purpose == models::Purpose::hold;
        drawing.layered = content.order_known && bin.draw_off != models::DrawOff::mixed;
        const std::optional<models::Limit>& limit = bins.limits[b].limit;
        if (limit) drawing.limit_mg_per_kg = limit->limit_mg_per_kg;
        for (const models::Layer& layer : content.layers) {
            for (const models::GrainPortion& portion : layer.portions) {
                BinLayer part;
                const bool opening = portion.source == models::opening_source(bin.bin);
                part.load = opening ? spoken(words::layer_opening) : portion.source;
                part.mass_t = portion.mass_t();
                if (const auto found = column.find(portion.source); found != column.end()) {
                    const Eigen::VectorXd draws =
                        bins.draws.mg_per_kg.col(found->second) * bins.factor(b, portion.source);
                    part.median_mg_per_kg = models::quantile_of_draws(draws, 0.5);
                    part.low90_mg_per_kg = models::quantile_of_draws(draws, 0.05);
                    part.high90_mg_per_kg = models::quantile_of_draws(draws, 0.95);
                }
                for (const UnclearedLoad& load : bins.uncleared) {
                    if (load.bin == bin.bin && load.load == portion.source) part.note = load.reason;
                }
                drawing.layers.push_back(std::move(part));
            }
        }
        if (const auto as_is = models::mean_content(content.by_source(), bins.draws)) {
            const Eigen::VectorXd mean = *as_is * bins.factors[b];
            drawing.mean_mg_per_kg = mean.mean();
            drawing.low90_mg_per_kg = models::quantile_of_draws(mean, 0.05);
            drawing.high90_mg_per_kg = models::quantile_of_draws(mean, 0.95);
            if (limit) drawing.exceedance = models::exceedance_of_draws(mean, *limit);
        }
        // That it is above the chance a bin may have stands there as its number.
        for (const models::BinOutlook& look : bins.plan.bins) {
            if (look.bin == bin.bin) drawing.closed = look.closed_reason;
        }
        drawing.draw_off = models::in_words(bin.draw_off);
        if (limit && limit->basis != models::Basis::as_is) drawing.note = models::in_words(limit->basis);
        if (!bin.keep_apart.empty())
            drawing.note += (drawing.note.empty() ? "" : "; ") + spoken(words::keep_apart, bin.keep_apart);
        for (const models::Assignment& load : bins.plan.assignments)
            if (load.bin == bin.bin) {
                drawing.coming += (drawing.coming.empty() ? "" : ", ") + load.name;
                drawing.coming_t += load.mass_t;
            }
        total_t += content.mass_t();
        figure.bins.push_back(std::move(drawing));
    }
    if (view.limit) figure.limit_mg_per_kg = view.limit->limit_mg_per_kg;
    figure.subtitle = spoken(words::subtitle_bins, tonnes_text(total_t),
                             models::counted(static_cast<long long>(figure.bins.size()), spoken(words::one_bin),
                                             spoken(words::several_bins)),
                             models::counted(static_cast<long long>(bins.waiting.size()), spoken(words::one_load_waits),
                                             spoken(words::several_loads_wait)));
    return figure;
}

HoursFigure hours_figure_of(const geo::Store& store, const SeasonView& view, std::size_t crop_index) {
    const models::CropRecord& crop = view.data.crops.at(crop_index);
    HoursFigure figure;
    figure.title = spoken(words::title_hours, ground_name(crop.field, crop.part), crop.season);
    const FieldRisk* risk = risk_of(view, crop_index);
    const models::DiseaseModel& model = risk != nullptr && !risk->risk.model.empty()
                                            ? models::find_model(risk->risk.model, risk->risk.unconfirmed)
                                            : models::default_model();
    figure.model = models::spoken_title(model);
    figure.window_first_day = model.first_day();
    figure.window_last_day = model.last_day();
    const std::optional<models::LocalDay> flowering = risk != nullptr ? risk->flowering.day : std::nullopt;
    if (!flowering) {
        figure.note = spoken(words::hours_no_date);
        return figure;
    }
    figure.subtitle = spoken(words::subtitle_hours, models::to_short_text(*flowering), words_of(risk->flowering));
    if (risk != nullptr && !risk->station.empty()) {
        figure.subtitle += spoken(words::hours_station, risk->station, risk->station_distance_m / 1000.0);
    }
    const int first = std::min(model.first_day(), -10), last = std::max(model.last_day(), 10);
    const auto days = risk != nullptr ? days_around_flowering(store, view.data, *risk, view.how, first, last) : nullptr;
    if (days) {
        const models::HourlySeries& hours = days->series();
        const auto noon = *flowering + std::chrono::hours(12);
        for (std::size_t h = 0; h < hours.size(); ++h) {
            const models::Stamp stamp = hours.stamp(h);
            const auto wall = std::chrono::local_seconds{stamp.utc.time_since_epoch() + stamp.offset};
            HourMark mark;
            mark.days_from_flowering = static_cast<double>((wall - noon).count() + 1800) / 86400.0;
            mark.temperature_degc = hours.temperature_degc[h];
            mark.dew_point_depression_degc = hours.temperature_degc[h] - hours.dew_point_degc[h];
            mark.rain_mm = hours.rain_mm[h];
            figure.hours.push_back(mark);
        }
    }
    if (risk != nullptr) {
        figure.note = spoken(words::hours_coverage, risk->risk.coverage * 100.0);
    }
    return figure;
}

}  // namespace app
