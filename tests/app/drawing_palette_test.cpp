#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include <catch2/catch.hpp>

#include "app/drawing/palette.h"

using namespace app::drawing;

namespace {

using Matrix = std::array<std::array<double, 3>, 3>;

// What someone without the middle or the long cones sees of a colour, on linear light: Machado, Oliveira and Fernandes
// (2009), IEEE Transactions on Visualization and Computer Graphics 15(6), 1291-1298, severity 1.0.
constexpr Matrix deuteranopia = {
    {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}};
constexpr Matrix protanopia = {
    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}}};
constexpr Matrix everyone = {{{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}}};

OkLab seen(Colour colour, const Matrix& eye) {
    const auto light = [](std::uint8_t c) {
        const double x = c / 255.0;
        return x <= 0.04045 ? x / 12.92 : std::pow((x + 0.055) / 1.055, 2.4);
    };
    const auto channel = [](double x) {
        const double y = std::clamp(x, 0.0, 1.0);
        return static_cast<std::uint8_t>(
            std::lround(255.0 * (y <= 0.0031308 ? 12.92 * y : 1.055 * std::pow(y, 1.0 / 2.4) - 0.055)));
    };
    const std::array<double, 3> in = {light(colour.red), light(colour.green), light(colour.blue)};
    std::array<double, 3> out{};
    for (std::size_t i = 0; i < 3; ++i)
        for (std::size_t j = 0; j < 3; ++j) out[i] += eye[i][j] * in[j];
    return oklab_of({channel(out[0]), channel(out[1]), channel(out[2])});
}

double distance(const OkLab& p, const OkLab& q) {
    return std::sqrt(std::pow(p.lightness - q.lightness, 2) + std::pow(p.a - q.a, 2) + std::pow(p.b - q.b, 2));
}

const std::array<const Ramp*, 3> on_light = {&content_ramp(), &exceedance_ramp(), &ranking_ramp()};
const std::array<const Ramp*, 3> on_dark = {&content_ramp(dark_theme()), &exceedance_ramp(dark_theme()),
                                            &ranking_ramp(dark_theme())};
const std::array<const Ramp*, 6> ramps = {on_light[0], on_light[1], on_light[2], on_dark[0], on_dark[1], on_dark[2]};

/// From a value to a higher one: positive where the colour moves away from what it lies on.
double rise(const Ramp* ramp, const OkLab& low, const OkLab& high) {
    const bool dark = std::find(on_dark.begin(), on_dark.end(), ramp) != on_dark.end();
    return dark ? high.lightness - low.lightness : low.lightness - high.lightness;
}

}  // namespace

TEST_CASE("the colours of a screen have their published places in OKLab") {
    // Sample conversions of the primaries, CSS Color Module Level 4 (W3C).
    const auto check = [](Colour colour, double lightness, double a, double b) {
        const OkLab lab = oklab_of(colour);
        CHECK(lab.lightness == Approx(lightness).margin(5e-5).epsilon(0.0));
        CHECK(lab.a == Approx(a).margin(5e-5).epsilon(0.0));
        CHECK(lab.b == Approx(b).margin(5e-5).epsilon(0.0));
    };
    check({255, 255, 255}, 1.0, 0.0, 0.0);
    check({0, 0, 0}, 0.0, 0.0, 0.0);
    check({255, 0, 0}, 0.62796, 0.22486, 0.12585);
    check({0, 255, 0}, 0.86644, -0.23389, 0.17950);
    check({0, 0, 255}, 0.45201, -0.03246, -0.31153);
}

TEST_CASE("every colour comes back from OKLab") {
    for (int red = 0; red < 256; red += 15)
        for (int green = 0; green < 256; green += 15)
            for (int blue = 0; blue < 256; blue += 15) {
                const Colour colour{static_cast<std::uint8_t>(red), static_cast<std::uint8_t>(green),
                                    static_cast<std::uint8_t>(blue)};
                const Colour back = colour_of(oklab_of(colour));
                if (back.red != colour.red || back.green != colour.green || back.blue != colour.blue)
                    FAIL("lost: " << red << " " << green << " " << blue);
            }
}

