#include "geo/import.h"

#include "geo/store/database.h"
#include "tests/geo/store_fixture.h"
#include "tests/support/shared_data.h"

namespace store_tests {

using Catch::Matchers::Contains;
using geo::ImportOptions;

namespace {

const std::string sample_header = "sample,stage,kind,field\n";
const std::string test_header = "test,time,sample,don,unit\n";

struct FarmWithSamples : Farm {
    FarmWithSamples() {
        import_text("samples", sample_header + "S1,standing,composite,Fen\nS2,standing,composite,Mill Piece\n");
    }
};

std::string refused_test(Farm& farm, const std::string& cells) {
    return farm.refusal("tests", test_header + cells + "\n");
}

}  // namespace

TEST_CASE("a table that is none is refused as a whole and one without a row says so") {
    Farm farm;
    CHECK_THAT(farm.refusal("samples", ""), Contains("samples.csv: the file is empty (0 bytes)"));
    CHECK_THAT(farm.refusal("samples", "\n\n"), Contains("the file is empty"));
    const auto nothing = farm.import_text("samples", sample_header);
    CHECK(nothing.rows == 0);
    CHECK(nothing.notes == std::vector<std::string>{"there is a header and no row under it"});
    CHECK_THAT(farm.refusal("weather", ""), Contains("the file is empty"));
    CHECK(farm.import_text("weather", "station,longitude_deg,latitude_deg,time,temperature_degc,dew_point_degc\n")
              .notes.front() == "there is a header and no row under it");
    CHECK_THAT(refusal_of([&] { geo::import_file(farm.store, "samples", farm.folder / "none.csv"); }),
               Contains("there is no such file"));
    CHECK_THAT(refusal_of([&] { geo::import_file(farm.store, "samples", farm.folder.path()); }),
               Contains("this is a folder"));
    CHECK_THAT(refusal_of([&] { geo::import_file(farm.store, "sampels", farm.folder / "none.csv"); }),
               Contains("no kind of table called \"sampels\"; did you mean \"samples\"?"));
}

TEST_CASE("a required column that is missing is named with what comes near") {
    Farm farm;
    CHECK_THAT(
        farm.refusal("samples", "smaple,stage,kind\nS1,standing,composite\n"),
        Contains("the required column sample is missing; \"smaple\" comes near") && Contains("call \"smaple\" sample"));
    CHECK_THAT(farm.refusal("tests", "test,time,sample,don\nT1,2025-07-20T10:00:00+02:00,S1,1\n"),
               Contains("the required column unit is missing"));
    CHECK_THAT(farm.refusal("weather", "station,longitude_deg,latitude_deg,time,temperature\nHill,9,56,x,1\n"),
               Contains("temperature_degc"));
}

TEST_CASE("unknown columns are kept as notes and come out again") {
    Farm farm;
    const auto report = farm.import_text("samples",
                                         "sample,stage,kind,field,chosen_becuase,colour\n"
                                         "S1,standing,composite,Fen,risk,\"pale, pink\"\n");
    CHECK(report.added == 1);
    REQUIRE(report.notes.size() == 2);
    CHECK_THAT(report.notes[0], Contains("\"chosen_becuase\" is kept as a note; did you mean \"chosen_because\"?"));
    CHECK(farm.store.database().text("SELECT notes FROM current_sample") ==
          R"({"chosen_becuase":"risk","colour":"pale, pink"})");
}

TEST_CASE("a DON cell is a number or lies below or above the range and everything else is refused in words") {
    FarmWithSamples farm;
    const std::string when = "2025-07-20T10:00:00+02:00";
    CHECK(farm.import_text("tests", test_header + "T1," + when + ",S1,0.42,mg/kg\nT2," + when + ",S1,<0.2,ppm\nT3," +
                                        when + ",S1,>6,ppm\nT4," + when + ",S1,420,ug/kg\nT5," + when +
                                        ",S1,< 200,ppb\n")
              .added == 5);
    const auto tests = farm.store.tests();
    REQUIRE(tests.size() == 5);
    CHECK((tests[0].reading == models::Reading::value && tests[0].don_mg_per_kg == 0.42));
    CHECK((tests[1].reading == models::Reading::below && tests[1].don_mg_per_kg == 0.2));
    CHECK((tests[2].reading == models::Reading::above && tests[2].don_mg_per_kg == 6.0));
    CHECK((tests[3].reading == models::Reading::value && tests[3].don_mg_per_kg == 0.42));
    CHECK((tests[4].reading == models::Reading::below && tests[4].don_mg_per_kg == 0.2));

    const auto refused = [&](const std::string& don, const std::string& unit) {
        return refused_test(farm, "T9," + when + ",S1," + don + "," + unit);
    };
    CHECK_THAT(refused("\"1,25\"", "mg/kg"), Contains("tests.csv, row 2, column don: \"1,25\" has a decimal comma") &&
                                                 Contains("write 1.25") && Contains("decimal = \",\""));
    CHECK_THAT(refused("1,25", "mg/kg"), Contains("the row has 6 cells where the first row has 5"));
    CHECK_THAT(refused("0.4", "mg/g"),
               Contains("column unit: \"mg/g\" is no known unit of DON") && Contains("mg/kg, ppm, ug/kg or ppb"));
    CHECK_THAT(refused("0.4", ""), Contains("column unit: the unit is missing"));
    CHECK_THAT(refused("-0.3", "mg/kg"), Contains("-0.3 is negative, and a content never is"));
    CHECK_THAT(refused("NaN", "mg/kg"), Contains("\"NaN\" is no number"));
    CHECK_THAT(refused("inf", "mg/kg"), Contains("\"inf\" is no number"));
    CHECK_THAT(refused("<", "mg/kg"), Contains("\"<\" has no number"));
    CHECK_THAT(refused("n.d.", "mg/kg"), Contains("\"n.d.\" is no number"));
    CHECK_THAT(refused("", "mg/kg"), Contains("there is no result"));
    CHECK_THAT(refused("1e999", "mg/kg"), Contains("too big"));
    CHECK(farm.store.tests().size() == 5);
}

TEST_CASE("a void test says why and needs no result") {
    FarmWithSamples farm;
    const std::string header = "test,time,sample,don,unit,valid,void_reason\n";
    const std::string row = "T1,2025-07-20T10:00:00+02:00,S1,,,no,";
    CHECK_THAT(farm.refusal("tests", header + row + "\n"), Contains("the test is void and does not say why"));
    CHECK(farm.import_text("tests", header + row + "no control line\n").added == 1);
    REQUIRE(farm.store.tests().size() == 1);
    CHECK(farm.store.tests()[0].reading == models::Reading::invalid);
    CHECK(farm.store.tests()[0].void_reason == "no control line");
}

TEST_CASE("the same file twice adds nothing and other content under a known name is refused") {
    FarmWithSamples farm;
    const std::string rows = test_header + "T1,2025-07-20T10:00:00+02:00,S1,0.42,mg/kg\n";
    CHECK(farm.import_text("tests", rows).added == 1);
    const auto events = farm.store.database().whole("SELECT count(*) FROM event");
    const auto again = farm.import_text("tests", rows);
    CHECK(again.added == 0);
    CHECK(again.unchanged == 1);
    CHECK(farm.store.database().whole("SELECT count(*) FROM event") == events);
    CHECK_THAT(refused_test(farm, "T1,2025-07-20T10:00:00+02:00,S1,0.52,mg/kg"),
               Contains("test T1 is there already, with other content: don_mg_per_kg is 0.42 there, here 0.52") &&
                   Contains("--correct REASON"));
    const auto outlines = geo::import_file(farm.store, "fields", farm.folder / "outlines.geojson");
    CHECK((outlines.added == 0 && outlines.unchanged == 4));
}

TEST_CASE("a correction is a new version with its reason and the old one stays") {
    FarmWithSamples farm;
    farm.import_text("tests", test_header + "T1,2025-07-20T10:00:00+02:00,S1,0.42,mg/kg\n");
    ImportOptions options;
    options.correct_because = "typed wrong";
    options.actor = "Ada Holt";
    const auto report =
        farm.import_text("tests", test_header + "T1,2025-07-20T10:00:00+02:00,S1,0.24,mg/kg\n", options);
    CHECK((report.corrected == 1 && report.added == 0));
    REQUIRE(farm.store.tests().size() == 1);
    CHECK(farm.store.tests()[0].don_mg_per_kg == 0.24);
    auto& database = farm.store.database();
    CHECK(database.whole("SELECT count(*) FROM test WHERE test = 'T1'") == 2);
    CHECK(database.text("SELECT actor FROM event JOIN test ON test.event = event.sequence WHERE version = 2") ==
          "Ada Holt");
    CHECK(database.text("SELECT payload ->> 'reason' FROM event JOIN test ON test.event = event.sequence "
                        "WHERE version = 2") == "typed wrong");
    SECTION("but two rows of one file that contradict each other correct nothing") {
        const auto both = farm.import_text("tests",
                                           test_header +
                                               "T1,2025-07-20T10:00:00+02:00,S1,0.3,mg/kg\n"
                                               "T1,2025-07-20T10:00:00+02:00,S1,0.4,mg/kg\n",
                                           options);
        CHECK(both.corrected == 1);
        REQUIRE(both.refused.size() == 1);
        CHECK_THAT(geo::to_text(both.refused[0]), Contains("row 3") && Contains("test T1 comes twice in this file"));
    }
}

TEST_CASE("a test that supersedes another takes its place") {
    FarmWithSamples farm;
    farm.import_text("tests", test_header + "T1,2025-07-20T10:00:00+02:00,S1,0.42,mg/kg\n");
    const std::string header = "test,time,sample,don,unit,supersedes\n",
                      time = ",2025-07-20T11:00:00+02:00,S1,0.6,mg/kg,";
    CHECK(farm.import_text("tests", header + "T2" + time + "T1\n").added == 1);
    REQUIRE(farm.store.tests().size() == 1);
    CHECK(farm.store.tests()[0].test == "T2");
    CHECK_THAT(farm.refusal("tests", header + "T3" + time + "T1\n"), Contains("test T1 is superseded by T2 already"));
    CHECK_THAT(farm.refusal("tests", header + "T3" + time + "T3\n"), Contains("T3"));
    CHECK_THAT(farm.refusal("tests", header + "T3" + time + "T77\n"),
               Contains("there is no test \"T77\" in the store"));
}

TEST_CASE("a name that is not there is refused with the nearest one") {
    FarmWithSamples farm;
    CHECK_THAT(
        farm.refusal("samples", sample_header + "S9,standing,composite,Mill Peice\n"),
        Contains("row 2, column field: there is no field \"Mill Peice\" in the store; did you mean \"Mill Piece\"?"));
    CHECK_THAT(refused_test(farm, "T1,2025-07-20T10:00:00+02:00,S17,0.4,mg/kg"),
               Contains("there is no sample \"S17\""));
    CHECK_THAT(farm.refusal("crops", "field,part,season,crop\nMill Piece,south,2025,wheat\n"),
               Contains("field Mill Piece has no part \"south\""));
    CHECK_THAT(farm.refusal("crops", "field,season,crop\nFen,2024,weat\n"),
               Contains("\"weat\" is no known word; did you mean \"wheat\"?") && Contains("durum, barley"));
    CHECK_THAT(farm.refusal("moves", "move,time,from,to,mass_t\nM1,2025-08-01T10:00:00+02:00,L1,out,3\n"),
               Contains("\"L1\" is no load and no bin"));
}

TEST_CASE("a day of another season is refused") {
    FarmWithSamples farm;
    CHECK_THAT(refused_test(farm, "T1,2052-07-20T10:00:00+02:00,S1,0.4,mg/kg"),
               Contains("lies in season 2052, of which field Fen has no crop record (it has 2025)"));
    CHECK_THAT(farm.refusal("crops", "field,season,crop,flowering_date\nFen,2023,wheat,2032-06-10\n"),
               Contains("2032-06-10 is of another season than 2023"));
    CHECK_THAT(
        farm.refusal("crops", "field,season,crop,flowering_date,sowing_date\nFen,2023,wheat,2023-06-10,2023-06-11\n"),
        Contains("does not come after sowing_date 2023-06-11"));
    // flowering 14 June 2025 and 299 days later, in the year after: still of the harvest of 2025
    CHECK(farm.import_text("tests", test_header + "T1,2026-04-08T10:00:00+02:00,S1,0.4,mg/kg\n").added == 1);
    CHECK_THAT(refused_test(farm, "T2,2026-04-10T10:00:00+02:00,S1,0.4,mg/kg"), Contains("lies in season 2026"));
}

TEST_CASE("times need their offset and days must be of the calendar") {
    FarmWithSamples farm;
    CHECK_THAT(refused_test(farm, "T1,2025-07-20T10:00:00,S1,0.4,mg/kg"),
               Contains("does not say which clock it was read on") && Contains("2025-07-20T10:00:00+02:00"));
    CHECK_THAT(refused_test(farm, "T1,20/07/2025 10:00,S1,0.4,mg/kg"), Contains("\"20/07/2025 10:00\" is no time"));
    CHECK_THAT(farm.refusal("crops", "field,season,crop,flowering_date\nFen,2024,wheat,2024-06-31\n"),
               Contains("\"2024-06-31\" is no day of the calendar"));
}

TEST_CASE("positions with longitude and latitude swapped are refused as such") {
    Farm farm;
    const std::string header = "sample,stage,kind,longitude_deg,latitude_deg\n";
    CHECK(farm.import_text("samples", header + "S1,standing,point,9.545,56.004\n").added == 1);
    CHECK_THAT(farm.refusal("samples", header + "S2,standing,point,56.004,9.545\n"),
               Contains("among them when the two are swapped") && Contains("swap longitude_deg and latitude_deg"));
    CHECK_THAT(farm.refusal("samples", header + "S2,standing,point,-97,38\n"), Contains("more than 1,000 km"));
    CHECK_THAT(farm.refusal("samples", header + "S2,standing,point,9.5,\n"),
               Contains("a position needs both longitude and latitude"));
    CHECK_THAT(farm.refusal("samples", header + "S2,standing,point,9.5,156\n"),
               Contains("156 is out of range") && Contains("between -90 and 90"));
    CHECK_THAT(farm.refusal("samples", "sample,stage,kind\nS2,standing,point\n"),
               Contains("the sample comes from nowhere"));
}

TEST_CASE("good rows go in beside bad ones and strict refuses all") {
    Farm farm;
    const std::string rows =
        sample_header + "S1,standing,composite,Fen\nS2,standing,composite,Nowhere\nS3,combine,composite,Fen\n";
    ImportOptions strict;
    strict.strict = true;
    const auto events = farm.store.database().whole("SELECT count(*) FROM event");
    CHECK_THAT(refusal_of([&] { farm.import_text("samples", rows, strict); }),
               Contains("1 of 3 rows refused") && Contains("row 3, column field"));
    CHECK(farm.store.samples().empty());
    CHECK(farm.store.database().whole("SELECT count(*) FROM event") == events);
    const auto report = farm.import_text("samples", rows);
    CHECK((report.rows == 3 && report.added == 2));
    REQUIRE(report.refused.size() == 1);
    CHECK(report.refused[0].row == 3);
}

TEST_CASE("a tests table with the columns of samples makes the samples") {
    Farm farm;
    const std::string header = "test,time,sample,don,unit,stage,kind,field,moisture_pct\n";
    const auto report =
        farm.import_text("tests", header +
                                      "T1,2025-07-20T10:00:00+02:00,S1,0.4,mg/kg,standing,composite,Fen,14.2\n"
                                      "T2,2025-07-20T10:20:00+02:00,S1,0.5,mg/kg,standing,composite,Fen,14.2\n"
                                      "T3,2025-07-20T10:30:00+02:00,S2,0.5,mg/kg,standing,composite,Moor,14.2\n"
                                      "T4,2025-07-20T10:30:00+02:00,S3,x,mg/kg,standing,composite,Fen,14.2\n");
    CHECK(report.added == 2);
    CHECK(report.refused.size() == 2);
    REQUIRE(farm.store.samples().size() == 1);
    CHECK(farm.store.samples()[0].moisture_pct == 14.2);
    CHECK(farm.store.tests().size() == 2);
}

TEST_CASE("letters that are no UTF-8 are refused with their row") {
    Farm farm;
    CHECK_THAT(farm.refusal("samples", sample_header + "S1,standing,composite,Fen\nS\xfc"
                                                       "2,standing,composite,Fen\n"),
               Contains("samples.csv, row 3: a letter that is no UTF-8"));
    CHECK_THAT(farm.refusal("samples", std::string("\xff\xfe"
                                                   "s\0a\0",
                                                   6)),
               Contains("the file is UTF-16"));
    CHECK_THAT(farm.refusal("samples", std::string("s\0a\0m\0", 6)), Contains("UTF-16 or no text at all"));
    CHECK(farm.import_text("samples", "\xef\xbb\xbf" + sample_header +
                                          "S\xc3\xbc"
                                          "1,standing,composite,Fen\r\n")
              .added == 1);
    CHECK(farm.store.samples()[0].sample ==
          "S\xc3\xbc"
          "1");
}

TEST_CASE("broken quotes and twin columns are refused") {
    Farm farm;
    CHECK_THAT(farm.refusal("samples", sample_header + "\"S1,standing,composite,Fen\n"),
               Contains("row 2: a quote is opened and never closed"));
    CHECK_THAT(farm.refusal("samples", sample_header + "\"S1\"x,standing,composite,Fen\n"),
               Contains("letters follow a closing quote"));
    CHECK_THAT(farm.refusal("samples", "sample,stage,stage\nS1,a,b\n"), Contains("two columns are called \"stage\""));
    CHECK(farm.import_text("samples", sample_header + "\"S \"\"1\"\"\nb\",standing,composite,Fen").added == 1);
    CHECK(farm.store.samples()[0].sample == "S \"1\"\nb");
}

TEST_CASE("a column map reads a table from anywhere and is kept in the store under its name") {
    Farm farm;
    const std::string map = R"(separator = ";"
decimal = ","
dates = "day.month.year"
offset = "+02:00"
missing = ["n.d.", "-"]
[columns]
test = "Nr"
time = "Zeit"
sample = "Probe"
don = { from = "DON", unit = "ug/kg" }
field = "Schlag"
moisture_pct = "Feuchte"
[fixed]
stage = "standing"
kind = "composite"
[words.field]
"Moor" = "Fen"
[words.don]
"u.NG" = "<200"
)";
    ImportOptions options;
    options.column_map = farm.folder.write("labor.toml", map).string();
    const auto report = farm.import_text("tests",
                                         "Nr;Zeit;Probe;DON;Schlag;Feuchte;Farbe\n"
                                         "1;20.7.2025 9:05;P1;1.250,5;Fen;14,5;rot\n"
                                         "2;20.07.2025 10:00;P2;420,5;Moor;14,5;\n"
                                         "3;20.07.2025 10:00;P3;u.NG;Moor;-;\n"
                                         "4;20.07.2025 10:00;P4;n.d.;Moor;-;\n",
                                         options);
    CHECK(report.added == 2);
    REQUIRE(report.refused.size() == 2);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("row 2, column DON") && Contains("has a point and a comma"));
    CHECK_THAT(geo::to_text(report.refused[1]), Contains("row 5, column DON: \"n.d.\" is no result"));
    const auto tests = farm.store.tests();
    REQUIRE(tests.size() == 2);
    CHECK(tests[0].don_mg_per_kg == 0.4205);
    CHECK(models::to_text(tests[0].time) == "2025-07-20T10:00:00+02:00");
    CHECK((tests[1].reading == models::Reading::below && tests[1].don_mg_per_kg == 0.2));
    CHECK(farm.store.samples()[0].field == "Fen");

    options.column_map = "labor";
    const auto again =
        farm.import_text("tests", "Nr;Zeit;Probe;DON;Schlag;Feuchte\n5;21.07.2025 9:05;P5;800;Fen;15\n", options);
    CHECK(again.added == 1);
    CHECK(models::to_text(farm.store.tests()[2].time) == "2025-07-21T09:05:00+02:00");
    options.column_map = "labour";
    CHECK_THAT(farm.refusal("tests", "Nr\n1\n", options),
               Contains("no column map \"labour\"") && Contains("use labor"));
}

