#include <algorithm>
#include <string>

#include <imgui.h>

#include "app/bench/bench_words.h"
#include "app/drawing/chart.h"
#include "app/result_words.h"
#include "app/window/rooms/bench_parts.h"
#include "app/window/rooms/pit_parts.h"
#include "app/words.h"

namespace app::window {

std::string line_of_reading(const std::string& sample) {
    const bool is_one_word = sample.find(' ') == std::string::npos;
    return benching::as_typed("result") + " " + (is_one_word ? sample : "\"" + sample + "\"") + " ";
}

namespace {

bool types_what_was_read(const RoomFrame& frame) {
    const auto& to_read = frame.session.to_read;
    return to_read && frame.views.line.text().starts_with(line_of_reading(to_read->sample));
}

}  // namespace

double draw_sample_to_read(RoomFrame& frame, const BenchPanel& panel, const drawing::Rect& area) {
    if (!frame.session.to_read) return area.y;
    const ReadAtBench& to_read = *frame.session.to_read;
    const BenchView& view = panel.view();
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px(), inset = em * 0.6;
    const std::string of_none = reads_cell(models::Reading::invalid, 0.0);
    const auto result = std::find_if(view.last.begin(), view.last.end(), [&](const BenchResult& one) {
        return one.sample == to_read.sample && one.reads != of_none;
    });
    const bool is_read = result != view.last.end();
    const bool runs = std::any_of(view.running.begin(), view.running.end(),
                                  [&](const RunningView& one) { return one.strip.sample == to_read.sample; });
    const std::string says = is_read ? spoken(words::bench_to_read_is_read, to_read.sample, to_read.load, result->reads)
                             : runs  ? spoken(words::bench_to_read_runs, to_read.sample, to_read.load)
                                     : spoken(words::bench_to_read, to_read.sample, to_read.load);
    // Where it has no room for all the buttons go first: what they are of stands in the line.
    double y = area.y + em * (frame.tight ? 0.1 : 0.4);
    if (!frame.tight || is_read || runs)
        y = drawing::paragraph(painter, area.x + inset, y, says, em, area.width - inset * 2.0, theme.ink,
                               drawing::Weight::bold, 3);
    if (!frame.tight && !is_read && types_what_was_read(frame))
        y = drawing::paragraph(painter, area.x + inset, y, spoken(words::bench_to_read_hint, to_read.sample), em,
                               area.width - inset * 2.0, theme.ink, drawing::Weight::regular, 3);
    frame.places.mark("to read", {area.x, area.y, area.width, y - area.y});
    const double foot = area.y + area.height;
    if (y + em * 2.0 > foot) return area.y;
    // Clipped at the foot, and scrolls there.
    const float child_height = static_cast<float>(foot - y);
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(y)});
    ImGui::BeginChild("to read", {static_cast<float>(area.width), child_height});
    const double from = static_cast<double>(ImGui::GetCursorScreenPos().y);
    ButtonRow row(frame, area.x + inset, from + em * 0.2, area.width - inset * 2.0);
    if (!is_read) {
        if (row.button(spoken(words::bench_to_read_typed), "is read already", spoken(words::bench_tip_typed), false,
                       types_what_was_read(frame)))
            frame.views.line.begin_with(line_of_reading(to_read.sample));
        if (!runs && row.button(spoken(words::bench_to_read_start), "starts now", spoken(words::bench_tip_start))) {
            frame.views.line.clear();
            frame.actions.emplace_back(BenchSays{{to_read.sample, LineFrom::keys}});
        }
    }
    if (row.button(spoken(words::bench_to_pit, to_read.load), "back to the pit", nullptr, is_read)) {
        frame.actions.emplace_back(EnterRoom{Room::bins});
        frame.actions.emplace_back(ChooseLoad{to_read.load});
    }
    ImGui::EndChild();
    y = std::min(foot, y + row.bottom() - from + em * 0.5);
    painter.outline({area.x, area.y, area.width, y - area.y}, theme.line, 1.5);
    return std::min(foot, y + em * 0.6);
}

}  // namespace app::window