TEST_CASE("a ramp darkens on paper and grows lighter on a dark screen, in equal steps of lightness") {
    for (const Ramp* ramp : ramps) {
        constexpr int steps = 15;
        const double whole = rise(ramp, oklab_of(ramp->at(0.0)), oklab_of(ramp->at(1.0)));
        CHECK(whole > 0.6);
        for (int i = 0; i < steps; ++i) {
            const double step = rise(ramp, oklab_of(ramp->at(i / 15.0)), oklab_of(ramp->at((i + 1) / 15.0)));
            // Eight bits a channel round lightness by up to 0.003, at either end of the step.
            CHECK(step == Approx(whole / steps).margin(0.006).epsilon(0.0));
        }
    }
}

TEST_CASE("a ramp never turns back: to no eye does a higher value look nearer to what it lies on") {
    for (const Ramp* ramp : ramps)
        for (const Matrix& eye : {everyone, deuteranopia, protanopia})
            for (int i = 0; i + 8 < Ramp::steps; ++i) {
                const auto at = [&](int k) { return seen(ramp->colours()[static_cast<std::size_t>(k)], eye); };
                // Neighbours may share a rounding; eight steps on must be darker, or lighter on dark.
                if (!(rise(ramp, at(i), at(i + 8)) > 0.0)) FAIL("step " << i);
            }
}

TEST_CASE("nine steps of a ramp can be told apart by every eye and in a grey print") {
    for (const Ramp* ramp : ramps)
        for (const Matrix& eye : {everyone, deuteranopia, protanopia})
            for (int i = 0; i < 8; ++i) {
                const OkLab a = seen(ramp->at(i / 8.0), eye), b = seen(ramp->at((i + 1) / 8.0), eye);
                // 0.02 in OKLab is the difference that CSS Color 4 calls just noticeable.
                CHECK(distance(a, b) > 3.0 * 0.02);
                CHECK(rise(ramp, a, b) > 2.0 * 0.02);
            }
}

TEST_CASE("no ramp runs through the colours of a traffic light") {
    // Green and amber have hue angles of about 90 to 160 degrees with strong colour; nothing strong may lie there, and
    // no bright red either.
    for (const Ramp* ramp : ramps)
        for (const Colour colour : ramp->colours()) {
            const OkLab lab = oklab_of(colour);
            const double chroma = std::hypot(lab.a, lab.b), hue = std::atan2(lab.b, lab.a) * 180.0 / 3.14159265358979;
            CHECK_FALSE((chroma > 0.1 && hue > 80.0 && hue < 165.0));
            CHECK_FALSE((chroma > 0.15 && hue > 15.0 && hue < 50.0));
        }
}

TEST_CASE("the three ramps cannot be taken for each other where they are strong") {
    for (const auto& three : {on_light, on_dark})
        for (const double share : {0.5, 0.65})
            for (std::size_t i = 0; i < three.size(); ++i)
                for (std::size_t j = 0; j < i; ++j)
                    CHECK(distance(oklab_of(three[i]->at(share)), oklab_of(three[j]->at(share))) > 0.08);
}

TEST_CASE("in every theme the highest value stands out most from what the fields lie on, and the lowest least") {
    for (const Theme& theme : {light_theme(), dark_theme(), outdoor_theme()})
        for (const Ramp* ramp : {&content_ramp(theme), &exceedance_ramp(theme), &ranking_ramp(theme)}) {
            double before = 0.0;
            for (int i = 0; i <= 8; ++i) {
                const double contrast = contrast_ratio(ramp->at(i / 8.0), theme.ground);
                // The palest colours differ little from paper, which is between them.
                if (i > 2) CHECK(contrast > before);
                before = contrast;
            }
            // As large shapes need. Source: Web Content Accessibility Guidelines 2.1 (W3C), 1.4.11.
            CHECK(before > 3.0);
            CHECK(contrast_ratio(ramp->at(0.0), theme.ground) < 2.0);
        }
}

