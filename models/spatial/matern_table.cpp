#include "models/spatial/matern_table.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <mutex>
#include <numbers>

#include "models/spatial/variogram_model.h"

namespace models {

namespace {

constexpr double first_r = 0x1p-34, last_r = 64.0;  ///< nearer and farther the formula itself is taken
constexpr int matern_degree = 12;
constexpr int panel_bits = 50;  ///< a double without its last 50 bits: exponent and quarter of the octave

std::size_t panel_number(double r) {
    return static_cast<std::size_t>((std::bit_cast<std::uint64_t>(r) >> panel_bits) -
                                    (std::bit_cast<std::uint64_t>(first_r) >> panel_bits));
}

double matern_by_formula(double r, double smoothness) {
    VariogramTerm term{.shape = VariogramShape::matern, .partial_sill = 1.0, .range_m = 1.0};
    term.smoothness = smoothness;
    return 1.0 - term.unit_semivariance(r);
}

class MaternTable {
 public:
    explicit MaternTable(double smoothness) : smoothness_(smoothness) {
        constexpr int nodes = matern_degree + 1;
        double begin = first_r;
        for (Panel& panel : panels_) {
            const double end =
                std::bit_cast<double>(std::bit_cast<std::uint64_t>(begin) + (std::uint64_t{1} << panel_bits));
            panel.centre = 0.5 * (begin + end);
            panel.two_over_half = 4.0 / (end - begin);
            std::array<double, nodes> value;
            for (int k = 0; k < nodes; ++k) {
                const double angle = std::numbers::pi * (k + 0.5) / nodes;
                value[static_cast<std::size_t>(k)] =
                    matern_by_formula(panel.centre + 0.5 * (end - begin) * std::cos(angle), smoothness);
            }
            for (int j = 0; j < nodes; ++j) {
                double sum = 0.0;
                for (int k = 0; k < nodes; ++k) {
                    sum += value[static_cast<std::size_t>(k)] * std::cos(std::numbers::pi * j * (k + 0.5) / nodes);
                }
                panel.coefficient[static_cast<std::size_t>(j)] = (j == 0 ? 1.0 : 2.0) / nodes * sum;
            }
            begin = end;
        }
    }

    double smoothness() const { return smoothness_; }
    const MaternTable* next = nullptr;

    double at(double r) const {
        const Panel& panel = panels_[panel_number(r)];
        // Clenshaw's sum.
        const double twice = panel.two_over_half * (r - panel.centre);
        double above = 0.0, here = 0.0;
        for (std::size_t j = matern_degree; j > 0; --j) {
            const double below = panel.coefficient[j] + twice * here - above;
            above = here;
            here = below;
        }
        return std::min(1.0, panel.coefficient[0] + 0.5 * twice * here - above);
    }

 private:
    struct Panel {
        double centre, two_over_half;
        std::array<double, matern_degree + 1> coefficient;
    };
    double smoothness_;
    std::array<Panel, 160> panels_;  ///< four to each of the forty doublings from first_r to last_r
};

/// Tables made so far, the latest first; they stay, for a program meets few smoothnesses.
std::atomic<const MaternTable*> matern_tables{nullptr};
constexpr int most_matern_tables = 100;

const MaternTable* matern_table(double smoothness) {
    const auto among_those_made = [&]() -> const MaternTable* {
        for (const MaternTable* table = matern_tables.load(std::memory_order_acquire); table != nullptr;
             table = table->next) {
            if (table->smoothness() == smoothness) return table;
        }
        return nullptr;
    };
    if (const MaternTable* made = among_those_made()) return made;
    static std::mutex making;
    static int count = 0;
    const std::lock_guard lock(making);
    if (const MaternTable* made = among_those_made()) return made;
    if (count == most_matern_tables) return nullptr;
    ++count;
    auto* const table = new MaternTable(smoothness);
    table->next = matern_tables.load(std::memory_order_relaxed);
    matern_tables.store(table, std::memory_order_release);
    return table;
}

}  // namespace

double matern_correlation_by_table(double r, double smoothness) {
    if (!(r >= first_r) || !(r < last_r)) return matern_by_formula(r, smoothness);
    const MaternTable* const table = matern_table(smoothness);
    return table == nullptr ? matern_by_formula(r, smoothness) : table->at(r);
}

}  // namespace models
