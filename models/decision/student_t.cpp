#include "models/decision/student_t.h"

#include <cmath>

#include <boost/math/distributions/students_t.hpp>
#include <fmt/format.h>

#include "models/error.h"

namespace models::student_t {

namespace {

// Double precision throughout, so that every processor gives the same digits.
using StudentLaw =
    boost::math::students_t_distribution<double,
                                         boost::math::policies::policy<boost::math::policies::promote_double<false>>>;

StudentLaw student_law(double degrees) {
    if (!(degrees > 0.0)) {
        throw Error(fmt::format("a Student distribution with {} degrees of freedom is none", degrees), "",
                    "give two results or more");
    }
    return StudentLaw(degrees);
}

}  // namespace

double upper_quantile(double tail, double degrees) {
    const StudentLaw law = student_law(degrees);
    if (!(tail > 0.0 && tail < 1.0)) {
        throw Error(fmt::format("{} is no chance of a tail", tail), "", "give one between 0 and 1 (5 % is 0.05)");
    }
    return boost::math::quantile(boost::math::complement(law, tail));
}

double upper_tail(double t, double degrees) {
    const StudentLaw law = student_law(degrees);
    if (std::isnan(t)) throw Error("the t-value is not a number", "", "give finite results");
    if (std::isinf(t)) return t > 0.0 ? 0.0 : 1.0;
    return boost::math::cdf(boost::math::complement(law, t));
}

}  // namespace models::student_t
