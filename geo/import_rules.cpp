#include <algorithm>
#include <cmath>
#include <numbers>

#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "geo/tables/words.h"
#include "models/calendar.h"
#include "models/error.h"

/// Rules that look at several columns of one row, or at what the row refers to.
namespace geo::importing {

namespace {

using models::LocalDay;

std::optional<LocalDay> day_in(const Cells& cells, const char* column) {
    return models::parse_day(cells.text(column));
}

void must_follow(const Cells& cells, const char* first, const char* second, bool same_allowed) {
    const auto a = day_in(cells, first), b = day_in(cells, second);
    if (!a || !b || *a < *b || (same_allowed && *a == *b)) return;
    throw RowRefusal{second, cells.text(second) + " does not come after " + first + " " + cells.text(first),
                     "check both days"};
}

/// Great-circle distance, good enough to tell a swapped position.
double distance_km(double longitude_a, double latitude_a, double longitude_b, double latitude_b) {
    constexpr double radius_km = 6371.0;
    constexpr double rad = std::numbers::pi / 180.0;
    const double s = std::sin((latitude_b - latitude_a) * rad / 2), t = std::sin((longitude_b - longitude_a) * rad / 2);
    const double h = s * s + std::cos(latitude_a * rad) * std::cos(latitude_b * rad) * t * t;
    return 2.0 * radius_km * std::asin(std::min(1.0, std::sqrt(h)));
}

void check_crop(const Cells& cells) {
    must_follow(cells, "flowering_start", "flowering_end", true);
    must_follow(cells, "flowering_start", "flowering_date", true);
    must_follow(cells, "flowering_date", "flowering_end", true);
    must_follow(cells, "sowing_date", "heading_date", false);
    must_follow(cells, "sowing_date", "flowering_date", false);
    for (const char* before : {"heading_date", "flowering_date", "flowering_start", "flowering_end"}) {
        must_follow(cells, before, "expected_cut_date", false);
    }
    const auto season = static_cast<int>(cells.whole("season"));
    // Wheat is ripe one to three months after it flowers, so what is cut in a year came into ear from August of the
    // year before on (common practice, no source): the grain of a southern summer is cut in January.
    const LocalDay first = models::day_of(season - 1, 8, 1), last = models::day_of(season, 12, 31);
    for (const char* column : {"heading_date", "flowering_date", "flowering_start", "flowering_end"}) {
        const auto day = day_in(cells, column);
        if (!day || (first <= *day && *day <= last)) continue;
        throw RowRefusal{column,
                         std::string(column) + " " + cells.text(column) + " is of another season than " +
                             std::to_string(season) + ", whose wheat flowers between " + models::to_text(first) +
                             " and " + models::to_text(last),
                         "the season is the year of harvest; check the day and the season"};
    }
    // Wheat sown in the year before, or two years before where the harvest falls into January, is of this season.
    for (const char* column : {"sowing_date", "heading_date", "flowering_date", "flowering_start", "flowering_end",
                               "spray_date", "expected_cut_date"}) {
        const auto day = day_in(cells, column);
        if (!day) continue;
        const int year = models::year_of(*day);
        const int earliest = column == std::string_view("sowing_date") ? season - 2 : season - 1;
        if (year < earliest || year > season + (column == std::string_view("expected_cut_date") ? 1 : 0)) {
            throw RowRefusal{column, cells.text(column) + " is a day of another season than " + std::to_string(season),
                             "the season is the year of harvest; check the day and the season"};
        }
    }
}

std::string list_of(const std::vector<models::SeasonDates>& seasons) {
    std::string list;
    for (const models::SeasonDates& there : seasons) {
        const std::string year = std::to_string(there.season);
        if (list.find(year) == std::string::npos) list += (list.empty() ? "" : ", ") + year;
    }
    return list;
}

/// A moment in a field that has crop records lies in a season of one of them.
void must_lie_in_a_season(const Cells& cells, const char* column, const std::string& field, Known& known) {
    const auto stamp = models::parse_stamp(cells.text(column));
    if (field.empty() || !stamp) return;
    const auto& seasons = known.seasons_of(field);
    if (seasons.empty()) return;
    const int season = models::season_of_day(stamp->local_day(), seasons);
    const auto same = [season](const models::SeasonDates& known_season) { return known_season.season == season; };
    if (std::any_of(seasons.begin(), seasons.end(), same)) return;
    throw RowRefusal{column,
                     cells.text(column) + " lies in season " + std::to_string(season) + ", of which field " + field +
                         " has no crop record (it has " + list_of(seasons) + ")",
                     "check the year, or import the crops of that season first"};
}

/// Nothing is read before it was taken, and grain of one season says nothing of another.
void must_follow_its_sample(const std::string& column, const std::string& test, const models::Stamp& read,
                            const Known::SampleTold& sample, Known& known) {
    if (!sample.taken) return;
    if (read.utc + clocks_differ_by < sample.taken->utc) {
        throw RowRefusal{column,
                         "test " + test + " was read at " + models::to_text(read) + ", before its sample " +
                             sample.sample + " was taken at " + models::to_text(*sample.taken),
                         "check both times"};
    }
    constexpr std::chrono::days at_a_turn_of_the_year{90};  // where no flowering says which season it is; ours
    if (sample.field.empty() || read.local_day() - sample.taken->local_day() < at_a_turn_of_the_year) return;
    const auto& seasons = known.seasons_of(sample.field);
    const int of_grain = models::season_of_day(sample.taken->local_day(), seasons);
    const int of_test = models::season_of_day(read.local_day(), seasons);
    if (of_grain == of_test) return;
    throw RowRefusal{column,
                     "sample " + sample.sample + " was taken on " + models::to_text(sample.taken->local_day()) +
                         ", in season " + std::to_string(of_grain) + ", and its test " + test + " would count for " +
                         std::to_string(of_test),
                     "check both dates; a test of grain kept since another season stays out"};
}

/// A portion is taken from its sample.
void must_not_outweigh(const std::string& column, const std::string& test, double portion_g, const std::string& sample,
                       double mass_g) {
    if (portion_g <= mass_g) return;
    throw RowRefusal{column,
                     "the portion of test " + test + " weighs " + tables::number_text(portion_g) +
                         " g, and the sample " + sample + " that it was taken from " + tables::number_text(mass_g) +
                         " g",
                     "check both: portion_g is what was extracted, mass_g the whole sample, both in grams"};
}

/// Duplicates are two steps at most: a sample, and what was split from it. What is split once more would be compared
/// with the wrong one of the two.
void must_be_split_once(const Cells& cells, Known& known) {
    const std::string sample = cells.text("sample"), parent = cells.text("parent");
    if (parent.empty()) return;
    if (parent == sample) {
        throw RowRefusal{"parent", "sample " + sample + " is split from itself",
                         "name the sample that it was split from, or leave parent empty"};
    }
    if (const std::string above = known.sample_told(parent).parent; !above.empty()) {
        throw RowRefusal{"parent",
                         "sample " + sample + " was split from " + parent + ", and that from " + above +
                             ": a duplicate of a duplicate tells of neither step by itself",
                         "give " + sample + " the parent " + above + ", or make its tests further tests of " + parent};
    }
    if (const std::string below = known.split_from(sample); !below.empty()) {
        throw RowRefusal{"parent",
                         "sample " + below + " was split from " + sample + ", which would now be split from " + parent +
                             ": a duplicate of a duplicate tells of neither step by itself",
                         "give " + below + " the parent " + parent + " first, or leave parent empty here"};
    }
}

void check_sample(const Cells& cells, Known& known) {
    must_be_split_once(cells, known);
    if (cells.has("mass_g") && known.names("samples").count(cells.text("sample")) != 0) {
        const Known::PortionTold heaviest = known.heaviest_portion_of(cells.text("sample"));
        must_not_outweigh("mass_g", heaviest.test, heaviest.portion_g, cells.text("sample"), cells.number("mass_g"));
    }
    if (cells.has("longitude_deg") != cells.has("latitude_deg")) {
        throw RowRefusal{cells.has("longitude_deg") ? "latitude_deg" : "longitude_deg",
                         "a position needs both longitude and latitude", "give both or none"};
    }
    must_lie_in_a_season(cells, "taken_time", cells.text("field"), known);
    const Known::SampleTold told{cells.text("sample"), cells.text("field"),
                                 cells.text("stage"),  models::parse_stamp(cells.text("taken_time")),
                                 std::nullopt,         ""};
    if (const auto first = known.first_test_of(told.sample)) {
        must_follow_its_sample("taken_time", first->test, first->time, told, known);
    }
    if (cells.has("load") && cells.has("field")) {
        const std::set<std::string> fields = known.fields_of_load(cells.text("load"));
        if (!fields.empty() && fields.count("") == 0 && fields.count(told.field) == 0) {
            std::string list;
            for (const std::string& field : fields) list += (list.empty() ? "" : ", ") + field;
            throw RowRefusal{"field",
                             "the sample is of load " + cells.text("load") + ", which holds no grain of field " +
                                 told.field + " (it holds grain of " + list + ")",
                             "a load's sample needs no field: leave it out, or correct the load's parts"};
        }
    }
    const bool placed = cells.has("longitude_deg");
    if (cells.text("stage") != "control" && !placed && !cells.has("field") && !cells.has("load") && !cells.has("bin")) {
        throw RowRefusal{"field", "the sample comes from nowhere",
                         "give its field, its load, its bin, or longitude_deg and latitude_deg"};
    }
    if (!placed) return;
    const auto centre = known.centre();
    if (!centre) return;
    const double longitude = cells.number("longitude_deg"), latitude = cells.number("latitude_deg");
    constexpr double far_km = 1000.0;  // no store of one district is that wide
    if (distance_km(longitude, latitude, centre->longitude_deg, centre->latitude_deg) < far_km) {
        const auto joined = known.place_of(cells);
        if (!joined || !joined->fits_when_swapped) return;
        throw RowRefusal{"longitude_deg", joined->sentence, "swap longitude_deg and latitude_deg"};
    }
    const bool swapped = std::abs(longitude) <= 90.0 &&
                         distance_km(latitude, longitude, centre->longitude_deg, centre->latitude_deg) < far_km;
    const std::string place =
        "longitude " + tables::number_text(longitude) + ", latitude " + tables::number_text(latitude);
    if (swapped) {
        throw RowRefusal{"longitude_deg", place + " lies far from all fields, and among them when the two are swapped",
                         "swap longitude_deg and latitude_deg"};
    }
    throw RowRefusal{"longitude_deg", place + " lies more than 1,000 km from the fields of this store",
                     "check the position; longitude is east, latitude is north, in degrees"};
}

/// A name that moves could not tell from another.
void check_name_of_place(const tables::Kind& kind, const Cells& cells, Known& known) {
    const std::string name = cells.text(kind.columns.front().name.c_str());
    const std::string other = kind.name == "loads" ? "bins" : "loads";
    if (kind.name == "bins" && name == "none")
        throw RowRefusal{kind.columns.front().name, "\"none\" says of a move that no bin was advised, and is no name",
                         "give it another name"};
    if (name != "out" && known.names(other).count(name) == 0) return;
    throw RowRefusal{kind.columns.front().name,
                     name == "out" ? "\"out\" is where grain leaves to, and no name"
                                   : "there is a " + tables::kind_named(other).columns.front().name + " \"" + name +
                                         "\" already, and a move to it would have no meaning",
                     "give it another name"};
}

void check_test(const Cells& cells, Known& known) {
    check_signals(cells);
    const bool is_void = cells.text("reading") == "void";
    if (is_void && !cells.has("void_reason")) {
        throw RowRefusal{"void_reason", "the test is void and does not say why", "give the void_reason"};
    }
    if (!is_void && cells.has("void_reason")) {
        throw RowRefusal{"valid", "the test has a void_reason and is not void",
                         "set valid to no, or drop the void_reason"};
    }
    if (cells.has("supersedes")) {
        const std::string earlier = cells.text("supersedes"), test = cells.text("test");
        if (earlier == test) throw RowRefusal{"supersedes", "the test supersedes itself", "name the earlier test"};
        const std::string other = known.superseded_by(earlier);
        if (!other.empty() && other != test) {
            throw RowRefusal{"supersedes", "test " + earlier + " is superseded by " + other + " already",
                             "let this test supersede " + other};
        }
    }
    const Known::SampleTold& sample = known.sample_told(cells.text("sample"));
    if (cells.has("portion_g") && sample.mass_g) {
        must_not_outweigh("portion_g", cells.text("test"), cells.number("portion_g"), sample.sample, *sample.mass_g);
    }
    must_lie_in_a_season(cells, "time", sample.field, known);
    if (const auto stamp = models::parse_stamp(cells.text("time"))) {
        must_follow_its_sample("time", cells.text("test"), *stamp, sample, known);
    }
}

/// What would refuse the strip's test refuses its start, which comes before the grain is used up.
void check_strip(const Cells& cells, Known& known) {
    const Known::SampleTold& sample = known.sample_told(cells.text("sample"));
    must_lie_in_a_season(cells, "started", sample.field, known);
    const auto started = models::parse_stamp(cells.text("started"));
    if (!started || !sample.taken || started->utc + clocks_differ_by >= sample.taken->utc) return;
    throw RowRefusal{"started",
                     "strip " + cells.text("strip") + " was started at " + models::to_text(*started) +
                         ", before its sample " + sample.sample + " was taken at " + models::to_text(*sample.taken),
                     "check both times"};
}

void check_load(const Cells& cells, bool as_written) {
    constexpr double heaviest_t = 100.0;  // of what comes on a road or a rail (common practice, no source)
    for (const char* column : {"gross_t", "net_t"}) {
        if (as_written || !cells.has(column) || cells.number(column) <= heaviest_t) continue;
        throw RowRefusal{
            column, tables::number_text(cells.number(column)) + " t is more than a truck or a wagon carries (100 t)",
            "check that it is in tonnes; if it is right, say --as-written"};
    }
    if (cells.has("gross_t") && cells.has("tare_t") && cells.number("gross_t") < cells.number("tare_t")) {
        throw RowRefusal{"gross_t", "gross is less than tare", "check both weights"};
    }
}

void check_move(const Cells& cells, Known& known) {
    if (cells.text("from") == cells.text("to")) {
        throw RowRefusal{"to", "the grain goes where it came from", "check from and to"};
    }
    for (const char* column : {"from", "to"}) {
        const std::string place = cells.text(column);
        if (place == "out" || known.names("loads").count(place) != 0 || known.names("bins").count(place) != 0) continue;
        std::vector<std::string> places(known.names("bins").begin(), known.names("bins").end());
        places.insert(places.end(), known.names("loads").begin(), known.names("loads").end());
        places.emplace_back("out");
        const std::string near = models::nearest_name(place, places);
        throw RowRefusal{
            column,
            "\"" + place + "\" is no load and no bin" + (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
            "import the load or bin first, or write out"};
    }
}

void check_range(const Cells& cells, const char* low, const char* high, bool same_allowed) {
    if (!cells.has(low) || !cells.has(high)) return;
    if (cells.number(low) < cells.number(high) || (same_allowed && cells.number(low) == cells.number(high))) return;
    throw RowRefusal{high, std::string(high) + " is not above " + low, "check both"};
}

/// What is in mg/kg by its column's name and was written in ug/kg.
void check_contents(const tables::Kind& kind, const Cells& cells, bool as_written) {
    constexpr double most_mg_per_kg = 100.0;  // as of a result
    constexpr std::string_view ending = "_mg_per_kg";
    for (const tables::Column* column : kind.stored()) {
        if (as_written || !column->name.ends_with(ending) || column->name == "don_mg_per_kg") continue;
        if (!cells.has(column->name.c_str()) || cells.number(column->name.c_str()) <= most_mg_per_kg) continue;
        throw RowRefusal{column->name,
                         tables::number_text(cells.number(column->name.c_str())) +
                             " mg/kg is more DON than grain is found with (100 mg/kg)",
                         "if it was meant in ug/kg, divide it by 1000; if it is right, say --as-written"};
    }
}

/// Names of other kinds, and parts of fields.
void check_references(const tables::Kind& kind, const Cells& cells, Known& known) {
    for (const tables::Column& column : kind.columns) {
        if (column.refers.empty() || column.place == tables::Place::file) continue;
        const std::string name = cells.text(column.name.c_str());
        if (name.empty()) continue;
        if (known.has(column.refers, name)) continue;
        if (std::find(column.words.begin(), column.words.end(), name) != column.words.end()) continue;
        const auto& names = known.names(column.refers);
        const std::string near = models::nearest_name(name, {names.begin(), names.end()});
        std::string what = tables::kind_named(column.refers).columns.front().name;
        if (what == "limit_id") what = "limit";
        throw RowRefusal{column.name,
                         "there is no " + what + " \"" + name + "\" in the store" +
                             (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                         "check the name, or import " + column.refers + " first", column.refers == kind.name};
    }
    if (kind.find("part") != nullptr && kind.find("field") != nullptr && kind.name != "fields") {
        const std::string field = cells.text("field"), part = cells.text("part");
        if (part.empty()) return;
        if (field.empty()) throw RowRefusal{"part", "a part needs its field", "fill in the field"};
        if (!known.has_part(field, part)) {
            throw RowRefusal{"part", "field " + field + " has no part \"" + part + "\" in the store",
                             "check the name, or import the part's outline first"};
        }
    }
}

}  // namespace

void check_station_place(const std::string& station, double longitude_deg, double latitude_deg, Known& known) {
    if (longitude_deg == 0.0 && latitude_deg == 0.0) {
        throw RowRefusal{"longitude_deg", "longitude 0, latitude 0 lies in the sea", "write where the station stands"};
    }
    const auto centre = known.centre();
    if (!centre || std::abs(longitude_deg) > 90.0) return;
    constexpr double far_km = 1000.0, near_km = 300.0;  // as of outlines
    if (distance_km(longitude_deg, latitude_deg, centre->longitude_deg, centre->latitude_deg) <= far_km ||
        distance_km(latitude_deg, longitude_deg, centre->longitude_deg, centre->latitude_deg) >= near_km) {
        return;
    }
    throw RowRefusal{"longitude_deg",
                     "station " + station + " at longitude " + tables::number_text(longitude_deg) + ", latitude " +
                         tables::number_text(latitude_deg) +
                         " stands far from all fields, and among them when the two are swapped",
                     "swap longitude_deg and latitude_deg"};
}

void check_record(const tables::Kind& kind, Record& record, Known& known, bool as_written) {
    const Cells cells(kind, record);
    check_contents(kind, cells, as_written);
    check_references(kind, cells, known);
    if (kind.name == "crops") check_crop(cells);
    if (kind.name == "samples") check_sample(cells, known);
    if (kind.name == "strips") check_strip(cells, known);
    if (kind.name == "tests") check_test(cells, known);
    if (kind.name == "loads") check_load(cells, as_written);
    if (kind.name == "loads" || kind.name == "bins") check_name_of_place(kind, cells, known);
    if (kind.name == "stations") {
        check_station_place(cells.text("station"), cells.number("longitude_deg"), cells.number("latitude_deg"), known);
    }
    if (kind.name == "moves") check_move(cells, known);
    if (kind.name == "limits") must_follow(cells, "from", "to", true);
    if (kind.name == "kit-lots") {
        check_range(cells, "low_mg_per_kg", "high_mg_per_kg", false);
        check_range(cells, "incubation_least_s", "incubation_most_s", true);
        check_range(cells, "temperature_least_degc", "temperature_most_degc", true);
        check_kit_lot_curve(cells, known);
    }
    if (kind.name == "calibrators") check_calibrator(cells, known);
    if (kind.name == "controls") check_range(cells, "low_mg_per_kg", "high_mg_per_kg", true);
}

Known::Known(const Store& store) : store_(store), database_(store.database()) {}
Known::~Known() = default;
Known::Known(Known&&) noexcept = default;

std::optional<SampleJoin> Known::place_of(const Cells& cells) {
    if (!cells.has("longitude_deg") || !cells.has("latitude_deg")) return std::nullopt;
    if (!looked_for_outlines_) {
        looked_for_outlines_ = true;
        std::vector<models::Field> fields = store_.fields();
        if (!fields.empty()) joiner_ = std::make_unique<SampleJoiner>(std::move(fields), *store_.work_system());
    }
    if (!joiner_) return std::nullopt;
    models::Sample sample;
    sample.sample = cells.text("sample");
    sample.stage = words::meant_by<models::Stage>(cells.text("stage")).value_or(models::Stage::standing);
    sample.field = cells.text("field");
    sample.part = cells.text("part");
    sample.longitude_deg = cells.number("longitude_deg");
    sample.latitude_deg = cells.number("latitude_deg");
    return joiner_->join(sample);
}

FewNotes::~FewNotes() {
    if (count_ > told) notes_.push_back("and " + std::to_string(count_ - told) + " more " + others_);
}

const std::set<std::string>& Known::names(const std::string& kind_name) {
    const auto found = names_.find(kind_name);
    if (found != names_.end()) return found->second;
    auto& names = names_[kind_name];
    const tables::Kind& kind = tables::kind_named(kind_name);
    Statement rows(database_, "SELECT DISTINCT " + quoted(kind.columns.front().name) + " FROM " + kind.view());
    while (rows.step()) names.insert(rows.text(0));
    return names;
}

bool Known::has_part(const std::string& field, const std::string& part) {
    if (!parts_) {
        parts_.emplace();
        Statement rows(database_, "SELECT field, part FROM current_field_outline");
        while (rows.step()) parts_->emplace(rows.text(0), rows.text(1));
    }
    return parts_->count({field, part}) != 0;
}

void Known::add(const tables::Kind& kind, const Record& record) {
    if (const auto found = names_.find(kind.name); found != names_.end()) {
        if (const auto* name = std::get_if<std::string>(&record.cells.front())) found->second.insert(*name);
    }
}

const std::vector<models::SeasonDates>& Known::seasons_of(const std::string& field) {
    if (!seasons_) {
        seasons_.emplace();
        Statement rows(database_,
                       "SELECT field, season, sowing_date, heading_date, coalesce(flowering_date, flowering_start) "
                       "FROM current_crop_record ORDER BY field, season");
        while (rows.step()) {
            (*seasons_)[rows.text(0)].push_back({static_cast<int>(rows.whole(1)), models::parse_day(rows.text(2)),
                                                 models::parse_day(rows.text(3)), models::parse_day(rows.text(4))});
        }
    }
    return (*seasons_)[field];
}

void Known::expect_sample(SampleTold sample) {
    expected_ = std::move(sample);
}

bool Known::has(const std::string& kind, const std::string& name) {
    if (kind == "samples" && !expected_.sample.empty() && name == expected_.sample) return true;
    return names(kind).count(name) != 0;
}

const Known::SampleTold& Known::sample_told(const std::string& sample) {
    if (!expected_.sample.empty() && sample == expected_.sample) return expected_;
    if (told_.sample == sample) return told_;
    told_ = {};
    Statement row(database_, "SELECT field, stage, taken_time, mass_g, parent FROM current_sample WHERE sample = ?");
    row.with(sample);
    if (row.step()) {
        told_ = {sample,     row.text(0), row.text(1), models::parse_stamp(row.text(2)), row.optional_number(3),
                 row.text(4)};
    }
    return told_;
}

models::GrainThere Known::grain_there(const std::string& sample) {
    models::GrainThere grain;
    grain.sample = sample;
    std::string speaks = sample;
    // A record may have been typed in a circle; nobody splits a sample eight times.
    for (int split = 0; split < 8 && !speaks.empty(); ++split) {
        Statement row(database_, "SELECT taken_time, load, parent FROM current_sample WHERE sample = ?");
        row.with(speaks);
        if (!row.step()) break;
        if (!grain.taken) grain.taken = models::parse_stamp(row.text(0));
        if (grain.load.empty()) grain.load = row.text(1);
        speaks = row.text(2);
    }
    if (grain.taken || grain.load.empty()) return grain;
    Statement row(database_, "SELECT time FROM current_load WHERE load = ?");
    row.with(grain.load);
    if (row.step()) grain.came = models::parse_stamp(row.text(0));
    return grain;
}

Known::PortionTold Known::heaviest_portion_of(const std::string& sample) {
    Statement row(database_,
                  "SELECT test, portion_g FROM current_test WHERE sample = ? AND portion_g IS NOT NULL AND test NOT IN "
                  "(SELECT supersedes FROM current_test WHERE supersedes IS NOT NULL) "
                  "ORDER BY portion_g DESC, test LIMIT 1");
    row.with(sample);
    return row.step() ? PortionTold{row.text(0), row.number(1)} : PortionTold{};
}

std::string Known::split_from(const std::string& sample) {
    Statement row(database_, "SELECT sample FROM current_sample WHERE parent = ? ORDER BY sample LIMIT 1");
    row.with(sample);
    return row.step() ? row.text(0) : "";
}

std::optional<Known::TestTold> Known::first_test_of(const std::string& sample) {
    if (!first_tests_) {
        first_tests_.emplace();
        Statement rows(database_, "SELECT sample, test, time FROM current_test ORDER BY test");
        while (rows.step()) {
            const auto time = models::parse_stamp(rows.text(2));
            if (!time) continue;
            const TestTold told{rows.text(1), *time};
            const auto [first, is_new] = first_tests_->emplace(rows.text(0), told);
            if (!is_new && time->utc < first->second.time.utc) first->second = told;
        }
    }
    const auto found = first_tests_->find(sample);
    return found == first_tests_->end() ? std::nullopt : std::optional(found->second);
}

std::set<std::string> Known::fields_of_load(const std::string& load) {
    std::set<std::string> fields;
    Statement rows(database_, "SELECT field FROM current_load_part WHERE load = ?");
    rows.with(load);
    while (rows.step()) fields.insert(rows.text(0));
    return fields;
}

std::optional<Known::KitLotTold> Known::kit_lot_told(const std::string& kit_lot, const std::string& commodity) {
    const auto [known, is_new] = kit_lots_.emplace(std::pair{kit_lot, commodity}, std::nullopt);
    if (!is_new) return known->second;
    Statement rows(database_,
                   "SELECT count(*), min(low_mg_per_kg), max(high_mg_per_kg), max(expires) FROM current_kit_lot "
                   "WHERE kit_lot = ?1 AND (commodity = ?2 OR NOT EXISTS (SELECT 1 FROM current_kit_lot "
                   "WHERE kit_lot = ?1 AND commodity = ?2))");
    rows.with(kit_lot, commodity);
    if (rows.step() && rows.whole(0) > 0) {
        known->second = KitLotTold{rows.number(1), rows.number(2), models::parse_day(rows.text(3))};
    }
    return known->second;
}

std::optional<models::LocalDay> Known::last_day_of_control(const std::string& control) {
    Statement row(database_, "SELECT expires FROM current_control_material WHERE control = ?");
    row.with(control);
    return row.step() ? models::parse_day(row.text(0)) : std::nullopt;
}

std::string Known::superseded_by(const std::string& test) {
    Statement row(database_, "SELECT test FROM current_test WHERE supersedes = ?");
    row.with(test);
    return row.step() ? row.text(0) : "";
}

std::optional<Known::Centre> Known::centre() {
    Statement row(database_, "SELECT centre_longitude_deg, centre_latitude_deg FROM current_work_system");
    if (!row.step()) return std::nullopt;
    return Centre{row.number(0), row.number(1)};
}

}  // namespace geo::importing
