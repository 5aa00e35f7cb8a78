#include "app/window/session_choices.h"

#include <utility>

#include "app/backdrop_words.h"
#include "app/words.h"

namespace app::window {

std::optional<Choice> choice_of(const Session& session, const Action& action) {
    // Said anew when the language changes.
    const auto choice = [](bool changes, std::function<std::string()> says, Action back) {
        return changes ? std::optional(Choice{std::move(says), std::move(back)}) : std::nullopt;
    };
    // To walk from room to room changes nothing that would have to be taken back.
    if (const auto* to = std::get_if<ChooseSeason>(&action))
        return choice(
            to->season != session.season, [season = to->season] { return spoken(words::done_season, season); },
            ChooseSeason{session.season});
    if (const auto* to = std::get_if<ChooseLimit>(&action))
        return choice(
            to->limit != session.limit,
            [&session, limit = to->limit] { return spoken(words::done_limit, limit_in_words(session, limit)); },
            ChooseLimit{session.limit});
    if (const auto* to = std::get_if<ChooseField>(&action))
        return choice(
            to->field != session.field,
            [field = to->field] {
                return field.empty() ? std::string(spoken(words::done_no_field)) : spoken(words::done_field, field);
            },
            ChooseField{session.field});
    if (const auto* to = std::get_if<ShowLayer>(&action))
        return choice(
            to->layer != session.layer,
            [layer = to->layer] {
                return spoken(words::done_layer, layer == drawing::MapShows::exceedance ? spoken(words::show_exceedance)
                                                                                        : spoken(words::show_content));
            },
            ShowLayer{session.layer});
    if (const auto* behind = std::get_if<BehindTheMap>(&action)) {
        if (const auto* to = std::get_if<ShowBackdrop>(&behind->step))
            return choice(
                to->shown != session.backdrop.shown,
                [shown = to->shown] {
                    return shown ? spoken(words::done_behind_shown) : spoken(words::done_behind_hidden);
                },
                BehindTheMap{ShowBackdrop{session.backdrop.shown}});
        if (const auto* to = std::get_if<ChooseBackdrop>(&behind->step))
            return choice(
                to->file != session.backdrop.file, [] { return spoken(words::done_behind_chosen); },
                BehindTheMap{ChooseBackdrop{session.backdrop.file}});
        return std::nullopt;
    }
    if (const auto* to = std::get_if<ChooseTheme>(&action))
        return choice(
            to->theme != session.theme, [theme = to->theme] { return spoken(words::done_theme, name_of_theme(theme)); },
            ChooseTheme{session.theme});
    if (const auto* to = std::get_if<ChooseUnit>(&action))
        return choice(
            to->unit != session.unit, [unit = to->unit] { return spoken(words::done_unit, drawing::name_of(unit)); },
            ChooseUnit{session.unit});
    if (const auto* to = std::get_if<ChooseScale>(&action))
        return choice(
            to->text_scale != session.text_scale, [] { return spoken(words::done_scale); },
            ChooseScale{session.text_scale});
    if (const auto* to = std::get_if<ChooseLanguage>(&action)) {
        return choice(
            to->language != session.language,
            [language = to->language] { return spoken(words::done_language, name_of_language(language)); },
            ChooseLanguage{session.language});
    }
    return std::nullopt;
}

}  // namespace app::window
