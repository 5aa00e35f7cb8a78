#include <cmath>
#include <optional>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/pit_words.h"
#include "app/window/rooms/pit_parts.h"
#include "app/window/typed_number.h"
#include "app/words.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app::window {

namespace {

const char* way_of_lot(models::DrawOff drawn) {
    switch (drawn) {
        case models::DrawOff::first_in:
            return spoken(words::pit_lot_first_in);
        case models::DrawOff::last_in:
            return spoken(words::pit_lot_last_in);
        default:
            return spoken(words::pit_lot_mixed);
    }
}

std::string grain_of_lot_in_words(const models::LotToSell& lot) {
    std::string all;
    for (const models::GrainPortion& portion : lot.portions)
        all += fmt::format("{}{} {}", all.empty() ? "" : ", ", models::said(fmt::format("{:.1f} t", portion.mass_t())),
                           portion.source);
    return all;
}

std::string lot_in_words(const PitLot& lot) {
    if (!lot.refused.empty()) return spoken(words::pit_lot_refused, lot.refused);
    const models::BinOutbound* way = nullptr;
    const models::LotOutlook* first = first_lot_of(lot);
    for (const models::BinOutbound& one : lot.sold.ways)
        if (!one.lots.empty() && &one.lots.front() == first) way = &one;
    if (way == nullptr) return "";
    std::string text =
        spoken(words::pit_lot_says, first->lot.mass_t(), lot.sold.bin, way_of_lot(way->drawn),
               drawing::content_and_unit_text(first->mean_mg_per_kg),
               drawing::content_interval_text(first->low90_mg_per_kg, first->high90_mg_per_kg),
               drawing::percent_text(first->over),
               spoken(words::pit_lot_limit_of, drawing::set_content_text(lot.sold.limit->limit_mg_per_kg), lot.sold.bin,
                      models::in_words(lot.sold.limit->purpose)),
               drawing::percent_text(first->rejected));
    text += std::string(" ") + spoken(words::pit_lot_made_of, grain_of_lot_in_words(first->lot));
    if (lot.sold.ways.size() > 1) text += std::string(" ") + spoken(words::pit_lot_ways, lot.sold.ways.size());
    return text;
}

}  // namespace

double draw_lot(RoomFrame& frame, const drawing::Rect& area) {
    const PitPanel& pit = frame.session.pit;
    PitViews& views = frame.views.pit;
    if (!pit.lot_asked) return area.y;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    ButtonRow row(frame, area.x, area.y + em * 0.2, area.width);
    row.text(spoken(words::pit_lot_of, pit.lot_asked->bin), em * 5.0);
    row.box("lot tonnes", views.lot_t, em * 5.0);
    row.text(spoken(words::pit_lot_tonnes));
    if (row.button(spoken(words::pit_lot_show), "lot show", nullptr, true)) {
        views.lot_refused.clear();
        if (const auto lot_t = tonnes_typed(views.lot_t))
            frame.actions.emplace_back(AskLotAtPit{LotAsked{pit.lot_asked->bin, *lot_t}});
        else
            views.lot_refused = spoken(words::pit_lot_number, views.lot_t);
    }
    if (row.button(spoken(words::pit_lot_close), "lot close", nullptr)) frame.actions.emplace_back(AskLotAtPit{});
    double y = row.bottom() + em * 0.3;
    if (!views.lot_refused.empty()) {
        const double from = y;
        y = drawing::paragraph(painter, area.x, y, views.lot_refused, em, area.width, theme.accent,
                               drawing::Weight::bold);
        frame.places.mark("lot refused", {area.x, from, area.width, y - from});
        return y + em * 0.4;
    }
    const bool there = pit.lot && pit.lot->asked == *pit.lot_asked;
    const double from = y;
    y = drawing::paragraph(painter, area.x, y, there ? lot_in_words(*pit.lot) : spoken(words::working), em * 1.1,
                           area.width, theme.ink, drawing::Weight::bold, 6);
    if (there && pit.lot->refused.empty()) {
        if (!pit.lot->sold.closed.empty())
            y = drawing::paragraph(painter, area.x, y, spoken(words::pit_lot_closed, pit.lot->sold.bin), em, area.width,
                                   theme.accent, drawing::Weight::bold, 3);
        y = drawing::paragraph(painter, area.x, y, spoken(words::pit_lot_test), em, area.width, theme.soft_ink,
                               drawing::Weight::regular, 4);
    }
    frame.places.mark("lot", {area.x, from, area.width, y - from});
    return y + em * 0.6;
}

}  // namespace app::window
