#include "models/spatial/simulation_fields.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include <Eigen/Cholesky>
#include <Eigen/SparseCholesky>
#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/parallel.h"
#include "models/spatial/random_field.h"
#include "models/spatial/random_numbers.h"

namespace models {

namespace {

constexpr std::uint32_t purpose_nugget = 1, purpose_places = 2;
constexpr int block_nodes = 16;          // a side of the square of nodes that a place off the nodes is drawn from
constexpr int reach_nodes = 4;           // places nearer than this are drawn together
constexpr double most_neglected = 3e-3;  // of the sill; more is not called exact
constexpr double most_lattice_nodes = 4e6;

/// C = L L' of places and targets together; a singular matrix by pivots.
class CholeskyField : public JointField {
 public:
    CholeskyField(const VariogramModel& model, const Eigen::MatrixX2d& places, const Eigen::MatrixX2d& targets) {
        std::map<std::pair<double, double>, Eigen::Index> known;
        const auto index_of = [&](double x, double y) {
            return known.emplace(std::pair{x, y}, static_cast<Eigen::Index>(known.size())).first->second;
        };
        for (Eigen::Index i = 0; i < places.rows(); ++i) of_place_.push_back(index_of(places(i, 0), places(i, 1)));
        for (Eigen::Index i = 0; i < targets.rows(); ++i) of_target_.push_back(index_of(targets(i, 0), targets(i, 1)));
        const auto size = static_cast<Eigen::Index>(known.size());
        if (size > most_places_of_a_factor) {
            throw Error(fmt::format("{} places (data and targets) are too many for the factor of a full matrix", size),
                        "",
                        fmt::format("ask for fewer, at most {} in all, or simulate on a grid (--cell)",
                                    most_places_of_a_factor));
        }
        Eigen::VectorXd x(size), y(size);
        for (const auto& [place, index] : known) {
            x[index] = place.first;
            y[index] = place.second;
        }
        const PreparedCovariance covariance(model);
        const auto& table = kernels::kernel_table();
        factor_.resize(size, size);
        for (Eigen::Index j = 0; j < size; ++j) {
            table.covariances(covariance.arrays(), x.data() + j, y.data() + j, static_cast<int>(size - j), x[j], y[j],
                              factor_.col(j).data() + j);
        }
        const double sill = covariance.structured_at_zero + covariance.nugget;
        const Eigen::MatrixXd whole = factor_;
        if (table.factor(factor_.data(), static_cast<int>(size)) < 0) {
            factor_.triangularView<Eigen::StrictlyUpper>().setZero();
            return;
        }
        const Eigen::LDLT<Eigen::MatrixXd, Eigen::Lower> pivoted(whole);
        Eigen::MatrixXd lower = pivoted.matrixL();
        const Eigen::VectorXd pivots = pivoted.vectorD();
        neglected_ = sill > 0.0 ? std::max(0.0, -pivots.minCoeff()) / sill : 0.0;
        lower *= pivots.cwiseMax(0.0).cwiseSqrt().asDiagonal();
        factor_ = pivoted.transpositionsP().transpose() * lower;
    }

    void draw(std::uint64_t seed, int first, Eigen::Ref<Eigen::MatrixXd> at_targets,
              Eigen::Ref<Eigen::MatrixXd> at_places, int threads, const Progress& progress) const override {
        constexpr Eigen::Index columns_a_block = 16;
        parallel_blocks((at_targets.cols() + columns_a_block - 1) / columns_a_block, threads,
                        [&](long long block) {
                            const Eigen::Index begin = block * columns_a_block,
                                               size = std::min(columns_a_block, at_targets.cols() - begin);
                            Eigen::MatrixXd normal(factor_.rows(), size);
                            for (Eigen::Index k = 0; k < size; ++k) {
                                const NormalStream stream(seed, purpose_places,
                                                          static_cast<std::uint32_t>(first + begin + k));
                                for (Eigen::Index i = 0; i < normal.rows(); ++i) {
                                    normal(i, k) = stream.one(static_cast<std::uint64_t>(i));
                                }
                            }
                            const Eigen::MatrixXd drawn = factor_ * normal;
                            for (Eigen::Index k = 0; k < size; ++k) {
                                for (std::size_t i = 0; i < of_place_.size(); ++i) {
                                    at_places(static_cast<Eigen::Index>(i), begin + k) = drawn(of_place_[i], k);
                                }
                                for (std::size_t i = 0; i < of_target_.size(); ++i) {
                                    at_targets(static_cast<Eigen::Index>(i), begin + k) = drawn(of_target_[i], k);
                                }
                            }
                        },
                        progress, "simulating");
    }
    std::string method() const override {
        return fmt::format("Cholesky factor of the covariances of {} places", factor_.rows());
    }
    double neglected() const override { return neglected_; }

