#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/figures/evidence_figure.h"
#include "app/drawing/figures/transect_figure.h"
#include "app/stages/evidence_stage.h"
#include "app/stages/field_history.h"
#include "app/stages/results_stage.h"
#include "app/stages/transect_stage.h"
#include "app/workflow.h"

namespace app {

/// What the map rests on, put into the figure that screen, picture and page share.
drawing::EvidenceFigure evidence_figure_of(const SeasonView& view, const SeasonEvidence& evidence);
drawing::TransectFigure transect_figure_of(const SeasonView& view, const Transect& transect);

/// With a capital and a full stop, of what comes without.
std::string as_sentence(std::string words);

/// A field as its people call it: its code, and its name where it has another one. "U08, Sunny Corner"
std::string code_and_name(const FieldView& field);
/// What its number rests on: "2 tests", "no test of its own", "2 tests of the field, 2 of its loads".
std::string tests_in_words(int tests, int load_tests);
/// "1.5", "below 0.34", in the unit that is shown.
std::string reading_in_words(const FieldReading& reading);
/// That two readings of one sample cannot both be right, on which side the estimate lies, and what to do.
std::string readings_apart_in_words(const ReadingsApart& apart);

/// A few lines beside what somebody points at; the first is its name.
using Card = std::vector<std::string>;
/// The number of a field with its interval, its chance of being over, and what it rests on as `map --explain` says it:
/// disease risk, results of others, its own tests.
/// @param explanation  null: it is being worked out
/// @param apart  two readings of one sample that cannot both be right; null: none
Card field_card(const SeasonView& view, const FieldView& field, const models::Explanation* explanation,
                const ReadingsApart* apart = nullptr);
/// By which limit a field of another grain is judged, and which speaks of it, with the chance of being over that; empty
/// where the limit of the season is its own.
std::string limit_of_grain_in_words(const SeasonView& view, const FieldView& field);
/// The steps of an explanation in few lines; of many own tests only the last.
std::vector<std::string> rests_on_lines(const models::Explanation& explanation);
/// The content at a place of a supported surface; empty where none is.
std::string place_line(const SeasonView& view, const FieldView& field, const models::PointM& place);
/// What a card says of a result: a row of the season's results takes ten times the room, and there are thousands.
struct ResultInBrief {
    std::string test;
    models::Stage stage = models::Stage::standing;
    std::optional<models::TrueContent> by_itself;  ///< none: it has no budget
    std::vector<std::string> flags;                ///< as of ResultRow::all_flags
};
ResultInBrief in_brief(const ResultRow& row);
/// One test: what it read, its interval by itself, and what all others foretold of it.
/// @param result  of the results of the season; null: it has none
Card test_card(const SeasonView& view, const models::Test& test, const ResultInBrief* result);

}  // namespace app
