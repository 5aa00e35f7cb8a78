#pragma once

#include <string>

#include "models/records.h"

namespace models {

/// The life of a load, as far as somebody wrote it and as its samples, results and moves tell. A load arrives, is
/// probed, awaits a decision, is directed to a bin and dumped there, or is turned away.
///   arrived     nothing is taken of it yet
///   probed      a sample is taken, nothing is read
///   awaiting    a result is there and nobody has said where it goes
///   directed    somebody has
///   dumped      it lies in a bin, or went out from one
///   turned_away it left without being dumped
struct LoadFacts {
    LoadStatus written = LoadStatus::arrived;
    bool sampled = false;     ///< a sample of it is recorded
    bool has_result = false;  ///< a valid result of one
    bool in_bins = false;     ///< by the moves some of it was dumped
    bool sent_away = false;   ///< by the moves it left as it came
};
struct LoadState {
    LoadStatus status = LoadStatus::arrived;
    bool derived = false;  ///< what was written lags behind
    std::string odd = {};  ///< what was written and what happened do not go together; a sentence without its full stop
};
/// What moved is where the moves say, whatever is written. What waits is as far as what is written or what was done
/// with it, whichever is further; only a person directs.
LoadState state_of_load(const LoadFacts& facts);

/// Whether a load of one state may be in the other next. What waits goes forward, or from directed back to awaiting or
/// probed (it is tested again before it is dumped), or is turned away. What is dumped or gone stays so: if that was a
/// slip, its move is corrected or withdrawn. The same state again is no step.
bool may_follow(LoadStatus before, LoadStatus after);
/// Why not, with what may follow; empty where it may.
std::string why_not_followed(LoadStatus before, LoadStatus after);

std::string in_words(LoadStatus status);  ///< "arrived", "turned away"

}  // namespace models
