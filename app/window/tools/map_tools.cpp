#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_ground.h"
#include "app/ground_words.h"
#include "app/spoken_dates.h"
#include "app/window/other_seasons.h"
#include "app/window/tools/tools.h"
#include "app/words.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"

namespace app::window {

namespace {

using drawing::Point;
using drawing::Rect;

/// A sheet of its own over the canvas, which scrolls by keys.
void begin_panel(RoomFrame& frame, const char* name, const Rect& area) {
    const drawing::Theme& theme = frame.brushes.theme;
    ImguiPainter painter = screen_painter(frame);
    painter.rect(area, theme.paper);
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y)});
    ImGui::BeginChild(name, {static_cast<float>(area.width), static_cast<float>(area.height)});
    ImguiPainter inside = screen_painter(frame);
    inside.rect({area.x, area.y, area.width, 1.0}, theme.line);
    scroll_by_keys(frame, false);
}

void draw_profile(RoomFrame& frame, const Rect& area) {
    const Ground& ground = frame.session.ground;
    begin_panel(frame, "profile panel", area);
    ImguiPainter painter = screen_painter(frame);
    const double em = frame.brushes.fonts.text_px();
    const Rect inside = drawing::inset(area, (frame.tight ? 0.3 : 0.6) * em);
    drawing::Look look = frame.brushes.look();
    if (frame.tight) look.text_px *= 0.7;
    ToolViews& tools = frame.views.tools;
    const std::optional<double> pointed = tools.along_m;
    tools.along_m.reset();
    if (tools.first_end || !ground.transect) {
        const std::string sentence = tools.first_end                    ? spoken(words::press_second_end)
                                     : !ground.transect_problem.empty() ? ground.transect_problem
                                                                        : spoken(words::press_first_end);
        drawing::draw_empty(painter, inside, sentence, look);
    } else {
        drawing::TransectFigure figure = *ground.transect;
        if (inside.height < 18.0 * look.text_px) figure.notes.clear();
        const Rect plot = drawing::draw_transect_figure(painter, inside, figure, look, pointed);
        frame.places.mark("profile plot", plot);
        const ImVec2 mouse = ImGui::GetIO().MousePos;
        const double x = static_cast<double>(mouse.x), y = static_cast<double>(mouse.y);
        if (drawing::holds(plot, {x, y, 1e-9, 1e-9})) tools.along_m = figure.length_m * (x - plot.x) / plot.width;
        if (!ground.transect->notes.empty() && figure.notes.empty() && ImGui::IsWindowHovered())
            show_tip_beside(area, ground.transect->notes.front());
    }
    ImGui::EndChild();
    frame.places.mark("profile", area);
}

std::string zone_words(const FieldSplit& split, std::size_t number) {
    const SplitZone& zone = split.zones[number];
    // One along lines has a name in files, and a number here.
    const std::string named = zone.part.empty() ? spoken(words::zone_named, split.field, number + 1) : zone.drawn.name;
    if (!zone.content.content) return spoken(words::zone_unknown, named);
    const models::Content& content = *zone.content.content;
    const std::string name = zone.where.empty() ? named : named + ", " + zone.where;
    return drawing::with_unit(words::zone_line, name, drawing::content_text(content.median),
                              drawing::content_interval_text(content.low90, content.high90),
                              drawing::percent_text(zone.content.exceedance.value_or(0.0)),
                              models::in_words(zone.clearing.state));
}

std::string worth_words(const FieldSplit& split, bool in_money) {
    const auto amount = [&](double value) {
        const std::string number = value < 0.0 ? "-" + drawing::rough_text(-value) : drawing::rough_text(value);
        return in_money ? number : spoken(words::zones_unit_tonnes, number);
    };
    return spoken(words::zones_worth_of, split.field,
                  models::counted(static_cast<long long>(split.zones.size()), spoken(words::one_zone),
                                  spoken(words::several_zones)),
                  amount(split.worth->mean), amount(split.worth->low90), amount(split.worth->high90),
                  models::chance_in_words(split.worth->chance_it_pays));
}

