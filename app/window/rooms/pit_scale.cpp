#include <algorithm>
#include <chrono>

#include <GLFW/glfw3.h>
#include <fmt/format.h>
#include <imgui.h>

#include "app/drawing/chart.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/pit_words.h"
#include "app/stages/withdrawn_names.h"
#include "app/window/rooms/pit_parts.h"
#include "app/words.h"
#include "geo/store/store.h"
#include "models/error.h"
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
constexpr std::chrono::milliseconds hold_to_confirm{1000};

ImVec4 scale_colour(const drawing::Colour& c) {
    return {static_cast<float>(c.red) / 255.0F, static_cast<float>(c.green) / 255.0F,
            static_cast<float>(c.blue) / 255.0F, 1.0F};
}

const char* state_in_words(models::ClearingState state) {
    switch (state) {
        case models::ClearingState::cleared:
            return spoken(words::pit_state_cleared);
        case models::ClearingState::over:
            return spoken(words::pit_state_over);
        case models::ClearingState::undecided:
            return spoken(words::pit_state_undecided);
    }
    return "";
}

std::string tip_of_state(const PitTruck& truck) {
    const char* state = truck.state == models::ClearingState::cleared ? spoken(words::pit_tip_cleared)
                        : truck.state == models::ClearingState::over  ? spoken(words::pit_tip_over)
                                                                      : spoken(words::pit_tip_undecided);
    return std::string(state) + "\n" + truck.reason + (truck.reason.empty() ? "" : ".\n") +
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
    return spoken(words::pit_of_truck, mass_t > 0.0 ? mass_text(mass_t) : spoken(words::pit_mass_unknown), came,
                  from.empty() ? "" : spoken(words::pit_from, from));
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
                       fmt::format("{:.1f}", *second->loss - *best->loss)) +
           ".";
}

std::string with_capital(std::string sentence) {
    if (!sentence.empty() && sentence[0] >= 'a' && sentence[0] <= 'z')
        sentence[0] = static_cast<char>(sentence[0] - 'a' + 'A');
    return sentence;
}

/// What was refused, recorded or found, beside what it was about.
double draw_news(RoomFrame& frame, const Rect& area) {
    const PitPanel& pit = frame.session.pit;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    double y = area.y;
    if (!pit.refused.empty()) {
        y = drawing::paragraph(painter, area.x, y, spoken(words::pit_refused, pit.refused), em, area.width,
                               theme.accent, Weight::bold);
        frame.places.mark("refused", {area.x, area.y, area.width, y - area.y});
    }
    if (!pit.said.empty() && !pit.asks && pit.said_of == pit.load) {
        const double from = y;
        y = drawing::paragraph(painter, area.x, y, pit.said, em, area.width, theme.ink, Weight::bold);
        for (const std::string& caution : pit.cautions)
            y = drawing::paragraph(painter, area.x, y, spoken(words::pit_caution, caution), em, area.width, theme.ink);
        frame.places.mark("said", {area.x, from, area.width, y - from});
    }
    return y;
}

/// State and bin, as large as they are read from two metres where the place is wide enough; in two lines where not.
double draw_large_answer(RoomFrame& frame, const PitTruck& truck, const Rect& area) {
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const std::string state = state_in_words(truck.state);
    const std::string place = !truck.next->advised.empty() ? spoken(words::pit_place_bin, truck.next->advised)
                              : truck.turn_away            ? spoken(words::pit_place_away)
                                                           : spoken(words::pit_place_none);
    double size = em * (frame.tight ? large_in_low_window_em : large_em);
    const auto width_of = [&](const std::string& text) { return painter.text_width(text, size, Weight::bold); };
    const double sign = size * 0.95;
    while (size > em * 1.6 && std::max(width_of(state) + size * 1.2, width_of(place) + size) > area.width) size -= 1.0;
    const double one_line = size * 1.2 + width_of(state) + size * 1.5 + width_of(place);
    const bool two = one_line > area.width;
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
    ImGui::SetCursorScreenPos({static_cast<float>(area.x), static_cast<float>(area.y)});
    ImGui::Dummy({static_cast<float>(area.width), static_cast<float>(place_of_answer.height)});
    if (ImGui::IsItemHovered()) show_tip(tip_of_state(truck));
    return y + size * 0.35;
}

}  // namespace

