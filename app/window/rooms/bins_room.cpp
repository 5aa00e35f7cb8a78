#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/window/rooms/rooms.h"
#include "app/window/words.h"

namespace app::window {

namespace {

using drawing::Rect;

struct QueueRow {
    std::string load, goes_to, state, why;
    double mass_t = 0.0;
};

std::vector<QueueRow> queue_of(const BinsView& bins) {
    std::vector<QueueRow> rows;
    for (const models::Assignment& a : bins.plan.assignments) {
        rows.push_back({a.name, a.bin, models::in_words(a.state), a.reason, a.mass_t});
    }
    for (const models::UnplacedGrain& u : bins.plan.unplaced) {
        rows.push_back(
            {u.name, u.turn_away ? words::turn_away : words::stays, models::in_words(u.state), u.reason, u.mass_t});
    }
    return rows;
}

void draw_queue(RoomFrame& frame, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const float em = static_cast<float>(frame.brushes.fonts.text_px());
    const std::vector<QueueRow> rows = queue_of(*frame.session.answer->view.bins);
    double y = drawing::paragraph(painter, area.x, area.y, words::queue, static_cast<double>(em) * 1.15, area.width,
                                  frame.brushes.theme.ink, drawing::Weight::bold, 1);
    if (rows.empty()) {
        drawing::paragraph(painter, area.x, y, words::no_queue, static_cast<double>(em), area.width,
                           frame.brushes.theme.soft_ink);
        return;
    }
    y = drawing::paragraph(painter, area.x, y, frame.session.answer->view.bins->plan.says,
                           static_cast<double>(em) * 0.88, area.width, frame.brushes.theme.soft_ink,
                           drawing::Weight::regular, 4);
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(y) + em * 0.3F});
    const ImVec2 size{static_cast<float>(area.width), static_cast<float>(area.y + area.height - y) - em * 0.3F};
    if (!ImGui::BeginTable("queue", 5, ImGuiTableFlags_ScrollY | ImGuiTableFlags_RowBg | ImGuiTableFlags_BordersInnerH,
                           size))
        return;
    ImGui::TableSetupScrollFreeze(0, 1);
    ImGui::TableSetupColumn(words::load, ImGuiTableColumnFlags_WidthFixed, em * 4.6F);
    ImGui::TableSetupColumn(words::tonnes, ImGuiTableColumnFlags_WidthFixed, em * 2.6F);
    ImGui::TableSetupColumn(words::goes_to, ImGuiTableColumnFlags_WidthFixed, em * 5.0F);
    ImGui::TableSetupColumn(words::state, ImGuiTableColumnFlags_WidthFixed, em * 5.0F);
    ImGui::TableSetupColumn(words::why, ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableHeadersRow();
    for (const QueueRow& row : rows) {
        ImGui::TableNextRow();
        ImGui::TableNextColumn();
        ImGui::TextUnformatted(row.load.c_str());
        frame.places.mark_last_item("load " + row.load);
        ImGui::TableNextColumn();
        ImGui::TextUnformatted(fmt::format("{:.1f}", row.mass_t).c_str());
        ImGui::TableNextColumn();
        ImGui::TextUnformatted(row.goes_to.c_str());
        ImGui::TableNextColumn();
        ImGui::TextUnformatted(row.state.c_str());
        ImGui::TableNextColumn();
        ImGui::TextWrapped("%s", row.why.c_str());
    }
    ImGui::EndTable();
}

}  // namespace

void draw_bins_room(RoomFrame& frame) {
    const Answer& answer = *frame.session.answer;
    ImguiPainter painter = screen_painter(frame);
    const double em = frame.brushes.fonts.text_px();
    if (!answer.view.bins) {
        drawing::draw_empty(painter, frame.canvas, answer.view.no_bins.empty() ? words::no_bins : answer.view.no_bins,
                            frame.brushes.look());
        return;
    }
    // The bins on the left, tall enough to tell their layers apart; the queue beside them.
    const Rect inside = drawing::inset(frame.canvas, em);
    const double left = std::floor(inside.width * 0.58);
    drawing::BinsFigure figure = answer.bins;
    figure.caution.clear();  // stands under the queue
    const Rect bins{inside.x - em, inside.y - em, left + em, inside.height + em};
    drawing::draw_bins_figure(painter, bins, figure, frame.brushes.look());
    frame.places.mark("bins", bins);
    painter.rect({inside.x + left + em * 0.5, frame.canvas.y, 1.0, frame.canvas.height}, frame.brushes.theme.line);
    const Rect right{inside.x + left + em * 1.5, inside.y, inside.width - left - em * 1.5, inside.height};
    draw_queue(frame, draw_foot(frame, right, {{answer.bins.caution, frame.brushes.theme.soft_ink}}));
}

}  // namespace app::window
