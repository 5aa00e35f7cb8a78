#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>

#include <Eigen/Dense>
#include <fmt/format.h>
#include <unsupported/Eigen/NonLinearOptimization>

#include "models/assay/interval_law.h"
#include "models/assay/standard_curve.h"
#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace curve_fit {

/// Weighted residuals and their slopes by (a, ln b, ln c, d): the logs keep b and c above zero.
struct Residuals {
    using Scalar = double;
    using InputType = Eigen::VectorXd;
    using ValueType = Eigen::VectorXd;
    using JacobianType = Eigen::MatrixXd;
    enum { InputsAtCompileTime = Eigen::Dynamic, ValuesAtCompileTime = Eigen::Dynamic };

    const std::vector<Calibrator>& points;
    std::vector<double> root_weights;

    int inputs() const { return 4; }
    int values() const { return static_cast<int>(points.size()); }
    static StandardCurve curve_of(const Eigen::VectorXd& at) {
        StandardCurve curve;
        curve.a = at(0);
        curve.b = std::exp(at(1));
        curve.c = std::exp(at(2));
        curve.d = at(3);
        return curve;
    }
    int operator()(const Eigen::VectorXd& at, Eigen::VectorXd& out) const {
        const StandardCurve curve = curve_of(at);
        for (std::size_t i = 0; i < points.size(); ++i) {
            out(static_cast<Eigen::Index>(i)) =
                root_weights[i] * (signal_at(curve, points[i].content_mg_per_kg) - points[i].signal);
        }
        return out.allFinite() ? 0 : -1;
    }
    int df(const Eigen::VectorXd& at, Eigen::MatrixXd& out) const {
        const StandardCurve curve = curve_of(at);
        for (std::size_t i = 0; i < points.size(); ++i) {
            const double x = points[i].content_mg_per_kg;
            const double log_ratio = x > 0.0 ? std::log(x / curve.c) : 0.0;
            const double u = x > 0.0 ? std::exp(std::min(curve.b * log_ratio, 300.0)) : 0.0;
            const double share = 1.0 / (1.0 + u), slope = (curve.a - curve.d) * u * share * share;
            out.row(static_cast<Eigen::Index>(i)) << share, -slope * curve.b * log_ratio, slope * curve.b, 1.0 - share;
            out.row(static_cast<Eigen::Index>(i)) *= root_weights[i];
        }
        return out.allFinite() ? 0 : -1;
    }
};

/// Signals of one content.
struct Level {
    double content = 0.0, mean = 0.0, squares = 0.0;
    int n = 0;
};

std::vector<Level> levels_of(const std::vector<Calibrator>& points) {
    std::map<double, Level> by_content;
    for (const Calibrator& point : points) {
        Level& level = by_content[point.content_mg_per_kg];
        level.content = point.content_mg_per_kg;
        const double off = point.signal - level.mean;
        level.mean += off / ++level.n;
        level.squares += off * (point.signal - level.mean);
    }
    std::vector<Level> levels;
    for (const auto& [content, level] : by_content) levels.push_back(level);
    return levels;
}

void require_points(const std::vector<Calibrator>& points) {
    std::size_t weighed = 0;
    for (const Calibrator& point : points) {
        if (!std::isfinite(point.content_mg_per_kg) || point.content_mg_per_kg < 0.0)
            throw Error(fmt::format("a calibrator has a content of {} mg/kg", point.content_mg_per_kg), "",
                        "give a number from 0");
        if (!std::isfinite(point.signal) || point.signal < 0.0)
            throw Error(
                fmt::format("the calibrator of {:.6g} mg/kg has a signal of {}", point.content_mg_per_kg, point.signal),
                "", "a line's signal is a number from 0");
        if (!point.signal_sd) continue;
        ++weighed;
        if (!(*point.signal_sd > 0.0) || !std::isfinite(*point.signal_sd))
            throw Error(fmt::format("the signal of the calibrator of {:.6g} mg/kg has a standard deviation of {}",
                                    point.content_mg_per_kg, *point.signal_sd),
                        "", "give a number above 0, or none for all calibrators");
    }
    if (weighed != 0 && weighed != points.size())
        throw Error(fmt::format("{} of {} calibrators have a standard deviation, so the others have no weight", weighed,
                                points.size()),
                    "", "give it for all or for none");
}

void require_levels(const std::vector<Level>& levels, std::size_t points) {
    const auto n = static_cast<long long>(points);
    if (n < 4)
        throw Error(fmt::format("{} cannot settle the four numbers of a curve", counted(n, "calibrator")), "",
                    "run strips of at least four contents, better five in duplicate, or enter the curve's parameters "
                    "a, b, c, d as the lot's leaflet has them");
    if (levels.size() < 4)
        throw Error(fmt::format("{} have only {}, and a curve has four numbers to settle", counted(n, "calibrator"),
                                counted(static_cast<long long>(levels.size()), "content")),
                    "",
                    "replicates of one content say how much strips scatter, not how the curve runs: run strips of at "
                    "least four different contents, spread over the working range");
}

