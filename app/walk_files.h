#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/drawing/cairo_painter.h"
#include "app/drawing/figures/rank_figure.h"
#include "app/drawing/painter.h"
#include "app/drawing/palette.h"
#include "app/stages/round_stage.h"
#include "app/stages/walk_stage.h"
#include "geo/outlines.h"
#include "geo/work_system.h"

namespace app {

/// One page to take along: the field with its stops in order, their places, what to take, and labels for the bag.
/// @param page    in points
/// @param places  of the stops; empty: no list of them
void draw_walk_page(drawing::Painter& painter, const drawing::Rect& page, const FieldWalk& walk,
                    const WalkSettings& settings, const std::vector<geo::PointDeg>& places);
/// The field with its stops, numbered in the order of walking, and the way past them.
void draw_walk_map(drawing::Painter& painter, const drawing::Rect& area, const FieldWalk& walk,
                   const drawing::Look& look);
/// What is taken at the stops and how far the way is, in sentences.
std::string what_to_take(const FieldWalk& walk, const WalkSettings& settings);
/// Longitude and latitude of the stops, in their order.
std::vector<geo::PointDeg> places_of(const FieldWalk& walk, const geo::WorkSystem& work);
/// "1.9 km", "640 m"
std::string way_in_words(double length_m);

/// The order of tests as a list for paper: every field of it with its place, the chance over the limit, the DON of its
/// mean with its 90 % interval, and the reason; under the name of a field that is walked the code of its sample. A
/// field that is not worth a test has a dash for its place, and its reason says why.
struct OrderList {
    drawing::RankFigure rank;
    std::vector<std::string> places, samples;  ///< of each row: "1" or a dash; the code, or empty
};
OrderList order_list(const SeasonView& view, const FieldWalks& walks);

/// Draws rows from `first` on, as many as the page holds, and answers the first that has no room; one at least.
/// @param page  in points
std::size_t draw_order_page(drawing::Painter& painter, const drawing::Rect& page, const OrderList& list,
                            std::size_t first);

/// As many pages as the order needs; none without an order.
std::vector<drawing::PdfPage> order_pages(const SeasonView& view, const FieldWalks& walks);

/// Leaves the walks in a folder, which is made where it is missing:
///   walk-01-C06.gpx   one a field: stops as waypoints and the way as a route, for what finds its way by satellites
///   walks.geojson     the stops of all fields with field, sample, stop and place in the order
///   walks.pdf         the order of the fields with the reason of each, then a page a field, with
///                     labels (Code 128 and QR) of the sample's code
/// The walk of one field alone leaves walk-01-C06.geojson and walk-01-C06.pdf in their place, beside those of others.
/// Each file is made beside and renamed. The same season gives the same bytes.
/// @returns their names in that order
/// @throws models::Error  the folder cannot be made or written
std::vector<std::string> write_walk_files(const SeasonView& view, const FieldWalks& walks, const WalkSettings& settings,
                                          const std::filesystem::path& folder);

/// The fields of a round as places and its way as a line: .gpx, or .gpkg with the layers waypoints and routes.
/// @throws models::Error  another ending; the folder cannot be written
void write_round_file(const SeasonView& view, const RoundOfTests& round, const std::filesystem::path& file);

}  // namespace app