TEST_CASE("a table in the letters of an older spreadsheet is read when its map names them") {
    Farm farm;
    const auto name_of_field = [&](const std::string& encoding, const std::string& bytes) {
        ImportOptions options;
        options.column_map = farm.folder.write("letters.toml", "encoding = \"" + encoding + "\"\n").string();
        return farm.refusal("samples", sample_header + bytes, options);
    };
    // The field is none of the farm's, so its name comes back as it was read. 0x80 is the euro sign in Windows-1252
    // and 0xA4 in ISO 8859-15 (both tables of the Unicode Consortium), 0xFC the u with two dots in either.
    CHECK_THAT(name_of_field("Windows-1252", "S1,standing,composite,M\xfchle \x80\n"), Contains("Mühle €"));
    CHECK_THAT(name_of_field("iso-8859-15", "S1,standing,composite,M\xfchle \xa4\n"), Contains("Mühle €"));
    CHECK_THAT(name_of_field("windows-1252", "S1,standing,composite,M\x81\n"),
               Contains("row 2: a byte that is no letter of windows-1252"));
    CHECK_THAT(name_of_field("roman-8", "S1,standing,composite,Fen\n"),
               Contains("encoding = \"roman-8\" is no set of letters") && Contains("encoding = \"windows-1252\""));
}

