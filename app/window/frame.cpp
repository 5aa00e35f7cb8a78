#include "app/window/frame.h"

#include <algorithm>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/window/rooms/rooms.h"
#include "app/window/words.h"
#include "models/decision/limit_rule.h"

namespace app::window {

namespace {

using drawing::Align;
using drawing::Point;
using drawing::Rect;
using drawing::Weight;

ImVec4 colour(const drawing::Colour& c, double alpha = 1.0) {
    return {static_cast<float>(c.red) / 255.0F, static_cast<float>(c.green) / 255.0F,
            static_cast<float>(c.blue) / 255.0F, static_cast<float>(c.alpha * alpha / 255.0)};
}

struct RoomTab {
    Room room;
    const char* words;
    const char* tip;
    char key;
};
constexpr RoomTab tabs[] = {{Room::where_first, words::room_where_first, words::tip_where_first, '1'},
                            {Room::contamination, words::room_contamination, words::tip_contamination, '2'},
                            {Room::bins, words::room_bins, words::tip_bins, '3'}};

constexpr double tab_share = 1.35, tab_gap = 1.5;  // in sizes of running text, in sizes of the tabs

double width_of_tabs(const drawing::Painter& painter, double size) {
    double width = size;
    for (const RoomTab& tab : tabs) width += painter.text_width(tab.words, size, Weight::bold) + size * tab_gap;
    return width;
}

/// The three questions as large words; the one that is being answered is underlined.
void draw_tabs(RoomFrame& frame, const Rect& bar) {
    ImguiPainter painter = screen_painter(frame);
    double size = frame.brushes.fonts.text_px() * tab_share;
    size *= std::min(1.0, bar.width / width_of_tabs(painter, size));
    const double gap = size * tab_gap;
    double x = bar.x + size;
    const double baseline = bar.y + bar.height / 2.0 + size * 0.36;
    for (const RoomTab& tab : tabs) {
        const bool here = frame.session.room == tab.room;
        const Weight weight = here ? Weight::bold : Weight::regular;
        const double width = painter.text_width(tab.words, size, Weight::bold);
        ImGui::SetCursorScreenPos({static_cast<float>(x - size * 0.4), static_cast<float>(bar.y)});
        const bool pressed =
            ImGui::InvisibleButton(tab.words, {static_cast<float>(width + size * 0.8), static_cast<float>(bar.height)});
        frame.places.mark_last_item(std::string("room ") + room_word(tab.room));
        const bool hovered = ImGui::IsItemHovered();
        if (hovered) ImGui::SetTooltip("%s", tab.tip);
        const bool key = !ImGui::GetIO().WantTextInput && ImGui::IsKeyPressed(tab.key, false);
        if (pressed || key) frame.actions.emplace_back(EnterRoom{tab.room});
        const drawing::Theme& theme = frame.brushes.theme;
        painter.text({x, baseline}, tab.words, size, here || hovered ? theme.ink : theme.soft_ink, Align::left, weight);
        if (here) painter.rect({x, bar.y + bar.height - size * 0.2, width, size * 0.2}, theme.accent);
        x += width + gap;
    }
}

std::string limit_choice(const Session& session) {
    return limit_in_words(session, session.limit).substr(std::string_view("limit ").size());
}

/// What season and limit need at the least, beside each other.
double width_of_choices(const drawing::Painter& painter, double em) {
    return em * (5.5 + 12.0 + 4.5) + painter.text_width(words::season, em) + painter.text_width(words::limit, em);
}

/// Season and limit, at the right of the bar.
void draw_choices(RoomFrame& frame, const Rect& bar) {
    const float em = static_cast<float>(frame.brushes.fonts.text_px());
    const double rest = bar.width - width_of_choices(screen_painter(frame), frame.brushes.fonts.text_px()) +
                        static_cast<double>(em) * 12.0;
    const float season_width = em * 5.5F, limit_width = std::clamp(static_cast<float>(rest), em * 6.0F, em * 24.0F);
    const std::string current = limit_choice(frame.session);
    float x = static_cast<float>(bar.x + bar.width) - em - limit_width;
    const float y = static_cast<float>(bar.y + bar.height / 2.0) - ImGui::GetFrameHeight() / 2.0F;
    ImGui::SetCursorScreenPos({x, y});
    ImGui::SetNextItemWidth(limit_width);
    const bool limit_open = ImGui::BeginCombo("##limit", current.c_str(), ImGuiComboFlags_HeightLarge);
    frame.places.mark_last_item("limit");
    if (limit_open) {
        for (const models::Limit& limit : frame.session.limits) {
            const bool here = limit.limit_id == frame.session.limit;
            std::string line = fmt::format("{}   {} mg/kg   {}", limit.limit_id,
                                           models::content_in_words(limit.limit_mg_per_kg), limit.jurisdiction);
            if (!limit.confirmed) line += fmt::format("   ({})", words::limit_unconfirmed);
            if (ImGui::Selectable(line.c_str(), here)) frame.actions.emplace_back(ChooseLimit{limit.limit_id});
            frame.places.mark_last_item("limit " + limit.limit_id);
            if (ImGui::IsItemHovered() && !limit.source.empty()) ImGui::SetTooltip("%s", limit.source.c_str());
        }
        ImGui::EndCombo();
    }
    ImguiPainter painter = screen_painter(frame);
    const double baseline = y + ImGui::GetStyle().FramePadding.y + em * 0.78;
    painter.text({x - em * 0.5, baseline}, words::limit, em, frame.brushes.theme.soft_ink, Align::right);
    x -= em * 1.5F + static_cast<float>(painter.text_width(words::limit, em)) + season_width;
    ImGui::SetCursorScreenPos({x, y});
    ImGui::SetNextItemWidth(season_width);
    const bool season_open = ImGui::BeginCombo("##season", std::to_string(frame.session.season).c_str());
    frame.places.mark_last_item("season");
    if (season_open) {
        for (const int season : frame.session.seasons) {
            if (ImGui::Selectable(std::to_string(season).c_str(), season == frame.session.season)) {
                frame.actions.emplace_back(ChooseSeason{season});
            }
            frame.places.mark_last_item("season " + std::to_string(season));
        }
        ImGui::EndCombo();
    }
    painter.text({x - em * 0.5, baseline}, words::season, em, frame.brushes.theme.soft_ink, Align::right);
}

/// The numbers are not those asked for: they fade, and a band says what they are of. Drawn in a child of its own,
/// since children lie over what the window itself draws; the pointer goes through it.
void draw_still(RoomFrame& frame, const std::string& sentence) {
    const Rect& canvas = frame.canvas;
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    ImGui::SetCursorScreenPos({static_cast<float>(canvas.x), static_cast<float>(canvas.y)});
    ImGui::BeginChild("still", {static_cast<float>(canvas.width), static_cast<float>(canvas.height)}, false,
                      ImGuiWindowFlags_NoInputs | ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoNav);
    ImguiPainter painter = screen_painter(frame);
    painter.rect(canvas, drawing::with_alpha(theme.paper, 0.6));
    drawing::MeasuringPainter measure(painter);
    const double height =
        drawing::paragraph(measure, 0.0, 0.0, sentence, em, canvas.width - 2.0 * em, theme.paper, Weight::bold) + em;
    const Rect band{canvas.x, canvas.y, canvas.width, height};
    painter.rect(band, theme.accent);
    drawing::paragraph(painter, band.x + em, band.y + 0.5 * em, sentence, em, band.width - 2.0 * em, theme.paper,
                       Weight::bold);
    frame.places.mark("still", band);
    ImGui::EndChild();
}

/// The line at the bottom: what is looked at, and what is running with how long it takes and a way to stop it.
void draw_line(RoomFrame& frame, const Rect& line) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px() * 0.88;
    const double baseline = line.y + line.height / 2.0 + em * 0.36;
    painter.rect({line.x, line.y, line.width, 1.0}, theme.line);
    // What the numbers are of, not what was asked for last.
    const Session& session = frame.session;
    const std::string left =
        fmt::format("{}   season {}   {}", session.store.filename().string(),
                    session.answer ? session.answer->view.season : session.season,
                    limit_in_words(session, session.answer ? session.answer->limit : session.limit));
    painter.text({line.x + em, baseline}, left, em, theme.soft_ink);
    double right = line.x + line.width - em;
    if (frame.session.working) {
        const Job<Answer>& job = *frame.session.working;
        ImGui::PushFont(frame.brushes.fonts.face(em, Weight::regular));
        const float width = ImGui::CalcTextSize(words::stop).x + ImGui::GetStyle().FramePadding.x * 2.0F;
        ImGui::SetCursorScreenPos({static_cast<float>(right) - width,
                                   static_cast<float>(line.y + line.height / 2.0) - ImGui::GetFrameHeight() / 2.0F});
        if (ImGui::Button(words::stop)) frame.actions.emplace_back(StopWork{});
        frame.places.mark_last_item("stop");
        ImGui::PopFont();
        right -= width + em;
        const double bar = em * 12.0;
        painter.rect({right - bar, baseline - em * 0.6, bar, em * 0.5}, theme.line);
        painter.rect({right - bar, baseline - em * 0.6, bar * std::clamp(job.share(), 0.0, 1.0), em * 0.5},
                     theme.accent);
        right -= bar + em;
        std::string what = job.name();
        if (!job.what().empty()) what += ": " + job.what();
        if (const auto left_s = job.seconds_left(); left_s && job.seconds() > 0.5)
            what += fmt::format(", {:.0f} s left", *left_s);
        painter.text({right, baseline}, what, em, theme.ink, Align::right);
    } else if (!frame.session.problem.empty()) {
        const std::string words = drawing::shortened(painter, frame.session.problem, em, line.width * 0.6);
        painter.text({right, baseline}, words, em, theme.accent, Align::right, Weight::bold);
        if (ImGui::IsMouseHoveringRect(
                {static_cast<float>(line.x + line.width * 0.4), static_cast<float>(line.y)},
                {static_cast<float>(line.x + line.width), static_cast<float>(line.y + line.height)})) {
            ImGui::SetTooltip("%s", frame.session.problem.c_str());
        }
    } else {
        painter.text({right, baseline}, words::idle, em, theme.soft_ink, Align::right);
    }
}

}  // namespace