 private:
    std::vector<Eigen::Index> of_place_, of_target_;
    Eigen::MatrixXd factor_;
    double neglected_ = 0.0;
};

/// The grid, widened where data lie outside it.
struct Lattice {
    GridM grid;
    int first_row = 0, first_column = 0;  ///< of the wanted grid in this one
};

Lattice lattice_over(const GridM& wanted, const Eigen::MatrixX2d& places) {
    const double cell = wanted.cell_m;
    const auto outside = [&](double position, double edge) {
        return std::max(0.0, std::ceil((edge - position) / cell)) + 0.0;
    };
    double west = 0.0, east = 0.0, north = 0.0, south = 0.0;
    for (Eigen::Index i = 0; i < places.rows(); ++i) {
        west = std::max(west, outside(places(i, 0), wanted.centre(0, 0).x_m));
        east = std::max(east, outside(-places(i, 0), -wanted.centre(0, wanted.columns - 1).x_m));
        north = std::max(north, outside(-places(i, 1), -wanted.centre(0, 0).y_m));
        south = std::max(south, outside(places(i, 1), wanted.centre(wanted.rows - 1, 0).y_m));
    }
    if ((wanted.columns + west + east + block_nodes) * (wanted.rows + north + south + block_nodes) >
        std::max(most_lattice_nodes, 2.0 * static_cast<double>(wanted.cells()))) {
        return {};
    }
    Lattice out{wanted, static_cast<int>(north), static_cast<int>(west)};
    out.grid.columns += static_cast<int>(west + east);
    out.grid.rows += static_cast<int>(north + south);
    // At least one square of nodes.
    const int more_columns = std::max(0, block_nodes - out.grid.columns),
              more_rows = std::max(0, block_nodes - out.grid.rows);
    out.grid.columns += more_columns;
    out.grid.rows += more_rows;
    out.first_column += more_columns / 2;
    out.first_row += more_rows / 2;
    out.grid.x_min_m -= cell * out.first_column;
    out.grid.y_max_m += cell * out.first_row;
    return out;
}

/// values[k] += scale * number k of the sequence.
void add_normals(const NormalStream& stream, double scale, Eigen::VectorXd& values) {
    constexpr int lanes = kernels::fourier_lanes, entries = 64, numbers = 2 * lanes * entries;
    std::array<double, numbers> drawn;
    for (Eigen::Index begin = 0; begin < values.size(); begin += numbers) {
        kernels::kernel_table().normals(stream.arrays(), static_cast<std::uint64_t>(begin / 2), lanes, 1, entries,
                                        drawn.data());
        const auto size = static_cast<int>(std::min<Eigen::Index>(numbers, values.size() - begin));
        for (int k = 0; k < size; ++k) {
            const int pair = k / 2;
            values[begin + k] +=
                scale * drawn[static_cast<std::size_t>(2 * lanes * (pair / lanes) + k % 2 * lanes + pair % lanes)];
        }
    }
}

/// A place: a node of the lattice, or drawn from a square of nodes around it.
struct Link {
    Eigen::Index node = -1;
    int row = 0, column = 0;  ///< first of the square
    Eigen::VectorXd weights;  ///< of the square's nodes, row by row
};

class TorusJointField : public JointField {
 public:
    /// @returns null where it is not exact enough
    static std::unique_ptr<JointField> make(const VariogramModel& model, const Eigen::MatrixX2d& places,
                                            const GridM& wanted, int threads) {
        auto field = std::unique_ptr<TorusJointField>(new TorusJointField(model));
        field->lattice_ = lattice_over(wanted, places);
        if (field->lattice_.grid.columns == 0) return nullptr;
        field->wanted_ = wanted;
        field->places_ = places;
        const bool structured = field->covariance_.structured_at_zero > 0.0;
        if (structured) {
            field->torus_ =
                TorusField::embed(model, field->lattice_.grid.columns, field->lattice_.grid.rows, wanted.cell_m);
            if (!field->torus_) return nullptr;
            field->neglected_ = field->torus_->neglected();
        }
        field->link();
        if (structured && !field->tie_in(threads)) return nullptr;
        return field;
    }

