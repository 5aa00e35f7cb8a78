#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/contamination.h"
#include "models/contamination/propagation.h"
#include "models/contamination/regional.h"

namespace models::contamination {

/// The parameters that no closed form integrates: standard deviations of logs, the range of the regional one, and the
/// share of fields without DON.
struct Parameters {
    double season_sd = 0.0, field_sd = 0.0, within_sd = 0.0, lot_sd = 0.0;
    double region_sd = 0.0, range_m = 0.0;
    double free_share = 0.0;
    static constexpr int count = 6, without_region = 4;  ///< the share of fields without DON, last, makes one more
    /// From a point of the space in which the prior is standard normal; of four or five numbers there is no region, of
    /// four or six no field without DON.
    static Parameters at(const Eigen::RowVectorXd& standard, const ContaminationPriors& priors);
};

/// ln of the mean over so many places of a lognormal content with the arithmetic mean 1 is about N(-v/2, v) with this
/// v.
double variance_of_mean_of(double places, double sd);

/// Whether a sample was taken for a reason that the model does not know.
bool outside_the_model(ChosenBecause why);

/// "field R02 part west, season 2026"
std::string field_season_name(const FieldSeason& field_season);

enum class ColumnKind { level, slope, season, lot, standing, outside, ratio };

struct Column {
    ColumnKind kind;
    int which = 0;  ///< season, lot or published ratio
};

enum class LocalKind { field, load, bought };

struct Local {
    LocalKind kind;
    int index = 0;  ///< field-season or load
};

/// A weighted sum of columns and locals.
using Terms = std::vector<std::pair<int, double>>;

struct Site {
    int sample = 0;
    std::vector<int> results;  ///< indices into the input
    Terms columns, locals;
};

/// How a load of several fields is taken as a sum of logs: ln content = offset + sum slope m + N(0, residual).
struct LoadMix {
    double offset = 0.0, residual = 0.0;
    std::vector<double> slope;  ///< by part, then the bought share where there is one
};

/// What is taken at a point of the posterior and found by going round.
struct Linearisation {
    std::vector<LoadMix> loads;
    std::vector<double> sample_variance;  ///< of errors that readings of different lots share
    double slope_squared = 0.0;           ///< E[b1^2], for risks that are not known exactly
};

/// The input as one Gaussian law with sites: which column, local latent and block each reading hangs on. Nothing here
/// depends on the covariance parameters; `law` puts them in.
class Layout {
 public:
    /// @throws Error  see fit_contamination
    Layout(ContaminationInput input, const ContaminationPriors& priors, const ContaminationSettings& settings);
    Layout(const Layout&) = delete;  // the samples point at the error models in its settings
    Layout& operator=(const Layout&) = delete;

    /// Sites that nothing local joins are blocks of their own; a regional sd above 0 joins those of a season.
    struct Block {
        struct Bundle {
            std::vector<int> sites;
            bool shares_sample = false;  ///< its one site has its sample's own deviation in common with other bundles
        };
        std::vector<Bundle> bundles;
        std::vector<int> locals;
        std::vector<int> followers;  ///< locals of fields without a reading that its readings move
    };
    /// Which fields share one regional effect, a number by field-season (-1: nobody), and the blocks that makes.
    struct Joined {
        std::vector<int> group;
        std::vector<Block> blocks;
    };
    const Joined& joined(const Parameters& p) const { return p.region_sd > 0.0 ? joined_ : apart_; }
    const std::vector<Block>& blocks(const Parameters& p) const { return joined(p).blocks; }
    /// The same fields in other groups.
    Joined join(std::vector<int> group) const;
    GaussianLaw law(const Parameters& p, const Linearisation& at) const { return law(p, at, joined(p)); }
    GaussianLaw law(const Parameters& p, const Linearisation& at, const Joined& joined) const;
    /// Of each season that has more tested fields than may be joined: the numbers of its groups.
    const std::vector<std::vector<int>>& cut_seasons() const { return cut_seasons_; }
    /// Whether there is a regional effect at all, and how many parameters that makes.
    bool regional() const { return regional_; }
    int dimensions() const { return dimensions_without_region() + (regional_ ? 2 : 0); }
    int dimensions_without_region() const { return Parameters::without_region + (learns_free_share_ ? 1 : 0); }
    /// Whether the share of fields without DON is learnt: where the results of some field are all below the range.
    bool learns_free_share() const { return learns_free_share_; }
    Parameters fixed_parameters() const;
    Linearisation first_linearisation() const;
    /// Whether anything is taken at a point of the posterior at all.
    bool needs_linearising() const { return needs_linearising_; }

    const ContaminationInput& input() const { return input_; }
    const ContaminationPriors& priors() const { return priors_; }
    const ContaminationSettings& settings() const { return settings_; }
    const std::vector<SiteSample>& site_samples() const { return site_samples_; }
    const std::vector<SiteTable>& tables() const { return tables_; }
    const std::vector<Site>& sites() const { return sites_; }
    const std::vector<Local>& locals() const { return locals_; }
    const std::vector<Column>& columns() const { return columns_; }
    const std::vector<int>& seasons() const { return seasons_; }
    const std::vector<std::string>& lots() const { return lots_; }  ///< by the number of their column
    const std::vector<std::string>& notes() const { return notes_; }
    const std::vector<Learnt::Contradiction>& contradictions() const { return contradictions_; }

