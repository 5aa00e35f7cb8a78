#include <algorithm>

#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/pit_words.h"
#include "app/window/rooms/pit_parts.h"
#include "app/words.h"
#include "models/listed.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app::window {

namespace {

using drawing::Align;
using drawing::Point;
using drawing::Rect;
using drawing::Weight;

/// What is read from two metres: capitals 1 cm high on a usual screen (38 of 96 to the inch), as the sizes of running
/// text are. That 1 cm is read at 2 m is common practice, no source.
constexpr double large_em = 3.4, large_in_low_window_em = 2.2;

/// Where the bins would else slip out of sight below what is said of the truck.
bool is_a_little_low(const RoomFrame& frame) {
    return frame.canvas.height <= 48.0 * frame.brushes.fonts.text_px();
}

std::string tip_of_state(const PitTruck& truck) {
    const char* state = truck.state == models::ClearingState::cleared ? spoken(words::pit_tip_cleared)
                        : truck.state == models::ClearingState::over  ? spoken(words::pit_tip_over)
                                                                      : spoken(words::pit_tip_undecided);
    return std::string(state) + "\n" + with_capital(truck.reason) + (truck.reason.empty() ? "" : ".\n") +
           spoken(words::pit_tip_load_and_field);
}

/// A sign for each state, told apart by its form alone.
void draw_state_sign(drawing::Painter& painter, const Rect& box, models::ClearingState state,
                     const drawing::Theme& theme) {
    const Point middle = drawing::middle(box);
    const double r = box.width / 2.0, pen = box.width * 0.1;
    switch (state) {
        case models::ClearingState::cleared:
            painter.circle(middle, r - pen / 2.0, theme.ink, pen);
            painter.polyline({{middle.x - r * 0.45, middle.y + r * 0.02},
                              {middle.x - r * 0.1, middle.y + r * 0.38},
                              {middle.x + r * 0.5, middle.y - r * 0.36}},
                             theme.ink, pen);
            break;
        case models::ClearingState::over:
            painter.rect(box, theme.ink);
            painter.polyline({{box.x + r * 0.5, box.y + r * 0.5}, {box.x + r * 1.5, box.y + r * 1.5}}, theme.paper,
                             pen);
            painter.polyline({{box.x + r * 0.5, box.y + r * 1.5}, {box.x + r * 1.5, box.y + r * 0.5}}, theme.paper,
                             pen);
            break;
        case models::ClearingState::undecided:
            painter.polyline({{middle.x, box.y + pen},
                              {box.x + box.width - pen, middle.y},
                              {middle.x, box.y + box.height - pen},
                              {box.x + pen, middle.y}},
                             theme.ink, pen * 0.8, true);
            painter.text({middle.x, middle.y + r * 0.36}, "?", r, theme.ink, Align::centre, Weight::bold);
            break;
    }
}

std::string head_of_truck(const models::Load& load, double mass_t) {
    std::string from;
    for (const models::LoadPart& part : load.parts)
        if (!part.field.empty())
            from += (from.empty() ? "" : ", ") + part.field +
                    (load.parts.size() > 1 ? " " + drawing::percent_text(part.share) : "");
    if (from.empty()) from = load.supplier;
    const bool timed = load.time.utc.time_since_epoch().count() != 0;
    const std::string came = timed ? spoken(words::pit_came, models::to_short_text(load.time.local_day()) + " " +
                                                                 models::to_text(load.time).substr(11, 5))
                                   : "";
    std::string head =
        spoken(words::pit_of_truck, mass_t > 0.0 ? models::said(mass_text(mass_t)) : spoken(words::pit_mass_unknown),
               came, from.empty() ? "" : spoken(words::pit_from, from));
    if (load.moisture_pct) head += spoken(words::pit_moisture, drawing::set_number_text(*load.moisture_pct));
    return head;
}

std::string samples_of_truck(const SeasonData& data, const std::string& load) {
    std::string all;
    for (std::size_t s = 0; s < data.samples.size(); ++s) {
        const GrainOfSample grain = grain_of_sample(data, s);
        if (grain.load != load) continue;
        const std::string& name = data.samples[s].sample;
        bool read = false;
        for (const models::Test& test : data.tests) {
            if (test.sample != name) continue;
            read = true;
            const std::string number = (test.reading == models::Reading::above   ? "> "
                                        : test.reading == models::Reading::below ? "< "
                                                                                 : "") +
                                       drawing::set_content_text(test.don_mg_per_kg);
            all += (all.empty() ? "" : ", ") +
                   (test.reading == models::Reading::invalid
                        ? spoken(words::pit_sample_void, name)
                        : spoken(words::pit_sample_read_in, name, number, drawing::name_of(drawing::shown_unit())));
        }
        if (!read && grain.taken == s) all += (all.empty() ? "" : ", ") + spoken(words::pit_sample_unread, name);
    }
    return all.empty() ? spoken(words::pit_no_sample) : spoken(words::pit_samples, all);
}

std::string second_best_of(const NextLoad& next) {
    const BinChoice *best = choice_named(next, next.advised), *second = nullptr;
    for (const BinChoice& choice : next.choices)
        if (choice.against.empty() && choice.given.empty() && !choice.advised && second == nullptr) second = &choice;
    if (next.advised.empty()) return "";
    if (second == nullptr) return spoken(words::pit_second_none);
    std::string text = spoken(words::pit_second_best, second->bin, models::in_words(second->purpose));
    text.pop_back();
    if (!second->loss || best == nullptr) return text + ": " + spoken(words::pit_between_waits) + ".";
    if (!best->loss) return text + ".";
    return text + ": " +
           fmt::format(fmt::runtime(next.in_money ? spoken(words::pit_between_money) : spoken(words::pit_between_t)),
                       models::said(fmt::format("{:.1f}", *second->loss - *best->loss))) +
           ".";
}

/// Where it goes, or what is done with it first.
std::string place_in_large(const NextLoad& next) {
    switch (next.advice.step) {
        case NextStep::dump:
            return spoken(words::pit_place_bin, next.advised);
        case NextStep::read:
            return spoken(words::pit_step_read);
        case NextStep::sample:
            return next.has_result ? spoken(words::pit_step_sample_again) : spoken(words::pit_step_sample);
        case NextStep::laboratory:
            return spoken(words::pit_step_laboratory);
        case NextStep::make_room:
            return spoken(words::pit_step_room);
        case NextStep::turn_away:
            return spoken(words::pit_place_away);
        case NextStep::weigh:
            return spoken(words::pit_step_weigh);
        case NextStep::nothing:
            return spoken(words::pit_step_nothing);
    }
    return "";
}

/// State and bin, as large as they are read from two metres where the place is wide enough; in two lines where not.
double draw_large_answer(RoomFrame& frame, const PitTruck& truck, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const std::string state = state_in_words(truck.state);
    const std::string place = place_in_large(*truck.next);
    double size = em * (frame.tight ? large_in_low_window_em : large_em);
    const auto width_of = [&](const std::string& text) { return painter.text_width(text, size, Weight::bold); };
    while (size > em * 1.6 && std::max(width_of(state) + size * 1.2, width_of(place) + size) > area.width) size -= 1.0;
    const auto one_line = [&] { return size * 1.2 + width_of(state) + size * 1.5 + width_of(place); };
    // Where few lines fit, one that is smaller leaves the other to what is pressed.
    const double large = size;
    while (frame.tight && size > em * 1.6 && one_line() > area.width) size -= 1.0;
    const bool two = one_line() > area.width;
    if (two) size = large;
    const double sign = size * 0.95;
    const double baseline = area.y + size * 0.95;
    draw_state_sign(painter, {area.x, baseline - sign * 0.88, sign * 0.95, sign * 0.95}, truck.state, theme);
    painter.text({area.x + size * 1.2, baseline}, state, size, theme.ink, Align::left, Weight::bold);
    const double y = two ? baseline + size * 1.15 : baseline;
    double x = two ? area.x : area.x + size * 1.2 + width_of(state) + size * 0.35;
    const double middle = y - size * 0.34, half = size * 0.17;
    painter.rect({x, middle - size * 0.05, size * 0.5, size * 0.1}, theme.ink);
    painter.polygon({{{x + size * 0.5, middle - half}, {x + size * 0.8, middle}, {x + size * 0.5, middle + half}}},
                    theme.ink);
    x += size * 1.05;
    painter.text({x, y}, place, size, theme.ink, Align::left, Weight::bold);
    const Rect place_of_answer{area.x, area.y, area.width, y - area.y + size * 0.3};
    frame.places.mark("answer", place_of_answer);
    return y + size * 0.35;
}

/// The name of the truck and what is known of how it came; answers where it ended.
/// @param below  what had no room beside the name
double draw_head_of_truck(RoomFrame& frame, const SeasonData& data, double mass_t, const Rect& area,
                          std::string& below) {
    const PitPanel& pit = frame.session.pit;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px(), name = em * (frame.tight              ? 1.5
                                                                  : is_a_little_low(frame) ? 1.6
                                                                                           : 2.0);
    double y = area.y;
    painter.text({area.x, y + name * 0.85}, drawing::shortened(painter, pit.load, name, area.width, Weight::bold), name,
                 theme.ink, Align::left, Weight::bold);
    const double name_width = painter.text_width(pit.load, name, Weight::bold) + em;
    const models::Load* load = load_named(data, pit.load);
    // A truck that was written down a moment ago is being read yet: its name stands alone.
    const std::string head =
        load == nullptr ? "" : head_of_truck(*load, mass_t > 0.0 ? mass_t : load->net_t.value_or(0.0));
    const bool beside = name_width + painter.text_width(head, em) < area.width;
    if (beside) painter.text({area.x + name_width, y + name * 0.85}, head, em, theme.soft_ink);
    y += name * 1.15;
    below = beside ? "" : head;
    return y;
}

/// What had no room beside the name.
double draw_below_name(RoomFrame& frame, const std::string& below, const Rect& area) {
    if (below.empty()) return area.y;
    ImguiPainter painter = screen_painter(frame);
    return drawing::paragraph(painter, area.x, area.y, below, frame.brushes.fonts.text_px(), area.width,
                              frame.brushes.theme.soft_ink);
}

/// What can be done with the truck, the step that is advised first and marked.
double draw_deeds(RoomFrame& frame, const NextLoad& next, const Rect& area) {
    const Session& session = frame.session;
    const PitPanel& pit = session.pit;
    const double em = frame.brushes.fonts.text_px();
    ButtonRow row(frame, area.x, area.y + em * 0.4, area.width);
    const auto ask = [&](const PitQuestion& question) { frame.actions.emplace_back(AskAtPit{question}); };
    const bool sampled = next.has_result || !next.unread_sample.empty() ||
                         !samples_of_truck(pit.plan->view().data, pit.load).starts_with(spoken(words::pit_no_sample));
    const NextStep step = next.advice.step;
    const SampleButton sampling = sample_button(step, sampled);
    const auto sample = [&](bool strong) {
        std::string tip = spoken(words::pit_tip_sample);
        if (!next.second_says.empty()) tip += "\n" + with_capital(next.second_says) + ".";
        if (row.button(spoken(*sampling.words), "take sample", tip.c_str(), strong)) ask(sample_question_of(session));
    };
    const auto away = [&](bool strong) {
        if (row.button(spoken(words::pit_record_away), "turn away", spoken(words::pit_tip_away), strong))
            ask(question_of(session, "out"));
    };
    if (step == NextStep::dump &&
        row.button(spoken(words::pit_record_into, next.advised), "record", spoken(words::pit_tip_record), true))
        ask(question_of(session, next.advised));
    // A sample that lies there may be read whatever is advised: its reading is entered at the bench.
    if (!next.unread_sample.empty() && row.button(spoken(words::pit_read_sample, next.unread_sample), "read sample",
                                                  spoken(words::pit_tip_read), step == NextStep::read)) {
        // What somebody left half typed there is not lost.
        if (frame.views.line.text().empty() || frame.views.line.is_only_begun())
            frame.views.line.begin_with(line_of_reading(next.unread_sample));
        frame.actions.emplace_back(ReadAtBench{next.unread_sample, next.load});
    }
    if (sampling.advised) sample(true);
    if (step == NextStep::turn_away) away(true);
    if (row.button(spoken(words::pit_record_other), "another bin", spoken(words::pit_tip_other))) {
        PitQuestion question = question_of(session, "");
        question.bin.clear();
        ask(question);
    }
    if (step != NextStep::turn_away) away(false);
    if (!sampling.advised) sample(false);
    if (row.button(spoken(words::pit_what_if), "what if", spoken(words::pit_tip_what_if), false,
                   frame.views.pit.what_if))
        open_or_close_what_if(frame);
    return row.bottom();
}

/// Why, what it holds, what would give it a place and what another sample is worth.
double draw_reasons(RoomFrame& frame, const PitTruck& truck, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    // In a low window the bins have to be in sight, too.
    const bool low = frame.canvas.height < 58.0 * em;
    const double size = low ? em : em * 1.1;
    const NextLoad& next = *truck.next;
    double y = area.y;
    const auto say = [&](const std::string& sentence, const char* place, Weight weight = Weight::regular) {
        const double from = y;
        y = drawing::paragraph(painter, area.x, y, sentence, size, area.width, theme.ink, weight);
        frame.places.mark(place, {area.x, from, area.width, y - from});
    };
    // Why it is not cleared, and what it holds by which results: one beside the other.
    const BinChoice* advised = choice_named(next, next.advised);
    const bool is_whole = advised != nullptr && advised->purpose != models::Purpose::hold;
    const bool is_said = is_whole || next.advice.why.empty() || next.advice.says.starts_with(next.advice.why);
    const std::string why = is_said ? "" : with_capital(next.advice.why) + ". ";
    if (!next.evidence.says.empty()) say(why + with_capital(next.evidence.says) + ".", "evidence");
    if (const std::string second_best = second_best_of(next); !second_best.empty()) say(second_best, "second best");
    const double from = y, indent = em * 0.9;
    for (const std::string& way : next.advice.ways) {
        painter.text({area.x, y + size * 0.95}, "–", size, theme.soft_ink);
        y = drawing::paragraph(painter, area.x + indent, y, with_capital(way) + ".", size, area.width - indent,
                               theme.ink);
    }
    if (!next.advice.ways.empty()) frame.places.mark("ways", {area.x, from, area.width, y - from});
    const std::string not_into =
        next.advice.elsewhere.empty() ? "" : spoken(words::pit_elsewhere, next.advice.elsewhere);
    if (!low && !not_into.empty()) say(not_into, "elsewhere");
    // What its only sample read stands above; in a low window it is not said again.
    const bool is_read = next.evidence.own_results == 1 && next.unread_sample.empty() &&
                         drawing::shown_unit() == drawing::ContentUnit::mg_per_kg;
    std::string samples = low && is_read ? "" : samples_of_truck(frame.session.pit.plan->view().data, truck.load);
    if (low && !not_into.empty()) samples = not_into + (samples.empty() ? "" : " " + samples);
    const std::string second = next.second_says.empty() ? "" : with_capital(next.second_says) + ".";
    if (!second.empty()) say(low ? second + " " + samples : second, "second sample");
    if (drawing::shown_unit() != drawing::ContentUnit::mg_per_kg)
        y = drawing::paragraph(painter, area.x, y, spoken(words::pit_other_unit), em, area.width, theme.soft_ink,
                               Weight::regular, 2);
    if ((low && !second.empty()) || samples.empty()) return y;
    return drawing::paragraph(painter, area.x, y, samples, em, area.width, theme.soft_ink, Weight::regular, 4);
}

/// What was recorded of the truck on the scale, how it is taken back, and the next one.
double draw_recorded(RoomFrame& frame, const Rect& area) {
    const Session& session = frame.session;
    const PitPanel& pit = session.pit;
    const PitRecorded& recorded = *pit.recorded;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const std::string large =
        recorded.bin == "out" ? spoken(words::pit_is_away) : spoken(words::pit_lies_in, recorded.bin);
    double size = em * (frame.tight ? large_in_low_window_em : large_em);
    while (size > em * 1.4 && painter.text_width(large, size, Weight::bold) > area.width) size -= 1.0;
    painter.text({area.x, area.y + size * 0.95}, large, size, theme.ink, Align::left, Weight::bold);
    double y = area.y + size * 1.3;
    frame.places.mark("recorded", {area.x, area.y, area.width, y - area.y});
    const Deed* back = session.history.next_back(deeds_undone_in(session.room));
    const bool can_go_back = back != nullptr && back->what == pit.said_deed;
    const std::string next = next_to_come(pit);
    const auto says = [&](double top) {
        top = draw_news(frame, {area.x, top, area.width, 0.0});
        const std::string way_back = can_go_back ? std::string(spoken(words::pit_undo_hint)) + " " : "";
        return drawing::paragraph(painter, area.x, top,
                                  way_back + spoken(next.empty() ? words::pit_none_next : words::pit_next_hint), em,
                                  area.width, theme.soft_ink);
    };
    const auto buttons = [&](double top) {
        ButtonRow row(frame, area.x, top + em * 0.4, area.width);
        if (!next.empty() && row.button(spoken(words::pit_next_truck, next), "next truck", nullptr, true))
            frame.actions.emplace_back(ChooseLoad{next});
        if (can_go_back && row.button(spoken(words::history_do_undo), "take recorded back", nullptr))
            frame.actions.emplace_back(Undo{});
        return row.bottom();
    };
    // Where few lines fit, what is pressed goes first, as it does beside an answer.
    y = frame.tight ? says(buttons(y) + em * 0.4) : buttons(says(y));
    return y + em * 0.6;
}

/// The place that it takes from another load, or lost to one, since the plan before.
std::vector<std::string> changes_of_places(const PitPanel& pit) {
    std::vector<std::string> all;
    for (const PlaceTaken& one : pit.taken) {
        const std::string now =
            one.now.empty() ? spoken(words::pit_place_none_now) : spoken(words::pit_place_now, one.now);
        if (std::find(one.by.begin(), one.by.end(), pit.load) != one.by.end())
            all.push_back(spoken(words::pit_takes_place, one.bin, one.load, now));
        else if (one.load == pit.load)
            all.push_back(spoken(words::pit_lost_place, one.bin, models::listed(one.by)));
    }
    return all;
}

}  // namespace

