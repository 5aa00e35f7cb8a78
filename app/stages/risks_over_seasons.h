#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "app/stages/risk_stage.h"

namespace app {

/// A risk in the few numbers that a table of many seasons shows.
struct RiskInShort {
    std::optional<double> value, low, high;
    double coverage = 0.0;                ///< 0 to 1, of the worst term's hours
    const std::string* source = nullptr;  ///< where the hours came from, of RisksOverSeasons::sources; null: nowhere
    bool extrapolated = false, unconfirmed = false;
    bool forecast = false;     ///< some of its hours are
    bool passed_over = false;  ///< another place than the field's nearest answered
};

/// What the weather of several seasons said of every field, by one or several models, side by side.
struct RisksOverSeasons {
    RisksOverSeasons() = default;
    RisksOverSeasons(RisksOverSeasons&&) = default;
    RisksOverSeasons& operator=(RisksOverSeasons&&) = default;
    RisksOverSeasons(const RisksOverSeasons&) = delete;  // its risks point to its sources
    RisksOverSeasons& operator=(const RisksOverSeasons&) = delete;

    std::vector<int> seasons;  ///< those with crop records, ascending
    std::vector<const models::DiseaseModel*> by;
    std::vector<std::size_t> records;                        ///< indices into SeasonData::crops
    std::vector<std::optional<models::LocalDay>> flowering;  ///< a record: written down, else the most likely day
    std::vector<std::vector<RiskInShort>> risks;             ///< [model][record]
    std::set<std::string> sources;                           ///< names
    /// Why there is no number, by model and record: what would be needed, in sentences without their full stop. Empty
    /// where nobody asked.
    std::map<std::pair<std::size_t, std::size_t>, std::vector<std::string>> without;
    std::string changed_source;  ///< a sentence, where seasons or fields rest on different sources
};

/// @param first, last  seasons, both included
/// @param settings     `as_of` is a day of the last season that has records; the earlier ones are told as of the same
///                     day of their own year
/// @param reasons      records without a number are looked at once more, for why
RisksOverSeasons risks_over_seasons(const geo::Store& store, const SeasonData& data, int first, int last,
                                    const RiskSettings& settings, const std::vector<const models::DiseaseModel*>& by,
                                    bool reasons = false, const models::Progress& progress = {});

}  // namespace app
