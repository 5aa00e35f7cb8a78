#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/ground_words.h"
#include "app/window/tools/tools.h"
#include "app/words.h"

namespace app::window {

namespace {

using drawing::Rect;

void begin_strip(const char* name, const Rect& at, double em) {
    ImGui::SetCursorScreenPos({static_cast<float>(at.x), static_cast<float>(at.y)});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {static_cast<float>(em * 0.5), static_cast<float>(em * 0.35)});
    ImGui::BeginChild(name, {static_cast<float>(at.width), static_cast<float>(at.height)}, true,
                      ImGuiWindowFlags_NoScrollbar);
    ImGui::PopStyleVar();
}

/// Seasons that a key asks to go on, or back where it is below zero.
int season_step(const RoomFrame& frame) {
    return presses(frame, '.') - presses(frame, ',');
}

void choose_season(RoomFrame& frame, int season) {
    if (season == frame.session.season) return;
    frame.actions.emplace_back(OnTheGround{LookAhead{}});
    frame.actions.emplace_back(ChooseSeason{season});
}

void step_season(RoomFrame& frame, int steps) {
    const std::vector<int>& seasons = frame.session.seasons;
    const auto here = std::find(seasons.begin(), seasons.end(), frame.session.season) - seasons.begin();
    const std::ptrdiff_t last = std::ssize(seasons) - 1;
    if (here <= last)
        choose_season(frame, seasons[static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(here + steps, 0, last))]);
}

}  // namespace

bool Strips::has_room(double width) const {
    return x_ + width <= canvas_.x + canvas_.width - 0.3 * em_;
}

Strips::Strips(const Rect& canvas)
    : canvas_(canvas),
      em_(static_cast<double>(ImGui::GetFontSize())),
      row_(static_cast<double>(ImGui::GetFrameHeight()) + 0.7 * em_),
      x_(canvas.x + 0.5 * em_),
      y_(canvas.y + 0.5 * em_) {}

Rect Strips::next(double width) {
    if (!has_room(width) && x_ > canvas_.x + em_) {
        x_ = canvas_.x + 0.5 * em_;
        y_ += row_ + 0.3 * em_;
    }
    // Nothing lies over what stands beside the map.
    const Rect at{x_, y_, std::min(width, canvas_.x + canvas_.width - 0.3 * em_ - x_), row_};
    x_ += width + 0.5 * em_;
    return at;
}

void draw_tools(RoomFrame& frame, Strips& strips) {
    struct Tool {
        GroundPanel panel;
        const Word* name;
        const Word* tip;
        char key;
        const char* place;
    };
    constexpr Tool tools[] = {
        {GroundPanel::transect, &words::tool_profile, &words::tip_profile, 'T', "tool profile"},
        {GroundPanel::evidence, &words::tool_evidence, &words::tip_evidence, 'E', "tool evidence"},
        {GroundPanel::zones, &words::tool_zones, &words::tip_zones, 'Z', "tool zones"}};
    if (frame.session.answer->view.contamination.ranking_only()) return;  // nothing is known that they could show
    const double em = static_cast<double>(ImGui::GetFontSize());
    const ImGuiStyle& style = ImGui::GetStyle();
    double width = em;
    for (const Tool& tool : tools)
        width += static_cast<double>(ImGui::CalcTextSize(spoken(*tool.name)).x + style.FramePadding.x * 2.0F +
                                     style.ItemSpacing.x);
    begin_strip("tools", strips.next(width), em);
    for (const Tool& tool : tools) {
        const bool shown = frame.session.ground.panel == tool.panel;
        if (shown) {
            ImGui::PushStyleColor(ImGuiCol_Button, ImGui::GetStyleColorVec4(ImGuiCol_ButtonActive));
            ImGui::PushStyleColor(ImGuiCol_Border, ImGui::GetStyleColorVec4(ImGuiCol_CheckMark));
        }
        const bool pressed = ImGui::Button(spoken(*tool.name));
        if (shown) ImGui::PopStyleColor(2);
        frame.places.mark_last_item(tool.place);
        if (ImGui::IsItemHovered()) show_tip(spoken(*tool.tip));
        if (pressed || presses(frame, tool.key) % 2 == 1) {
            frame.views.tools.first_end.reset();
            frame.actions.emplace_back(OnTheGround{ShowPanel{shown ? GroundPanel::map_alone : tool.panel}});
        }
        ImGui::SameLine();
    }
    ImGui::EndChild();
}

