#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>

#include <nlohmann/json.hpp>

#include "geo/outlines.h"
#include "geo/store/control_materials.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/rows.h"
#include "geo/store/store.h"
#include "geo/store/superseded_tests.h"
#include "geo/tables/cells.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "geo/weather_source_notes.h"
#include "geo/weather_table.h"
#include "models/assay/strip_reading.h"
#include "models/error.h"

namespace geo {

namespace {

/// In order of time, those of one second as they stood: thousands of records are moved once, and none where they come
/// in order already.
template <typename Record>
std::vector<Record> in_order_of_time(std::vector<Record> all) {
    const auto earlier = [](const Record& a, const Record& b) { return a.time.utc < b.time.utc; };
    if (std::is_sorted(all.begin(), all.end(), earlier)) return all;
    std::vector<std::size_t> order(all.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return earlier(all[a], all[b]); });
    std::vector<Record> ordered;
    ordered.reserve(all.size());
    for (const std::size_t i : order) ordered.push_back(std::move(all[i]));
    return ordered;
}

std::vector<models::CropRecord> crops_where(Database& database, const std::string& condition) {
    std::vector<models::CropRecord> all;
    Rows rows(database, "crops", condition);
    while (rows.next()) {
        models::CropRecord crop;
        crop.field = rows.text("field");
        crop.part = rows.text("part");
        crop.season = rows.whole("season");
        crop.crop = rows.word("crop", models::Crop::wheat);
        crop.wheat_type = rows.some_word<models::WheatType>("wheat_type");
        crop.cultivar = rows.text("cultivar");
        crop.resistance = rows.some_word<models::Resistance>("resistance");
        crop.previous_crop = rows.text("previous_crop");
        crop.before_previous_crop = rows.text("before_previous_crop");
        crop.residue = rows.some_word<models::Residue>("residue");
        crop.tillage = rows.text("tillage");
        crop.irrigated = rows.yes_no("irrigated");
        crop.sowing_date = rows.day("sowing_date");
        crop.heading_date = rows.day("heading_date");
        crop.flowering_date = rows.day("flowering_date");
        crop.flowering_start = rows.day("flowering_start");
        crop.flowering_end = rows.day("flowering_end");
        crop.flowering_source = rows.some_word<models::FloweringSource>("flowering_source");
        crop.spray_active = rows.yes_no("spray_active");
        crop.spray_date = rows.day("spray_date");
        crop.status = rows.some_word<models::FieldStatus>("status");
        crop.expected_cut_date = rows.day("expected_cut_date");
        crop.yield_t_per_ha = rows.some_number("yield_t_per_ha");
        all.push_back(std::move(crop));
    }
    return all;
}

std::string text_of(std::chrono::year_month month) {
    return models::to_text(std::chrono::local_days{month / std::chrono::day{1}}).substr(0, 7);
}

std::chrono::year_month month_of(models::LocalDay day) {
    const std::chrono::year_month_day date{day};
    return date.year() / date.month();
}

}  // namespace

std::optional<WorkSystem> Store::work_system() const {
    Rows rows(*database_, "work-system");
    if (!rows.next()) return std::nullopt;
    return WorkSystem(rows.number("centre_longitude_deg"), rows.number("centre_latitude_deg"));
}

std::vector<int> Store::seasons() const {
    std::vector<int> seasons;
    Statement rows(*database_, "SELECT DISTINCT season FROM current_crop_record ORDER BY season");
    while (rows.step()) seasons.push_back(static_cast<int>(rows.whole(0)));
    return seasons;
}

std::vector<models::Field> Store::fields() const {
    std::vector<models::Field> all;
    const auto work = work_system();
    if (!work) return all;
    Rows rows(*database_, "fields");
    while (rows.next()) {
        OutlineRead outline;
        outline.field = rows.text("field");
        outline.part = rows.text("part");
        outline.name = rows.text("name");
        outline.grower = rows.text("grower");
        const std::string wkb = rows.bytes();
        outline.outline_deg = from_wkb({reinterpret_cast<const unsigned char*>(wkb.data()), wkb.size()});
        all.push_back(to_field(outline, *work));
        all.back().elevation_m = rows.noted_number("elevation_m");
    }
    return all;
}

