#include "app/window/frame.h"

#include <algorithm>

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/window/choices.h"
#include "app/window/rooms/rooms.h"
#include "app/window/sitting.h"
#include "app/words.h"

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
    const Word* name;
    const Word* tip;
    char key;
};
constexpr RoomTab tabs[] = {{Room::where_first, &words::room_where_first, &words::tip_where_first, '1'},
                            {Room::bench, &words::room_bench, &words::tip_bench, '2'},
                            {Room::contamination, &words::room_contamination, &words::tip_contamination, '3'},
                            {Room::bins, &words::room_bins, &words::tip_bins, '4'},
                            {Room::seasons, &words::room_seasons, &words::tip_seasons, '5'}};

/// Sizes of the tabs in sizes of running text, gaps between them in sizes of the tabs.
double tab_share(bool tight) {
    return tight ? 1.0 : 1.35;
}
double tab_gap(bool tight) {
    return tight ? 1.0 : 1.5;
}

double width_of_tabs(const drawing::Painter& painter, double size, bool tight) {
    double width = size;
    for (const RoomTab& tab : tabs)
        width += painter.text_width(spoken(*tab.name), size, Weight::bold) + size * tab_gap(tight);
    return width;
}

/// The questions as large words; the one that is being answered is underlined.
void draw_tabs(RoomFrame& frame, const Rect& bar) {
    ImguiPainter painter = screen_painter(frame);
    double size = frame.brushes.fonts.text_px() * tab_share(frame.tight);
    size *= std::min(1.0, bar.width / width_of_tabs(painter, size, frame.tight));
    const double gap = size * tab_gap(frame.tight);
    double x = bar.x + size;
    const double baseline = bar.y + bar.height / 2.0 + size * 0.36;
    for (const RoomTab& tab : tabs) {
        const bool here = frame.session.room == tab.room;
        const Weight weight = here ? Weight::bold : Weight::regular;
        const double width = painter.text_width(spoken(*tab.name), size, Weight::bold);
        ImGui::SetCursorScreenPos({static_cast<float>(x - size * 0.4), static_cast<float>(bar.y)});
        const bool pressed = ImGui::InvisibleButton(
            room_word(tab.room), {static_cast<float>(width + size * 0.8), static_cast<float>(bar.height)});
        frame.places.mark_last_item(std::string("room ") + room_word(tab.room));
        const bool hovered = ImGui::IsItemHovered();
        // Who is in a room reads its heading, which lies where the tip would.
        if (hovered && !here) show_tip(spoken(*tab.tip));
        const bool with_alt = ImGui::GetIO().KeyAlt && frame.views.keys.presses(tab.key) > 0;
        if (pressed || with_alt || presses(frame, tab.key) > 0) frame.actions.emplace_back(EnterRoom{tab.room});
        const drawing::Theme& theme = frame.brushes.theme;
        painter.text({x, baseline}, spoken(*tab.name), size, here || hovered ? theme.ink : theme.soft_ink, Align::left,
                     weight);
        if (here) painter.rect({x, bar.y + bar.height - size * 0.2, width, size * 0.2}, theme.accent);
        x += width + gap;
    }
}

