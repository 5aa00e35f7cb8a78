#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/calendar.h"
#include "models/geometry.h"

/// The words everyone shares: what a season consists of, as the tables have it. Plain facts; nothing here computes.
/// Units stand in the names. Texts that come from a short list of trade words (crop, resistance, status) are enums;
/// geo/store turns words into enums and back. An empty string is "not said".
namespace models {

enum class Crop { wheat, durum, barley, oats, maize, rye, triticale };
enum class WheatType { winter, spring };
enum class Resistance { very_susceptible, susceptible, moderately_susceptible, moderately_resistant };  ///< VS S MS MR
enum class Residue { none, some, heavy };
enum class FieldStatus { standing, cut, delivered };
enum class FloweringSource { observed, estimated };
enum class Stage { standing, combine, truck, bin, control };  ///< what was sampled; not the same grain
enum class SampleKind { point, composite };
enum class ChosenBecause { random, plan, risk, looked_bad, asked, unknown };
enum class Method { strip, laboratory };
enum class Basis { as_is, dry, pct12 };
enum class LoadStatus { arrived, probed, awaiting, directed, dumped, turned_away };
enum class Purpose { food, feed, hold, other };
enum class DrawOff { first_in, last_in, mixed, unknown };
enum class MoveKind { dumped, turned, withdrawn, rejected, corrected };
enum class WeatherSource {
    on_site,
    grid,
    forecast
};                                           ///< a station's own hours, a cell of a grid, a forecast of either
enum class Comparison { over, at_or_over };  ///< what breaks the limit: x > limit, or x >= limit
enum class LimitKind { maximum, guidance, advisory, contract };
enum class Mixing { forbidden, not_addressed, allowed };
/// When grain is tested again, fixed before the first strip is run. Repeats that somebody makes because he does not
/// like a result are none of these.
enum class RepeatWhen { never, suspected, always };
/// What is done again: another reading of the extract, another portion of the ground sample, another sample.
enum class RepeatOf { analysis, portion, sample };
/// A result is a number, or only known to lie below or above the range that the test can read, or is void.
enum class Reading { value, below, above, invalid };

/// An outline in the work system. `part` is empty for the whole field.
struct Field {
    std::string field, part, name, grower;
    OutlineM outline_m;
    double area_ha = 0.0;  ///< of the outline in the equal-area work system
    PointM centroid_m;
    double longitude_deg = 0.0;  ///< of the centroid, WGS 84
    double latitude_deg = 0.0;
    std::optional<double> elevation_m;  ///< above the sea
};

/// What grew in one season on a field, or on a part of it.
struct CropRecord {
    std::string field, part;
    int season = 0;
    Crop crop = Crop::wheat;
    std::optional<WheatType> wheat_type;
    std::string cultivar;
    std::optional<Resistance> resistance;
    std::string previous_crop, before_previous_crop;
    std::optional<Residue> residue;
    std::string tillage;  ///< plough, reduced, none
    std::optional<bool> irrigated;
    std::optional<LocalDay> sowing_date, heading_date, flowering_date, flowering_start, flowering_end;
    std::optional<FloweringSource> flowering_source;
    std::optional<bool> spray_active;
    std::optional<LocalDay> spray_date;
    std::optional<FieldStatus> status;
    std::optional<LocalDay> expected_cut_date;
    std::optional<double> yield_t_per_ha;
};

/// Disease seen by eye; what the disease models speak of.
struct Scouting {
    std::string field;
    LocalDay date{};
    std::optional<double> incidence_pct, severity_pct, damaged_kernels_pct;
};

struct Station {
    std::string station;
    double longitude_deg = 0.0;
    double latitude_deg = 0.0;
    PointM place_m{};                   ///< in the work system
    std::optional<double> elevation_m;  ///< above the sea
    WeatherSource source = WeatherSource::on_site;
    std::optional<std::chrono::sys_seconds> made_utc{};  ///< of a forecast: when it was made
    std::string forecast_of{};                           ///< of a forecast: the station or cell it speaks of
};

/// Grain taken: at a point, as a composite over a field, from a load or a bin.
struct Sample {
    std::string sample;
    Stage stage = Stage::standing;
    SampleKind kind = SampleKind::composite;
    std::string field, part, load, bin;
    std::optional<double> longitude_deg, latitude_deg;
    std::optional<PointM> place_m;  ///< of the position, in the work system
    std::optional<Stamp> taken_time;
    std::string taken_by, parent;
    std::optional<int> increments;
    std::optional<double> mass_g, moisture_pct;
    std::string seal;
    ChosenBecause chosen_because = ChosenBecause::unknown;
};

/// One reading of a sample.
struct Test {
    std::string test, sample;
    Stamp time;
    Reading reading = Reading::value;
    double don_mg_per_kg = 0.0;  ///< the value, or the bound it lies below or above
    Method method = Method::strip;
    std::string commodity, kit_lot;
    double extra_dilution = 1.0;
    std::string grind, extract;
    std::optional<double> portion_g;
    Basis basis = Basis::as_is;
    std::optional<double> standard_uncertainty_mg_per_kg, loq_mg_per_kg, recovery_pct;
    bool recovery_corrected = false;
    std::string void_reason;  ///< with Reading::invalid
    std::string reader, operator_name;
    std::string supersedes;  ///< an earlier test that this one corrects; that one is not listed any more
};

struct LoadPart {
    std::string field, part, zone;  ///< field empty: bought grain
    double share = 1.0;             ///< 0 to 1 of the load's mass
};

/// A delivery. No parts: bought grain of unknown fields.
struct Load {
    std::string load;
    Stamp time;
    std::string ticket, supplier, truck;
    std::optional<Crop> commodity;
    std::optional<double> gross_t, tare_t, net_t, moisture_pct, dockage_pct;
    LoadStatus status = LoadStatus::arrived;
    std::string contract, keep_apart;
    std::vector<LoadPart> parts;
};

struct Bin {
    std::string bin;
    double capacity_t = 0.0;
    Purpose purpose = Purpose::food;
    std::string limit_id, keep_apart;
    DrawOff draw_off = DrawOff::unknown;
    double opening_mass_t = 0.0;
    std::optional<double> opening_mean_mg_per_kg, opening_sd_mg_per_kg;
};

/// Grain going from one place to another: a load into a bin, a bin into a bin, a bin out.
struct Move {
    std::string move;
    Stamp time;
    std::string from, to;  ///< a load, a bin, or "out"
    double mass_t = 0.0;
    MoveKind kind = MoveKind::dumped;
    std::string advised_bin, operator_name, reason;
};

/// How often and of what grain is tested again, and that the mean of all valid results stands against the cut-off. With
/// repeats of suspected results only, grain at the limit passes a little oftener than by one reading: by at most
/// F(-1.645 sqrt 2), 1 %.
struct RepeatProcedure {
    RepeatWhen when = RepeatWhen::suspected;
    int most_repeats = 1;  ///< beyond the first valid result; void tests are made good and do not count
    RepeatOf of = RepeatOf::portion;
};

struct Limit {
    std::string limit_id, jurisdiction, commodity;
    Purpose purpose = Purpose::food;
    std::string stage;
    double limit_mg_per_kg = 0.0;
    Basis basis = Basis::as_is;
    Comparison comparison = Comparison::over;
    std::optional<double> rounding_mg_per_kg;  ///< results are rounded to this step before they are compared
    std::optional<LocalDay> from, to;          ///< the days it holds, both included; no `to`: still holds
    LimitKind kind = LimitKind::maximum;
    Mixing mixing = Mixing::not_addressed;
    std::string decision_rule, source;
    bool confirmed = true;  ///< false: the number stands here from memory and must be checked
    std::optional<RepeatProcedure> procedure = std::nullopt;  ///< of repeats under this limit, where one is laid down
};

/// A sale. Its price changes with the content of what is delivered, step by step.
struct Contract {
    std::string contract, buyer, commodity, limit_id;
    std::optional<double> tonnes, price_per_t;
    struct Step {
        double from_mg_per_kg = 0.0;
        double price_change_per_t = 0.0;  ///< against price_per_t, from here to the next step
    };
    std::vector<Step> steps;  ///< ascending
};

struct Cost {
    std::string name;
    double value = 0.0;
};

}  // namespace models
