#include <algorithm>
#include <cctype>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <imgui.h>

#include "app/bench/bench_words.h"
#include "app/cautions.h"
#include "app/control_figure.h"
#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/window/rooms/bench_parts.h"
#include "app/window/rooms/rooms.h"
#include "app/words.h"

namespace app::window {

namespace {

using drawing::Align;
using drawing::Point;
using drawing::Rect;
using drawing::Weight;

/// A button that only a pointer presses: Enter belongs to the line, and to the scanner.
bool pressed_by_hand(RoomFrame& frame, const char* words, const char* place) {
    const bool pressed = ImGui::Button(words);
    frame.places.mark_last_item(place);
    return pressed;
}

/// A place that scrolls where it is higher than there is room for, with the wheel or Page Down; the line that is being
/// typed stays in sight above it. Draws by `write`, from a top on, and answers where it ended.
template <typename Write>
double draw_scrolled(RoomFrame& frame, const char* name, const Rect& area, double height, const Write& write) {
    if (height <= area.height) {
        ImguiPainter painter = screen_painter(frame);
        write(painter, area.y);
        return area.y + height;
    }
    // Whatever little there is of it: it never reaches below its place.
    const double em = frame.brushes.fonts.text_px(), hint = area.height > em * 2.4 ? em * 1.1 : 0.0;
    const Rect shown{area.x, area.y, area.width, std::max(1.0, area.height - hint)};
    ImGui::SetCursorScreenPos({static_cast<float>(shown.x), static_cast<float>(shown.y)});
    ImGui::BeginChild(name, {static_cast<float>(shown.width), static_cast<float>(shown.height)});
    scroll_by_keys(frame, false);
    ImguiPainter painter = screen_painter(frame);
    write(painter, static_cast<double>(ImGui::GetCursorScreenPos().y));
    ImGui::Dummy({1.0F, static_cast<float>(height)});
    const bool more = ImGui::GetScrollY() < ImGui::GetScrollMaxY() - 1.0F;
    ImGui::EndChild();
    if (more && hint > 0.0) {
        ImguiPainter below = screen_painter(frame);
        below.text({area.x + area.width, shown.y + shown.height + hint * 0.8}, spoken(words::more_below), em * 0.8,
                   frame.brushes.theme.soft_ink, Align::right);
    }
    return area.y + area.height;
}

/// What was said, the newest at the foot, as much as there is room for; what was said before it takes no more than
/// `with_older` of the height. Answers where it ended.
double draw_said(RoomFrame& frame, const BenchPanel& panel, const Rect& area, double with_older) {
    ImguiPainter painter = screen_painter(frame);
    drawing::MeasuringPainter measure(painter);
    const double width = area.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px() * (frame.tight ? 0.8 : 1.0);
    bool with_lines = true;  // that were typed or scanned; where the answer has no room beside its line it stands alone
    const auto write = [&](drawing::Painter& on, const BenchPanel::Said& said, double top, bool newest) {
        if (!said.line.empty() && with_lines) {
            const std::string line =
                said.by_scanner ? spoken(words::bench_scanned, said.line) : spoken(words::bench_typed, said.line);
            top = drawing::paragraph(on, area.x, top, line, em * 0.88, width, theme.soft_ink);
        }
        for (std::size_t i = 0; i < said.sentences.size(); ++i) {
            const bool refusal = said.refused && i + 1 == said.sentences.size();
            const std::string sentence =
                refusal ? spoken(words::bench_refused, said.sentences[i]) : said.sentences[i] + ".";
            top = drawing::paragraph(on, area.x, top, sentence, em, width, newest ? theme.ink : theme.soft_ink,
                                     newest && refusal ? Weight::bold : Weight::regular);
        }
        return top + em * 0.5;
    };
    std::size_t first = panel.said().size();
    with_lines = panel.said().empty() || write(measure, panel.said().back(), 0.0, true) <= area.height;
    double height = 0.0;
    while (first > 0) {
        const double more = write(measure, panel.said()[first - 1], 0.0, first == panel.said().size());
        if (height > 0.0 && height + more > with_older) break;
        height += more;
        --first;
    }
    frame.places.mark("bench said", area);
    const std::string newest = panel.said().empty() ? "" : panel.said().back().line;
    return draw_scrolled(frame, ("said " + newest).c_str(), area, height, [&](drawing::Painter& on, double top) {
        for (std::size_t i = first; i < panel.said().size(); ++i)
            top = write(on, panel.said()[i], top, i + 1 == panel.said().size());
    });
}

/// What is to be typed now: the answer to a question, what the strip in hand reads, or a sample.
std::string prompt_of(const RoomFrame& frame, const BenchPanel& panel) {
    if (frame.views.line.came_back()) return spoken(words::bench_came_back);
    if (!panel.question().empty()) return panel.question();
    const std::vector<std::string> typed = benching::words_of(frame.views.line.text());
    if (typed.size() >= 2 && benching::english_of_typed(typed.front()) == "result")
        return spoken(words::bench_prompt_was_read, typed[1]);
    for (const RunningView& one : panel.view().running)
        if (one.in_hand) return spoken(words::bench_prompt_in_hand, one.strip.strip, one.strip.sample);
    return spoken(words::bench_prompt);
}

double prompt_share(const RoomFrame& frame) {
    return frame.tight ? 0.85 : 1.05;
}

/// So high is the line that is typed, with what stands above it and its yes and no.
double height_of_line_entry(RoomFrame& frame, const BenchPanel& panel, double width) {
    ImguiPainter painter = screen_painter(frame);
    drawing::MeasuringPainter measure(painter);
    const double em = frame.brushes.fonts.text_px();
    const double prompt = drawing::paragraph(measure, 0.0, 0.0, prompt_of(frame, panel), prompt_share(frame) * em,
                                             width, frame.brushes.theme.ink, Weight::bold, 3);
    const double answers = panel.view().asks_yes_or_no ? static_cast<double>(ImGui::GetFrameHeight()) + em * 0.5 : 0.0;
    return prompt + em * (frame.tight ? 1.15 : 1.5) * 1.7 + em * 0.8 + answers;
}

/// The line that is being typed, the question that it answers, and for a result its yes and no.
double draw_line_entry(RoomFrame& frame, const BenchPanel& panel, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const BenchView& view = panel.view();
    double top = drawing::paragraph(painter, area.x, area.y, prompt_of(frame, panel), prompt_share(frame) * em,
                                    area.width, theme.ink, Weight::bold, 3);
    const double size = em * (frame.tight ? 1.15 : 1.5);
    const Rect box{area.x, top + em * 0.3, area.width, size * 1.7};
    painter.rect(box, theme.panel);
    painter.outline(box, theme.accent, std::max(2.0, em * 0.12));
    const double room = box.width - size * 1.2;
    std::string shown = frame.views.line.text();
    // Where it is long its end is what is being typed.
    while (painter.text_width(shown, size) > room && !shown.empty()) shown.erase(0, 1);
    const double baseline = box.y + box.height / 2.0 + size * 0.36;
    painter.text({box.x + size * 0.4, baseline}, shown, size, theme.ink);
    const double caret = box.x + size * 0.45 + painter.text_width(shown, size);
    painter.rect({caret, box.y + box.height * 0.2, std::max(1.0, em * 0.1), box.height * 0.6}, theme.ink);
    frame.places.mark("bench line", box);
    top = box.y + box.height + em * 0.5;
    if (!view.asks_yes_or_no) return top;
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(top)});
    if (pressed_by_hand(frame, spoken(words::bench_yes), "bench yes"))
        frame.actions.emplace_back(BenchSays{{"yes", LineFrom::keys}});
    ImGui::SameLine();
    if (pressed_by_hand(frame, spoken(words::bench_no), "bench no"))
        frame.actions.emplace_back(BenchSays{{"no", LineFrom::keys}});
    return top + static_cast<double>(ImGui::GetFrameHeight()) + em * 0.5;
}

