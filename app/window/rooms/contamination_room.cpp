#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>
#include <string_view>
#include <utility>

#include <fmt/format.h>
#include <imgui.h>

#include "app/backdrop_words.h"
#include "app/drawing/chart.h"
#include "app/drawing/numbers.h"
#include "app/extrapolation.h"
#include "app/figures_of_ground.h"
#include "app/spoken_dates.h"
#include "app/window/other_seasons.h"
#include "app/window/rooms/rooms.h"
#include "app/window/rooms/scrolling_place.h"
#include "app/window/rooms/whole_lines.h"
#include "app/window/tools/tools.h"
#include "app/words.h"

namespace app::window {

namespace {

using drawing::MapShows;
using drawing::Point;
using drawing::Rect;

void show_whole_map(Views& views) {
    views.group.reset();
    views.map.reset();
}

/// Groups of fields far apart, one after the other.
void show_next_group(RoomFrame& frame, int steps) {
    const std::size_t count = frame.session.answer->groups.size();
    if (count < 2) return;
    std::size_t& group = frame.views.group ? *frame.views.group : frame.views.group.emplace(count - 1);
    group = (group + static_cast<std::size_t>(steps)) % count;
    frame.views.map.reset();
}

/// The group that is shown, where it lies; how many there are where all are.
std::string words_of_group(const RoomFrame& frame) {
    const std::vector<drawing::MapFrame>& groups = frame.session.answer->groups;
    if (groups.size() < 2) return "";
    if (!frame.views.group) return spoken(words::groups_lie_apart, groups.size());
    return drawing::frame_words(groups, *frame.views.group);
}

/// Dragging, the wheel and a click on the map; hovering names the field.
void move_map(RoomFrame& frame, const drawing::MapFigure& figure, const Rect& canvas, drawing::MapMarks& marks) {
    ImGui::SetCursorScreenPos({static_cast<float>(canvas.x), static_cast<float>(canvas.y)});
    ImGui::InvisibleButton("map", {static_cast<float>(canvas.width), static_cast<float>(canvas.height)});
    frame.places.mark_last_item("map");
    const ImGuiIO& io = ImGui::GetIO();
    drawing::MapView& view = *frame.views.map;
    const Point pointer{static_cast<double>(io.MousePos.x), static_cast<double>(io.MousePos.y)};
    if (ImGui::IsItemActive() && ImGui::IsMouseDragging(ImGuiMouseButton_Left, 4.0F)) {
        view.pan(static_cast<double>(io.MouseDelta.x), static_cast<double>(io.MouseDelta.y));
        if (io.MouseDelta.x != 0.0F || io.MouseDelta.y != 0.0F) frame.views.map_moved_at = ImGui::GetTime();
        frame.views.dragging = true;
        return;
    }
    const drawing::MapView before = view;
    if (ImGui::IsItemHovered()) {
        if (io.MouseWheel != 0.0F) view.zoom(std::pow(1.2, static_cast<double>(io.MouseWheel)), pointer, canvas);
        marks.hovered = drawing::field_under(figure, view, canvas, pointer);
        const bool pressed = ImGui::IsMouseReleased(ImGuiMouseButton_Left) && !frame.views.dragging;
        if (pressed && !press_on_map(frame, view.to_world(pointer, canvas)) && marks.hovered)
            frame.actions.emplace_back(ChooseField{figure.fields[*marks.hovered].label});
    }
    if (!ImGui::IsMouseDown(ImGuiMouseButton_Left)) frame.views.dragging = false;
    if (keys_are_ours()) {
        const double step = line_by_keys(frame) ? 0.0 : canvas.width / 12.0;
        const int right = presses_of(frame, ImGuiKey_RightArrow) - presses_of(frame, ImGuiKey_LeftArrow);
        const int down = presses_of(frame, ImGuiKey_DownArrow) - presses_of(frame, ImGuiKey_UpArrow);
        if (right != 0 || down != 0) view.pan(-step * right, -step * down);
        if (const int nearer = presses(frame, '=') - presses(frame, '-'); nearer != 0)
            view.zoom(std::pow(1.2, nearer), drawing::middle(canvas), canvas);
        if (view.metres_per_px != before.metres_per_px || view.centre_m != before.centre_m)
            frame.views.map_moved_at = ImGui::GetTime();
        if (presses(frame, 'B') % 2 == 1 && !frame.session.backdrop.file.empty())
            frame.actions.emplace_back(BehindTheMap{ShowBackdrop{!frame.session.backdrop.shown}});
        if (presses(frame, '0') > 0) show_whole_map(frame.views);
        if (const int groups = presses(frame, 'G'); groups > 0) show_next_group(frame, groups);
        if (!frame.session.answer->view.contamination.ranking_only()) {
            if (presses(frame, 'C') > 0) frame.actions.emplace_back(ShowLayer{MapShows::content});
            if (presses(frame, 'V') > 0) frame.actions.emplace_back(ShowLayer{MapShows::exceedance});
        }
    }
}

constexpr double small_share = 0.8;  // of running text, for what lies over the map where there is little height

/// A box over the map with so much in it, in a child of its own; as wide as the map where that is less.
void in_strip(Strips& strips, const char* name, float em, float width, const std::function<void()>& draw) {
    const Rect at = strips.next(static_cast<double>(width + em));
    ImGui::SetCursorScreenPos({static_cast<float>(at.x), static_cast<float>(at.y)});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {em * 0.5F, em * 0.35F});
    ImGui::BeginChild(name, {static_cast<float>(at.width), static_cast<float>(at.height)}, true,
                      ImGuiWindowFlags_NoScrollbar);
    ImGui::PopStyleVar();
    draw();
    ImGui::EndChild();
}

float width_of_choice(const char* words) {
    return ImGui::GetFrameHeight() + ImGui::GetStyle().ItemInnerSpacing.x + ImGui::CalcTextSize(words).x;
}
float width_of_button(const char* words) {
    return ImGui::CalcTextSize(words).x + ImGui::GetStyle().FramePadding.x * 2.0F;
}

/// What is coloured.
void draw_colour_choices(RoomFrame& frame) {
    const auto choice = [&](const char* words, MapShows layer, const char* name) {
        const bool here = frame.session.layer == layer;
        if (ImGui::RadioButton(words, here) && !here) frame.actions.emplace_back(ShowLayer{layer});
        frame.places.mark_last_item(name);
    };
    choice(spoken(words::show_content), MapShows::content, "layer content");
    ImGui::SameLine();
    choice(spoken(words::show_exceedance), MapShows::exceedance, "layer exceedance");
}

/// What of the map is seen.
void draw_view_choices(RoomFrame& frame, const std::string& group) {
    if (ImGui::Button(spoken(words::whole_map))) show_whole_map(frame.views);
    frame.places.mark_last_item("whole map");
    if (ImGui::IsItemHovered()) show_tip(spoken(words::tip_whole_map));
    if (group.empty()) return;
    ImGui::SameLine();
    if (ImGui::Button(spoken(words::next_group))) show_next_group(frame, 1);
    frame.places.mark_last_item("next group");
    if (ImGui::IsItemHovered()) show_tip(spoken(words::tip_next_group, frame.session.answer->groups.size()));
    ImGui::SameLine();
    ImGui::TextUnformatted(group.c_str());
}

/// What is said beside the box of the picture behind the map; empty: it has its strength there.
std::string words_of_behind(const BackdropPanel& behind) {
    if (!behind.problem.empty()) return spoken(words::behind_not_shown);
    if (behind.reading && !behind.reads_nearer)
        return spoken(words::behind_read_share, 100.0 * behind.reading->share());
    return "";
}

/// The picture behind the map: on and off, how strong, how far it is read, or why it is not there.
void draw_behind_choices(RoomFrame& frame, float strength_width) {
    const BackdropPanel& behind = frame.session.backdrop;
    bool shown = behind.shown;
    if (ImGui::Checkbox(spoken(words::behind_map), &shown))
        frame.actions.emplace_back(BehindTheMap{ShowBackdrop{shown}});
    frame.places.mark_last_item("behind");
    if (ImGui::IsItemHovered())
        show_tip(behind.problem.empty()
                     ? spoken(words::tip_behind_map, std::filesystem::path(behind.file).filename().string())
                     : behind.problem);
    if (!behind.shown) return;
    ImGui::SameLine();
    if (const std::string says = words_of_behind(behind); !says.empty()) {
        ImGui::AlignTextToFramePadding();
        ImGui::TextUnformatted(says.c_str());
        frame.places.mark_last_item("behind says");
        if (!behind.problem.empty() && ImGui::IsItemHovered()) show_tip(behind.problem);
        return;
    }
    auto percent = static_cast<float>(100.0 * behind.strength);
    ImGui::SetNextItemWidth(strength_width);
    if (ImGui::SliderFloat("##strength", &percent, 10.0F, 100.0F, spoken(words::behind_percent)))
        frame.actions.emplace_back(BehindTheMap{FadeBackdrop{static_cast<double>(std::round(percent)) / 100.0}});
    frame.places.mark_last_item("behind strength");
    if (ImGui::IsItemHovered() && !ImGui::IsItemActive()) show_tip(spoken(words::tip_behind_strength));
}

/// What is coloured, what is seen and what lies behind: in one box, or in several where the map is too narrow for it.
void draw_layers(RoomFrame& frame, Strips& strips) {
    const float em = static_cast<float>(frame.brushes.fonts.text_px() * (frame.tight ? small_share : 1.0));
    const float between = ImGui::GetStyle().ItemSpacing.x;
    struct Part {
        const char* name;
        float width;
        std::function<void()> draw;
    };
    std::vector<Part> parts;
    if (!frame.session.answer->view.contamination.ranking_only())
        parts.push_back(
            {"colours",
             width_of_choice(spoken(words::show_content)) + between + width_of_choice(spoken(words::show_exceedance)),
             [&frame] { draw_colour_choices(frame); }});
    const std::string group = words_of_group(frame);
    float view_width = width_of_button(spoken(words::whole_map));
    if (!group.empty())
        view_width +=
            2.0F * between + width_of_button(spoken(words::next_group)) + ImGui::CalcTextSize(group.c_str()).x;
    parts.push_back({"seen", view_width, [&frame, &group] { draw_view_choices(frame, group); }});
    if (const BackdropPanel& behind = frame.session.backdrop; !behind.file.empty()) {
        const std::string says = words_of_behind(behind);
        const float strength = 5.0F * em;
        float width = width_of_choice(spoken(words::behind_map));
        if (behind.shown) width += between + (says.empty() ? strength : ImGui::CalcTextSize(says.c_str()).x);
        parts.push_back({"behind", width, [&frame, strength] { draw_behind_choices(frame, strength); }});
    }
    float all = -between;
    for (const Part& part : parts) all += part.width + between;
    if (strips.has_room(static_cast<double>(all + em))) {
        in_strip(strips, "layers", em, all, [&parts] {
            for (std::size_t p = 0; p < parts.size(); ++p) {
                if (p > 0) ImGui::SameLine();
                parts[p].draw();
            }
        });
        return;
    }
    // Rows of boxes are paid for by the map: where there is little height only what fits beside the first is there, and
    // keys do the rest. Why a picture is missing is said in any case.
    bool first = true;
    for (const Part& part : parts) {
        const bool must = first || (part.name == std::string_view("behind") && !frame.session.backdrop.problem.empty());
        if (!frame.tight || must || strips.has_room(static_cast<double>(part.width + em)))
            in_strip(strips, part.name, em, part.width, part.draw);
        first = false;
    }
}

/// Layers, tools and seasons above the map.
void draw_strips(RoomFrame& frame, const Rect& seen) {
    const double text_px = frame.brushes.fonts.text_px() * (frame.tight ? small_share : 1.0);
    ImGui::PushFont(frame.brushes.fonts.face(text_px, drawing::Weight::regular));
    Strips strips(seen);
    // With a panel below, large type leaves the map too little height for a row more: keys colour it, too.
    const GroundPanel panel = frame.session.ground.panel;
    if (!frame.tight || panel == GroundPanel::map_alone) draw_layers(frame, strips);
    draw_tools(frame, strips);
    draw_seasons(frame, strips);
    // What they leave of the map is what it is fitted to.
    if (frame.views.tools.strips_px != strips.height() && !frame.views.map_is_kept) frame.views.map_canvas = {};
    frame.views.tools.strips_px = strips.height();
    ImGui::PopFont();
}

/// The chosen field in words, and what its number rests on.
double draw_chosen(RoomFrame& frame, drawing::Painter& painter, const drawing::MapFigure& figure, const Rect& area) {
    const FieldView* field = chosen_field(frame.session);
    if (field == nullptr) return 0.0;
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    double y = area.y;
    y = drawing::paragraph(painter, area.x, y, code_and_name(*field), em * 1.15, area.width, theme.ink,
                           drawing::Weight::bold, 2);
    for (const drawing::MapField& mark : figure.fields) {
        if (mark.label != field->name) continue;
        y = drawing::paragraph(painter, area.x, y,
                               with_spoken_dates(field->content ? drawing::field_facts(mark, figure) : field->note), em,
                               area.width, theme.ink);
        break;
    }
    if (field->content && field->load_tests > 0)
        y = drawing::paragraph(painter, area.x, y, as_sentence(tests_in_words(field->tests, field->load_tests)), em,
                               area.width, theme.ink);
    if (const ReadingsApart* apart = readings_apart_of(frame, field->name)) {
        const double top = y;
        y = drawing::paragraph(painter, area.x, y + em * 0.2, readings_apart_in_words(*apart), em * 0.88, area.width,
                               theme.ink, drawing::Weight::bold);
        frame.places.mark("readings apart", {area.x, top, area.width, y - top});
    }
    if (const std::string other = limit_of_grain_in_words(frame.session.answer->view, *field); !other.empty()) {
        const double top = y;
        y = drawing::paragraph(painter, area.x, y + em * 0.2, other, em * 0.88, area.width, theme.ink);
        frame.places.mark("limit of its grain", {area.x, top, area.width, y - top});
    }
    if (field->risk) {
        std::string sentence = spoken(words::disease_risk, drawing::percent_text(*field->risk));
        if (const FieldRisk* entry = risk_of(frame.session.answer->view, field->crop);
            entry != nullptr && entry->risk.extrapolated)
            sentence = spoken(words::risk_extrapolated, sentence, extrapolation_in_words(entry->risk));
        y = drawing::paragraph(painter, area.x, y + em * 0.2, sentence, em * 0.88, area.width, theme.soft_ink);
    }
    return y - area.y;
}

/// That the map of a past season knows no later result, and what these make of the chosen field.
double draw_what_was_known(RoomFrame& frame, drawing::Painter& painter, double x, double y, double width) {
    const Session& session = frame.session;
    const SeasonView& view = session.answer->view;
    const bool past = !session.seasons.empty() && view.season < session.seasons.back();
    if (!past || view.contamination.ranking_only()) return y;
    // The seasons after it are worked out beside the window, so that what they say can be named.
    if (!session.looks_ahead) frame.actions.emplace_back(OnTheGround{LookAhead{}});
    const double em = frame.brushes.fonts.text_px(), top = y;
    y = drawing::paragraph(painter, x, y + em * 0.2, spoken(words::map_at_its_end, view.season), em * 0.88, width,
                           frame.brushes.theme.ink, drawing::Weight::bold);
    const FieldView* field = chosen_field(session);
    const std::string later = field == nullptr ? "" : words_of_later_results(session, *field);
    frame.places.mark("known at its end", {x, top, width, y - top});
    if (ImGui::IsWindowHovered() && ImGui::IsMouseHoveringRect({static_cast<float>(x), static_cast<float>(top)},
                                                               {static_cast<float>(x + width), static_cast<float>(y)}))
        show_tip_beside({x, top, width, y - top},
                        (later.empty() ? "" : later + "\n") + spoken(words::tip_map_at_its_end));
    return y;
}

/// The chosen field, the legend and what the numbers rest on, in a place that scrolls.
void draw_words_scrolled(RoomFrame& frame, const drawing::MapFigure& figure, const Rect& text) {
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    ScrollingPlace place(frame, "words", {text.x, text.y, text.width + em * 0.9, text.height}, true);
    WholeLines painter(frame);
    const double top = place.top();
    double y = top;
    y += draw_chosen(frame, painter, figure, {text.x, y, text.width, text.height});
    y = draw_what_was_known(frame, painter, text.x, y, text.width);
    if (y > top) {
        painter.rect({text.x, y + em * 0.6, text.width, 1.0}, theme.line);
        y += em * 1.2;
    }
    y = drawing::draw_map_legend(painter, {text.x, y, text.width, 0.0}, figure, frame.brushes.look());
    // What grows with what is known comes after what the colours mean.
    y = draw_rests_on(frame, painter, text.x, y + em * 0.3, text.width);
    if (!figure.verdict.empty())
        y = drawing::paragraph(painter, text.x, y + em * 0.5, figure.verdict, em * 0.88, text.width, theme.ink);
    place.holds(y);
}

/// The chosen field and the legend; they scroll where the foot leaves them too little height.
void draw_words(RoomFrame& frame, const drawing::MapFigure& figure, const Rect& text) {
    ImGui::PushStyleColor(ImGuiCol_ChildBg, ImVec4{0.0F, 0.0F, 0.0F, 0.0F});
    ImGui::PushStyleColor(ImGuiCol_ScrollbarBg, ImVec4{0.0F, 0.0F, 0.0F, 0.0F});
    draw_words_scrolled(frame, figure, text);
    ImGui::PopStyleColor(2);
}
/// The field after or before the chosen one, in the order of the map; one that is out of sight is brought into view.
void step_through_fields(RoomFrame& frame, const drawing::MapFigure& figure, const Rect& canvas, const Rect& clear) {
    std::vector<std::string> names;
    for (const drawing::MapField& field : figure.fields) names.push_back(field.label);
    if (const auto name = stepped_name(names, frame.session.field, pressed_step(frame))) {
        frame.actions.emplace_back(ChooseField{*name});
        frame.views.scroll_to = *name;
    }
    for (const drawing::MapField& field : figure.fields) {
        if (field.label != frame.views.scroll_to || field.outline_m.empty()) continue;
        const models::BoxM box = models::bounding_box(field.outline_m);
        const Point at =
            frame.views.map->to_px({0.5 * (box.x_min_m + box.x_max_m), 0.5 * (box.y_min_m + box.y_max_m)}, canvas);
        const Point wanted = drawing::middle(clear);
        if (!drawing::overlap(clear, {at.x, at.y, 1e-9, 1e-9})) frame.views.map->pan(wanted.x - at.x, wanted.y - at.y);
    }
    frame.views.scroll_to.clear();
}

/// Where the map stands, what of it nothing lies over, and what of it is seen at all.
struct MapRects {
    Rect canvas, clear, seen;
};

constexpr double hand_rests_s = 0.12;  // after that the map is drawn anew where it was moved or zoomed

/// The picture of the user's, dimmed by the colour of the ground.
void draw_behind(ImguiPainter& painter, const std::vector<std::shared_ptr<const BackdropPicture>>& pictures,
                 const MapScene::Subject& subject, double beyond_px, const drawing::MapView& view,
                 const drawing::Theme& theme) {
    if (pictures.empty()) return;
    const Rect reached = drawing::inset(subject.canvas, -beyond_px);
    for (const auto& picture : pictures) {
        const models::BoxM& box = picture->read.box;
        const Point from = view.to_px({box.x_min_m, box.y_max_m}, subject.canvas);
        const Rect area{from.x, from.y, box.width_m() / view.metres_per_px, box.height_m() / view.metres_per_px};
        if (drawing::overlap(area, reached)) painter.image_known_by(picture->image, picture->known_by, area);
    }
    if (subject.behind_strength >= 1.0) return;
    // In bands as well: painted without a graphics card the whole is more than a key may wait for.
    constexpr double band_px = 256.0;
    for (double y = 0.0; y < reached.height; y += band_px) {
        painter.rect({reached.x, reached.y + y, reached.width, std::min(band_px, reached.height - y)},
                     drawing::with_alpha(theme.ground, 1.0 - subject.behind_strength));
        painter.paint_now();
    }
}

/// The map, from what is kept of it or drawn anew; asks for a finer picture behind it where it came to rest near by.
void show_scene(RoomFrame& frame, const drawing::MapFigure& figure, const MapRects& at, const drawing::MapView& view,
                const drawing::MapMarks& marks) {
    const drawing::Look look = frame.brushes.look();
    const BackdropPanel& behind = frame.session.backdrop;
    const double em = look.text_px;
    MapScene::Subject subject{&figure, at.canvas, look.theme.ground, marks.selected, em, {}, {}, behind.strength};
    std::vector<std::shared_ptr<const BackdropPicture>> pictures;
    if (behind.shown && behind.whole) {
        subject.behind = behind.whole->known_by;
        pictures.push_back(behind.whole);
    }
    if (behind.shown && behind.whole && behind.nearer) {
        subject.nearer = behind.nearer->known_by;
        pictures.push_back(behind.nearer);
    }
    const bool lately = ImGui::GetTime() - frame.views.map_moved_at < hand_rests_s;
    drawing::MapMarks kept = marks;
    kept.hovered.reset();
    kept.names_within =
        Rect{at.clear.x, at.clear.y, at.clear.width - 0.3 * em, at.canvas.y + at.canvas.height - 0.3 * em - at.clear.y};
    // It may be drawn after this frame: on a thread of its own, but never beside the window's.
    Brushes& brushes = frame.brushes;
    const auto draw = [&brushes, &figure, pictures, subject, view, look, kept, unit = frame.session.unit,
                       language = frame.session.language](const MapScene::Board& board) {
        const drawing::ShownIn shown_in(unit);
        const SpokenIn spoken_in(language);
        ImguiPainter scene(board.list, brushes.fonts, {0.0, 0.0}, brushes.textures);
        scene.triangles_only();
        scene.pause_by(board.breathe, board.outside);
        draw_behind(scene, pictures, subject, board.beyond_px, view, look.theme);
        drawing::MapMarks marks_of_board = kept;
        marks_of_board.beyond_px = board.beyond_px;
        drawing::draw_map_canvas(scene, subject.canvas, figure, view, look, marks_of_board);
    };
    const auto look_at = [&brushes](const ImDrawList& drawn) { brushes.fonts.look_for_missing(drawn); };
    frame.views.map_scene.show(*ImGui::GetWindowDrawList(), subject, view, {frame.views.dragging, lately},
                               brushes.textures.enabled(), {draw, look_at});
    for (const auto& picture : pictures) {
        if (!brushes.textures.enabled()) break;
        const bool on_card = brushes.textures.keeps(picture->image, picture->known_by);
        if (on_card == picture->image.rgba.empty()) continue;  // as it is to be, or on its way there
        if (on_card)
            frame.actions.emplace_back(BehindTheMap{BackdropIsOnCard{picture->known_by}});
        else
            frame.actions.emplace_back(BehindTheMap{BackdropIsLost{picture->known_by}});
    }
    if (lately || frame.views.dragging) return;
    if (const auto nearer = nearer_look(behind, view.shown(at.canvas), view.metres_per_px))
        frame.actions.emplace_back(BehindTheMap{*nearer});
}

/// The chosen field with its other parts, and some ground around it.
std::optional<models::BoxM> box_around_chosen(const Session& session) {
    const FieldView* chosen = chosen_field(session);
    if (chosen == nullptr) return std::nullopt;
    const SeasonView& view = session.answer->view;
    std::vector<models::PointM> corners;
    for (const FieldView& field : view.fields) {
        if (field.outline == nullptr || view.data.crops[field.crop].field != view.data.crops[chosen->crop].field)
            continue;
        const models::BoxM box = models::bounding_box(field.outline->outline_m);
        corners.push_back({box.x_min_m, box.y_min_m});
        corners.push_back({box.x_max_m, box.y_max_m});
    }
    if (corners.empty()) return std::nullopt;
    models::BoxM box = models::bounding_box(corners);
    const double around_m = 0.25 * std::max(box.width_m(), box.height_m());
    return models::BoxM{box.x_min_m - around_m, box.y_min_m - around_m, box.x_max_m + around_m, box.y_max_m + around_m};
}

}  // namespace

