#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/progress.h"

namespace models {

/// Places from coarse to fine: first the one nearest to their mean, then always the one that lies farthest from all
/// that came before. So the first hundred of many places cover the ground evenly, and the rest fill in between.
/// Of equally far ones the lower number comes first; places that coincide with an earlier one come last.
/// Exact, and about n log n steps: while places lie at most l from the chosen ones, a new one matters only within l.
/// Source: Guinness (2018), Technometrics 60, 415-429 (maximum minimum distance ordering); Schaefer, Katzfuss & Owhadi
/// (2021), SIAM J. Sci. Comput. 43, A2019-A2046, sec. 4.1.
/// @param x, y  n each, in one unit
/// @returns the n numbers in that order
std::vector<int> max_min_order(const Eigen::VectorXd& x, const Eigen::VectorXd& y, const Progress& progress = {});

/// For each place the nearest of those with a lower number, the nearest first, of equally near ones the lower number
/// first. Place i has min(i, count) of them, at [i * count, ...).
std::vector<int> nearest_before(const Eigen::VectorXd& x, const Eigen::VectorXd& y, int count, int threads = 0,
                                const Progress& progress = {});

/// The shortest distance between two places that do not coincide; infinite where all do.
double shortest_distance(const Eigen::VectorXd& x, const Eigen::VectorXd& y);

}  // namespace models