TEST_CASE("a column map that says nothing sensible is refused") {
    Farm farm;
    const auto refused = [&](const std::string& map) {
        ImportOptions options;
        options.column_map = farm.folder.write("map.toml", map).string();
        return farm.refusal("samples", sample_header + "S1,standing,composite,Fen\n", options);
    };
    CHECK_THAT(refused("seperator = \";\""), Contains("\"seperator\"") && Contains("did you mean \"separator\"?"));
    CHECK_THAT(refused("# ours\noffset = \"2 h\""), Contains("map.toml, line 2") &&
                                                        Contains("offset = \"2 h\" is no offset from UTC") &&
                                                        Contains("To mend it: write offset = \"+02:00\""));
    CHECK_THAT(refused("offset = 2"),
               Contains("\"offset\" must be a text in quotes") && Contains("write offset = \"+02:00\""));
    CHECK_THAT(refused("\n\nmissing = \"NA\""),
               Contains("map.toml, line 3: \"missing\" must be a list") && Contains("missing = [\"n.d.\", \"NA\"]"));
    CHECK_THAT(refused("stamp_ends_hour = \"yes\""), Contains("write stamp_ends_hour = true"));
    CHECK_THAT(refused("separator = \"/\""), Contains("separator = \"/\" is no separator"));
    CHECK_THAT(refused("[words.crops]\nwheat = \"wheat\""), Contains("\"crops\", which is no column of samples"));
    CHECK_THAT(refused("= 3"), Contains("this is no TOML") && Contains("line 1"));
    CHECK_THAT(refused("decimal = 3"), Contains("\"decimal\" must be a text"));
    CHECK_THAT(refused("dates = \"month/year\""), Contains("no form of dates"));
    CHECK_THAT(refused("[columns]\nmass_g = { from = \"m\", unit = \"stone\" }"),
               Contains("map.toml, line 2: \"stone\" is no known unit of mass_g"));
    CHECK_THAT(refused("[columns]\nfeild = \"f\""),
               Contains("map.toml, line 2: the column map speaks of \"feild\", which is no column of samples; did you "
                        "mean \"field\"?"));
    CHECK_THAT(refused("[columns]\nfield = \"Feld\""), Contains("there is no column \"Feld\""));
}

