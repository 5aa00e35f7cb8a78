#include "app/table_text.h"

#include <catch2/catch.hpp>

#include "app/commands/row_notes.h"

TEST_CASE("columns that do not fit stand in a block below with the names again") {
    app::TextTable table({"field", ">2024", ">2025", ">2026"});
    table.row({"Long Acre", "40 %", "–", "7 %"});
    table.row({"Fen", "9 %", "12 %", "13 %"});
    CHECK(table.text_within(100) == table.text());
    CHECK(table.text_within(23) ==
          "field      2024  2025\n"
          "Long Acre  40 %     –\n"
          "Fen         9 %  12 %\n"
          "\n"
          "field      2026\n"
          "Long Acre   7 %\n"
          "Fen        13 %\n");
}

TEST_CASE("a column that is too wide by itself stands alone and is not cut") {
    app::TextTable table({"field", "words", ">n"});
    table.row({"Fen", "longer than the width", "1"});
    CHECK(table.text_within(10) == "field  words\nFen    longer than the width\n\nfield  n\nFen    1\n");
    CHECK(app::TextTable({"field"}).text_within(3) == "field\n");
}

TEST_CASE("a note that rows share is told once and what is a row's own stands beside its name") {
    app::commands::RowNotes notes;
    CHECK(notes.marks("Fen", {{"Mast 2 passed over", "0.6 km"}, {"no model for maize", ""}}) == "a, b");
    CHECK(notes.marks("Long Acre", {}).empty());
    CHECK(notes.marks("Mill Piece, north", {{"Mast 2 passed over", "1.7 km"}}) == "a");
    CHECK(notes.text() ==
          "(a) Mast 2 passed over: Fen (0.6 km); Mill Piece, north (1.7 km).\n(b) no model for maize: Fen.\n");
}

TEST_CASE("notes of very many rows name the first dozen and are lettered beyond z") {
    app::commands::RowNotes notes;
    for (int row = 0; row < 40; ++row) notes.marks("field " + std::to_string(row), {{"shared", ""}});
    CHECK_THAT(notes.text(), Catch::Contains("field 11; and 28 more.") && !Catch::Contains("field 12"));
    std::string last;
    for (int note = 1; note < 28; ++note) last = notes.marks("X", {{"note " + std::to_string(note), ""}});
    CHECK(last == "ab");
}

TEST_CASE("a line that is too long goes on under the words it began with") {
    CHECK(app::hanging_text("  time *    hour of the day", 12) == "  time *    hour of the day\n");
    CHECK(app::hanging_text("  time *    hour of the day", 12, 20) == "  time *    hour of\n            the day\n");
}

TEST_CASE("a table's last column is broken at blanks and goes on under its beginning") {
    app::TextTable table({"bin", ">t", "layers"});
    table.row({"S–1", "9.5", "one two three four five six seven"});
    table.row({"S2", "10.0", ""});
    CHECK(table.text_hanging(32) ==
          "bin     t  layers\n"
          "S–1   9.5  one two three four\n"
          "           five six seven\n"
          "S2   10.0\n");
    CHECK(table.text_hanging(100) == table.text());
    CHECK(table.text_hanging(15) == table.text());  // no room that is worth it
}
