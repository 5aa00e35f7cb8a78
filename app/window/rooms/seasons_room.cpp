#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <imgui.h>

#include "app/cautions.h"
#include "app/drawing/axis.h"
#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/review_figure.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_ground.h"
#include "app/forecast_words.h"
#include "app/ground_words.h"
#include "app/result_words.h"
#include "app/seasons_words.h"
#include "app/window/other_seasons.h"
#include "app/window/rooms/rooms.h"
#include "app/window/rooms/scrolling_place.h"
#include "app/window/rooms/whole_lines.h"
#include "app/words.h"
#include "models/counted.h"
#include "models/listed.h"
#include "models/words.h"

namespace app::window {

namespace {

using drawing::Align;
using drawing::Rect;
using drawing::Weight;

/// "3 (P06, R03 and U06; 209 t)"; of many fields the first are named.
std::string moved_fields(const std::vector<std::string>& fields, double tonnes) {
    constexpr std::size_t most_named = 12;
    if (fields.empty()) return "0";
    std::vector<std::string> named = fields;
    if (named.size() > most_named) {
        named.resize(most_named);
        named.push_back(spoken(words::strips_more_fields, fields.size() - most_named));
    }
    return spoken(words::strips_moved_fields, fields.size(), models::listed(named), drawing::tonnes_text(tonnes));
}

std::string strips_in_words(const SeasonOfStrips& of) {
    const std::string changed =
        of.fields > 0
            ? spoken(words::strips_moved,
                     models::counted(of.fields, spoken(words::one_field), spoken(words::several_fields)),
                     drawing::percent_text(models::ClearingCaps{}.load_cap),
                     moved_fields(of.to_within_names, of.to_within_t), moved_fields(of.to_beyond_names, of.to_beyond_t))
            : spoken(words::strips_moved_none);
    return spoken(words::strips_of_season, of.season,
                  models::counted(of.strips, spoken(words::one_strip), spoken(words::several_strips)),
                  of.controls > 0 ? spoken(words::strips_and_controls, of.controls) : "",
                  of.laboratory > 0 ? spoken(words::strips_and_laboratory,
                                             models::counted(of.laboratory, spoken(words::one_test_of_laboratory),
                                                             spoken(words::several_tests_of_laboratory)))
                                    : "",
                  models::counted(of.samples, spoken(words::one_sample), spoken(words::several_samples)),
                  of.money ? spoken(words::strips_cost, fmt::format("{:.0f}", *of.money)) : "", changed);
}

/// What was foretold of a crop record before any result of it, where a result followed.
const geo::KeptForecast* foretold_before_results(const ForecastReview& review, const models::CropRecord& crop) {
    for (const ForecastClass& of : review.classes) {
        if (of.own_results_known) continue;
        for (const ForecastCheck& check : of.checks) {
            const geo::KeptForecast& one = check.forecast;
            if (one.season == crop.season && one.field == crop.field && one.part == crop.part && one.exceedance)
                return &one;
        }
    }
    return nullptr;
}

/// The chance of the chosen field before and after its results; empty where there is no chance to speak of.
std::string strips_of_chosen(const Session& session) {
    const FieldView* field = chosen_field(session);
    if (field == nullptr || !field->exceedance) return "";
    const SeasonView& view = session.answer->view;
    const std::string name = code_and_name(*field), chance = drawing::percent_text(*field->exceedance);
    if (field->tests + field->load_tests == 0)
        return spoken(words::strips_of_field_untested, name, view.season, chance);
    const std::string tests = tests_in_words(field->tests, field->load_tests);
    const geo::KeptForecast* before = foretold_before_results(session.taught->forecasts, view.data.crops[field->crop]);
    if (before == nullptr) return spoken(words::strips_of_field_unknown, name, view.season, chance, tests);
    const std::string then = drawing::percent_text(*before->exceedance);
    return before->as_of ? spoken(words::strips_of_field_afterwards, name, view.season, then,
                                  models::to_short_text(*before->as_of), chance, tests)
                         : spoken(words::strips_of_field, name, view.season, then,
                                  models::to_short_text(before->made.local_day()), chance, tests);
}

/// Whether the forecasts were any good: that is asked before anything else.
double write_forecasts(drawing::Painter& on, const Rect& area, const ForecastReview& forecasts,
                       const drawing::Look& look) {
    const double em = look.text_px;
    double y = drawing::paragraph(on, area.x, area.y, spoken(words::forecasts_title), em * 1.3, area.width,
                                  look.theme.ink, Weight::bold, 1);
    for (const std::string& paragraph : forecasts_in_words(forecasts))
        y = drawing::paragraph(on, area.x, y + em * 0.15, paragraph, em, area.width, look.theme.ink);
    if (forecasts.followed > 0)
        y = drawing::paragraph(on, area.x, y + em * 0.15, spoken(words::forecasts_key), em * 0.88, area.width,
                               look.theme.soft_ink);
    return y + em * 0.8;
}

/// What testing took and changed, the newest season first, before what it taught: that is asked first.
/// @param of_chosen  a sentence about the chosen field; empty: none
double write_strips(drawing::Painter& on, const Rect& area, const std::vector<SeasonOfStrips>& strips,
                    const std::string& of_chosen, const drawing::Look& look) {
    constexpr std::size_t most_seasons = 4;  // older ones say little of how testing goes now; `review` has them all
    const double em = look.text_px;
    if (strips.empty()) return area.y;
    double y = drawing::paragraph(on, area.x, area.y, spoken(words::strips_title), em * 1.3, area.width, look.theme.ink,
                                  Weight::bold, 1);
    std::size_t shown = 0;
    for (auto of = strips.rbegin(); of != strips.rend() && shown < most_seasons; ++of, ++shown)
        y = drawing::paragraph(on, area.x, y + em * 0.15, strips_in_words(*of), em, area.width, look.theme.ink);
    if (!of_chosen.empty())
        y = drawing::paragraph(on, area.x, y + em * 0.15, of_chosen, em, area.width, look.theme.ink);
    return drawing::paragraph(on, area.x, y + em * 0.15, spoken(words::strips_key), em * 0.88, area.width,
                              look.theme.soft_ink) +
           em * 0.8;
}

/// What the strips cost and changed, and the models and forecasts against what was found; what does not fit is scrolled
/// to.
void draw_taught(RoomFrame& frame, const Rect& area) {
    const SeasonsTaught& taught = *frame.session.taught;
    drawing::Look look = frame.brushes.look();
    look.text_px *= 0.9;
    const double width = area.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize), margin = look.text_px;
    const std::string of_chosen = strips_of_chosen(frame.session);
    ImguiPainter measure_painter = screen_painter(frame);
    drawing::MeasuringPainter measure(measure_painter);
    const Rect top_of_all{margin, margin, width - 2.0 * margin, 0.0};
    const Rect strips{margin, write_forecasts(measure, top_of_all, taught.forecasts, look), top_of_all.width, 0.0};
    const double figure_top = write_strips(measure, strips, taught.strips, of_chosen, look);
    drawing::ReviewFigure figure = taught.figure;
    figure.caution.clear();  // it stands below the room
    const double figure_height = std::max(area.height - figure_top,
                                          drawing::height_of_review_figure(screen_painter(frame), width, figure, look));
    ScrollingPlace place(frame, "taught", area);
    WholeLines painter(frame);
    const double left = place.left(), top = place.top();
    write_forecasts(painter, {left + margin, top + margin, strips.width, 0.0}, taught.forecasts, look);
    frame.places.mark("forecasts", {left, top, width, strips.y});
    write_strips(painter, {left + strips.x, top + strips.y, strips.width, 0.0}, taught.strips, of_chosen, look);
    frame.places.mark("strips", {left, top + strips.y, width, figure_top - strips.y});
    drawing::draw_review_figure(painter, {left, top + figure_top, width, figure_height}, figure, look);
    place.holds(top + figure_top + figure_height);
    frame.places.mark("taught", area);
}

/// What was foretold of a field and season, and what came of it; a sentence for each kind of forecast.
std::vector<std::string> forecasts_of_year(const ForecastReview& review, const FieldHistory& history,
                                           const FieldYear& year) {
    std::vector<std::string> said;
    for (const ForecastClass& of : review.classes) {
        for (const ForecastCheck& check : of.checks) {
            const geo::KeptForecast& one = check.forecast;
            if (one.season != year.season || one.field != history.field || one.part != year.part) continue;
            if (!one.exceedance || !one.median_mg_per_kg || !one.low90_mg_per_kg || !one.high90_mg_per_kg) continue;
            const models::LocalDay day = one.as_of.value_or(one.made.local_day());
            const char* const side = !check.over   ? spoken(words::forecast_came_open)
                                     : *check.over ? spoken(words::forecast_came_over)
                                                   : spoken(words::forecast_came_within);
            const std::string sign = check.reading == models::Reading::below   ? "< "
                                     : check.reading == models::Reading::above ? "> "
                                                                               : "";
            const std::string foretold_on = models::to_short_text(day),
                              median = drawing::content_text(*one.median_mg_per_kg),
                              interval = drawing::content_interval_text(*one.low90_mg_per_kg, *one.high90_mg_per_kg),
                              chance = drawing::percent_text(*one.exceedance),
                              read = sign + drawing::content_text(check.don_mg_per_kg),
                              read_on = models::to_short_text(check.result.time.local_day());
            said.push_back(one.as_of ? drawing::with_unit(words::forecast_of_field_afterwards, foretold_on, median,
                                                          interval, chance, read, read_on, side)
                                     : drawing::with_unit(words::forecast_of_field, foretold_on, median, interval,
                                                          chance, read, read_on, side));
        }
    }
    return said;
}

/// What was known of a season at its own end, where that is worked out.
std::string known_at_its_end(const RoomFrame& frame, const FieldYear& year, const std::string& field) {
    const SeasonView& view = frame.session.answer->view;
    if (!year.content || year.season >= view.season) return "";
    const auto crop = crop_of_ground(view.data, field, year.part, year.season);
    const auto other = crop ? content_as_known(frame.session, *crop, year.season) : std::nullopt;
    if (!other) return "";
    if (reads_alike(*year.content, other->content)) return spoken(words::seasons_same_at_its_end, year.season);
    return drawing::with_unit(words::seasons_at_its_end, year.season, drawing::content_text(other->content.median),
                              drawing::content_interval_text(other->content.low90, other->content.high90));
}

/// Why a reading and the number of its year may lie far apart; empty where they do not.
std::string why_far_apart(const ForecastReview& review, const FieldHistory& history, const FieldYear& year) {
    if (year.apart) return readings_apart_in_words(*year.apart);
    if (!year.exceedance || year.readings.empty()) return "";
    constexpr double hardly = 0.05;  // ours
    bool other_side = false;
    for (const ForecastClass& of : review.classes)
        for (const ForecastCheck& check : of.checks)
            if (check.over && check.forecast.season == year.season && check.forecast.field == history.field &&
                check.forecast.part == year.part)
                other_side = other_side || (*check.over ? *year.exceedance < hardly : *year.exceedance > 1.0 - hardly);
    if (!other_side) return "";
    std::vector<std::string> readings;
    for (const FieldReading& reading : year.readings) readings.push_back(reading_in_words(reading));
    return drawing::with_unit(words::readings_weighed, models::listed(readings));
}

/// The fields of the season, to choose one; answers where it ends.
double draw_field_list(RoomFrame& frame, const Rect& area) {
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y)});
    ImGui::SetNextItemWidth(static_cast<float>(area.width));
    const FieldView* chosen = chosen_field(frame.session);
    const std::string shown = chosen == nullptr ? frame.session.field : code_and_name(*chosen);
    const bool open = ImGui::BeginCombo("##field", shown.c_str());
    frame.places.mark_last_item("field list");
    if (open) {
        for (const FieldView& field : frame.session.answer->view.fields) {
            const bool here = field.name == frame.session.field;
            if (ImGui::Selectable(code_and_name(field).c_str(), here) && !here)
                frame.actions.emplace_back(ChooseField{field.name});
            frame.places.mark_last_item("choose field " + field.name);
            if (here && ImGui::IsWindowAppearing()) ImGui::SetScrollHereY(0.5F);
        }
        ImGui::EndCombo();
    }
    return area.y + static_cast<double>(ImGui::GetFrameHeight());
}