/// What the keys do, over the canvas.
void draw_keys(RoomFrame& frame) {
    const double em = frame.brushes.fonts.text_px();
    const drawing::Theme& theme = frame.brushes.theme;
    ImguiPainter measure_painter = screen_painter(frame);
    drawing::MeasuringPainter measure(measure_painter);
    const double width = std::min(frame.canvas.width - em, em * 40.0), names = em * 10.5;
    const auto write = [&](drawing::Painter& on, double x, double top, double size) {
        double y =
            drawing::paragraph(on, x, top, spoken(words::keys_title), size * 1.15, width, theme.ink, Weight::bold, 1);
        for (const auto& [key, what] : words::keys) {
            const double scale = size / em;
            drawing::paragraph(on, x, y + size * 0.2, spoken(key), size, names * scale, theme.ink, Weight::bold, 1);
            y = drawing::paragraph(on, x + names * scale, y + size * 0.2, spoken(what), size,
                                   width - em * 2.0 - names * scale, theme.ink);
        }
        return y;
    };
    double size = em;
    while (size > em * 0.6 && write(measure, 0.0, 0.0, size) > frame.canvas.height - em * 2.0) size -= 1.0;
    const double whole = write(measure, 0.0, 0.0, size) + em * 1.6, hint = em * 1.3;
    // Where large type in a low window leaves no room for all of it, it is scrolled.
    const double height = std::min(whole, frame.canvas.height);
    const Rect box{frame.canvas.x + (frame.canvas.width - width) / 2.0,
                   frame.canvas.y + std::max(0.0, (frame.canvas.height - height) / 2.0), width, height};
    ImGui::SetCursorScreenPos({static_cast<float>(box.x), static_cast<float>(box.y)});
    ImGui::BeginChild("keys", {static_cast<float>(box.width), static_cast<float>(box.height)}, true,
                      ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoNav);
    ImguiPainter painter = screen_painter(frame);
    painter.rect(box, theme.panel);
    painter.outline(drawing::inset(box, 1.0), theme.ink, 1.5);
    frame.places.mark("keys", box);
    if (height >= whole) {
        write(painter, box.x + em, box.y + em * 0.8, size);
    } else {
        const Rect shown{box.x + em, box.y + em * 0.6, box.width - em * 1.5, box.height - em * 0.6 - hint};
        ImGui::SetCursorScreenPos({static_cast<float>(shown.x), static_cast<float>(shown.y)});
        ImGui::BeginChild("keys scrolled", {static_cast<float>(shown.width), static_cast<float>(shown.height)}, false,
                          ImGuiWindowFlags_NoNav);
        scroll_by_keys(frame, false);
        ImguiPainter inner = screen_painter(frame);
        const double top = static_cast<double>(ImGui::GetCursorScreenPos().y);
        const double floor_y = write(inner, shown.x, top, size);
        ImGui::Dummy({1.0F, static_cast<float>(floor_y - top)});
        const bool more = ImGui::GetScrollY() < ImGui::GetScrollMaxY() - 1.0F;
        ImGui::EndChild();
        if (more) {
            painter.text({box.x + box.width - em, box.y + box.height - em * 0.4}, spoken(words::more_below), em * 0.72,
                         theme.soft_ink, Align::right);
            frame.places.mark("more keys", {box.x, box.y + box.height - hint, box.width, hint});
        }
    }
    ImGui::EndChild();
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
    const std::string store = session.store.filename().string();
    const int season = session.answer ? session.answer->view.season : session.season;
    const std::string& limit = session.answer ? session.answer->limit : session.limit;
    const auto looked_at = [&](const std::string& limit_of_it) {
        return session.room == Room::bins ? spoken(words::line_of_bins, store, season)
                                          : spoken(words::line_of_answer, store, season, limit_of_it);
    };
    std::string left = looked_at(limit_in_words(session, limit));
    double right = line.x + line.width - em;
    draw_looks_button(frame, right, baseline, em);
    right -= painter.text_width(spoken(words::looks_open), em) + em * 1.5;
    if (frame.session.working) {
        const Job<Answer>& job = *frame.session.working;
        ImGui::PushFont(frame.brushes.fonts.face(em, Weight::regular));
        const float width = ImGui::CalcTextSize(spoken(words::stop)).x + ImGui::GetStyle().FramePadding.x * 2.0F;
        ImGui::SetCursorScreenPos({static_cast<float>(right) - width,
                                   static_cast<float>(line.y + line.height / 2.0) - ImGui::GetFrameHeight() / 2.0F});
        const bool escaped = frame.views.keys.presses(ImGui::GetKeyIndex(ImGuiKey_Escape)) > 0 && !a_list_is_open();
        if (ImGui::Button(spoken(words::stop)) || escaped) frame.actions.emplace_back(StopWork{});
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
            what += spoken(words::seconds_left, *left_s);
        what = drawing::shortened(painter, what, em, std::max(0.0, right - line.x - line.width * 0.4));
        painter.text({right, baseline}, what, em, theme.ink, Align::right);
        right -= painter.text_width(what, em);
    } else if (!frame.session.problem.empty()) {
        const std::string words =
            drawing::shortened(painter, frame.session.problem, em, line.width * 0.5, Weight::bold);
        painter.text({right, baseline}, words, em, theme.accent, Align::right, Weight::bold);
        right -= painter.text_width(words, em, Weight::bold);
        if (ImGui::IsMouseHoveringRect(
                {static_cast<float>(line.x + line.width * 0.4), static_cast<float>(line.y)},
                {static_cast<float>(line.x + line.width), static_cast<float>(line.y + line.height)})) {
            show_tip_beside(line, frame.session.problem);
        }
    } else if (session.by_others) {
        painter.text({right, baseline}, spoken(words::store_has_changed), em, theme.accent, Align::right, Weight::bold);
        const double width = painter.text_width(spoken(words::store_has_changed), em, Weight::bold);
        frame.places.mark("store has changed", {right - width, line.y, width, line.height});
        right -= width;
    } else {
        painter.text({right, baseline}, spoken(words::idle), em, theme.soft_ink, Align::right);
        right -= painter.text_width(spoken(words::idle), em);
    }
    right -= em * 1.5;
    // What can be taken back stands before what is looked at: that is said at the top, too.
    const double room = std::max(0.0, right - line.x - em);
    const double of_left = painter.text_width(left, em) + em * 1.5;
    const std::string sitting =
        drawing::shortened(painter, sitting_in_words(frame), em, std::max(room * 0.75, room - of_left));
    const double sitting_width = painter.text_width(sitting, em);
    if (!sitting.empty()) {
        const Rect place{right - sitting_width, line.y, sitting_width, line.height};
        ImGui::SetCursorScreenPos({static_cast<float>(place.x), static_cast<float>(place.y)});
        if (ImGui::InvisibleButton("sitting words",
                                   {static_cast<float>(std::max(1.0, place.width)), static_cast<float>(place.height)}))
            frame.views.shows_sitting = !frame.views.shows_sitting;
        const bool hovered = ImGui::IsItemHovered();
        if (hovered) {
            std::string tip = sitting_in_words(frame);
            if (const std::string next = undo_in_words(frame); !next.empty() && next != tip) tip += "\n" + next;
            show_tip(tip + "\n" + spoken(words::history_open));
        }
        painter.text({place.x, baseline}, sitting, em, hovered ? theme.accent : theme.ink);
        frame.places.mark("sitting words", place);
    }
    const double room_of_left = room - sitting_width - (sitting.empty() ? 0.0 : em * 1.5);
    // The name of the limit stands at the top; where both have no room here, its number does.
    if (const models::Limit* named = limit_of_store(session, limit);
        named != nullptr && painter.text_width(left, em) > room_of_left)
        left = looked_at(drawing::with_unit(words::limit_by_number, limit_number_text(named->limit_mg_per_kg)));
    painter.text({line.x + em, baseline}, drawing::shortened(painter, left, em, room_of_left), em, theme.soft_ink);
}

}  // namespace

