#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/bins_stage.h"
#include "app/stages/load_advice.h"
#include "models/decision/load_life.h"

namespace app {

struct QueueSettings {
    int season = 0;
    std::optional<models::Stamp> at;  ///< ages count to it; none: to the last record of grain
    double directed_h = 2.0;          ///< a load that was directed longer ago and was not moved is told
};

/// A load that waits, as somebody at the counter asks for it.
struct QueuedLoad {
    std::string load;
    std::optional<models::Stamp> since;  ///< it came; none: nobody wrote when
    std::optional<double> waits_h;
    std::optional<double> mass_t;
    models::LoadState state;
    models::LoadStatus written = models::LoadStatus::arrived;
    std::string waits_for;           ///< "a probe", "the result of G26-140", "a decision", "to be dumped in H1"
    std::string bin;                 ///< the plan's; empty: none takes it
    std::string advice;              ///< a few words: "S6: under 1 % chance over 1.0"
    std::string told;                ///< directed and not moved, or elsewhere than the plan has it now; empty: nothing
    std::string directed_bin = {};   ///< that it was sent to; empty: nobody wrote which
    std::string unread_sample = {};  ///< taken of it and without a valid result; empty: none
};

/// A result that came after its load was dumped.
struct LateResult {
    std::string load, test;
    models::Stamp read, dumped;
    std::string bin;  ///< that holds the grain now; "out" where it left
    double mass_t = 0.0;
    bool over = false;
    std::string says;  ///< what it means where the grain lies now
};

/// A bin that is closed and whose purpose is frozen: grain in it is over the limit it is meant for. It may be kept for
/// what it is once that is settled, or for a lower purpose, and never for a higher one.
struct FrozenBin {
    std::string bin;
    models::Purpose purpose = models::Purpose::food;
    std::vector<models::Purpose> may_become;
    std::string because;
    std::optional<models::Stamp> since = {};  ///< the newest of the results that closed it; none: no result did
    std::vector<std::string> causes = {};     ///< the loads that because names; empty: a probe of the bin
};

/// A move that did not follow the advice it was recorded with.
struct OtherBinUsed {
    std::string move, load, advised, to, operator_name, reason;
    models::Stamp at;
    bool put_right = false;          ///< none of the load lies there any more
    std::vector<std::string> means;  ///< for the bin, now; empty: nothing against it
};

struct QueueView {
    models::Stamp at;
    bool at_last_record = true;
    std::vector<QueuedLoad> waiting;  ///< the longest first
    StaleLoads stale;                 ///< those that wait so long that somebody should look whether they are there
    std::vector<LateResult> late;
    std::vector<FrozenBin> frozen;
    std::vector<OtherBinUsed> other_bins;
    std::vector<models::Move> gone;  ///< of the season's loads into a bin or away, the newest first
    std::vector<std::string> odd;    ///< states and moves that do not go together, sentences without their full stop
};

QueueView queue_of_season(const SeasonData& data, const BinsView& bins, const QueueSettings& settings);

/// What one load waits for and how far it is, from the records alone.
models::LoadState state_of(const SeasonData& data, const models::BinLedger& ledger, const models::Load& load);

}  // namespace app
