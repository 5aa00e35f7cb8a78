#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include "geo/gdal_errors.h"
#include "geo/grid_places.h"
#include "geo/grid_source.h"
#include "geo/netcdf_length.h"
#include "models/calendar.h"
#include "models/error.h"

namespace geo::grids {

namespace netcdf {

using Array = std::shared_ptr<GDALMDArray>;
constexpr double missing = std::numeric_limits<double>::quiet_NaN();

std::string text_attribute(const GDALMDArray& array, const char* name) {
    const auto attribute = array.GetAttribute(name);
    const char* text = attribute ? attribute->ReadAsString() : nullptr;
    return text == nullptr ? "" : text;
}

std::string unit_of_array(const GDALMDArray& array) {
    return array.GetUnit().empty() ? text_attribute(array, "units") : array.GetUnit();
}

bool named(const std::string& text, std::initializer_list<const char*> words) {
    return std::any_of(words.begin(), words.end(), [&](const char* word) { return text == word; });
}

std::size_t size_of(const GDALMDArray& array, std::size_t dimension) {
    return static_cast<std::size_t>(array.GetDimensions()[dimension]->GetSize());
}

/// A whole array of coordinates as numbers.
std::vector<double> all_of_array(const GDALMDArray& array) {
    std::vector<GUInt64> start(array.GetDimensionCount(), 0);
    std::vector<std::size_t> count;
    std::size_t size = 1;
    for (std::size_t d = 0; d < array.GetDimensionCount(); ++d) {
        count.push_back(size_of(array, d));
        size *= count.back();
    }
    std::vector<double> values(size);
    if (size > 0 && !array.Read(start.data(), count.data(), nullptr, nullptr, GDALExtendedDataType::Create(GDT_Float64),
                                values.data())) {
        return {};
    }
    return values;
}

/// How the cell_methods of CF say that a value stands for its time: "sum", "mean", "point", or nothing.
std::string method_in_time(const GDALMDArray& array, const std::string& time) {
    const std::string methods = text_attribute(array, "cell_methods");
    for (const std::string& name : {time, std::string("time")}) {
        const std::size_t at = methods.find(name + ": ");
        if (at == std::string::npos) continue;
        const std::string rest = methods.substr(at + name.size() + 2);
        return rest.substr(0, rest.find(' '));
    }
    return "";
}

/// Whether an array is the quantity by its standard name, or by what files call it.
bool is_quantity(const GDALMDArray& array, Quantity quantity) {
    const std::string standard = text_attribute(array, "standard_name"), name = array.GetName();
    switch (quantity) {
        case Quantity::temperature:
            return standard == "air_temperature" || named(name, {"t2m", "2t", "T2", "tas", "TMP", "TMP_2maboveground"});
        case Quantity::dew_point:
            return standard == "dew_point_temperature" ||
                   named(name, {"d2m", "2d", "tdps", "DPT", "DPT_2maboveground"});
        case Quantity::relative_humidity:
            return standard == "relative_humidity" ||
                   named(name, {"r2", "2r", "rh2m", "hurs", "RH", "RH_2maboveground"});
        case Quantity::rain:
            return named(standard, {"precipitation_amount", "lwe_thickness_of_precipitation_amount",
                                    "precipitation_flux", "lwe_precipitation_rate"}) ||
                   named(name, {"tp", "pr", "APCP", "APCP_surface"});
    }
    return false;
}

struct Axis {
    std::size_t dimension = 0;
    Array array;  // null: a dimension without coordinates of its own
};

class NetcdfSource final : public GridSource {
 public:
    NetcdfSource(const std::filesystem::path& file, const Named& named_by_user)
        : file_(file.filename().string()), named_(named_by_user) {
        require_whole(file);
        register_gdal();
        GdalErrors errors;
        const char* const drivers[] = {"netCDF", nullptr};
        dataset_.reset(
            GDALDataset::Open(file.string().c_str(), GDAL_OF_MULTIDIM_RASTER | GDAL_OF_VERBOSE_ERROR, drivers));
        group_ = dataset_ ? dataset_->GetRootGroup() : nullptr;
        if (!group_) throw models::Error(errors.text_or("this is no NetCDF file that can be read"), file_);
        const char* const all[] = {"SHOW_ZERO_DIM=YES", nullptr};
        for (const std::string& name : group_->GetMDArrayNames(const_cast<char**>(all))) {
            if (const Array array = group_->OpenMDArray(name)) arrays_.push_back(array);
        }
        for (const Quantity quantity :
             {Quantity::temperature, Quantity::dew_point, Quantity::relative_humidity, Quantity::rain}) {
            if (const Array array = find_quantity(quantity)) add(quantity, array);
        }
        if (quantities.empty()) {
            refuse_without_rows();
            std::string names;
            for (const Array& array : arrays_) names += (names.empty() ? "" : ", ") + array->GetName();
            throw models::Error("there is neither a temperature nor a humidity nor rain in the file; it holds " + names,
                                file_, "name theirs in a column map: temperature_degc = \"t2m\"");
        }
        find_reference_time();
    }