/// Scatter of signals within contents; nullopt without replicates.
std::optional<double> within_sd(const std::vector<Level>& levels) {
    double squares = 0.0;
    int degrees = 0;
    for (const Level& level : levels) squares += level.squares, degrees += level.n - 1;
    if (degrees == 0) return std::nullopt;
    return std::sqrt(squares / degrees);
}

void require_fall(const std::vector<Level>& levels) {
    double least = levels[0].mean, most = levels[0].mean;
    for (const Level& level : levels) least = std::min(least, level.mean), most = std::max(most, level.mean);
    const double span = most - least;
    const auto scatter = within_sd(levels);
    const std::string words = fmt::format("from {:.4g} at {:.4g} mg/kg to {:.4g} at {:.4g} mg/kg", levels.front().mean,
                                          levels.front().content, levels.back().mean, levels.back().content);
    const double noise = scatter.value_or(0.0);
    if (span <= 1e-12 * std::abs(most) || (scatter && span <= 3.0 * noise))
        throw Error(
            "the calibrators' signals are flat: they run " + words + ", no more than strips of one content scatter", "",
            "check that the calibrators have the contents that are written, and that their lines were read");
    if (levels.front().mean <= levels.back().mean)
        throw Error("the calibrators' signals rise, " + words +
                        ", and a strip for DON is competitive: the more DON the weaker its test line",
                    "", "check the contents' order, and that the signal is test over control, not control over test");
    for (std::size_t i = 1; i < levels.size(); ++i) {
        const double rise = levels[i].mean - levels[i - 1].mean;
        // Three standard errors of the difference; without replicates a twentieth of the whole fall (ours).
        const double allowed =
            scatter ? 3.0 * noise * std::sqrt(1.0 / levels[i].n + 1.0 / levels[i - 1].n) : 0.05 * span;
        if (rise <= allowed) continue;
        throw Error(fmt::format("the curve is not monotone: the signal rises from {:.4g} at {:.4g} mg/kg to {:.4g} at "
                                "{:.4g} mg/kg, and one signal would have two contents",
                                levels[i - 1].mean, levels[i - 1].content, levels[i].mean, levels[i].content),
                    "", "run these two calibrators again, or leave out the one that was mixed up");
    }
}

/// The content at which the means cross half of the fall.
double middle_of(const std::vector<Level>& levels) {
    const double half = 0.5 * (levels.front().mean + levels.back().mean);
    double least_above_zero = 0.0;
    for (const Level& level : levels) {
        if (level.content > 0.0 && least_above_zero == 0.0) least_above_zero = level.content;
        if (level.mean <= half && level.content > 0.0) {
            return level.content > least_above_zero ? 0.7 * level.content : level.content;
        }
    }
    return levels.back().content;
}

/// @param offs, leverages  weighted residuals, and how much each point draws the curve to itself
std::optional<CurveFit::Farthest> farthest_of(const Eigen::VectorXd& offs, const Eigen::VectorXd& leverages) {
    const auto n = static_cast<double>(offs.size());
    if (offs.size() < 6) return std::nullopt;
    const double variance = offs.squaredNorm() / (n - 4.0);
    CurveFit::Farthest farthest;
    for (Eigen::Index i = 0; i < offs.size(); ++i) {
        const double room = variance * (1.0 - leverages(i));
        if (!(room > 1e-12 * variance)) continue;       // alone at its place, it cannot lie off
        const double inner = offs(i) * offs(i) / room;  // at most n - 4
        const double left = n - 4.0 - inner;
        const double sds = left > 0.0 ? std::sqrt(inner * (n - 5.0) / left) : std::numeric_limits<double>::infinity();
        if (sds > farthest.sds) farthest.point = static_cast<std::size_t>(i), farthest.sds = sds;
    }
    const double tail = std::isfinite(farthest.sds) ? interval_law::student_upper_tail(farthest.sds, n - 5.0) : 0.0;
    farthest.chance = std::min(1.0, 2.0 * n * tail);
    return farthest;
}

void look_at_fit(CurveFit& fit, const std::vector<Calibrator>& calibrators) {
    constexpr double rare = 0.01;
    if (fit.farthest && fit.farthest->chance < rare) {
        const Calibrator& point = calibrators[fit.farthest->point];
        fit.cautions.push_back(fmt::format(
            "the calibrator of {:.4g} mg/kg that reads {:.4g} lies {:.1f} standard deviations from the curve of the "
            "others ({:.4g} there): look whether it was mistyped or mixed up",
            point.content_mg_per_kg, point.signal, std::min(fit.farthest->sds, 99.9),
            signal_at(fit.curve, point.content_mg_per_kg)));
    }
    if (fit.curve.d < 0.0) {
        fit.cautions.push_back(
            fmt::format("the curve runs to a signal of {:.3g} for very much DON, which no strip gives: its high end is "
                        "a guess, and "
                        "calibrators of more DON would settle it",
                        fit.curve.d));
    }
}

}  // namespace curve_fit

