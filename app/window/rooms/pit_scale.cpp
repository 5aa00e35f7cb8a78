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

using drawing::Rect;
using drawing::Weight;

constexpr std::chrono::milliseconds hold_to_confirm{1000};

ImVec4 scale_colour(const drawing::Colour& c) {
    return {static_cast<float>(c.red) / 255.0F, static_cast<float>(c.green) / 255.0F,
            static_cast<float>(c.blue) / 255.0F, 1.0F};
}

/// What Dear ImGui writes itself at the pit is noted as what a painter writes is.
void note_last_item(RoomFrame& frame, const std::string& words_of_it) {
    std::vector<DrawnText>* texts = frame.places.texts();
    if (texts == nullptr || frame.session.room != Room::bins) return;
    // The letters alone, whatever frame is around them.
    const ImVec2 edge_low = ImGui::GetItemRectMin(), edge_high = ImGui::GetItemRectMax(),
                 letters = ImGui::CalcTextSize(words_of_it.c_str()), from = ImGui::GetWindowPos(),
                 size = ImGui::GetWindowSize();
    const ImVec2 low{0.5F * (edge_low.x + edge_high.x - letters.x), 0.5F * (edge_low.y + edge_high.y - letters.y)};
    const ImVec2 high{low.x + letters.x, low.y + letters.y};
    texts->push_back({words_of_it,
                      {static_cast<double>(low.x), static_cast<double>(low.y), static_cast<double>(high.x - low.x),
                       static_cast<double>(high.y - low.y)},
                      {static_cast<double>(from.x), static_cast<double>(from.y), static_cast<double>(size.x),
                       static_cast<double>(size.y)}});
}

}  // namespace

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

std::string yes_in_words(const PitQuestion& question) {
    if (question.kind == PitQuestion::Kind::sample) return spoken(words::pit_yes_sample, question.load);
    if (question.bin.empty()) return spoken(words::pit_yes);
    return question.bin == "out" ? spoken(words::pit_yes_away, question.load)
                                 : spoken(words::pit_yes_into, question.load, question.bin);
}

std::string with_capital(std::string sentence) {
    if (!sentence.empty() && sentence[0] >= 'a' && sentence[0] <= 'z')
        sentence[0] = static_cast<char>(sentence[0] - 'a' + 'A');
    return sentence;
}

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
    note_last_item(frame_, words_of_it);
    if (chosen) {
        const ImVec2 low = ImGui::GetItemRectMin(), high = ImGui::GetItemRectMax();
        ImguiPainter painter = screen_painter(frame_);
        painter.outline({static_cast<double>(low.x), static_cast<double>(low.y), static_cast<double>(high.x - low.x),
                         static_cast<double>(high.y - low.y)},
                        theme.ink, 2.0);
        ImGui::PopStyleColor();
    }
    if (strong) ImGui::PopStyleColor(3);
    if (tip != nullptr && ImGui::IsItemHovered()) show_tip(tip, tip_side_);
    return pressed;
}

void ButtonRow::text(const std::string& words_of_it, double before) {
    const double width = static_cast<double>(ImGui::CalcTextSize(words_of_it.c_str()).x);
    if (x_ > left_ && before > 0.0 && x_ + width + gap_ + before > right_) new_line();
    place(width);
    ImGui::AlignTextToFramePadding();
    ImGui::TextUnformatted(words_of_it.c_str());
    note_last_item(frame_, words_of_it);
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
                         const std::string& yes, bool ready) {
    const double em = frame.brushes.fonts.text_px();
    const float no_width = ImGui::CalcTextSize(spoken(words::pit_no)).x + 2.0F * ImGui::GetStyle().FramePadding.x;
    const float yes_width = ImGui::CalcTextSize(yes.c_str()).x + 2.0F * ImGui::GetStyle().FramePadding.x;
    if (row.button(spoken(words::pit_no), name + " no", nullptr)) return HandSays::no;
    const double gap = width - static_cast<double>(no_width + yes_width) - em * 1.2;
    if (gap > 0.0) row.place(gap);
    const bool pressed = row.button(yes, name + " yes", spoken(words::pit_tip_yes), ready);
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
    if (!frame.tight && pit.truck && pit.truck->load == question.load && pit.truck->next) {
        const std::string& why = pit.truck->next->advice.why;
        y = drawing::paragraph(painter, x, y,
                               fmt::format("{}: {}; {}", question.load, state_in_words(pit.truck->state),
                                           why.empty() ? pit.truck->in_short : why),
                               em * 1.1, width, theme.soft_ink, Weight::bold, 3);
    }
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
    // What stands against a bin has its room kept, so that the boxes below stay where they are from bin to bin.
    const std::string rule = rule_against(session, question);
    const std::string given = rule.empty() ? plan_against(session, question) : "";
    if (of_bin) {
        const double from = row.bottom() - static_cast<double>(ImGui::GetFrameHeight()) + em * 0.1;
        const std::string against = !rule.empty()    ? spoken(words::pit_rule, rule)
                                    : !given.empty() ? spoken(words::pit_given, given)
                                                     : "";
        // A bar beside it marks a rule: in the colour of what is pressed it would look like a link.
        const double indent = rule.empty() ? 0.0 : em * 0.8;
        const double end = against.empty() ? from
                                           : drawing::paragraph(painter, x + indent, from, against, em, width - indent,
                                                                theme.ink, Weight::bold);
        if (!rule.empty()) painter.rect({x, from + em * 0.15, em * 0.35, end - from - em * 0.15}, theme.ink);
        if (!given.empty()) frame.places.mark("plan against", {x, from, width, end - from});
        row.move_to(std::max(end, from + 2.0 * drawing::line_height * em) + em * 0.3);
    }
    const bool edit = std::exchange(frame.views.pit.focus_box, false);
    if (of_bin) {
        row.text(spoken(words::pit_mass), em * 5.0);
        changed = row.box("question mass", question.mass, em * 5.0, edit && rule.empty()) || changed;
        const double reason = std::min(width - em * 4.0, em * (frame.tight ? 12.0 : 20.0));
        row.text(rule.empty() ? spoken(words::pit_reason) : spoken(words::pit_reason_needed), reason);
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
    row.tips_lie(TipSide::above);
    const std::string not_yet = why_not_yet(session, question);
    const HandSays says = draw_no_and_yes(frame, row, width, "question", yes_in_words(question), not_yet.empty());
    if (says == HandSays::no) frame.actions.emplace_back(DropQuestion{});
    if (says == HandSays::yes && !changed) frame.actions.emplace_back(RecordAtPit{question.load, question.bin});
    y = row.bottom() + em * 0.6;
    if (!pit.refused.empty())
        y = draw_news(frame, {x, y, width, 0.0});
    else if (!not_yet.empty())
        y = drawing::paragraph(painter, x, y, with_capital(not_yet) + ".", em, width, theme.ink);
    y += em * 0.4;
    painter.outline({area.x, area.y, area.width, y - area.y}, theme.accent, std::max(2.0, em * 0.15));
    return y + em * 0.5;
}

}  // namespace app::window