namespace {

/// CIE 1976 L*a*b* under D65. Source: CIE 15:2004; sRGB from IEC 61966-2-1.
struct CieLab {
    double l, a, b;
};

CieLab cielab_of(const std::array<double, 3>& linear) {
    const double x = 0.4124564 * linear[0] + 0.3575761 * linear[1] + 0.1804375 * linear[2];
    const double y = 0.2126729 * linear[0] + 0.7151522 * linear[1] + 0.0721750 * linear[2];
    const double z = 0.0193339 * linear[0] + 0.1191920 * linear[1] + 0.9503041 * linear[2];
    const auto f = [](double t) { return t > 216.0 / 24389.0 ? std::cbrt(t) : (24389.0 / 27.0 * t + 16.0) / 116.0; };
    const double fx = f(x / 0.95047), fy = f(y), fz = f(z / 1.08883);
    return {116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)};
}

CieLab cielab_seen(Colour colour, const Matrix& eye) {
    const auto light = [](std::uint8_t c) {
        const double x = c / 255.0;
        return x <= 0.04045 ? x / 12.92 : std::pow((x + 0.055) / 1.055, 2.4);
    };
    const std::array<double, 3> in = {light(colour.red), light(colour.green), light(colour.blue)};
    std::array<double, 3> out{};
    for (std::size_t i = 0; i < 3; ++i) {
        for (std::size_t j = 0; j < 3; ++j) out[i] += eye[i][j] * in[j];
        out[i] = std::clamp(out[i], 0.0, 1.0);
    }
    return cielab_of(out);
}

/// CIEDE2000. Source: G. Sharma, W. Wu, E. N. Dalal (2005), Color Research & Application 30(1), 21-30, equations 2-22.
double ciede2000(const CieLab& p, const CieLab& q) {
    constexpr double degree = 3.14159265358979323846 / 180.0;
    const auto seventh = [](double c) { return std::pow(c, 7.0) / (std::pow(c, 7.0) + std::pow(25.0, 7.0)); };
    const double g = 0.5 * (1.0 - std::sqrt(seventh((std::hypot(p.a, p.b) + std::hypot(q.a, q.b)) / 2.0)));
    const double a1 = (1.0 + g) * p.a, a2 = (1.0 + g) * q.a;
    const double c1 = std::hypot(a1, p.b), c2 = std::hypot(a2, q.b);
    const auto hue = [&](double a, double b) {
        if (a == 0.0 && b == 0.0) return 0.0;
        const double h = std::atan2(b, a) / degree;
        return h < 0.0 ? h + 360.0 : h;
    };
    const double h1 = hue(a1, p.b), h2 = hue(a2, q.b);
    double dh = c1 * c2 == 0.0 ? 0.0 : h2 - h1;
    if (dh > 180.0) dh -= 360.0;
    if (dh < -180.0) dh += 360.0;
    double mean_h = h1 + h2;
    if (c1 * c2 != 0.0) {
        if (std::abs(h1 - h2) > 180.0) mean_h += mean_h < 360.0 ? 360.0 : -360.0;
        mean_h /= 2.0;
    }
    const double dl = q.l - p.l, dc = c2 - c1, dhh = 2.0 * std::sqrt(c1 * c2) * std::sin(dh / 2.0 * degree);
    const double mean_l = (p.l + q.l) / 2.0, mean_c = (c1 + c2) / 2.0;
    const double t = 1.0 - 0.17 * std::cos((mean_h - 30.0) * degree) + 0.24 * std::cos(2.0 * mean_h * degree) +
                     0.32 * std::cos((3.0 * mean_h + 6.0) * degree) - 0.20 * std::cos((4.0 * mean_h - 63.0) * degree);
    const double rotation =
        -std::sin(60.0 * std::exp(-std::pow((mean_h - 275.0) / 25.0, 2.0)) * degree) * 2.0 * std::sqrt(seventh(mean_c));
    const double sl = 1.0 + 0.015 * std::pow(mean_l - 50.0, 2.0) / std::sqrt(20.0 + std::pow(mean_l - 50.0, 2.0));
    const double l = dl / sl, c = dc / (1.0 + 0.045 * mean_c), h = dhh / (1.0 + 0.015 * mean_c * t);
    return std::sqrt(l * l + c * c + h * h + rotation * c * h);
}

}  // namespace

