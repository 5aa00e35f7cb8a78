#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/pit_words.h"
#include "app/window/rooms/pit_parts.h"
#include "app/words.h"
#include "models/decision/load_life.h"
#include "models/spoken.h"

namespace app::window {

namespace {

using drawing::Align;
using drawing::Rect;
using drawing::Weight;

/// "27:05 min", "3 h 12 min", "12 d 4 h"; empty where it is not over yet.
std::string clock_in_words(const models::Stamp& since, const models::Stamp& now) {
    const long long s = std::chrono::duration_cast<std::chrono::seconds>(now.utc - since.utc).count();
    if (s < 0) return "";
    if (s < 3600) return spoken(words::pit_minutes, s / 60, s % 60);
    if (s < 48 * 3600) return spoken(words::pit_hours, s / 3600, s / 60 % 60);
    return spoken(words::pit_days, s / 86400, s / 3600 % 24);
}

std::string day_and_minute(const models::Stamp& stamp) {
    return models::to_short_text(stamp.local_day()) + " " + models::to_text(stamp).substr(11, 5);
}

/// How far a load is: four places on its way, those that it has reached filled.
void draw_track(drawing::Painter& painter, double x, double y, double size, models::LoadStatus status,
                const drawing::Theme& theme) {
    const int reached = status == models::LoadStatus::arrived    ? 1
                        : status == models::LoadStatus::probed   ? 2
                        : status == models::LoadStatus::awaiting ? 3
                                                                 : 4;
    const double step = size * 0.85, radius = size * 0.24;
    painter.polyline({{x + radius, y}, {x + radius + 3.0 * step, y}}, theme.soft_ink, std::max(1.0, size * 0.07));
    for (int i = 0; i < 4; ++i) {
        const drawing::Point at{x + radius + step * i, y};
        painter.disc(at, radius, i < reached ? theme.ink : theme.paper);
        painter.circle(at, radius, theme.ink, std::max(1.0, size * 0.08));
    }
}

/// A strip that is not read: its two lines are still to come.
void draw_unread_strip(drawing::Painter& painter, const Rect& box, const drawing::Theme& theme) {
    const double pen = std::max(1.0, box.height * 0.1);
    painter.outline(box, theme.ink, pen);
    for (const double share : {0.35, 0.62}) {
        const double y = box.y + box.height * share;
        painter.polyline({{box.x + pen, y}, {box.x + box.width - pen, y}}, theme.soft_ink, pen, false, true);
    }
}

std::string place_in_words(const SeasonView& view, const std::string& load) {
    for (const models::Assignment& placed : view.bins->plan.assignments)
        if (placed.name == load) return spoken(words::pit_goes_to, placed.bin);
    for (const models::UnplacedGrain& left : view.bins->plan.unplaced)
        if (left.name == load) return left.turn_away ? spoken(words::pit_turn_away_short) : spoken(words::pit_no_place);
    return spoken(words::pit_no_place);
}

struct QueuePen {
    RoomFrame& frame;
    double x, width, y, top = 0.0;

