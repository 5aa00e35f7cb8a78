#pragma once

#include <array>
#include <vector>

#include "demo-data/counter_random.h"
#include "models/geometry.h"

namespace demo {

/// A Gaussian field over the plane, known at every place: mean 0, variance 1, covariance exp(-h / range). A sum of
/// cosines whose wave numbers are drawn from the covariance's spectral density, in two dimensions a bivariate Student
/// law with one degree of freedom (Lantuejoul 2002, Geostatistical Simulation, ch. 15).
class SmoothField {
 public:
    SmoothField(Draws draws, double range_m);
    double at(const models::PointM& place) const;

 private:
    struct Wave {
        double along_x, along_y, phase;
    };
    std::array<Wave, 240> waves_;
};

/// How DON varies inside one crop, as a factor on the crop's mean: exp of a smooth field and of what no map can show
/// (from handful to handful), made so that its mean over the outline is 1.
class WithinCrop {
 public:
    /// @param sd_log  of log DON from place to place;  @param structured_share  0 to 1 of its variance is smooth
    WithinCrop(const models::OutlineM& outline, Draws draws, double sd_log, double structured_share, double range_m);

    double smooth_factor(const models::PointM& place) const;
    double handful_factor(const models::PointM& place, Draws& draws) const;

    double sd_log, structured_share, range_m;

 private:
    SmoothField smooth_;
    double smooth_sd_ = 0.0, handful_sd_ = 0.0;
    double mean_ = 1.0;
};

}  // namespace demo