void draw_seasons(RoomFrame& frame, Strips& strips) {
    const std::vector<int>& seasons = frame.session.seasons;
    if (seasons.size() < 2) return;
    const double em = static_cast<double>(ImGui::GetFontSize());
    const auto count = static_cast<double>(seasons.size());
    const double step = std::min(3.6 * em, 26.0 * em / count), width = step * count + em;
    // The list in the bar and the keys are there as well: no row of its own where there is little height.
    if (const int steps = season_step(frame); steps != 0) step_season(frame, steps);
    if (frame.tight && !strips.has_room(width)) return;
    const Rect at = strips.next(width);
    begin_strip("seasons", at, em);
    const double left = at.x + 0.5 * em + 0.5 * step, size = 0.82 * em;
    const double labels = at.y + 0.5 * em + size, line = at.y + at.height - 0.65 * em;
    const auto x_of = [&](std::size_t s) { return left + step * static_cast<double>(s); };
    ImGui::SetCursorScreenPos({static_cast<float>(at.x), static_cast<float>(at.y)});
    ImGui::InvisibleButton("line of seasons", {static_cast<float>(at.width), static_cast<float>(at.height)});
    frame.places.mark_last_item("seasons");
    const auto here =
        static_cast<std::ptrdiff_t>(std::find(seasons.begin(), seasons.end(), frame.session.season) - seasons.begin());
    const auto last = static_cast<std::ptrdiff_t>(seasons.size()) - 1;
    if (ImGui::IsItemHovered()) show_tip_beside(at, spoken(words::tip_time));
    if (ImGui::IsItemActive()) {
        const double share = (static_cast<double>(ImGui::GetIO().MousePos.x) - left) / step;
        const std::ptrdiff_t s = std::clamp<std::ptrdiff_t>(std::lround(share), 0, last);
        choose_season(frame, seasons[static_cast<std::size_t>(s)]);
    }
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    painter.polyline({{x_of(0), line}, {x_of(seasons.size() - 1), line}}, theme.soft_ink, 1.0);
    drawing::LabelPlaces places;
    const auto label = [&](std::size_t s, bool chosen) {
        const std::string words = std::to_string(seasons[s]);
        const auto weight = chosen ? drawing::Weight::bold : drawing::Weight::regular;
        Rect box = drawing::text_box(painter, {x_of(s), labels}, words, size, drawing::Align::centre, weight);
        box.x -= 0.15 * em;
        box.width += 0.3 * em;
        if (places.claim(box))
            painter.text({x_of(s), labels}, words, size, chosen ? theme.ink : theme.soft_ink, drawing::Align::centre,
                         weight);
    };
    if (here <= last) label(static_cast<std::size_t>(here), true);
    for (std::size_t s = 0; s < seasons.size(); ++s) {
        if (static_cast<std::ptrdiff_t>(s) != here) label(s, false);
        const bool chosen = static_cast<std::ptrdiff_t>(s) == here;
        const double radius = (chosen ? 0.3 : 0.2) * em;
        const drawing::Colour ink = chosen ? theme.accent : theme.soft_ink;
        painter.disc({x_of(s), line}, radius, is_kept(frame.session, seasons[s]) ? ink : theme.paper);
        painter.circle({x_of(s), line}, radius, ink, 1.5);
        frame.places.mark("season at " + std::to_string(seasons[s]),
                          {x_of(s) - 0.4 * step, at.y, 0.8 * step, at.height});
    }
    ImGui::EndChild();
}

}  // namespace app::window
