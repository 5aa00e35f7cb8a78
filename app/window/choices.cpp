#include "app/window/choices.h"

#include <algorithm>
#include <charconv>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <imgui.h>
#include <imgui_internal.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/words.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app::window {

namespace {

using drawing::Align;
using drawing::Rect;

float em_of(const RoomFrame& frame) {
    return static_cast<float>(frame.brushes.fonts.text_px());
}

/// What is written in the two lists: where there is little room the words that name them too.
std::string season_choice(const RoomFrame& frame) {
    const std::string season = std::to_string(frame.session.season);
    return frame.tight ? std::string(spoken(words::season)) + " " + season : season;
}
std::string limit_choice(const RoomFrame& frame) {
    const std::string& id = frame.session.limit;
    if (frame.tight) return limit_in_words(frame.session, id);
    if (const models::Limit* limit = limit_of_store(frame.session, id)) {
        const std::string named =
            drawing::with_unit(words::limit_chosen_by_name, id, limit_number_text(limit->limit_mg_per_kg));
        return limit->confirmed ? named : spoken(words::limit_from_memory_mark, named);
    }
    return drawing::with_unit(words::limit_chosen_by_number, limit_number_text(id));
}

/// Opens the list of that name, for who has no pointer at hand.
void open_list_on(const RoomFrame& frame, char key, const char* list) {
    if (presses(frame, key) == 0) return;
    // The name under which Dear ImGui keeps the list of a combo box.
    ImGui::OpenPopupEx(ImHashStr("##ComboPopup", 0, ImGui::GetID(list)), ImGuiPopupFlags_None);
}

/// A line of a list, taken with the pointer, with Space or with Enter.
bool picked(const std::string& line, bool here) {
    if (ImGui::Selectable(line.c_str(), here)) return true;
    if (!ImGui::IsItemFocused() || !ImGui::IsKeyPressed(ImGui::GetKeyIndex(ImGuiKey_Enter), false)) return false;
    ImGui::CloseCurrentPopup();
    return true;
}

/// In the room of the bins each bin goes by its own limit: they are stated, and there is nothing to choose.
void draw_limits_of_bins(RoomFrame& frame, double left, double right, double baseline) {
    ImguiPainter painter = screen_painter(frame);
    const double em = frame.brushes.fonts.text_px();
    const std::string limits = frame.session.answer ? drawing::limits_in_words(frame.session.answer->bins) : "";
    const std::string sentence =
        limits.empty() ? spoken(words::no_limits_of_bins) : drawing::with_unit(words::limits_of_bins, limits);
    const bool whole = painter.text_width(sentence, em) <= right - left;
    const std::string shown =
        drawing::shortened(painter, whole ? sentence : spoken(words::own_limits_of_bins), em, right - left);
    const double width = painter.text_width(shown, em);
    painter.text({right, baseline}, shown, em, frame.brushes.theme.soft_ink, Align::right);
    const Rect place{right - width, baseline - em, width, em * 1.4};
    frame.places.mark("limits of bins", place);
    if (ImGui::IsMouseHoveringRect(
            {static_cast<float>(place.x), static_cast<float>(place.y)},
            {static_cast<float>(place.x + place.width), static_cast<float>(place.y + place.height)}))
        show_tip_beside(place, sentence + "\n" + spoken(words::tip_limits_of_bins));
}

/// A line for each of the limits, with where each comes from beside the list.
void draw_limit_lines(RoomFrame& frame, const std::vector<models::Limit>& limits) {
    for (const models::Limit& limit : limits) {
        const bool here = limit.limit_id == frame.session.limit;
        std::string line = drawing::with_unit(words::limit_of_list, limit.limit_id,
                                              limit_number_text(limit.limit_mg_per_kg), limit.jurisdiction);
        // One star a line, and what it means once below them: the same words in every line hide the numbers.
        if (!limit.confirmed) line = spoken(words::limit_from_memory_mark, line);
        if (picked(line, here)) frame.actions.emplace_back(ChooseLimit{limit.limit_id});
        frame.places.mark_last_item("limit " + limit.limit_id, line);
        std::string tip = limit.source;
        if (!limit.confirmed) tip += std::string(tip.empty() ? "" : "\n") + spoken(words::tip_limit_from_memory);
        if (ImGui::IsItemHovered() && !tip.empty()) {
            // Beside the list, so that the lines above and below can be read.
            const ImVec2 list = ImGui::GetWindowPos(), low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
            show_tip_beside({static_cast<double>(list.x), static_cast<double>(low.y),
                             static_cast<double>(ImGui::GetWindowWidth()), static_cast<double>(high.y - low.y)},
                            tip, TipSide::right);
        }
    }
}

/// A number that was typed in the unit that is shown; what is no number stays for the refusal to name.
std::string typed_in_mg_per_kg(const std::string& as_typed) {
    const std::string typed = models::number_as_typed(as_typed);
    double number = 0.0;
    const char* end = typed.data() + typed.size();
    if (drawing::in_shown_unit(1.0) == 1.0 || std::from_chars(typed.data(), end, number).ptr != end) return typed;
    return fmt::format("{:.10g}", drawing::from_shown_unit(number));
}

/// A number of one's own: typed, then taken with Enter or the button.
void draw_own_limit(RoomFrame& frame) {
    Views& views = frame.views;
    const float em = static_cast<float>(frame.brushes.fonts.text_px());
    char typed[24] = {};
    views.own_limit.copy(typed, sizeof typed - 1);
    ImGui::AlignTextToFramePadding();
    ImGui::TextUnformatted(drawing::with_unit(spoken(words::own_limit)).c_str());
    ImGui::SameLine();
    ImGui::SetNextItemWidth(em * 5.0F);
    // Whoever opens the list may type at once; the arrows lead down to the lines.
    if (ImGui::IsWindowAppearing() && !views.limit_refused.empty()) {
        views.limit_refused.clear();  // what was refused when the list was last open is not typed on
        views.own_limit.clear();
        typed[0] = 0;
    }
    if (ImGui::IsWindowAppearing() || std::exchange(views.limit_again, false)) ImGui::SetKeyboardFocusHere();
    // What is typed takes the place of what stands there, also after a refusal.
    const bool entered = ImGui::InputText("##own limit", typed, sizeof typed,
                                          ImGuiInputTextFlags_EnterReturnsTrue | ImGuiInputTextFlags_AutoSelectAll);
    frame.places.mark_last_item("own limit");
    if (views.own_limit != typed) views.limit_refused.clear();
    views.own_limit = typed;
    ImGui::SameLine();
    const bool pressed = ImGui::Button(spoken(words::take_own_limit));
    frame.places.mark_last_item("take own limit");
    if ((entered || pressed) && !views.own_limit.empty()) {
        try {
            const std::string limit = typed_in_mg_per_kg(views.own_limit);
            // Both lists, so that a wrong name is told from those that there are.
            std::vector<models::Limit> known = frame.session.limits.fitting;
            known.insert(known.end(), frame.session.limits.others.begin(), frame.session.limits.others.end());
            models::limit_from_text(limit, known);
            frame.actions.emplace_back(ChooseLimit{limit});
            views.limit_refused.clear();
            ImGui::CloseCurrentPopup();
        } catch (const models::Error& error) {
            views.limit_refused = error.what();
            views.limit_again = true;
        }
    }
    if (!views.limit_refused.empty()) {
        ImGui::PushTextWrapPos(em * 24.0F);
        ImGui::TextColored(ImGui::GetStyleColorVec4(ImGuiCol_CheckMark), "%s", views.limit_refused.c_str());
        ImGui::PopTextWrapPos();
    }
}

void draw_limit_list(RoomFrame& frame, float x, float y, float width) {
    ImGui::SetCursorScreenPos({x, y});
    ImGui::SetNextItemWidth(width);
    open_list_on(frame, 'L', "##limit");
    const bool open = ImGui::BeginCombo("##limit", limit_choice(frame).c_str(), ImGuiComboFlags_HeightLarge);
    frame.places.mark_last_item("limit");
    const models::Limit* chosen = limit_of_store(frame.session, frame.session.limit);
    if (!open && chosen != nullptr && !chosen->confirmed && ImGui::IsItemHovered())
        show_tip(spoken(words::tip_limit_from_memory));
    if (!open) return;
    if (frame.views.keys.presses(ImGui::GetKeyIndex(ImGuiKey_Escape)) > 0) ImGui::CloseCurrentPopup();
    draw_own_limit(frame);
    ImGui::TextDisabled("%s", spoken(words::limits_in_force));
    const LimitsToChoose& limits = frame.session.limits;
    const auto unsure = [](const std::vector<models::Limit>& of) {
        return std::any_of(of.begin(), of.end(), [](const models::Limit& limit) { return !limit.confirmed; });
    };
    if (unsure(limits.fitting) || (frame.views.all_limits && unsure(limits.others))) {
        ImGui::SameLine(0.0F, em_of(frame) * 1.5F);
        ImGui::TextDisabled("%s", spoken(words::limits_from_memory));
        frame.places.mark_last_item("limits from memory");
        if (ImGui::IsItemHovered()) show_tip(spoken(words::tip_limits_from_memory));
    }
    draw_limit_lines(frame, limits.fitting);
    if (!limits.others.empty()) {
        bool& all = frame.views.all_limits;
        const std::string words = all ? spoken(words::fewer_limits) : spoken(words::all_limits, limits.others.size());
        if (ImGui::Selectable(words.c_str(), false, ImGuiSelectableFlags_DontClosePopups)) all = !all;
        frame.places.mark_last_item("all limits");
        if (all) {
            ImGui::TextDisabled("%s", spoken(words::other_limits));
            draw_limit_lines(frame, limits.others);
        }
    }
    ImGui::EndCombo();
}

void draw_season_list(RoomFrame& frame, float x, float y, float width) {
    ImGui::SetCursorScreenPos({x, y});
    ImGui::SetNextItemWidth(width);
    open_list_on(frame, 'S', "##season");
    const bool open = ImGui::BeginCombo("##season", season_choice(frame).c_str());
    frame.places.mark_last_item("season");
    if (!open) return;
    for (const int season : frame.session.seasons) {
        const bool here = season == frame.session.season;
        if (picked(std::to_string(season), here)) frame.actions.emplace_back(ChooseSeason{season});
        if (here) ImGui::SetItemDefaultFocus();
        frame.places.mark_last_item("season " + std::to_string(season));
    }
    ImGui::EndCombo();
}

}  // namespace

