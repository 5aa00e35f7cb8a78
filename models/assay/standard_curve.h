#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/records.h"

namespace models {

/// The standard curve of a kit lot: which signal a strip gives for how much DON, and back. A strip for DON is
/// competitive, so the more DON the weaker its test line, and the curve falls:
///   y = d + (a - d) / (1 + (x/c)^b)         four-parameter logistic
/// with a the signal of grain without DON, d that of very much DON (a > d), c the content half-way between them (mg/kg,
/// > 0) and b the slope there (> 0). x is the content of the GRAIN in mg/kg as the lot's own procedure, its dilution
/// included, would have it: that dilution stands in the curve, and nobody applies it again.
/// Source: Findlay & Dillard (2007), AAPS J 9, E260-E267.
struct StandardCurve {
    double a = 0.0, b = 0.0, c = 0.0, d = 0.0;
    /// Of (a, b, c, d), in that order. None: nothing says how sure the curve is.
    std::optional<Eigen::Matrix4d> covariance = std::nullopt;
    /// Standard deviation of one signal about the curve, in units of the signal; of a fit its residuals'.
    std::optional<double> signal_sd = std::nullopt;
};

/// @throws Error  a number that is not finite; b or c not above zero; a equal to d (flat) or below it (rising);
///                a covariance that is not symmetric or has a variance below zero
void check_curve(const StandardCurve& curve);

/// The curve's signal. @param content_mg_per_kg  >= 0
double signal_at(const StandardCurve& curve, double content_mg_per_kg);

/// The content that the curve has for a signal: x = c ((a - d)/(y - d) - 1)^(1/b).
/// @returns  nullopt where the curve has none: y >= a or y <= d
std::optional<double> content_at(const StandardCurve& curve, double signal);

/// How far the log of a content read from the curve is off, told apart by whose error it is.
///   signal  (dx/dy / x)^2 var(y) / m,  dx/dy = -x (a - d) / (b (y - d)(a - y)): each strip's own
///   curve   g' V g, V the parameters' covariance: one error that ALL results of the lot share; two of them have the
///           covariance g1' V g2, so a second strip of the lot does not make it smaller
/// The delta method; near a or d, where it runs off, content_between says what is known.
struct CurveVariance {
    double signal = 0.0, curve = 0.0;
    Eigen::Vector4d gradient = Eigen::Vector4d::Zero();  ///< g: of the log content by (a, b, c, d)
    double total() const { return signal + curve; }
};
/// @param signal_sd  of one signal, >= 0
/// @param strips     whose mean the signal is
/// @throws Error     the curve has no content for the signal; sd below zero; no strip
CurveVariance log_content_variance(const StandardCurve& curve, double signal, double signal_sd, int strips = 1);
/// What two results of one lot have in common: the covariance of their log contents.
double shared_covariance(const StandardCurve& curve, const CurveVariance& one, const CurveVariance& other);

/// The contents whose band of signals holds the one that was seen: |y(x) - y| <= z sqrt(sd^2 / m + h(x)' V h(x)), h the
/// gradient of the curve's signal by its parameters. A side where the band never leaves the signal is open.
struct ContentsBetween {
    std::optional<double> low_mg_per_kg, high_mg_per_kg;
};
/// @param z  half width in standard deviations, > 0: 1.645 for 90 %
ContentsBetween content_between(const StandardCurve& curve, double signal, double signal_sd, double z = 1.645,
                                int strips = 1);

/// Where strips of a lot tell a number, and how much thinner than the lot's procedure the extract was read (1: as it
/// says). Only that extra dilution multiplies: content = x D, range low D to high D.
struct WorkingRange {
    double low_mg_per_kg = 0.0, high_mg_per_kg = 0.0;
    WorkingRange thinned(double extra_dilution) const {
        return {low_mg_per_kg * extra_dilution, high_mg_per_kg * extra_dilution};
    }
};

/// A content that a strip tells: a number within the range, or that it lies below or above it.
struct ReadContent {
    Reading reading = Reading::value;
    double don_mg_per_kg = 0.0;                  ///< the number, or the end of the range
    std::optional<CurveVariance> variance = {};  ///< of the log of a number, where a signal_sd is known
};

/// Reads a signal. At or above a: below the range; at or below d, a signal of 0 among them: above it.
/// @throws Error  a signal below zero or not finite; one further outside a or d than a quarter of a - d, which no strip
///                of the lot gives (a saturated reader, a strip of another lot; the quarter is ours); an extra dilution
///                under 1; a range that is empty
ReadContent read_signal(const StandardCurve& curve, double signal, const WorkingRange& range,
                        double extra_dilution = 1.0);

/// A strip run on material of known content.
struct Calibrator {
    double content_mg_per_kg = 0.0;  ///< >= 0, of grain by the lot's procedure
    double signal = 0.0;
    std::optional<double> signal_sd = std::nullopt;  ///< weighs it by 1/sd^2; given for all or for none
};

/// A curve through calibrators. One that does not settle is a result and says so.
struct CurveFit {
    StandardCurve curve;
    double residual_sd = 0.0;  ///< sqrt(sum of weighted squares / (n - 4)); with sd given it should be near 1
    int points = 0;
    bool settled = false;
    std::string message;  ///< for a person
    /// The calibrator that lies farthest from the others' curve, by its place, in standard deviations: its studentized
    /// residual (its own error not in the scatter), on the plane that touches the curve. None with fewer than six.
    struct Farthest {
        std::size_t point = 0;
        double sds = 0.0;
        double chance = 1.0;  ///< that the farthest of so many lies as far by their scatter alone (Bonferroni's bound)
    };
    std::optional<Farthest> farthest;
    /// What to look at though there is a curve, each a sentence without its full stop: a farthest calibrator with a
    /// chance under 1 %; a lower end below zero, a signal that no strip gives.
    std::vector<std::string> cautions;
    /// Square root of the covariance's diagonal, (a, b, c, d); none without it.
    std::optional<Eigen::Vector4d> standard_errors() const;
};

/// Weighted least squares, sum of w (signal - y(content))^2 least, by Levenberg and Marquardt's steps (Moré 1978, Lect.
/// Notes Math. 630, 105-116, as Eigen has them) from several slopes. Covariance s^2 (J' W J)^-1 with s^2 the sum over
/// n - 4, as R's nls has it. Four points go through exactly and leave no covariance. Farthest calibrator: Cook &
/// Weisberg (1982), Residuals and Influence in Regression, 2.2.2.
/// @throws Error  fewer than four calibrators, or of fewer than four contents (four equal ones say nothing of a curve);
///                signals that are all equal or do not fall; signals that rise from one content to the next by more
///                than their scatter explains; a number that is not finite or below zero; an sd for some only
CurveFit fit_curve(const std::vector<Calibrator>& calibrators);

/// "a 1.2, b 1.1, c 0.9, d 0.08"
std::string in_words(const StandardCurve& curve);

}  // namespace models