    Eigen::VectorXd column_scale(const Parameters& p) const;
    /// ln of a field's content: fixed part and columns (not yet scaled).
    double field_mean(std::size_t field_season) const;
    /// Mean and variance that the published ratios of a field give its ln content before any result.
    struct OfRatios {
        double mean = 0.0, variance = 0.0;
    };
    OfRatios of_ratios(std::size_t field_season) const;
    const Terms& field_columns(std::size_t field_season) const { return field_columns_[field_season]; }
    double local_variance(const Local& local, const Parameters& p, const Linearisation& at) const;
    double load_variance(const Parameters& p) const;
    /// Covariance of locals, on the whole or by pairs, before any reading.
    Eigen::MatrixXd local_covariance(const std::vector<int>& a, const std::vector<int>& b, const Parameters& p,
                                     const Linearisation& at, const Joined& joined) const;
    RegionPlace region_place(int local) const { return region_place(local, joined_); }
    RegionPlace region_place(int local, const Joined& joined) const;
    int local_of_field(std::size_t field_season) const { return local_of_field_[field_season]; }
    int local_of_load(std::size_t load) const { return local_of_load_[load]; }
    int local_of_bought(std::size_t load) const { return local_of_bought_[load]; }
    double bought_share(std::size_t load) const;
    int season_of(std::size_t field_season) const { return season_of_[field_season]; }
    int season_of_sample(const GrainSample& sample) const;  ///< index into seasons(); -1: of no field
    bool chosen_outside(std::size_t field_season) const { return chosen_outside_[field_season]; }
    /// Whether samples of this field or load contradict one another, or those of the other.
    bool contradicted(SampledGrain of, std::size_t index) const;
    double risk(std::size_t field_season) const { return risk_[field_season]; }  ///< logit; its stand-in where unknown
    bool risk_unknown(std::size_t field_season) const { return !input_.field_seasons[field_season].risk_logit; }
    /// Valid readings of samples of this field-season, and of this load.
    int field_tests(std::size_t field_season) const { return field_tests_[field_season]; }
    int load_tests(std::size_t load) const { return load_tests_[load]; }
    std::optional<int> column_of(ColumnKind kind, int which = 0) const;
    /// A field-season that may hold no DON: all its results, and those of loads that are all of it, are below the
    /// range.
    struct MaybeFree {
        std::size_t field_season = 0;
        std::vector<int> sites;
        std::vector<std::size_t> loads;  ///< all of it, and tested
    };
    const std::vector<MaybeFree>& maybe_free() const { return maybe_free_; }
    /// Which of them; `untested`: no result of it or of a load that is all of it; `holds_don`: one of them is a value.
    static constexpr int untested = -1, holds_don = -2;
    int maybe_free_of(std::size_t field_season) const { return maybe_free_of_[field_season]; }

 private:
    void check_input() const;
    bool risks_differ() const;
    void fill_risks();
    void flag_outside_choices();
    void lay_columns();
    void lay_sites();
    void place_fields();
    std::vector<Block> lay_blocks(const Joined& joined) const;
    void add_followers();
    std::vector<int> group_fields();
    std::vector<std::vector<std::size_t>> tested_units(int season) const;
    void add_shared_samples(const Block& laid, Eigen::VectorXd& own_variance, Eigen::MatrixXd& covariance) const;
    void find_maybe_free();
    void tabulate();
    class Contradictions;
    void widen_where_samples_disagree();
    int add_column(ColumnKind kind, int which);
    int add_local(LocalKind kind, std::size_t index, std::vector<int>& place);
    int lot_of(const AssayResult& result) const;
    double composite_variance(const GrainSample& sample, const Parameters& p) const;

    ContaminationInput input_;
    ContaminationPriors priors_;
    ContaminationSettings settings_;
    std::vector<int> seasons_;
    std::vector<int> season_of_;
    std::vector<double> risk_, risk_sd_;
    std::vector<bool> chosen_outside_;
    std::vector<int> field_tests_, load_tests_;
    std::vector<std::string> lots_;
    std::vector<Column> columns_;
    std::vector<Terms> field_columns_;
    std::vector<Local> locals_;
    std::vector<int> local_of_field_, local_of_load_, local_of_bought_;
    std::vector<Site> sites_;
    std::vector<SiteSample> site_samples_;
    std::vector<SiteTable> tables_;
    std::vector<double>
        disagreement_;  ///< by sample: variance added because samples of the same contradict one another
    Joined apart_, joined_;
    std::vector<std::vector<int>> cut_seasons_;
    std::vector<RegionPlace> places_;  ///< of field-seasons, those of a season together
    bool regional_ = false;
    std::vector<MaybeFree> maybe_free_;
    std::vector<int> maybe_free_of_;
    FreeFields free_fields_;  ///< the same by site, for the propagation
    bool learns_free_share_ = false;
    std::vector<std::string> notes_;
    std::vector<Learnt::Contradiction> contradictions_;
    bool needs_linearising_ = false;
};

}  // namespace models::contamination