/// A field over the years: its content as an interval on one scale, and what else is known of each year.
/// @returns  where it ends
double draw_years(RoomFrame& frame, const Rect& area) {
    WholeLines painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const drawing::Look look = frame.brushes.look();
    const double em = look.text_px;
    const FieldYears* years = frame.session.years.get();
    if (frame.session.field.empty() || years == nullptr) {
        const double top = draw_field_list(frame, area) + em * 0.4;
        return drawing::paragraph(
            painter, area.x, top,
            frame.session.field.empty() ? spoken(words::seasons_choose_a_field) : spoken(words::working), em,
            area.width, theme.soft_ink);
    }
    const FieldHistory& history = years->history;
    std::string head = history.field;
    if (!history.name.empty() && history.name != history.field) head += ", " + history.name;
    double top = drawing::paragraph(painter, area.x, area.y, spoken(words::seasons_of_field, head), em * 1.15,
                                    area.width, theme.ink, Weight::bold, 2);
    top = draw_field_list(frame, {area.x, top + em * 0.2, area.width, 0.0});
    top = drawing::paragraph(painter, area.x, top + em * 0.2, spoken(words::seasons_step), em * 0.88, area.width,
                             theme.soft_ink);
    std::vector<double> contents;
    for (const FieldYear& year : history.years)
        if (year.content) contents.insert(contents.end(), {year.content->low90, year.content->high90});
    const double limit = years->limit_mg_per_kg;
    constexpr double beside_limit = 1.25;  // so that it never lies on an end of the axis, where no line would be seen
    contents.insert(contents.end(), {limit / beside_limit, limit * beside_limit});
    const drawing::ContentScale range = drawing::content_scale_for(contents, limit);
    const double left = area.x + em * 3.4, right = area.x + area.width - em * 0.6;
    const drawing::Scale scale{range.low_mg_per_kg, range.high_mg_per_kg, left, right, true};
    // What a season knew at its own end is worked out beside the window.
    if (!frame.session.looks_ahead && history.years.size() > 1) frame.actions.emplace_back(OnTheGround{LookAhead{}});
    const std::string limit_says = spoken(words::ramp_limit, drawing::set_content_text(limit));
    const double half = 0.5 * painter.text_width(limit_says, em * 0.85, Weight::bold);
    painter.text(
        {std::clamp(scale.px(limit), left + half, std::max(left + half, area.x + area.width - half)), top + em * 0.95},
        limit_says, em * 0.85, theme.ink, Align::centre, Weight::bold);
    frame.places.mark("limit over the years", {scale.px(limit), top, 1.0, em * 1.1});
    top += em * 1.1;
    for (const FieldYear& year : history.years) {
        painter.text({area.x, top + em * 1.5}, std::to_string(year.season), em, theme.ink, Align::left, Weight::bold);
        painter.polyline({{scale.px(limit), top + em * 0.3}, {scale.px(limit), top + em * 1.9}}, theme.ink, 1.5, false,
                         true);
        if (year.content) {
            const models::Content& c = *year.content;
            draw_interval(painter, scale, top + em * 1.2, em * 0.55, {c.median, c.low90, c.high90, c.low50, c.high50},
                          theme.accent, look);
        } else {
            painter.text({left, top + em * 1.5}, spoken(words::seasons_no_content), em * 0.92, theme.soft_ink);
        }
        std::string known = models::in_words(year.crop);
        if (!year.part.empty()) known = year.part + ": " + known;
        if (year.content) {
            known +=
                "; " + drawing::with_unit(words::content_of_row, drawing::content_text(year.content->median),
                                          drawing::content_interval_text(year.content->low90, year.content->high90));
            known += "; " + tests_in_words(year.tests, year.load_tests);
        }
        if (year.exceedance) known += "; " + spoken(words::seasons_over, drawing::percent_text(*year.exceedance));
        if (year.severity_pct) known += "; " + spoken(words::seasons_severity, *year.severity_pct);
        double end = drawing::paragraph(painter, left, top + em * 1.8, known, em * 0.88, right - left, theme.soft_ink,
                                        Weight::regular, 5);
        std::vector<std::string> foretold = forecasts_of_year(frame.session.taught->forecasts, history, year);
        if (foretold.empty() && year.content) foretold.emplace_back(spoken(words::forecast_not_followed));
        for (const std::string& sentence : foretold)
            end = drawing::paragraph(painter, left, end, sentence, em * 0.88, right - left,
                                     foretold.size() == 1 && foretold[0] == spoken(words::forecast_not_followed)
                                         ? theme.soft_ink
                                         : theme.ink);
        if (const std::string why = why_far_apart(frame.session.taught->forecasts, history, year); !why.empty()) {
            const double from = end;
            end = drawing::paragraph(painter, left, end, why, em * 0.88, right - left, theme.ink);
            frame.places.mark("why apart " + std::to_string(year.season), {left, from, right - left, end - from});
        }
        const double row = std::max(em * 3.4, end - top + em * 0.7);
        frame.places.mark("year " + std::to_string(year.season), {area.x, top, area.width, row});
        const std::string then = known_at_its_end(frame, year, history.field);
        if (!then.empty() && ImGui::IsWindowHovered() &&
            ImGui::IsMouseHoveringRect({static_cast<float>(area.x), static_cast<float>(top)},
                                       {static_cast<float>(area.x + area.width), static_cast<float>(top + row)}))
            show_tip_beside({area.x, top, area.width, row}, then);
        top += row;
    }
    for (const drawing::Tick& tick : drawing::content_ticks(range.low_mg_per_kg, range.high_mg_per_kg, 6))
        if (!tick.label.empty())
            painter.text({scale.px(tick.value), top + em}, tick.label, em * 0.85, theme.soft_ink, Align::centre);
    top += em * 1.4;
    return drawing::paragraph(painter, area.x, top,
                              drawing::with_unit(words::seasons_key, drawing::content_text(limit), history.known_up_to),
                              em * 0.88, area.width, theme.soft_ink);
}

