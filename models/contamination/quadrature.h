#pragma once

#include <array>

namespace models::contamination {

/// Gauss-Hermite rule for the standard normal law: sum of weight f(node) is exact for polynomials of degree 2 N - 1.
/// Source: Press et al. (2007), Numerical Recipes, 3rd ed., section 4.6; roots by Newton's method.
template <int N>
struct NormalRule {
    std::array<double, N> node{}, weight{}, log_weight{};
    NormalRule();
};

extern template struct NormalRule<12>;
extern template struct NormalRule<24>;

const NormalRule<12>& short_rule();
const NormalRule<24>& long_rule();

}  // namespace models::contamination
