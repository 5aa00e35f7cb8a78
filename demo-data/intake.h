#pragma once

#include <optional>
#include <string>
#include <vector>

#include "demo-data/strips.h"
#include "demo-data/truth.h"

namespace demo {

struct LoadPartRow {
    std::size_t crop = 0;  ///< index into the crop rows
    double share = 1.0;
};

/// A row of loads.csv with its parts, and what it truly holds.
struct LoadRow {
    std::string load, ticket, supplier, truck, commodity, status, contract, keep_apart;
    models::Stamp time;
    double gross_t = 0.0, tare_t = 0.0, net_t = 0.0, moisture_pct = 0.0, dockage_pct = 0.0;
    std::vector<LoadPartRow> parts;  ///< none: bought grain
    double content_mg_per_kg = 0.0;
};

/// Grain of one load, or of the old stock, in a bin.
struct Heap {
    std::string from;
    double mass_t = 0.0;
    double mg_per_kg = 0.0;  ///< the truth
};

struct BinRow {
    std::string bin, purpose, limit_id, keep_apart, draw_off;
    double capacity_t = 0.0;
    double opening_mass_t = 0.0;
    std::optional<double> opening_mean_mg_per_kg, opening_sd_mg_per_kg;
    std::vector<Heap> heaps;  ///< lowest first, on the evening of the scenario
    double mass_t() const;
    double mean_mg_per_kg() const;  ///< the truth, all that lies there mixed; 0 where nothing does
};

struct MoveRow {
    std::string move, from, to, kind, advised_bin, person, reason;
    models::Stamp time;
    double mass_t = 0.0;
};

struct Intake {
    std::vector<LoadRow> loads;  ///< by time
    std::vector<BinRow> bins;
    std::vector<MoveRow> moves;  ///< by time
};

/// Limits that ship with the program, by which most bins are sold.
constexpr const char* law_limit_wheat = "eu-food-wheat";
constexpr const char* law_limit_durum = "eu-food-durum";
/// Those of two invented buyers.
constexpr const char* mill_limit = "quelmeth-mill-2026";
constexpr const char* feed_limit = "ilketh-feed-2026";
constexpr double mill_limit_mg_per_kg = 0.75, feed_limit_mg_per_kg = 1.4;

/// The intake of 2026 up to the evening of 16 July: loads off the combine (a wagon may hold the end of one field and
/// the beginning of the next) and bought ones, what was read of them, what the operators did with them and where one of
/// them went wrong. Marks crops whose last load has come as delivered.
Intake run_the_intake(std::vector<CropRow>& crops, const Landscape& landscape, const std::vector<CropTruth>& truths,
                      Bench& bench);

}  // namespace demo