PitQuestion question_of(const Session& session, const std::string& bin) {
    PitQuestion question;
    const PitPanel& pit = session.pit;
    question.load = pit.load;
    question.bin = bin;
    if (pit.truck && pit.truck->next && pit.truck->load == pit.load) {
        if (pit.truck->next->mass_t > 0.0) question.mass = mass_text(pit.truck->next->mass_t);
        if (bin.empty()) question.bin = pit.truck->next->advised;
    }
    return question;
}

PitQuestion sample_question_of(const Session& session) {
    PitQuestion question;
    question.kind = PitQuestion::Kind::sample;
    question.load = session.pit.load;
    question.sample =
        not_withdrawn(session, "samples", next_sample_name(session.pit.plan->view().data, session.pit.load));
    return question;
}

std::string not_withdrawn(const Session& session, const std::string& kind, const std::string& name) {
    try {
        const auto withdrawn = withdrawn_names(geo::Store::open(session.store, geo::Store::Access::read_only), kind);
        if (withdrawn.count(name) == 0) return name;
        return name_after(name, [&](const std::string& one) { return withdrawn.count(one) != 0; });
    } catch (const models::Error&) {
        return name;  // the store is being replaced: what is written is checked there
    }
}

ButtonRow::ButtonRow(RoomFrame& frame, double left, double top, double width)
    : frame_(frame),
      left_(left),
      right_(left + width),
      x_(left),
      y_(top),
      height_(static_cast<double>(ImGui::GetFrameHeight())),
      gap_(frame.brushes.fonts.text_px() * 0.6) {}

void ButtonRow::new_line() {
    x_ = left_;
    y_ += height_ + gap_ * 0.6;
}

void ButtonRow::move_to(double top) {
    x_ = left_;
    y_ = top;
}

void ButtonRow::place(double width) {
    if (x_ > left_ && x_ + width > right_) new_line();
    ImGui::SetCursorScreenPos({static_cast<float>(x_), static_cast<float>(y_)});
    x_ += width + gap_;
}

bool ButtonRow::button(const std::string& words_of_it, const std::string& name, const char* tip, bool strong,
                       bool chosen) {
    const drawing::Theme& theme = frame_.brushes.theme;
    place(static_cast<double>(ImGui::CalcTextSize(words_of_it.c_str()).x + 2.0F * ImGui::GetStyle().FramePadding.x));
    if (strong) {
        ImGui::PushStyleColor(ImGuiCol_Button, scale_colour(theme.accent));
        ImGui::PushStyleColor(ImGuiCol_ButtonHovered, scale_colour(drawing::blended(theme.accent, theme.ink, 0.25)));
        ImGui::PushStyleColor(ImGuiCol_Text, scale_colour(theme.paper));
    }
    if (chosen) ImGui::PushStyleColor(ImGuiCol_Button, scale_colour(drawing::blended(theme.panel, theme.accent, 0.35)));
    const bool pressed = ImGui::Button((words_of_it + "##" + name).c_str());
    frame_.places.mark_last_item(name);
    if (chosen) {
        const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
        ImguiPainter painter = screen_painter(frame_);
        painter.outline({static_cast<double>(low.x), static_cast<double>(low.y), static_cast<double>(high.x - low.x),
                         static_cast<double>(high.y - low.y)},
                        theme.ink, 2.0);
        ImGui::PopStyleColor();
    }
    if (strong) ImGui::PopStyleColor(3);
    if (tip != nullptr && ImGui::IsItemHovered()) show_tip(tip);
    return pressed;
}