    void heading(const char* words_of_it) {
        ImguiPainter painter = screen_painter(frame);
        const double em = frame.brushes.fonts.text_px();
        y = drawing::paragraph(painter, x, y + em * 0.3, words_of_it, em * 1.05, width, frame.brushes.theme.ink,
                               Weight::bold, 2);
    }
    void line(const std::string& words_of_it, bool strong = false) {
        ImguiPainter painter = screen_painter(frame);
        const double em = frame.brushes.fonts.text_px(), size = em * 0.88;
        y = drawing::paragraph(painter, x, y, words_of_it, size, width,
                               strong ? frame.brushes.theme.ink : frame.brushes.theme.soft_ink,
                               strong ? Weight::bold : Weight::regular) +
            em * 0.25;
    }
};

void draw_row(QueuePen& pen, const QueuedLoad& row, const models::Stamp& now) {
    RoomFrame& frame = pen.frame;
    const PitPanel& pit = frame.session.pit;
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px(), small = em * 0.88;
    const bool narrow = pen.width < em * 17.0;
    const bool done = std::find(pit.done.begin(), pit.done.end(), row.load) != pit.done.end();
    const double height = em * (narrow ? 4.1 : 2.95);
    const Rect place{pen.x, pen.y, pen.width, height};
    ImGui::SetCursorScreenPos({static_cast<float>(place.x), static_cast<float>(place.y)});
    const bool pressed = ImGui::InvisibleButton(
        ("truck " + row.load).c_str(), {static_cast<float>(place.width), static_cast<float>(height - em * 0.2)});
    const bool hovered = ImGui::IsItemHovered();
    frame.places.mark_last_item("load " + row.load);
    if (pressed) frame.actions.emplace_back(ChooseLoad{row.load});
    if (hovered)
        show_tip((row.unread_sample.empty() ? "" : spoken(words::pit_tip_to_read, row.unread_sample) + "\n") +
                 row.advice + (row.told.empty() ? "" : "\n" + row.told) +
                 (frame.tight ? "" : std::string("\n") + spoken(words::pit_tip_load_and_field)));
    ImguiPainter painter = screen_painter(frame);
    const bool here = row.load == pit.load;
    if (here || hovered) painter.rect({place.x, place.y, place.width, height - em * 0.2}, theme.panel);
    if (here) {
        painter.rect({place.x, place.y, em * 0.3, height - em * 0.2}, theme.accent);
        if (frame.views.pit.scroll_to == row.load) {
            // Only where it is out of sight, and then by whole rows: the edge of the list cuts none.
            const double list_top = static_cast<double>(ImGui::GetWindowPos().y);
            const bool in_sight = place.y >= list_top - 1.0 &&
                                  place.y + height <= list_top + static_cast<double>(ImGui::GetWindowHeight()) + 1.0;
            // Those before it stay in sight where the list has room for them and for it.
            const double rows = std::floor(static_cast<double>(ImGui::GetWindowHeight()) / height);
            const double before = std::clamp(rows - 1.0, 0.0, 2.0);
            if (!in_sight) ImGui::SetScrollY(static_cast<float>(std::max(0.0, place.y - pen.top - before * height)));
            frame.views.pit.scroll_to.clear();
        }
    }
    const double x = place.x + em * 0.6, right = place.x + place.width - em * 0.4;
    const std::string clock = done        ? spoken(words::pit_recorded_now)
                              : row.since ? clock_in_words(*row.since, now)
                                          : spoken(words::pit_clock_unknown);
    const double first = place.y + em * 1.25;
    // The name is what is looked for: where both have no room it is the clock that is written small.
    const bool both = painter.text_width(clock, em * 1.1, Weight::bold) + em * 0.5 +
                          painter.text_width(row.load, em * 1.1, Weight::bold) <=
                      right - x;
    const double clock_px = both ? em * 1.1 : em * 0.8;
    const double clock_width = painter.text_width(clock, clock_px, Weight::bold);
    painter.text({right, first}, clock, clock_px, done ? theme.soft_ink : theme.ink, Align::right, Weight::bold);
    const std::string name =
        drawing::shortened(painter, row.load, em * 1.1, right - clock_width - em * 0.5 - x, Weight::bold);
    const double name_width = painter.text_width(name, em * 1.1, Weight::bold);
    painter.text({x, first}, name, em * 1.1, done ? theme.soft_ink : theme.ink, Align::left, Weight::bold);
    const std::string goes = place_in_words(pit.plan->view(), row.load);
    const std::string mass = row.mass_t ? drawing::tonnes_text(*row.mass_t) : "? t";
    const double second = place.y + em * 2.4;
    draw_track(painter, x, second - small * 0.32, em, row.state.status, theme);
    const double after_track = x + em * 3.5;
    const double goes_width = painter.text_width(goes, small, Weight::bold);
    painter.text({right, second}, goes, small, theme.ink, Align::right, Weight::bold);
    // A sample that lies there and is not read stands out: its reading can be entered.
    const bool to_be_read = !row.unread_sample.empty();
    const drawing::Colour state_ink = to_be_read ? theme.ink : theme.soft_ink;
    const Weight state_weight = to_be_read ? Weight::bold : Weight::regular;
    if (to_be_read && x + name_width + em * 1.3 < right - clock_width) {
        draw_unread_strip(painter, {x + name_width + em * 0.5, first - em * 0.85, em * 0.5, em}, theme);
        frame.places.mark("to read " + row.load, {x + name_width + em * 0.5, first - em * 0.85, em * 0.5, em});
    }
    // How far it is tells the track as well: where both have no room, what it waits for stands alone.
    const auto state_within = [&](double room) {
        if (!row.unread_sample.empty()) {
            const std::string to_read = spoken(words::pit_to_read, row.unread_sample);
            if (painter.text_width(to_read, small, Weight::bold) <= room) return to_read;
            return drawing::shortened(painter, row.unread_sample, small, room, Weight::bold);
        }
        const std::string whole = spoken(words::pit_waits_for, models::in_words(row.state.status), row.waits_for);
        if (row.waits_for.empty() || painter.text_width(whole, small) <= room) return whole;
        return drawing::shortened(painter, row.waits_for, small, room);
    };
    if (narrow) {
        painter.text({after_track, second},
                     drawing::shortened(painter, mass, small, right - goes_width - em * 0.4 - after_track), small,
                     theme.soft_ink);
        painter.text({x, place.y + em * 3.55}, state_within(right - x), small, state_ink, Align::left, state_weight);
    } else {
        const double mass_width = painter.text_width(mass, small);
        painter.text({right - goes_width - em * 0.8, second}, mass, small, theme.soft_ink, Align::right);
        painter.text({after_track, second}, state_within(right - goes_width - mass_width - em * 1.4 - after_track),
                     small, state_ink, Align::left, state_weight);
    }
    if (!row.told.empty())
        painter.rect({place.x + place.width - em * 0.2, place.y, em * 0.2, height - em * 0.2}, theme.ink);
    painter.rect({place.x, place.y + height - em * 0.15, place.width, 1.0}, theme.line);
    pen.y += height;
}

/// What stands where in a row, above the list; answers its height.
double draw_heads(RoomFrame& frame, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Colour ink = frame.brushes.theme.soft_ink;
    const double em = frame.brushes.fonts.text_px(), size = em * 0.82;
    const double x = area.x + em * 0.6,
                 right = area.x + area.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize) - em * 0.4;
    const auto line = [&](double baseline, const char* left_words, const char* right_words) {
        const double room = right - x - painter.text_width(right_words, size) - em * 0.5;
        painter.text({x, baseline}, drawing::shortened(painter, left_words, size, room), size, ink);
        painter.text({right, baseline}, right_words, size, ink, Align::right);
    };
    line(area.y + size, spoken(words::pit_head_load), spoken(words::pit_head_waited));
    const double second = frame.tight ? 0.0 : 1.2 * size;
    if (second > 0.0) line(area.y + size + second, spoken(words::pit_head_waits_for), spoken(words::pit_head_goes));
    const double height = 1.35 * size + second;
    painter.rect({area.x, area.y + height, area.width, 1.0}, frame.brushes.theme.line);
    frame.places.mark("heads", {area.x, area.y, area.width, height});
    return height + em * 0.15;
}

/// What has to be looked at, one entry a thing: as many as the head of the queue counts.
struct ToLookAt {
    std::string words;
    bool strong = false;
    std::optional<models::Stamp> since = {};  ///< none: it has no moment of its own
};

std::string other_bin_in_words(const OtherBinUsed& used) {
    const bool away = used.to == "out";  // nothing of it can be put right in a bin
    const std::string why = used.put_right && !away ? spoken(words::pit_put_right) : used.reason;
    const std::string because = why.empty() ? "" : spoken(words::pit_other_because, why);
    if (away) return spoken(words::pit_other_away, used.move, used.load, used.advised, because);
    if (used.advised == none_advised) return spoken(words::pit_other_none, used.move, used.load, used.to, because);
    return spoken(words::pit_other_bin, used.move, used.load, used.to, used.advised, because);
}

/// The newest first; what has no moment of its own after those. What is of one event stands in one entry.
std::vector<ToLookAt> things_to_look_at(const PitPlan& plan) {
    const QueueView& queue = plan.queue;
    std::vector<ToLookAt> all;
    if (!queue.stale.says.empty()) all.push_back({queue.stale.says, true, queue.at});  // it is so now
    std::vector<bool> told(queue.other_bins.size(), false);
    for (const LateResult& late : queue.late) {
        std::string entry =
            late.bin == "out" ? spoken(words::pit_late_out, late.load, models::said(mass_text(late.mass_t)), late.says)
                              : spoken(words::pit_late, late.load, models::said(mass_text(late.mass_t)), late.bin,
                                       late.says, day_and_minute(late.read));
        // The move that brought it there is the same event: it is told with it.
        for (std::size_t i = 0; i < queue.other_bins.size(); ++i) {
            const OtherBinUsed& used = queue.other_bins[i];
            if (!late.over || told[i] || used.put_right || used.load != late.load || used.to != late.bin) continue;
            entry = spoken(words::pit_look_at_entry, entry, other_bin_in_words(used));
            for (const std::string& means : used.means)
                if (means.find(late.test) == std::string::npos) entry = spoken(words::pit_look_at_entry, entry, means);
            told[i] = true;
        }
        all.push_back({std::move(entry), late.over, late.read});
    }
    for (const FrozenBin& bin : queue.frozen) {
        // Where all that closed it was told just now, so was that nothing more goes in.
        const auto is_told = [&](const std::string& cause) {
            return !cause.empty() && std::any_of(queue.late.begin(), queue.late.end(), [&](const LateResult& late) {
                return late.over && late.bin == bin.bin && late.load == cause;
            });
        };
        if (!std::all_of(bin.causes.begin(), bin.causes.end(), is_told))
            all.push_back({spoken(words::pit_frozen, bin.bin, bin.because), true, bin.since});
    }
    for (std::size_t i = 0; i < queue.other_bins.size(); ++i) {
        const OtherBinUsed& used = queue.other_bins[i];
        if (told[i]) continue;
        std::string entry = other_bin_in_words(used);
        for (const std::string& means : used.means) entry = spoken(words::pit_look_at_entry, entry, means);
        all.push_back({std::move(entry), !used.means.empty(), used.at});
    }
    for (const QueuedLoad& row : queue.waiting)
        if (!row.told.empty()) all.push_back({row.told, false, row.since});
    for (const std::string& odd : queue.odd) all.push_back({odd, false});
    std::stable_sort(all.begin(), all.end(), [](const ToLookAt& a, const ToLookAt& b) {
        return a.since && (!b.since || a.since->utc > b.since->utc);
    });
    return all;
}

void draw_what_to_look_at(QueuePen& pen, const std::vector<ToLookAt>& things) {
    if (things.empty()) return;
    if (std::exchange(pen.frame.views.pit.to_look_at, false))
        ImGui::SetScrollFromPosY(static_cast<float>(pen.y) - ImGui::GetWindowPos().y, 0.0F);
    pen.heading(spoken(words::pit_look_at));
    const double from = pen.y;
    for (std::size_t i = 0; i < things.size(); ++i) {
        const double top = pen.y;
        pen.line(things[i].words, things[i].strong);
        pen.frame.places.mark("thing " + std::to_string(i), {pen.x, top, pen.width, pen.y - top});
    }
    pen.frame.places.mark("look at", {pen.x, from, pen.width, pen.y - from});
}

/// A load that came to a bin, or left, with a mark of its own for each.
void draw_gone(QueuePen& pen, const std::vector<models::Move>& gone) {
    if (gone.empty()) return;
    pen.heading(spoken(words::pit_gone));
    constexpr std::size_t most = 8;
    const double em = pen.frame.brushes.fonts.text_px(), size = em * 0.88;
    const drawing::Theme& theme = pen.frame.brushes.theme;
    for (std::size_t i = 0; i < std::min(most, gone.size()); ++i) {
        const models::Move& move = gone[i];
        const bool away = move.to == "out";
        ImguiPainter painter = screen_painter(pen.frame);
        const double y = pen.y + size * 0.75, side = size * 0.7;
        if (away) {
            painter.polyline({{pen.x, y - side / 2.0}, {pen.x + side, y + side / 2.0}}, theme.ink, em * 0.1);
            painter.polyline({{pen.x, y + side / 2.0}, {pen.x + side, y - side / 2.0}}, theme.ink, em * 0.1);
        } else {
            painter.rect({pen.x, y - side / 2.0, side, side}, theme.ink);
        }
        std::string text = spoken(words::pit_gone_row, move.from,
                                  away ? spoken(words::pit_gone_away) : spoken(words::pit_gone_to, move.to),
                                  models::said(mass_text(move.mass_t)));
        if (!move.advised_bin.empty() && move.advised_bin != move.to)
            text += "   " + (move.advised_bin == none_advised ? std::string(spoken(words::pit_gone_none))
                                                              : spoken(words::pit_gone_other, move.advised_bin));
        text += "   " + day_and_minute(move.time);
        if (!move.operator_name.empty()) text += ", " + move.operator_name;
        const double from = pen.y;
        pen.y = drawing::paragraph(painter, pen.x + em * 1.1, pen.y, text, size, pen.width - em * 1.1, theme.soft_ink,
                                   Weight::regular, 2) +
                em * 0.2;
        pen.frame.places.mark("gone " + move.from, {pen.x, from, pen.width, pen.y - from});
    }
}

void draw_find(RoomFrame& frame, const Rect& area) {
    Views& views = frame.views;
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y)});
    ImGui::SetNextItemWidth(static_cast<float>(area.width));
    if (frame.views.pit.focus_find) {
        ImGui::SetKeyboardFocusHere();
        frame.views.pit.focus_find = false;
    }
    char typed[120] = {};
    views.pit.find.copy(typed, sizeof typed - 1);
    const char* hint = spoken(words::pit_find);
    if (ImGui::CalcTextSize(hint).x > static_cast<float>(area.width) - 2.0F * ImGui::GetStyle().FramePadding.x)
        hint = spoken(words::pit_find_short);
    const bool entered =
        ImGui::InputTextWithHint("##find", hint, typed, sizeof typed, ImGuiInputTextFlags_EnterReturnsTrue);
    views.pit.find = typed;
    frame.places.mark_last_item("find");
    if (ImGui::IsItemHovered()) show_tip(spoken(words::pit_tip_find));
    if (!entered || views.pit.find.empty()) return;
    frame.actions.emplace_back(FindLoad{views.pit.find});
    views.pit.find.clear();
}

}  // namespace

