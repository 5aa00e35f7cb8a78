#include "geo/store/outline_blob.h"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "geo/store/database.h"

namespace {

/// A shape as SpatiaLite keeps it in a cell, and as its own ST_AsBinary writes it.
struct Kept {
    std::string cell, wkb;
};

Kept kept(geo::Database& database, const std::string& shape) {
    geo::Statement row(database, "SELECT shape, ST_AsBinary(shape) FROM (SELECT ST_GeomFromText(?, 4326) AS shape)");
    row.bind(1, shape);
    REQUIRE(row.step());
    return {row.bytes(0), row.bytes(1)};
}

std::optional<std::string> read(const std::string& cell) {
    return geo::wkb_of_outline(reinterpret_cast<const unsigned char*>(cell.data()), cell.size());
}

}  // namespace

TEST_CASE("an outline is read from its cell as SpatiaLite's ST_AsBinary writes it") {
    const auto database = geo::Database::in_memory();
    for (const char* shape : {
             "POLYGON((19 47, 19.1 47, 19.1 47.2, 19 47))",
             "POLYGON((0 0, 9 0, 9 9, 0 9, 0 0), (1 1, 2 1, 2 2, 1 1), (4 4, 5 4, 5 5, 4 4))",
             "MULTIPOLYGON(((0 0, 9 0, 9 9, 0 0)))",
             "MULTIPOLYGON(((0 0, 9 0, 9 9, 0 0), (1 0.5, 2 0.5, 2 1, 1 0.5)), ((20 20, 21 20, 21 21, 20 20)))",
         }) {
        CAPTURE(shape);
        const Kept one = kept(*database, shape);
        REQUIRE(read(one.cell));
        CHECK(*read(one.cell) == one.wkb);
        // Cut anywhere, or with a byte too many, it is no shape.
        for (std::size_t size = 0; size < one.cell.size(); ++size) CHECK_FALSE(read(one.cell.substr(0, size)));
        CHECK_FALSE(read(one.cell.substr(0, one.cell.size() - 1) + std::string(1, '\0') + one.cell.back()));
        // A count that promises more than there is leads nowhere outside.
        for (std::size_t at = 39; at + 4 < one.cell.size(); at += 4) {
            std::string more = one.cell;
            more.replace(at, 4, "\xff\xff\xff\x7f");
            const auto found = read(more);
            CHECK((!found || found->size() == one.wkb.size()));
        }
    }
}

TEST_CASE("what is no plain outline is left to the spatial library") {
    const auto database = geo::Database::in_memory();
    for (const char* shape : {"POINT(19 47)", "LINESTRING(0 0, 1 1)", "POLYGON Z((0 0 1, 9 0 1, 9 9 1, 0 0 1))",
                              "GEOMETRYCOLLECTION(POLYGON((0 0, 9 0, 9 9, 0 0)), POINT(1 1))"}) {
        CAPTURE(shape);
        const Kept one = kept(*database, shape);
        REQUIRE_FALSE(one.cell.empty());
        CHECK_FALSE(read(one.cell));
        geo::Statement row(*database, "SELECT outline_wkb(ST_GeomFromText(?, 4326))");
        row.bind(1, std::string(shape));
        REQUIRE(row.step());
        CHECK(row.bytes(0) == one.wkb);
    }
    CHECK_FALSE(read(""));
    CHECK_FALSE(read("no shape at all, but longer than the head of one would be"));
}
