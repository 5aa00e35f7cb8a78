#include "app/drawing/palette.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "app/drawing/axis.h"

namespace app::drawing {

namespace {

double light_of(std::uint8_t channel) {
    const double c = channel / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
}

std::uint8_t channel_of(double light) {
    const double c = light <= 0.0031308 ? 12.92 * light : 1.055 * std::pow(light, 1.0 / 2.4) - 0.055;
    return static_cast<std::uint8_t>(std::lround(255.0 * std::clamp(c, 0.0, 1.0)));
}

/// A colour by its strength and its direction on the colour circle of OKLab.
struct Hue {
    double chroma, angle_deg;
};

/// Lightness goes in a straight line; a and b follow the Bezier curve of five colours. The chroma is kept low enough
/// that no colour has to be clipped, for clipping would bend the lightness.
Ramp ramp_along(const std::array<Hue, 5>& path, double first, double last) {
    constexpr std::array<double, 5> binomial = {1.0, 4.0, 6.0, 4.0, 1.0};
    std::array<Colour, Ramp::steps> colours;
    for (int i = 0; i < Ramp::steps; ++i) {
        const double t = i / (Ramp::steps - 1.0);
        OkLab lab{first + (last - first) * t, 0.0, 0.0};
        for (std::size_t k = 0; k < path.size(); ++k) {
            const double weight =
                binomial[k] * std::pow(1.0 - t, 4.0 - static_cast<double>(k)) * std::pow(t, static_cast<double>(k));
            const double angle = path[k].angle_deg * std::numbers::pi / 180.0;
            lab.a += weight * path[k].chroma * std::cos(angle);
            lab.b += weight * path[k].chroma * std::sin(angle);
        }
        colours[static_cast<std::size_t>(i)] = colour_of(lab);
    }
    return Ramp(colours);
}

}  // namespace

OkLab oklab_of(Colour colour) {
    const double r = light_of(colour.red), g = light_of(colour.green), b = light_of(colour.blue);
    const double l = std::cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
    const double m = std::cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
    const double s = std::cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
    return {0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
            1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
            0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s};
}

Colour colour_of(const OkLab& lab) {
    const auto cube = [](double x) { return x * x * x; };
    const double l = cube(lab.lightness + 0.3963377774 * lab.a + 0.2158037573 * lab.b);
    const double m = cube(lab.lightness - 0.1055613458 * lab.a - 0.0638541728 * lab.b);
    const double s = cube(lab.lightness - 0.0894841775 * lab.a - 1.2914855480 * lab.b);
    return {channel_of(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
            channel_of(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
            channel_of(-0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s)};
}

Colour Ramp::at(double share) const {
    if (!std::isfinite(share)) return {0, 0, 0, 0};
    return colours_[static_cast<std::size_t>(std::lround(std::clamp(share, 0.0, 1.0) * (steps - 1)))];
}

// On a dark screen a dark colour is what is seen last: there the same hues grow lighter.
constexpr double first_on_dark = 0.35, last_on_dark = 0.955;

const Ramp& content_ramp(const Theme& theme) {
    static const Ramp on_light =
        ramp_along({{{0.055, 98}, {0.06, 75}, {0.12, 5}, {0.16, -20}, {0.085, -48}}}, 0.95, 0.26);
    static const Ramp on_dark =
        ramp_along({{{0.06, 98}, {0.075, 70}, {0.16, 5}, {0.115, -12}, {0.022, -20}}}, first_on_dark, last_on_dark);
    return theme.on_dark ? on_dark : on_light;
}

const Ramp& exceedance_ramp(const Theme& theme) {
    static const Ramp on_light =
        ramp_along({{{0.018, 200}, {0.07, 210}, {0.12, 225}, {0.09, 240}, {0.06, 250}}}, 0.95, 0.28);
    static const Ramp on_dark =
        ramp_along({{{0.03, 210}, {0.08, 215}, {0.14, 230}, {0.09, 235}, {0.015, 240}}}, first_on_dark, last_on_dark);
    return theme.on_dark ? on_dark : on_light;
}

const Ramp& ranking_ramp(const Theme& theme) {
    static const Ramp on_light = ramp_along({{{0.03, 85}, {0.08, 80}, {0.11, 70}, {0.09, 60}, {0.05, 55}}}, 0.95, 0.30);
    static const Ramp on_dark =
        ramp_along({{{0.04, 70}, {0.07, 62}, {0.13, 65}, {0.10, 75}, {0.035, 88}}}, first_on_dark, last_on_dark);
    return theme.on_dark ? on_dark : on_light;
}

double ContentScale::share(double don_mg_per_kg) const {
    if (std::isnan(don_mg_per_kg)) return don_mg_per_kg;
    if (don_mg_per_kg <= low_mg_per_kg) return 0.0;
    return std::min(1.0, std::log(don_mg_per_kg / low_mg_per_kg) / std::log(high_mg_per_kg / low_mg_per_kg));
}

double ContentScale::content_mg_per_kg(double share) const {
    return low_mg_per_kg * std::pow(high_mg_per_kg / low_mg_per_kg, share);
}

Colour ContentScale::colour(double don_mg_per_kg, const Theme& theme) const {
    return content_ramp(theme).at(share(don_mg_per_kg));
}

bool ContentScale::holds(double don_mg_per_kg) const {
    return don_mg_per_kg >= low_mg_per_kg * (1.0 - 1e-9) && don_mg_per_kg <= high_mg_per_kg * (1.0 + 1e-9);
}

ContentScale content_colours(std::optional<double> limit_mg_per_kg) {
    const double limit =
        limit_mg_per_kg && std::isfinite(*limit_mg_per_kg) && *limit_mg_per_kg > 0.0 ? *limit_mg_per_kg : 1.0;
    return {limit / 10.0, limit * 10.0};
}

ContentScale content_scale_for(const std::vector<double>& contents_mg_per_kg, double limit_mg_per_kg) {
    constexpr double least_span = 20.0;
    double low = 0.0, high = 0.0;
    const auto hold = [&](double content) {
        if (!std::isfinite(content) || content <= 0.0) return;
        low = low > 0.0 ? std::min(low, content) : content;
        high = std::max(high, content);
    };
    for (const double content : contents_mg_per_kg) hold(content);
    hold(limit_mg_per_kg);
    if (!(low > 0.0)) return {};
    ContentScale scale{round_down_125(low), round_up_125(high)};
    // Widened in turn on both sides, below first, so that the limit does not end up at an edge.
    for (bool below = true; scale.high_mg_per_kg / scale.low_mg_per_kg < least_span * (1 - 1e-9); below = !below) {
        if (below)
            scale.low_mg_per_kg = round_down_125(scale.low_mg_per_kg * 0.99);
        else
            scale.high_mg_per_kg = round_up_125(scale.high_mg_per_kg * 1.01);
    }
    return scale;
}

const char* word_of(ThemeName name) {
    switch (name) {
        case ThemeName::light:
            return "light";
        case ThemeName::dark:
            return "dark";
        case ThemeName::outdoor:
            return "outdoor";
    }
    return "";
}

std::optional<ThemeName> theme_named(const std::string& word) {
    for (const ThemeName name : theme_names)
        if (word == word_of(name)) return name;
    return std::nullopt;
}

const Theme& theme_of(ThemeName name) {
    switch (name) {
        case ThemeName::light:
            break;
        case ThemeName::dark:
            return dark_theme();
        case ThemeName::outdoor:
            return outdoor_theme();
    }
    return light_theme();
}

const Theme& light_theme() {
    static const Theme theme = {.paper = {255, 255, 255},
                                .panel = {250, 249, 246},
                                .ground = {240, 238, 233},
                                .ink = {28, 27, 31},
                                .soft_ink = {88, 86, 94},
                                .line = {205, 202, 196},
                                .unknown = {222, 220, 215},
                                .hatch_dark = {28, 27, 31, 150},
                                .hatch_light = {255, 255, 255, 170},
                                .accent = {24, 88, 208}};
    return theme;
}

const Theme& dark_theme() {
    static const Theme theme = {.paper = {26, 26, 30},
                                .panel = {36, 36, 41},
                                .ground = {46, 46, 51},
                                .ink = {240, 239, 235},
                                .soft_ink = {176, 174, 170},
                                .line = {84, 83, 88},
                                .unknown = {92, 91, 96},
                                .hatch_dark = {20, 20, 24, 160},
                                .hatch_light = {255, 255, 255, 150},
                                .accent = {122, 170, 255},
                                .on_dark = true};
    return theme;
}

const Theme& outdoor_theme() {
    static const Theme theme = {.paper = {255, 255, 255},
                                .panel = {255, 255, 255},
                                .ground = {255, 255, 255},
                                .ink = {0, 0, 0},
                                .soft_ink = {40, 40, 40},
                                .line = {150, 150, 150},
                                .unknown = {215, 215, 215},
                                .hatch_dark = {0, 0, 0, 210},
                                .hatch_light = {255, 255, 255, 230},
                                .accent = {0, 60, 190}};
    return theme;
}

Look look_for(double width, double height) {
    Look look;
    look.text_px = std::max(12.0, std::floor(2.0 * std::min(width / 84.0, height / 56.0)) / 2.0);
    return look;
}

Look page_look(double text_pt) {
    Look look;
    look.text_px = text_pt;
    look.hairline_px = 0.4;
    look.least_text_px = 5.0;
    return look;
}

double contrast_ratio(Colour a, Colour b) {
    const auto luminance = [](Colour c) {
        return 0.2126 * light_of(c.red) + 0.7152 * light_of(c.green) + 0.0722 * light_of(c.blue);
    };
    const auto [darker, lighter] = std::minmax({luminance(a), luminance(b)});
    return (lighter + 0.05) / (darker + 0.05);
}

Colour readable_ink_on(Colour background) {
    constexpr Colour black{0, 0, 0}, white{255, 255, 255};
    return contrast_ratio(black, background) >= contrast_ratio(white, background) ? black : white;
}

Colour blended(Colour below, Colour above, double share_of_above) {
    const double share = std::clamp(share_of_above, 0.0, 1.0);
    const auto mix = [share](std::uint8_t a, std::uint8_t b) {
        return static_cast<std::uint8_t>(std::lround(a + (b - a) * share));
    };
    return {mix(below.red, above.red), mix(below.green, above.green), mix(below.blue, above.blue),
            mix(below.alpha, above.alpha)};
}

Colour with_alpha(Colour colour, double alpha_share) {
    colour.alpha = static_cast<std::uint8_t>(std::lround(255.0 * std::clamp(alpha_share, 0.0, 1.0)));
    return colour;
}

}  // namespace app::drawing