void ButtonRow::text(const std::string& words_of_it, double before) {
    const double width = static_cast<double>(ImGui::CalcTextSize(words_of_it.c_str()).x);
    if (x_ > left_ && before > 0.0 && x_ + width + gap_ + before > right_) new_line();
    place(width);
    ImGui::AlignTextToFramePadding();
    ImGui::TextUnformatted(words_of_it.c_str());
}

bool ButtonRow::box(const std::string& name, std::string& text, double width, bool focus) {
    place(width);
    ImGui::SetNextItemWidth(static_cast<float>(width));
    if (focus) ImGui::SetKeyboardFocusHere();
    char typed[240] = {};
    text.copy(typed, sizeof typed - 1);
    const bool changed = ImGui::InputText(("##" + name).c_str(), typed, sizeof typed);
    frame_.places.mark_last_item(name);
    if (changed) text = typed;
    return changed;
}

HandSays draw_no_and_yes(RoomFrame& frame, ButtonRow& row, double width, const std::string& name,
                         const std::string& yes) {
    const double em = frame.brushes.fonts.text_px();
    const float no_width = ImGui::CalcTextSize(spoken(words::pit_no)).x + 2.0F * ImGui::GetStyle().FramePadding.x;
    const float yes_width = ImGui::CalcTextSize(yes.c_str()).x + 2.0F * ImGui::GetStyle().FramePadding.x;
    if (row.button(spoken(words::pit_no), name + " no", nullptr)) return HandSays::no;
    const double gap = width - static_cast<double>(no_width + yes_width) - em * 1.2;
    if (gap > 0.0) row.place(gap);
    const bool pressed = row.button(yes, name + " yes", spoken(words::pit_tip_yes), true);
    const auto held = nobody_is_choosing() ? frame.views.gate.held_for(GLFW_KEY_F9) : KeyGate::Clock::duration::zero();
    const double share = std::min(1.0, std::chrono::duration<double>(held) / hold_to_confirm);
    const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
    if (share > 0.0) {
        ImguiPainter painter = screen_painter(frame);
        painter.rect({static_cast<double>(low.x), static_cast<double>(high.y) + em * 0.1,
                      static_cast<double>(high.x - low.x) * share, em * 0.25},
                     frame.brushes.theme.ink);
    }
    const bool confirmed = held >= hold_to_confirm;
    if (confirmed) frame.views.gate.forget_held();
    return pressed || confirmed ? HandSays::yes : HandSays::nothing;
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
    const double name = em * 2.0;
    painter.text({area.x, y + name * 0.85}, drawing::shortened(painter, pit.load, name, area.width, Weight::bold), name,
                 theme.ink, Align::left, Weight::bold);
    const double name_width = painter.text_width(pit.load, name, Weight::bold) + em;
    const bool weighed = pit.truck && pit.truck->load == pit.load && pit.truck->next;
    if (const models::Load* load = load_named(data, pit.load)) {
        const std::string head = head_of_truck(*load, weighed ? pit.truck->next->mass_t : load->net_t.value_or(0.0));
        const bool beside = name_width + painter.text_width(head, em) < area.width;
        if (beside) painter.text({area.x + name_width, y + name * 0.85}, head, em, theme.soft_ink);
        y += name * 1.15;
        if (!beside) y = drawing::paragraph(painter, area.x, y, head, em, area.width, theme.soft_ink);
    }
    const bool done = std::find(pit.done.begin(), pit.done.end(), pit.load) != pit.done.end();
    if (!weighed || done) {
        y = drawing::paragraph(painter, area.x, y, done ? spoken(words::pit_recorded_now) : spoken(words::working),
                               em * 1.35, area.width, theme.soft_ink);
        return draw_news(frame, {area.x, y + em * 0.4, area.width, 0.0}) + em * 0.6;
    }
    const PitTruck& truck = *pit.truck;
    const NextLoad& next = *truck.next;
    y = draw_large_answer(frame, truck, {area.x, y, area.width, 0.0});
    y = drawing::paragraph(painter, area.x, y, with_capital(truck.in_short) + ".", em * 1.25, area.width, theme.ink,
                           Weight::bold, 3);
    const std::string second_best = second_best_of(next);
    if (!second_best.empty())
        y = drawing::paragraph(painter, area.x, y, second_best, em * 1.1, area.width, theme.ink, Weight::regular, 2);
    if (next.advised.empty())
        for (const BinChoice& choice : next.choices) {
            if (choice.purpose != models::Purpose::hold) continue;
            const std::string& why = choice.against.empty() ? choice.given : choice.against;
            if (why.empty()) continue;
            const double from = y;
            y = drawing::paragraph(painter, area.x, y, spoken(words::pit_why_not_hold, why), em * 1.1, area.width,
                                   theme.ink, Weight::regular, 4);
            frame.places.mark("why not hold", {area.x, from, area.width, y - from});
        }
    if (!next.second_says.empty())
        y = drawing::paragraph(painter, area.x, y, with_capital(next.second_says) + ".", em * 1.1, area.width,
                               theme.ink, Weight::regular, 4);
    if (drawing::shown_unit() != drawing::ContentUnit::mg_per_kg)
        y = drawing::paragraph(painter, area.x, y, spoken(words::pit_other_unit), em, area.width, theme.soft_ink,
                               Weight::regular, 2);
    y = drawing::paragraph(painter, area.x, y, samples_of_truck(data, pit.load), em, area.width, theme.soft_ink,
                           Weight::regular, 2);
    if (const std::string none = why_no_strips(data, session.clock()); !none.empty()) {
        const double from = y;
        y = drawing::paragraph(painter, area.x, y, none, em, area.width, theme.ink, Weight::bold, 3);
        frame.places.mark("no strips", {area.x, from, area.width, y - from});
    }
    ButtonRow row(frame, area.x, y + em * 0.4, area.width);
    const auto ask = [&](const PitQuestion& question) { frame.actions.emplace_back(AskAtPit{question}); };
    if (!next.advised.empty() &&
        row.button(spoken(words::pit_record_into, next.advised), "record", spoken(words::pit_tip_record), true))
        ask(question_of(session, next.advised));
    if (row.button(spoken(words::pit_record_other), "another bin", spoken(words::pit_tip_other))) {
        PitQuestion question = question_of(session, "");
        question.bin.clear();
        ask(question);
    }
    if (row.button(spoken(words::pit_record_away), "turn away", spoken(words::pit_tip_away),
                   next.advised.empty() && truck.turn_away))
        ask(question_of(session, "out"));
    const bool sampled = !samples_of_truck(data, pit.load).starts_with(spoken(words::pit_no_sample));
    if (row.button(sampled ? spoken(words::pit_take_sample) : spoken(words::pit_first_sample), "take sample",
                   spoken(words::pit_tip_sample)))
        ask(sample_question_of(session));
    if (row.button(spoken(words::pit_what_if), "what if", spoken(words::pit_tip_what_if), false,
                   frame.views.pit.what_if))
        frame.views.pit.what_if = !frame.views.pit.what_if;
    y = draw_news(frame, {area.x, row.bottom() + em * 0.4, area.width, 0.0});
    return y + em * 0.4;
}