    void draw(std::uint64_t seed, int first, Eigen::Ref<Eigen::MatrixXd> at_targets,
              Eigen::Ref<Eigen::MatrixXd> at_places, int threads, const Progress& progress) const override {
        const int last = first + static_cast<int>(at_targets.cols());
        const int first_pair = first / 2, pairs = (last + 1) / 2 - first_pair;
        parallel_blocks(
            pairs, threads,
            [&](long long block) {
                const int pair = first_pair + static_cast<int>(block);
                Eigen::VectorXd fields[2];
                for (auto& field : fields) field.setZero(lattice_.grid.cells());
                if (torus_) torus_->draw(seed, static_cast<std::uint32_t>(pair), fields[0], fields[1]);
                for (int half = 0; half < 2; ++half) {
                    const int number = 2 * pair + half;
                    if (number < first || number >= last) continue;
                    finish(seed, number, fields[half], at_targets.col(number - first), at_places.col(number - first));
                }
            },
            progress, "simulating");
    }
    std::string method() const override {
        if (!torus_) return "independent values (the variogram has no structure)";
        return fmt::format("circulant embedding on a torus of {} x {} nodes", torus_->torus_columns(),
                           torus_->torus_rows());
    }
    double neglected() const override { return neglected_; }

 private:
    explicit TorusJointField(const VariogramModel& model) : covariance_(model) {
        structured_ = covariance_.arrays();
        structured_.nugget = 0.0;
    }

    double covariance(double dx, double dy) const {
        double out = 0.0;
        kernels::kernel_table().covariances(structured_, &dx, &dy, 1, 0.0, 0.0, &out);
        return out;
    }

    void link() {
        const GridM& grid = lattice_.grid;
        for (Eigen::Index i = 0; i < places_.rows(); ++i) {
            const double column = (places_(i, 0) - grid.x_min_m) / grid.cell_m - 0.5,
                         row = (grid.y_max_m - places_(i, 1)) / grid.cell_m - 0.5;
            Link link;
            const int near_column = static_cast<int>(std::lround(column)),
                      near_row = static_cast<int>(std::lround(row));
            // Cells of the wanted grid decide: there a map must pass through the datum.
            const PointM centre = wanted_.centre(near_row - lattice_.first_row, near_column - lattice_.first_column);
            if (near_column >= 0 && near_row >= 0 && near_column < grid.columns && near_row < grid.rows &&
                centre == PointM{places_(i, 0), places_(i, 1)}) {
                link.node = static_cast<Eigen::Index>(near_row) * grid.columns + near_column;
            } else {
                link.column = std::clamp(static_cast<int>(std::floor(column)) - block_nodes / 2 + 1, 0,
                                         grid.columns - block_nodes);
                link.row =
                    std::clamp(static_cast<int>(std::floor(row)) - block_nodes / 2 + 1, 0, grid.rows - block_nodes);
                off_nodes_.push_back(i);
            }
            links_.push_back(link);
        }
    }

    Eigen::VectorXd with_block(const Link& link, double x, double y) const {
        constexpr int nodes = block_nodes * block_nodes;
        Eigen::VectorXd xs(nodes), ys(nodes), out(nodes);
        for (int k = 0; k < nodes; ++k) {
            const PointM centre = lattice_.grid.centre(link.row + k / block_nodes, link.column + k % block_nodes);
            xs[k] = centre.x_m;
            ys[k] = centre.y_m;
        }
        kernels::kernel_table().covariances(structured_, xs.data(), ys.data(), nodes, x, y, out.data());
        return out;
    }

