#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <fstream>
#include <limits>
#include <string_view>
#include <utility>

#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include "geo/gdal_errors.h"
#include "geo/grid_places.h"
#include "geo/grid_source.h"
#include "models/counted.h"
#include "models/error.h"

namespace geo::grids {

namespace grib {

using std::chrono::seconds;
using std::chrono::sys_seconds;

std::string item(GDALRasterBand& band, const char* name) {
    const char* text = band.GetMetadataItem(name);
    return text == nullptr ? "" : text;
}

std::optional<std::int64_t> whole(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc()) return std::nullopt;
    return value;
}

std::vector<std::int64_t> numbers_in(std::string_view text) {
    std::vector<std::int64_t> numbers;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        if (const auto value = whole(text.substr(0, end))) numbers.push_back(*value);
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return numbers;
}

/// The unit of a length of time: WMO Manual on Codes (WMO-No. 306), code table 4 of GRIB 1 and 4.4 of GRIB 2.
std::optional<seconds> length_of(std::int64_t unit) {
    switch (unit) {
        case 0:
            return std::chrono::minutes(1);
        case 1:
            return std::chrono::hours(1);
        case 2:
            return std::chrono::hours(24);
        case 10:
            return std::chrono::hours(3);
        case 11:
            return std::chrono::hours(6);
        case 12:
            return std::chrono::hours(12);
        case 13:
        case 254:
            return seconds(1);
        default:
            return std::nullopt;
    }
}

/// The stretch of time that a message of edition 1 speaks of, which GDAL does not tell: octets 18 to 21 of section 1
/// (WMO-No. 306, FM 92-XI). nullopt for single moments.
std::vector<std::optional<std::pair<seconds, seconds>>> stretches_of_edition_1(const std::filesystem::path& file) {
    std::vector<std::optional<std::pair<seconds, seconds>>> found;
    std::ifstream in(file, std::ios::binary);
    std::array<unsigned char, 29> head{};
    std::streamoff at = 0;
    while (in.seekg(at) && in.read(reinterpret_cast<char*>(head.data()), head.size())) {
        const std::string_view letters(reinterpret_cast<const char*>(head.data()), 4);
        if (letters != "GRIB") {
            ++at;  // some files hold something between their messages
            continue;
        }
        const long length = (head[4] << 16) + (head[5] << 8) + head[6];
        if (head[7] != 1 || (length & 0x800000) != 0 || length < 29) return {};
        const auto unit = length_of(head[8 + 17]);
        const int first = head[8 + 18], last = head[8 + 19], kind = head[8 + 20];
        constexpr int average = 3, sum = 4;
        if (unit && (kind == average || kind == sum))
            found.emplace_back(std::pair{first * *unit, last * *unit});
        else
            found.emplace_back(std::nullopt);
        at += length;
    }
    return found;
}

/// While it lives GDAL gives the numbers of a message as they are: told to turn kelvin into degC, it calls fields of
/// edition 1 degC and leaves them in kelvin (GDAL 3.6).
class UnitsAsWritten {
 public:
    UnitsAsWritten() { CPLSetThreadLocalConfigOption(option, "NO"); }
    ~UnitsAsWritten() { CPLSetThreadLocalConfigOption(option, nullptr); }
    UnitsAsWritten(const UnitsAsWritten&) = delete;
    UnitsAsWritten& operator=(const UnitsAsWritten&) = delete;