TEST_CASE("one row by hand meets the same rules as a file") {
    Farm farm;
    CHECK_THAT(refusal_of([&] {
                   geo::add_row(farm.store, "samples", {{"sample", "S0"}, {"stage", "standing"}});
               }),
               Contains("kind is required and not given. To mend it: add kind=... (one of point, composite)"));
    const auto add = [&](const std::string& kind, const std::vector<std::pair<std::string, std::string>>& values) {
        return refusal_of([&] { geo::add_row(farm.store, kind, values); });
    };
    CHECK(add("samples", {{"sample", "S, \"1\""}, {"stage", "standing"}, {"kind", "composite"}, {"field", "Fen"}}) ==
          "");
    CHECK(farm.store.samples()[0].sample == "S, \"1\"");
    CHECK_THAT(add("samples", {{"sample", "S2"}, {"stage", "standing"}, {"knid", "composite"}}),
               Contains("there is no column \"knid\" in samples; did you mean \"kind\"?"));
    CHECK_THAT(add("samples", {{"sample", "S2"}, {"stage", "truck"}, {"kind", "composite"}}),
               Contains("comes from nowhere"));
    CHECK_THAT(add("costs", {{"name", "test"}, {"value", "1,5"}}),
               Contains("column value: \"1,5\" has a decimal comma"));
    CHECK_THAT(add("fields", {{"field", "X"}}), Contains("an outline is not typed in by hand"));
    CHECK_THAT(add("costs", {}), Contains("no value is given"));
    CHECK(add("weather", {{"station", "Hill"},
                          {"longitude_deg", "9.5"},
                          {"latitude_deg", "56"},
                          {"time", "2025-06-10T12:00:00+02:00"},
                          {"temperature_degc", "18"},
                          {"relative_humidity_pct", "80"}}) == "");
    CHECK(farm.store.stations().size() == 1);
}

