#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/pit_words.h"
#include "app/window/rooms/pit_parts.h"
#include "app/window/rooms/scrolling_place.h"
#include "app/window/tips.h"
#include "app/words.h"

namespace app::window {

namespace {

using drawing::Rect;

/// The bins no smaller than they can be read, below what is said of the truck: all of it scrolls together.
void draw_bins(RoomFrame& frame, const Rect& area, const drawing::BinsFigure& whole) {
    const drawing::Look look = frame.brushes.look();
    ImguiPainter painter = screen_painter(frame);
    drawing::BinsFigure figure = whole;
    figure.compact = drawing::least_bins_area(painter, area.width, figure, look).height > area.height;
    if (figure.compact) figure.subtitle.clear();
    const double needed = drawing::least_bins_area(painter, area.width, figure, look).height;
    const Rect drawn{area.x, area.y, area.width, std::max(area.height, needed)};
    drawing::draw_bins_figure(painter, drawn, figure, look);
    frame.places.mark("bins", drawn);
    ImGui::SetCursorScreenPos({static_cast<float>(drawn.x), static_cast<float>(drawn.y)});
    ImGui::Dummy({static_cast<float>(drawn.width), static_cast<float>(drawn.height)});
    if (!ImGui::IsItemHovered()) return;
    const bool pressed = ImGui::IsMouseClicked(ImGuiMouseButton_Left);
    const ImVec2 pointer = ImGui::GetIO().MousePos;
    const drawing::Point at{static_cast<double>(pointer.x), static_cast<double>(pointer.y)};
    const std::string layer = drawing::layer_sentence_under(painter, drawn, figure, look, at);
    const auto bin = drawing::bin_under(painter, drawn, figure, look, at);
    if (!bin) return;
    // Beside its body: the headings of the bins around it stay in sight.
    Rect place = drawing::area_of_bin(painter, drawn, figure, look, *bin);
    const double heading = std::min(place.height, 2.9 * look.text_px);
    place.y += heading;
    place.height -= heading;
    show_tip_beside(place,
                    (layer.empty() ? "" : layer + "\n") + drawing::bin_sentences(figure.bins[*bin]) + "\n" +
                        spoken(words::pit_tip_lot),
                    TipSide::right);
    const PitPanel& pit = frame.session.pit;
    if (!pressed || pit.asks || pit.arrives) return;
    PitViews& views = frame.views.pit;
    if (views.lot_t.empty()) views.lot_t = "25";  // a usual lorry; common practice, no source
    views.lot_refused.clear();
    views.to_the_top = true;
    const double before_t = pit.lot_asked ? pit.lot_asked->lot_t : 25.0;
    frame.actions.emplace_back(AskLotAtPit{LotAsked{figure.bins[*bin].bin, before_t}});
}

/// The truck on the scale, what is asked of it, and the bins.
void draw_scale(RoomFrame& frame, const Rect& whole) {
    const PitPanel& pit = frame.session.pit;
    const double em = frame.brushes.fonts.text_px(), strip = more_below_height(frame);
    Rect area = whole;
    const bool goes_on = frame.views.pit.goes_on;
    if (goes_on) area.height -= strip;
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y)});
    ImGui::BeginChild("scale", {static_cast<float>(area.width), static_cast<float>(area.height)});
    const ImVec2 from = ImGui::GetCursorScreenPos();
    const double left = static_cast<double>(from.x), top = static_cast<double>(from.y),
                 width = area.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize) - em * 0.3;
    double y = top;
    // What is new on this side begins at its top: its first line says which truck it is of.
    const std::string of = pit.arrives ? "arrival" : (pit.asks ? "question of " : "truck ") + pit.load;
    if (std::exchange(frame.views.pit.on_the_right, of) != of || std::exchange(frame.views.pit.to_the_top, false))
        ImGui::SetScrollY(0.0F);
    if (pit.arrives) {
        y = draw_arrival(frame, {left, y, width, area.height});
    } else if (pit.asks) {
        y = draw_pit_question(frame, {left, y, width, area.height});
    } else {
        y = draw_truck_answer(frame, {left, y, width, area.height});
        y = draw_what_if(frame, {left, y, width, area.height});
        y = draw_lot(frame, {left, y, width, area.height});
    }
    const bool weighed = pit.truck && pit.truck->of == pit.plan && pit.truck->load == pit.load;
    const bool elsewhere = weighed && pit.asks && pit.asks->kind == PitQuestion::Kind::decision;
    drawing::BinsFigure figure = elsewhere ? pit.truck->figure_with(pit.asks->bin)
                                 : weighed ? pit.truck->figure
                                           : pit.plan->figure;
    figure.caution.clear();  // stands at the foot
    if (frame.tight) figure.subtitle.clear();
    // Where the truck lies or is to go stands first, then where the next loads go. A bin that somebody asks about stays
    // where it stands.
    const std::string first = weighed ? pit.truck->shown_in : "";
    std::stable_partition(figure.bins.begin(), figure.bins.end(),
                          [](const drawing::BinDrawing& bin) { return !bin.coming.empty(); });
    std::stable_partition(figure.bins.begin(), figure.bins.end(),
                          [&](const drawing::BinDrawing& bin) { return !first.empty() && bin.bin == first; });
    if (pit.recorded && pit.recorded->load == pit.load)
        std::stable_partition(figure.bins.begin(), figure.bins.end(),
                              [&](const drawing::BinDrawing& bin) { return bin.bin == pit.recorded->bin; });
    draw_bins(frame, {left, y, width, whole.height - (y - top)}, figure);
    scroll_by_keys(frame, false);
    const bool more = ImGui::GetScrollY() < ImGui::GetScrollMaxY() - 1.0F;
    frame.views.pit.goes_on = ImGui::GetScrollMaxY() > 1.0F;
    ImGui::EndChild();
    if (goes_on && more) draw_more_below(frame, {area.x, area.y + area.height, area.width, strip});
}

