#pragma once

#include <filesystem>
#include <fstream>
#include <functional>
#include <string>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "geo/import.h"
#include "geo/store/store.h"
#include "models/error.h"

/// A folder of its own and a store in it with three invented fields: Long Acre, Mill Piece with its part north, and
/// Fen, near 9.5 E 56 N, and their crops of 2024 and 2025.
namespace store_tests {

namespace fs = std::filesystem;

class Folder {
 public:
    Folder() {
        static int count = 0;
        path_ =
            fs::temp_directory_path() / ("store_tests_" + std::to_string(::getpid()) + "_" + std::to_string(++count));
        fs::create_directories(path_);
    }
    ~Folder() {
        std::error_code ignored;
        fs::permissions(path_, fs::perms::owner_all, ignored);
        fs::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    fs::path operator/(const std::string& name) const { return path_ / name; }
    const fs::path& path() const { return path_; }
    fs::path write(const std::string& name, const std::string& text) const {
        std::ofstream(path_ / name, std::ios::binary) << text;
        return path_ / name;
    }

 private:
    fs::path path_;
};

inline std::string bytes_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

inline std::string square(const std::string& properties, double west, double south, double size) {
    const auto corner = [](double x, double y) { return "[" + std::to_string(x) + "," + std::to_string(y) + "]"; };
    return R"({"type":"Feature","properties":{)" + properties + R"(},"geometry":{"type":"Polygon","coordinates":[[)" +
           corner(west, south) + "," + corner(west + size, south) + "," + corner(west + size, south + size) + "," +
           corner(west, south + size) + "," + corner(west, south) + "]]}}";
}

inline std::string outlines_text() {
    return R"({"type":"FeatureCollection","features":[)" +
           square(R"("field":"Long Acre","name":"Long Acre by the lane","grower":"Ada Holt")", 9.5, 56.0, 0.01) + "," +
           square(R"("field":"Mill Piece","soil":"loam")", 9.52, 56.0, 0.01) + "," +
           square(R"("field":"Mill Piece","part":"north")", 9.52, 56.005, 0.004) + "," +
           square(R"("field":"Fen")", 9.54, 56.0, 0.008) + "]}";
}

inline std::string crops_text() {
    return "field,part,season,crop,wheat_type,flowering_date,sowing_date\n"
           "Long Acre,,2024,wheat,winter,2024-06-10,2023-09-20\n"
           "Long Acre,,2025,barley,,,\n"
           "Mill Piece,,2025,wheat,winter,2025-06-12,2024-09-20\n"
           "Mill Piece,north,2025,wheat,spring,2025-06-20,2025-03-20\n"
           "Fen,,2025,wheat,winter,2025-06-14,2024-09-22\n";
}

/// The words of whatever was thrown; empty where nothing was.
inline std::string refusal_of(const std::function<void()>& action) {
    try {
        action();
    } catch (const models::Error& error) {
        return error.what();
    }
    return "";
}

struct Farm {
    Folder folder;
    geo::Store store = geo::Store::create(folder / "farm.lodicule");

    explicit Farm(bool with_crops = true) {
        geo::import_file(store, "fields", folder.write("outlines.geojson", outlines_text()));
        if (with_crops) import_text("crops", crops_text());
    }
    geo::ImportReport import_text(const std::string& kind, const std::string& text,
                                  const geo::ImportOptions& options = {}) {
        return geo::import_file(store, kind, folder.write(kind + ".csv", text), options);
    }
    /// The one sentence that a file of one bad row, or the file itself, is refused with.
    std::string refusal(const std::string& kind, const std::string& text, const geo::ImportOptions& options = {}) {
        std::string words;
        const std::string thrown = refusal_of([&] {
            const auto report = import_text(kind, text, options);
            REQUIRE(report.refused.size() == 1);
            words = geo::to_text(report.refused.front());
        });
        return thrown.empty() ? words : thrown;
    }
    std::string export_text(const std::string& kind);
};

}  // namespace store_tests
