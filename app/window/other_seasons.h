#pragma once

#include <optional>

#include "app/window/session.h"

namespace app::window {

/// A content of a field and season as another season's answer has it: a fit knows the results up to the end of its
/// season, so the same field may read a little otherwise in two of them.
struct OtherContent {
    int known_up_to = 0;
    models::Content content;
};
/// The content of a crop record by all results up to a season that was worked out for the same limit and store; none:
/// that season is not worked out (yet), or knows nothing of the field.
/// @param crop  index into SeasonData::crops of the answer
std::optional<OtherContent> content_as_known(const Session& session, std::size_t crop, int known_up_to);
/// The newest season of the store that has an answer later than the shown one; none: there is none.
std::optional<int> latest_known(const Session& session);
/// Whether both read alike in the digits that are shown.
bool reads_alike(const models::Content& a, const models::Content& b);

}  // namespace app::window
