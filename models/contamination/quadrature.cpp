#include "models/contamination/quadrature.h"

#include <algorithm>
#include <cmath>

namespace models::contamination {

namespace {

/// Orthonormal Hermite polynomials of the standard normal law at x: those of degree n and n - 1.
std::pair<double, double> hermite_pair(int n, double x) {
    double before = 0.0, at = 1.0;
    for (int k = 0; k < n; ++k) {
        const double next = (x * at - std::sqrt(static_cast<double>(k)) * before) / std::sqrt(k + 1.0);
        before = at;
        at = next;
    }
    return {at, before};
}

}  // namespace

template <int N>
NormalRule<N>::NormalRule() {
    // Roots are bracketed by sign changes on a fine grid (they lie within 2 sqrt(N)), then bisected to the last bit.
    const double far = 2.0 * std::sqrt(static_cast<double>(N)) + 1.0;
    const int cells = 4000;
    int found = 0;
    for (int i = 0; i < cells && found < N; ++i) {
        double low = -far + 2.0 * far * i / cells, high = -far + 2.0 * far * (i + 1) / cells;
        const bool low_negative = hermite_pair(N, low).first < 0.0;
        if (low_negative == (hermite_pair(N, high).first < 0.0)) continue;
        for (int halving = 0; halving < 60; ++halving) {
            const double middle = 0.5 * (low + high);
            ((hermite_pair(N, middle).first < 0.0) == low_negative ? low : high) = middle;
        }
        const auto k = static_cast<std::size_t>(found++);
        node[k] = 0.5 * (low + high);
        const double neighbour = hermite_pair(N, node[k]).second;
        weight[k] = 1.0 / (N * neighbour * neighbour);
        log_weight[k] = std::log(weight[k]);
    }
}

template struct NormalRule<12>;
template struct NormalRule<24>;

const NormalRule<12>& short_rule() {
    static const NormalRule<12> rule;
    return rule;
}

const NormalRule<24>& long_rule() {
    static const NormalRule<24> rule;
    return rule;
}

}  // namespace models::contamination
