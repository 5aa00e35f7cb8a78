#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/figures/sheet.h"
#include "app/drawing/numbers.h"
#include "app/pit_words.h"
#include "app/window/rooms/pit_parts.h"
#include "app/window/typed_number.h"
#include "app/words.h"
#include "models/decision/limit_rule.h"

namespace app::window {

namespace {

using drawing::Rect;
using drawing::Weight;

/// The limits that bins name, in the order of the bins.
std::vector<const models::Limit*> limits_of_pit(const SeasonData& data) {
    std::vector<const models::Limit*> limits;
    std::set<std::string> known;
    for (const models::Bin& bin : data.bins)
        for (const models::Limit& limit : data.limits)
            if (limit.limit_id == bin.limit_id && known.insert(limit.limit_id).second) limits.push_back(&limit);
    return limits;
}

std::string price_in_words(const models::Contract& contract) {
    return contract.price_per_t ? drawing::set_number_text(*contract.price_per_t) : spoken(words::pit_no_price);
}

std::string what_if_in_words(const WhatIf& what_if, const SeasonData& as_it_is) {
    std::string all;
    const auto add = [&all](const std::string& part) { all += (all.empty() ? "" : "; ") + part; };
    for (const models::Limit& limit : as_it_is.limits)
        if (what_if.limit_mg_per_kg && limit.limit_id == what_if.limit_id) {
            add(spoken(words::pit_what_if_of_limit, limit.limit_id, drawing::set_number_text(*what_if.limit_mg_per_kg),
                       models::content_in_words(limit.limit_mg_per_kg)));
            break;
        }
    for (const models::Contract& contract : as_it_is.contracts)
        if (what_if.price_per_t && contract.contract == what_if.contract)
            add(spoken(words::pit_what_if_of_price, contract.contract, drawing::set_number_text(*what_if.price_per_t),
                       price_in_words(contract)));
    if (what_if.upper_cap) add(spoken(words::pit_what_if_of_cap, *what_if.upper_cap * 100.0));
    return all;
}

/// What was typed, as numbers; none where one of them is no such number: `refused` says which.
std::optional<WhatIf> what_if_typed(PitViews& views) {
    WhatIf what_if;
    views.what_if_refused.clear();
    const auto refuse = [&](const std::string& typed, const char* kind, const char* mend) {
        views.what_if_refused = spoken(words::pit_what_if_number, typed, kind, mend);
        return std::nullopt;
    };
    if (!views.limit.empty()) {
        const auto number = number_typed(views.limit);
        if (!number || !(*number > 0.0) || *number > 1000.0)
            return refuse(views.limit, spoken(words::pit_what_if_number_limit), spoken(words::pit_what_if_mend_limit));
        what_if.limit_id = views.limit_id;
        what_if.limit_mg_per_kg = number;
    }
    if (!views.price.empty()) {
        const auto number = number_typed(views.price);
        if (!number || !(*number >= 0.0) || *number > 1e6)
            return refuse(views.price, spoken(words::pit_what_if_number_price), spoken(words::pit_what_if_mend_price));
        what_if.contract = views.contract;
        what_if.price_per_t = number;
    }
    if (!views.cap.empty()) {
        const auto number = number_typed(views.cap);
        if (!number || !(*number >= 5.0 && *number <= 100.0))
            return refuse(views.cap, spoken(words::pit_what_if_number_cap), spoken(words::pit_what_if_mend_cap));
        what_if.upper_cap = *number / 100.0;
    }
    if (!what_if.any()) {
        views.what_if_refused = spoken(words::pit_what_if_nothing);
        return std::nullopt;
    }
    return what_if;
}

void choose_of(RoomFrame& frame, ButtonRow& row, const char* name, std::string& chosen, double width,
               const std::vector<std::pair<std::string, std::string>>& lines) {
    row.place(width);
    ImGui::SetNextItemWidth(static_cast<float>(width));
    std::string shown = chosen;
    for (const auto& [id, line] : lines)
        if (id == chosen) shown = line;
    const bool open = ImGui::BeginCombo((std::string("##") + name).c_str(), shown.c_str());
    frame.places.mark_last_item(name);
    if (!open) return;
    for (const auto& [id, line] : lines) {
        if (ImGui::Selectable(line.c_str(), id == chosen)) chosen = id;
        frame.places.mark_last_item(std::string(name) + " " + id);
    }
    ImGui::EndCombo();
}

}  // namespace

void open_or_close_what_if(RoomFrame& frame) {
    frame.views.pit.what_if = !frame.views.pit.what_if;
    frame.views.pit.focus_box = frame.views.pit.what_if;
}

double draw_what_if(RoomFrame& frame, const Rect& area) {
    const Session& session = frame.session;
    const PitPanel& pit = session.pit;
    PitViews& views = frame.views.pit;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const SeasonData& as_it_is = session.answer->view.data;
    double y = area.y;
    const bool asked = pit.what_if.any(), shown = pit.plan->what_if.any();
    if (asked || shown) {
        std::string band =
            spoken(words::pit_what_if_band, what_if_in_words(asked ? pit.what_if : pit.plan->what_if, as_it_is));
        if (!pit_is_up_to_date(session)) band = spoken(words::pit_what_if_working, band);
        drawing::MeasuringPainter measure(painter);
        const double high =
            drawing::paragraph(measure, 0.0, 0.0, band, em, area.width - em, theme.paper, Weight::bold) + em * 0.6;
        painter.rect({area.x, y, area.width, high}, theme.accent);
        drawing::paragraph(painter, area.x + em * 0.5, y + em * 0.3, band, em, area.width - em, theme.paper,
                           Weight::bold);
        frame.places.mark("what-if band", {area.x, y, area.width, high});
        y += high + em * 0.3;
        std::string changes;
        for (const PlanChange& change : pit.plan->changes)
            changes += (changes.empty() ? "" : "; ") +
                       spoken(words::pit_what_if_change, change.load,
                              change.after.empty() ? spoken(words::pit_no_place) : change.after.c_str(),
                              change.before.empty() ? spoken(words::pit_no_place) : change.before.c_str());
        if (shown) {
            y = drawing::paragraph(painter, area.x, y,
                                   changes.empty() ? spoken(words::pit_what_if_same) : (changes + ".").c_str(), em,
                                   area.width, theme.ink, Weight::regular, 4);
            frame.places.mark("what-if changes", {area.x, y - em, area.width, em});
        }
    }
    if (!views.what_if) {
        if (!asked) return y;
        ButtonRow row(frame, area.x, y + em * 0.2, area.width);
        if (row.button(spoken(words::pit_what_if_others), "what-if others", nullptr)) views.what_if = true;
        if (row.button(spoken(words::pit_what_if_end), "what-if end", nullptr))
            frame.actions.emplace_back(SupposeAtPit{});
        return row.bottom() + em * 0.7;
    }
    y = drawing::paragraph(painter, area.x, y + em * 0.2, spoken(words::pit_what_if_heading), em, area.width, theme.ink,
                           Weight::bold, 2);
    frame.places.mark("what-if heading", {area.x, y - em, area.width, em});
    const auto limits = limits_of_pit(as_it_is);
    if (views.limit_id.empty() && !limits.empty()) views.limit_id = limits.front()->limit_id;
    if (views.contract.empty() && !as_it_is.contracts.empty()) views.contract = as_it_is.contracts.front().contract;
    // A sentence a line, with a box where its number stands.
    ButtonRow row(frame, area.x, y + em * 0.2, area.width);
    bool focus = std::exchange(views.focus_box, false);
    if (!limits.empty()) {
        std::vector<std::pair<std::string, std::string>> lines;
        for (const models::Limit* limit : limits)
            lines.emplace_back(limit->limit_id,
                               limit->limit_id + "  " + models::content_in_words(limit->limit_mg_per_kg));
        row.text(spoken(words::pit_what_if_limit), em * 11.0);
        choose_of(frame, row, "what-if limit of", views.limit_id, em * 11.0, lines);
        row.text(spoken(words::pit_what_if_limit_were), em * 4.0);
        row.box("what-if limit", views.limit, em * 4.0, std::exchange(focus, false));
        row.text(spoken(words::pit_what_if_limit_unit));
        row.new_line();
    }
    row.text(spoken(words::pit_what_if_cap), em * 3.0);
    row.box("what-if cap", views.cap, em * 3.0, focus);
    row.text(spoken(words::pit_percent));
    row.new_line();
    if (!as_it_is.contracts.empty()) {
        std::vector<std::pair<std::string, std::string>> lines;
        for (const models::Contract& contract : as_it_is.contracts)
            lines.emplace_back(contract.contract,
                               contract.price_per_t
                                   ? spoken(words::pit_price_of, contract.contract, price_in_words(contract))
                                   : contract.contract + "  " + price_in_words(contract));
        row.text(spoken(words::pit_what_if_price), em * 10.0);
        choose_of(frame, row, "what-if contract", views.contract, em * 10.0, lines);
        row.text(spoken(words::pit_what_if_paid), em * 5.0);
        row.box("what-if price", views.price, em * 5.0);
        row.text(spoken(words::pit_per_tonne));
        row.new_line();
    }
    if (row.button(spoken(words::pit_what_if_show), "what-if show", nullptr, true))
        if (const auto what_if = what_if_typed(views)) frame.actions.emplace_back(SupposeAtPit{*what_if});
    if (asked && row.button(spoken(words::pit_what_if_end), "what-if end", nullptr)) {
        frame.actions.emplace_back(SupposeAtPit{});
        views.what_if = false;
    }
    y = row.bottom() + em * 0.3;
    if (!views.what_if_refused.empty()) {
        const double from = y;
        y = drawing::paragraph(painter, area.x, y, views.what_if_refused, em, area.width, theme.accent, Weight::bold);
        frame.places.mark("what-if refused", {area.x, from, area.width, y - from});
    }
    return y + em * 0.4;
}

}  // namespace app::window