void Places::mark_last_item(const std::string& name) {
    const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
    mark(name, {static_cast<double>(low.x), static_cast<double>(low.y), static_cast<double>(high.x - low.x),
                static_cast<double>(high.y - low.y)});
}

const Rect* Places::find(const std::string& name) const {
    const auto found = rects_.find(name);
    return found == rects_.end() ? nullptr : &found->second;
}

ImguiPainter screen_painter(RoomFrame& frame) {
    return {*ImGui::GetWindowDrawList(), frame.brushes.fonts, {0.0, 0.0}, frame.brushes.textures};
}

void draw_panel(drawing::Painter& painter, const Rect& area, const drawing::Theme& theme) {
    painter.rect(area, drawing::with_alpha(theme.panel, 0.94));
    painter.outline(area, theme.line, 1.0);
}

Rect draw_foot(RoomFrame& frame, const Rect& area, const std::vector<FootLine>& lines) {
    ImguiPainter painter = screen_painter(frame);
    const double em = frame.brushes.fonts.text_px();
    const auto write = [&](drawing::Painter& on, double top, double size) {
        for (const FootLine& line : lines) {
            if (line.words.empty()) continue;
            top = drawing::paragraph(on, area.x, top, line.words, size, area.width, line.ink) + size * 0.35;
        }
        return top;
    };
    drawing::MeasuringPainter measure(painter);
    double size = em * 0.88;
    while (size > em * 0.62 && write(measure, 0.0, size) > area.height * 0.5) size -= 1.0;
    const double height = std::min(area.height, write(measure, 0.0, size));
    write(painter, area.y + area.height - height, size);
    const Rect foot{area.x, area.y + area.height - height, area.width, height};
    frame.places.mark("caution", foot);
    return {area.x, area.y, area.width, std::max(0.0, area.height - height - em * 0.4)};
}