double draw_pit_question(RoomFrame& frame, const Rect& area) {
    const Session& session = frame.session;
    const PitPanel& pit = session.pit;
    PitQuestion question = *pit.asks;
    ImguiPainter painter = screen_painter(frame);
    const drawing::Theme& theme = frame.brushes.theme;
    const double em = frame.brushes.fonts.text_px();
    const double x = area.x + em * 0.8, width = area.width - em * 1.6;
    const bool of_bin = question.kind == PitQuestion::Kind::decision;
    double y = area.y + em * 0.6;
    if (pit.truck && pit.truck->load == question.load && pit.truck->next)
        y = drawing::paragraph(
            painter, x, y,
            fmt::format("{}: {}; {}", question.load, state_in_words(pit.truck->state), pit.truck->in_short), em * 1.1,
            width, theme.soft_ink, Weight::bold, 3);
    const double sentence_top = y;
    y = drawing::paragraph(painter, x, y, question_in_words(session, question), em * (frame.tight ? 1.3 : 1.7), width,
                           theme.ink, Weight::bold);
    frame.places.mark("question", {x, sentence_top, width, y - sentence_top});
    bool changed = false;
    ButtonRow row(frame, x, y + em * 0.4, width);
    if (of_bin && pit.truck && pit.truck->next) {
        row.text(spoken(words::pit_bins_to_choose));
        for (const BinChoice& choice : pit.truck->next->choices) {
            const std::string label = !choice.against.empty() ? spoken(words::pit_against_mark, choice.bin)
                                      : !choice.given.empty() ? spoken(words::pit_given_mark, choice.bin)
                                                              : choice.bin;
            const std::string tip = !choice.against.empty() ? choice.against
                                    : !choice.given.empty() ? spoken(words::pit_given, choice.given)
                                                            : models::in_words(choice.purpose);
            if (row.button(label, "bin " + choice.bin, tip.c_str(), false, question.bin == choice.bin)) {
                question.bin = choice.bin;
                changed = true;
            }
        }
        if (row.button(spoken(words::pit_away_to_choose), "bin out", nullptr, false, question.bin == "out")) {
            question.bin = "out";
            changed = true;
        }
        row.new_line();
    }
    const std::string rule = rule_against(session, question);
    if (const std::string given = plan_against(session, question); rule.empty() && !given.empty()) {
        const double from = row.bottom() - static_cast<double>(ImGui::GetFrameHeight()) + em * 0.1;
        y = drawing::paragraph(painter, x, from, spoken(words::pit_given, given), em, width, theme.ink, Weight::bold);
        frame.places.mark("plan against", {x, from, width, y - from});
        row.move_to(y + em * 0.3);
    }
    if (!rule.empty()) {
        y = drawing::paragraph(painter, x, row.bottom() - static_cast<double>(ImGui::GetFrameHeight()) + em * 0.1,
                               spoken(words::pit_rule, rule), em, width, theme.accent, Weight::bold);
        row.move_to(y + em * 0.3);
    }
    const bool edit = std::exchange(frame.views.pit.focus_box, false);
    if (of_bin) {
        row.text(spoken(words::pit_mass), em * 5.0);
        changed = row.box("question mass", question.mass, em * 5.0, edit && rule.empty()) || changed;
        const double reason = std::min(width - em * 4.0, em * (frame.tight ? 12.0 : 20.0));
        row.text(spoken(words::pit_reason), reason);
        changed = row.box("question reason", question.reason, reason, edit && !rule.empty()) || changed;
    } else {
        row.text(spoken(words::pit_sample_code), em * 12.0);
        changed = row.box("question sample", question.sample, em * 12.0, edit) || changed;
    }
    row.text(spoken(words::pit_decides), em * 9.0);
    std::string who = pit.operator_name;
    if (row.box("operator", who, em * 9.0)) frame.actions.emplace_back(DecidesAtPit{who});
    if (changed) {
        frame.actions.emplace_back(AskAtPit{question});
        frame.views.gate.forget_held();  // it was held for another question
    }
    row.new_line();
    const HandSays says = draw_no_and_yes(frame, row, width, "question", spoken(words::pit_yes));
    if (says == HandSays::no) frame.actions.emplace_back(DropQuestion{});
    if (says == HandSays::yes && !changed) frame.actions.emplace_back(RecordAtPit{question.load, question.bin});
    y = row.bottom() + em * 0.6;
    const std::string not_yet = why_not_yet(session, question);
    if (!pit.refused.empty())
        y = draw_news(frame, {x, y, width, 0.0});
    else if (!not_yet.empty())
        y = drawing::paragraph(painter, x, y, with_capital(not_yet) + ".", em, width, theme.ink);
    y += em * 0.4;
    painter.outline({area.x, area.y, area.width, y - area.y}, theme.accent, std::max(2.0, em * 0.15));
    return y + em * 0.5;
}

}  // namespace app::window