ChoiceWidths width_of_choices(const RoomFrame& frame, const drawing::Painter& painter) {
    const double em = frame.brushes.fonts.text_px();
    ChoiceWidths widths;
    widths.season = painter.text_width(season_choice(frame), em) + em * 2.8;
    widths.limit = frame.tight ? painter.text_width(limit_choice(frame), em) + em * 2.8 : em * 12.0;
    const double names = frame.tight ? 0.0
                                     : painter.text_width(spoken(words::season), em) +
                                           painter.text_width(spoken(words::limit), em) + em * 1.5;
    widths.all = widths.season + widths.limit + names + em * 2.5;
    return widths;
}

/// Season and limit, at the right of the bar.
void draw_choices(RoomFrame& frame, const Rect& bar) {
    ImguiPainter painter = screen_painter(frame);
    const double em = frame.brushes.fonts.text_px();
    const ChoiceWidths widths = width_of_choices(frame, painter);
    const double limit_width = std::clamp(bar.width - widths.all + widths.limit, em * 6.0, em * 24.0);
    const float y = static_cast<float>(bar.y + bar.height / 2.0) - ImGui::GetFrameHeight() / 2.0F;
    const double baseline = static_cast<double>(y + ImGui::GetStyle().FramePadding.y) + em * 0.78;
    const double season_name = frame.tight ? 0.0 : painter.text_width(spoken(words::season), em) + em * 0.5;
    if (frame.session.room == Room::bins) {
        // The season stands at the left of what it leaves to the limits.
        const double x = bar.x + em * 0.5 + season_name;
        if (!frame.tight)
            painter.text({x - em * 0.5, baseline}, spoken(words::season), em, frame.brushes.theme.soft_ink,
                         Align::right);
        draw_season_list(frame, static_cast<float>(x), y, static_cast<float>(widths.season));
        draw_limits_of_bins(frame, x + widths.season + em, bar.x + bar.width - em, baseline);
        return;
    }
    double x = bar.x + bar.width - em - limit_width;
    draw_limit_list(frame, static_cast<float>(x), y, static_cast<float>(limit_width));
    x -= em * 0.5;
    if (!frame.tight) {
        painter.text({x, baseline}, spoken(words::limit), em, frame.brushes.theme.soft_ink, Align::right);
        x -= em + painter.text_width(spoken(words::limit), em);
    }
    x -= widths.season;
    draw_season_list(frame, static_cast<float>(x), y, static_cast<float>(widths.season));
    if (!frame.tight)
        painter.text({x - em * 0.5, baseline}, spoken(words::season), em, frame.brushes.theme.soft_ink, Align::right);
}

}  // namespace app::window