/// Operator, kit lot and what else goes on from test to test, and whether a control is due; smaller, and then cut,
/// where it is higher than its place.
double draw_in_use(RoomFrame& frame, const BenchView& view, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    drawing::MeasuringPainter measure(painter);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const Weight weight = view.control.due && !view.controls.empty() ? Weight::bold : Weight::regular;
    const auto write = [&](drawing::Painter& on, double top, double size, int most_lines) {
        top = drawing::paragraph(on, area.x, top, bench_in_use(view), size, area.width, theme.ink, Weight::regular,
                                 most_lines);
        top = drawing::paragraph(on, area.x, top + size * 0.2, bench_control(view), size, area.width, theme.ink, weight,
                                 most_lines);
        if (!view.doubts.empty())
            top = drawing::paragraph(on, area.x, top + size * 0.2, view.doubts.back() + ".", size, area.width,
                                     theme.ink, Weight::regular, std::min(most_lines, 4));
        return top;
    };
    double size = em;
    int most_lines = 40;
    while (size > 0.66 * em && write(measure, 0.0, size, most_lines) > area.height) size -= 1.0;
    while (most_lines > 1 && write(measure, 0.0, size, most_lines) > area.height) --most_lines;
    const double floor_y = write(painter, area.y, size, most_lines);
    frame.places.mark("bench in use", {area.x, area.y, area.width, floor_y - area.y});
    return floor_y;
}