SampleButton sample_button(NextStep step, bool sampled) {
    if (sampled) return {&words::pit_take_sample, step == NextStep::sample};
    if (step == NextStep::laboratory) return {&words::pit_laboratory_sample, true};
    return {&words::pit_first_sample, step == NextStep::sample};
}

double draw_truck_answer(RoomFrame& frame, const Rect& area) {
    const Session& session = frame.session;
    const PitPanel& pit = session.pit;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const SeasonData& data = pit.plan->view().data;
    double y = area.y;
    if (pit.load.empty()) {
        y = drawing::paragraph(painter, area.x, y,
                               pit.plan->queue.waiting.empty() ? spoken(words::no_queue) : spoken(words::pit_choose),
                               em * 1.35, area.width, theme.ink, Weight::bold);
        return draw_news(frame, {area.x, y + em * 0.4, area.width, 0.0}) + em * 0.6;
    }
    const bool recorded = pit.recorded && pit.recorded->load == pit.load;
    const bool weighed = pit.truck && pit.truck->load == pit.load && pit.truck->next;
    std::string below;
    y = draw_head_of_truck(frame, data, weighed ? pit.truck->next->mass_t : 0.0, {area.x, y, area.width, 0.0}, below);
    if (!frame.tight) y = draw_below_name(frame, below, {area.x, y, area.width, 0.0});
    if (recorded) return draw_recorded(frame, {area.x, y, area.width, 0.0});
    const bool done = std::find(pit.done.begin(), pit.done.end(), pit.load) != pit.done.end();
    if (!weighed || done) {
        y = drawing::paragraph(painter, area.x, y, done ? spoken(words::pit_recorded_now) : spoken(words::working),
                               em * 1.35, area.width, theme.soft_ink);
        return draw_news(frame, {area.x, y + em * 0.4, area.width, 0.0}) + em * 0.6;
    }
    const PitTruck& truck = *pit.truck;
    const NextLoad& next = *truck.next;
    const double answer = y;
    y = draw_large_answer(frame, truck, {area.x, y, area.width, 0.0});
    // Where few lines fit, what is pressed stands right below the answer and its reasons below that.
    if (frame.tight) y = draw_deeds(frame, next, {area.x, y, area.width, 0.0}) + em * 0.4;
    const double from = y;
    // A bin that is not on hold is the whole answer: beside it stands why.
    const BinChoice* advised = choice_named(next, next.advised);
    const bool is_whole = advised != nullptr && advised->purpose != models::Purpose::hold;
    const std::string says = !is_whole                ? next.advice.says
                             : advised->limit.empty() ? truck.in_short
                                                      : spoken(words::pit_by_limit_of, truck.in_short, advised->bin,
                                                               models::in_words(advised->purpose), advised->limit);
    y = drawing::paragraph(painter, area.x, y, with_capital(says) + ".", em * 1.25, area.width, theme.ink,
                           Weight::bold);
    frame.places.mark("do now", {area.x, from, area.width, y - from});
    // Beside all of it: nothing that is read from afar lies below the tip.
    const double answer_floor = y;
    // A verdict that needs a second line moves no button: its room is kept where there is some.
    if (!is_a_little_low(frame)) y = std::max(y, from + 2.0 * drawing::line_height * em * 1.25);
    if (!frame.tight)
        y = draw_deeds(frame, next, {area.x, y, area.width, 0.0}) + em * (is_a_little_low(frame) ? 0.1 : 0.4);
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(answer)});
    ImGui::Dummy({static_cast<float>(area.width), static_cast<float>(answer_floor - answer)});
    if (ImGui::IsItemHovered() && !ImGui::IsAnyItemHovered())
        show_tip_beside({area.x, answer, area.width, y - answer}, tip_of_state(truck), TipSide::below, true);
    y = draw_news(frame, {area.x, y, area.width, 0.0});
    const double changed = y;
    for (const std::string& change : changes_of_places(pit))
        y = drawing::paragraph(painter, area.x, y, change, em, area.width, theme.ink, Weight::bold, 3);
    if (y > changed) frame.places.mark("place taken", {area.x, changed, area.width, y - changed});
    y = draw_reasons(frame, truck, {area.x, y, area.width, 0.0});
    if (frame.tight) y = draw_below_name(frame, below, {area.x, y, area.width, 0.0});
    if (const std::string none = why_no_strips(data, session.clock()); !none.empty()) {
        const double top = y;
        y = drawing::paragraph(painter, area.x, y, none, em, area.width, theme.ink, Weight::bold, 3);
        frame.places.mark("no strips", {area.x, top, area.width, y - top});
    }
    return y + em * 0.4;
}

}  // namespace app::window
