#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"

namespace app::drawing {

/// Lightness, green-red, blue-yellow: the space in which equal steps look equal.
/// Source: B. Ottosson (2020), "A perceptual color space for image processing" (OKLab).
struct OkLab {
    double lightness = 0.0, a = 0.0, b = 0.0;
};
OkLab oklab_of(Colour colour);
Colour colour_of(const OkLab& lab);  ///< clipped to what a screen can show

struct Theme;

/// A row of colours in one direction, in equal steps of lightness, so that it reads the same to everyone and in a grey
/// print. The higher the value the more it stands out: darker on paper, lighter on a dark screen. Of our own making:
/// see palette.cpp for the paths through OKLab.
class Ramp {
 public:
    static constexpr int steps = 256;
    explicit Ramp(const std::array<Colour, steps>& colours) : colours_(colours) {}
    Colour at(double share) const;  ///< 0 to 1, clamped; not a number: transparent
    const std::array<Colour, steps>& colours() const { return colours_; }

 private:
    std::array<Colour, steps> colours_;
};
const Theme& light_theme();
/// DON content: straw, rose, plum; on dark olive, rose, pale pink.
const Ramp& content_ramp(const Theme& theme = light_theme());
/// Chance of lying over a limit: mist to petrol; on dark the other way round.
const Ramp& exceedance_ramp(const Theme& theme = light_theme());
/// Disease risk as a ranking, where no content is known: sand to umber; on dark the other way round.
const Ramp& ranking_ramp(const Theme& theme = light_theme());

/// Contents are coloured on the logarithm of mg/kg between two round ends; what lies beyond an end has its colour.
struct ContentScale {
    double low_mg_per_kg = 0.1;
    double high_mg_per_kg = 10.0;
    double share(double don_mg_per_kg) const;  ///< 0 to 1, clamped
    double content_mg_per_kg(double share) const;
    Colour colour(double don_mg_per_kg, const Theme& theme = light_theme()) const;
    bool holds(double don_mg_per_kg) const;  ///< not beyond an end
};
/// The colours of contents around a limit, the same for every store and season, on screen, in pictures and on paper:
/// from a tenth of the limit to ten times it, the limit in the middle, so that a grain keeps its colour whatever else
/// was tested. Without a limit they stand around 1 mg/kg. The two factors are ours.
ContentScale content_colours(std::optional<double> limit_mg_per_kg);
/// For an axis of places, not of colours. The ends (1, 2 or 5 times a power of ten) that hold these contents and the
/// limit, at least a factor of 20 apart. Contents that are not above zero are left out.
ContentScale content_scale_for(const std::vector<double>& contents_mg_per_kg, double limit_mg_per_kg);

/// The colours that carry no number. One accent, for what the reader has chosen or is asked to look at.
struct Theme {
    Colour paper;        ///< behind everything
    Colour panel;        ///< behind a legend or a note
    Colour ground;       ///< behind the fields of a map
    Colour ink;          ///< text, limit lines
    Colour soft_ink;     ///< second text, ticks
    Colour line;         ///< frames, grid lines
    Colour unknown;      ///< a field about which nothing is known
    Colour hatch_dark;   ///< hatching on light colours
    Colour hatch_light;  ///< hatching on dark colours
    Colour accent;
    bool on_dark = false;  ///< what stands out is light
};
enum class ThemeName { light, dark, outdoor };
inline constexpr ThemeName theme_names[] = {ThemeName::light, ThemeName::dark, ThemeName::outdoor};
/// The word that --theme takes, and back.
const char* word_of(ThemeName name);
std::optional<ThemeName> theme_named(const std::string& word);
const Theme& theme_of(ThemeName name);
const Theme& dark_theme();
const Theme& outdoor_theme();  ///< black on white, for bright light

/// How figures are set: the size of running text in pixels of the picture, and the colours.
struct Look {
    double text_px = 14.0;
    Theme theme = light_theme();
    double hairline_px = 1.0;    ///< no line is thinner
    double least_text_px = 8.0;  ///< no text is smaller
};
/// Text that can be read at arm's length in a picture of that size; 12 px at least.
Look look_for(double width, double height);
/// For a printed page, where a pixel of the drawing is a point (1/72 inch): finer lines and smaller labels can be read.
Look page_look(double text_pt);

/// Black or white, whichever stands out more: at least 4.5 to 1 on any colour, as small text needs.
/// Source: Web Content Accessibility Guidelines 2.1 (W3C), 1.4.3 and the definition of the contrast ratio.
Colour readable_ink_on(Colour background);
double contrast_ratio(Colour a, Colour b);  ///< 1 to 21
Colour blended(Colour below, Colour above, double share_of_above);
Colour with_alpha(Colour colour, double alpha_share);

}  // namespace app::drawing