/// Where a clock stands between its start and the end of its time.
void draw_clock_bar(drawing::Painter& painter, const Rect& bar, const RunningView& one, const drawing::Theme& theme) {
    const auto seconds = [](const std::optional<std::chrono::seconds>& time) {
        return time ? static_cast<double>(time->count()) : 0.0;
    };
    const auto ran = static_cast<double>(std::max<long long>(0, one.clock.ran.count()));
    const double least = seconds(one.window.least), most = seconds(one.window.most);
    const double end = std::max({most * 1.15, least * 1.3, 60.0});
    const auto at = [&](double time) { return bar.x + bar.width * std::min(1.0, time / end); };
    painter.rect(bar, theme.panel);
    // The time in which it is read: a frame that stands out of the bar.
    const double from = one.window.least ? at(least) : bar.x, to = one.window.most ? at(most) : bar.x + bar.width;
    painter.rect({bar.x, bar.y + bar.height * 0.3, at(ran) - bar.x, bar.height * 0.4}, theme.accent);
    if (one.window.least || one.window.most) {
        const Rect window{from, bar.y, to - from, bar.height};
        painter.outline(window, theme.ink, 1.5);
        const std::vector<std::vector<Point>> ring{
            {{from, bar.y}, {to, bar.y}, {to, bar.y + bar.height}, {from, bar.y + bar.height}}};
        drawing::hatch(painter, ring, bar.height * 0.4, drawing::with_alpha(theme.ink, 0.35), 1.0);
    }
    painter.rect({at(ran) - 1.0, bar.y - bar.height * 0.15, 2.0, bar.height * 1.3}, theme.ink);
}

double draw_clocks(RoomFrame& frame, const BenchView& view, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    double top = drawing::paragraph(painter, area.x, area.y, spoken(words::bench_clocks), em * 1.15, area.width,
                                    theme.ink, Weight::bold, 1);
    if (view.running.empty())
        return drawing::paragraph(painter, area.x, top, spoken(words::bench_no_clocks), em, area.width,
                                  theme.soft_ink) +
               em;
    const double row = em * 3.1, foot = area.y + area.height;
    std::size_t shown = 0;
    for (const RunningView& one : view.running) {
        if (top + row > foot - em * 1.4 && shown > 0) break;
        const Rect place{area.x, top, area.width, row - em * 0.3};
        if (one.in_hand) painter.outline(place, theme.accent, 2.0);
        const double inner = place.x + em * 0.5, width = place.width - em;
        const std::string words_of_it = models::in_words(one.clock, one.window);
        const std::string state = one.in_hand ? spoken(words::bench_in_hand, words_of_it) : words_of_it;
        const double state_width = painter.text_width(state, em, Weight::bold);
        painter.text({inner + width, top + em * 1.2}, state, em, theme.ink, Align::right, Weight::bold);
        const std::string name =
            drawing::shortened(painter,
                               spoken(words::bench_strip, one.strip.sample, one.strip.strip,
                                      one.strip.kit_lot.empty() ? spoken(words::bench_no_lot) : one.strip.kit_lot),
                               em, width - state_width - em);
        painter.text({inner, top + em * 1.2}, name, em, theme.ink);
        draw_clock_bar(painter, {inner, top + em * 1.65, width, em * 0.7}, one, theme);
        frame.places.mark("clock " + one.strip.strip, place);
        top += row;
        ++shown;
    }
    if (shown < view.running.size()) {
        const auto more = view.running.size() - shown;
        top = drawing::paragraph(painter, area.x, top, spoken(words::bench_more_clocks, more), em, area.width,
                                 theme.soft_ink);
    }
    return top + em * 0.5;
}