 private:
    static constexpr const char* option = "GRIB_NORMALIZE_UNITS";
};

struct Field {
    int band = 0;
    Moment moment;
    sys_seconds reference{};
    GridUnit unit;
    bool beginning_known = true;
};

std::optional<Quantity> quantity_of(const std::string& element, const std::string& level, std::int64_t centre,
                                    const std::vector<std::int64_t>& product) {
    const bool two_metres = level == "2-HTGL";
    if (element == "2T" || (two_metres && (element == "TMP" || element == "T"))) return Quantity::temperature;
    if (element == "2D" || (two_metres && element == "DPT")) return Quantity::dew_point;
    if (element == "2R" || (two_metres && (element == "RH" || element == "R"))) return Quantity::relative_humidity;
    if (element == "TP" || element == "PRATE" || element == "TPRATE" || element.starts_with("APCP")) {
        return Quantity::rain;
    }
    // Total precipitation in metres, by a table of the European centre that GDAL does not have.
    constexpr std::int64_t european_centre = 98, moisture = 1, total_precipitation = 193;
    if (centre == european_centre && product.size() > 1 && product[0] == moisture &&
        product[1] == total_precipitation) {
        return Quantity::rain;
    }
    return std::nullopt;
}

class GribSource final : public GridSource {
 public:
    explicit GribSource(const std::filesystem::path& file) : file_(file.filename().string()) {
        register_gdal();
        const UnitsAsWritten units;
        GdalErrors errors;
        const char* const drivers[] = {"GRIB", nullptr};
        dataset_.reset(GDALDataset::Open(file.string().c_str(), GDAL_OF_RASTER | GDAL_OF_VERBOSE_ERROR, drivers));
        if (!dataset_) throw models::Error(errors.text_or("this is no GRIB file that can be read"), file_);
        place();
        std::array<std::vector<Field>, 4> found;
        std::vector<std::string> other;
        const auto stretches = stretches_of_edition_1(file);
        const bool fits = static_cast<int>(stretches.size()) == dataset_->GetRasterCount();
        for (int b = 1; b <= dataset_->GetRasterCount(); ++b) {
            const auto stretch = fits ? stretches[static_cast<std::size_t>(b - 1)] : std::nullopt;
            take_band(b, stretch, found, other);
        }
        for (std::size_t q = 0; q < found.size(); ++q) {
            if (!found[q].empty()) add(static_cast<Quantity>(q), found[q]);
        }
        if (quantities.empty()) {
            std::string names;
            for (const std::string& name : other) names += (names.empty() ? "" : ", ") + name;
            throw models::Error("there is no temperature or humidity at 2 m and no rain in the file" +
                                    (names.empty() ? "" : "; it holds " + names),
                                file_, "ask for the 2 m temperature, the 2 m dew point and the total precipitation");
        }
    }

    std::vector<double> read(std::size_t quantity, std::size_t first, std::size_t count, const Box& box) override {
        const UnitsAsWritten units;
        const std::size_t cells = box.rows() * box.columns();
        std::vector<double> values(count * cells);
        for (std::size_t i = 0; i < count; ++i) {
            const Field& field = fields_[quantity][first + i];
            GDALRasterBand& band = *dataset_->GetRasterBand(field.band);
            GdalErrors errors;
            double* const into = values.data() + i * cells;
            if (band.RasterIO(GF_Read, static_cast<int>(box.first_column), static_cast<int>(box.first_row),
                              static_cast<int>(box.columns()), static_cast<int>(box.rows()), into,
                              static_cast<int>(box.columns()), static_cast<int>(box.rows()), GDT_Float64, 0, 0,
                              nullptr) != CE_None) {
                throw models::Error(errors.text_or("its values cannot be read"),
                                    fmt::format("{}, message {}", file_, field.band),
                                    "the file may be cut short: get it again");
            }
            int has_mark = FALSE;
            const double mark = band.GetNoDataValue(&has_mark);
            for (std::size_t c = 0; c < cells; ++c) {
                const bool none = !std::isfinite(into[c]) || (has_mark && into[c] == mark);
                into[c] =
                    none ? std::numeric_limits<double>::quiet_NaN() : into[c] * field.unit.factor + field.unit.shift;
            }
        }
        return values;
    }

 private:
    void place() {
        if (dataset_->GetRasterXSize() < 1 || dataset_->GetRasterYSize() < 1) {
            throw models::Error(
                "each row of its grid has a number of cells of its own (a reduced grid), which is not "
                "read here",
                file_, "ask for a regular grid of longitudes and latitudes");
        }
        std::array<double, 6> from{};
        const OGRSpatialReference* system = dataset_->GetSpatialRef();
        if (dataset_->GetGeoTransform(from.data()) != CE_None || system == nullptr || from[2] != 0.0 ||
            from[4] != 0.0) {
            throw models::Error("nothing says where its cells lie on the earth", file_);
        }
        lattice.rows = static_cast<std::size_t>(dataset_->GetRasterYSize());
        lattice.columns = static_cast<std::size_t>(dataset_->GetRasterXSize());
        std::vector<double> x, y;
        for (std::size_t c = 0; c < lattice.columns; ++c)
            x.push_back(from[0] + (static_cast<double>(c) + 0.5) * from[1]);
        for (std::size_t r = 0; r < lattice.rows; ++r) y.push_back(from[3] + (static_cast<double>(r) + 0.5) * from[5]);
        if (system->IsGeographic() && !system->IsDerivedGeographic()) {
            lattice.longitudes_deg = std::move(x);
            lattice.latitudes_deg = std::move(y);
        } else {
            char* wkt = nullptr;
            system->exportToWkt(&wkt, nullptr);
            const std::string text = wkt == nullptr ? "" : wkt;
            CPLFree(wkt);
            put_cells_of_axes(lattice, x, y, text);
        }
        require_places(lattice, file_);
    }