std::vector<models::CropRecord> Store::crops() const {
    return crops_where(*database_, "");
}
std::vector<models::CropRecord> Store::crops(int season) const {
    return crops_where(*database_, "season = " + std::to_string(season));
}

std::vector<models::Scouting> Store::scouting() const {
    std::vector<models::Scouting> all;
    Rows rows(*database_, "scouting");
    while (rows.next()) {
        all.push_back({rows.text("field"), rows.day("date").value_or(models::LocalDay{}),
                       rows.some_number("incidence_pct"), rows.some_number("severity_pct"),
                       rows.some_number("damaged_kernels_pct")});
    }
    return all;
}

namespace {

std::vector<models::Station> stations_where(Database& database, const std::optional<WorkSystem>& work, bool forecast) {
    std::vector<models::Station> all;
    Rows rows(database, "stations");
    while (rows.next()) {
        models::Station station;
        station.station = rows.text("station");
        station.longitude_deg = rows.number("longitude_deg");
        station.latitude_deg = rows.number("latitude_deg");
        station.elevation_m = rows.noted_number("elevation_m");
        put_source_of_notes(rows.notes(), station);
        if ((station.source == models::WeatherSource::forecast) != forecast) continue;
        if (work) station.place_m = work->from_degrees(station.longitude_deg, station.latitude_deg);
        all.push_back(std::move(station));
    }
    return all;
}

}  // namespace

std::vector<models::Station> Store::stations() const {
    return stations_where(*database_, work_system(), false);
}
std::vector<models::Station> Store::forecasts() const {
    return stations_where(*database_, work_system(), true);
}

std::set<std::string> Store::with_hours(models::LocalDay from, models::LocalDay to) const {
    std::set<std::string> names;
    // The names first, from the index alone: one block that counts is enough, and blocks lie far apart.
    Statement months(*database_,
                     "SELECT station FROM (SELECT DISTINCT station FROM weather_block) AS named "
                     "WHERE EXISTS (SELECT 1 FROM current_weather_block AS block "
                     "WHERE block.station = named.station AND block.month BETWEEN ? AND ?)");
    months.with(text_of(month_of(from)), text_of(month_of(to)));
    while (months.step()) names.insert(months.text(0));
    return names;
}

models::HourlySeries Store::weather(const std::string& station, models::LocalDay from, models::LocalDay to) const {
    if (!weather_query_) {
        weather_query_ = std::make_unique<Statement>(
            *database_,
            "SELECT content FROM current_weather_block WHERE station = ? AND month BETWEEN ? AND ? ORDER BY month");
    }
    // A local day may lie up to 14 hours beside the same day of UTC.
    weather_query_->with(station, text_of(month_of(from - std::chrono::days(1))),
                         text_of(month_of(to + std::chrono::days(1))));
    std::vector<std::string> blocks;
    while (weather_query_->step()) blocks.push_back(weather_query_->bytes(0));
    weather_query_->reset();
    std::vector<models::HourlySeries> months;
    for (const std::string& bytes : blocks) {
        months.push_back(unpack_block({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()}));
    }
    models::HourlySeries hours = hours_between(months, from, to);
    hours.station = station;
    return hours;
}

std::vector<models::Sample> Store::samples() const {
    std::vector<models::Sample> all;
    const auto work = work_system();
    Rows rows(*database_, "samples");
    while (rows.next()) {
        models::Sample sample;
        sample.sample = rows.text("sample");
        sample.stage = rows.word("stage", models::Stage::standing);
        sample.kind = rows.word("kind", models::SampleKind::composite);
        sample.field = rows.text("field");
        sample.part = rows.text("part");
        sample.load = rows.text("load");
        sample.bin = rows.text("bin");
        sample.longitude_deg = rows.some_number("longitude_deg");
        sample.latitude_deg = rows.some_number("latitude_deg");
        if (work && sample.longitude_deg && sample.latitude_deg) {
            sample.place_m = work->from_degrees(*sample.longitude_deg, *sample.latitude_deg);
        }
        sample.taken_time = rows.stamp("taken_time");
        sample.taken_by = rows.text("taken_by");
        sample.parent = rows.text("parent");
        if (const auto increments = rows.some_whole("increments")) sample.increments = static_cast<int>(*increments);
        sample.mass_g = rows.some_number("mass_g");
        sample.moisture_pct = rows.some_number("moisture_pct");
        sample.seal = rows.text("seal");
        sample.chosen_because = rows.word("chosen_because", models::ChosenBecause::unknown);
        all.push_back(std::move(sample));
    }
    return all;
}

