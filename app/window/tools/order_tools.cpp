#include <algorithm>

#include <fmt/format.h>
#include <imgui.h>
#include <imgui_internal.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/ground_words.h"
#include "app/walk_files.h"
#include "app/window/rooms/whole_lines.h"
#include "app/window/tools/tools.h"
#include "app/words.h"
#include "models/counted.h"

namespace app::window {

namespace {

/// Beyond what anybody walks in a day; ours.
constexpr int most_tests = 40;

std::string loss_words(const OrderShown& shown) {
    const models::TestOrder& order = *shown.order;
    const auto amount = [&](double value) {
        const std::string number = drawing::rough_text(std::max(value, 0.0));
        return order.unit == models::GainUnit::money ? number : spoken(words::zones_unit_tonnes, number);
    };
    if (order.worth_making == 0) return spoken(words::budget_none);
    // The loss is that of the tests that are named, which need not be all that can be made.
    const std::string now = amount(order.expected_loss_now), after = amount(order.expected_loss_after);
    const std::string made = models::counted(order.worth_making, spoken(words::one_test), spoken(words::several_tests));
    if (order.worth_making >= shown.tests) return spoken(words::budget_says, now, after, made);
    if (shown.tests - order.worth_making == 1)
        return spoken(words::budget_says_one_fewer, now, after, made, shown.tests);
    return spoken(words::budget_says_fewer, now, after, made, shown.tests - order.worth_making, shown.tests);
}

/// The height that the sentence about the loss takes at most, whatever the number of tests: nothing below it moves
/// while the slider is moved.
double height_of_loss(drawing::Painter& painter, const OrderShown& shown, int most, double size, double width) {
    drawing::MeasuringPainter measure(painter);
    const auto amount = [&](double value) {
        const std::string number = drawing::rough_text(std::max(value, 0.0));
        return shown.order->unit == models::GainUnit::money ? number : spoken(words::zones_unit_tonnes, number);
    };
    const std::string loss = amount(shown.order->expected_loss_now),
                      made = models::counted(most, spoken(words::one_test), spoken(words::several_tests));
    double height = 0.0;
    for (const std::string& sentence :
         {spoken(words::budget_says, loss, loss, made), spoken(words::budget_says_one_fewer, loss, loss, made, most),
          spoken(words::budget_says_fewer, loss, loss, made, most, most), spoken(words::budget_working, made),
          std::string(spoken(words::budget_none))})
        height = std::max(height, drawing::paragraph(measure, 0.0, 0.0, sentence, size, width, {}));
    return height;
}

}  // namespace

std::string budget_words(const RoomFrame& frame) {
    const Ground& ground = frame.session.ground;
    const OrderShown shown = order_shown(frame.session);
    if (shown.order == nullptr || shown.order->ranking_only) return "";
    if (!ground.placed_problem.empty()) return ground.placed_problem;
    if (shown.tests != ground.tests && ground.placing)
        return spoken(words::budget_working,
                      models::counted(ground.tests, spoken(words::one_test), spoken(words::several_tests)));
    return loss_words(shown);
}

bool budget_is_said_above(const RoomFrame& frame) {
    // In the lowest windows the fields keep the lines that it would take.
    return !frame.tight || frame.canvas.height > 14.0 * frame.brushes.fonts.text_px();
}

double draw_budget(RoomFrame& frame, double x, double y, double width) {
    const Session& session = frame.session;
    const OrderShown shown = order_shown(session);
    if (shown.order == nullptr || shown.order->ranking_only) return y;
    const double em = frame.brushes.fonts.text_px();
    ImGui::PushFont(frame.brushes.fonts.face(em * (frame.tight ? 0.8 : 1.0), drawing::Weight::regular));
    const int most = std::clamp(static_cast<int>(shown.order->fields.size()), 1, most_tests);
    int tests = std::min(session.ground.tests, most);
    const int before = tests;
    ImGui::SetCursorScreenPos({static_cast<float>(x), static_cast<float>(y)});
    ImGui::AlignTextToFramePadding();
    ImGui::Text("%s: %d", spoken(words::budget), tests);
    // The slider begins at one place, whatever the number.
    ImGui::SameLine(0.0F, ImGui::CalcTextSize(tests < 10 ? "00 " : "0 ").x);
    ImGui::PushStyleColor(ImGuiCol_SliderGrab, ImGui::GetStyleColorVec4(ImGuiCol_CheckMark));
    ImGui::PushStyleColor(ImGuiCol_SliderGrabActive, ImGui::GetStyleColorVec4(ImGuiCol_CheckMark));
    ImGui::SetNextItemWidth(static_cast<float>(std::clamp(0.3 * width, 6.0 * em, 14.0 * em)));
    ImGui::SliderInt("##budget", &tests, 1, most, "", ImGuiSliderFlags_AlwaysClamp);
    ImGui::PopStyleColor(2);
    frame.places.mark_last_item("budget");
    if (ImGui::IsItemHovered() && !ImGui::IsItemActive()) show_tip(spoken(words::tip_budget));
    const double slider_end = static_cast<double>(ImGui::GetItemRectMax().x);
    int steps = presses(frame, '=') - presses(frame, '-');
    if (ImGui::IsItemFocused() && !ImGui::IsItemActive()) {
        // The arrows are the slider's once it is chosen, and go to no other thing.
        const int right = presses_of(frame, ImGuiKey_RightArrow) - presses_of(frame, ImGuiKey_LeftArrow);
        if (right != 0) ImGui::NavMoveRequestCancel();
        steps += right;
    }
    tests = std::clamp(tests + steps, 1, most);
    if (tests != before) frame.actions.emplace_back(OnTheGround{PlaceTests{tests}});
    const std::string says = budget_words(frame);
    // Beside the slider where there is room, else below it, or where there is little height below the last field.
    ImguiPainter painter = screen_painter(frame);
    const double row = static_cast<double>(ImGui::GetFrameHeight());
    ImGui::PopFont();
    const double room = x + width - slider_end - em;
    if (frame.tight) {
        double floor_y = y + row + 0.1 * em;
        if (budget_is_said_above(frame)) {
            drawing::paragraph(painter, x, y + row, says, 0.66 * em, width, frame.brushes.theme.ink);
            floor_y = y + row + height_of_loss(painter, shown, most, 0.66 * em, width);
        }
        frame.places.mark("loss", {x, y + row, width, floor_y - y - row});
        return floor_y;
    }
    frame.places.mark("loss", {slider_end, y, room, row});
    if (painter.text_width(says, 0.95 * em) < room)
        painter.text({slider_end + 0.8 * em, y + 0.5 * row + 0.34 * em}, says, 0.95 * em, frame.brushes.theme.ink);
    else
        drawing::paragraph(painter, x, y + row + 0.1 * em, says, 0.95 * em, width, frame.brushes.theme.ink);
    const double lines = height_of_loss(painter, shown, most, 0.95 * em, room);
    // Beside the slider, where even the longest sentence fits there.
    if (lines < 2.0 * 0.95 * em) return y + row + 0.4 * em;
    return y + row + 0.4 * em + height_of_loss(painter, shown, most, 0.95 * em, width);
}

double draw_walk_buttons(RoomFrame& frame, double x, double y, double width) {
    const Ground& ground = frame.session.ground;
    const double em = frame.brushes.fonts.text_px();
    ImGui::SetCursorScreenPos({static_cast<float>(x), static_cast<float>(y)});
    // Beside one another where there is room, else on the next line.
    double end_of_row = x;
    const auto beside = [&](const std::string& words_of_it) {
        const double needed =
            static_cast<double>(ImGui::CalcTextSize(words_of_it.c_str()).x + 2.0F * ImGui::GetStyle().FramePadding.x);
        if (end_of_row > x && end_of_row + 0.6 * em + needed > x + width) {
            y += static_cast<double>(ImGui::GetFrameHeight()) + 0.35 * em;
            end_of_row = x;
        }
        if (end_of_row > x) end_of_row += 0.6 * em;
        ImGui::SetCursorScreenPos({static_cast<float>(end_of_row), static_cast<float>(y)});
        end_of_row += needed;
    };
    // Both stay where they are: the one that is shown is filled.
    const auto one_of_two = [&](const char* words_of_it, bool shows_walk, const char* place, const char* tip) {
        beside(words_of_it);
        const bool here = ground.shows_walk == shows_walk;
        if (here) ImGui::PushStyleColor(ImGuiCol_Button, ImGui::GetStyleColorVec4(ImGuiCol_ButtonActive));
        if (ImGui::Button(words_of_it) && !here) frame.actions.emplace_back(OnTheGround{ShowWalk{shows_walk}});
        if (here) ImGui::PopStyleColor();
        frame.places.mark_last_item(place);
        if (ImGui::IsItemHovered()) show_tip(tip);
    };
    one_of_two(spoken(words::show_hours), false, "hours button", spoken(words::tip_hours));
    one_of_two(spoken(words::show_walk), true, "walk button", spoken(words::tip_walk));
    if (presses(frame, 'W') % 2 == 1) frame.actions.emplace_back(OnTheGround{ShowWalk{!ground.shows_walk}});
    const bool there = ground.shows_walk && ground.walk && ground.walk->field == frame.session.field &&
                       !ground.walk->walks.walks.empty();
    if (there) {
        beside(spoken(words::save_walk));
        const bool pressed = ImGui::Button(spoken(words::save_walk));
        frame.places.mark_last_item("save walk");
        if (ImGui::IsItemHovered()) show_tip(spoken(words::tip_save_walk, walk_folder(frame.session)));
        if (pressed || (presses(frame, 'X') > 0 && !ImGui::GetIO().KeyShift))
            frame.actions.emplace_back(OnTheGround{SaveWalk{}});
    }
    if (const int worth = walks_worth_it(frame.session); worth > 0) {
        const std::string words_of_it = spoken(words::save_walks, worth);
        beside(words_of_it);
        const bool pressed = ImGui::Button(words_of_it.c_str());
        frame.places.mark_last_item("save walks");
        if (ImGui::IsItemHovered()) show_tip(spoken(words::tip_save_walks, walk_folder(frame.session)));
        if (pressed || (presses(frame, 'X') > 0 && ImGui::GetIO().KeyShift))
            frame.actions.emplace_back(OnTheGround{SaveWalks{}});
    }
    double end = y + static_cast<double>(ImGui::GetFrameHeight()) + 0.4 * em;
    if (!ground.walk_saved.empty() && ground.walk_saved_of == frame.session.field) {
        WholeLines painter(frame);
        const double top = end;
        end = drawing::paragraph(painter, x, end, ground.walk_saved, 0.88 * em, width, frame.brushes.theme.accent) +
              0.3 * em;
        frame.places.mark("walk saved", {x, top, width, end - top});
    }
    return end;
}

void draw_walk(RoomFrame& frame, const drawing::Rect& area) {
    const Ground& ground = frame.session.ground;
    WholeLines painter(frame);
    const drawing::Look look = frame.brushes.look();
    const double em = look.text_px;
    frame.places.mark("walk", area);
    if (!ground.walk || ground.walk->field != frame.session.field) {
        drawing::draw_empty(painter, area, spoken(words::walk_working), look);
        return;
    }
    if (ground.walk->walks.walks.empty()) {
        drawing::draw_empty(painter, area, ground.walk->problem, look);
        return;
    }
    const FieldWalk& walk = ground.walk->walks.walks.front();
    double y =
        drawing::paragraph(painter, area.x, area.y, what_to_take(walk, {}), 0.95 * em, area.width, look.theme.ink) +
        0.3 * em;
    for (const std::string& note : ground.walk->walks.notes)
        y = drawing::paragraph(painter, area.x, y, note, 0.88 * em, area.width, look.theme.soft_ink) + 0.2 * em;
    // No higher than the field needs at that width.
    const models::BoxM box = models::bounding_box(walk.outline->outline_m);
    const double wanted = area.width * box.height_m() / std::max(box.width_m(), 1.0) + 4.0 * em;
    const double room = area.y + area.height - y;
    app::draw_walk_map(painter,
                       {area.x, y, area.width, std::min(std::max(room, 8.0 * em), std::max(wanted, 14.0 * em))}, walk,
                       {0.85 * em, look.theme});
}

}  // namespace app::window
