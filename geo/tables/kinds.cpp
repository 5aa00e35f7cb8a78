#include <algorithm>
#include <utility>

#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "models/error.h"

namespace geo::tables {

namespace {

/// Tells a column in one line: text("sample").key().says("...").
struct Told {
    Column column;
    Told says(std::string meaning) const {
        Told told = *this;
        told.column.meaning = std::move(meaning);
        return told;
    }
    Told needed(Need need) const {
        Told told = *this;
        told.column.need = need;
        return told;
    }
    Told key() const { return needed(Need::key); }
    Told key_or_empty() const { return needed(Need::key_or_empty); }
    Told required() const { return needed(Need::required); }
    Told between(double least, double most) const {
        Told told = *this;
        told.column.least = least;
        told.column.most = most;
        return told;
    }
    Told from_zero() const { return between(0.0, std::numeric_limits<double>::infinity()); }
    Told percent() const { return between(0.0, 100.0); }
    Told only(Place place) const {
        Told told = *this;
        told.column.place = place;
        return told;
    }
    Told refers(std::string kind) const {
        Told told = *this;
        told.column.refers = std::move(kind);
        return told;
    }
    Told or_word(std::string no_name) const {
        Told told = *this;
        told.column.words.push_back(std::move(no_name));
        return told;
    }
};

Told of_type(Type type, std::string name) {
    Told told;
    told.column.name = std::move(name);
    told.column.type = type;
    return told;
}
Told text(std::string name) {
    return of_type(Type::text, std::move(name));
}
Told number(std::string name) {
    return of_type(Type::number, std::move(name));
}
Told whole(std::string name) {
    return of_type(Type::whole, std::move(name));
}
Told day(std::string name) {
    return of_type(Type::day, std::move(name));
}
Told stamp(std::string name) {
    return of_type(Type::stamp, std::move(name));
}
Told yes_no(std::string name) {
    return of_type(Type::yes_no, std::move(name));
}
Told elevation() {
    return number("elevation_m").between(-450, 6000).only(Place::note);  // the Dead Sea; higher than wheat grows
}
Told word(std::string name, std::vector<std::string> words) {
    Told told = of_type(Type::word, std::move(name));
    told.column.words = std::move(words);
    return told;
}

Kind kind(std::string name, std::string table, std::string sentence, const std::vector<Told>& columns,
          bool importable = true) {
    Kind made{std::move(name), std::move(table), std::move(sentence), {}, "", importable};
    for (const Told& told : columns) made.columns.push_back(told.column);
    return made;
}

using models::Basis;
using models::Crop;

Kind fields() {
    return kind("fields", "field_outline", "an outline of a field, or of a part of it with a crop record of its own",
                {text("field").key().says("the field's name or number, as everyone calls it"),
                 text("part").key_or_empty().says("a part of the field; empty: the whole field"),
                 text("name").says("a longer name"), text("grower").says("who grows it"),
                 elevation().says("of its ground above the sea, m; weather is carried to it"),
                 text("outline_sha256").only(Place::store).required().says("SHA-256 of the outline's WKB")});
}

Kind crops() {
    return kind("crops", "crop_record", "what grew in one season on a field or a part of it",
                {text("field").key().refers("fields").says("a field that has an outline"),
                 text("part").key_or_empty().says("a part of it; empty: the whole field"),
                 whole("season").key().between(1900, 2200).says("the year of harvest"),
                 word("crop", words::of<Crop>()).required().says("what grew"),
                 word("wheat_type", words::of<models::WheatType>()).says("sown in autumn or in spring"),
                 text("cultivar").says("name of the variety"),
                 word("resistance", words::of<models::Resistance>())
                     .says("to head blight: very susceptible ... moderately resistant"),
                 text("previous_crop").says("the crop before"),
                 text("before_previous_crop").says("the crop before that"),
                 word("residue", words::of<models::Residue>()).says("of the previous crop on the surface"),
                 word("tillage", {"plough", "reduced", "none"}).says("before sowing"),
                 yes_no("irrigated").says("around flowering"),
                 day("sowing_date").says("day of sowing"),
                 day("heading_date").says("day of heading"),
                 day("flowering_date").says("day of half flowering"),
                 day("flowering_start").says("first day of flowering"),
                 day("flowering_end").says("last day of flowering"),
                 word("flowering_source", words::of<models::FloweringSource>()).says("how the flowering date is known"),
                 yes_no("spray_active").says("a spray against head blight was made"),
                 day("spray_date").says("day of that spray"),
                 word("status", words::of<models::FieldStatus>()).says("where the crop is"),
                 day("expected_cut_date").says("when it will be cut"),
                 number("yield_t_per_ha").between(0, 30).says("yield")});
}

Kind scouting() {
    return kind("scouting", "scouting", "disease seen by eye in a field on one day",
                {text("field").key().refers("fields").says("a field that has an outline"),
                 day("date").key().says("day of the visit"), text("growth_stage").says("of the crop"),
                 whole("heads").from_zero().says("heads looked at"),
                 number("incidence_pct").percent().says("heads with disease"),
                 number("severity_pct").percent().says("spikelets with disease, over all heads"),
                 number("damaged_kernels_pct").percent().says("damaged kernels in threshed grain")});
}

Kind stations() {
    return kind(
        "stations", "station", "a weather station; those whose weather table has coordinates come with it",
        {text("station").key().says("its name"), number("longitude_deg").required().between(-180, 180).says("WGS 84"),
         number("latitude_deg").required().between(-90, 90).says("WGS 84"),
         elevation().says("above the sea, m; weather is carried from it")});
}

Kind weather() {
    return kind(
        "weather", "", "one hour at one station; the stamp is the beginning of the hour",
        {text("station").key().says("its name"),
         number("longitude_deg").required().between(-180, 180).says("may be left out for a known station"),
         number("latitude_deg").required().between(-90, 90).says("of the station, WGS 84"),
         elevation().says("of the station above the sea, m"),
         stamp("time").key().says("beginning of the hour; a table may have date and utc_offset_h beside it"),
         number("temperature_degc").required().between(-60, 55).says("of the air; empty: not measured"),
         number("relative_humidity_pct").between(0, 100).says("needed unless dew_point_degc is there"),
         number("dew_point_degc").between(-80, 50).says("needed unless relative_humidity_pct is there"),
         number("rain_mm").between(0, 500).says("in that hour; empty: not measured, which is not the same as 0")});
}

Kind weather_blocks() {
    return kind("weather-blocks", "weather_block", "the hours of one station in one month, as bytes",
                {text("station").key(), text("month").key().says("2026-06"), whole("hours").required().from_zero(),
                 text("content_sha256").required().says("SHA-256 of the bytes")},
                false);
}

Kind samples() {
    return kind(
        "samples", "sample", "grain taken: at a point, as a composite over a field, from a load or a bin",
        {text("sample").key().says("its name or bar code; of a control the control's name"),
         word("stage", words::of<models::Stage>()).required().says("what was sampled"),
         word("kind", words::of<models::SampleKind>()).required().says("one place, or handfuls put together"),
         text("field").refers("fields").says("a field that has an outline"), text("part").says("a part of it"),
         text("load").refers("loads").says("the load it was probed from"),
         text("bin").refers("bins").says("the bin it was probed from"),
         number("longitude_deg").between(-180, 180).says("where, WGS 84"),
         number("latitude_deg").between(-90, 90).says("where, WGS 84"), stamp("taken_time").says("when"),
         text("taken_by").says("by whom"), text("parent").refers("samples").says("the sample it was split from"),
         whole("increments").between(1, 10000).says("handfuls put together"),
         number("mass_g").from_zero().says("grain taken"),
         number("moisture_pct").percent().says("of the grain, wet basis"), text("seal").says("number of the seal"),
         word("chosen_because", words::of<models::ChosenBecause>())
             .says("why this field or load was tested; results taken because a field looked bad are treated as such")});
}

Kind strips() {
    return kind("strips", "strip",
                "a strip that was started; it runs until a test bears its name (lodicule add STORE test)",
                {text("strip").key().says("its name, which its test bears"),
                 text("sample").required().refers("samples").says("the sample it is run on"),
                 stamp("started").required().says("when it was put into its extract"),
                 text("kit_lot").says("number of the kit lot"), text("commodity").says("what grain"),
                 number("lot_dilution").between(1, 1000).says("which of the kit lot's, where it has several"),
                 text("operator").says("who started it")});
}

Kind tests() {
    return kind(
        "tests", "test", "one reading of a sample, by strip or by a laboratory",
        {text("test").key().says("its name or number"),
         stamp("time").required().says("of the reading"),
         text("sample").required().refers("samples").says("the sample that was read"),
         text("don")
             .only(Place::file)
             .says("a number, <0.2 below the range, >6 above it; may be empty in a void test, and "
                   "where test_signal says it by the kit lot's curve"),
         text("unit").only(Place::file).says("of don: mg/kg, ppm, ug/kg or ppb"),
         word("reading", words::of<models::Reading>())
             .only(Place::store)
             .required()
             .says("a value, below or above the range, or void"),
         number("don_mg_per_kg").only(Place::store).from_zero().says("the value, or the bound it lies below or above"),
         number("test_signal").from_zero().says("of the test line, where the reader gives it"),
         number("control_signal").from_zero().says("of the control line"),
         word("method", words::of<models::Method>()).says("empty: strip"),
         text("commodity").says("what grain"),
         text("kit_lot").says("number of the kit lot"),
         number("extra_dilution").between(1, 1000).says("1 or empty: none; 5: one part of extract in five"),
         number("lot_dilution").between(1, 1000).only(Place::note).says("which of the kit lot's, where it has several"),
         text("grind").says("how fine it was ground"),
         text("extract").says("what it was extracted with"),
         number("portion_g").from_zero().says("ground grain extracted"),
         word("basis", words::of<Basis>()).says("empty: as is"),
         number("standard_uncertainty_mg_per_kg").from_zero().says("of the method, where it is stated"),
         number("loq_mg_per_kg").from_zero().says("smallest content the method quantifies"),
         number("recovery_pct").between(0, 300).says("of the method"),
         yes_no("recovery_corrected").says("the value is corrected for it"),
         number("incubation_s").from_zero().says("of the strip"),
         number("temperature_degc").between(-20, 60).says("of the strip"),
         yes_no("valid").says("empty: yes"),
         text("void_reason").says("why the test is void; needed when valid is no"),
         text("operator").says("who read it"),
         text("reader").says("with which reader"),
         text("supersedes").refers("tests").says("an earlier test that this one corrects")});
}

Kind kit_lots() {
    std::vector<Told> columns = {text("kit_lot").key().says("number of the lot"),
                                 text("commodity").key().says("what grain it is made for"),
                                 number("dilution").key().between(1, 1000).says("of the extract, 1: none"),
                                 number("low_mg_per_kg").required().from_zero().says("low end of the working range"),
                                 number("high_mg_per_kg").required().from_zero().says("high end of the working range"),
                                 day("expires").says("last day of use"),
                                 word("signal", {"test_over_control", "test"}).says("what the curve is a function of"),
                                 number("curve_a"),
                                 number("curve_b"),
                                 number("curve_c"),
                                 number("curve_d")};
    for (const char* pair : {"aa", "ab", "ac", "ad", "bb", "bc", "bd", "cc", "cd", "dd"}) {
        columns.push_back(number(std::string("covariance_") + pair).says("of the curve's parameters"));
    }
    columns.push_back(number("minimum_control_signal").from_zero().says("a test under it is void"));
    columns.push_back(number("incubation_least_s").from_zero());
    columns.push_back(number("incubation_most_s").from_zero());
    columns.push_back(number("temperature_least_degc").between(-20, 60));
    columns.push_back(number("temperature_most_degc").between(-20, 60));
    columns.push_back(number("signal_sd").from_zero().only(Place::note).says("of one strip about the curve"));
    columns.push_back(
        number("portion_g").from_zero().only(Place::note).says("ground grain that its procedure extracts"));
    columns.push_back(whole("control_every_tests")
                          .between(0, 10000)
                          .only(Place::note)
                          .says("strips of grain until a control is due again; 0: not by number"));
    columns.push_back(
        number("extract_ml_per_g").between(0.1, 1000).only(Place::note).says("extractant to a gram of it"));
    columns.push_back(number("maximum_signal")
                          .from_zero()
                          .only(Place::note)
                          .says("the reader's end: a test with a line at it is void"));
    columns.push_back(number("cut_off_mg_per_kg")
                          .from_zero()
                          .only(Place::note)
                          .says("a strip that reads this or more is suspected, by a validation (lodicule cut-off)"));
    columns.push_back(
        number("cut_off_for_mg_per_kg").from_zero().only(Place::note).says("the limit that it was validated for"));
    columns.push_back(text("cut_off_from").only(Place::note).says("where the cut-off comes from"));
    return kind("kit-lots", "kit_lot", "one lot of strips, for one grain and dilution", columns);
}

Kind calibrators() {
    return kind(
        "calibrators", "calibrator",
        "a strip of a kit lot run on material of known content; its curve is fitted to them where the lot has no "
        "parameters of one",
        {text("kit_lot").key().refers("kit-lots").says("number of the lot"), text("commodity").key().says("what grain"),
         number("dilution").key().between(1, 1000).says("of the extract, as of the lot"),
         number("content_mg_per_kg").key().from_zero().says("of the grain, by the lot's procedure"),
         whole("replicate").key().between(1, 1000).says("1, 2, ... of strips of one content"),
         number("signal").required().from_zero().says("as the lot says it: test over control, or test"),
         number("signal_sd").between(1e-12, 1e12).says("weighs the strip by 1/sd^2; for all or for none")});
}

Kind controls() {
    return kind("controls", "control_material",
                "a material of known content; its tests are those of a sample of the same name and stage control",
                {text("control").key().says("its name"),
                 number("assigned_mg_per_kg").required().from_zero().says("its content"),
                 number("standard_uncertainty_mg_per_kg").from_zero().says("of that content"),
                 number("low_mg_per_kg").from_zero().says("lowest reading to accept; empty: none is too low"),
                 number("high_mg_per_kg").from_zero().says("highest reading to accept; empty: none is too high"),
                 word("basis", words::of<Basis>()), text("commodity"), day("expires")});
}

Kind loads() {
    return kind("loads", "load", "a delivery",
                {text("load").key().says("its name or bar code"), stamp("time").says("of arrival"), text("ticket"),
                 text("supplier"), text("truck"), word("commodity", words::of<Crop>()), number("gross_t").from_zero(),
                 number("tare_t").from_zero(), number("net_t").from_zero().says("empty: gross less tare"),
                 number("moisture_pct").percent().says("wet basis"), number("dockage_pct").percent(),
                 word("status", words::of<models::LoadStatus>()).says("empty: arrived"), text("contract"),
                 text("keep_apart").says("class, organic, seed: never meets another tag in a bin"),
                 text("directed_bin").only(Place::note).says("that it was sent to, of status directed")});
}

Kind load_parts() {
    return kind(
        "load-parts", "load_part", "which field a load came from; several rows where it holds several",
        {text("load").key().refers("loads"), text("field").key_or_empty().refers("fields").says("empty: bought grain"),
         text("part").key_or_empty().says("a part of the field"), text("zone").key_or_empty().says("a zone cut apart"),
         number("share").between(0, 1).says("0 to 1 of the load; empty: 1")});
}

Kind bins() {
    return kind("bins", "bin", "a place that holds grain",
                {text("bin").key(), number("capacity_t").required().from_zero(),
                 word("purpose", words::of<models::Purpose>()).required(),
                 text("limit_id").refers("limits").says("the limit its grain is sold under"),
                 text("keep_apart").says("the only tag it takes"),
                 word("draw_off", words::of<models::DrawOff>()).says("empty: unknown"),
                 number("opening_mass_t").from_zero().says("in it when the record begins"),
                 number("opening_mean_mg_per_kg").from_zero().says("its content"),
                 number("opening_sd_mg_per_kg").from_zero().says("how sure")});
}

Kind moves() {
    return kind("moves", "move", "grain going from one place to another",
                {text("move").key(), stamp("time").required(), text("from").required().says("a load, a bin, or out"),
                 text("to").required().says("a bin, or out"), number("mass_t").required().from_zero(),
                 word("kind", words::of<models::MoveKind>()).says("empty: dumped"),
                 text("advised_bin")
                     .refers("bins")
                     .or_word("none")
                     .says("what the program had advised; none: no bin; empty: it was not asked"),
                 text("operator"), text("reason").says("why it went elsewhere")});
}

Kind limits() {
    return kind(
        "limits", "content_limit", "a limit of DON that a rule or a contract sets",
        {text("limit_id").key(), text("jurisdiction").required(), text("commodity").required(),
         word("purpose", words::of<models::Purpose>()).required(), text("stage").says("for example unprocessed"),
         number("limit_mg_per_kg").required().from_zero(), word("basis", words::of<Basis>()).required(),
         word("comparison", words::of<models::Comparison>()).says("what breaks it; empty: over"),
         number("rounding_mg_per_kg").from_zero().says("results are rounded to this step first"),
         day("from").required().says("first day it holds"), day("to").says("last day; empty: still holds"),
         word("kind", words::of<models::LimitKind>()).required(),
         word("mixing", words::of<models::Mixing>()).says("of grain over it with grain under it; empty: not_addressed"),
         text("decision_rule"), text("source").required().says("where the number stands"),
         yes_no("confirmed").says("no: the number is from memory and must be checked; empty: yes"),
         word("repeat_when", words::of<models::RepeatWhen>())
             .only(Place::note)
             .says("when grain is tested again, laid down before a test; empty: not laid down"),
         whole("repeat_most").between(0, 20).only(Place::note).says("how often beyond the first; empty: once"),
         word("repeat_of", words::of<models::RepeatOf>())
             .only(Place::note)
             .says("what is done again; empty: portion")});
}

Kind contracts() {
    return kind(
        "contracts", "contract", "a sale; one row a step of its price",
        {text("contract").key(),
         number("from_mg_per_kg").key().from_zero().says("the step begins here; 0: the contract itself"), text("buyer"),
         text("commodity").required(), number("tonnes").from_zero(), text("limit_id").refers("limits"),
         number("price_per_t"), number("price_change_per_t").says("from this content on")});
}

Kind costs() {
    return kind("costs", "cost", "what a mistake or a test costs, in the user's money: `lodicule first` uses it",
                {word("name", {"wrong_acceptance_per_t", "wrong_rejection_per_t", "test", "sample", "hour"})
                     .key()
                     .says("the first two make the gain of a test money, the others are what one more test costs"),
                 number("value").required().from_zero().says("a tonne, a test, a sample, an hour of work")});
}

Kind column_maps() {
    return kind("column-maps", "column_map", "how tables from one source are read",
                {text("name").key(), text("content").required().says("TOML")}, false);
}

Kind forecasts() {
    return kind(
        "forecasts", "forecast", "what the program said before a result was known",
        {text("forecast").key(), stamp("made_time").required(), whole("season").required(), text("field").required(),
         number("limit_mg_per_kg").required().from_zero(), number("exceedance").between(0, 1),
         number("median_mg_per_kg").from_zero(), number("low90_mg_per_kg").from_zero(),
         number("high90_mg_per_kg").from_zero(), whole("results_known").from_zero(), text("model").required()},
        false);
}

Kind work_systems() {
    return kind("work-system", "work_system", "the centre of the flat system that distances and areas are measured in",
                {text("name").key(), number("centre_longitude_deg").required().between(-180, 180),
                 number("centre_latitude_deg").required().between(-90, 90)},
                false);
}

Kind with_blob(Kind kind, std::string column) {
    kind.blob = std::move(column);
    return kind;
}

}  // namespace

const std::vector<Kind>& all_kinds() {
    static const std::vector<Kind> kinds = {
        work_systems(),
        column_maps(),
        with_blob(fields(), "outline"),
        crops(),
        scouting(),
        stations(),
        with_blob(weather_blocks(), "content"),
        weather(),
        limits(),
        contracts(),
        costs(),
        kit_lots(),
        calibrators(),
        controls(),
        loads(),
        load_parts(),
        bins(),
        samples(),
        strips(),
        tests(),
        moves(),
        forecasts(),
    };
    return kinds;
}

const Kind& kind_named(std::string_view name) {
    std::vector<std::string> names;
    for (const Kind& known : all_kinds()) {
        if (known.name == name) return known;
        if (known.importable) names.push_back(known.name);
    }
    const std::string near = models::nearest_name(name, names);
    std::string list;
    for (const std::string& known : names) list += (list.empty() ? "" : ", ") + known;
    throw models::Error("there is no kind of table called \"" + std::string(name) + "\"" +
                            (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                        "", "use one of " + list);
}

const Column* Kind::find(std::string_view column) const {
    const auto found = std::find_if(columns.begin(), columns.end(), [&](const Column& c) { return c.name == column; });
    return found == columns.end() ? nullptr : &*found;
}

std::vector<std::string> Kind::file_columns() const {
    std::vector<std::string> names;
    for (const Column& column : columns) {
        if (column.place != Place::store) names.push_back(column.name);
    }
    return names;
}

std::vector<const Column*> Kind::stored() const {
    std::vector<const Column*> found;
    for (const Column& column : columns) {
        if (column.place != Place::file && column.place != Place::note) found.push_back(&column);
    }
    return found;
}

}  // namespace geo::tables
