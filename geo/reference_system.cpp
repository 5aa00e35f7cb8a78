#include "geo/reference_system.h"

#include <cmath>

#include <proj.h>

#include "geo/outlines.h"
#include "models/error.h"

namespace geo {

namespace {

struct DestroyPj {
    void operator()(PJ* object) const { proj_destroy(object); }
};
using PjPtr = std::unique_ptr<PJ, DestroyPj>;
struct DestroyPjContext {
    void operator()(PJ_CONTEXT* context) const { proj_context_destroy(context); }
};

void say_nothing(void*, int, const char*) {}

std::string short_text(const std::string& system) {
    return system.size() <= 60 ? system : system.substr(0, 57) + "...";
}

/// The horizontal system itself: out of a compound one, and without the datum shift tied to it.
PjPtr horizontal_part(PJ_CONTEXT* context, const PJ* system) {
    PjPtr part(proj_clone(context, system));
    while (part) {
        const PJ_TYPE type = proj_get_type(part.get());
        if (type == PJ_TYPE_COMPOUND_CRS) {
            part.reset(proj_crs_get_sub_crs(context, part.get(), 0));
        } else if (type == PJ_TYPE_BOUND_CRS) {
            part.reset(proj_get_source_crs(context, part.get()));
        } else {
            return part;
        }
    }
    return part;
}

}  // namespace

struct ToDegrees::Operation {
    std::unique_ptr<PJ_CONTEXT, DestroyPjContext> context;
    PjPtr degrees_from_system;
    std::string name;
    bool in_degrees = false;
    bool is_planar = false;
    bool has_area = false;
    double west = 0.0, south = 0.0, east = 0.0, north = 0.0;
};

ToDegrees::ToDegrees(const std::string& system) {
    auto operation = std::make_shared<Operation>();
    operation->context.reset(proj_context_create());
    PJ_CONTEXT* context = operation->context.get();
    proj_log_func(context, nullptr, say_nothing);
    const auto refuse = [&](const std::string& what) {
        throw models::Error(what, "", "name the system by its EPSG number, for example EPSG:25832");
    };

    // "+proj=utm +zone=32" alone is an operation to PROJ; as a system it needs to say so.
    const bool bare_proj_text = system.starts_with('+') && system.find("+type=crs") == std::string::npos;
    PjPtr source(proj_create(context, (bare_proj_text ? system + " +type=crs" : system).c_str()));
    if (!source || proj_is_crs(source.get()) == 0) {
        refuse("the reference system \"" + short_text(system) + "\" is not known");
    }
    if (proj_get_type(source.get()) == PJ_TYPE_COMPOUND_CRS) source = horizontal_part(context, source.get());
    const PjPtr plain = horizontal_part(context, source.get());
    if (!plain) refuse("the reference system \"" + short_text(system) + "\" has no horizontal part");
    operation->name = proj_get_name(plain.get());
    if (operation->name == "unknown") operation->name = short_text(system);
    const PJ_TYPE type = proj_get_type(plain.get());
    operation->is_planar = type == PJ_TYPE_PROJECTED_CRS;
    if (type == PJ_TYPE_GEOGRAPHIC_2D_CRS || type == PJ_TYPE_GEOGRAPHIC_3D_CRS) {
        const PjPtr axes(proj_crs_get_coordinate_system(context, plain.get()));
        double radians = 0.0;
        if (axes && proj_cs_get_axis_info(context, axes.get(), 0, nullptr, nullptr, nullptr, &radians, nullptr, nullptr,
                                          nullptr) != 0) {
            operation->in_degrees = std::abs(radians - 0.017453292519943295) < 1e-9;
        }
    }
    double west = 0.0, south = 0.0, east = 0.0, north = 0.0;
    if (proj_get_area_of_use(context, plain.get(), &west, &south, &east, &north, nullptr) != 0 && west > -1000.0) {
        operation->has_area = true;
        operation->west = west;
        operation->south = south;
        operation->east = east;
        operation->north = north;
    }

    const PjPtr wgs84(proj_create(context, "EPSG:4326"));
    const PjPtr best(proj_create_crs_to_crs_from_pj(context, source.get(), wgs84.get(), nullptr, nullptr));
    if (best) operation->degrees_from_system.reset(proj_normalize_for_visualization(context, best.get()));
    if (!operation->degrees_from_system) {
        refuse("the reference system \"" + short_text(operation->name) + "\" has no known relation to WGS 84");
    }
    operation_ = std::move(operation);
}

std::optional<PointDeg> ToDegrees::operator()(double x, double y) const {
    const PJ_COORD place = proj_trans(operation_->degrees_from_system.get(), PJ_FWD, proj_coord(x, y, 0.0, 0.0));
    if (!std::isfinite(place.xy.x) || !std::isfinite(place.xy.y)) return std::nullopt;
    return PointDeg{place.xy.x, place.xy.y};
}

const std::string& ToDegrees::name() const {
    return operation_->name;
}
bool ToDegrees::in_degrees() const {
    return operation_->in_degrees;
}
bool ToDegrees::is_planar() const {
    return operation_->is_planar;
}

std::optional<double> ToDegrees::accuracy_m() const {
    const PjPtr used(proj_trans_get_last_used_operation(operation_->degrees_from_system.get()));
    if (!used) return std::nullopt;
    const double accuracy = proj_coordoperation_get_accuracy(operation_->context.get(), used.get());
    if (accuracy < 0.0) return std::nullopt;
    return accuracy;
}

bool ToDegrees::ballpark() const {
    const PjPtr used(proj_trans_get_last_used_operation(operation_->degrees_from_system.get()));
    return used && proj_coordoperation_has_ballpark_transformation(operation_->context.get(), used.get()) != 0;
}

bool ToDegrees::covers(const PointDeg& place, double margin_deg) const {
    if (!operation_->has_area) return true;
    if (place.latitude_deg < operation_->south - margin_deg || place.latitude_deg > operation_->north + margin_deg) {
        return false;
    }
    double width = operation_->east - operation_->west;
    if (width < 0.0) width += 360.0;  // the area crosses the 180th meridian
    double from_west = place.longitude_deg - (operation_->west - margin_deg);
    from_west -= 360.0 * std::floor(from_west / 360.0);
    return from_west <= width + 2.0 * margin_deg;
}

}  // namespace geo