void take_pit_keys(RoomFrame& frame) {
    const Session& session = frame.session;
    const PitPanel& pit = session.pit;
    Views& views = frame.views;
    const auto ask = [&](PitQuestion question) {
        views.gate.forget_held();
        frame.actions.emplace_back(AskAtPit{std::move(question)});
    };
    if ((!pit.asks && !pit.arrives) || !nobody_is_choosing()) views.gate.forget_held();
    // Also out of a box: the first press means no.
    const bool escapes = views.keys.presses(ImGui::GetKeyIndex(ImGuiKey_Escape)) > 0 && !a_list_is_open();
    if (pit.arrives) {
        if (escapes || presses(frame, 'A') % 2 == 1) frame.actions.emplace_back(ArriveAtPit{});
        if (presses(frame, 'E') > 0) views.pit.focus_arrival = true;
        return;
    }
    const bool recorded = pit.recorded && pit.recorded->load == pit.load;
    const bool weighed = pit.truck && pit.truck->next && pit.truck->load == pit.load && !recorded;
    if (pit.asks) {
        if (escapes) frame.actions.emplace_back(DropQuestion{});
        if (presses(frame, 'E') > 0) views.pit.focus_box = true;
        if (presses(frame, 'B') % 2 == 1 && weighed && pit.asks->kind == PitQuestion::Kind::decision) {
            std::vector<std::string> bins;
            for (const BinChoice& choice : pit.truck->next->choices) bins.push_back(choice.bin);
            bins.emplace_back("out");
            PitQuestion question = *pit.asks;
            question.bin = stepped_name(bins, question.bin, 1).value_or(question.bin);
            ask(std::move(question));
        }
        return;
    }
    std::vector<std::string> loads;
    for (const QueuedLoad& row : pit.plan->queue.waiting)
        if (!recorded || row.load != pit.load) loads.push_back(row.load);
    if (const auto load = stepped_name(loads, recorded ? "" : pit.load, pressed_step(frame))) {
        frame.actions.emplace_back(ChooseLoad{*load});
        views.pit.scroll_to = *load;
    }
    if (presses(frame, 'F') > 0) views.pit.focus_find = true;
    if (presses(frame, 'A') % 2 == 1) toggle_arrival(frame);
    if (presses(frame, 'W') % 2 == 1) open_or_close_what_if(frame);
    if (!weighed) return;
    if (presses(frame, 'R') > 0) ask(question_of(session, ""));
    if (presses(frame, 'X') > 0) ask(question_of(session, "out"));
    if (presses(frame, 'T') > 0) ask(sample_question_of(session));
    if (presses(frame, 'B') > 0) {
        PitQuestion question = question_of(session, "");
        question.bin.clear();
        ask(std::move(question));
    }
}

}  // namespace

void draw_pit_room(RoomFrame& frame) {
    const Answer& answer = *frame.session.answer;
    ImguiPainter painter = screen_painter(frame);
    const double em = frame.brushes.fonts.text_px();
    const double margin = frame.tight ? em * 0.5 : em;
    const Rect inside =
        draw_foot(frame, drawing::inset(frame.canvas, margin), {{answer.bins.caution, frame.brushes.theme.soft_ink}});
    if (!answer.view.bins) {
        drawing::draw_empty(painter, inside, answer.view.no_bins.empty() ? spoken(words::no_bins) : answer.view.no_bins,
                            frame.brushes.look());
        frame.places.mark("no bins", inside);
        return;
    }
    if (!frame.session.pit.plan) {
        drawing::draw_empty(painter, inside, spoken(words::working), frame.brushes.look());
        return;
    }
    take_pit_keys(frame);
    // The queue on the left; the truck on the scale and the bins beside it, the caution below both.
    const double queue = std::floor(std::clamp(inside.width * 0.29, em * 10.5, em * 26.0));
    draw_pit_queue(frame, {inside.x, inside.y, queue, inside.height});
    painter.rect({inside.x + queue + margin * 0.5, frame.canvas.y, 1.0, inside.height + margin},
                 frame.brushes.theme.line);
    draw_scale(frame, {inside.x + queue + margin, inside.y, inside.width - queue - margin, inside.height});
}

}  // namespace app::window