TEST_CASE("the difference of colours is that of its published pairs") {
    // Table 1 of Sharma, Wu and Dalal (2005).
    const auto check = [](const CieLab& p, const CieLab& q, double published) {
        CHECK(ciede2000(p, q) == Approx(published).margin(5e-5).epsilon(0.0));
        CHECK(ciede2000(q, p) == Approx(published).margin(5e-5).epsilon(0.0));
    };
    check({50.0, 2.6772, -79.7751}, {50.0, 0.0, -82.7485}, 2.0425);
    check({50.0, 3.1571, -77.2803}, {50.0, 0.0, -82.7485}, 2.8615);
    check({50.0, -1.3802, -84.2814}, {50.0, 0.0, -82.7485}, 1.0000);
    check({50.0, 0.0, 0.0}, {50.0, -1.0, 2.0}, 2.3669);
    check({50.0, 2.5, 0.0}, {73.0, 25.0, -18.0}, 27.1492);
    check({60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644);
}

TEST_CASE("neighbouring numbers of a legend have colours that every eye tells apart at a glance") {
    // A difference of 1 is about the least that is seen side by side (CIE 142-2001); colours that are compared across a
    // page want several times as much. Six is ours.
    constexpr double least = 6.0;
    const Theme theme = GENERATE(light_theme(), dark_theme());
    const ContentScale scale = content_colours(1.0);
    std::vector<std::pair<Colour, Colour>> neighbours;
    const std::vector<double> contents = {0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0}, chances = {0.0, 0.25, 0.5, 0.75, 1.0};
    for (std::size_t i = 0; i + 1 < contents.size(); ++i)
        neighbours.emplace_back(scale.colour(contents[i], theme), scale.colour(contents[i + 1], theme));
    for (std::size_t i = 0; i + 1 < chances.size(); ++i)
        neighbours.emplace_back(exceedance_ramp(theme).at(chances[i]), exceedance_ramp(theme).at(chances[i + 1]));
    for (int i = 0; i < 8; ++i)
        neighbours.emplace_back(ranking_ramp(theme).at(i / 8.0), ranking_ramp(theme).at((i + 1) / 8.0));
    for (const auto& [a, b] : neighbours)
        for (const Matrix& eye : {everyone, deuteranopia, protanopia})
            CHECK(ciede2000(cielab_seen(a, eye), cielab_seen(b, eye)) > least);
}

TEST_CASE("a chosen field is told from any colour of a ramp by every eye") {
    // Its rim is the accent on a line of paper: one of the two stands out.
    for (const Theme& theme : {light_theme(), dark_theme(), outdoor_theme()})
        for (const Matrix& eye : {everyone, deuteranopia, protanopia})
            CHECK(ciede2000(cielab_seen(theme.accent, eye), cielab_seen(theme.paper, eye)) > 20.0);
}

TEST_CASE("colours stand around the limit and nowhere else") {
    CHECK(content_colours(1.25).share(1.25) == Approx(0.5));
    CHECK(content_colours(1.25).low_mg_per_kg == Approx(0.125));
    CHECK(content_colours(1.25).high_mg_per_kg == Approx(12.5));
    for (const auto& none : {std::optional<double>{}, std::optional<double>{0.0}, std::optional<double>{std::nan("")}})
        CHECK(content_colours(none).share(1.0) == Approx(0.5));
}

TEST_CASE("contents take equal room on the ramp for equal factors") {
    const ContentScale scale{0.1, 10.0};
    CHECK(scale.share(0.1) == Approx(0.0));
    CHECK(scale.share(1.0) == Approx(0.5));
    CHECK(scale.share(10.0) == Approx(1.0));
    CHECK(scale.share(0.0) == 0.0);
    CHECK(scale.share(50.0) == 1.0);
    CHECK(scale.content_mg_per_kg(scale.share(0.37)) == Approx(0.37));
    CHECK(scale.colour(std::nan("")).alpha == 0);
}

TEST_CASE("the scale of contents has round ends that hold every content and the limit") {
    const auto ends = [](std::vector<double> contents, double limit) {
        const ContentScale scale = content_scale_for(contents, limit);
        return std::pair{scale.low_mg_per_kg, scale.high_mg_per_kg};
    };
    CHECK(ends({0.13, 7.2}, 1.25).first == Approx(0.1));
    CHECK(ends({0.13, 7.2}, 1.25).second == Approx(10.0));
    CHECK(ends({}, 0.0).first == Approx(0.1));
    CHECK(ends({0.0, -1.0, std::nan("")}, 0.0).second == Approx(10.0));
    for (const double content : {0.02, 0.5, 1.0, 33.0}) {
        const auto [low, high] = ends({content}, 1.25);
        CHECK(low <= std::min(content, 1.25));
        CHECK(high >= std::max(content, 1.25));
        CHECK(high / low >= 19.99);
    }
}

TEST_CASE("ink on any colour of a ramp has the contrast that small text needs") {
    // Web Content Accessibility Guidelines 2.1, success criterion 1.4.3: 4.5 to 1.
    CHECK(contrast_ratio({0, 0, 0}, {255, 255, 255}) == Approx(21.0));
    for (const Ramp* ramp : ramps)
        for (const Colour colour : ramp->colours()) CHECK(contrast_ratio(readable_ink_on(colour), colour) >= 4.5);
    for (const Theme& theme : {light_theme(), dark_theme(), outdoor_theme()})
        for (const Colour ground : {theme.paper, theme.panel}) {
            CHECK(contrast_ratio(theme.ink, ground) >= 7.0);
            CHECK(contrast_ratio(theme.soft_ink, ground) >= 4.5);
            CHECK(contrast_ratio(theme.accent, ground) >= 4.5);
        }
}

TEST_CASE("text has the contrast of its theme on everything that it is written on") {
    // Web Content Accessibility Guidelines 2.1 (W3C): 4.5 to 1 for text (1.4.3); outdoors 7 to 1 (1.4.6).
    for (const ThemeName name : theme_names) {
        const Theme& theme = theme_of(name);
        CAPTURE(word_of(name));
        const double least = name == ThemeName::outdoor ? 7.0 : 4.5;
        // Buttons under the pointer and pressed, and the chosen row of a table, as the window blends them.
        const std::vector<Colour> grounds = {theme.paper,
                                             theme.panel,
                                             theme.ground,
                                             blended(theme.panel, theme.accent, 0.15),
                                             blended(theme.panel, theme.accent, 0.3),
                                             blended(theme.paper, theme.accent, 0.18)};
        for (const Colour ground : grounds) CHECK(contrast_ratio(theme.ink, ground) >= least);
        for (const Colour ground : {theme.paper, theme.panel, theme.ground}) {
            CHECK(contrast_ratio(theme.soft_ink, ground) >= least);
            CHECK(contrast_ratio(theme.accent, ground) >= least);
        }
        CHECK(contrast_ratio(theme.paper, theme.accent) >= least);  // the band over numbers of another season
        CHECK(theme_named(word_of(name)) == name);
    }
    CHECK_FALSE(theme_named("neon"));
    // The formula at its published ends, and at a middle grey: (1 + 0.05) / (0.2140 + 0.05), by hand.
    CHECK(contrast_ratio({0, 0, 0}, {0, 0, 0}) == Approx(1.0));
    CHECK(contrast_ratio({127, 127, 127}, {255, 255, 255}) == Approx(4.0).margin(0.01).epsilon(0.0));
}

TEST_CASE("a field is told from the ground of the map in every theme by its colour or by its rim") {
    // WCAG 2.1, 1.4.11: what is needed to see a thing has 3 to 1 against what lies beside it.
    for (const ThemeName name : theme_names) {
        const Theme& theme = theme_of(name);
        CAPTURE(word_of(name));
        for (const Ramp* ramp : ramps)
            for (const Colour colour : ramp->colours())
                CHECK(std::max(contrast_ratio(colour, theme.ground), contrast_ratio(theme.ink, theme.ground)) >= 3.0);
        CHECK(contrast_ratio(theme.ink, theme.ground) >= 4.5);
    }
}
