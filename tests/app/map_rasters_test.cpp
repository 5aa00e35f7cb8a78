#include "app/map_rasters.h"

#include <catch2/catch.hpp>

using namespace app;

namespace {

/// Square fields with a number each, by their west and south edges.
struct Squares {
    std::vector<models::Field> outlines;
    SeasonView view;

    Squares(const std::vector<models::PointM>& corners, double side_m) {
        for (const models::PointM& p : corners) {
            models::Field outline;
            outline.field = "F" + std::to_string(outlines.size() + 1);
            outline.outline_m = {
                {{{p.x_m, p.y_m}, {p.x_m + side_m, p.y_m}, {p.x_m + side_m, p.y_m + side_m}, {p.x_m, p.y_m + side_m}},
                 {}}};
            outlines.push_back(outline);
        }
        for (std::size_t i = 0; i < outlines.size(); ++i) {
            FieldView field;
            field.crop = i;
            field.name = outlines[i].field;
            field.outline = &outlines[i];
            field.content = models::Content{};
            view.fields.push_back(field);
            view.data.crops.emplace_back();
        }
    }
    int cells_of(std::size_t field, const MapRasters& rasters) const {
        int cells = 0;
        for (const auto& raster : rasters.rasters)
            for (int row = 0; row < raster.grid.rows; ++row)
                for (int column = 0; column < raster.grid.columns; ++column)
                    cells += models::side_of(outlines[field].outline_m, raster.grid.centre(row, column)) !=
                             models::Side::outside;
        return cells;
    }
};

}  // namespace

TEST_CASE("fields that lie near each other share one raster") {
    const Squares squares({{0, 0}, {1000, 0}, {500, 2000}}, 200.0);
    const MapRasters rasters = map_rasters(squares.view, {});
    REQUIRE(rasters.rasters.size() == 1);
    CHECK(rasters.rasters[0].file == "contamination.tif");
    CHECK(rasters.notes.empty());
    for (std::size_t f = 0; f < 3; ++f) CHECK(squares.cells_of(f, rasters) >= 4);
}

TEST_CASE("fields hundreds of kilometres apart have a raster for each group and none is lost") {
    const Squares squares({{0, 0}, {900, 0}, {400e3, 0}, {400e3, 300e3}, {401e3, 300e3}}, 200.0);
    const MapRasters rasters = map_rasters(squares.view, {});
    REQUIRE(rasters.rasters.size() == 3);
    CHECK(rasters.rasters[0].file == "contamination-1.tif");
    REQUIRE(rasters.notes.size() == 1);
    CHECK_THAT(rasters.notes[0], Catch::Contains("each of 3 groups has a raster of its own"));
    for (std::size_t f = 0; f < 5; ++f) {
        CAPTURE(f);
        CHECK(squares.cells_of(f, rasters) >= 4);
    }
}

TEST_CASE("a raster without a single value is refused and one that loses fields names them") {
    // Cells of 5 km have their centres at 2500 m and so on: only F2 covers one.
    const Squares squares({{0, 0}, {2400, 2400}, {30e3, 20e3}}, 200.0);
    const MapRasters rasters = map_rasters(squares.view, 5000.0);
    REQUIRE(rasters.notes.size() == 1);
    CHECK_THAT(rasters.notes[0], Catch::Contains("2 fields have no cell of 5000 m") && Catch::Contains("F1, F3"));
    const Squares beside({{0, 0}, {30e3, 20e3}}, 200.0);
    CHECK_THROWS_WITH(map_rasters(beside.view, 5000.0),
                      Catch::Contains("no field has a cell of 5000 m") && Catch::Contains("leave --cell out"));
    CHECK_THROWS_WITH(map_rasters(Squares({{0, 0}, {400e3, 300e3}}, 200.0).view, 10.0),
                      Catch::Contains("50 million are the most"));
}
