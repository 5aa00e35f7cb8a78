#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/next_stage.h"
#include "geo/import.h"
#include "models/calendar.h"

namespace app {

/// What somebody decided of a load that waits: it goes into a bin, or it is turned away. The command line
/// (`bins --next LOAD --record BIN`) and the window write it by the same rows.
struct LoadDecision {
    std::string load;
    std::string bin;               ///< "out": it is turned away
    std::string operator_name;     ///< who decided; empty: not said
    std::string reason;            ///< why it goes elsewhere than advised
    std::string move;              ///< name of the move; empty: the one after the last
    std::optional<double> mass_t;  ///< so much of the load; none: all of it
    bool happened = false;         ///< it lies there already, whatever the rules say
    models::Stamp when;
};

/// One change of the store: the move with the advice, and the load's state with it.
struct DecisionRows {
    std::string move, advised;
    double mass_t = 0.0;
    models::LoadStatus status = models::LoadStatus::dumped;
    std::vector<geo::RowToWrite> rows;
    /// What records alone do not show: it goes into a bin that by all that is known it is not cleared for, though no
    /// result of its own speaks against it. A sentence without its full stop; empty: nothing of the kind.
    std::string caution;
};

/// @throws models::Error  it breaks a hard rule and has not happened; it has and no reason is given; unknown bin; a
///   mass that is none
DecisionRows rows_of_decision(const SeasonData& data, const NextLoad& next, const LoadDecision& decision);

/// The choice of that name; null where there is no such bin.
const BinChoice* choice_named(const NextLoad& next, const std::string& bin);

/// Tonnes with as many decimals as they have, three at most: "24.5".
std::string mass_text(double mass_t);

}  // namespace app
