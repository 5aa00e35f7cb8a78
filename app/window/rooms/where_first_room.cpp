#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_ground.h"
#include "app/spoken_dates.h"
#include "app/window/rooms/rooms.h"
#include "app/window/rooms/scrolling_place.h"
#include "app/window/rooms/whole_lines.h"
#include "app/window/tools/tools.h"
#include "app/words.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"

namespace app::window {

namespace {

using drawing::Point;
using drawing::Rect;

/// The interval of one row on the axis that all rows share.
void draw_interval_cell(RoomFrame& frame, const drawing::RankRow& row, const drawing::Scale& ends,
                        double limit_mg_per_kg) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float width = ImGui::GetContentRegionAvail().x, height = ImGui::GetTextLineHeight();
    ImGui::Dummy({width, height});
    ImguiPainter painter = screen_painter(frame);
    drawing::Scale scale = ends;
    scale.from_px = static_cast<double>(at.x);
    scale.to_px = static_cast<double>(at.x + width);
    const double middle = static_cast<double>(at.y + height / 2.0F);
    if (limit_mg_per_kg > 0.0) {
        const double x = scale.px(limit_mg_per_kg);
        painter.polyline({{x, static_cast<double>(at.y) - 3.0}, {x, static_cast<double>(at.y + height) + 3.0}},
                         frame.brushes.theme.ink, 1.5);
    }
    if (!row.median_mg_per_kg) return;
    const drawing::ContentScale colours = drawing::content_colours(limit_mg_per_kg);
    drawing::draw_interval(painter, scale, middle, static_cast<double>(height) * 0.55,
                           {*row.median_mg_per_kg, row.low90_mg_per_kg.value_or(*row.median_mg_per_kg),
                            row.high90_mg_per_kg.value_or(*row.median_mg_per_kg), row.low50_mg_per_kg.value_or(0.0),
                            row.high50_mg_per_kg.value_or(0.0)},
                           colours.colour(*row.median_mg_per_kg, frame.brushes.theme), frame.brushes.look());
    if (ImGui::IsItemHovered()) {
        show_tip(drawing::with_unit(
            words::content_of_row, drawing::content_text(*row.median_mg_per_kg),
            drawing::content_interval_text(row.low90_mg_per_kg.value_or(0.0), row.high90_mg_per_kg.value_or(0.0))));
    }
}

/// Ends of the shared axis, wide enough for all intervals and the limit.
drawing::Scale ends_of(const drawing::RankFigure& rank) {
    std::vector<double> contents;
    for (const drawing::RankRow& row : rank.rows) {
        if (row.low90_mg_per_kg) contents.push_back(*row.low90_mg_per_kg);
        if (row.high90_mg_per_kg) contents.push_back(*row.high90_mg_per_kg);
    }
    const drawing::ContentScale colours = drawing::content_scale_for(contents, rank.limit_mg_per_kg.value_or(1.0));
    drawing::Scale scale;
    scale.low = colours.low_mg_per_kg;
    scale.high = colours.high_mg_per_kg;
    scale.logarithmic = true;
    return scale;
}

/// What the table has room for.
struct OrderColumns {
    bool narrow = false;  ///< short heads
    bool gain = true, tests = true;
};

/// The head of the table: the words, and under those of the content the axis that all rows share, with the limit.
void draw_head(RoomFrame& frame, const drawing::RankFigure& rank, const drawing::Scale& ends, bool money,
               const OrderColumns& columns) {
    const bool narrow = columns.narrow, shows_gain = columns.gain, shows_tests = columns.tests;
    const double em = frame.brushes.fonts.text_px(), small = em * 0.75;
    const double height = em * (frame.tight ? 1.6 : 2.8);
    ImGui::TableNextRow(ImGuiTableRowFlags_Headers, static_cast<float>(height + em * 0.3));
    std::vector<const char*> heads = {spoken(words::rank), spoken(words::field), "",
                                      narrow ? spoken(words::over) : spoken(words::chance_over)};
    if (shows_gain) heads.push_back(money ? spoken(words::gain_money) : spoken(words::gain));
    if (shows_tests) heads.push_back(spoken(words::tests));
    const std::vector<std::string> tips = {
        spoken(words::tip_rank),
        "",
        "",
        spoken(words::tip_chance_over),
        shows_gain ? (money ? spoken(words::tip_gain_money) : spoken(words::tip_gain)) : spoken(words::tip_tests),
        spoken(words::tip_tests)};
    for (std::size_t h = 0; h < heads.size(); ++h) {
        ImGui::TableNextColumn();
        const ImVec2 low = ImGui::GetCursorScreenPos();
        ImGui::TextUnformatted(heads[h]);
        frame.places.mark_last_item(fmt::format("head {}", h));
        // Below the whole head: the axis of the contents stands in it.
        if (!rank.risk_only && !tips[h].empty() && ImGui::IsItemHovered())
            show_tip_beside({static_cast<double>(low.x), static_cast<double>(low.y),
                             static_cast<double>(ImGui::GetItemRectSize().x), height + em * 0.3},
                            tips[h]);
    }
    ImGui::TableSetColumnIndex(2);
    if (rank.risk_only) {
        ImGui::TextUnformatted(spoken(words::risk));
        return;
    }
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const double left = static_cast<double>(at.x), width = static_cast<double>(ImGui::GetContentRegionAvail().x);
    const double top = static_cast<double>(at.y);
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    drawing::Scale scale = ends;
    scale.from_px = left;
    scale.to_px = left + width;
    drawing::LabelPlaces places;
    const auto label = [&](double x, double baseline, const std::string& words, double size, drawing::Weight weight) {
        const double half = painter.text_width(words, size, weight) / 2.0;
        const double middle = std::clamp(x, left + half, std::max(left + half, left + width - half));
        if (places.claim({middle - half - em * 0.2, baseline - size, 2.0 * half + em * 0.4, size}))
            painter.text({middle, baseline}, words, size, theme.ink, drawing::Align::centre, weight);
    };
    // Where there is little height the limit stands in the row of the numbers, and those beside it make room.
    const double axis = top + height - em * 0.05, numbers = axis - em * 0.45;
    if (const double limit = rank.limit_mg_per_kg.value_or(0.0); limit > 0.0) {
        const double baseline = frame.tight ? numbers : top + em * 0.85;
        // The line says what it is, where there is no room for the word.
        std::string name = spoken(words::ramp_limit, drawing::set_content_text(limit));
        const double room = frame.tight ? 0.5 * width : width;  // the ends of the axis stand in the same row there
        if (painter.text_width(name, em * 0.85, drawing::Weight::bold) > room) name = drawing::set_content_text(limit);
        label(scale.px(limit), baseline, name, em * 0.85, drawing::Weight::bold);
        painter.polyline({{scale.px(limit), baseline + em * 0.25}, {scale.px(limit), axis + em * 0.4}}, theme.ink, 1.5);
        // No number of the axis lies under the line; the limit's own stands above it.
        if (!frame.tight) places.reserve({scale.px(limit) - em * 0.1, numbers - small, em * 0.2, small});
    }
    if (!frame.tight) {
        const std::string unit = drawing::with_unit(spoken(words::unit_mg_per_kg));
        if (places.claim({left, top + em * 0.85 - small, painter.text_width(unit, small) + 0.3 * em, small}))
            painter.text({left, top + em * 0.85}, unit, small, theme.soft_ink);
    }
    painter.polyline({{left, axis}, {left + width, axis}}, theme.soft_ink, 1.0);
    for (const drawing::Tick& tick : drawing::content_ticks(ends.low, ends.high, 8)) {
        const double x = scale.px(tick.value);
        painter.polyline({{x, axis - em * (tick.label.empty() ? 0.15 : 0.3)}, {x, axis}}, theme.soft_ink, 1.0);
        if (!tick.label.empty()) label(x, numbers, tick.label, small, drawing::Weight::regular);
    }
    ImGui::Dummy({1.0F, static_cast<float>(height)});
    if (ImGui::IsMouseHoveringRect({at.x, at.y}, {at.x + static_cast<float>(width), at.y + static_cast<float>(height)}))
        show_tip_beside({left, top, width, height}, drawing::with_unit(spoken(words::content)));
}

/// Why there is no gain, in the row of a field.
void draw_no_gain(RoomFrame& frame, const char* why, double size) {
    if (!(size > 0.0)) {
        ImGui::TextDisabled("%s", why);
        return;
    }
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float height = ImGui::GetTextLineHeight();
    ImguiPainter painter = screen_painter(frame);
    painter.text({static_cast<double>(at.x), static_cast<double>(at.y + height / 2.0F) + 0.36 * size}, why, size,
                 frame.brushes.theme.soft_ink);
    ImGui::Dummy({static_cast<float>(painter.text_width(why, size)), height});
}

/// The row that a key asks for, which is chosen and brought into view; -1 where none does.
int row_to_show(RoomFrame& frame, const drawing::RankFigure& rank) {
    std::vector<std::string> names;
    for (const drawing::RankRow& row : rank.rows) names.push_back(row.field);
    if (const auto name = stepped_name(names, frame.session.field, pressed_step(frame))) {
        frame.actions.emplace_back(ChooseField{*name});
        frame.views.scroll_to = *name;
    }
    const auto found = std::find(names.begin(), names.end(), frame.views.scroll_to);
    frame.views.scroll_to.clear();
    return found == names.end() ? -1 : static_cast<int>(found - names.begin());
}

/// What the order goes by. For one test it is shorter than for several: it takes the height of the longer one, so that
/// nothing below it moves with the number of tests.
double draw_subtitle(RoomFrame& frame, ImguiPainter& painter, double y, const Rect& area) {
    const double size = frame.brushes.fonts.text_px() * 0.88;
    const drawing::Colour ink = frame.brushes.theme.soft_ink;
    const std::string &shown = order_shown(frame.session).rank->subtitle, &other = frame.session.answer->rank.subtitle;
    drawing::MeasuringPainter measure(painter);
    const double below = drawing::paragraph(measure, area.x, y, other, size, area.width, ink);
    return std::max(below, drawing::paragraph(painter, area.x, y, shown, size, area.width, ink));
}

void draw_ranking(RoomFrame& frame, const Rect& area) {
    const OrderShown shown = order_shown(frame.session);
    const drawing::RankFigure& rank = *shown.rank;
    const float em = static_cast<float>(frame.brushes.fonts.text_px());
    ImguiPainter painter = screen_painter(frame);
    const models::TestOrder* order = shown.order;
    double y = area.y;
    // Where there is little height the room's tab is title enough.
    if (!frame.tight || order == nullptr || rank.risk_only)
        y = drawing::paragraph(painter, area.x, area.y, rank.title,
                               frame.brushes.fonts.text_px() * (frame.tight ? 1.0 : 1.15), area.width,
                               frame.brushes.theme.ink, drawing::Weight::bold, 1);
    // What the order goes by stands above the fields; where there is little height below the last of them.
    if (!frame.tight) y = draw_subtitle(frame, painter, y, area) + static_cast<double>(em) * 0.4;
    const drawing::Scale ends = ends_of(rank);
    y = draw_budget(frame, area.x, y, area.width);
    const bool money = order != nullptr && order->unit == models::GainUnit::money;
    ImguiPainter below = screen_painter(frame);
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(y)});
    // A line of its own below the fields says that there are more of them.
    const double for_more = frame.tight ? 0.75 * static_cast<double>(em) : 0.0;
    const ImVec2 size{static_cast<float>(area.width), static_cast<float>(area.y + area.height - for_more - y)};
    const ImGuiTableFlags flags = ImGuiTableFlags_ScrollY | ImGuiTableFlags_RowBg | ImGuiTableFlags_BordersInnerH;
    // The name of the field, its interval, its chance and its gain stay; the tests go where there is no room.
    float name_width = em * 5.0F;
    for (const drawing::RankRow& row : rank.rows)
        name_width = std::max(name_width, ImGui::CalcTextSize(row.field.c_str()).x);
    name_width = std::min(name_width, em * 12.0F) + em * 0.5F;
    const bool narrow = frame.tight || size.x < 30.0F * em;
    const float rank_width = em * (narrow ? 1.2F : 1.7F), least = em * (narrow ? 3.4F : 5.8F);
    // Another language may need more.
    const char* chance_head = narrow ? spoken(words::over) : spoken(words::chance_over);
    const float chance_width = std::max(least, ImGui::CalcTextSize(chance_head).x + em * 0.2F);
    // Where there is little room the words that stand where a gain is none are small.
    const double small_words = narrow ? 0.62 * static_cast<double>(em) : 0.0;
    float gain_width = narrow ? em * 3.4F : em * 6.2F;
    for (const char* none : {spoken(words::not_worth_a_test), spoken(words::test_its_loads)})
        gain_width = std::max(gain_width, narrow ? static_cast<float>(painter.text_width(none, small_words)) + em * 0.2F
                                                 : ImGui::CalcTextSize(none).x);
    const float spent = rank_width + chance_width + em * (narrow ? 8.6F : 10.6F) + name_width;
    // The gain is what the order goes by: it stays, and where there is little room the interval is the narrower for it.
    // Only where even a short one would not fit is there no gain.
    const float short_interval = em * (narrow ? 4.6F : 3.0F);
    const bool shows_gain = size.x > spent - short_interval + gain_width + em * 0.4F,
               shows_tests = size.x > spent + gain_width + em * (0.4F + 3.4F);
    if (order == nullptr || !ImGui::BeginTable("order", 4 + (shows_gain ? 1 : 0) + (shows_tests ? 1 : 0), flags, size))
        return;
    ImGui::TableSetupScrollFreeze(0, 1);
    ImGui::TableSetupColumn(spoken(words::rank), ImGuiTableColumnFlags_WidthFixed, rank_width);
    ImGui::TableSetupColumn(spoken(words::field), ImGuiTableColumnFlags_WidthFixed, name_width);
    ImGui::TableSetupColumn(rank.risk_only ? spoken(words::risk) : spoken(words::content),
                            ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableSetupColumn(spoken(words::chance_over), ImGuiTableColumnFlags_WidthFixed, chance_width);
    if (shows_gain)
        ImGui::TableSetupColumn(money ? spoken(words::gain_money) : spoken(words::gain),
                                ImGuiTableColumnFlags_WidthFixed, gain_width);
    if (shows_tests) ImGui::TableSetupColumn(spoken(words::tests), ImGuiTableColumnFlags_WidthFixed, em * 2.8F);
    draw_head(frame, rank, ends, money, {narrow, shows_gain, shows_tests});
    scroll_by_keys(frame, false);
    ImGuiListClipper clipper;
    clipper.Begin(static_cast<int>(rank.rows.size()));
    const int sought = row_to_show(frame, rank);
    if (sought >= 0) clipper.ForceDisplayRangeByIndices(sought, sought + 1);
    while (clipper.Step()) {
        for (int r = clipper.DisplayStart; r < clipper.DisplayEnd; ++r) {
            const drawing::RankRow& row = rank.rows[static_cast<std::size_t>(r)];
            const models::RankedField& ranked = order->fields[static_cast<std::size_t>(r)];
            const bool worth_it = rank.risk_only || ranked.expected_gain > 0.0;
            ImGui::TableNextRow();
            ImGui::TableNextColumn();
            const std::string place = worth_it ? fmt::format("{}", row.rank) : "–";
            if (worth_it && !rank.risk_only && row.rank <= shown.tests) {
                // Of the tests that can be made one goes here: its number stands in a disc.
                const double high = static_cast<double>(ImGui::GetTextLineHeight());
                const ImVec2 low = ImGui::GetCursorScreenPos();
                const Point middle{static_cast<double>(low.x) + 0.5 * high, static_cast<double>(low.y) + 0.5 * high};
                ImGui::Dummy({static_cast<float>(high), static_cast<float>(high)});
                ImguiPainter on = screen_painter(frame);
                on.disc(middle, 0.5 * high, frame.brushes.theme.accent);
                on.text({middle.x, middle.y + 0.29 * high}, place, 0.8 * high,
                        drawing::readable_ink_on(frame.brushes.theme.accent), drawing::Align::centre,
                        drawing::Weight::bold);
            } else {
                ImGui::TextUnformatted(place.c_str());
            }
            ImGui::TableNextColumn();
            const bool here = row.field == frame.session.field;
            if (ImGui::Selectable(row.field.c_str(), here, ImGuiSelectableFlags_SpanAllColumns)) {
                frame.actions.emplace_back(ChooseField{row.field});
            }
            frame.places.mark_last_item("row " + row.field);
            if (r == sought) ImGui::SetScrollHereY(0.5F);
            if (ImGui::IsItemHovered() && !row.why.empty())
                show_tip_beside({area.x, static_cast<double>(ImGui::GetItemRectMin().y), area.width,
                                 static_cast<double>(ImGui::GetItemRectSize().y)},
                                rank.risk_only || (shows_gain && shows_tests) ? row.why
                                : shows_gain
                                    ? spoken(words::row_with_tests, row.why, row.tests)
                                    : spoken(words::row_with_gain, row.why,
                                             worth_it ? drawing::rough_text(ranked.expected_gain) : "–", row.tests),
                                TipSide::right);
            ImGui::TableNextColumn();
            if (rank.risk_only) {
                ImGui::TextUnformatted(row.risk ? drawing::percent_text(*row.risk).c_str() : "–");
            } else {
                draw_interval_cell(frame, row, ends, rank.limit_mg_per_kg.value_or(0.0));
            }
            ImGui::TableNextColumn();
            const auto percent = narrow ? drawing::short_percent_text : drawing::percent_text;
            ImGui::TextUnformatted(row.exceedance ? percent(*row.exceedance).c_str() : "–");
            if (shows_gain) {
                ImGui::TableNextColumn();
                if (rank.risk_only) {
                    ImGui::TextUnformatted("–");
                } else if (worth_it) {
                    ImGui::TextUnformatted(drawing::rough_text(ranked.expected_gain).c_str());
                } else {
                    const char* const none =
                        ranked.test_its_loads ? spoken(words::test_its_loads) : spoken(words::not_worth_a_test);
                    draw_no_gain(frame, none, small_words);
                }
            }
            if (shows_tests) {
                ImGui::TableNextColumn();
                ImGui::Text("%d", row.tests);
            }
        }
    }
    if (frame.tight) {
        if (ImGui::GetScrollY() < ImGui::GetScrollMaxY() - 1.0F) {
            const double small = 0.66 * static_cast<double>(em), foot = area.y + area.height;
            const char* const more = spoken(words::more_below);
            below.text({area.x + area.width, foot - 0.12 * static_cast<double>(em)}, more, small,
                       frame.brushes.theme.soft_ink, drawing::Align::right);
            const double width = below.text_width(more, small);
            frame.places.mark("more fields", {area.x + area.width - width, foot - for_more, width, for_more});
        }
        // What the order goes by stands below the last field.
        const std::string loss = budget_is_said_above(frame) ? "" : budget_words(frame);
        draw_across_row(frame, (loss.empty() ? "" : loss + " ") + rank.subtitle, size.x - em * 1.5F);
    }
    ImGui::EndTable();
}

