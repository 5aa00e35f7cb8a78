#include "models/spatial/random_field.h"

#include <algorithm>
#include <cmath>
#include <complex>

#include <unsupported/Eigen/FFT>

#include "models/spatial/kriging_system.h"
#include "models/spatial/random_numbers.h"

namespace models {

namespace {

constexpr double most_neglected_eigenvalues = 1e-10;
constexpr std::uint32_t purpose_torus = 0;
using Complex = std::complex<double>;

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

}  // namespace

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
    int wide = smooth_size(2 * columns), high = smooth_size(2 * rows);
    for (; static_cast<long long>(wide) * high <= most_nodes;
         wide = smooth_size(wide + wide / 2), high = smooth_size(high + high / 2)) {
        const Eigen::VectorXd line = torus_covariances(covariance, wide, high, cell_m);
        // The transform of an even real function is real: rows first, then columns.
        Eigen::FFT<double> fft;
        std::vector<Complex> in(static_cast<std::size_t>(std::max(wide, high))), out(in.size());
        Eigen::MatrixXcd half_way(high, wide);
        for (int row = 0; row < high; ++row) {
            for (int k = 0; k < wide; ++k) {
                in[static_cast<std::size_t>(k)] = line[static_cast<Eigen::Index>(row) * wide + k];
            }
            fft.fwd(out.data(), in.data(), wide);
            for (int k = 0; k < wide; ++k) half_way(row, k) = out[static_cast<std::size_t>(k)];
        }
        field.root_.resize(line.size());
        double negative = 0.0;
        const double nodes = static_cast<double>(line.size());
        for (int k = 0; k < wide; ++k) {
            fft.fwd(out.data(), half_way.col(k).data(), high);
            for (int row = 0; row < high; ++row) {
                const double eigenvalue = out[static_cast<std::size_t>(row)].real();
                negative += std::max(0.0, -eigenvalue);
                field.root_[static_cast<Eigen::Index>(row) * wide + k] = std::sqrt(std::max(0.0, eigenvalue) / nodes);
            }
        }
        const double sill = covariance.structured_at_zero;
        field.neglected_ = sill > 0.0 ? negative / nodes / sill : 0.0;
        field.torus_columns_ = wide;
        field.torus_rows_ = high;
        if (field.neglected_ <= most_neglected_eigenvalues) return field;
    }
    return std::nullopt;
}

void TorusField::draw(std::uint64_t seed, std::uint32_t pair, Eigen::Ref<Eigen::VectorXd> first,
                      Eigen::Ref<Eigen::VectorXd> second) const {
    const NormalStream normal(seed, purpose_torus, pair);
    thread_local Eigen::FFT<double> fft;
    const auto wide = static_cast<std::size_t>(torus_columns_), high = static_cast<std::size_t>(torus_rows_);
    std::vector<Complex> in(std::max(wide, high)), out(in.size());
    // Rows of the torus first; only the grid's columns are wanted of them, and each then becomes a column.
    Eigen::MatrixXcd half_way(torus_rows_, columns_);
    for (int row = 0; row < torus_rows_; ++row) {
        const Eigen::Index begin = static_cast<Eigen::Index>(row) * torus_columns_;
        for (std::size_t k = 0; k < wide; ++k) {
            const auto node = static_cast<Eigen::Index>(k) + begin;
            const auto [real, imaginary] = normal.two(static_cast<std::uint64_t>(node));
            in[k] = root_[node] * Complex(real, imaginary);
        }
        fft.fwd(out.data(), in.data(), torus_columns_);
        for (int column = 0; column < columns_; ++column) {
            half_way(row, column) = out[static_cast<std::size_t>(column)];
        }
    }
    for (int column = 0; column < columns_; ++column) {
        fft.fwd(out.data(), half_way.col(column).data(), torus_rows_);
        for (int row = 0; row < rows_; ++row) {
            const Eigen::Index node = static_cast<Eigen::Index>(row) * columns_ + column;
            first[node] = out[static_cast<std::size_t>(row)].real();
            second[node] = out[static_cast<std::size_t>(row)].imag();
        }
    }
}

}  // namespace models
