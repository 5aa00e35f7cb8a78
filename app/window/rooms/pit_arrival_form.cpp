#include <algorithm>
#include <utility>

#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/pit_words.h"
#include "app/window/rooms/pit_parts.h"

namespace app::window {

namespace {

struct ArrivalBox {
    const char* column;
    const Word* label;
    double width_em;
};
constexpr ArrivalBox arrival_boxes[] = {
    {"load", &words::pit_arrival_load, 9.0},           {"ticket", &words::pit_arrival_ticket, 7.0},
    {"supplier", &words::pit_arrival_supplier, 11.0},  {"time", &words::pit_arrival_time, 15.0},
    {"net_t", &words::pit_arrival_net, 5.0},           {"gross_t", &words::pit_arrival_gross, 5.0},
    {"tare_t", &words::pit_arrival_tare, 5.0},         {"moisture_pct", &words::pit_arrival_moisture, 5.0},
    {"commodity", &words::pit_arrival_commodity, 7.0}, {"keep_apart", &words::pit_arrival_keep_apart, 8.0},
    {"parts", &words::pit_arrival_parts, 20.0}};

}  // namespace

void toggle_arrival(RoomFrame& frame) {
    const Session& session = frame.session;
    if (session.pit.arrives) {
        frame.actions.emplace_back(ArriveAtPit{});
        return;
    }
    frame.views.gate.forget_held();
    frame.views.pit.focus_arrival = true;
    const SeasonData& data = session.answer->view.data;
    ArrivedTruck truck = new_arrival(data, session.answer->view.season, session.clock());
    truck.typed["load"] = not_withdrawn(frame.session, "loads", truck.typed["load"]);
    frame.actions.emplace_back(ArriveAtPit{std::move(truck)});
}

double draw_arrival(RoomFrame& frame, const drawing::Rect& area) {
    const PitPanel& pit = frame.session.pit;
    ArrivedTruck truck = *pit.arrives;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const double x = area.x + em * 0.8, width = area.width - em * 1.6;
    double y = area.y + em * 0.6;
    const double title_top = y;
    y = drawing::paragraph(painter, x, y, spoken(words::pit_arrival_title), em * (frame.tight ? 1.3 : 1.7), width,
                           theme.ink, drawing::Weight::bold);
    frame.places.mark("arrival", {x, title_top, width, y - title_top});
    ButtonRow row(frame, x, y + em * 0.4, width);
    const std::string refused_of = pit.arrival_refused.column;
    const bool to_first = std::exchange(frame.views.pit.focus_arrival, false);
    std::string focus;
    for (const ArrivalBox& one : arrival_boxes) {
        const std::string column = one.column;
        const double box = std::min(one.width_em * em, width - em);
        row.text(spoken(*one.label), box);
        // What a scanner filled is shown at once: a box that has the cursor keeps its own letters, so it is a new one.
        const auto filled = truck.filled.find(column);
        const int times = filled == truck.filled.end() ? 0 : filled->second;
        const bool again = std::exchange(frame.views.pit.arrival_filled[column], times) != times && times > 0;
        row.box("arrival " + column + " " + std::to_string(times), truck.typed[column], box,
                again || (to_first && column == "ticket"));
        frame.places.mark_last_item("arrival " + column);
        if (again) focus = column;
        if (ImGui::IsItemActive()) focus = column;
        if (!pit.arrival_refused.words.empty() && refused_of == column) {
            const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
            painter.outline({static_cast<double>(low.x), static_cast<double>(low.y),
                             static_cast<double>(high.x - low.x), static_cast<double>(high.y - low.y)},
                            theme.accent, std::max(2.0, em * 0.15));
        }
    }
    // Where nothing is being typed any more the last box still counts: a scanner may come after a glance away.
    if (!focus.empty()) truck.focus = focus;
    for (auto typed = truck.typed.begin(); typed != truck.typed.end();)
        typed = typed->second.empty() && typed->first != "load" ? truck.typed.erase(typed) : std::next(typed);
    const bool changed = truck.typed != pit.arrives->typed;
    if (changed) frame.views.gate.forget_held();
    if (changed || truck.focus != pit.arrives->focus) frame.actions.emplace_back(ArriveAtPit{truck});
    // What is refused has its room kept, so that no box and no button moves when it appears.
    const double top = row.bottom() + em * 0.2;
    double end = top;
    if (!pit.arrival_refused.words.empty()) {
        end = drawing::paragraph(painter, x, top, spoken(words::pit_refused, pit.arrival_refused.words), em, width,
                                 theme.accent, drawing::Weight::bold);
        frame.places.mark("arrival refused", {x, top, width, end - top});
    }
    row.move_to(std::max(end, top + 2.0 * drawing::line_height * em) + em * 0.3);
    const HandSays says = draw_no_and_yes(frame, row, width, "arrival", spoken(words::pit_arrival_yes));
    if (says == HandSays::no) frame.actions.emplace_back(ArriveAtPit{});
    if (says == HandSays::yes) frame.actions.emplace_back(RecordArrival{});
    y = row.bottom() + em * 0.6;
    y += em * 0.4;
    painter.outline({area.x, area.y, area.width, y - area.y}, theme.accent, std::max(2.0, em * 0.15));
    return y + em * 0.5;
}

}  // namespace app::window