namespace {

std::vector<models::RecordedTest> tests_where(Database& database, const std::string& condition) {
    std::vector<models::RecordedTest> all;
    Rows rows(database, "tests", condition);
    while (rows.next()) {
        models::RecordedTest recorded;
        models::Test& test = recorded.test;
        test.test = rows.text("test");
        test.sample = rows.text("sample");
        test.time = rows.stamp("time").value_or(models::Stamp{});
        test.reading = rows.word("reading", models::Reading::invalid);
        const auto reported = rows.some_number("don_mg_per_kg");
        test.don_mg_per_kg = reported.value_or(0.0);
        recorded.only_signals = !reported && test.reading == models::Reading::value;
        recorded.test_signal = rows.some_number("test_signal");
        recorded.control_signal = rows.some_number("control_signal");
        test.method = rows.word("method", models::Method::strip);
        test.commodity = rows.text("commodity");
        test.kit_lot = rows.text("kit_lot");
        test.extra_dilution = rows.number("extra_dilution", 1.0);
        test.grind = rows.text("grind");
        test.extract = rows.text("extract");
        test.portion_g = rows.some_number("portion_g");
        test.basis = rows.word("basis", models::Basis::as_is);
        test.standard_uncertainty_mg_per_kg = rows.some_number("standard_uncertainty_mg_per_kg");
        test.loq_mg_per_kg = rows.some_number("loq_mg_per_kg");
        test.recovery_pct = rows.some_number("recovery_pct");
        test.recovery_corrected = rows.yes_no("recovery_corrected").value_or(false);
        recorded.incubation_s = rows.some_number("incubation_s");
        recorded.temperature_degc = rows.some_number("temperature_degc");
        test.void_reason = rows.text("void_reason");
        test.reader = rows.text("reader");
        test.operator_name = rows.text("operator");
        test.supersedes = rows.text("supersedes");
        recorded.dilution = rows.noted_number("lot_dilution");
        all.push_back(std::move(recorded));
    }
    return all;
}

constexpr const char* names_of_superseded = "(SELECT supersedes FROM current_test WHERE supersedes IS NOT NULL)";

std::vector<models::StripReading> readings_where(const Store& store, const std::string& condition) {
    const std::vector<models::KitLot> lots = store.kit_lots();
    std::vector<models::StripReading> all;
    for (const models::RecordedTest& recorded : tests_where(store.database(), condition))
        all.push_back(models::read_strip(recorded, lots));
    return all;
}

std::vector<models::Test> tests_of(std::vector<models::StripReading> readings) {
    std::vector<models::Test> tests;
    tests.reserve(readings.size());
    for (models::StripReading& reading : readings) tests.push_back(std::move(reading.test));
    return tests;
}

/// The parameters of a kit lot's row with their covariance; nullopt where it has none.
std::optional<models::StandardCurve> curve_of_row(const Rows& rows) {
    const auto a = rows.some_number("curve_a"), b = rows.some_number("curve_b"), c = rows.some_number("curve_c"),
               d = rows.some_number("curve_d");
    if (!a || !b || !c || !d) return std::nullopt;
    models::StandardCurve curve{*a, *b, *c, *d};
    Eigen::Matrix4d covariance = Eigen::Matrix4d::Zero();
    bool whole = true;
    constexpr const char* letters = "abcd";
    for (int i = 0; i < 4; ++i) {
        for (int j = i; j < 4; ++j) {
            const auto number = rows.some_number((std::string("covariance_") + letters[i] + letters[j]).c_str());
            whole = whole && number;
            covariance(i, j) = covariance(j, i) = number.value_or(0.0);
        }
    }
    if (whole) curve.covariance = covariance;
    return curve;
}

using KeyOfKitLot = std::tuple<std::string, std::string, double>;

std::map<KeyOfKitLot, std::vector<models::Calibrator>> calibrators_by_lot(Database& database) {
    std::map<KeyOfKitLot, std::vector<models::Calibrator>> all;
    Rows rows(database, "calibrators");
    while (rows.next()) {
        all[{rows.text("kit_lot"), rows.text("commodity"), rows.number("dilution")}].push_back(
            {rows.number("content_mg_per_kg"), rows.number("signal"), rows.some_number("signal_sd")});
    }
    return all;
}

/// The curve of a lot, checked or fitted; where it cannot be used, why.
void give_curve(models::KitLot& lot, const std::vector<models::Calibrator>& calibrators) {
    try {
        if (lot.curve) {
            models::check_curve(*lot.curve);
        } else if (!calibrators.empty()) {
            const models::CurveFit fit = models::fit_curve(calibrators);
            if (fit.settled) {
                models::check_curve(fit.curve);
                lot.curve = fit.curve;
                lot.curve_cautions = fit.cautions;
            } else {
                lot.why_no_curve = "kit lot " + lot.kit_lot + ": " + fit.message;
            }
        }
        if (lot.curve && lot.signal_sd) lot.curve->signal_sd = lot.signal_sd;
    } catch (const models::Error& error) {
        lot.curve.reset();
        lot.why_no_curve = "kit lot " + lot.kit_lot + ": " + error.what_happened();
    }
}

}  // namespace