double draw_last(RoomFrame& frame, const BenchView& view, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    double top = drawing::paragraph(painter, area.x, area.y, spoken(words::bench_last), em * 1.15, area.width,
                                    theme.ink, Weight::bold, 1);
    if (view.last.empty()) {
        return drawing::paragraph(painter, area.x, top, spoken(words::bench_no_last), em, area.width, theme.soft_ink);
    }
    const double small = em * (frame.tight ? 0.72 : 0.92);
    const double test = area.x, sample = area.x + area.width * 0.22, reads = area.x + area.width * 0.58,
                 interval = area.x + area.width * 0.62;
    const auto head = [&](double x, const char* words_of_it, Align align) {
        painter.text({x, top + small}, words_of_it, small, theme.soft_ink, align);
    };
    head(test, spoken(words::bench_test), Align::left);
    head(sample, spoken(words::bench_sample), Align::left);
    head(reads, spoken(words::bench_reads), Align::right);
    head(interval, spoken(words::bench_interval), Align::left);
    top += small * 1.5;
    painter.rect({area.x, top - small * 0.2, area.width, 1.0}, theme.line);
    const double foot = area.y + area.height;
    for (const BenchResult& one : view.last) {
        std::string about = one.failed     ? spoken(words::bench_failed_control)
                            : one.in_doubt ? spoken(words::bench_in_doubt)
                                           : "";
        for (const std::string& flag : one.flags) about += (about.empty() ? "" : "; ") + flag;
        drawing::MeasuringPainter measure(painter);
        const auto write_about = [&](drawing::Painter& on, double y) {
            if (about.empty()) return y;
            return drawing::paragraph(on, sample, y, about + ".", small * 0.92, area.x + area.width - sample,
                                      theme.soft_ink, Weight::regular, 2);
        };
        const double height = write_about(measure, small * 1.45);
        if (top + height > foot) break;
        painter.text({test, top + small}, drawing::shortened(painter, one.test, small, sample - test - small * 0.5),
                     small, theme.ink);
        const double reads_width = painter.text_width(one.reads, small, Weight::bold);
        painter.text({sample, top + small},
                     drawing::shortened(painter, one.sample, small, reads - reads_width - sample - small * 0.5), small,
                     theme.ink);
        painter.text({reads, top + small}, one.reads, small, theme.ink, Align::right, Weight::bold);
        painter.text({interval, top + small},
                     drawing::shortened(painter, one.interval, small, area.x + area.width - interval), small,
                     theme.ink);
        write_about(painter, top + small * 1.45);
        frame.places.mark("result " + one.test, {area.x, top, area.width, height});
        top += height;
    }
    return top + em * 0.8;
}

/// Where the uncertainty of the newest result of grain comes from: a bar of its parts, the largest named.
double draw_parts(RoomFrame& frame, const BenchView& view, const Rect& area) {
    const auto newest = std::find_if(view.last.begin(), view.last.end(),
                                     [](const BenchResult& one) { return one.parts && one.parts->total() > 0.0; });
    const double em = frame.brushes.fonts.text_px();
    if (newest == view.last.end() || area.height < em * 5.0) return area.y;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const models::BudgetParts& parts = *newest->parts;
    struct Part {
        const char* name;
        double variance;
    };
    const std::vector<Part> all{{spoken(words::part_sampling), parts.sampling},
                                {spoken(words::part_preparation), parts.preparation},
                                {spoken(words::part_assay), parts.assay},
                                {spoken(words::part_shared), parts.shared}};
    double top = drawing::paragraph(painter, area.x, area.y, spoken(words::bench_parts, newest->test), em * 1.15,
                                    area.width, theme.ink, Weight::bold, 1);
    const double bar = em * 1.1, small = em * 0.88;
    double x = area.x, left = 1.0, free_from = area.x;
    std::vector<std::string> names;
    std::vector<double> label;  // each name below its part, or as near to it as the others leave room
    for (const Part& part : all) {
        const double share = part.variance / parts.total(), width = area.width * share;
        painter.rect({x, top, width, bar}, drawing::blended(theme.panel, theme.accent, 0.15 + 0.25 * left));
        painter.outline({x, top, width, bar}, theme.ink, 1.0);
        names.push_back(spoken(words::bench_part, part.name, 100.0 * share));
        label.push_back(std::max(free_from, x));
        free_from = label.back() + painter.text_width(names.back(), small) + em;
        x += width;
        left -= 0.3;
    }
    double free_to = area.x + area.width;
    for (std::size_t i = names.size(); i-- > 0;) {
        label[i] = std::min(label[i], free_to - painter.text_width(names[i], small));
        free_to = label[i] - em * 0.6;
        painter.text({label[i], top + bar + small * 1.3}, names[i], small, theme.ink);
    }
    top += bar + em * 1.6;
    if (!newest->best_step.empty()) {
        const std::string step = spoken(words::bench_best_step, newest->best_step);
        top = drawing::paragraph(painter, area.x, top, step, em * 0.92, area.width, theme.soft_ink, Weight::regular, 2);
    }
    frame.places.mark("bench parts", {area.x, area.y, area.width, top - area.y});
    return top + em * 0.8;
}