void draw_contamination_room(RoomFrame& frame) {
    const Answer& answer = *frame.session.answer;
    const drawing::MapFigure& figure =
        frame.session.layer == MapShows::exceedance ? answer.exceedance_map : answer.content_map;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Look look = frame.brushes.look();
    const double em = frame.brushes.fonts.text_px();
    const auto box = drawing::box_of(figure);
    if (!box) {
        drawing::draw_empty(painter, frame.canvas, spoken(words::no_fields), look);
        return;
    }
    // The map owns the canvas; the sheet of words lies over its right edge.
    const double side = std::clamp(frame.canvas.width * 0.27, em * (frame.tight ? 15.0 : 17.0), em * 26.0);
    // Where there is little height the caution runs below both, so that the legend has room beside the map.
    Rect canvas = frame.canvas, caution;
    if (frame.tight) {
        const Rect above =
            draw_foot(frame, drawing::inset(frame.canvas, em * 0.5), {{figure.caution, frame.brushes.theme.soft_ink}});
        canvas.height = above.y + above.height - canvas.y;
        caution = *frame.places.find("caution");
    }
    const Rect whole = canvas;  // that the sheet is as high as
    const double panel = panel_height(frame, canvas);
    canvas.height -= panel;
    const double strips = std::max(em * (frame.tight ? 2.0 : 2.4), frame.views.tools.strips_px);
    const Rect clear{canvas.x, canvas.y + strips, canvas.width - side,
                     canvas.height - strips - em * (frame.tight ? 2.1 : 2.6)};
    if (frame.views.map && std::exchange(frame.views.map_came_back, false)) {
        // As it was left, unless the fields are elsewhere by now.
        const models::BoxM seen = frame.views.map->shown(canvas);
        const bool sees_fields = seen.x_min_m < box->x_max_m && seen.x_max_m > box->x_min_m &&
                                 seen.y_min_m < box->y_max_m && seen.y_max_m > box->y_min_m;
        frame.views.map_is_kept = sees_fields;
        if (sees_fields)
            frame.views.map_canvas = canvas;
        else
            frame.views.map.reset();
    }
    const bool resized = frame.views.map_canvas.width != canvas.width || frame.views.map_canvas.height != canvas.height;
    if (!frame.views.map || resized) {
        if (frame.views.group && *frame.views.group >= answer.groups.size()) frame.views.group.reset();
        models::BoxM shown = frame.views.group ? answer.groups[*frame.views.group].box : *box;
        // Zones are looked at near by, until the whole map is asked for.
        if (resized && frame.session.ground.panel == GroundPanel::zones)
            if (const auto near_by = box_around_chosen(frame.session)) shown = *near_by;
        drawing::MapView fitted = drawing::fitted(shown, clear, em * (frame.tight ? 0.4 : 1.5));
        // Fitted into the clear part, kept for the whole canvas.
        fitted.pan(clear.x + clear.width / 2.0 - (canvas.x + canvas.width / 2.0),
                   clear.y + clear.height / 2.0 - (canvas.y + canvas.height / 2.0));
        frame.views.map = fitted;
        frame.views.map_canvas = canvas;
        frame.views.map_is_kept = false;
    }
    drawing::MapMarks marks;
    const Answer::Coloured& coloured =
        frame.session.layer == MapShows::exceedance ? answer.exceedance_surface : answer.content_surface;
    const drawing::Image& surface = frame.brushes.theme.on_dark ? coloured.on_dark : coloured.on_light;
    if (!surface.rgba.empty()) marks.surface = &surface;
    for (std::size_t f = 0; f < figure.fields.size(); ++f) {
        if (figure.fields[f].label == frame.session.field) marks.selected = f;
    }
    step_through_fields(frame, figure, canvas, clear);
    const bool evidence = frame.session.ground.panel == GroundPanel::evidence;
    if (!evidence) move_map(frame, figure, canvas, marks);
    if (std::exchange(frame.views.map_chosen, frame.session.field) != frame.session.field)
        frame.views.map_moved_at = ImGui::GetTime();
    if (!frame.views.map) return;  // asked for the whole map: fitted in the next frame
    const drawing::MapView view = *frame.views.map;
    const Rect seen{canvas.x, canvas.y, canvas.width - side, canvas.height};
    const Rect sheet{whole.x + whole.width - side, whole.y, side, whole.height};
    // The map brings its ground along, as far as it reaches.
    painter.rect(seen, look.theme.ground);
    painter.push_clip(seen);
    // What the map rests on stands in its place.
    if (!evidence) {
        show_scene(frame, figure, {canvas, clear, seen}, view, marks);
        if (marks.selected) drawing::mark_selected(painter, canvas, figure.fields[*marks.selected], view, look);
    }
    if (marks.hovered && marks.hovered != marks.selected)
        drawing::mark_hovered(painter, canvas, figure.fields[*marks.hovered], view, look);
    drawing::Look small = look;
    if (frame.tight) small.text_px *= small_share;
    if (!evidence) drawing::draw_scale_and_north(painter, {clear.x, canvas.y, clear.width, canvas.height}, view, small);
    draw_tools_on_map(frame, painter, canvas, view);
    painter.pop_clip();
    if (evidence) {
        const double top = std::max(0.0, frame.views.tools.strips_px + 0.3 * em);
        draw_evidence(frame, {seen.x, seen.y + top, seen.width, seen.height - top});
    }
    draw_strips(frame, seen);
    if (panel > 0.0) draw_panel(frame, {seen.x, seen.y + seen.height, seen.width, panel});

    painter.rect(sheet, frame.brushes.theme.panel);
    painter.rect({sheet.x, sheet.y, 1.0, sheet.height}, frame.brushes.theme.line);
    std::vector<FootLine> foot;
    if (!frame.tight) foot.push_back({figure.caution, frame.brushes.theme.soft_ink});
    const Rect text = draw_foot(frame, drawing::inset(sheet, frame.tight ? em * 0.6 : em), foot);
    painter.rect({text.x, text.y + text.height, text.width, 1.0}, frame.brushes.theme.line);
    draw_words(frame, figure, {text.x, text.y, text.width, text.height - em * 0.3});
    frame.places.mark("sheet", sheet);
    if (frame.tight) frame.places.mark("caution", caution);
    if (marks.hovered) show_card(frame, figure, marks.hovered, view, canvas);
}

}  // namespace app::window
