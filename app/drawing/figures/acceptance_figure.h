#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// The chance that a lot is accepted, for the contents it may have.
struct AcceptanceCurve {
    std::string name;  ///< the plan in words
    struct At {
        double content_mg_per_kg = 0.0, accepted = 0.0;
    };
    std::vector<At> points;  ///< contents ascending
};
/// A content that a target speaks of, and how much of its wrong decision it allows.
struct AcceptanceTarget {
    double content_mg_per_kg = 0.0;
    double most_wrong = 0.0;  ///< good lots turned away, bad lots accepted; 0 to 1
};

/// How a sampling plan judges lots of every content: its operating characteristic. What lies over the curve before the
/// limit is the seller's risk, what lies under it beyond the limit the buyer's.
struct AcceptanceFigure {
    std::string title, subtitle;
    double limit_mg_per_kg = 1.0;     ///< the line that is drawn
    double breaking_mg_per_kg = 1.0;  ///< from which a content is over, where the two risks part
    AcceptanceCurve plan;
    std::optional<AcceptanceCurve> other;  ///< drawn dashed: the cheapest plan
    std::optional<AcceptanceTarget> good, bad;
    std::vector<std::string> notes;
    std::string caution;
};
void draw_acceptance_figure(Painter& painter, const Rect& area, const AcceptanceFigure& figure, const Look& look);

}  // namespace app::drawing