void draw_dividing(RoomFrame& frame, double width) {
    const Job<ZonesOfField>& job = *frame.session.ground.dividing;
    std::string sentence = spoken(words::zones_working, frame.session.field);
    if (const auto left_s = job.seconds_left(); left_s && job.seconds() > 0.5)
        sentence += spoken(words::seconds_left, *left_s);
    draw_wrapped(frame, sentence, width);
    ImGui::ProgressBar(
        static_cast<float>(std::clamp(job.share(), 0.0, 1.0)),
        {static_cast<float>(std::min(width, 20.0 * frame.brushes.fonts.text_px())), ImGui::GetTextLineHeight()}, "");
    ImGui::SameLine();
    const bool escaped = presses_of(frame, ImGuiKey_Escape) > 0;
    if (ImGui::Button(spoken(words::stop)) || escaped) frame.actions.emplace_back(StopWork{});
    frame.places.mark_last_item("stop zones");
}

void draw_zones(RoomFrame& frame, const Rect& area) {
    const Ground& ground = frame.session.ground;
    begin_panel(frame, "zones panel", area);
    const double em = frame.brushes.fonts.text_px(), width = area.width - 2.2 * em;
    const auto say = [&](const std::string& sentence) {
        ImGui::SetCursorPosX(static_cast<float>(0.7 * em));
        draw_wrapped(frame, sentence, width);
    };
    ImGui::Dummy({1.0F, static_cast<float>(0.2 * em)});
    if (chosen_field(frame.session) == nullptr) {
        say(spoken(words::zones_choose));
    } else if (ground.dividing) {
        ImGui::SetCursorPosX(static_cast<float>(0.7 * em));
        draw_dividing(frame, width);
    } else if (!ground.zones_problem.empty()) {
        say(ground.zones_problem);
    } else if (ground.zones && ground.zones->field == frame.session.field) {
        for (const FieldSplit& split : ground.zones->splits.fields) {
            if (split.zones.empty()) {
                say(spoken(words::zones_as_one, split.field, split.why_not));
                if (!split.how_to_find_out.empty()) say(as_sentence(split.how_to_find_out));
            } else if (split.worth) {
                say(worth_words(split, ground.zones->splits.in_money));
            }
            for (std::size_t z = 0; z < split.zones.size(); ++z) {
                const SplitZone& zone = split.zones[z];
                say(zone_words(split, z));
                frame.places.mark_last_item("zone " + zone.drawn.name);
                if (ImGui::IsItemHovered() && !zone.clearing.reason.empty()) show_tip(zone.clearing.reason);
            }
            for (const std::string& note : split.notes) say(as_sentence(note));
        }
        say(spoken(words::zones_worth, ground.zones->splits.costs_in_words));
        // No higher than what there is to say, the next time.
        frame.views.tools.zones_px = static_cast<double>(ImGui::GetCursorPosY()) + 0.4 * em;
    }
    ImGui::EndChild();
    frame.places.mark("zones", area);
}

TransectLine turned(const TransectLine& line, double degrees, double along_share, double across_share) {
    const models::PointM middle{0.5 * (line.from.x_m + line.to.x_m), 0.5 * (line.from.y_m + line.to.y_m)};
    const double half_x = 0.5 * (line.to.x_m - line.from.x_m), half_y = 0.5 * (line.to.y_m - line.from.y_m);
    const double angle = degrees * std::numbers::pi / 180.0;
    const double x = half_x * std::cos(angle) - half_y * std::sin(angle);
    const double y = half_x * std::sin(angle) + half_y * std::cos(angle);
    const models::PointM at{middle.x_m + 2.0 * (along_share * half_x - across_share * half_y),
                            middle.y_m + 2.0 * (along_share * half_y + across_share * half_x)};
    return {{at.x_m - x, at.y_m - y}, {at.x_m + x, at.y_m + y}};
}

/// A mark of the map near the pointer; the nearest.
std::optional<std::size_t> test_under(const drawing::MapFigure& figure, const drawing::MapView& view,
                                      const Rect& canvas, Point pointer, double reach) {
    std::optional<std::size_t> found;
    for (std::size_t t = 0; t < figure.tests.size(); ++t) {
        const Point at = view.to_px(figure.tests[t].place_m, canvas);
        const double away = std::hypot(at.x - pointer.x, at.y - pointer.y);
        if (away > reach) continue;
        reach = away;
        found = t;
    }
    return found;
}