std::optional<Eigen::Vector4d> CurveFit::standard_errors() const {
    if (!curve.covariance) return std::nullopt;
    return Eigen::Vector4d(curve.covariance->diagonal().cwiseSqrt());
}

CurveFit fit_curve(const std::vector<Calibrator>& calibrators) {
    curve_fit::require_points(calibrators);
    const auto levels = curve_fit::levels_of(calibrators);
    curve_fit::require_levels(levels, calibrators.size());
    curve_fit::require_fall(levels);

    curve_fit::Residuals residuals{calibrators, {}};
    for (const Calibrator& point : calibrators) residuals.root_weights.push_back(1.0 / point.signal_sd.value_or(1.0));
    const auto n = static_cast<Eigen::Index>(calibrators.size());
    const double span = levels.front().mean - levels.back().mean;
    double least = std::numeric_limits<double>::infinity();
    Eigen::VectorXd best;
    bool settled = false;
    for (const double slope : {1.0, 0.6, 1.8, 3.5}) {
        Eigen::VectorXd at(4);
        at << levels.front().mean + 0.02 * span, std::log(slope), std::log(curve_fit::middle_of(levels)),
            levels.back().mean - 0.05 * span;
        Eigen::LevenbergMarquardt<curve_fit::Residuals> steps(residuals);
        steps.parameters.ftol = steps.parameters.xtol = 1e-15;
        steps.parameters.maxfev = 2000;
        const auto status = steps.minimize(at);
        const double sum = steps.fvec.squaredNorm();
        // With four points the sum goes to zero, and no two runs end on the same last digit.
        if (!at.allFinite() || !(sum < least * (1.0 - 1e-12))) continue;
        least = sum;
        best = at;
        using namespace Eigen::LevenbergMarquardtSpace;
        settled = status == RelativeReductionTooSmall || status == RelativeErrorTooSmall ||
                  status == RelativeErrorAndReductionTooSmall || status == CosinusTooSmall || status == FtolTooSmall ||
                  status == XtolTooSmall || status == GtolTooSmall;
    }
    CurveFit fit;
    fit.points = static_cast<int>(n);
    if (best.size() == 0) {
        fit.message = "no curve comes near these calibrators";
        return fit;
    }
    fit.curve = curve_fit::Residuals::curve_of(best);
    const double farthest = levels.back().content;
    if (!settled || fit.curve.c > 100.0 * farthest || fit.curve.b > 50.0 || !(fit.curve.a > fit.curve.d)) {
        fit.message = fmt::format(
            "the calibrators do not settle a curve ({}): they need contents on both sides of the middle of the fall, "
            "and some near both of its ends",
            in_words(fit.curve));
        return fit;
    }
    fit.settled = true;
    if (n == 4) {
        fit.message =
            "four points go through exactly: nothing says how sure the curve is; run the calibrators in duplicate";
        return fit;
    }
    fit.residual_sd = std::sqrt(least / static_cast<double>(n - 4));
    Eigen::MatrixXd jacobian(n, 4);
    residuals.df(best, jacobian);
    jacobian.col(1) /= fit.curve.b;
    jacobian.col(2) /= fit.curve.c;
    const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(jacobian);
    if (qr.rank() < 4) {
        fit.settled = false;
        fit.message = "the calibrators leave one of the curve's four numbers open: run more contents";
        return fit;
    }
    const Eigen::MatrixXd thin = qr.householderQ() * Eigen::MatrixXd::Identity(n, 4);
    Eigen::VectorXd offs(n);
    residuals(best, offs);
    fit.farthest = curve_fit::farthest_of(offs, thin.rowwise().squaredNorm());
    const Eigen::Matrix4d upper = qr.matrixR().topLeftCorner<4, 4>().triangularView<Eigen::Upper>();
    const Eigen::Matrix4d inverse =
        upper.triangularView<Eigen::Upper>().solve(Eigen::Matrix4d(Eigen::Matrix4d::Identity()));
    Eigen::Matrix4d covariance = fit.residual_sd * fit.residual_sd * inverse * inverse.transpose();
    covariance = qr.colsPermutation() * covariance * qr.colsPermutation().transpose();
    fit.curve.covariance = 0.5 * (covariance + covariance.transpose());
    // With weights the scatter of a signal is not one number: the root mean square of what the weights say.
    double squares = 0.0;
    for (const Calibrator& point : calibrators) squares += std::pow(point.signal_sd.value_or(1.0), 2);
    fit.curve.signal_sd = fit.residual_sd * std::sqrt(squares / static_cast<double>(n));
    fit.message = fmt::format("settled on {} of {}", counted(n, "calibrator"),
                              counted(static_cast<long long>(levels.size()), "content"));
    curve_fit::look_at_fit(fit, calibrators);
    return fit;
}

}  // namespace models