std::string why_not_in_list(const FieldView& field) {
    if (field.tests > 0)
        return spoken(words::tested_and_not_listed, field.name,
                      models::counted(field.tests, spoken(words::one_test), spoken(words::several_tests)));
    return field.note.empty() ? spoken(words::not_listed, field.name)
                              : spoken(words::not_listed_because, field.name, field.note);
}

/// What a field's hours lack, in sentences of the disease risk; empty where nothing is said of it.
std::string missing_of(const Session& session, const FieldView& field) {
    const FieldRisk* risk = risk_of(session.answer->view, field.crop);
    std::string text;
    if (risk == nullptr) return text;
    for (const std::string& sentence : risk->risk.missing) {
        if (sentence.empty()) continue;
        text += (text.empty() ? "" : " ") + as_sentence(with_spoken_dates(sentence));
    }
    return text;
}

void draw_hours(RoomFrame& frame, const Rect& chart) {
    WholeLines painter(frame);
    if (frame.session.hours && frame.session.hours->field == frame.session.field) {
        const drawing::HoursFigure& figure = frame.session.hours->figure;
        // An empty chart says nothing: what is missing stands in its place.
        const FieldView* field = chosen_field(frame.session);
        const std::string missing = figure.hours.empty() && field != nullptr ? missing_of(frame.session, *field) : "";
        if (missing.empty()) {
            // Large type in a narrow column: smaller rather than cut.
            drawing::Look look = frame.brushes.look();
            look.text_px = std::clamp(chart.width / 30.0, 0.55 * look.text_px, look.text_px);
            drawing::draw_hours_figure(painter, chart, figure, look);
        } else
            drawing::paragraph(painter, chart.x, chart.y, spoken(words::hours_what_is_missing, missing),
                               frame.brushes.fonts.text_px(), chart.width, frame.brushes.theme.ink);
    } else {
        drawing::draw_empty(painter, chart, spoken(words::working), frame.brushes.look());
    }
    frame.places.mark("hours", chart);
}