std::vector<Action> draw_frame(const Session& session, Views& views, Brushes& brushes, Places& places) {
    places.begin_frame();
    std::vector<Action> actions;
    if (views.drawn != session.answer) {
        brushes.textures.clear();
        views.map_scene.forget();
        views.drawn = session.answer;
    }
    const ImVec2 size = ImGui::GetIO().DisplaySize;
    ImGui::SetNextWindowPos({0.0F, 0.0F});
    ImGui::SetNextWindowSize(size);
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0.0F, 0.0F});
    ImGui::Begin("lodicule", nullptr,
                 ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoMove |
                     ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus |
                     ImGuiWindowFlags_NoScrollWithMouse);
    ImGui::PopStyleVar();
    const double em = brushes.fonts.text_px();
    Rect tabs_bar{0.0, 0.0, static_cast<double>(size.x), em * 3.0}, choices_bar = tabs_bar;
    // A second row for season and limit where one is too narrow.
    const ImguiPainter measure{*ImGui::GetWindowDrawList(), brushes.fonts, {0.0, 0.0}, brushes.textures};
    const double tabs_width = width_of_tabs(measure, em * tab_share);
    if (tabs_width + width_of_choices(measure, em) > tabs_bar.width) {
        choices_bar.y = tabs_bar.height;
        choices_bar.height = em * 2.4;
    } else {
        choices_bar.x = tabs_width;
        choices_bar.width -= tabs_width;
    }
    const Rect bar{0.0, 0.0, static_cast<double>(size.x), choices_bar.y + choices_bar.height};
    const Rect line{0.0, static_cast<double>(size.y) - em * 2.0, static_cast<double>(size.x), em * 2.0};
    const Rect canvas{0.0, bar.height, static_cast<double>(size.x), line.y - bar.height};
    RoomFrame frame{session, views, brushes, places, canvas, actions};
    ImguiPainter painter = screen_painter(frame);
    painter.rect({0.0, bar.height - 1.0, bar.width, 1.0}, brushes.theme.line);
    draw_tabs(frame, tabs_bar);
    draw_choices(frame, choices_bar);
    places.mark("canvas", canvas);
    if (!session.answer) {
        const std::string sentence = session.problem.empty() ? words::nothing_yet : session.problem;
        drawing::draw_empty(painter, canvas, sentence, brushes.look());
    } else {
        switch (session.room) {
            case Room::where_first:
                draw_where_first_room(frame);
                break;
            case Room::contamination:
                draw_contamination_room(frame);
                break;
            case Room::bins:
                draw_bins_room(frame);
                break;
        }
    }
    if (const std::string still = still_shown(session); !still.empty()) draw_still(frame, still);
    draw_line(frame, line);
    ImGui::End();
    return actions;
}