TEST_CASE("hours of weather come back as they went in and missing ones are missing") {
    Farm farm;
    const std::string header =
        "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm\n";
    const auto first = farm.import_text("weather", header +
                                                       "Hill,9.5,56,2025-06-10T12:00:00+02:00,18.25,80,0.4\n"
                                                       "Hill,9.5,56,2025-06-10T14:00:00+02:00,19,78,\n");
    CHECK(first.added == 2);
    const auto day = models::day_of(2025, 6, 10);
    auto hours = farm.store.weather("Hill", day, day);
    REQUIRE(hours.size() == 24);
    CHECK(hours.temperature_degc[12] == 18.25);
    CHECK(hours.rain_mm[12] == 0.4);
    CHECK(std::isnan(hours.temperature_degc[13]));
    CHECK(std::isnan(hours.rain_mm[14]));
    SECTION("a later file fills the gap") {
        CHECK(farm.import_text("weather", header + "Hill,9.5,56,2025-06-10T13:00:00+02:00,18.5,79,0\n"
                                                   "Hill,9.5,56,2025-06-10T12:00:00+02:00,18.25,80,0.4\n")
                  .added == 1);
        hours = farm.store.weather("Hill", day, day);
        CHECK((hours.temperature_degc[12] == 18.25 && hours.temperature_degc[13] == 18.5));
    }
    SECTION("other values for a known hour are refused unless they are a correction") {
        const std::string other = header + "Hill,9.5,56,2025-06-10T12:00:00+02:00,28.25,80,0.4\n";
        CHECK_THAT(farm.refusal("weather", other),
                   Contains("row 2") && Contains("has other values for 2025-06-10T12:00:00+02:00"));
        ImportOptions options;
        options.correct_because = "wrong sensor";
        CHECK(farm.import_text("weather", other, options).corrected == 1);
        CHECK(farm.store.weather("Hill", day, day).temperature_degc[12] == 28.25);
    }
    SECTION("the station keeps its place") {
        CHECK_THAT(farm.refusal("weather", header + "Hill,9.6,56,2025-06-11T12:00:00+02:00,28.25,80,0.4\n"),
                   Contains("station Hill is there already") && Contains("longitude_deg is 9.5 there, here 9.6"));
    }
}

