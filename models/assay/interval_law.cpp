#include "models/assay/interval_law.h"

#include <cmath>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <fmt/format.h>

#include "models/error.h"

namespace models::interval_law {

namespace {

using DoublePrecision = boost::math::policies::policy<boost::math::policies::promote_double<false>>;
using StudentLaw = boost::math::students_t_distribution<double, DoublePrecision>;
using ChiSquareLaw = boost::math::chi_squared_distribution<double, DoublePrecision>;

void require_freedom(double freedom) {
    if (freedom > 0.0) return;
    throw Error(fmt::format("{} degrees of freedom are none", freedom), "", "give two results or more");
}

void require_probability(double probability) {
    if (probability > 0.0 && probability < 1.0) return;
    throw Error(fmt::format("a quantile at {} is not defined", probability), "",
                "give a probability between 0 and 1 (5 % is 0.05)");
}

StudentLaw student_law(double freedom) {
    require_freedom(freedom);
    return StudentLaw(freedom);
}

ChiSquareLaw chi_square_law(double freedom) {
    require_freedom(freedom);
    if (!std::isfinite(freedom)) throw Error("infinitely many degrees of freedom are none here", "", "give a number");
    return ChiSquareLaw(freedom);
}

}  // namespace

double student_cdf(double t, double freedom) {
    return student_upper_tail(-t, freedom);
}

double student_quantile(double probability, double freedom) {
    const StudentLaw law = student_law(freedom);
    require_probability(probability);
    return boost::math::quantile(law, probability);
}

double student_upper_tail(double t, double freedom) {
    const StudentLaw law = student_law(freedom);
    if (std::isnan(t)) throw Error("the t-value is not a number", "", "give finite results");
    if (std::isinf(t)) return t > 0.0 ? 0.0 : 1.0;
    return boost::math::cdf(boost::math::complement(law, t));
}

double student_upper_quantile(double tail, double freedom) {
    const StudentLaw law = student_law(freedom);
    require_probability(tail);
    return boost::math::quantile(boost::math::complement(law, tail));
}

double chi_square_cdf(double x, double freedom) {
    const ChiSquareLaw law = chi_square_law(freedom);
    return x > 0.0 ? boost::math::cdf(law, x) : 0.0;
}

double chi_square_quantile(double probability, double freedom) {
    const ChiSquareLaw law = chi_square_law(freedom);
    require_probability(probability);
    return boost::math::quantile(law, probability);
}

}  // namespace models::interval_law
