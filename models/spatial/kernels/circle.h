#pragma once

namespace models::kernels {

/// Cosine and sine of at most an eighth of a turn, x in radians, by their Taylor series: there they are as exact as a
/// double. Of one number, or of several side by side: those of each processor level are a type of their own, and so a
/// function of their own.
template <typename Value>
void cosine_and_sine(const Value& x, Value& cosine, Value& sine) {
    const Value y = x * x;
    sine = x * (1.0 + y * (-1.0 / 6.0 +
                           y * (1.0 / 120.0 +
                                y * (-1.0 / 5040.0 +
                                     y * (1.0 / 362880.0 +
                                          y * (-1.0 / 39916800.0 + y * (1.0 / 6227020800.0 - y / 1307674368000.0)))))));
    cosine =
        1.0 +
        y * (-0.5 + y * (1.0 / 24.0 +
                         y * (-1.0 / 720.0 + y * (1.0 / 40320.0 + y * (-1.0 / 3628800.0 +
                                                                       y * (1.0 / 479001600.0 - y / 87178291200.0))))));
}

}  // namespace models::kernels
