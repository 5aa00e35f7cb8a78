#include "geo/work_system.h"

#include <charconv>
#include <cmath>

#include <proj.h>

#include "models/error.h"

namespace geo {

namespace {

/// 47.2 -> "47.2", whatever the locale says about commas.
std::string plain(double value) {
    char buffer[32];
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
    return {buffer, end};
}

}  // namespace

struct WorkSystem::Transform {
    PJ_CONTEXT* context = nullptr;
    PJ* work_from_degrees = nullptr;
    Transform() = default;
    Transform(const Transform&) = delete;
    Transform& operator=(const Transform&) = delete;
    ~Transform() {
        if (work_from_degrees != nullptr) proj_destroy(work_from_degrees);
        if (context != nullptr) proj_context_destroy(context);
    }
};

WorkSystem::WorkSystem(double centre_longitude_deg, double centre_latitude_deg)
    : centre_longitude_deg_(centre_longitude_deg), centre_latitude_deg_(centre_latitude_deg) {
    if (!(std::abs(centre_longitude_deg) <= 180.0) || !(std::abs(centre_latitude_deg) <= 90.0)) {
        throw models::Error("the centre of the work system is no place on earth: longitude " +
                            plain(centre_longitude_deg) + ", latitude " + plain(centre_latitude_deg));
    }
    auto transform = std::make_shared<Transform>();
    transform->context = proj_context_create();
    transform->work_from_degrees = proj_create(transform->context, proj_text().c_str());
    if (transform->work_from_degrees == nullptr) {
        throw models::Error("PROJ refuses the work system " + proj_text());
    }
    transform_ = std::move(transform);
}

WorkSystem WorkSystem::around(double longitude_deg, double latitude_deg) {
    return {std::round(longitude_deg * 100.0) / 100.0, std::round(latitude_deg * 100.0) / 100.0};
}

models::PointM WorkSystem::from_degrees(double longitude_deg, double latitude_deg) const {
    const PJ_COORD degrees = proj_coord(proj_torad(longitude_deg), proj_torad(latitude_deg), 0.0, 0.0);
    const PJ_COORD metres = proj_trans(transform_->work_from_degrees, PJ_FWD, degrees);
    if (!std::isfinite(metres.xy.x) || !std::isfinite(metres.xy.y)) {
        throw models::Error("longitude " + plain(longitude_deg) + ", latitude " + plain(latitude_deg) +
                                " has no place in the work system",
                            "", "check that longitude and latitude are degrees and in this order");
    }
    return {metres.xy.x, metres.xy.y};
}

std::pair<double, double> WorkSystem::to_degrees(const models::PointM& place) const {
    const PJ_COORD degrees =
        proj_trans(transform_->work_from_degrees, PJ_INV, proj_coord(place.x_m, place.y_m, 0.0, 0.0));
    return {proj_todeg(degrees.lp.lam), proj_todeg(degrees.lp.phi)};
}

std::string WorkSystem::proj_text() const {
    return "+proj=laea +lat_0=" + plain(centre_latitude_deg_) + " +lon_0=" + plain(centre_longitude_deg_) +
           " +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs";
}

}  // namespace geo