    void take_band(int number, const std::optional<std::pair<seconds, seconds>>& stretch,
                   std::array<std::vector<Field>, 4>& found, std::vector<std::string>& other) const {
        GDALRasterBand& band = *dataset_->GetRasterBand(number);
        const std::string element = item(band, "GRIB_ELEMENT"), level = item(band, "GRIB_SHORT_NAME");
        const std::string centre = item(band, "GRIB_IDS");
        const std::vector<std::int64_t> product = numbers_in(item(band, "GRIB_PDS_TEMPLATE_ASSEMBLED_VALUES"));
        constexpr std::string_view before_centre = "CENTER=";
        const auto quantity = quantity_of(element, level,
                                          centre.starts_with(before_centre)
                                              ? whole(std::string_view(centre).substr(before_centre.size())).value_or(0)
                                              : 0,
                                          product);
        const auto valid = whole(item(band, "GRIB_VALID_TIME")), reference = whole(item(band, "GRIB_REF_TIME"));
        if (!quantity || !valid || !reference) {
            const std::string name = element + " " + level;
            if (other.size() < 10 && std::find(other.begin(), other.end(), name) == other.end()) other.push_back(name);
            return;
        }
        Field field;
        field.band = number;
        field.reference = sys_seconds(seconds(*reference));
        const sys_seconds to{seconds(*valid)};
        field.moment = {to, to};
        field.beginning_known = false;
        const auto form = whole(item(band, "GRIB_PDS_PDTN"));
        std::string unit = item(band, "GRIB_UNIT");
        if (element == "unknown") unit = "m";  // the European centre's total precipitation
        const auto known = grid_unit(*quantity, unit);
        if (!known) {
            throw models::Error("\"" + unit + "\" is no known unit of " + in_words(*quantity),
                                fmt::format("{}, message {}", file_, number));
        }
        field.unit = *known;
        constexpr std::size_t process = 23, length_unit = 25, length = 26;  // of product template 4.8
        if (form == 8 && product.size() > length) {
            constexpr std::int64_t average = 0, sum = 1;
            const bool whole_time = product[process] == average || (product[process] == sum);
            const auto one = length_of(product[length_unit]);
            if (!whole_time || !one) return;  // highest, lowest, ...
            field.moment.from = to - product[length] * *one;
            field.beginning_known = true;
        } else if (stretch) {
            field.moment = {field.reference + stretch->first, field.reference + stretch->second};
            field.beginning_known = true;
        } else if (*quantity == Quantity::rain && field.unit.is_rate) {
            return;  // of a single moment: it says nothing of whole hours
        }
        found[static_cast<std::size_t>(*quantity)].push_back(field);
    }

    void add(Quantity quantity, std::vector<Field>& found) {
        // Of several forecasts of the same time the latest one; of several sums to the same time the shortest.
        std::stable_sort(found.begin(), found.end(), [](const Field& a, const Field& b) {
            if (a.moment.to != b.moment.to) return a.moment.to < b.moment.to;
            if (a.reference != b.reference) return a.reference > b.reference;
            return a.moment.from > b.moment.from;
        });
        const std::size_t all = found.size();
        found.erase(std::unique(found.begin(), found.end(),
                                [](const Field& a, const Field& b) { return a.moment.to == b.moment.to; }),
                    found.end());
        GridQuantity told;
        told.quantity = quantity;
        told.name = item(*dataset_->GetRasterBand(found.front().band), "GRIB_ELEMENT");
        if (told.name == "unknown") told.name = "TP";
        told.is_rate = found.front().unit.is_rate;
        if (found.size() < all) {
            notes.push_back(
                fmt::format("{} comes more than once for {}: of forecasts the latest is taken, of sums the "
                            "shortest",
                            told.name, models::counted(static_cast<long long>(all - found.size()), "time")));
        }
        for (const Field& field : found) {
            told.moments.push_back(field.moment);
            told.beginning_known = told.beginning_known && field.beginning_known;
            if (quantities.empty() && told.moments.size() == 1) made_utc = field.reference;
            if (made_utc && *made_utc != field.reference) made_utc.reset();
        }
        one_reference_ = one_reference_ && made_utc.has_value();
        if (!one_reference_) made_utc.reset();
        quantities.push_back(std::move(told));
        fields_.push_back(std::move(found));
    }

    std::string file_;
    std::unique_ptr<GDALDataset> dataset_;
    std::vector<std::vector<Field>> fields_;
    bool one_reference_ = true;
};

}  // namespace grib

std::unique_ptr<GridSource> open_grib(const std::filesystem::path& file) {
    return std::make_unique<grib::GribSource>(file);
}

}  // namespace geo::grids
