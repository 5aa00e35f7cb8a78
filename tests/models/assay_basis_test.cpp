#include <catch2/catch.hpp>

#include "models/assay/basis.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

TEST_CASE("a content moves between as it is and dry and 12 percent with the grain's water") {
    // 1 mg/kg in grain at 15 %: 1.035294 at 12 %, 1.176471 dry, by hand: 0.88/0.85 and 1/0.85.
    CHECK(convert_basis(1.0, Basis::as_is, Basis::pct12, 0.15) == Approx(1.035294).margin(5e-7).epsilon(0.0));
    CHECK(convert_basis(1.0, Basis::as_is, Basis::dry, 0.15) == Approx(1.176471).margin(5e-7).epsilon(0.0));
    CHECK(convert_basis(1.0, Basis::dry, Basis::pct12, -1.0) == Approx(0.88));
    CHECK(convert_basis(1.3, Basis::pct12, Basis::pct12, 0.2) == 1.3);
}

TEST_CASE("a change of basis and back changes nothing") {
    for (const Basis from : {Basis::as_is, Basis::dry, Basis::pct12})
        for (const Basis to : {Basis::as_is, Basis::dry, Basis::pct12})
            CHECK(convert_basis(convert_basis(0.73, from, to, 0.137), to, from, 0.137) == Approx(0.73).epsilon(1e-15));
}

TEST_CASE("grain of nothing but water has no basis") {
    CHECK_THROWS_WITH(convert_basis(1.0, Basis::as_is, Basis::dry, 1.0), Contains("100 %") && Contains("13.5"));
    CHECK_THROWS_AS(convert_basis(1.0, Basis::pct12, Basis::as_is, -0.1), Error);
}
