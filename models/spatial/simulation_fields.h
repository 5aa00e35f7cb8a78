#pragma once

#include <memory>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"
#include "models/progress.h"
#include "models/spatial/kriging_system.h"

namespace models {

/// Unconditional draws of a field at the targets and, belonging to them, at the places of the data.
class JointField {
 public:
    virtual ~JointField() = default;
    /// Realisations first ... first + columns - 1, one a column.
    virtual void draw(std::uint64_t seed, int first, Eigen::Ref<Eigen::MatrixXd> at_targets,
                      Eigen::Ref<Eigen::MatrixXd> at_places, int threads, const Progress& progress) const = 0;
    virtual std::string method() const = 0;
    virtual double neglected() const = 0;
};

/// By the Cholesky factor of the covariance matrix of places and targets together.
/// @throws Error  more than 6,000 of them
std::unique_ptr<JointField> cholesky_field(const VariogramModel& model, const Eigen::MatrixX2d& places,
                                           const Eigen::MatrixX2d& targets);

/// By circulant embedding; null where that is not exact enough.
std::unique_ptr<JointField> torus_field(const VariogramModel& model, const Eigen::MatrixX2d& places, const GridM& grid,
                                        int threads);

constexpr Eigen::Index most_places_of_a_factor = 6000;

}  // namespace models