std::string joined(const Card& card) {
    std::string text;
    for (const std::string& line : card) text += (text.empty() ? "" : "\n") + line;
    return text;
}

const models::Explanation* explanation_of(const RoomFrame& frame, const std::string& field) {
    const auto found = frame.session.ground.explained.find(field);
    return found == frame.session.ground.explained.end() ? nullptr : &found->second->says;
}

}  // namespace

const ReadingsApart* readings_apart_of(const RoomFrame& frame, const std::string& field) {
    const auto found = frame.session.ground.explained.find(field);
    return found == frame.session.ground.explained.end() || !found->second->apart ? nullptr : &*found->second->apart;
}

double panel_height(const RoomFrame& frame, const Rect& canvas) {
    const GroundPanel panel = frame.session.ground.panel;
    if (panel != GroundPanel::transect && panel != GroundPanel::zones) return 0.0;
    if (frame.session.answer->view.contamination.ranking_only()) return 0.0;
    const double em = frame.brushes.fonts.text_px();
    if (panel == GroundPanel::zones)
        return std::min({std::clamp(0.26 * canvas.height, 8.0 * em, 13.0 * em), 0.5 * canvas.height,
                         std::max(4.0 * em, frame.views.tools.zones_px)});
    return std::min(std::clamp(0.42 * canvas.height, 12.0 * em, 22.0 * em), 0.5 * canvas.height);
}

void draw_panel(RoomFrame& frame, const Rect& area) {
    if (frame.session.ground.panel == GroundPanel::transect) draw_profile(frame, area);
    if (frame.session.ground.panel == GroundPanel::zones) draw_zones(frame, area);
}

void draw_evidence(RoomFrame& frame, const Rect& area) {
    const Ground& ground = frame.session.ground;
    begin_panel(frame, "evidence panel", area);
    const drawing::Look look = frame.brushes.look();
    const double em = look.text_px, scrollbar = static_cast<double>(ImGui::GetStyle().ScrollbarSize);
    const ImVec2 from = ImGui::GetCursorScreenPos();
    ImguiPainter painter = screen_painter(frame);
    if (!ground.facts) {
        const std::string sentence =
            ground.facts_problem.empty() ? spoken(words::evidence_working) : ground.facts_problem;
        drawing::draw_empty(painter, area, sentence, look);
    } else {
        const double width = area.width - 1.6 * em - scrollbar;
        const double height = std::max(area.height - 1.4 * em, drawing::height_of_evidence_figure(width, look));
        const drawing::EvidencePlaces at = drawing::draw_evidence_figure(
            painter, {static_cast<double>(from.x) + 0.8 * em, static_cast<double>(from.y) + 0.6 * em, width, height},
            ground.facts->evidence, look);
        ImGui::Dummy({static_cast<float>(width), static_cast<float>(height + 1.2 * em)});
        const auto plot = [&](const char* name, const Rect& rect, const char* tip) {
            frame.places.mark(name, rect);
            const ImVec2 low{static_cast<float>(rect.x), static_cast<float>(rect.y)};
            // Its head alone, so that no tip covers the marks.
            const ImVec2 high{static_cast<float>(rect.x + rect.width), static_cast<float>(rect.y + 2.0 * em)};
            if (ImGui::IsWindowHovered() && ImGui::IsMouseHoveringRect(low, high))
                show_tip_beside({rect.x, rect.y, rect.width, 2.0 * em}, tip, TipSide::right);
        };
        plot("pairs between", at.between, spoken(words::tip_pairs));
        plot("pairs within", at.within, spoken(words::tip_pairs));
        plot("foretold", at.foretold, spoken(words::tip_foretold));
    }
    ImGui::EndChild();
    frame.places.mark("evidence", area);
}

bool press_on_map(RoomFrame& frame, const models::PointM& place) {
    if (frame.session.ground.panel != GroundPanel::transect) return false;
    ToolViews& tools = frame.views.tools;
    if (!tools.first_end) {
        tools.first_end = place;
    } else if (!(*tools.first_end == place)) {
        frame.actions.emplace_back(OnTheGround{LayTransect{{*tools.first_end, place}}});
        tools.first_end.reset();
    }
    return true;
}