    std::vector<double> read(std::size_t quantity, std::size_t first, std::size_t count, const Box& box) override {
        const Stored& stored = stored_[quantity];
        const std::size_t dimensions = stored.array->GetDimensionCount();
        std::vector<GUInt64> start(dimensions, 0);
        std::vector<std::size_t> counts(dimensions, 1);
        std::vector<GPtrDiff_t> strides(dimensions, 0);
        start[stored.y] = box.first_row;
        counts[stored.y] = box.rows();
        strides[stored.y] = static_cast<GPtrDiff_t>(box.columns());
        start[stored.x] = box.first_column;
        counts[stored.x] = box.columns();
        strides[stored.x] = 1;
        std::vector<double> values(count * box.rows() * box.columns(), missing);
        GdalErrors errors;
        // Times may be stored in any order; runs that follow one another are read in one go.
        for (std::size_t i = 0; i < count;) {
            std::size_t end = i + 1;
            while (end < count && stored.order[first + end] == stored.order[first + end - 1] + 1) ++end;
            start[stored.time] = stored.order[first + i];
            counts[stored.time] = end - i;
            strides[stored.time] = static_cast<GPtrDiff_t>(box.rows() * box.columns());
            double* const into = values.data() + i * box.rows() * box.columns();
            if (!stored.array->Read(start.data(), counts.data(), nullptr, strides.data(),
                                    GDALExtendedDataType::Create(GDT_Float64), into)) {
                throw models::Error(errors.text_or("its values cannot be read"),
                                    file_ + ", " + quantities[quantity].name,
                                    "the file may be cut short: get it again");
            }
            i = end;
        }
        for (double& value : values) {
            const bool none =
                std::any_of(stored.nothing.begin(), stored.nothing.end(), [&](double mark) { return value == mark; });
            value = none || !std::isfinite(value) ? missing : value * stored.unit.factor + stored.unit.shift;
        }
        return values;
    }

 private:
    struct Stored {
        Array array;
        std::size_t time = 0, y = 0, x = 0;
        std::vector<std::size_t> order;  // of the moments: index in the file
        std::vector<double> nothing;     // values that mean "not there"
        GridUnit unit;
    };

    /// What a broken download lacks reads as zeros: refused before anything of it is.
    void require_whole(const std::filesystem::path& file) const {
        std::error_code none;
        const std::uint64_t length = std::filesystem::file_size(file, none);
        const auto said = length_by_header(file);
        if (none || !said || *said <= length) return;
        throw models::Error(
            *said == length + 1
                ? fmt::format("the file is cut off: it ends after {} bytes", length)
                : fmt::format("the file is cut off: it has {} of the {} bytes that its header speaks of", length,
                              *said),
            file_, "get it again");
    }

    Array find_array(const std::string& name) const {
        for (const Array& array : arrays_) {
            if (array->GetName() == name) return array;
        }
        return nullptr;
    }

    Array find_quantity(Quantity quantity) const {
        if (const auto given = named_.variables.find(column_of(quantity)); given != named_.variables.end()) {
            if (const Array array = find_array(given->second)) return array;
            throw models::Error("there is no \"" + given->second + "\" in the file, which the column map names for " +
                                    column_of(quantity),
                                file_, "name it as the file does");
        }
        std::vector<Array> found;
        for (const Array& array : arrays_) {
            if (array->GetDimensionCount() < 3 || !is_quantity(*array, quantity)) continue;
            const std::string method = method_in_time(*array, "time");
            if (method == "maximum" || method == "minimum") continue;
            found.push_back(array);
        }
        if (found.size() < 2) return found.empty() ? nullptr : found.front();
        std::string names;
        for (const Array& array : found) names += (names.empty() ? "" : ", ") + array->GetName();
        throw models::Error(
            fmt::format("{} may be the {}", names, in_words(quantity)), file_,
            fmt::format("say which in a column map: {} = \"{}\"", column_of(quantity), found.front()->GetName()));
    }

