#include "app/window/sitting.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/words.h"

namespace app::window {

namespace {

using drawing::Rect;
using drawing::Weight;

constexpr double scale_steps[] = {0.75, 0.9, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0};

bool result_waits(const Session& session) {
    return session.room == Room::bench && session.bench && session.bench->view().asks_yes_or_no;
}

/// Asks for it, or does it where it was asked for and long enough ago.
void ask_for(RoomFrame& frame, const Deed* deed, bool back) {
    if (deed == nullptr) return;
    Views& views = frame.views;
    const Action action = back ? Action(Undo{}) : Action(Redo{});
    if (deed->is_choice()) {
        frame.actions.push_back(action);
        return;
    }
    const std::string asked =
        fmt::format("{} {} {}", back ? "back" : "again", frame.session.history.deeds().size(), deed->what);
    const double now = ImGui::GetTime(), wait = std::chrono::duration<double>(faster_than_a_person).count();
    const bool is_second = views.asked == asked && now - views.asked_at >= wait;
    views.asked = is_second ? "" : asked;
    views.asked_at = now;
    views.shows_sitting = true;
    if (is_second) frame.actions.push_back(action);
}

/// A button that only a pointer presses: at the bench Enter belongs to the line, and to the scanner.
bool small_button(RoomFrame& frame, const char* words, const char* place) {
    const bool pressed = ImGui::Button(words);
    frame.places.mark_last_item(place);
    return pressed;
}

void draw_looks_list(RoomFrame& frame) {
    const Session& session = frame.session;
    const auto pick = [&](const char* words, bool here, const std::string& place, const Action& action) {
        ImGui::SameLine();
        if (ImGui::RadioButton(words, here) && !here) frame.actions.push_back(action);
        frame.places.mark_last_item(place);
    };
    float names = 0.0F;
    for (const Word* name : {&words::looks_theme, &words::looks_unit, &words::looks_language, &words::looks_scale})
        names = std::max(names, ImGui::CalcTextSize(spoken(*name)).x);
    names += ImGui::GetFontSize() * 2.0F;
    const auto head = [&](const char* words) {
        ImGui::AlignTextToFramePadding();
        ImGui::TextUnformatted(words);
        ImGui::SameLine(names);
        ImGui::Dummy({0.0F, 0.0F});
    };
    head(spoken(words::looks_theme));
    for (const drawing::ThemeName theme : drawing::theme_names)
        pick(name_of_theme(theme), session.theme == theme, std::string("theme ") + drawing::word_of(theme),
             ChooseTheme{theme});
    head(spoken(words::looks_unit));
    for (const drawing::ContentUnit unit : drawing::content_units)
        pick(drawing::name_of(unit), session.unit == unit, std::string("unit ") + drawing::word_of(unit),
             ChooseUnit{unit});
    head(spoken(words::looks_language));
    for (const std::string& language : languages())
        pick(name_of_language(language).c_str(), session.language == language, "language " + language,
             ChooseLanguage{language});
    head(spoken(words::looks_scale));
    pick(spoken(words::looks_scale_by_screen), !session.text_scale, "scale by the screen", ChooseScale{std::nullopt});
    int in_row = 0;
    for (const double step : scale_steps) {
        if (in_row++ % 5 == 0) {
            ImGui::NewLine();
            ImGui::SameLine(names);
            ImGui::Dummy({0.0F, 0.0F});
        }
        const std::string words = spoken(words::looks_percent, std::lround(step * 100.0));
        const bool here = session.text_scale && std::abs(*session.text_scale - step) < 1e-9;
        pick(words.c_str(), here, "scale " + std::to_string(std::lround(step * 100.0)), ChooseScale{step});
    }
    ImGui::PushTextWrapPos(ImGui::GetFontSize() * 30.0F);
    ImGui::TextDisabled("%s", spoken(words::looks_note));
    if (session.language != "en") ImGui::TextDisabled("%s", spoken(words::looks_language_note));
    ImGui::PopTextWrapPos();
}

}  // namespace

void answer_undo_keys(RoomFrame& frame) {
    Views& views = frame.views;
    if (views.keys.presses(GLFW_KEY_F3) % 2 == 1) views.shows_sitting = !views.shows_sitting;
    if (views.keys.presses(ImGui::GetKeyIndex(ImGuiKey_Escape)) > 0) views.shows_sitting = false;
    if (!views.shows_sitting) views.asked.clear();
    const ImGuiIO& io = ImGui::GetIO();
    if (!io.KeyCtrl || io.KeyAlt || !nobody_is_choosing()) return;
    const bool z = views.keys.presses('Z') > 0;
    if (z && !io.KeyShift) {
        if (result_waits(frame.session))
            frame.actions.emplace_back(Undo{});
        else
            ask_for(frame, frame.session.history.next_back(deeds_undone_in(frame.session.room)), true);
    } else if (z || views.keys.presses('Y') > 0) {
        ask_for(frame, frame.session.history.next_again(deeds_undone_in(frame.session.room)), false);
    }
}

void answer_scale_keys(RoomFrame& frame) {
    const ImGuiIO& io = ImGui::GetIO();
    if (!io.KeyCtrl || !nobody_is_choosing()) return;
    const Keys& keys = frame.views.keys;
    const int larger = keys.presses('=') + keys.presses(GLFW_KEY_KP_ADD);
    const int smaller = keys.presses('-') + keys.presses(GLFW_KEY_KP_SUBTRACT);
    if (keys.presses('0') + keys.presses(GLFW_KEY_KP_0) > 0) frame.actions.emplace_back(ChooseScale{std::nullopt});
    if (larger == smaller) return;
    const double now = frame.session.text_scale.value_or(frame.brushes.fonts.text_px() / usual_text_px);
    std::optional<double> next;
    for (const double step : scale_steps) {
        if (larger > smaller && step > now + 0.01 && !next) next = step;
        if (larger < smaller && step < now - 0.01) next = step;
    }
    if (next) frame.actions.emplace_back(ChooseScale{next});
}

std::string undo_in_words(const RoomFrame& frame) {
    const Deed* next = frame.session.history.next_back(deeds_undone_in(frame.session.room));
    return next == nullptr ? "" : spoken(words::history_undo, in_words(*next));
}

std::string sitting_in_words(const RoomFrame& frame) {
    if (result_waits(frame.session)) return spoken(words::history_undo, spoken(words::history_result_waits));
    const History& history = frame.session.history;
    return history.said().empty() ? undo_in_words(frame) : history.said();
}

void draw_sitting(RoomFrame& frame) {
    if (!frame.views.shows_sitting) return;
    const double em = frame.brushes.fonts.text_px();
    const drawing::Theme& theme = frame.brushes.theme;
    const History& history = frame.session.history;
    const DeedSort sort = deeds_undone_in(frame.session.room);
    const Deed *back = history.next_back(sort), *again = history.next_again(sort);
    const double width = std::min(frame.canvas.width - em, em * 30.0), inner = width - em * 2.0;
    // What it takes at the foot: what comes next, each with its button.
    const bool asks = !frame.views.asked.empty();
    const bool asks_back = asks && frame.views.asked.starts_with("back");
    ImguiPainter measure_painter = screen_painter(frame);
    drawing::MeasuringPainter measure(measure_painter);
    const double button = static_cast<double>(ImGui::GetFrameHeight()) + em * 0.4;
    const auto foot = [&](drawing::Painter& on, double x, double y) {
        y = drawing::paragraph(
            on, x, y, sort == DeedSort::records ? spoken(words::history_of_records) : spoken(words::history_of_choices),
            em * 0.88, inner, theme.soft_ink, Weight::regular, 3);
        if (asks)
            y = drawing::paragraph(on, x, y,
                                   asks_back ? spoken(words::history_record_back) : spoken(words::history_record_again),
                                   em, inner, theme.ink, Weight::bold);
        return y + em * 0.3;
    };
    const double foot_height = foot(measure, 0.0, 0.0) + (back != nullptr || again != nullptr ? button : 0.0);
    const auto line_of = [&](drawing::Painter& on, const Deed& deed, double x, double y) {
        const std::string said = in_words(deed), why_not = why_not_in_words(deed);
        const std::string what = deed.undone ? spoken(words::history_is_undone, said) : said;
        const bool next = &deed == back;
        y = drawing::paragraph(on, x, y, next ? spoken(words::history_undo, what) : what, em, inner,
                               deed.undone ? theme.soft_ink : theme.ink, next ? Weight::bold : Weight::regular, 2);
        if (!why_not.empty())
            y = drawing::paragraph(on, x + em, y, why_not, em * 0.88, inner - em, theme.soft_ink, Weight::regular, 4);
        return y + em * 0.15;
    };
    const double head = em * 2.2, most = frame.canvas.height - em - head - foot_height - em;
    double lines = history.deeds().empty() ? em * 1.5 : 0.0;
    std::size_t shown = 0;
    for (std::size_t i = history.deeds().size(); i-- > 0; ++shown) {
        const double more = line_of(measure, history.deeds()[i], 0.0, 0.0);
        if (lines + more > most) break;
        lines += more;
    }
    const double height = std::min(frame.canvas.height - em, head + lines + foot_height + em);
    const Rect box{frame.canvas.x + frame.canvas.width - width - em * 0.5,
                   frame.canvas.y + frame.canvas.height - height - em * 0.5, width, height};
    ImGui::SetCursorScreenPos({static_cast<float>(box.x), static_cast<float>(box.y)});
    ImGui::BeginChild("sitting", {static_cast<float>(box.width), static_cast<float>(box.height)}, false,
                      ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoNav);
    ImguiPainter painter = screen_painter(frame);
    painter.rect(box, theme.panel);
    painter.outline(drawing::inset(box, 1.0), theme.ink, 1.5);  // whole within the clip
    double y = drawing::paragraph(painter, box.x + em, box.y + em * 0.5, spoken(words::history_title), em * 1.15, inner,
                                  theme.ink, Weight::bold, 1);
    if (history.deeds().empty())
        y = drawing::paragraph(painter, box.x + em, y, spoken(words::history_none), em, inner, theme.soft_ink);
    for (std::size_t i = 0; i < shown; ++i)
        y = line_of(painter, history.deeds()[history.deeds().size() - 1 - i], box.x + em, y);
    y = foot(painter, box.x + em, box.y + box.height - foot_height - em * 0.4);
    ImGui::SetCursorScreenPos({static_cast<float>(box.x + em), static_cast<float>(y)});
    if (back != nullptr) {
        if (small_button(frame, spoken(words::history_do_undo), "take back")) frame.actions.emplace_back(Undo{});
        ImGui::SameLine();
    }
    if (again != nullptr && small_button(frame, spoken(words::history_do_redo), "do again"))
        frame.actions.emplace_back(Redo{});
    frame.places.mark("sitting", box);
    ImGui::EndChild();
}

void draw_looks_button(RoomFrame& frame, double right, double baseline, double size) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double width = painter.text_width(spoken(words::looks_open), size);
    const Rect place{right - width, baseline - size, width, size * 1.4};
    ImGui::SetCursorScreenPos({static_cast<float>(place.x), static_cast<float>(place.y)});
    const bool pressed =
        ImGui::InvisibleButton("looks", {static_cast<float>(place.width), static_cast<float>(place.height)});
    frame.places.mark_last_item("looks");
    painter.text({place.x, baseline}, spoken(words::looks_open), size,
                 ImGui::IsItemHovered() ? theme.ink : theme.soft_ink);
    const bool by_key = frame.views.keys.presses(GLFW_KEY_F2) % 2 == 1, was_open = a_list_is_open();
    if (!was_open && (pressed || by_key)) ImGui::OpenPopup("looks list");
    ImGui::SetNextWindowPos({static_cast<float>(place.x + place.width), static_cast<float>(place.y - size * 0.4)},
                            ImGuiCond_Always, {1.0F, 1.0F});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {static_cast<float>(size), static_cast<float>(size * 0.8)});
    if (ImGui::BeginPopup("looks list")) {
        if (frame.views.keys.presses(ImGui::GetKeyIndex(ImGuiKey_Escape)) > 0 || (was_open && by_key))
            ImGui::CloseCurrentPopup();
        draw_looks_list(frame);
        const ImVec2 at = ImGui::GetWindowPos(), extent = ImGui::GetWindowSize();
        frame.places.mark("looks list", {static_cast<double>(at.x), static_cast<double>(at.y),
                                         static_cast<double>(extent.x), static_cast<double>(extent.y)});
        ImGui::EndPopup();
    }
    ImGui::PopStyleVar();
}

}  // namespace app::window