std::vector<models::Test> Store::tests() const {
    return tests_of(strip_readings());
}

std::vector<models::StripReading> Store::strip_readings() const {
    return readings_where(*this, std::string("test NOT IN ") + names_of_superseded);
}

std::vector<models::KitLot> Store::kit_lots() const {
    const auto calibrators = calibrators_by_lot(*database_);
    std::vector<models::KitLot> all;
    Rows rows(*database_, "kit-lots");
    while (rows.next()) {
        models::KitLot lot;
        lot.kit_lot = rows.text("kit_lot");
        lot.commodity = rows.text("commodity");
        lot.dilution = rows.number("dilution");
        lot.range = {rows.number("low_mg_per_kg"), rows.number("high_mg_per_kg")};
        lot.expires = rows.day("expires");
        lot.signal = rows.text("signal") == "test" ? models::SignalKind::test : models::SignalKind::test_over_control;
        lot.curve = curve_of_row(rows);
        lot.minimum_control_signal = rows.some_number("minimum_control_signal");
        lot.incubation_least_s = rows.some_number("incubation_least_s");
        lot.incubation_most_s = rows.some_number("incubation_most_s");
        lot.temperature_least_degc = rows.some_number("temperature_least_degc");
        lot.temperature_most_degc = rows.some_number("temperature_most_degc");
        lot.signal_sd = rows.noted_number("signal_sd");
        lot.portion_g = rows.noted_number("portion_g");
        lot.extract_ml_per_g = rows.noted_number("extract_ml_per_g");
        lot.maximum_signal = rows.noted_number("maximum_signal");
        const auto cut_off = rows.noted_number("cut_off_mg_per_kg"),
                   target = rows.noted_number("cut_off_for_mg_per_kg");
        if (cut_off && target) lot.cut_off = models::KitLotCutoff{*cut_off, *target, rows.noted_text("cut_off_from")};
        const auto own = calibrators.find({lot.kit_lot, lot.commodity, lot.dilution});
        give_curve(lot, own == calibrators.end() ? std::vector<models::Calibrator>{} : own->second);
        all.push_back(std::move(lot));
    }
    return all;
}

std::vector<models::Test> superseded_tests(const Store& store) {
    return tests_of(readings_where(store, std::string("test IN ") + names_of_superseded));
}

std::vector<models::ControlMaterial> control_materials(const Store& store) {
    std::vector<models::ControlMaterial> all;
    Rows rows(store.database(), "controls");
    while (rows.next()) {
        all.push_back({rows.text("control"), rows.number("assigned_mg_per_kg"), rows.some_number("low_mg_per_kg"),
                       rows.some_number("high_mg_per_kg"), rows.some_word<models::Basis>("basis"),
                       rows.some_number("standard_uncertainty_mg_per_kg")});
    }
    return all;
}