/// The chart of a control with the kit lot in use, as large as there is room for; of several controls the one that was
/// read last.
void draw_chart_of_lot(RoomFrame& frame, const BenchView& view, const Rect& area) {
    const double em = frame.brushes.fonts.text_px();
    if (view.charts.empty() || area.height < em * 13.0) return;
    ControlFigure figure;
    figure.charts = {*std::max_element(view.charts.begin(), view.charts.end(), [](const auto& a, const auto& b) {
        return a.points.back().time.utc < b.points.back().time.utc;
    })};
    drawing::Look look = frame.brushes.look();
    look.text_px = em * 0.85;
    ImguiPainter painter = screen_painter(frame);
    draw_control_figure(painter, {area.x - 0.9 * look.text_px, area.y, area.width + 1.8 * look.text_px, area.height},
                        figure, look);
    frame.places.mark("bench chart", area);
}

/// The words that the bench understands, its page of the terminal in two columns.
void draw_bench_help(RoomFrame& frame, const Rect& place) {
    ImguiPainter painter = screen_painter(frame);
    Rect area = place;
    area.width -= static_cast<double>(ImGui::GetStyle().ScrollbarSize);
    const drawing::Theme& theme = frame.brushes.theme;
    constexpr std::size_t column = 21;  // of the page of the terminal
    // How a wrong result is mended at a terminal stands last there; here it is taken back.
    std::string page = bench_words_page();
    page += spoken(words::bench_undoes);
    page += "\n";
    double size = frame.brushes.fonts.text_px() * 0.9;
    const auto write = [&](drawing::Painter& on, double top, double letters) {
        for (std::size_t from = 0; from < page.size();) {
            std::size_t end = std::min(page.find('\n', from), page.size());
            std::string line = page.substr(from, end - from);
            from = end + 1;
            // A line of words alone may be longer than their column.
            const bool alone = line.size() <= column || (line[column - 1] != ' ' && line[column - 2] != ' ');
            // What goes on in the second column is broken anew.
            while (!alone && from < page.size() && line.starts_with("  ") &&
                   page.compare(from, column, std::string(column, ' ')) == 0) {
                end = std::min(page.find('\n', from), page.size());
                line += " " + page.substr(from + column, end - from - column);
                from = end + 1;
            }
            if (!line.starts_with("  ")) {
                top = drawing::paragraph(on, area.x, top + letters * 0.3, line, letters, area.width, theme.ink,
                                         Weight::bold);
                continue;
            }
            const std::size_t last = line.find_last_not_of(' ', (alone ? line.size() : column) - 1);
            const std::string words_of_it = last == std::string::npos || last < 2 ? "" : line.substr(2, last - 1);
            const double indent = letters * 9.0;
            const bool wide = alone || on.text_width(words_of_it, letters) > indent - letters;
            if (!words_of_it.empty())
                drawing::paragraph(on, area.x, top, words_of_it, letters, area.width, theme.ink, Weight::bold, 1);
            if (wide) top += letters * drawing::line_height;
            if (!alone)
                top = drawing::paragraph(on, area.x + indent, top, line.substr(column), letters, area.width - indent,
                                         theme.ink);
        }
        return top;
    };
    drawing::MeasuringPainter measure(painter);
    // A little smaller where that shows all of it at once; else it scrolls and can be read.
    const double least = frame.brushes.fonts.text_px() * 0.75;
    while (size > least && write(measure, 0.0, size) > area.height) size -= 0.5;
    draw_scrolled(frame, "help", place, write(measure, 0.0, size),
                  [&](drawing::Painter& on, double top) { write(on, top, size); });
    frame.places.mark("bench help", place);
}

}  // namespace

