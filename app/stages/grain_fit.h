#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/contamination_stage.h"
#include "models/contamination/worlds.h"
#include "models/decision/bin_content.h"
#include "models/decision/source_draws.h"

namespace app {

/// What bins and loads ask of the fitted contamination model: it comes from the model, or from what was kept of it
/// beside the store, and is the same to the last bit.
struct GrainFit {
    bool known = false;                                         ///< false: there is no DON result, and nothing is known
    double kit_lot_sd = 0.0;                                    ///< of ln readings between kit lots, as learnt
    std::vector<models::Learnt::Contradiction> contradictions;  ///< by loads of the model's input
    models::ReadingSpread reading;                              ///< of a buyer's usual test
    models::Worlds worlds;                                      ///< fields and tested loads that were asked for
    std::vector<Eigen::Index> chosen;                           ///< which draws count, in this order; empty: all

    /// A column of the worlds, or of what follows from them, as it counts.
    Eigen::VectorXd as_it_counts(Eigen::VectorXd column) const;
};

/// Which loads somebody asks about, and which fields; what these need of the model follows.
struct FitAsked {
    std::vector<std::size_t> loads, field_seasons;  ///< of the model's input
    int draws = 4000;
    std::uint64_t seed = 1;
};
/// All loads, and all field-seasons of a season.
FitAsked everything_of(const ContaminationView& view, int season);

/// @param view  with its model
GrainFit fit_of_model(const ContaminationView& view, const FitAsked& asked);

/// Draws of contents of loads and of what bins opened with, side by side, on the basis of the fit.
/// @param loads     of the store, known to the model
/// @param openings  opening_draws of as many draws as were asked for
/// @throws models::Error  a load and an opening content have one name
models::SourceDraws draws_of_sources(const SeasonData& data, const ContaminationView& view,
                                     const std::vector<std::size_t>& loads, const models::SourceDraws& openings,
                                     const GrainFit& fit, int threads);

/// The files beside a store: `STORE.kept-fit`, what the model says of fields and tested loads, and `STORE.kept-bins`,
/// the mean content of each bin by it. They may be deleted at any time.
std::filesystem::path kept_fit_file(const std::filesystem::path& store);
std::filesystem::path kept_bins_file(const std::filesystem::path& store);

/// What the fit of this view rests on: fields, their risks, and every result with the grain that it is of; errors and
/// the way parameters are dealt with; this program. A load without a result of its own, a move and a bin have no part
/// in it.
struct FitRestsOn {
    std::string fields;                ///< SHA-256 of all but the results
    std::vector<std::string> results;  ///< of each, in the order of the input
    std::string key() const;           ///< of all
};
/// @param view  its model is not looked at
FitRestsOn fit_rests_on(const ContaminationView& view, const ContaminationSettings& settings);

/// Keeps what the model says of the season, unless the file holds that already.
void keep_fit(const std::filesystem::path& file, const FitRestsOn& rests_on, const ContaminationView& view, int season);

/// Takes a damaged file away, so that a whole one can be kept.
void forget_kept(const std::filesystem::path& file);

/// What was kept of a fit, for the very same results; or for those and a few more, which then weigh on its worlds
/// (models::weigh_worlds): new values of loads that had no result, one to a load. What speaks of more than its load is
/// fitted anew: a second sample, a bound, a reading that comes as a surprise (a chance under 1 %, for then it may
/// contradict another), and readings that leave too few of the draws.
class KeptFit {
 public:
    static constexpr std::size_t most_new_results = 20;
    static constexpr double least_effective_draws = 1000.0, too_surprising = 0.01;

    /// nullopt: nothing is kept that these results can be told from.
    static std::optional<KeptFit> open(const std::filesystem::path& file, const FitRestsOn& rests_on,
                                       const ContaminationView& view);
    /// Of the fit that was kept.
    const std::string& key() const { return key_; }
    /// Results of the input that were not in it.
    const std::vector<std::size_t>& new_results() const { return new_results_; }
    double effective_draws() const { return effective_draws_; }
    /// nullopt: a part of the file is damaged, or holds not all that is asked for.
    std::optional<GrainFit> fit(const FitAsked& asked) const;

 private:
    bool weigh(const ContaminationView& view);
    std::optional<GrainFit> as_fitted(const FitAsked& asked) const;

    std::filesystem::path file_;
    const ContaminationView* view_ = nullptr;
    std::string key_;
    std::vector<std::size_t> new_results_;
    double effective_draws_ = 0.0;
    std::map<std::size_t, Eigen::VectorXd> new_loads_;
    std::vector<Eigen::Index> chosen_;  ///< draws, by the weights of the new results; empty: as they were
};

}  // namespace app
