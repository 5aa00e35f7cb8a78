#pragma once

#include "app/window/session.h"

namespace app::window {

/// What the room of past seasons shows: what was foretold against what was found, and the years of the chosen field.
/// Each is worked out beside the window, once for a limit and the records of the store.

/// Begins what the room shows and the session does not know yet; nothing while another room is open.
void look_back(Session& session);
/// Takes what was worked out; true where something came, or could not be worked out.
bool collect_past_seasons(Session& session);

}  // namespace app::window
