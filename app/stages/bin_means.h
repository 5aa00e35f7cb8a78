#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "app/stages/grain_fit.h"
#include "app/stages/kept_columns.h"
#include "app/stages/season_data.h"
#include "models/decision/bin_content.h"
#include "models/decision/source_draws.h"

namespace app {

/// The mean content of each bin, draw by draw, without a matrix of all its loads: what one load's advice needs of the
/// thousands that lie there. It is models::mean_content of their draws to the last bit. Sums over the loads of a bin
/// are kept beside the store under the key of the fit: a load that is dumped on top is added to them, and only a bin
/// whose grain is another one is summed anew.
class BinMeans {
 public:
    /// @param file  where the sums are kept; empty: nowhere
    BinMeans(const SeasonData& data, const ContaminationView& view, const models::BinLedger& ledger,
             const models::SourceDraws& openings, int draws, std::filesystem::path file, std::string fit_key);

    /// Loads of the model whose draws are still to be added.
    std::vector<std::size_t> loads_missing() const;
    /// @param fit  with these loads
    /// @returns by bin; nullopt where it is empty, or some of its grain is not known
    std::vector<std::optional<Eigen::VectorXd>> means(const GrainFit& fit, int threads);

 private:
    struct Grain {
        double mass_t = 0.0;
        std::optional<std::size_t> load;  ///< of the model
        Eigen::Index opening = -1;        ///< column of the openings
        std::size_t key_ends = 0;         ///< bytes of the bin's key that are of this and all grain under it
    };
    struct OfBin {
        std::string bin;
        std::vector<Grain> grain;  ///< in the order in which it came
        KeyOf key;                 ///< of all of it
        bool known = true;         ///< there are draws of all of it
        std::size_t summed = 0;    ///< so much of it is in the sum
        Eigen::VectorXd sum;       ///< mg/kg times t
    };

    const ContaminationView& view_;
    const models::SourceDraws& openings_;
    std::filesystem::path file_;
    std::string fit_key_;
    std::vector<OfBin> bins_;
};

}  // namespace app
