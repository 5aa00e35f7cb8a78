#pragma once

#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/map_view.h"
#include "app/drawing/painter.h"
#include "app/drawing/palette.h"
#include "models/geometry.h"

namespace app::drawing {

enum class MapShows {
    content,     ///< median DON of each field, mg/kg, logarithmic ramp
    exceedance,  ///< chance that the field's mean is over the limit, 0 to 1
    ranking      ///< no DON result anywhere: disease risk as an order only
};

/// One field (or part) with what is known about its mean. Without `median_mg_per_kg` it is drawn as unknown.
struct MapField {
    std::string label;
    models::OutlineM outline_m;
    std::optional<double> median_mg_per_kg;
    std::optional<double> low90_mg_per_kg, high90_mg_per_kg;  ///< 5 and 95 % quantiles
    std::optional<double> exceedance;                         ///< 0 to 1
    std::optional<int> rank;                                  ///< 1 is the most suspect; used by MapShows::ranking
    int tests = 0;
    /// Why there is no number, so that a field of another crop is not taken for one that nobody knows.
    enum class Without { unknown, other_crop, no_weather };
    Without without = Without::unknown;
    std::string note = {};  ///< the same in words: "no wheat this season: barley"; empty: nothing known
    /// The surface of the figure speaks for this field. Without it the field carries one colour for its mean, has a
    /// rim, and the legend says so.
    bool carries_surface = false;
};

enum class TestMark { value, below_range, above_range, invalid };
/// A test of a sample with a place. The shape says what kind of reading it was; the colour of a value its content.
struct MapTest {
    models::PointM place_m;
    TestMark mark = TestMark::value;
    double don_mg_per_kg = 0.0;
};

/// Contamination within fields, where structure is supported: row by row from the north, NaN outside the fields.
struct MapSurface {
    models::GridM grid;
    std::vector<double> median_mg_per_kg;
    std::vector<double> exceedance;  ///< same cells; empty: not given, and MapShows::exceedance falls back to fields
    std::vector<double> interval_factor;  ///< high90 / low90 of each cell; empty: not given
};
struct MapContour {
    double level_mg_per_kg = 0.0;
    std::vector<std::vector<models::PointM>> lines_m;
};

/// Everything that the contamination map says. Sentences come ready for the reader.
struct MapFigure {
    std::string title;     ///< "Contamination, season 2026"
    std::string subtitle;  ///< place, state of the data: "48 fields, 120 tests up to 2026-07-28"
    MapShows shows = MapShows::content;
    std::vector<MapField> fields;
    std::vector<MapTest> tests;
    std::optional<MapSurface> surface;
    std::vector<MapContour> contours;
    std::optional<double> limit_mg_per_kg;
    std::string limit_text;  ///< "Limit 1.25 mg/kg: unprocessed wheat, Regulation ..."
    std::string verdict;     ///< structure within fields supported or not, in a sentence
    std::string caution;     ///< "Screening result, not a certificate ..."
    /// Fields and cells whose 90 % interval is wider than this factor (high / low) are hatched. Ours.
    double hatched_from_factor = 6.0;
    std::optional<ContentScale> scale;  ///< none: content_colours of the limit
};

/// A field that the map itself only numbers.
struct MapKeyLine {
    int number = 0;  ///< 0: not even the number has room
    std::string name, value;
};

/// What the reader points at or has chosen; indices into MapFigure::fields.
struct MapMarks {
    std::optional<std::size_t> hovered, selected;
    /// The surface already coloured by cut_surface, for a window that draws many frames of it; none: it is smoothed and
    /// cut along the outlines at the resolution of the picture, which takes some milliseconds.
    const Image* surface = nullptr;
    /// For a window that draws the ground itself and moves what was drawn: everything but labels reaches that far
    /// beyond the canvas, and neither ground nor frame nor the mark of the chosen field is drawn.
    std::optional<double> beyond_px;
    /// Where names of fields may stand, for a window that lays something over the map; none: the whole canvas.
    std::optional<Rect> names_within;
    /// Takes what has no room on the map, behind what it holds already, for a sheet that lists it: the map then carries
    /// a small number in the field. Without it the map says how many names it leaves out.
    std::vector<MapKeyLine>* key = nullptr;
};

/// The scale of colours that the map uses: the figure's own, or that of its limit.
ContentScale content_scale_of(const MapFigure& figure);
/// The box of all outlines; nullopt without any.
std::optional<models::BoxM> box_of(const MapFigure& figure);
/// The field under a pixel of the map canvas; of two that overlap the smaller.
std::optional<std::size_t> field_under(const MapFigure& figure, const MapView& view, const Rect& canvas, Point px);
/// Fill of a field, before hatching.
Colour fill_of(const MapField& field, const MapFigure& figure, const ContentScale& scale, const Theme& theme);
bool is_unsure(const MapField& field, const MapFigure& figure);
/// "0.84 mg/kg (90 % interval 0.40 to 1.8), 12 % chance of lying over the limit, 3 tests": what the map knows of a
/// field.
std::string field_facts(const MapField& field, const MapFigure& figure);
/// The same after the field's name.
std::string field_sentence(const MapField& field, const MapFigure& figure);

/// The surface coloured for a painter, smoothed and cut along the outlines, over the box of its grid, its longer side
/// `longest_px` pixels; empty without a surface.
Image cut_surface(const MapFigure& figure, int longest_px, const Theme& theme);

/// The whole sheet: title, canvas, legend, limit, verdict, caution; legend beside the map, or below where the sheet is
/// upright. `view` none: all fields fitted, in several frames where they lie in groups far apart (map_frames.h).
void draw_map_figure(Painter& painter, const Rect& area, const MapFigure& figure, const Look& look,
                     const std::optional<MapView>& view = std::nullopt, const MapMarks& marks = {});

/// The parts of the sheet, for a window that owns its canvas.
void draw_map_canvas(Painter& painter, const Rect& canvas, const MapFigure& figure, const MapView& view,
                     const Look& look, const MapMarks& marks = {});
/// The outline of one field, set off as the chosen one, and as the one under the pointer.
void mark_selected(Painter& painter, const Rect& canvas, const MapField& field, const MapView& view, const Look& look);
void mark_hovered(Painter& painter, const Rect& canvas, const MapField& field, const MapView& view, const Look& look);
void draw_scale_and_north(Painter& painter, const Rect& canvas, const MapView& view, const Look& look);
/// Draws the legend from the top of `area`, no wider than it, and answers how high it came.
double draw_map_legend(Painter& painter, const Rect& area, const MapFigure& figure, const Look& look);
/// A mark of its own shape for each kind of reading; without a scale a value is drawn without a colour.
void draw_test_mark(Painter& painter, Point place, double size, const MapTest& test,
                    const std::optional<ContentScale>& scale, const Theme& theme);

}  // namespace app::drawing