    /// A grid whose cells stand in one row, or the hours of a place: a quantity that is there and has no cells of ours.
    void refuse_without_rows() const {
        for (const Array& array : arrays_) {
            for (const Quantity quantity : {Quantity::temperature, Quantity::dew_point, Quantity::relative_humidity}) {
                if (array->GetDimensionCount() > 2 || !is_quantity(*array, quantity)) continue;
                std::string names;
                for (const auto& dimension : array->GetDimensions())
                    names += (names.empty() ? "" : ", ") + dimension->GetName();
                refuse(*array,
                       fmt::format("the {} has no rows and columns of cells (it runs along {})", in_words(quantity),
                                   names.empty() ? "nothing" : names),
                       "ask for a grid with rows and columns; the hours of one place go in as a table (CSV)");
            }
        }
    }

    [[noreturn]] void refuse(const GDALMDArray& array, const std::string& what, const std::string& mend = "") const {
        throw models::Error(what, file_ + ", " + array.GetName(), mend);
    }

    /// The array that says where the cells of a dimension lie: called as it, or any along it alone that `fits`.
    template <typename Fits>
    Array along(const GDALDimension& dimension, const Fits& fits) const {
        Array found;
        for (const Array& array : arrays_) {
            const auto& of = array->GetDimensions();
            if (of.size() != 1 || of[0]->GetName() != dimension.GetName() || !fits(*array)) continue;
            if (array->GetName() == dimension.GetName()) return array;
            if (!found || array->GetName() == "valid_time") found = array;
        }
        return found;
    }

    static bool tells_time(const GDALMDArray& array) {
        return text_attribute(array, "standard_name") != "forecast_reference_time" &&
               time_unit(unit_of_array(array)).has_value();
    }
    // The degrees of a grid whose pole was turned are none of the earth's, whatever their unit says.
    static bool is_longitude(const GDALMDArray& array) {
        if (is_x(array)) return false;
        return text_attribute(array, "standard_name") == "longitude" ||
               named(unit_of_array(array), {"degrees_east", "degree_east", "degrees_E", "degree_E"}) ||
               named(array.GetName(), {"lon", "longitude", "XLONG"});
    }
    static bool is_latitude(const GDALMDArray& array) {
        if (is_y(array)) return false;
        return text_attribute(array, "standard_name") == "latitude" ||
               named(unit_of_array(array), {"degrees_north", "degree_north", "degrees_N", "degree_N"}) ||
               named(array.GetName(), {"lat", "latitude", "XLAT"});
    }
    static bool is_x(const GDALMDArray& array) {
        return named(text_attribute(array, "standard_name"), {"projection_x_coordinate", "grid_longitude"}) ||
               named(array.GetName(), {"x", "rlon"});
    }
    static bool is_y(const GDALMDArray& array) {
        return named(text_attribute(array, "standard_name"), {"projection_y_coordinate", "grid_latitude"}) ||
               named(array.GetName(), {"y", "rlat"});
    }

