#include <algorithm>

#include <fmt/format.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

namespace {

std::vector<Point> corners(const Rect& area) {
    return {{area.x, area.y},
            {area.x + area.width, area.y},
            {area.x + area.width, area.y + area.height},
            {area.x, area.y + area.height}};
}

void frame_swatch(Painter& painter, const Rect& area, const Look& look, bool dashed = false) {
    painter.polyline(corners(area), look.theme.ink, std::max(look.hairline_px, look.text_px / 13.0), true, dashed);
}

/// What the figure holds decides what its legend has to explain.
struct Found {
    bool flat = false, mapped = false, unsure = false, tested = false, untested = false;
    bool unknown = false, other_crop = false, no_weather = false;
    bool marks[4] = {};
};

Found look_through(const MapFigure& figure) {
    Found found;
    for (const auto& field : figure.fields) {
        const bool known = figure.shows == MapShows::content      ? field.median_mg_per_kg.has_value()
                           : figure.shows == MapShows::exceedance ? field.exceedance.has_value()
                                                                  : field.rank.has_value();
        const bool mapped = figure.surface && field.carries_surface;
        found.flat |= known && !mapped;
        found.mapped |= mapped;
        found.unsure |= is_unsure(field, figure) && !mapped;
        found.unknown |= !known && field.without == MapField::Without::unknown;
        found.other_crop |= !known && field.without == MapField::Without::other_crop;
        found.no_weather |= !known && field.without == MapField::Without::no_weather;
        (field.tests > 0 ? found.tested : found.untested) = true;
    }
    if (found.mapped && figure.surface)
        for (const double factor : figure.surface->interval_factor) found.unsure |= factor > figure.hatched_from_factor;
    for (const auto& test : figure.tests) found.marks[static_cast<int>(test.mark)] = true;
    return found;
}

LegendBlock ramp_of(const MapFigure& figure, const Look& look) {
    switch (figure.shows) {
        case MapShows::exceedance:
            return plain_ramp_block(
                figure.limit_mg_per_kg ? with_unit(words::exceedance_ramp, set_content_text(*figure.limit_mg_per_kg))
                                       : std::string(spoken(words::exceedance_ramp_no_limit)),
                exceedance_ramp(look.theme),
                {{0.0, "0 %"}, {0.25, "25 %"}, {0.5, "50 %"}, {0.75, "75 %"}, {1.0, "100 %"}}, look);
        case MapShows::ranking:
            return plain_ramp_block(spoken(words::ranking_ramp), ranking_ramp(look.theme),
                                    {{0.0, spoken(words::ranking_last)}, {1.0, spoken(words::ranking_first)}}, look);
        case MapShows::content:
            break;
    }
    return content_ramp_block(with_unit(spoken(words::content_of_fields_ramp)), content_scale_of(figure),
                              figure.limit_mg_per_kg, look);
}

}  // namespace

double draw_map_legend(Painter& painter, const Rect& area, const MapFigure& figure, const Look& look) {
    const Found found = look_through(figure);
    const ContentScale scale = content_scale_of(figure);
    const bool on_dark = look.theme.on_dark;  // rims are of paper
    const Ramp& ramp = figure.shows == MapShows::content      ? content_ramp(look.theme)
                       : figure.shows == MapShows::exceedance ? exceedance_ramp(look.theme)
                                                              : ranking_ramp(look.theme);
    const double em = look.text_px;
    std::vector<LegendBlock> blocks = {ramp_of(figure, look)};
    if (figure.shows == MapShows::ranking) blocks.push_back(sentence_block(spoken(words::map_ranking_only), look));
    if (found.flat && figure.shows != MapShows::ranking)
        blocks.push_back(swatch_block(
            [&ramp, look, em](Painter& on, const Rect& box) {
                on.rect(box, look.theme.paper);
                on.rect(inset(box, 0.2 * em), ramp.at(0.45));
                frame_swatch(on, box, look);
            },
            on_dark ? spoken(words::map_flat_on_dark) : spoken(words::map_flat), look));
    if (found.mapped)
        blocks.push_back(swatch_block(
            [&ramp, look](Painter& on, const Rect& box) {
                for (int i = 0; i < 8; ++i)
                    on.rect({box.x + box.width * i / 8.0, box.y, box.width / 8.0, box.height},
                            ramp.at(0.25 + 0.06 * i));
                frame_swatch(on, box, look);
            },
            on_dark ? spoken(words::map_mapped_on_dark) : spoken(words::map_mapped), look));
    if (found.unsure)
        blocks.push_back(swatch_block(
            [&ramp, look, em](Painter& on, const Rect& box) {
                const Colour fill = ramp.at(0.3);
                on.rect(box, fill);
                hatch(on, {corners(box)}, 0.42 * em,
                      oklab_of(fill).lightness > 0.55 ? look.theme.hatch_dark : look.theme.hatch_light,
                      std::max(look.hairline_px, em / 15.0));
                frame_swatch(on, box, look);
            },
            spoken(words::map_hatched, set_number_text(figure.hatched_from_factor)), look));
    if (found.untested && found.tested)
        blocks.push_back(swatch_block([look](Painter& on, const Rect& box) { frame_swatch(on, box, look, true); },
                                      spoken(words::map_untested), look));
    if (found.other_crop)
        blocks.push_back(swatch_block(
            [look](Painter& on, const Rect& box) {
                on.rect(box, blended(look.theme.ground, look.theme.paper, 0.55));
                frame_swatch(on, box, look);
            },
            on_dark ? spoken(words::map_other_crop_on_dark) : spoken(words::map_other_crop), look));
    if (found.no_weather)
        blocks.push_back(swatch_block(
            [look, em](Painter& on, const Rect& box) {
                on.rect(box, look.theme.unknown);
                hatch(on, {corners(box)}, 0.9 * em, look.theme.hatch_dark, std::max(look.hairline_px, em / 15.0));
                frame_swatch(on, box, look);
            },
            spoken(words::map_no_weather), look));
    if (found.unknown)
        blocks.push_back(swatch_block(
            [look](Painter& on, const Rect& box) {
                on.rect(box, look.theme.unknown);
                frame_swatch(on, box, look);
            },
            spoken(words::map_unknown), look));
    if (!figure.contours.empty() && figure.shows == MapShows::content)
        blocks.push_back(swatch_block(
            [look](Painter& on, const Rect& box) {
                const double y = box.y + 0.5 * box.height;
                on.polyline({{box.x, y}, {box.x + box.width, y}}, look.theme.ink,
                            std::max(look.hairline_px, look.text_px / 13.0));
            },
            with_unit(spoken(words::map_contour)), look));
    const std::optional<ContentScale> coloured =
        figure.shows == MapShows::content ? std::optional(scale) : std::nullopt;
    const char* kinds[] = {coloured ? spoken(words::mark_value_coloured) : spoken(words::mark_value),
                           spoken(words::mark_below), spoken(words::mark_above), spoken(words::mark_void)};
    for (int kind = 0; kind < 4; ++kind) {
        if (!found.marks[kind]) continue;
        MapTest test;
        test.mark = static_cast<TestMark>(kind);
        test.don_mg_per_kg = scale.content_mg_per_kg(0.6);
        blocks.push_back(swatch_block(
            [test, coloured, look, em](Painter& on, const Rect& box) {
                draw_test_mark(on, middle(box), 0.42 * em, test, coloured, look.theme);
            },
            kinds[kind], look));
    }
    return draw_blocks(painter, area, blocks, 15.0 * em, 1.6 * em);
}

}  // namespace app::drawing
