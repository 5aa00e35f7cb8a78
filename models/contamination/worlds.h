#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/contamination.h"

namespace models {

/// What a fitted model says of grain, as so many equally likely worlds: in each every field has its content, and every
/// tested load its own. What nobody tested follows from that without the model: for a load with the shares s of fields
/// with the contents c, and bought grain B for what they leave open,
///   content = (sum s c + (1 - sum s) B) exp(-v/2 + sqrt(v) z),   ln B ~ N(bought_mean, bought_sd^2)
/// with v the variance between loads in that world. z and B are counted by the load and the world, so that a load's
/// draws are those of ContaminationModel::draws to the last digits, whatever else is drawn.
struct Worlds {
    int draws = 0;
    std::uint64_t seed = 0;
    Eigen::VectorXd load_variance;                  ///< v, by draw
    Eigen::VectorXd lot_sd;                         ///< between kit lots, by draw
    std::map<std::size_t, Eigen::VectorXd> fields;  ///< mg/kg by field-season: those that were asked for
    std::map<std::size_t, Eigen::VectorXd> loads;   ///< of loads that were tested
    std::map<std::string, Eigen::VectorXd> lots;    ///< ln of the effect of each kit lot, by name_of_lot

    /// mg/kg of one load, drawn here where nobody tested it.
    /// @throws Error  one of its fields is not among those asked for
    Eigen::VectorXd load(const ContaminationInput& input, std::size_t load, const ContaminationPriors& = {}) const;
};

/// Whose effect a reading shares: its kit lot, "unnamed lot of 2026" for a strip that names none, or nobody's (empty).
std::string name_of_lot(const ContaminationInput& input, const AssayResult& result);

/// What results that came after the fit make of its worlds.
struct WorldsWeighed {
    Eigen::VectorXd weight;  ///< of each draw; they add up to 1
    double effective = 0.0;  ///< draws that they are worth
    double surprise = 1.0;   ///< of the least expected of them: chance of a reading as far out
};

/// Conditions the worlds on readings of loads that nobody had tested, instead of fitting the model anew. Each draw
/// counts in proportion to the likelihood of the readings in it,
///   P(reading | z) integrated over z = ln content + ln lot effect - w/2 + N(0, w),  w = ln(1 + within_load_cv^2 / k)
/// for a sample of k increments, so that parameters, fields, loads and lots are all weighed at once (Smith & Gelfand
/// 1992, The American Statistician 46(2), 84-88). A lot that the fit does not know is N(0, lot_sd^2). The loads that
/// were read, and such lots, join the worlds.
/// @param results  one to a load, values above 0; the worlds have the fields of their loads
WorldsWeighed weigh_worlds(Worlds& worlds, const ContaminationInput& input, const std::vector<std::size_t>& results,
                           const ErrorModel& strip_error, const ErrorModel& laboratory_error,
                           const ContaminationPriors& = {});

/// Loads with a valid reading of a sample of their own, ascending.
std::vector<std::size_t> tested_loads(const ContaminationInput& input);

}  // namespace models