void Places::mark_last_item(const std::string& name, const std::string& words) {
    const auto between = [](const ImVec2& low, const ImVec2& high) {
        return Rect{static_cast<double>(low.x), static_cast<double>(low.y), static_cast<double>(high.x - low.x),
                    static_cast<double>(high.y - low.y)};
    };
    const Rect item = between(ImGui::GetItemRectMin(), ImGui::GetItemRectMax());
    mark(name, item);
    if (!notes_texts_ || words.empty()) return;
    const ImVec2 from = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
    texts_.push_back({words, item, between(from, {from.x + size.x, from.y + size.y})});
}

const Rect* Places::find(const std::string& name) const {
    const auto found = rects_.find(name);
    return found == rects_.end() ? nullptr : &found->second;
}

ImguiPainter screen_painter(RoomFrame& frame) {
    return {*ImGui::GetWindowDrawList(), frame.brushes.fonts, {0.0, 0.0}, frame.brushes.textures, frame.places.texts()};
}

bool a_list_is_open() {
    return ImGui::IsPopupOpen("", ImGuiPopupFlags_AnyPopupId | ImGuiPopupFlags_AnyPopupLevel);
}

bool keys_are_ours() {
    const ImGuiIO& io = ImGui::GetIO();
    return !io.WantTextInput && !io.KeyCtrl && !a_list_is_open();
}

std::optional<std::string> stepped_name(const std::vector<std::string>& names, const std::string& from, int step) {
    if (names.empty() || step == 0) return std::nullopt;
    const auto count = static_cast<int>(names.size());
    const auto found = std::find(names.begin(), names.end(), from);
    const int at = found == names.end() ? (step > 0 ? -1 : 0) : static_cast<int>(found - names.begin());
    return names[static_cast<std::size_t>(((at + step) % count + count) % count)];
}

int presses(const RoomFrame& frame, int key) {
    // At the bench letters and numbers belong to the line.
    const bool of_a_line = (key >= 'A' && key <= 'Z') || (key >= '0' && key <= '9');
    if (of_a_line && frame.session.room == Room::bench) return 0;
    return keys_are_ours() ? frame.views.keys.presses(key) : 0;
}