std::vector<models::Load> Store::loads() const {
    std::map<std::string, std::vector<models::LoadPart>> parts;
    Rows part_rows(*database_, "load-parts");
    while (part_rows.next()) {
        parts[part_rows.text("load")].push_back(
            {part_rows.text("field"), part_rows.text("part"), part_rows.text("zone"), part_rows.number("share", 1.0)});
    }
    std::vector<models::Load> all;
    Rows rows(*database_, "loads");
    while (rows.next()) {
        models::Load load;
        load.load = rows.text("load");
        load.time = rows.stamp("time").value_or(models::Stamp{});
        load.ticket = rows.text("ticket");
        load.supplier = rows.text("supplier");
        load.truck = rows.text("truck");
        load.commodity = rows.some_word<models::Crop>("commodity");
        load.gross_t = rows.some_number("gross_t");
        load.tare_t = rows.some_number("tare_t");
        load.net_t = rows.some_number("net_t");
        if (!load.net_t && load.gross_t && load.tare_t) load.net_t = *load.gross_t - *load.tare_t;
        load.moisture_pct = rows.some_number("moisture_pct");
        load.dockage_pct = rows.some_number("dockage_pct");
        load.status = rows.word("status", models::LoadStatus::arrived);
        load.contract = rows.text("contract");
        load.keep_apart = rows.text("keep_apart");
        load.parts = std::move(parts[load.load]);
        all.push_back(std::move(load));
    }
    return in_order_of_time(std::move(all));
}

std::vector<models::Bin> Store::bins() const {
    std::vector<models::Bin> all;
    Rows rows(*database_, "bins");
    while (rows.next()) {
        models::Bin bin;
        bin.bin = rows.text("bin");
        bin.capacity_t = rows.number("capacity_t");
        bin.purpose = rows.word("purpose", models::Purpose::other);
        bin.limit_id = rows.text("limit_id");
        bin.keep_apart = rows.text("keep_apart");
        bin.draw_off = rows.word("draw_off", models::DrawOff::unknown);
        bin.opening_mass_t = rows.number("opening_mass_t", 0.0);
        bin.opening_mean_mg_per_kg = rows.some_number("opening_mean_mg_per_kg");
        bin.opening_sd_mg_per_kg = rows.some_number("opening_sd_mg_per_kg");
        all.push_back(std::move(bin));
    }
    return all;
}

std::vector<models::Move> Store::moves() const {
    std::vector<models::Move> all;
    Rows rows(*database_, "moves");
    while (rows.next()) {
        models::Move move;
        move.move = rows.text("move");
        move.time = rows.stamp("time").value_or(models::Stamp{});
        move.from = rows.text("from");
        move.to = rows.text("to");
        move.mass_t = rows.number("mass_t");
        move.kind = rows.word("kind", models::MoveKind::dumped);
        move.advised_bin = rows.text("advised_bin");
        move.operator_name = rows.text("operator");
        move.reason = rows.text("reason");
        all.push_back(std::move(move));
    }
    return in_order_of_time(std::move(all));
}

std::vector<models::Limit> Store::limits() const {
    std::vector<models::Limit> all;
    Rows rows(*database_, "limits");
    while (rows.next()) {
        models::Limit limit;
        limit.limit_id = rows.text("limit_id");
        limit.jurisdiction = rows.text("jurisdiction");
        limit.commodity = rows.text("commodity");
        limit.purpose = rows.word("purpose", models::Purpose::other);
        limit.stage = rows.text("stage");
        limit.limit_mg_per_kg = rows.number("limit_mg_per_kg");
        limit.basis = rows.word("basis", models::Basis::as_is);
        limit.comparison = rows.word("comparison", models::Comparison::over);
        limit.rounding_mg_per_kg = rows.some_number("rounding_mg_per_kg");
        limit.from = rows.day("from");
        limit.to = rows.day("to");
        limit.kind = rows.word("kind", models::LimitKind::maximum);
        limit.mixing = rows.word("mixing", models::Mixing::not_addressed);
        limit.decision_rule = rows.text("decision_rule");
        limit.source = rows.text("source");
        limit.confirmed = rows.yes_no("confirmed").value_or(true);
        if (const auto when = words::meant_by<models::RepeatWhen>(rows.noted_text("repeat_when"))) {
            models::RepeatProcedure procedure;
            procedure.when = *when;
            procedure.most_repeats = static_cast<int>(rows.noted_number("repeat_most").value_or(1.0));
            procedure.of = words::meant_by<models::RepeatOf>(rows.noted_text("repeat_of")).value_or(procedure.of);
            limit.procedure = procedure;
        }
        all.push_back(std::move(limit));
    }
    return all;
}