    void add(Quantity quantity, const Array& array) {
        const auto& dimensions = array->GetDimensions();
        std::optional<Axis> time, x, y;
        std::vector<std::size_t> others;
        for (std::size_t d = 0; d < dimensions.size(); ++d) {
            const GDALDimension& dimension = *dimensions[d];
            if (const Array found = along(dimension, tells_time); found && !time)
                time = Axis{d, found};
            else if (const Array east = along(dimension, [](const auto& a) { return is_longitude(a) || is_x(a); }))
                x = Axis{d, east};
            else if (const Array north = along(dimension, [](const auto& a) { return is_latitude(a) || is_y(a); }))
                y = Axis{d, north};
            else
                others.push_back(d);
        }
        // Rows and columns without coordinates of their own: the last two, row before column.
        std::vector<std::size_t> open = others;
        if (!x && !y && open.size() >= 2) {
            x = Axis{open.back(), nullptr};
            open.pop_back();
            y = Axis{open.back(), nullptr};
            open.pop_back();
        }
        if (!time)
            refuse(*array, "nothing says which times it speaks of", "a time axis reads \"hours since 2026-01-01\"");
        if (!x || !y) refuse(*array, "nothing says where its cells lie", "give longitudes and latitudes with it");
        for (const std::size_t d : open) {
            if (size_of(*array, d) == 1) continue;
            refuse(*array,
                   fmt::format("it comes in {} sorts ({}), and one is needed", size_of(*array, d),
                               dimensions[d]->GetName()),
                   "cut one out of the file: one level, one member");
        }
        const std::string calendar = text_attribute(*time->array, "calendar");
        if (!named(calendar, {"", "standard", "gregorian", "proleptic_gregorian", "none"})) {
            refuse(*time->array, "its calendar is \"" + calendar + "\", whose days are none of ours");
        }
        place(*array, *x, *y);

        Stored stored;
        stored.time = time->dimension;
        stored.y = y->dimension;
        stored.x = x->dimension;
        stored.array = array;
        const std::string unit = given_unit(quantity, *array);
        const auto known = grid_unit(quantity, unit);
        if (!known) {
            refuse(*array,
                   unit.empty() ? std::string("nothing says its unit")
                                : "\"" + unit + "\" is no known unit of " + in_words(quantity),
                   fmt::format("say it in a column map: {} = {{ from = \"{}\", unit = \"{}\" }}", column_of(quantity),
                               array->GetName(), quantity == Quantity::rain ? "mm" : "K"));
        }
        stored.unit = *known;
        bool scaled = false;
        array->GetScale(&scaled);
        bool shifted = false;
        array->GetOffset(&shifted);
        if (scaled || shifted) {
            stored.array = array->GetUnscaled();  // what is missing comes out as NaN
        } else {
            bool has_mark = false;
            if (const double mark = array->GetNoDataValueAsDouble(&has_mark); has_mark) stored.nothing.push_back(mark);
            if (const auto other = array->GetAttribute("missing_value"))
                stored.nothing.push_back(other->ReadAsDouble());
        }
        GridQuantity told;
        told.quantity = quantity;
        told.name = array->GetName();
        told.is_rate = known->is_rate;
        if (quantity == Quantity::rain && told.is_rate && method_in_time(*array, time->array->GetName()) == "point") {
            notes.push_back(told.name +
                            " is the rain of single moments and says nothing of whole hours; it is not kept");
            return;
        }
        put_moments(*array, *time->array, told, stored);
        quantities.push_back(std::move(told));
        stored_.push_back(std::move(stored));
    }

    std::string given_unit(Quantity quantity, const GDALMDArray& array) const {
        const auto given = named_.units.find(column_of(quantity));
        return given == named_.units.end() ? unit_of_array(array) : given->second;
    }

    /// The times of a quantity in their order, and what of the time each value speaks of.
    void put_moments(const GDALMDArray& array, const GDALMDArray& time, GridQuantity& told, Stored& stored) const {
        const TimeUnit unit = *time_unit(unit_of_array(time));
        const std::vector<double> values = all_of_array(time);
        if (values.size() != size_of(array, stored.time)) refuse(time, "its times cannot be read");
        const std::string method = method_in_time(array, time.GetName());
        std::vector<double> bounds;
        if (const Array found = find_array(text_attribute(time, "bounds"))) bounds = all_of_array(*found);
        const bool rain = told.quantity == Quantity::rain;
        const bool bounded = bounds.size() == 2 * values.size() && (rain ? method != "point" : method == "mean");
        std::vector<std::pair<Moment, std::size_t>> moments;
        for (std::size_t i = 0; i < values.size(); ++i) {
            if (!std::isfinite(values[i])) refuse(time, fmt::format("time {} of {} is missing", i + 1, values.size()));
            const auto at = unit.at(values[i]);
            Moment moment{at, at};
            const auto past = at - std::chrono::floor<std::chrono::hours>(at);
            if (bounded) {
                moment = {unit.at(bounds[2 * i]), unit.at(bounds[2 * i + 1])};
            } else if (past == std::chrono::minutes(30) && (rain || method == "mean")) {
                moment = {at - past, at + past};  // the middle of its hour
            }
            moments.emplace_back(moment, i);
        }
        std::stable_sort(moments.begin(), moments.end(),
                         [](const auto& a, const auto& b) { return a.first.to < b.first.to; });
        told.beginning_known =
            std::any_of(moments.begin(), moments.end(), [](const auto& one) { return one.first.from != one.first.to; });
        for (const auto& [moment, index] : moments) {
            if (!told.moments.empty() && told.moments.back().to == moment.to) {
                refuse(time, "the time " + models::to_text(moment.to) + " comes twice", "keep one of the two");
            }
            told.moments.push_back(moment);
            stored.order.push_back(index);
        }
    }