void set_style(const Brushes& brushes) {
    ImGuiStyle style;
    ImGui::StyleColorsLight(&style);
    const drawing::Theme& theme = brushes.theme;
    const float em = static_cast<float>(brushes.fonts.text_px());
    style.WindowRounding = style.ChildRounding = style.PopupRounding = 0.0F;
    style.FrameRounding = em * 0.15F;
    style.FramePadding = {em * 0.5F, em * 0.3F};
    style.ItemSpacing = {em * 0.6F, em * 0.45F};
    style.CellPadding = {em * 0.45F, em * 0.3F};
    style.ScrollbarSize = em * 0.9F;
    style.WindowBorderSize = 0.0F;
    style.Colors[ImGuiCol_Text] = colour(theme.ink);
    style.Colors[ImGuiCol_TextDisabled] = colour(theme.soft_ink);
    style.Colors[ImGuiCol_WindowBg] = style.Colors[ImGuiCol_ChildBg] = colour(theme.paper);
    style.Colors[ImGuiCol_PopupBg] = colour(theme.panel);
    style.Colors[ImGuiCol_Border] = colour(theme.line);
    style.Colors[ImGuiCol_FrameBg] = style.Colors[ImGuiCol_Button] = colour(theme.panel);
    style.Colors[ImGuiCol_FrameBgHovered] = style.Colors[ImGuiCol_ButtonHovered] =
        style.Colors[ImGuiCol_HeaderHovered] = colour(drawing::blended(theme.panel, theme.accent, 0.15));
    style.Colors[ImGuiCol_FrameBgActive] = style.Colors[ImGuiCol_ButtonActive] = style.Colors[ImGuiCol_HeaderActive] =
        colour(drawing::blended(theme.panel, theme.accent, 0.3));
    style.Colors[ImGuiCol_Header] = colour(drawing::blended(theme.paper, theme.accent, 0.18));
    style.Colors[ImGuiCol_CheckMark] = style.Colors[ImGuiCol_NavHighlight] = colour(theme.accent);
    style.Colors[ImGuiCol_TableHeaderBg] = colour(theme.panel);
    style.Colors[ImGuiCol_TableRowBgAlt] = colour(drawing::blended(theme.paper, theme.panel, 0.4));
    style.Colors[ImGuiCol_TableBorderLight] = style.Colors[ImGuiCol_TableBorderStrong] = colour(theme.line);
    style.Colors[ImGuiCol_ScrollbarBg] = colour(theme.paper);
    style.Colors[ImGuiCol_ScrollbarGrab] = colour(theme.line);
    style.FrameBorderSize = 1.0F;
    ImGui::GetStyle() = style;
}

}  // namespace app::window