bool line_by_keys(RoomFrame& frame) {
    const Ground& ground = frame.session.ground;
    if (ground.panel != GroundPanel::transect || !ground.line || !ImGui::GetIO().KeyShift) return false;
    constexpr double turn_deg = 10.0, step = 0.05;  // ours
    const int turns = presses_of(frame, ImGuiKey_LeftArrow) - presses_of(frame, ImGuiKey_RightArrow);
    const int steps = presses_of(frame, ImGuiKey_UpArrow) - presses_of(frame, ImGuiKey_DownArrow);
    if (turns != 0 || steps != 0)
        frame.actions.emplace_back(OnTheGround{LayTransect{turned(*ground.line, turn_deg * turns, 0.0, step * steps)}});
    return true;
}

void draw_tools_on_map(RoomFrame& frame, drawing::Painter& painter, const Rect& canvas, const drawing::MapView& view) {
    const Ground& ground = frame.session.ground;
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const auto end = [&](const models::PointM& place, const char* letter) {
        const Point at = view.to_px(place, canvas);
        painter.disc(at, 0.62 * em, theme.accent);
        painter.text({at.x, at.y + 0.32 * em}, letter, 0.85 * em, drawing::readable_ink_on(theme.accent),
                     drawing::Align::centre, drawing::Weight::bold);
    };
    if (ground.panel == GroundPanel::transect) {
        if (frame.views.tools.first_end) {
            end(*frame.views.tools.first_end, "A");
        } else if (ground.line) {
            const Point a = view.to_px(ground.line->from, canvas), b = view.to_px(ground.line->to, canvas);
            painter.polyline({a, b}, theme.paper, 4.0);
            painter.polyline({a, b}, theme.accent, 2.0);
            if (frame.views.tools.along_m && ground.transect && ground.transect->length_m > 0.0) {
                const double share = *frame.views.tools.along_m / ground.transect->length_m;
                painter.circle({a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)}, 0.45 * em, theme.accent, 2.5);
            }
            end(ground.line->from, "A");
            end(ground.line->to, "B");
        }
    }
    if (ground.panel != GroundPanel::zones || !ground.zones || ground.zones->field != frame.session.field) return;
    drawing::LabelPlaces places;
    for (const FieldSplit& split : ground.zones->splits.fields) {
        for (std::size_t z = 0; z < split.zones.size(); ++z) {
            const SplitZone& zone = split.zones[z];
            for (const auto& ring : drawing::rings_px(zone.drawn.outline, view, canvas))
                painter.polyline(ring, theme.accent, 2.5, true);
            std::string words = fmt::format("{}", z + 1);
            if (zone.content.content)
                words +=
                    ": " + drawing::with_unit(words::zone_label, drawing::content_text(zone.content.content->median));
            // Below the field's own name, where there is room.
            Point at = view.to_px(models::centroid(zone.drawn.outline), canvas);
            if (models::bounding_box(zone.drawn.outline).height_m() / view.metres_per_px > 9.0 * em) at.y += 2.6 * em;
            Rect box = drawing::text_box(painter, at, words, em, drawing::Align::centre, drawing::Weight::bold);
            box = drawing::inset(box, -0.25 * em);
            if (!places.claim(box)) continue;
            painter.rect(box, theme.paper);
            painter.outline(box, theme.accent, 1.5);
            painter.text(at, words, em, theme.ink, drawing::Align::centre, drawing::Weight::bold);
        }
    }
}

