#include "app/window/other_seasons.h"

#include <algorithm>

#include "app/drawing/content_unit.h"

namespace app::window {

namespace {

const Answer* answer_of_season(const Session& session, int season) {
    const Answer& shown = *session.answer;
    if (shown.view.season == season) return &shown;
    for (const auto& answer : session.kept)
        if (answer->view.season == season && answer->limit == shown.limit && answer->last_record == shown.last_record)
            return answer.get();
    return nullptr;
}

}  // namespace

std::optional<OtherContent> content_as_known(const Session& session, std::size_t crop, int known_up_to) {
    if (!session.answer) return std::nullopt;
    const Answer* const answer = answer_of_season(session, known_up_to);
    if (answer == nullptr) return std::nullopt;
    const SeasonView& view = answer->view;
    if (view.contamination.ranking_only() || crop >= view.contamination.field_season_of.size()) return std::nullopt;
    const auto index = view.contamination.field_season_of[crop];
    if (!index) return std::nullopt;
    return OtherContent{known_up_to, view.probed.content(*view.contamination.model, *index)};
}

std::optional<int> latest_known(const Session& session) {
    if (!session.answer) return std::nullopt;
    std::optional<int> latest;
    for (const int season : session.seasons)
        if (season > session.answer->view.season && answer_of_season(session, season) != nullptr)
            latest = std::max(latest.value_or(season), season);
    return latest;
}

bool reads_alike(const models::Content& a, const models::Content& b) {
    return drawing::content_text(a.median) == drawing::content_text(b.median) &&
           drawing::content_interval_text(a.low90, a.high90) == drawing::content_interval_text(b.low90, b.high90);
}

}  // namespace app::window