/// What does not fit is scrolled to.
void draw_scrolled_years(RoomFrame& frame, const Rect& area) {
    ScrollingPlace place(frame, "years", area, true);
    const double width = area.width - static_cast<double>(ImGui::GetStyle().ScrollbarSize);
    place.holds(draw_years(frame, {place.left(), place.top(), width, area.height}));
}

}  // namespace

void draw_seasons_room(RoomFrame& frame) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    if (const int step = pressed_step(frame); step != 0) {
        std::vector<std::string> names;
        for (const FieldView& field : frame.session.answer->view.fields) names.push_back(field.name);
        if (const auto next = stepped_name(names, frame.session.field, step))
            frame.actions.emplace_back(ChooseField{*next});
    }
    if (!frame.session.taught) {
        const std::string& why = frame.session.taught_problem;
        drawing::draw_empty(painter, frame.canvas, why.empty() ? spoken(words::working) : why, frame.brushes.look());
        return;
    }
    const double margin = frame.tight ? em * 0.6 : em;
    const Rect inside =
        draw_foot(frame, drawing::inset(frame.canvas, margin), {{spoken(caution::risk_is_not_don), theme.soft_ink}});
    const double left = std::floor(inside.width * 0.64);
    draw_taught(frame, {inside.x - margin, inside.y - margin, left + margin, inside.height + margin});
    painter.rect({inside.x + left + margin * 0.5, frame.canvas.y, 1.0, inside.height + margin}, theme.line);
    draw_scrolled_years(frame,
                        {inside.x + left + margin * 1.5, inside.y, inside.width - left - margin * 1.5, inside.height});
}

}  // namespace app::window
