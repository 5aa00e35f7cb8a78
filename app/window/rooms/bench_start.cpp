#include <string>

#include "app/drawing/chart.h"
#include "app/window/rooms/bench_parts.h"
#include "app/window/rooms/pit_parts.h"
#include "app/window/rooms/scrolling_place.h"
#include "app/words.h"

namespace app::window {

namespace {

/// "load W26-29", "field T07, near half": what it was taken from.
std::string taken_from(const models::Sample& sample) {
    if (!sample.load.empty()) return spoken(words::bench_of_load, sample.load);
    if (!sample.bin.empty()) return spoken(words::bench_of_bin, sample.bin);
    if (!sample.field.empty())
        return spoken(words::bench_of_field, sample.part.empty() ? sample.field : sample.field + ", " + sample.part);
    if (!sample.parent.empty()) return spoken(words::bench_of_sample, sample.parent);
    return "";
}

}  // namespace

bool begins_at_bench(const BenchPanel& panel) {
    const BenchView& view = panel.view();
    const BenchChoices& choices = view.choices;
    const auto is_open = [&](const std::vector<std::string>& all, const char* column) {
        return !all.empty() && view.kept.count(column) == 0;
    };
    return !view.asks_yes_or_no && panel.question().empty() &&
           (is_open(choices.operators, "operator") || is_open(choices.kit_lots, "kit_lot") ||
            (view.running.empty() && !choices.samples.empty()));
}

void draw_bench_start(RoomFrame& frame, const BenchView& view, const drawing::Rect& area) {
    const double em = frame.brushes.fonts.text_px();
    if (area.height < em * 2.4) return;  // no row of it would be whole
    ScrollingPlace place(frame, "bench start", area);
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double left = place.left(), width = place.width();
    double top = place.top();
    const auto says = [&](const std::string& line) { frame.actions.emplace_back(BenchSays{{line, LineFrom::keys}}); };
    const auto heading = [&](const char* words_of_it) {
        top = drawing::paragraph(painter, left, top, words_of_it, em, width, theme.ink, drawing::Weight::bold, 1);
    };
    const auto names = [&](const char* words_of_it, const std::vector<std::string>& all, const char* word,
                           const char* column, const std::map<std::string, std::string>& marks) {
        if (all.empty() || view.kept.count(column) != 0) return;
        heading(words_of_it);
        ButtonRow buttons(frame, left, top, width);
        bool was_marked = false;
        for (const std::string& name : all) {
            // What is wrong with one stands beside it, on a line of its own.
            const auto mark = marks.find(name);
            if (was_marked || (mark != marks.end() && &name != &all.front())) buttons.new_line();
            if (buttons.button(name, std::string(word) + " " + name, nullptr)) says(std::string(word) + " " + name);
            was_marked = mark != marks.end();
            if (!was_marked) continue;
            buttons.text(mark->second);
            frame.places.mark_last_item("mark of " + name);
        }
        top = buttons.bottom() + em * 0.8;
    };
    names(spoken(words::bench_start_operators), view.choices.operators, "operator", "operator", {});
    names(spoken(words::bench_start_lots), view.choices.kit_lots, "kit", "kit_lot", view.choices.failed_lots);
    if (view.running.empty() && !view.choices.samples.empty()) {
        heading(spoken(words::bench_start_samples));
        ButtonRow rows(frame, left, top, width);
        for (const models::Sample& sample : view.choices.samples) {
            if (&sample != &view.choices.samples.front()) rows.new_line();
            if (rows.button(sample.sample, "start " + sample.sample, spoken(words::bench_start_tip)))
                says(sample.sample);
            // One that was read before anything was started here: its name stands in the line, the value is typed.
            if (rows.button(spoken(words::bench_start_was_read), "was read " + sample.sample,
                            spoken(words::bench_tip_start_was_read)))
                frame.views.line.begin_with(line_of_reading(sample.sample));
            const std::string from = taken_from(sample);
            rows.text(sample.taken_time
                          ? from + (from.empty() ? "" : ", ") + models::to_text(sample.taken_time->local_day())
                          : from);
        }
        top = rows.bottom();
        if (view.choices.more_samples > 0)
            top = drawing::paragraph(painter, left, top + em * 0.2,
                                     spoken(words::bench_start_more, view.choices.more_samples), em * 0.92, width,
                                     theme.soft_ink, drawing::Weight::regular, 1);
    }
    place.holds(top);
    frame.places.mark("bench start", area);
}

}  // namespace app::window