void draw_bench_room(RoomFrame& frame) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    if (!frame.session.bench) {
        const std::string& why = frame.session.bench_problem;
        drawing::draw_empty(painter, frame.canvas, why.empty() ? spoken(words::working) : why, frame.brushes.look());
        return;
    }
    while (const auto line = frame.views.line.take()) frame.actions.emplace_back(BenchSays{*line});
    const BenchPanel& panel = *frame.session.bench;
    const BenchView& view = panel.view();
    const double margin = frame.tight ? em * 0.6 : em * 1.2;
    const Rect inside =
        draw_foot(frame, drawing::inset(frame.canvas, margin), {{spoken(caution::screening), theme.soft_ink}});
    const double left_width = std::floor(inside.width * 0.46), gap = margin * 2.0;
    const Rect left{inside.x, inside.y, left_width, inside.height};
    const Rect right{inside.x + left_width + gap, inside.y, inside.width - left_width - gap, inside.height};
    painter.rect({left.x + left_width + gap * 0.5, frame.canvas.y, 1.0, inside.height + margin}, theme.line);
    // The line is always whole, whatever stands above it. An answer has a few lines below it, and so has the sample
    // that somebody came with from the pit.
    const double for_answer = panel.said().empty() && !panel.shows_help() ? 0.0 : em * (frame.tight ? 3.6 : 6.0);
    const double for_sample = !frame.session.to_read ? 0.0 : em * (frame.tight ? 2.6 : 7.0);
    const bool begins = !panel.shows_help() && begins_at_bench(panel);
    const double for_beginning = begins && !frame.session.to_read ? em * 3.6 : 0.0;
    const double gap_above = em * (frame.tight ? 0.4 : 0.8);
    const double for_in_use = std::max(0.0, left.height - gap_above - height_of_line_entry(frame, panel, left.width) -
                                                for_answer - for_sample - for_beginning);
    double top = draw_in_use(frame, view, {left.x, left.y, left.width, for_in_use}) + gap_above;
    top = draw_line_entry(frame, panel, {left.x, top, left.width, left.y + left.height - top});
    top = draw_sample_to_read(frame, panel, {left.x, top, left.width, left.y + left.height - for_answer - top});
    const Rect rest{left.x, top, left.width, std::max(0.0, left.y + left.height - top)};
    if (panel.shows_help()) {
        draw_bench_help(frame, rest);
    } else {
        // What was said last stands next to the line; below it is what can be done next.
        // A heading and a row of buttons, the rest scrolls; where both have no room the answer goes first.
        const double share = rest.height > em * 9.5 ? 4.8 : rest.height > em * 4.0 ? 3.4 : 0.0;
        const double for_start = begins ? em * share : 0.0;
        const double said = draw_said(
            frame, panel,
            {rest.x, rest.y, rest.width, std::max(rest.height * (frame.tight ? 0.2 : 0.4), rest.height - for_start)},
            rest.height * (begins ? 0.4 : 1.0));
        const double from = said + em * (frame.tight ? 0.2 : 0.8);
        if (begins) draw_bench_start(frame, view, {rest.x, from, rest.width, rest.y + rest.height - from});
    }
    const double clocks = draw_clocks(frame, view, {right.x, right.y, right.width, right.height * 0.6});
    const auto below = [&](double from) {
        return Rect{right.x, from, right.width, std::max(0.0, right.y + right.height - from)};
    };
    // In a high window some results make room for what stands below them.
    Rect last = below(clocks);
    if (last.height > em * 34.0) last.height -= em * 22.0;
    const double results = draw_last(frame, view, last);
    const double parts = draw_parts(frame, view, below(results));
    draw_chart_of_lot(frame, view, below(parts));
}

}  // namespace app::window