TEST_CASE("a station whose month of weather was withdrawn has no hours there") {
    Farm farm(false);
    farm.import_text("weather",
                     "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n"
                     "Hill,9.5,56,2025-05-10T12:00:00+02:00,18.25,80\nHill,9.5,56,2025-06-10T12:00:00+02:00,18,80\n"
                     "Dale,9.6,56,2025-06-10T12:00:00+02:00,19,80\n");
    const auto june = [&] { return farm.store.with_hours(models::day_of(2025, 6, 1), models::day_of(2025, 6, 30)); };
    CHECK(june() == std::set<std::string>{"Dale", "Hill"});
    farm.store.database().run(
        "INSERT INTO weather_block (event, version, withdrawn, station, month, hours, content_sha256, content) "
        "SELECT event, version + 1, 1, station, month, hours, content_sha256, content FROM weather_block "
        "WHERE station = 'Hill' AND month = '2025-06'");
    CHECK(june() == std::set<std::string>{"Dale"});
    CHECK(farm.store.with_hours(models::day_of(2025, 5, 1), models::day_of(2025, 6, 30)) ==
          std::set<std::string>{"Dale", "Hill"});
}

TEST_CASE("an hour that the clock repeats is kept twice by its offset and refused without") {
    Farm farm;
    const std::string header = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n";
    CHECK(farm.import_text("weather", header + "Hill,9.5,56,2025-10-26T02:00:00+02:00,8,80\n"
                                               "Hill,9.5,56,2025-10-26T02:00:00+01:00,7,82\n")
              .added == 2);
    const auto day = models::day_of(2025, 10, 26);
    CHECK(farm.store.weather("Hill", day, day).size() == 25);
    ImportOptions options;
    options.column_map = farm.folder.write("clock.toml", "offset = \"+01:00\"\n").string();
    const auto report = farm.import_text("weather",
                                         header +
                                             "Dale,9.5,56,2025-10-26T02:00:00,8,80\n"
                                             "Dale,9.5,56,2025-10-26T02:00:00,7,82\n",
                                         options);
    CHECK(report.added == 1);
    REQUIRE(report.refused.size() == 1);
    CHECK(report.refused[0].row == 3);
}

