#pragma once

#include <memory>
#include <string>

#include "app/stages/outbound_stage.h"

namespace app::window {

struct Answer;
struct Session;

/// A lot that somebody thinks of sending out. Nothing of it is recorded.
struct LotAsked {
    std::string bin;
    double lot_t = 0.0;
    bool operator==(const LotAsked&) const = default;
};

/// What a buyer's usual test would make of it, by `bins --outbound` (app/stages/outbound_stage.h): 10 handfuls, one
/// strip, a reader that reads true.
struct PitLot {
    std::shared_ptr<const Answer> from;
    LotAsked asked;
    BinSold sold;
    std::string refused;  ///< why there is no answer; empty: there is
};

/// The first lot that leaves, by the way of drawing off that is worst for it; null where nothing is known.
const models::LotOutlook* first_lot_of(const PitLot& lot);

/// Takes and begins the work that a lot asks for; true where something changed.
bool look_at_lot(Session& session);

}  // namespace app::window