void show_card(RoomFrame& frame, const drawing::MapFigure& figure, std::optional<std::size_t> hovered,
               const drawing::MapView& view, const Rect& canvas) {
    const Session& session = frame.session;
    const SeasonView& season = session.answer->view;
    const Point pointer{static_cast<double>(ImGui::GetIO().MousePos.x), static_cast<double>(ImGui::GetIO().MousePos.y)};
    const auto test = test_under(figure, view, canvas, pointer, 0.5 * frame.brushes.fonts.text_px());
    if (test && session.ground.facts && *test < session.ground.facts->tests_on_map.size()) {
        const models::Test& recorded = season.data.tests[session.ground.facts->tests_on_map[*test]];
        const ResultInBrief* result = nullptr;
        for (const ResultInBrief& one : session.ground.facts->results)
            if (one.test == recorded.test) result = &one;
        show_tip(joined(test_card(season, recorded, result)));
        frame.places.mark("card of test " + recorded.test, {pointer.x, pointer.y, 1.0, 1.0});
        return;
    }
    if (!hovered) return;
    const std::string& name = figure.fields[*hovered].label;
    const auto tip = [&](const std::string& words) {
        // Beside the field, where that is not most of what is in sight.
        const models::BoxM box = models::bounding_box(figure.fields[*hovered].outline_m);
        const Point low = view.to_px({box.x_min_m, box.y_max_m}, canvas),
                    high = view.to_px({box.x_max_m, box.y_min_m}, canvas);
        const Rect seen{low.x, low.y, high.x - low.x, high.y - low.y};
        if (seen.width < 0.4 * canvas.width && seen.height < 0.4 * canvas.height)
            show_tip_beside(seen, words, TipSide::right);
        else
            show_tip(words);
    };
    const auto field = std::find_if(season.fields.begin(), season.fields.end(),
                                    [&](const FieldView& one) { return one.name == name; });
    if (field == season.fields.end() || season.contamination.ranking_only()) {
        tip(with_spoken_dates(drawing::field_sentence(figure.fields[*hovered], figure)));
        return;
    }
    const models::Explanation* says = explanation_of(frame, name);
    if (says == nullptr && session.ground.to_explain != name && !session.ground.explaining)
        frame.actions.emplace_back(OnTheGround{ExplainField{name}});
    Card card = field_card(season, *field, says, readings_apart_of(frame, name));
    if (!session.seasons.empty() && season.season < session.seasons.back()) {
        card.front() += ". " + spoken(words::map_at_its_end, season.season);
        const std::string later = words_of_later_results(session, *field);
        if (!later.empty()) card.insert(card.begin() + 2, later);
    }
    const std::string here = place_line(season, *field, view.to_world(pointer, canvas));
    if (!here.empty()) card.insert(card.begin() + 1, here);
    tip(joined(card));
    frame.places.mark("card of " + name, {pointer.x, pointer.y, 1.0, 1.0});
}

std::string words_of_later_results(const Session& session, const FieldView& field) {
    const auto latest = latest_known(session);
    if (!latest || !field.content) return "";
    const auto other = content_as_known(session, field.crop, *latest);
    if (!other) return "";
    if (reads_alike(*field.content, other->content)) return spoken(words::seasons_by_all_same, *latest);
    return drawing::with_unit(words::seasons_by_all, *latest, drawing::content_text(other->content.median),
                              drawing::content_interval_text(other->content.low90, other->content.high90));
}

double draw_rests_on(RoomFrame& frame, drawing::Painter& painter, double x, double y, double width) {
    const FieldView* field = chosen_field(frame.session);
    if (field == nullptr || !field->content) return y;
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px(), top = y + 0.3 * em;
    const models::Explanation* says = explanation_of(frame, field->name);
    y = drawing::paragraph(painter, x, top, spoken(words::rests_on), 0.88 * em, width, theme.soft_ink,
                           drawing::Weight::bold, 1);
    if (says == nullptr) {
        y = drawing::paragraph(painter, x, y, spoken(words::card_working), 0.88 * em, width, theme.soft_ink);
    } else {
        for (const std::string& line : rests_on_lines(*says))
            y = drawing::paragraph(painter, x, y, line, 0.88 * em, width, theme.soft_ink);
        frame.places.mark("rests on", {x, top, width, y - top});
    }
    const ImVec2 low{static_cast<float>(x), static_cast<float>(top)};
    if (ImGui::IsWindowHovered() &&
        ImGui::IsMouseHoveringRect(low, {static_cast<float>(x + width), static_cast<float>(y)}))
        show_tip_beside({x, top, width, y - top}, spoken(words::tip_rests_on));
    return y;
}

}  // namespace app::window
