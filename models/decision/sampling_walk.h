#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/geometry.h"

namespace models {

enum class WalkShape {
    spread,  ///< stops that cover the ground evenly, in a short order
    w        ///< stops along a W over the length of the field, as it has always been walked
};

struct WalkQuestion {
    OutlineM outline;
    std::vector<OutlineM> keep_out;  ///< ground of it that is not to be sampled: a trial, another crop, a wet corner
    int stops = 20;
    /// From the edge, in metres: outermost passes are turned on, run down and shaded. 12 m, about one working width, is
    /// common practice, no source.
    double headland_m = 12.0;
    WalkShape shape = WalkShape::spread;
    std::optional<PointM> enter_at = std::nullopt;  ///< where one comes into the field
};

struct SamplingWalk {
    std::vector<PointM> stops;     ///< in the order of walking
    double length_m = 0.0;         ///< from where one comes in, else from the first stop, to the last
    double mean_distance_m = 0.0;  ///< of the ground to its nearest stop, root mean square
    double farthest_m = 0.0;       ///< the place that is farthest from every stop
    double headland_m = 0.0;       ///< that was kept off
    std::vector<std::string> notes;
};

/// Where in a field the handfuls of its sample are taken, and in which order one walks there.
///
/// Spread: the ground within the headland, cut into some 2500 cells, is parted into as many compact pieces as there are
/// stops, and a stop is the middle of a piece. The pieces make the mean squared distance of the ground to its nearest
/// stop least (Lloyd's iteration from twenty starts, the best kept):
///   (1/N) sum over cells of min over stops |cell - stop|^2
/// The mean of such stops is a sound mean of the field; where the content depends on place it lies nearer the field's
/// mean than stops at random. Order: where one comes in is known, the shortest found from there; else from every stop
/// of the outermost row, for nobody begins in the middle of a field. Each by the nearest next stop, untangled until no
/// two legs are better exchanged (2-opt). A stop is of the outermost row where no other lies nearer to the edge by more
/// than a quarter of what stops are apart (ours). W: five corners, two on one long side and three on the other, over
/// the longer main axis of the ground; stops at equal distances along what of it lies inside. It leaves corners out,
/// which mean_distance_m shows. A headland that would take more than half of the ground is made narrower, and a note
/// says so. Nothing is drawn by chance: the same question has the same answer. Sources: Walvoort, Brus & de Gruijter
/// (2010), Computers & Geosciences 36, 1261-1267 (coverage by k-means); Croes (1958), Operations Research 6, 791-812
/// (exchanges).
/// @throws Error  fewer than one stop or more than 200; no outline; a headland below 0; no ground is left
SamplingWalk sampling_walk(const WalkQuestion& question);

}  // namespace models