TEST_CASE("a weather table of one station without its name is read through a column map") {
    Farm farm;
    ImportOptions options;
    options.column_map =
        farm.folder
            .write("pole.toml",
                   "separator = \";\"\ndecimal = \",\"\noffset = \"+01:00\"\n[columns]\ntime = \"when\"\n"
                   "temperature_degc = { from = \"T\", unit = \"degF\" }\n"
                   "relative_humidity_pct = { from = \"RH\", unit = \"fraction\" }\n"
                   "rain_mm = { from = \"P\", unit = \"inch\" }\n"
                   "[fixed]\nstation = \"Pole\"\nlongitude_deg = \"9.5\"\nlatitude_deg = \"56\"\n")
            .string();
    const auto report = farm.import_text("weather", "when;T;RH;P\n2025-06-10T12:00;64,4;0,8;0,1\n", options);
    CHECK(report.added == 1);
    const auto day = models::day_of(2025, 6, 10);
    const auto hours = farm.store.weather("Pole", day, day);
    CHECK(hours.temperature_degc[12] == Approx(18.0).margin(1e-9).epsilon(0.0));
    CHECK(hours.relative_humidity_pct[12] == Approx(80.0).margin(1e-9).epsilon(0.0));
    CHECK(hours.rain_mm[12] == Approx(2.54).margin(1e-9).epsilon(0.0));
}