int presses_of(const RoomFrame& frame, int imgui_key) {
    return presses(frame, ImGui::GetKeyIndex(imgui_key));
}

int pressed_step(const RoomFrame& frame) {
    return presses(frame, 'N') - presses(frame, 'P');
}

void scroll_by_keys(const RoomFrame& frame, bool on_the_right) {
    if (ImGui::GetIO().KeyShift != on_the_right) return;
    const int pages = presses_of(frame, ImGuiKey_PageDown) - presses_of(frame, ImGuiKey_PageUp);
    if (pages == 0) return;
    ImGui::SetScrollY(
        std::max(0.0F, ImGui::GetScrollY() + ImGui::GetWindowHeight() * 0.8F * static_cast<float>(pages)));
}

void take_keys(Views& views) {
    views.keys.begin_frame(!nobody_is_choosing());
}

bool nobody_is_choosing() {
    return !a_list_is_open() && !ImGui::GetIO().WantTextInput;
}

void draw_wrapped(RoomFrame& frame, const std::string& words, double width) {
    const double em = frame.brushes.fonts.text_px();
    const ImVec2 from = ImGui::GetCursorScreenPos();
    ImguiPainter painter = screen_painter(frame);
    const double top = static_cast<double>(from.y) - 0.15 * em;
    const double floor_y =
        drawing::paragraph(painter, static_cast<double>(from.x), top, words, em, width, frame.brushes.theme.ink);
    ImGui::Dummy({static_cast<float>(width), static_cast<float>(floor_y - top - 0.3 * em)});
}

void draw_across_row(RoomFrame& frame, const std::string& words, float width) {
    const double small = frame.brushes.fonts.text_px() * 0.88;
    ImGui::TableNextRow();
    ImGui::TableNextColumn();
    const ImVec2 from = ImGui::GetCursorScreenPos();
    ImguiPainter painter = screen_painter(frame);
    drawing::MeasuringPainter measure(painter);
    const double height =
        drawing::paragraph(measure, 0.0, 0.0, words, small, static_cast<double>(width), frame.brushes.theme.ink);
    ImGui::Dummy({1.0F, static_cast<float>(height)});
    // Over the columns beside it: clipped by the table, not by this cell.
    const ImVec2 low = ImGui::GetWindowPos(), size = ImGui::GetWindowSize();
    ImGui::PushClipRect({low.x, low.y + ImGui::GetTextLineHeight() + ImGui::GetStyle().CellPadding.y * 2.0F},
                        {low.x + size.x, low.y + size.y}, false);
    drawing::paragraph(painter, static_cast<double>(from.x), static_cast<double>(from.y), words, small,
                       static_cast<double>(width), frame.brushes.theme.soft_ink);
    ImGui::PopClipRect();
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
    double size = em * (frame.tight ? 0.66 : 0.88);
    while (size > em * 0.62 && write(measure, 0.0, size) > area.height * 0.5) size -= 1.0;
    const double height = std::min(area.height, write(measure, 0.0, size));
    write(painter, area.y + area.height - height, size);
    const Rect foot{area.x, area.y + area.height - height, area.width, height};
    frame.places.mark("caution", foot);
    return {area.x, area.y, area.width, std::max(0.0, area.height - height - em * 0.4)};
}

