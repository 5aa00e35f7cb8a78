#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "app/workflow.h"

namespace app::commands {

/// "2007-2026", or one season.
/// @throws models::Error  neither, or the last before the first
SeasonRange season_range(const std::string& text);

/// Disease risk of many seasons, kept as the few numbers that a table of them shows.
class RisksOverSeasons {
 public:
    void add(const SeasonData& data, const RisksByModels& risks);
    /// For each model fields in rows and seasons in columns.
    void print_tables() const;
    /// {seasons, models, fields:[{field, seasons:[{season, flowering_date, risks:[{model, value, low, high, ...}]}]}],
    /// notes}
    void print_json() const;

 private:
    struct Cell {
        std::optional<double> value, low, high;
        double coverage = 0.0;
        bool extrapolated = false, unconfirmed = false;
        std::uint32_t station = 0;  ///< of stations_
    };
    struct OfSeason {
        std::optional<models::LocalDay> flowering;
        std::vector<Cell> by_model;
    };
    void print_table(std::size_t model) const;
    std::string note_of_sources() const;
    std::uint32_t number_of(const std::string& station);

    std::vector<const models::DiseaseModel*> by_;
    std::vector<int> seasons_;
    std::map<std::string, std::map<int, OfSeason>> grounds_;  ///< by name
    std::map<std::string, std::uint32_t> station_numbers_;
    std::vector<std::string> stations_ = {""};
    std::vector<models::SourceOfSeason> sources_;
};

}  // namespace app::commands
