#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/numbers.h"
#include "app/window/rooms/rooms.h"
#include "app/window/words.h"
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
    const drawing::ContentScale colours{ends.low, ends.high};
    drawing::draw_interval(painter, scale, middle, static_cast<double>(height) * 0.55,
                           {*row.median_mg_per_kg, row.low90_mg_per_kg.value_or(*row.median_mg_per_kg),
                            row.high90_mg_per_kg.value_or(*row.median_mg_per_kg), row.low50_mg_per_kg.value_or(0.0),
                            row.high50_mg_per_kg.value_or(0.0)},
                           colours.colour(*row.median_mg_per_kg), frame.brushes.look());
    if (ImGui::IsItemHovered()) {
        ImGui::SetTooltip(
            "%s mg/kg (%s)", drawing::number_text(*row.median_mg_per_kg).c_str(),
            drawing::interval_text(row.low90_mg_per_kg.value_or(0.0), row.high90_mg_per_kg.value_or(0.0)).c_str());
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

/// The head of the table: the words, and under those of the content the axis that all rows share, with the limit.
void draw_head(RoomFrame& frame, const drawing::RankFigure& rank, const drawing::Scale& ends, bool money,
               bool shows_gain, bool shows_tests) {
    const double em = frame.brushes.fonts.text_px(), small = em * 0.75;
    ImGui::TableNextRow(ImGuiTableRowFlags_Headers, static_cast<float>(em * 3.1));
    std::vector<const char*> heads = {words::rank, words::field, "", words::chance_over};
    if (shows_gain) heads.push_back(money ? words::gain_money : words::gain);
    if (shows_tests) heads.push_back(words::tests);
    for (const char* words : heads) {
        ImGui::TableNextColumn();
        ImGui::TextUnformatted(words);
    }
    ImGui::TableSetColumnIndex(2);
    if (rank.risk_only) {
        ImGui::TextUnformatted(words::risk);
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
    const double axis = top + em * 2.75;
    if (const double limit = rank.limit_mg_per_kg.value_or(0.0); limit > 0.0) {
        label(scale.px(limit), top + em * 0.85, "limit " + drawing::set_number_text(limit), em * 0.85,
              drawing::Weight::bold);
        painter.polyline({{scale.px(limit), top + em * 1.1}, {scale.px(limit), axis + em * 0.4}}, theme.ink, 1.5);
    }
    painter.polyline({{left, axis}, {left + width, axis}}, theme.soft_ink, 1.0);
    for (const drawing::Tick& tick : drawing::log_ticks(ends.low, ends.high, 6)) {
        const double x = scale.px(tick.value);
        painter.polyline({{x, axis - em * (tick.label.empty() ? 0.15 : 0.3)}, {x, axis}}, theme.soft_ink, 1.0);
        if (!tick.label.empty()) label(x, axis - em * 0.45, tick.label, small, drawing::Weight::regular);
    }
    ImGui::Dummy({1.0F, static_cast<float>(em * 2.8)});
    if (ImGui::IsMouseHoveringRect({at.x, at.y},
                                   {at.x + static_cast<float>(width), at.y + static_cast<float>(em * 2.8)}))
        ImGui::SetTooltip("%s", words::content);
}

void draw_ranking(RoomFrame& frame, const Rect& area) {
    const Answer& answer = *frame.session.answer;
    const drawing::RankFigure& rank = answer.rank;
    const float em = static_cast<float>(frame.brushes.fonts.text_px());
    ImguiPainter painter = screen_painter(frame);
    double y = drawing::paragraph(painter, area.x, area.y, rank.title, frame.brushes.fonts.text_px() * 1.15, area.width,
                                  frame.brushes.theme.ink, drawing::Weight::bold, 1);
    y = drawing::paragraph(painter, area.x, y, rank.subtitle, frame.brushes.fonts.text_px() * 0.88, area.width,
                           frame.brushes.theme.soft_ink, drawing::Weight::regular, 4);
    y += static_cast<double>(em) * 0.4;
    const drawing::Scale ends = ends_of(rank);
    const models::TestOrder* order = answer.view.order ? &*answer.view.order : nullptr;
    const bool money = order != nullptr && order->unit == models::GainUnit::money;
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(y)});
    const ImVec2 size{static_cast<float>(area.width), static_cast<float>(area.y + area.height - y)};
    const ImGuiTableFlags flags = ImGuiTableFlags_ScrollY | ImGuiTableFlags_RowBg | ImGuiTableFlags_BordersInnerH;
    // The name of the field, its interval and its chance stay; the tests and then the gain go where there is no room.
    float name_width = em * 5.0F;
    for (const drawing::RankRow& row : rank.rows)
        name_width = std::max(name_width, ImGui::CalcTextSize(row.field.c_str()).x);
    name_width = std::min(name_width, em * 12.0F) + em * 0.5F;
    const float spent = em * (2.0F + 6.4F + 6.0F + 4.0F) + name_width;
    const bool shows_gain = size.x > spent + em * 6.6F, shows_tests = size.x > spent + em * (6.6F + 3.4F);
    if (order == nullptr || !ImGui::BeginTable("order", 4 + (shows_gain ? 1 : 0) + (shows_tests ? 1 : 0), flags, size))
        return;
    ImGui::TableSetupScrollFreeze(0, 1);
    ImGui::TableSetupColumn(words::rank, ImGuiTableColumnFlags_WidthFixed, em * 1.7F);
    ImGui::TableSetupColumn(words::field, ImGuiTableColumnFlags_WidthFixed, name_width);
    ImGui::TableSetupColumn(rank.risk_only ? words::risk : words::content, ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableSetupColumn(words::chance_over, ImGuiTableColumnFlags_WidthFixed, em * 5.8F);
    if (shows_gain)
        ImGui::TableSetupColumn(money ? words::gain_money : words::gain, ImGuiTableColumnFlags_WidthFixed, em * 6.2F);
    if (shows_tests) ImGui::TableSetupColumn(words::tests, ImGuiTableColumnFlags_WidthFixed, em * 2.8F);
    draw_head(frame, rank, ends, money, shows_gain, shows_tests);
    ImGuiListClipper clipper;
    clipper.Begin(static_cast<int>(rank.rows.size()));
    while (clipper.Step()) {
        for (int r = clipper.DisplayStart; r < clipper.DisplayEnd; ++r) {
            const drawing::RankRow& row = rank.rows[static_cast<std::size_t>(r)];
            const models::RankedField& ranked = order->fields[static_cast<std::size_t>(r)];
            const bool worth_it = rank.risk_only || ranked.expected_gain > 0.0;
            ImGui::TableNextRow();
            ImGui::TableNextColumn();
            ImGui::TextUnformatted(worth_it ? fmt::format("{}", row.rank).c_str() : "–");
            ImGui::TableNextColumn();
            const bool here = row.field == frame.session.field;
            if (ImGui::Selectable(row.field.c_str(), here, ImGuiSelectableFlags_SpanAllColumns)) {
                frame.actions.emplace_back(ChooseField{row.field});
            }
            frame.places.mark_last_item("row " + row.field);
            if (ImGui::IsItemHovered() && !row.why.empty()) ImGui::SetTooltip("%s", row.why.c_str());
            ImGui::TableNextColumn();
            if (rank.risk_only) {
                ImGui::TextUnformatted(row.risk ? drawing::percent_text(*row.risk).c_str() : "–");
            } else {
                draw_interval_cell(frame, row, ends, rank.limit_mg_per_kg.value_or(0.0));
            }
            ImGui::TableNextColumn();
            ImGui::TextUnformatted(row.exceedance ? drawing::percent_text(*row.exceedance).c_str() : "–");
            if (shows_gain) {
                ImGui::TableNextColumn();
                if (rank.risk_only) {
                    ImGui::TextUnformatted("–");
                } else if (worth_it) {
                    ImGui::TextUnformatted(drawing::rough_text(ranked.expected_gain).c_str());
                } else {
                    ImGui::TextDisabled("%s", words::not_worth_a_test);
                }
            }
            if (shows_tests) {
                ImGui::TableNextColumn();
                ImGui::Text("%d", row.tests);
            }
        }
    }
    ImGui::EndTable();
}

std::string why_not_in_list(const FieldView& field) {
    if (field.tests > 0)
        return fmt::format("{} has {} {} and is not in the list.", field.name, field.tests,
                           field.tests == 1 ? "test" : "tests");
    return fmt::format("{} is not in the list{}", field.name, field.note.empty() ? "." : ": " + field.note);
}

void draw_hours(RoomFrame& frame, const Rect& chart) {
    ImguiPainter painter = screen_painter(frame);
    if (frame.session.hours && frame.session.hours->field == frame.session.field) {
        drawing::draw_hours_figure(painter, chart, frame.session.hours->figure, frame.brushes.look());
    } else {
        drawing::draw_empty(painter, chart, words::working, frame.brushes.look());
    }
    frame.places.mark("hours", chart);
}

void draw_chosen(RoomFrame& frame, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    // The figure keeps a height at which it can be read; the column scrolls where that is more than there is.
    const auto finish = [&](double y) {
        const double top = y + em * 0.6;
        const Rect chart{area.x, top, area.width,
                         std::max(area.y + area.height - top, em * (20.0 + 430.0 * em / area.width))};
        draw_hours(frame, chart);
        ImGui::Dummy({1.0F, static_cast<float>(chart.y + chart.height - area.y)});
    };
    const drawing::RankRow* chosen = nullptr;
    for (const drawing::RankRow& row : frame.session.answer->rank.rows) {
        if (row.field == frame.session.field) chosen = &row;
    }
    if (chosen == nullptr) {
        const FieldView* field = chosen_field(frame.session);
        if (field == nullptr) {
            drawing::draw_empty(painter, area, words::choose_a_field, frame.brushes.look());
            return;
        }
        double y = drawing::paragraph(painter, area.x, area.y, field->name, em * 1.35, area.width, theme.ink,
                                      drawing::Weight::bold, 1);
        y = drawing::paragraph(painter, area.x, y + em * 0.2, why_not_in_list(*field), em, area.width, theme.ink);
        return finish(y);
    }
    double y = drawing::paragraph(painter, area.x, area.y, fmt::format("{}. {}", chosen->rank, chosen->field),
                                  em * 1.35, area.width, theme.ink, drawing::Weight::bold, 1);
    y = drawing::paragraph(painter, area.x, y + em * 0.2, chosen->why, em, area.width, theme.ink,
                           drawing::Weight::regular, 4);
    if (chosen->median_mg_per_kg) {
        y = drawing::paragraph(
            painter, area.x, y + em * 0.2,
            fmt::format(
                "DON of the field's mean {} mg/kg, nine tenths of the chance lie within {} mg/kg.",
                drawing::number_text(*chosen->median_mg_per_kg),
                drawing::interval_text(chosen->low90_mg_per_kg.value_or(0.0), chosen->high90_mg_per_kg.value_or(0.0))),
            em, area.width, theme.ink, drawing::Weight::regular, 2);
    }
    if (chosen->risk) {
        std::string sentence = "Disease risk " + drawing::percent_text(*chosen->risk);
        if (chosen->risk_low && chosen->risk_high) {
            sentence +=
                fmt::format(" ({} to {} over the flowering date and what is missing)",
                            drawing::percent_text(*chosen->risk_low), drawing::percent_text(*chosen->risk_high));
        }
        y = drawing::paragraph(painter, area.x, y + em * 0.2, sentence + ". " + caution::risk_is_not_don, em * 0.88,
                               area.width, theme.soft_ink, drawing::Weight::regular, 4);
    }
    finish(y);
}

}  // namespace

void draw_where_first_room(RoomFrame& frame) {
    const double em = frame.brushes.fonts.text_px();
    const Rect inside = drawing::inset(frame.canvas, em);
    const double left = inside.width * 0.54;
    const Rect order{inside.x, inside.y, left - em, inside.height};
    draw_ranking(frame, draw_foot(frame, order, {{frame.session.answer->rank.caution, frame.brushes.theme.soft_ink}}));
    const Rect beside{inside.x + left + em, inside.y, inside.width - left, inside.height};
    ImGui::SetCursorScreenPos({static_cast<float>(beside.x), static_cast<float>(beside.y)});
    ImGui::BeginChild("chosen", {static_cast<float>(beside.width), static_cast<float>(beside.height)});
    const ImVec2 from = ImGui::GetCursorScreenPos();
    draw_chosen(frame,
                {static_cast<double>(from.x), static_cast<double>(from.y), beside.width - em, beside.height - 1.0});
    ImGui::EndChild();
}

}  // namespace app::window