void draw_chosen(RoomFrame& frame, ScrollingPlace& place, const Rect& area) {
    WholeLines painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    // The figure keeps a height at which it can be read; the column scrolls where that is more than there is.
    const auto finish = [&](double y) {
        const double top = draw_walk_buttons(frame, area.x, y + em * 0.5, area.width);
        const Rect chart{area.x, top, area.width,
                         std::max(area.y + area.height - top, em * (21.5 + 430.0 * em / area.width))};
        if (frame.session.ground.shows_walk)
            draw_walk(frame, chart);
        else
            draw_hours(frame, chart);
        place.holds(chart.y + chart.height);
    };
    const OrderShown shown = order_shown(frame.session);
    const drawing::RankRow* chosen = nullptr;
    bool has_a_place = true;  // in the order: a field that is not worth a test has none, here as in its row
    for (std::size_t r = 0; r < shown.rank->rows.size(); ++r) {
        if (shown.rank->rows[r].field != frame.session.field) continue;
        chosen = &shown.rank->rows[r];
        has_a_place = shown.rank->risk_only || shown.order == nullptr || shown.order->fields[r].expected_gain > 0.0;
    }
    if (chosen == nullptr) {
        const FieldView* field = chosen_field(frame.session);
        if (field == nullptr) {
            drawing::draw_empty(painter, area, spoken(words::choose_a_field), frame.brushes.look());
            return;
        }
        double y = drawing::paragraph(painter, area.x, area.y, code_and_name(*field), em * 1.35, area.width, theme.ink,
                                      drawing::Weight::bold, 1);
        y = drawing::paragraph(painter, area.x, y + em * 0.2, with_spoken_dates(why_not_in_list(*field)), em,
                               area.width, theme.ink);
        const std::string other = limit_of_grain_in_words(frame.session.answer->view, *field);
        if (!other.empty()) y = drawing::paragraph(painter, area.x, y + em * 0.2, other, em, area.width, theme.ink);
        return finish(y);
    }
    const FieldView* of = chosen_field(frame.session);
    const std::string name = of == nullptr ? chosen->field : code_and_name(*of);
    double y = drawing::paragraph(painter, area.x, area.y,
                                  has_a_place ? spoken(words::chosen_field, chosen->rank, name) : name, em * 1.35,
                                  area.width, theme.ink, drawing::Weight::bold, 2);
    frame.places.mark("name of the field", {area.x, area.y, area.width, y - area.y});
    y = drawing::paragraph(painter, area.x, y + em * 0.2, chosen->why, em, area.width, theme.ink);
    if (chosen->median_mg_per_kg) {
        y = drawing::paragraph(
            painter, area.x, y + em * 0.2,
            drawing::with_unit(words::content_of_field, drawing::content_text(*chosen->median_mg_per_kg),
                               drawing::content_interval_text(chosen->low90_mg_per_kg.value_or(0.0),
                                                              chosen->high90_mg_per_kg.value_or(0.0))),
            em, area.width, theme.ink);
    }
    if (const FieldView* field = chosen_field(frame.session)) {
        const std::string other = limit_of_grain_in_words(frame.session.answer->view, *field);
        if (!other.empty()) y = drawing::paragraph(painter, area.x, y + em * 0.2, other, em, area.width, theme.ink);
    }
    if (chosen->risk) {
        const std::string risk = drawing::percent_text(*chosen->risk);
        std::string sentence = chosen->risk_low && chosen->risk_high
                                   ? spoken(words::risk_with_spread, risk, drawing::percent_text(*chosen->risk_low),
                                            drawing::percent_text(*chosen->risk_high), spoken(caution::risk_is_not_don))
                                   : spoken(words::risk_of_field, risk, spoken(caution::risk_is_not_don));
        if (!chosen->risk_extrapolated.empty())
            sentence = spoken(words::risk_extrapolated_too, sentence, chosen->risk_extrapolated);
        y = drawing::paragraph(painter, area.x, y + em * 0.2, sentence, em * 0.88, area.width, theme.soft_ink);
    }
    finish(y);
}

}  // namespace

void draw_where_first_room(RoomFrame& frame) {
    const double em = frame.brushes.fonts.text_px(), margin = frame.tight ? em * 0.5 : em;
    const Rect inside = draw_foot(frame, drawing::inset(frame.canvas, margin),
                                  {{order_shown(frame.session).rank->caution, frame.brushes.theme.soft_ink}});
    const double left = inside.width * 0.54;
    const Rect order{inside.x, inside.y, left - margin, inside.height};
    frame.places.mark("order", order);
    draw_ranking(frame, order);
    const Rect beside{inside.x + left + margin, inside.y, inside.width - left, inside.height};
    ScrollingPlace place(frame, "chosen", beside, true);
    draw_chosen(frame, place, {place.left(), place.top(), beside.width - em, beside.height - 1.0});
}

}  // namespace app::window
