#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace models {

enum class VariogramShape {
    nugget,          ///< 1 for any h > 0: small-scale variation; kept at data, so a map honours them
    error,           ///< 1 for any h > 0: error of the measurement; filtered out of every estimate
    spherical,       ///< 1.5 h/a - 0.5 (h/a)^3, flat beyond a
    exponential,     ///< 1 - exp(-h/a), 95 % of the way at 3 a
    gaussian,        ///< 1 - exp(-(h/a)^2), 95 % of the way at 1.73 a
    matern,          ///< 1 - 2^(1-v)/Gamma(v) (h/a)^v K_v(h/a), v the smoothness; v = 0.5 is the exponential
    pentaspherical,  ///< 15/8 h/a - 5/4 (h/a)^3 + 3/8 (h/a)^5, flat beyond a
    circular,        ///< 2/pi (h/a sqrt(1-(h/a)^2) + asin(h/a)), flat beyond a
    linear,          ///< h in metres: no sill, the number before it is a slope
    power,           ///< h^exponent, 0 < exponent < 2: no sill
    hole,            ///< 1 - exp(-h/damping) sin(h/a)/(h/a): rises above its sill and falls back
};

std::string_view name_of(VariogramShape shape);
std::vector<std::string> variogram_shape_names();

/// One term of a variogram. Anisotropy is geometric: the distance across the azimuth counts 1/ratio times as much as
/// along it, so the range is the range along the azimuth; a huge range with a tiny ratio is zonal.
struct VariogramTerm {
    VariogramShape shape = VariogramShape::nugget;
    double partial_sill = 0.0;  ///< >= 0, in u^2 (linear: u^2 a metre; power: u^2 at 1 m)
    double range_m = 0.0;       ///< > 0, the a of the formula; unused by nugget, error, linear, power
    double smoothness = 0.5;    ///< matern only, 0 < v <= 20
    double exponent = 1.0;      ///< power only
    double damping_m = 0.0;     ///< hole only; 0: not dampened
    double azimuth_deg = 0.0;   ///< of the longest range, clockwise from north
    double ratio = 1.0;         ///< range across the azimuth divided by the range along it, 0 < ratio <= 1

    /// gamma without the sill, at a distance already turned and stretched by azimuth and ratio.
    double unit_semivariance(double distance_m) const;
    /// Length of the separation after turning to the azimuth and stretching the part across it by 1/ratio.
    double anisotropic_distance_m(double dx_m, double dy_m) const;
    /// Distance along the azimuth at which 95 % of the sill are reached; the range itself for shapes flat beyond it;
    /// 0 for nugget and error, infinite without a sill.
    double practical_range_m() const;
};

/// How unlike two values become as their places lie farther apart: a sum of terms.
/// gamma(0) = 0; for h > 0 gamma(h) = sum of partial_sill * shape(h).
/// As text, the form a person writes and the program prints:
///
///     nugget 0.05 + spherical 0.59 range 897 + exponential 0.2 range 300 azimuth 30 ratio 0.5
///     error 0.02 + matern 0.5 range 200 smoothness 1.5;  power 0.0012 exponent 0.9;  hole 1 range 40 damping 90
///
/// Source: Webster & Oliver (2007), Geostatistics for Environmental Scientists, 2nd ed., ch. 5; Chiles & Delfiner
/// (2012), Geostatistics, 2nd ed., ch. 2. Parameters mean what they mean in the R package gstat.
struct VariogramModel {
    std::vector<VariogramTerm> terms;

    VariogramModel() = default;
    explicit VariogramModel(std::vector<VariogramTerm> sum) : terms(std::move(sum)) {}
    /// @throws Error  unknown shape (the nearest known one is named), range <= 0, sill < 0, a word out of place
    static VariogramModel parse(std::string_view text);
    /// The text form; every number with the digits it needs to read back the same.
    std::string to_text() const;
    /// The same refusals as parse, for models put together in code.
    void check() const;

    double semivariance(double dx_m, double dy_m) const;
    /// The same with the processor's longest numbers, for systems whose solution magnifies the last digit a
    /// million times.
    long double extended_semivariance(long double dx_m, long double dy_m) const;
    double nugget() const;           ///< sum of the nugget terms
    double error() const;            ///< sum of the error terms
    double sill() const;             ///< sum of all partial sills; without meaning where a term has no sill
    double structured_sill() const;  ///< the sill without nugget and error
    bool has_sill() const;           ///< false with a linear or power term
    bool is_flat() const;            ///< nothing but nugget and error, or sills of zero
    /// The longest practical range of its terms along their azimuths.
    double practical_range_m() const;
};

}  // namespace models