    /// Weights of the nodes around each place that is none, and what is left of the places' covariances given them.
    bool tie_in(int threads) {
        if (off_nodes_.empty()) return true;
        constexpr int nodes = block_nodes * block_nodes;
        constexpr int widest = block_nodes + reach_nodes + 1;
        // Covariances between nodes by their distance in columns and rows.
        const double cell = lattice_.grid.cell_m;
        Eigen::MatrixXd lag(2 * widest + 1, 2 * widest + 1);
        for (int a = -widest; a <= widest; ++a) {
            for (int b = -widest; b <= widest; ++b) lag(a + widest, b + widest) = covariance(b * cell, -a * cell);
        }
        Eigen::MatrixXd block(nodes, nodes);
        for (int i = 0; i < nodes; ++i) {
            for (int j = 0; j < nodes; ++j) {
                block(i, j) =
                    lag(i / block_nodes - j / block_nodes + widest, i % block_nodes - j % block_nodes + widest);
            }
        }
        const Eigen::LLT<Eigen::MatrixXd> factor(block);
        const double sill = covariance_.structured_at_zero;
        if (factor.info() != Eigen::Success) return false;
        const auto off = static_cast<long long>(off_nodes_.size()), sampled = std::max(1LL, off / 40);
        std::vector<double> gaps(off_nodes_.size(), 0.0);
        parallel_blocks(off, threads, [&](long long k) {
            const Eigen::Index i = off_nodes_[static_cast<std::size_t>(k)];
            Link& link = links_[static_cast<std::size_t>(i)];
            link.weights = factor.solve(with_block(link, places_(i, 0), places_(i, 1)));
            if (k % sampled == 0) gaps[static_cast<std::size_t>(k)] = gap_of(i) / sill;
        });
        neglected_ = std::max(neglected_, *std::max_element(gaps.begin(), gaps.end()));
        std::multimap<double, Eigen::Index> by_x;  // places off the nodes, west first
        for (std::size_t k = 0; k < off_nodes_.size(); ++k) {
            by_x.emplace(places_(off_nodes_[k], 0), static_cast<Eigen::Index>(k));
        }
        const double reach = reach_nodes * cell;
        std::vector<std::pair<Eigen::Index, Eigen::Index>> close;  // the later one first
        for (auto first = by_x.begin(); first != by_x.end(); ++first) {
            for (auto second = first; second != by_x.end() && second->first - first->first <= reach; ++second) {
                const auto [earlier, later] = std::minmax(first->second, second->second);
                const double apart = places_(off_nodes_[static_cast<std::size_t>(earlier)], 1) -
                                     places_(off_nodes_[static_cast<std::size_t>(later)], 1);
                if (std::abs(apart) <= reach) close.emplace_back(later, earlier);
            }
        }
        std::vector<Eigen::Triplet<double>> entries(close.size());
        parallel_blocks(static_cast<long long>(close.size()), threads, [&](long long k) {
            const auto [later, earlier] = close[static_cast<std::size_t>(k)];
            entries[static_cast<std::size_t>(k)] = {
                static_cast<int>(later), static_cast<int>(earlier),
                left_between(off_nodes_[static_cast<std::size_t>(later)], off_nodes_[static_cast<std::size_t>(earlier)],
                             lag, widest)};
        });
        const auto size = static_cast<Eigen::Index>(off_nodes_.size());
        Eigen::SparseMatrix<double> left(size, size), identity(size, size);
        left.setFromTriplets(entries.begin(), entries.end());
        identity.setIdentity();
        // A place beside a node leaves nothing but rounding: a trace of independent variation keeps it positive.
        for (double trace = 1e-13; trace <= most_neglected; trace *= 10.0) {
            const Eigen::SparseMatrix<double> lifted = left + trace * sill * identity;
            left_factor_.compute(lifted);
            if (left_factor_.info() != Eigen::Success) continue;
            neglected_ = std::max(neglected_, trace);
            return neglected_ <= most_neglected;
        }
        return false;
    }

    /// Largest covariance with a node that the drawn place does not have: nodes around, and out to the corners.
    double gap_of(Eigen::Index place) const {
        const GridM& grid = lattice_.grid;
        const Link& link = links_[static_cast<std::size_t>(place)];
        double gap = 0.0;
        const auto look = [&](int row, int column) {
            if (row < 0 || column < 0 || row >= grid.rows || column >= grid.columns) return;
            const PointM centre = grid.centre(row, column);
            const double wanted = covariance(places_(place, 0) - centre.x_m, places_(place, 1) - centre.y_m);
            gap = std::max(gap, std::abs(wanted - link.weights.dot(with_block(link, centre.x_m, centre.y_m))));
        };
        for (int row = -8; row < block_nodes + 8; ++row) {
            for (int column = -8; column < block_nodes + 8; ++column) look(link.row + row, link.column + column);
        }
        for (int k = 0; k < 48; ++k) {
            look(grid.rows * k / 48, link.column + block_nodes / 2);
            look(link.row + block_nodes / 2, grid.columns * k / 48);
            look(grid.rows * k / 48, grid.columns * k / 48);
        }
        return gap;
    }

