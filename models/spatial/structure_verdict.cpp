#include "models/spatial/structure_verdict.h"

#include <cmath>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/kriging.h"

namespace models {

namespace {

constexpr Eigen::Index fewest_places = 25;
constexpr double least_skill = 0.05;
constexpr double least_standard_errors = 1.645;

}  // namespace

StructureVerdict structure_verdict(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& log_values,
                                   const Eigen::VectorXd& error_variances) {
    StructureVerdict verdict;
    const auto refuse = [&](std::string why) {
        verdict.reason = "not supported: " + std::move(why);
        return verdict;
    };
    if (log_values.size() == 0) return refuse("there are no points");
    SpatialData data{positions_m, log_values, error_variances, {}};
    // How many places there are; a known mean keeps even one point well posed.
    const VariogramModel plain({{.shape = VariogramShape::nugget, .partial_sill = 1.0}});
    KrigingSettings counting;
    counting.known_mean = 0.0;
    const Eigen::Index places = Kriging(data, plain, counting).preparation().places;
    if (places < fewest_places) {
        return refuse(fmt::format("{} cannot show structure ({} are needed)", counted(places, "point"), fewest_places));
    }
    if (log_values.maxCoeff() == log_values.minCoeff()) return refuse("all values are the same");
    if (default_cutoff_m(positions_m) == 0.0) return refuse("all points lie at one place");
    verdict.fit = fit_variogram(experimental_variogram(positions_m, log_values, {}, error_variances));
    if (verdict.fit.pure_nugget) {
        return refuse(fmt::format("among {} points near pairs differ as much as far ones", places));
    }
    CrossValidation kriged, mean_only;
    try {
        kriged = Kriging(data, verdict.fit.model).leave_one_out();
        const VariogramModel flat({{.shape = VariogramShape::nugget, .partial_sill = verdict.fit.model.sill()}});
        mean_only = Kriging(data, flat).leave_one_out();
    } catch (const Error& error) {
        return refuse("the fitted variogram cannot be used: " + error.what_happened());
    }
    const Eigen::ArrayXd gain = mean_only.residual.array().square() - kriged.residual.array().square();
    const double count = static_cast<double>(gain.size());
    const double mean_square = mean_only.residual.squaredNorm() / count;
    const double spread = std::sqrt((gain - gain.mean()).square().sum() / (count - 1.0) / count);
    verdict.leave_one_out_skill = gain.mean() / mean_square;
    verdict.leave_one_out_skill_standard_error = spread / mean_square;
    const double percent = 100.0 * verdict.leave_one_out_skill;
    if (verdict.leave_one_out_skill < least_skill) {
        return refuse(
            fmt::format("predicting each of {} points from its neighbours is {} than by their mean "
                        "(mean squared error {:+.0f} %)",
                        places, percent > 0.0 ? "hardly better" : "no better", -percent));
    }
    if (gain.mean() <= least_standard_errors * spread) {
        return refuse(
            fmt::format("predicting each of {} points from its neighbours lowers the mean squared error by "
                        "{:.0f} % against their mean, which chance could do too",
                        places, percent));
    }
    verdict.supported = true;
    verdict.reason = fmt::format(
        "supported: predicting each of {} points from its neighbours lowers the mean squared error by {:.0f} % against "
        "their mean",
        places, percent);
    return verdict;
}

}  // namespace models
