#include <array>
#include <cmath>

#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "models/assay/standard_curve.h"
#include "models/counted.h"
#include "models/error.h"

/// What refuses a kit lot, its calibrators and a strip that has nothing but its signals.
namespace geo::importing {

namespace {

constexpr std::array curve_columns = {"curve_a", "curve_b", "curve_c", "curve_d"};
constexpr std::array covariance_columns = {"covariance_aa", "covariance_ab", "covariance_ac", "covariance_ad",
                                           "covariance_bb", "covariance_bc", "covariance_bd", "covariance_cc",
                                           "covariance_cd", "covariance_dd"};

/// Whether all of these cells are there; none is no.
/// @throws RowRefusal  some are, and some are not
template <std::size_t n>
bool all_or_none(const Cells& cells, const std::array<const char*, n>& columns, const char* what) {
    const char* lacks = nullptr;
    bool any = false;
    for (const char* column : columns) {
        if (cells.has(column)) any = true;
        if (!cells.has(column) && lacks == nullptr) lacks = column;
    }
    if (any && lacks != nullptr) {
        throw RowRefusal{lacks, std::string(what) + " lacks " + lacks,
                         "give all of " + std::string(columns.front()) + " ... " + columns.back() + ", or none"};
    }
    return any;
}

/// Of a kit lot for one grain at one dilution.
struct CalibratorsTold {
    long points = 0, contents = 0;
};

CalibratorsTold calibrators_of(Database& database, const models::KitLot& lot) {
    Statement row(database,
                  "SELECT count(*), count(DISTINCT content_mg_per_kg) FROM current_calibrator "
                  "WHERE kit_lot = ? AND commodity = ? AND dilution = ?");
    row.with(lot.kit_lot, lot.commodity, lot.dilution);
    if (!row.step()) return {};
    return {static_cast<long>(row.whole(0)), static_cast<long>(row.whole(1))};
}

/// A curve that is no curve would void every strip of its lot that has only its signals.
void require_curves(Target& target, const Store& store) {
    constexpr long least = 4;
    const std::set<std::string> arrived(target.report.names.begin(), target.report.names.end());
    for (const models::KitLot& lot : store.kit_lots()) {
        if (arrived.count(lot.kit_lot) == 0 || lot.why_no_curve.empty()) continue;
        const CalibratorsTold told = calibrators_of(target.database, lot);
        if (told.points == 0 || (target.typed_by_hand ? told.contents : told.points) < least) continue;
        throw models::Error(
            lot.why_no_curve + ", and nothing went in", target.report.file,
            "check the contents and the signals, which fall as contents rise; import the calibrators of a "
            "lot together");
    }
}

bool reads_alike(const models::StripReading& one, const models::StripReading& other) {
    constexpr double last_digits = 1e-9;
    if (one.voided != other.voided || one.test.reading != other.test.reading) return false;
    return std::abs(one.test.don_mg_per_kg - other.test.don_mg_per_kg) <= last_digits * one.test.don_mg_per_kg;
}

}  // namespace

ReadingsBefore::ReadingsBefore(const Store& store) {
    for (models::StripReading& reading : store.strip_readings()) {
        if (reading.by_curve && !reading.voided) by_curve_.emplace(reading.test.test, std::move(reading));
    }
}

void ReadingsBefore::require_kept(Target& target, const Store& store) const {
    if (target.report.kind == "calibrators") require_curves(target, store);
    if (by_curve_.empty() || target.report.names.empty()) return;
    std::string first;
    long changed = 0;
    for (const models::StripReading& now : store.strip_readings()) {
        const auto before = by_curve_.find(now.test.test);
        if (before == by_curve_.end() || reads_alike(before->second, now)) continue;
        if (++changed == 1) first = models::in_words(before->second) + ", and now " + models::in_words(now);
    }
    if (changed == 0) return;
    if (changed > 1) first += "; " + models::counted(changed - 1, "more result") + " change with it";
    if (!target.options.correct_because.empty()) {
        target.report.cautions.push_back(first);
        return;
    }
    throw models::Error(first + "; nothing went in", target.report.file,
                        "if the lot's strips are to be read by the new curve, give the reason (--correct REASON)");
}

std::optional<std::string> Known::curve_told(const std::string& kit_lot, const std::string& commodity,
                                             double dilution) {
    Statement row(database_,
                  "SELECT curve_a, curve_b, curve_c, curve_d FROM current_kit_lot "
                  "WHERE kit_lot = ? AND commodity = ? AND dilution = ?");
    row.with(kit_lot, commodity, dilution);
    if (!row.step()) return std::nullopt;
    if (!row.optional_number(0)) return "";
    return models::in_words(models::StandardCurve{row.number(0), row.number(1), row.number(2), row.number(3)});
}

long Known::calibrators_told(const std::string& kit_lot, const std::string& commodity, double dilution) {
    Statement row(database_,
                  "SELECT count(*) FROM current_calibrator WHERE kit_lot = ? AND commodity = ? AND dilution = ?");
    row.with(kit_lot, commodity, dilution);
    return row.step() ? static_cast<long>(row.whole(0)) : 0;
}

void check_kit_lot_curve(const Cells& cells, Known& known) {
    const bool has_curve = all_or_none(cells, curve_columns, "the curve");
    const bool has_covariance = all_or_none(cells, covariance_columns, "the curve's covariance");
    if (!has_curve) {
        if (has_covariance) throw RowRefusal{"curve_a", "there is a covariance and no curve", "give the curve, too"};
        return;
    }
    if (!cells.has("signal")) {
        throw RowRefusal{"signal", "the curve does not say what it is a function of",
                         "write test_over_control where the control line's signal divides that of the test line, test "
                         "where it does not"};
    }
    models::StandardCurve curve{cells.number("curve_a"), cells.number("curve_b"), cells.number("curve_c"),
                                cells.number("curve_d")};
    if (has_covariance) {
        curve.covariance.emplace();
        std::size_t next = 0;
        for (int i = 0; i < 4; ++i) {
            for (int j = i; j < 4; ++j) {
                const double number = cells.number(covariance_columns[next++]);
                (*curve.covariance)(i, j) = (*curve.covariance)(j, i) = number;
            }
        }
    }
    try {
        models::check_curve(curve);
    } catch (const models::Error& error) {
        throw RowRefusal{"curve_a", error.what_happened(), error.how_to_mend()};
    }
    const std::string lot = cells.text("kit_lot");
    if (known.calibrators_told(lot, cells.text("commodity"), cells.number("dilution")) == 0) return;
    throw RowRefusal{"curve_a",
                     "kit lot " + lot + " has calibrators in the store, and here the curve " + models::in_words(curve),
                     "a curve comes as parameters or from calibrators, not both: leave out the parameters, or withdraw "
                     "the calibrators"};
}

void check_calibrator(const Cells& cells, Known& known) {
    const std::string lot = cells.text("kit_lot"), commodity = cells.text("commodity");
    const std::string which =
        "kit lot " + lot + " for " + commodity + " at a dilution of " + tables::number_text(cells.number("dilution"));
    const auto curve = known.curve_told(lot, commodity, cells.number("dilution"));
    if (!curve) throw RowRefusal{"commodity", "there is no " + which, "import the kit lot first, or check the three"};
    if (curve->empty()) return;
    throw RowRefusal{"kit_lot", which + " has the curve " + *curve + " already",
                     "a curve comes as parameters or from calibrators, not both: correct the kit lot's curve to be "
                     "empty, or leave out the calibrators"};
}

void check_signals(const Cells& cells) {
    if (cells.text("reading") != "value" || cells.has("don_mg_per_kg")) return;
    if (cells.text("method") == "laboratory") {
        throw RowRefusal{"don", "a laboratory's test has signals and no result", "give don and unit"};
    }
    if (cells.has("kit_lot")) return;
    throw RowRefusal{"kit_lot",
                     "the test has signals and no result, and names no kit lot whose curve they are read from",
                     "give the kit_lot, or don and unit"};
}

}  // namespace geo::importing