    /// Where the cells of an array lie; all quantities of a file share them.
    void place(const GDALMDArray& array, const Axis& x, const Axis& y) {
        Lattice found;
        found.rows = size_of(array, y.dimension);
        found.columns = size_of(array, x.dimension);
        if (x.array && y.array && is_longitude(*x.array) && is_latitude(*y.array)) {
            found.longitudes_deg = all_of_array(*x.array);
            found.latitudes_deg = all_of_array(*y.array);
        } else if (!take_cells(array, x, y, found)) {
            const auto system = array.GetSpatialRef();
            if (!x.array || !y.array || !system) {
                refuse(array, "nothing says where its cells lie on the earth",
                       "give longitudes and latitudes, or the reference system of x and y, with it");
            }
            char* wkt = nullptr;
            system->exportToWkt(&wkt, nullptr);
            const std::string text = wkt == nullptr ? "" : wkt;
            CPLFree(wkt);
            put_cells_of_axes(found, all_of_array(*x.array), all_of_array(*y.array), text);
        }
        if (lattice.rows == 0) {
            lattice = std::move(found);
            require_places(lattice, file_);
        } else if (!same_places(lattice, found)) {
            refuse(array, "it lies on another grid than " + quantities.front().name,
                   "import the two from files of their own");
        }
    }

    /// Longitudes and latitudes of every cell, as arrays of both dimensions. A file may place the middles of its cells
    /// and their edges: the attribute `coordinates` says which are the quantity's own.
    bool take_cells(const GDALMDArray& array, const Axis& x, const Axis& y, Lattice& found) const {
        const auto& dimensions = array.GetDimensions();
        const std::string x_name = dimensions[x.dimension]->GetName(), y_name = dimensions[y.dimension]->GetName();
        const std::string own = " " + text_attribute(array, "coordinates") + " ";
        const auto cells_that = [&](const auto& fits) {
            std::vector<Array> all, named_ones;
            for (const Array& other : arrays_) {
                const auto& of = other->GetDimensions();
                if (of.size() != 2 || of[0]->GetName() != y_name || of[1]->GetName() != x_name || !fits(*other))
                    continue;
                all.push_back(other);
                if (own.find(" " + other->GetName() + " ") != std::string::npos) named_ones.push_back(other);
            }
            const std::vector<Array>& ones = named_ones.empty() ? all : named_ones;
            if (ones.size() > 1) {
                refuse(
                    array,
                    fmt::format("{} and {} may both say where its cells lie", ones[0]->GetName(), ones[1]->GetName()),
                    "name its own in the attribute coordinates");
            }
            return ones.empty() ? std::vector<double>() : all_of_array(*ones.front());
        };
        found.cell_longitudes_deg = cells_that(is_longitude);
        found.cell_latitudes_deg = cells_that(is_latitude);
        return !found.cell_longitudes_deg.empty() && !found.cell_latitudes_deg.empty();
    }

    void find_reference_time() {
        for (const Array& array : arrays_) {
            if (text_attribute(*array, "standard_name") != "forecast_reference_time") continue;
            const auto unit = time_unit(unit_of_array(*array));
            const std::vector<double> values = all_of_array(*array);
            if (unit && values.size() == 1) made_utc = unit->at(values.front());
        }
    }

    std::string file_;
    const Named named_;
    std::unique_ptr<GDALDataset> dataset_;
    std::shared_ptr<GDALGroup> group_;
    std::vector<Array> arrays_;
    std::vector<Stored> stored_;
};

}  // namespace netcdf

std::unique_ptr<GridSource> open_netcdf(const std::filesystem::path& file, const Named& named) {
    return std::make_unique<netcdf::NetcdfSource>(file, named);
}

}  // namespace geo::grids