std::string in_words(const Withdrawal& withdrawal) {
    return tables::kind_named(withdrawal.kind).columns.front().name + " " + withdrawal.name + " was withdrawn by " +
           withdrawal.actor + " at " + withdrawal.utc + ": " + withdrawal.reason;
}

std::vector<Withdrawal> Store::withdrawals() const {
    std::vector<std::pair<std::int64_t, Withdrawal>> found;
    for (const tables::Kind& kind : tables::all_kinds()) {
        if (kind.table.empty()) continue;
        std::string same, keys;
        const auto columns = kind.stored();
        for (const tables::Column* column : columns) {
            if (!column->is_key()) continue;
            same += " AND later." + quoted(column->name) + " = given." + quoted(column->name);
            keys += ", given." + quoted(column->name);
        }
        Statement rows(*database_, "SELECT event.sequence, event.utc, event.actor, event.payload" + keys + " FROM " +
                                       kind.table + " AS given JOIN event ON event.sequence = given.event " +
                                       "WHERE given.withdrawn = 1 AND NOT EXISTS (SELECT 1 FROM " + kind.table +
                                       " AS later WHERE later.version > given.version" + same + ")");
        while (rows.step()) {
            Withdrawal withdrawal{kind.name, "", "", rows.text(2), rows.text(1)};
            const auto payload = nlohmann::json::parse(rows.text(3), nullptr, false);
            if (payload.is_object()) withdrawal.reason = payload.value("reason", "");
            int place = 4;
            for (const tables::Column* column : columns) {
                if (!column->is_key()) continue;
                const std::string part = tables::cell_text(*column, rows.value(place++));
                if (!part.empty()) withdrawal.name += (withdrawal.name.empty() ? "" : ", ") + part;
            }
            found.emplace_back(rows.whole(0), std::move(withdrawal));
        }
    }
    std::sort(found.begin(), found.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<Withdrawal> all;
    for (auto& [sequence, withdrawal] : found) all.push_back(std::move(withdrawal));
    return all;
}

std::vector<models::Contract> Store::contracts() const {
    std::map<std::string, models::Contract> by_name;
    Rows rows(*database_, "contracts");
    while (rows.next()) {
        models::Contract& contract = by_name[rows.text("contract")];
        contract.contract = rows.text("contract");
        // What is said of the whole stands in the row from 0; a step that says it too says it again.
        const double from = rows.number("from_mg_per_kg", 0.0);
        const auto whole = [from](auto& kept, auto said, bool has) {
            if (has && (from == 0.0 || kept == decltype(said){})) kept = std::move(said);
        };
        whole(contract.buyer, rows.text("buyer"), !rows.text("buyer").empty());
        whole(contract.commodity, rows.text("commodity"), !rows.text("commodity").empty());
        whole(contract.limit_id, rows.text("limit_id"), !rows.text("limit_id").empty());
        const auto tonnes = rows.some_number("tonnes"), price = rows.some_number("price_per_t");
        if (tonnes && (from == 0.0 || !contract.tonnes)) contract.tonnes = tonnes;
        if (price && (from == 0.0 || !contract.price_per_t)) contract.price_per_t = price;
        contract.steps.push_back({from, rows.some_number("price_change_per_t").value_or(0.0)});
    }
    std::vector<models::Contract> all;
    for (auto& [name, contract] : by_name) {
        std::sort(contract.steps.begin(), contract.steps.end(),
                  [](const auto& a, const auto& b) { return a.from_mg_per_kg < b.from_mg_per_kg; });
        all.push_back(std::move(contract));
    }
    return all;
}

std::vector<models::Cost> Store::costs() const {
    std::vector<models::Cost> all;
    Rows rows(*database_, "costs");
    while (rows.next()) all.push_back({rows.text("name"), rows.number("value")});
    return all;
}

}  // namespace geo
