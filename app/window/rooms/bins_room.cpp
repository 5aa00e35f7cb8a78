#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/window/rooms/rooms.h"
#include "app/words.h"

namespace app::window {

namespace {

using drawing::Rect;

struct QueueRow {
    std::string load, goes_to, state, why, reason;
    double mass_t = 0.0;
};

std::vector<QueueRow> queue_of(const BinsView& bins) {
    std::vector<QueueRow> rows;
    for (const models::Assignment& a : bins.plan.assignments) {
        rows.push_back({a.name, a.bin, models::in_words(a.state), a.in_short, a.reason, a.mass_t});
    }
    for (const models::UnplacedGrain& u : bins.plan.unplaced) {
        rows.push_back({u.name, u.turn_away ? words::turn_away : words::stays, models::in_words(u.state), u.in_short,
                        u.reason, u.mass_t});
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
    // What the plan goes by stands above the loads; where there is little height below the last of them.
    const std::string& says = frame.session.answer->view.bins->plan.says;
    if (!frame.tight)
        y = drawing::paragraph(painter, area.x, y, says, static_cast<double>(em) * 0.88, area.width,
                               frame.brushes.theme.soft_ink);
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(y) + em * 0.3F});
    const ImVec2 size{static_cast<float>(area.width), static_cast<float>(area.y + area.height - y) - em * 0.3F};
    // Where the reasons would become a thin column they stand below their load, over the whole width.
    const bool narrow = size.x < em * 36.0F;
    if (!ImGui::BeginTable("queue", narrow ? 4 : 5,
                           ImGuiTableFlags_ScrollY | ImGuiTableFlags_RowBg |
                               (narrow ? ImGuiTableFlags_None : ImGuiTableFlags_BordersInnerH),
                           size))
        return;
    ImGui::TableSetupScrollFreeze(0, 1);
    if (narrow) {
        // Each in proportion to its longest word, so that none is cut before all are.
        const auto column = [&](const char* head, const auto& words_of) {
            float widest = ImGui::CalcTextSize(head).x;
            for (const QueueRow& row : rows) widest = std::max(widest, ImGui::CalcTextSize(words_of(row).c_str()).x);
            ImGui::TableSetupColumn(head, ImGuiTableColumnFlags_WidthStretch, widest + em * 0.3F);
        };
        column(words::load, [](const QueueRow& row) { return row.load; });
        column(words::tonnes, [](const QueueRow& row) { return fmt::format("{:.1f}", row.mass_t); });
        column(words::goes_to, [](const QueueRow& row) { return row.goes_to; });
        column(words::state, [](const QueueRow& row) { return row.state; });
    } else {
        ImGui::TableSetupColumn(words::load, ImGuiTableColumnFlags_WidthFixed, em * 4.6F);
        ImGui::TableSetupColumn(words::tonnes, ImGuiTableColumnFlags_WidthFixed, em * 2.6F);
        ImGui::TableSetupColumn(words::goes_to, ImGuiTableColumnFlags_WidthFixed, em * 5.0F);
        ImGui::TableSetupColumn(words::state, ImGuiTableColumnFlags_WidthFixed, em * 5.0F);
        ImGui::TableSetupColumn(words::why, ImGuiTableColumnFlags_WidthStretch);
    }
    ImGui::TableHeadersRow();
    scroll_by_keys(frame, true);
    const float reason_width = size.x - em * 2.0F;
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
        if (!narrow) {
            ImGui::TableNextColumn();
            draw_wrapped(frame, row.why, static_cast<double>(ImGui::GetContentRegionAvail().x));
            if (ImGui::IsItemHovered()) show_tip(row.reason);
            continue;
        }
        draw_across_row(frame, row.why, reason_width);
    }
    if (frame.tight) draw_across_row(frame, says, reason_width);
    ImGui::EndTable();
}

double more_below_height(const RoomFrame& frame) {
    return frame.brushes.fonts.text_px() * 0.88 * 1.7;
}