TEST_CASE("an airport table in degrees F and inches comes in through a column map") {
    NEEDS_SHARED_DATA(shared);
    Farm farm(false);
    ImportOptions options;
    options.column_map =
        farm.folder
            .write("airports.toml",
                   "missing = [\"NA\"]\noffset = \"-04:00\"\n[columns]\nstation = \"origin\"\n"
                   "time = \"time_hour\"\ntemperature_degc = { from = \"temp\", unit = \"degF\" }\n"
                   "dew_point_degc = { from = \"dewp\", unit = \"degF\" }\n"
                   "relative_humidity_pct = \"humid\"\nrain_mm = { from = \"precip\", unit = \"inch\" }\n")
            .string();
    const fs::path table = shared / "data/weather/nyc_airports_2013_may_june.csv";
    const auto without = geo::import_file(farm.store, "weather", table, options);
    CHECK(without.added == 0);
    REQUIRE(without.refused.size() == 3);
    CHECK_THAT(geo::to_text(without.refused[0]), Contains("nothing says where station EWR stands"));
    ImportOptions plain;
    farm.import_text("stations",
                     "station,longitude_deg,latitude_deg\nEWR,-74.17,40.69\nJFK,-73.78,40.64\nLGA,-73.87,40.78\n",
                     plain);
    const auto report = geo::import_file(farm.store, "weather", table, options);
    CHECK(report.added > 4000);
    // EWR, 2013-05-01T04:00Z: 51.98 F, 30.92 F, 44.31 %, no rain (the file's first row); local midnight
    const auto day = models::day_of(2013, 5, 1);
    const auto hours = farm.store.weather("EWR", day, day);
    REQUIRE(hours.size() == 24);
    CHECK(hours.temperature_degc[0] == Approx(11.1).margin(1e-9).epsilon(0.0));
    CHECK(hours.dew_point_degc[0] == Approx(-0.6).margin(1e-9).epsilon(0.0));
    CHECK(hours.relative_humidity_pct[0] == Approx(44.31).margin(1e-9).epsilon(0.0));
    CHECK(hours.rain_mm[0] == 0.0);
}

TEST_CASE("real parcels come in with the areas that were declared for them") {
    NEEDS_SHARED_DATA(shared);
    Farm farm(false);
    geo::Store store = geo::Store::create(farm.folder / "parcels.lodicule");
    ImportOptions options;
    options.column_map = farm.folder.write("parcels.toml", "[columns]\nfield = \"id_parcel\"\n").string();
    const auto report = geo::import_file(store, "fields", shared / "data/fields/fr_rpg_2022_epsg2154.gpkg", options);
    CHECK(report.added == 100);
    CHECK(report.refused.empty());
    long near = 0;
    for (const models::Field& field : store.fields()) {
        geo::Statement row(store.database(), "SELECT notes ->> 'surf_parc' FROM current_field_outline WHERE field = ?");
        row.with(field.field);
        REQUIRE(row.step());
        // declared hectares have two digits; the parcels' own polygons agree to a few hundredths
        if (std::abs(field.area_ha - std::stod(row.text(0))) <= 0.02 + 0.005 * field.area_ha) ++near;
    }
    CHECK(near >= 95);
}

}  // namespace store_tests