void draw_pit_queue(RoomFrame& frame, const Rect& area) {
    const PitPanel& pit = frame.session.pit;
    const double em = frame.brushes.fonts.text_px();
    draw_find(frame, area);
    double find = static_cast<double>(ImGui::GetFrameHeight()) + em * 0.4;
    const std::vector<ToLookAt> things = things_to_look_at(*pit.plan);
    ImguiPainter painter = screen_painter(frame);
    {
        ButtonRow row(frame, area.x, area.y + find, area.width);
        row.tips_lie(TipSide::above);
        if (row.button(spoken(words::pit_arrival), "truck arrives",
                       pit.arrives ? nullptr : spoken(words::pit_tip_arrival), false, pit.arrives.has_value()))
            toggle_arrival(frame);
        find += static_cast<double>(ImGui::GetFrameHeight()) + em * 0.4;
    }
    // What was recorded of a truck that does not stand on the scale any more: it names that truck. It stands below the
    // list, which a hand may be pointing at; where it would take the room of the trucks that wait, the last line of the
    // window says it alone.
    double foot = 0.0;
    if (!pit.said.empty() && pit.said_of != pit.load) {
        const auto write = [&](drawing::Painter& on, double top) {
            top =
                drawing::paragraph(on, area.x, top, pit.said, em, area.width, frame.brushes.theme.ink, Weight::bold, 4);
            for (const std::string& caution : pit.cautions)
                top = drawing::paragraph(on, area.x, top, spoken(words::pit_caution, caution), em * 0.88, area.width,
                                         frame.brushes.theme.ink, Weight::regular, 4);
            return top;
        };
        drawing::MeasuringPainter measure(painter);
        const double height = write(measure, 0.0) + em * 0.4, from = area.y + area.height - height + em * 0.4;
        // Besides it: what has to be looked at, the heads and a truck.
        if (area.height - find - height > em * 9.5) {
            frame.places.mark("said", {area.x, from, area.width, write(painter, from) - from});
            foot = height;
        }
    }
    if (const std::size_t count = things.size(); count > 0) {
        const drawing::Theme& theme = frame.brushes.theme;
        ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y + find)});
        if (ImGui::InvisibleButton("to look at", {static_cast<float>(area.width), static_cast<float>(em * 1.5)}))
            frame.views.pit.to_look_at = true;
        frame.places.mark_last_item("to look at");
        painter.rect({area.x, area.y + find, area.width, em * 1.5}, ImGui::IsItemHovered() ? theme.line : theme.panel);
        painter.text(
            {area.x + em * 0.5, area.y + find + em * 1.1},
            drawing::shortened(painter, spoken(words::pit_to_look_at, count), em, area.width - em, Weight::bold), em,
            theme.accent, Align::left, Weight::bold);
        find += em * 1.9;
    }
    if (!pit.plan->queue.waiting.empty()) find += draw_heads(frame, {area.x, area.y + find, area.width, 0.0});
    const Rect list{area.x, area.y + find, area.width, std::max(1.0, area.height - find - foot)};
    ImGui::SetCursorScreenPos({static_cast<float>(list.x), static_cast<float>(list.y)});
    ImGui::BeginChild("queue", {static_cast<float>(list.width), static_cast<float>(list.height)});
    const ImVec2 from = ImGui::GetCursorScreenPos();
    QueuePen pen{frame, static_cast<double>(from.x), list.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize),
                 static_cast<double>(from.y)};
    const double top = pen.top = pen.y;
    const QueueView& queue = pit.plan->queue;
    if (queue.waiting.empty()) {
        pen.heading(spoken(words::queue));
        pen.line(spoken(words::no_queue), true);
        frame.places.mark("no trucks", {pen.x, top, pen.width, pen.y - top});
    }
    if (frame.views.pit.on_the_left != pit.load) {
        frame.views.pit.what_if = false;  // boxes that were opened beside another truck
        frame.views.pit.on_the_left = pit.load;
        frame.views.pit.scroll_to = pit.load;
    }
    // Nor are they left open below what was recorded of it.
    const std::string recorded = pit.recorded ? pit.recorded->load : "";
    if (std::exchange(frame.views.pit.recorded, recorded) != recorded && !recorded.empty())
        frame.views.pit.what_if = false;
    const models::Stamp now = frame.session.clock();
    for (const QueuedLoad& row : queue.waiting) draw_row(pen, row, now);
    draw_what_to_look_at(pen, things);
    draw_gone(pen, queue.gone);
    ImGui::SetCursorScreenPos(from);
    ImGui::Dummy({static_cast<float>(pen.width), static_cast<float>(pen.y - top)});
    scroll_by_keys(frame, true);
    ImGui::EndChild();
    frame.places.mark("queue", list);
}

}  // namespace app::window
