#pragma once

#include <chrono>
#include <cstddef>
#include <vector>

#include "models/decision/bin_content.h"

namespace models {

/// A bin at a time of the past: what a probe was taken of.
struct BinAtTime {
    std::size_t bin = 0;  ///< in the order of the table
    std::chrono::sys_seconds utc{};
};

/// What lay in bins at times of the past, by the moves up to then, those of that very second included: for all probes
/// of a season in one pass over its moves. It is what ledger_of_possible_moves of the moves up to then says of the bin.
/// @returns one a question, in their order
/// @throws Error  as ledger_of_possible_moves
std::vector<BinContent> contents_at(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                                    const std::vector<Move>& moves, const std::vector<BinAtTime>& asked);

}  // namespace models