std::vector<Action> draw_frame(const Session& session, Views& views, Brushes& brushes, Places& places) {
    places.begin_frame();
    views.map_scene.begin_frame();
    std::vector<Action> actions;
    const drawing::ShownIn shown_in(session.unit);
    const SpokenIn spoken_in(session.language);
    if (brushes.theme_name != session.theme) {
        brushes.theme_name = session.theme;
        brushes.theme = drawing::theme_of(session.theme);
        set_style(brushes);
        views.map_scene.forget();
    }
    if (views.drawn_in != session.unit) {
        views.drawn_in = session.unit;
        views.map_scene.forget();
    }
    const bool same_behind = is_same_picture(views.drawn_behind, session.backdrop.whole) &&
                             is_same_picture(views.drawn_nearer, session.backdrop.nearer);
    views.drawn_behind = session.backdrop.whole;
    views.drawn_nearer = session.backdrop.nearer;
    if (!same_behind) {
        views.map_scene.forget();
        brushes.textures.clear();
    }
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
    // Large type in a low window: lower bars, rows and margins leave the lines to what was asked for.
    const bool tight = static_cast<double>(size.y) < 36.0 * em;
    const ImVec2 loose_cell = ImGui::GetStyle().CellPadding;
    ImGui::PushStyleVar(ImGuiStyleVar_CellPadding, {loose_cell.x, tight ? static_cast<float>(em * 0.1) : loose_cell.y});
    RoomFrame frame{session, views, brushes, places, {}, tight, actions};
    const double bar_height = em * (tight ? 2.4 : 3.0), line_height = em * (tight ? 1.5 : 2.0);
    Rect tabs_bar{0.0, 0.0, static_cast<double>(size.x), bar_height}, choices_bar = tabs_bar;
    // A second row for season and limit where one is too narrow.
    const ImguiPainter measure = screen_painter(frame);
    const double tabs_width = width_of_tabs(measure, em * tab_share(tight), tight);
    if (tabs_width + width_of_choices(frame, measure).all > tabs_bar.width) {
        choices_bar.y = tabs_bar.height;
        choices_bar.height = em * (tight ? 2.1 : 2.4);
    } else {
        choices_bar.x = tabs_width;
        choices_bar.width -= tabs_width;
    }
    const Rect bar{0.0, 0.0, static_cast<double>(size.x), choices_bar.y + choices_bar.height};
    const Rect line{0.0, static_cast<double>(size.y) - line_height, static_cast<double>(size.x), line_height};
    const Rect canvas{0.0, bar.height, static_cast<double>(size.x), line.y - bar.height};
    frame.canvas = canvas;
    if (views.keys.presses(GLFW_KEY_F1) % 2 == 1) views.shows_keys = !views.shows_keys;
    if (views.keys.presses(ImGui::GetKeyIndex(ImGuiKey_Escape)) > 0) views.shows_keys = false;
    if (views.keys.presses(GLFW_KEY_F5) > 0) actions.emplace_back(ReadAgain{});
    // What was begun for a sample and not gone on with is not there the next time.
    if (session.room != Room::bench && views.line.is_only_begun()) views.line.clear();
    answer_undo_keys(frame);
    answer_scale_keys(frame);
    // At the pit a code chooses its truck; no other room listens to a scanner.
    while (const auto code = views.gate.take_scanned(ImGui::GetIO().WantTextInput))
        if (session.room == Room::bins) actions.emplace_back(FindLoad{*code});
    // On the map the arrows move the map, and nothing else besides; at the bench and the pit Enter presses nothing, for
    // a scanner sends it.
    ImGuiConfigFlags& flags = ImGui::GetIO().ConfigFlags;
    const bool keys_have_a_place =
        session.room == Room::contamination || session.room == Room::bench || session.room == Room::bins;
    if (keys_have_a_place && !a_list_is_open())
        flags &= ~ImGuiConfigFlags_NavEnableKeyboard;
    else
        flags |= ImGuiConfigFlags_NavEnableKeyboard;
    ImguiPainter painter = screen_painter(frame);
    painter.rect({0.0, bar.height - 1.0, bar.width, 1.0}, brushes.theme.line);
    draw_tabs(frame, tabs_bar);
    draw_choices(frame, choices_bar);
    places.mark("canvas", canvas);
    if (session.room == Room::bench) {
        draw_bench_room(frame);
    } else if (!session.answer) {
        const std::string sentence = session.problem.empty() ? spoken(words::nothing_yet) : session.problem;
        drawing::draw_empty(painter, canvas, sentence, brushes.look());
    } else {
        switch (session.room) {
            case Room::bench:
                break;
            case Room::where_first:
                draw_where_first_room(frame);
                break;
            case Room::contamination:
                draw_contamination_room(frame);
                break;
            case Room::bins:
                draw_pit_room(frame);
                break;
            case Room::seasons:
                draw_seasons_room(frame);
                break;
        }
    }
    if (const std::string still = still_shown(session); !still.empty() && session.room != Room::bench)
        draw_still(frame, still);
    draw_sitting(frame);
    if (views.shows_keys) draw_keys(frame);
    draw_line(frame, line);
    ImGui::PopStyleVar();
    ImGui::End();
    return actions;
}

void set_style(const Brushes& brushes) {
    ImGuiStyle style;
    if (brushes.theme_name == drawing::ThemeName::dark)
        ImGui::StyleColorsDark(&style);
    else
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