    /// Covariance of what two places have beyond their nodes.
    double left_between(Eigen::Index a, Eigen::Index b, const Eigen::MatrixXd& lag, int widest) const {
        const Link &one = links_[static_cast<std::size_t>(a)], &two = links_[static_cast<std::size_t>(b)];
        double left = covariance(places_(a, 0) - places_(b, 0), places_(a, 1) - places_(b, 1)) -
                      one.weights.dot(with_block(one, places_(b, 0), places_(b, 1))) -
                      two.weights.dot(with_block(two, places_(a, 0), places_(a, 1)));
        for (int i = 0; i < one.weights.size(); ++i) {
            for (int j = 0; j < two.weights.size(); ++j) {
                const int rows = one.row + i / block_nodes - two.row - j / block_nodes,
                          columns = one.column + i % block_nodes - two.column - j % block_nodes;
                left += one.weights[i] * two.weights[j] * lag(rows + widest, columns + widest);
            }
        }
        return left;
    }

    void finish(std::uint64_t seed, int number, Eigen::VectorXd& field, Eigen::Ref<Eigen::VectorXd> targets,
                Eigen::Ref<Eigen::VectorXd> places) const {
        const auto realisation = static_cast<std::uint32_t>(number);
        const NormalStream at_nodes(seed, purpose_nugget, realisation), at_places(seed, purpose_places, realisation);
        const double root_nugget = std::sqrt(covariance_.nugget);
        if (!off_nodes_.empty() && torus_) {
            Eigen::VectorXd normal(static_cast<Eigen::Index>(off_nodes_.size()));
            for (Eigen::Index k = 0; k < normal.size(); ++k)
                normal[k] = at_places.one(static_cast<std::uint64_t>(2 * k));
            const Eigen::VectorXd lower = left_factor_.matrixL() * normal;
            const Eigen::VectorXd own = left_factor_.permutationPinv() * lower;
            for (std::size_t k = 0; k < off_nodes_.size(); ++k) {
                const Link& link = links_[static_cast<std::size_t>(off_nodes_[k])];
                double sum = own[static_cast<Eigen::Index>(k)];
                for (int i = 0; i < link.weights.size(); ++i) {
                    const Eigen::Index node =
                        static_cast<Eigen::Index>(link.row + i / block_nodes) * lattice_.grid.columns + link.column +
                        i % block_nodes;
                    sum += link.weights[i] * field[node];
                }
                places[off_nodes_[k]] = sum;
            }
        } else {
            for (const Eigen::Index i : off_nodes_) places[i] = 0.0;
        }
        if (root_nugget > 0.0) {
            for (std::size_t k = 0; k < off_nodes_.size(); ++k) {
                places[off_nodes_[k]] += root_nugget * at_places.one(static_cast<std::uint64_t>(2 * k + 1));
            }
            add_normals(at_nodes, root_nugget, field);
        }
        for (Eigen::Index i = 0; i < places_.rows(); ++i) {
            const Eigen::Index node = links_[static_cast<std::size_t>(i)].node;
            if (node >= 0) places[i] = field[node];
        }
        for (int row = 0; row < wanted_.rows; ++row) {
            targets.segment(static_cast<Eigen::Index>(row) * wanted_.columns, wanted_.columns) = field.segment(
                static_cast<Eigen::Index>(row + lattice_.first_row) * lattice_.grid.columns + lattice_.first_column,
                wanted_.columns);
        }
    }

    PreparedCovariance covariance_;
    kernels::CovarianceArrays structured_;
    Lattice lattice_;
    GridM wanted_;
    Eigen::MatrixX2d places_;
    std::optional<TorusField> torus_;
    std::vector<Link> links_;
    std::vector<Eigen::Index> off_nodes_;
    Eigen::SimplicialLLT<Eigen::SparseMatrix<double>, Eigen::Lower> left_factor_;
    double neglected_ = 0.0;
};

}  // namespace

std::unique_ptr<JointField> cholesky_field(const VariogramModel& model, const Eigen::MatrixX2d& places,
                                           const Eigen::MatrixX2d& targets) {
    return std::make_unique<CholeskyField>(model, places, targets);
}

std::unique_ptr<JointField> torus_field(const VariogramModel& model, const Eigen::MatrixX2d& places, const GridM& grid,
                                        int threads) {
    return TorusJointField::make(model, places, grid, threads);
}

}  // namespace models
