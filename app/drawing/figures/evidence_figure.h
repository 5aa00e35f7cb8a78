#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/drawing/figures/map_figure.h"
#include "app/drawing/painter.h"
#include "app/drawing/palette.h"

namespace app::drawing {

/// How unlike results are as their places lie farther apart: a mark a class of distance, with the number of its pairs.
struct PairsPanel {
    std::string title;
    struct Class {
        double distance_m = 0.0, unlike = 0.0;  ///< unlike: half the mean squared difference of ln mg/kg
        long long pairs = 0;
    };
    std::vector<Class> classes;
    /// What the program believes, errors of testing included; empty: nothing.
    std::vector<Point> believed;    ///< x: metres, y: as `unlike`
    double error = 0.0;             ///< what testing alone would show at every distance
    long long few_pairs = 30;       ///< classes with fewer are drawn hollow
    std::string empty;              ///< what is missing, where there are no classes
    std::vector<std::string> says;  ///< sentences below it
};

/// Each result against what all others foretell of it.
struct ForetoldPanel {
    std::string title;
    struct Result {
        TestMark mark = TestMark::value;
        double read_mg_per_kg = 0.0;
        double median = 0.0, low90 = 0.0, high90 = 0.0;
    };
    std::vector<Result> results;
    std::optional<double> limit_mg_per_kg;
    std::string empty;
    std::vector<std::string> says;
};

/// What the contamination map rests on: whether fields, and places within them, are alike where they are near, and how
/// well results foretell one another. Greys and ink; the one accent marks results outside what was foretold.
struct EvidenceFigure {
    std::string title, subtitle;
    PairsPanel between, within;
    ForetoldPanel foretold;
    std::vector<std::string> how_to_read;
    std::string caution;
};
/// Where its three plots stand, for a window that says what they are when pointed at.
struct EvidencePlaces {
    Rect between, within, foretold;
};
/// Three plots beside one another, how they are read below; one below the other where the area is narrow.
EvidencePlaces draw_evidence_figure(Painter& painter, const Rect& area, const EvidenceFigure& figure, const Look& look);
/// The height that it wants at that width, so that no plot is too low to be read.
double height_of_evidence_figure(double width, const Look& look);

}  // namespace app::drawing
