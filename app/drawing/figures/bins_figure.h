#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// One load (or the opening content) lying in a bin.
struct BinLayer {
    std::string load;
    double mass_t = 0.0;
    std::optional<double> median_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;
    /// What a person should know of it: "it has no result of its own"; empty where a result of its own meets the limit
    /// or the bin has none.
    std::string note = {};
};

struct BinDrawing {
    std::string bin;
    double capacity_t = 0.0;
    std::string purpose;  ///< "food", "feed", "hold", "other", as the reader's words
    bool hold = false;    ///< grain neither cleared nor over: drawn with a dashed outline and said so
    std::optional<double> limit_mg_per_kg;
    std::vector<BinLayer> layers;  ///< from the floor up
    bool layered = true;           ///< false: drawn off mixed or unknown; drawn as one block with its mean
    std::optional<double> mean_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;  ///< of the whole content
    std::optional<double> exceedance;  ///< chance that the content's mean is over the bin's limit
    std::string closed;                ///< why nothing more may go in; empty: open
    std::string note;                  ///< "keep apart: organic"; may be empty
    std::string draw_off = {};         ///< "first in, first out"; may be empty
    std::string coming = {};           ///< waiting loads that the plan sends here: "W26-27, W26-28"; may be empty
    double coming_t = 0.0;             ///< of them
    /// Chance that a buyer's test of the bin reads over its limit, with what the plan sends here; none: not told.
    std::optional<double> rejection = std::nullopt;
    /// The same of the whole content with what the plan sends here; none: nothing comes, or it is not known.
    std::optional<double> planned_mean_mg_per_kg = std::nullopt, planned_low90_mg_per_kg = std::nullopt,
                          planned_high90_mg_per_kg = std::nullopt, planned_exceedance = std::nullopt;
    std::optional<BinLayer> would_be = std::nullopt;  ///< a load that is not in it yet, dashed above what is
};

struct BinsFigure {
    std::string title, subtitle;
    std::vector<BinDrawing> bins;
    std::string caution;
    std::optional<double> limit_mg_per_kg;  ///< that the colours stand around; none: the lowest limit of a bin
    std::optional<ContentScale> scale;      ///< of the colours; none: content_colours of that limit
    bool compact = false;                   ///< for a low window: bins first, few words, the legend below
};
void draw_bins_figure(Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look);
/// The least size at which every bin can be read, no narrower than `width`: for a window that scrolls.
Rect least_bins_area(const Painter& painter, double width, const BinsFigure& figure, const Look& look);
/// The limits of the bins in words, each with its bins: "1 (S1, S2), 1.4 (F1)"; empty where no bin names one.
std::string limits_in_words(const BinsFigure& figure);
/// Which bin of the figure lies under a pixel, for the window; the painter only measures text.
std::optional<std::size_t> bin_under(const Painter& painter, const Rect& area, const BinsFigure& figure,
                                     const Look& look, Point px);
/// Where that bin stands with its words: for a tip that stands beside it.
Rect area_of_bin(const Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look, std::size_t bin);
/// All that is said of a bin, a line each: for a window whose bins are compact.
std::string bin_sentences(const BinDrawing& bin);
/// The layer under a pixel, or beside it with its name, in a sentence; empty where there is none.
std::string layer_sentence_under(const Painter& painter, const Rect& area, const BinsFigure& figure, const Look& look,
                                 Point px);

}  // namespace app::drawing