/// Says below a scrolling place that it goes on.
void draw_more_below(RoomFrame& frame, const Rect& area) {
    const double size = frame.brushes.fonts.text_px() * 0.88;
    ImguiPainter painter = screen_painter(frame);
    const double width = painter.text_width(words::more_below, size, drawing::Weight::bold) + 2.6 * size;
    const Rect plate{area.x + 0.5 * (area.width - width), area.y, width, area.height};
    painter.rect(plate, frame.brushes.theme.accent);
    const double x = plate.x + 0.5 * size, y = plate.y + 0.6 * size;
    painter.polygon({{{x, y}, {x + 0.8 * size, y}, {x + 0.4 * size, y + 0.6 * size}}}, frame.brushes.theme.paper);
    painter.text({x + 1.3 * size, plate.y + 1.2 * size}, words::more_below, size, frame.brushes.theme.paper,
                 drawing::Align::left, drawing::Weight::bold);
    frame.places.mark("more below", plate);
}

/// The bins no smaller than they can be read; what does not fit is scrolled to.
void draw_scrolling_bins(RoomFrame& frame, const Rect& whole, const drawing::BinsFigure& figure) {
    const drawing::Look look = frame.brushes.look();
    const double strip = more_below_height(frame);
    const double narrower = whole.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize);
    const double needed = drawing::least_bins_area(screen_painter(frame), narrower, figure, look).height;
    Rect area = whole;
    if (needed > whole.height) area.height -= strip;
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y)});
    ImGui::BeginChild("bins", {static_cast<float>(area.width), static_cast<float>(area.height)});
    ImguiPainter painter = screen_painter(frame);
    const double width = narrower, height = std::max(area.height, needed);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    const Rect drawn{static_cast<double>(from.x), static_cast<double>(from.y), width, height};
    drawing::draw_bins_figure(painter, drawn, figure, look);
    ImGui::Dummy({static_cast<float>(width), static_cast<float>(height)});
    if (ImGui::IsItemHovered()) {
        const ImVec2 pointer = ImGui::GetIO().MousePos;
        const drawing::Point at{static_cast<double>(pointer.x), static_cast<double>(pointer.y)};
        const std::string layer = drawing::layer_sentence_under(painter, drawn, figure, look, at);
        if (const auto bin = drawing::bin_under(painter, drawn, figure, look, at))
            show_tip((layer.empty() ? "" : layer + "\n") + drawing::bin_sentences(figure.bins[*bin]));
    }
    scroll_by_keys(frame, false);
    const bool more = ImGui::GetScrollY() < ImGui::GetScrollMaxY() - 1.0F;
    ImGui::EndChild();
    if (more) draw_more_below(frame, {area.x, area.y + area.height, area.width, strip});
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
    // The bins on the left, tall enough to tell their layers apart; the queue beside them, the caution below both.
    const double margin = frame.tight ? em * 0.5 : em;
    const Rect inside =
        draw_foot(frame, drawing::inset(frame.canvas, margin), {{answer.bins.caution, frame.brushes.theme.soft_ink}});
    const double left = std::floor(inside.width * (inside.width < em * 70.0 ? 0.52 : 0.58));
    drawing::BinsFigure figure = answer.bins;
    figure.caution.clear();  // stands at the foot
    if (frame.tight) figure.subtitle.clear();
    // Where the next loads go stands first.
    std::stable_partition(figure.bins.begin(), figure.bins.end(),
                          [](const drawing::BinDrawing& bin) { return !bin.coming.empty(); });
    const Rect bins{inside.x - margin, inside.y - margin, left + margin, inside.height + margin};
    frame.places.mark("bins", bins);
    figure.compact = drawing::least_bins_area(painter, bins.width, figure, frame.brushes.look()).height > bins.height;
    draw_scrolling_bins(frame, bins, figure);
    painter.rect({inside.x + left + margin * 0.5, frame.canvas.y, 1.0, inside.height + margin},
                 frame.brushes.theme.line);
    draw_queue(frame, {inside.x + left + margin * 1.5, inside.y, inside.width - left - margin * 1.5, inside.height});
}

}  // namespace app::window
