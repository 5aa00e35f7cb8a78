#include "demo-data/smooth_field.h"

#include <cmath>
#include <numbers>

#include "demo-data/landscape.h"

namespace demo {

SmoothField::SmoothField(Draws draws, double range_m) : waves_{} {
    for (Wave& wave : waves_) {
        const double x = draws.normal(), y = draws.normal();
        const double scale = 1.0 / (range_m * std::abs(draws.normal()));
        wave = {x * scale, y * scale, draws.uniform(0.0, 2.0 * std::numbers::pi)};
    }
}

double SmoothField::at(const models::PointM& place) const {
    double sum = 0.0;
    for (const Wave& wave : waves_) sum += std::cos(wave.along_x * place.x_m + wave.along_y * place.y_m + wave.phase);
    return sum * std::sqrt(2.0 / static_cast<double>(waves_.size()));
}

WithinCrop::WithinCrop(const models::OutlineM& outline, Draws draws, double sd, double share, double range)
    : sd_log(sd), structured_share(share), range_m(range), smooth_(draws, range) {
    smooth_sd_ = sd * std::sqrt(share);
    handful_sd_ = sd * std::sqrt(1.0 - share);
    double sum = 0.0;
    const std::vector<models::PointM> places = grid_inside(outline, 25.0);
    for (const models::PointM& place : places) sum += std::exp(smooth_sd_ * smooth_.at(place));
    if (!places.empty()) mean_ = sum / static_cast<double>(places.size());
}

double WithinCrop::smooth_factor(const models::PointM& place) const {
    return std::exp(smooth_sd_ * smooth_.at(place)) / mean_;
}

double WithinCrop::handful_factor(const models::PointM& place, Draws& draws) const {
    return smooth_factor(place) * std::exp(handful_sd_ * draws.normal() - 0.5 * handful_sd_ * handful_sd_);
}

}  // namespace demo
