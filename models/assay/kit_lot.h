#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/standard_curve.h"
#include "models/records.h"

namespace models {

/// What a lot's curve is a function of.
enum class SignalKind { test_over_control, test };

/// From which content a strip of a lot is suspected, by a validation of the lot for one limit.
struct KitLotCutoff {
    double mg_per_kg = 0.0;
    double for_limit_mg_per_kg = 0.0;
    std::string from;  ///< "20 + 20 samples over 6 days, 2026-05-12 to 2026-05-19"
};

/// One lot of strips for one grain and one dilution of the extract: everything a strip of it is read with. The dilution
/// is part of the lot's procedure and stands in its curve and its range.
struct KitLot {
    std::string kit_lot, commodity;
    double dilution = 1.0;
    WorkingRange range;
    std::optional<LocalDay> expires = std::nullopt;  ///< last day of use
    SignalKind signal = SignalKind::test_over_control;
    std::optional<StandardCurve> curve = std::nullopt;
    std::optional<double> signal_sd = std::nullopt;  ///< of one strip about the curve, where the lot says it
    std::string why_no_curve = {};                   ///< of a curve that is there and cannot be used: one sentence
    std::vector<std::string> curve_cautions = {};    ///< of one fitted to calibrators: what to look at (CurveFit)
    std::optional<double> minimum_control_signal = std::nullopt;
    std::optional<double> maximum_signal = std::nullopt;  ///< from here on the reader sees no more
    std::optional<double> incubation_least_s = std::nullopt, incubation_most_s = std::nullopt;
    std::optional<double> temperature_least_degc = std::nullopt, temperature_most_degc = std::nullopt;
    std::optional<double> portion_g = std::nullopt;         ///< ground grain that its procedure extracts
    std::optional<double> extract_ml_per_g = std::nullopt;  ///< extractant to each gram of it
    std::optional<KitLotCutoff> cut_off = std::nullopt;
};

/// The lot that a strip is of, by its number, grain and dilution. What is not said (an empty grain, no dilution) is not
/// asked about; words are compared without upper case.
struct ChosenKitLot {
    const KitLot* lot = nullptr;
    std::string why_none;  ///< without a lot: "kit lot K7 has no curve for durum (it has one for wheat)"
};
ChosenKitLot choose_kit_lot(const std::vector<KitLot>& lots, const std::string& kit_lot, const std::string& commodity,
                            std::optional<double> dilution);

}  // namespace models
