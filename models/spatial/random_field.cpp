#include "models/spatial/random_field.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "models/spatial/kriging_system.h"
#include "models/spatial/random_numbers.h"

namespace models {

namespace {

constexpr double most_neglected_eigenvalues = 1e-10;
constexpr std::uint32_t purpose_torus = 0;
constexpr int torus_lanes = kernels::fourier_lanes;
constexpr int torus_entry = 2 * torus_lanes;  ///< doubles of one complex number of all lanes

/// Covariances of the torus's first node with all, row by row. Half a turn away both ways round are equally far: their
/// mean keeps the matrix symmetric (nodes of the grid are nearer than that).
Eigen::VectorXd torus_covariances(const PreparedCovariance& covariance, int columns, int rows, double cell_m) {
    kernels::CovarianceArrays structured = covariance.arrays();
    structured.nugget = 0.0;
    const auto& table = kernels::kernel_table();
    Eigen::VectorXd out(static_cast<Eigen::Index>(columns) * rows), x(columns), y(columns), other(columns);
    const auto wrapped = [](int k, int n) { return k <= n / 2 ? k : k - n; };
    for (int column = 0; column < columns; ++column) x[column] = wrapped(column, columns) * cell_m;
    for (int row = 0; row < rows; ++row) {
        y.setConstant(-wrapped(row, rows) * cell_m);
        double* const line = out.data() + static_cast<Eigen::Index>(row) * columns;
        table.covariances(structured, x.data(), y.data(), columns, 0.0, 0.0, line);
        if (row == rows / 2) {
            y = -y;
            table.covariances(structured, x.data(), y.data(), columns, 0.0, 0.0, other.data());
            for (int k = 0; k < columns; ++k) line[k] = 0.5 * (line[k] + other[k]);
        } else {
            const double other_way = -x[columns / 2];
            table.covariances(structured, &other_way, y.data(), 1, 0.0, 0.0, other.data());
            line[columns / 2] = 0.5 * (line[columns / 2] + other[0]);
        }
    }
    return out;
}

int in_lanes(int count) {
    return (count + torus_lanes - 1) / torus_lanes;
}

/// The transform of a plane, rows first, then of those columns that are wanted.
/// @param fill  called with the number of a group of rows, side by side, and where its values go
/// @param take  called with the number of a group of columns, side by side, and its values
template <typename Fill, typename Take>
void transform_plane(const FourierPlan& across, const FourierPlan& down, int wanted_columns, const Fill& fill,
                     const Take& take) {
    const auto& table = kernels::kernel_table();
    const int wide = across.size(), high = down.size();
    const long column_group = static_cast<long>(high) * torus_entry;
    std::vector<double> row(static_cast<std::size_t>(wide) * torus_entry),
        room(static_cast<std::size_t>(std::max(wide, high)) * torus_entry);
    std::vector<double> half_way(static_cast<std::size_t>(in_lanes(wanted_columns) * column_group));
    for (int group = 0; group < in_lanes(high); ++group) {
        fill(group, row.data());
        const double* done = table.fourier(across.arrays(), row.data(), room.data());
        const int rows = std::min(torus_lanes, high - group * torus_lanes);
        for (int column = 0; column < wanted_columns; ++column, done += torus_entry) {
            double* const to = half_way.data() + column / torus_lanes * column_group +
                               static_cast<long>(group) * torus_lanes * torus_entry + column % torus_lanes;
            for (int lane = 0; lane < rows; ++lane) {
                to[lane * torus_entry] = done[lane];
                to[lane * torus_entry + torus_lanes] = done[torus_lanes + lane];
            }
        }
    }
    for (int group = 0; group < in_lanes(wanted_columns); ++group) {
        take(group, table.fourier(down.arrays(), half_way.data() + group * column_group, room.data()));
    }
}

}  // namespace

FourierPlan::FourierPlan(int n) {
    for (int rest = n; rest > 1;) {
        const int factor = rest % 4 == 0 ? 4 : rest % 2 == 0 ? 2 : rest % 3 == 0 ? 3 : 5;
        factors_.push_back(factor);
        rest /= factor;
    }
    for (int k = 0; k < n; ++k) {
        cosine_.push_back(std::cos(2.0 * std::numbers::pi * k / n));
        sine_.push_back(std::sin(2.0 * std::numbers::pi * k / n));
    }
}

kernels::FourierArrays FourierPlan::arrays() const {
    return {size(), factors_.data(), static_cast<int>(factors_.size()), cosine_.data(), sine_.data()};
}

int smooth_size(int least) {
    for (int size = std::max(2, least + least % 2);; size += 2) {
        int rest = size;
        for (const int prime : {2, 3, 5}) {
            while (rest % prime == 0) rest /= prime;
        }
        if (rest == 1) return size;
    }
}

std::optional<TorusField> TorusField::embed(const VariogramModel& model, int columns, int rows, double cell_m,
                                            long long most_nodes) {
    const PreparedCovariance covariance(model);
    TorusField field;
    field.columns_ = columns;
    field.rows_ = rows;
    // Little larger is often enough; where it is not, much larger is needed.
    double growth = 1.0;
    for (int attempt = 0;; ++attempt) {
        const int wide = smooth_size(static_cast<int>(2.0 * growth * columns)),
                  high = smooth_size(static_cast<int>(2.0 * growth * rows));
        if (static_cast<long long>(wide) * high > most_nodes) return std::nullopt;
        const Eigen::VectorXd line = torus_covariances(covariance, wide, high, cell_m);
        field.across_ = FourierPlan(wide);
        field.down_ = FourierPlan(high);
        field.root_.setZero(static_cast<Eigen::Index>(in_lanes(high)) * wide * torus_lanes);
        double negative = 0.0;
        const double nodes = static_cast<double>(line.size());
        // The transform of an even real function is real.
        transform_plane(
            field.across_, field.down_, wide,
            [&](int group, double* to) {
                std::fill(to, to + static_cast<long>(wide) * torus_entry, 0.0);
                for (int lane = 0; lane < std::min(torus_lanes, high - group * torus_lanes); ++lane) {
                    const double* from = line.data() + static_cast<Eigen::Index>(group * torus_lanes + lane) * wide;
                    for (int k = 0; k < wide; ++k) to[k * torus_entry + lane] = from[k];
                }
            },
            [&](int group, const double* found) {
                for (int row = 0; row < high; ++row) {
                    for (int lane = 0; lane < std::min(torus_lanes, wide - group * torus_lanes); ++lane) {
                        const double eigenvalue = found[static_cast<long>(row) * torus_entry + lane];
                        negative += std::max(0.0, -eigenvalue);
                        field.root_[(static_cast<Eigen::Index>(row / torus_lanes) * wide + group * torus_lanes + lane) *
                                        torus_lanes +
                                    row % torus_lanes] = std::sqrt(std::max(0.0, eigenvalue) / nodes);
                    }
                }
            });
        const double sill = covariance.structured_at_zero;
        field.neglected_ = sill > 0.0 ? negative / nodes / sill : 0.0;
        field.torus_columns_ = wide;
        field.torus_rows_ = high;
        if (field.neglected_ <= most_neglected_eigenvalues) return field;
        growth *= attempt < 3 ? 1.06 : 1.4;
    }
}

void TorusField::draw(std::uint64_t seed, std::uint32_t pair, Eigen::Ref<Eigen::VectorXd> first,
                      Eigen::Ref<Eigen::VectorXd> second) const {
    const NormalStream normal(seed, purpose_torus, pair);
    const auto wide = static_cast<std::uint64_t>(torus_columns_);
    transform_plane(
        across_, down_, columns_,
        [&](int group, double* to) {
            kernels::kernel_table().normals(normal.arrays(), wide * static_cast<std::uint64_t>(group * torus_lanes), 1,
                                            wide, torus_columns_, to);
            const double* root = root_.data() + static_cast<Eigen::Index>(group) * torus_columns_ * torus_lanes;
            for (int k = 0; k < torus_columns_; ++k, to += torus_entry, root += torus_lanes) {
                for (int lane = 0; lane < torus_lanes; ++lane) {
                    to[lane] *= root[lane];
                    to[torus_lanes + lane] *= root[lane];
                }
            }
        },
        [&](int group, const double* found) {
            const int begin = group * torus_lanes, columns = std::min(torus_lanes, columns_ - begin);
            for (int row = 0; row < rows_; ++row, found += torus_entry) {
                const Eigen::Index node = static_cast<Eigen::Index>(row) * columns_ + begin;
                for (int lane = 0; lane < columns; ++lane) {
                    first[node + lane] = found[lane];
                    second[node + lane] = found[torus_lanes + lane];
                }
            }
        });
}

}  // namespace models
