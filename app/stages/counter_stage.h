#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/assay/budget.h"
#include "models/decision/conclusion.h"

namespace app {

/// A test of a sample that speaks for the whole of a grain: a load, a bin, a field.
struct CounterTest {
    const models::Test* test = nullptr;
    std::size_t sample = 0;         ///< index into SeasonData::samples
    models::MeasuredResult result;  ///< on the limit's basis
    /// Why it cannot be held against the limit: its basis; empty where it can. Then it is not counted, and the grain
    /// is never below the cut-off.
    std::string why_not;
};

/// What the counter is told of one grain, by all its results.
struct GrainConclusion {
    std::string grain;               ///< "load L07", "field F01"
    std::vector<std::string> tests;  ///< by time, voids among them
    models::Conclusion conclusion;
    std::vector<std::string> doubts;  ///< controls that put results of it in doubt, sentences without their full stop
};

/// Joins what the store knows to a question at the counter: the limit's procedure of repeats (one more portion of a
/// suspected result where none is laid down), the cut-off that the kit lots were validated with for this very limit
/// (the lowest where there are several; else the end of guarded acceptance), the way the newest strip came about, and
/// what strips of one kit lot share. With strips of several kit lots what they share is taken as that of the least
/// known one. Where a strip's signals contradict the content that was reported, the higher of the two counts here: the
/// counter does not clear grain by a slip of the pen. Two results that lie further apart than once in a hundred such
/// pairs (ours, as in the map's model) cannot be taken at their word.
/// @param without_kit_lot_sd  of strips that name no kit lot
/// @throws models::Error  as models::conclude
GrainConclusion conclude_on(const SeasonData& data, const std::string& grain, const std::vector<CounterTest>& tests,
                            const models::Limit& limit, double without_kit_lot_sd);

}  // namespace app
