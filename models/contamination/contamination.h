#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "models/assay/error_variance.h"
#include "models/assay/kit_lot_effect.h"
#include "models/contamination/doubts.h"
#include "models/contamination/priors.h"
#include "models/decision/reading_law.h"
#include "models/geometry.h"
#include "models/progress.h"
#include "models/records.h"

namespace models {

/// A factor on the content that was measured elsewhere: sprayed, after wheat. The same in all fields that it holds for,
/// so what results say of it in one of them is told of the others.
struct PublishedRatio {
    std::string what;        ///< "sprayed against head blight around flowering"
    double log_ratio = 0.0;  ///< ln of the content with it over the content without
    double sd = 0.0;         ///< how unsure that is
    bool operator==(const PublishedRatio&) const = default;
};

/// A field (or a part with its own crop record) in one season: what has a mean content of its own.
struct FieldSeason {
    std::string field, part;
    int season = 0;
    std::optional<double> risk_logit;  ///< ln p/(1-p) of the disease risk; missing: integrated over the season's spread
    double risk_logit_sd = 0.0;        ///< how unsure that is, for example over the flowering date
    std::vector<std::size_t> ratios = {};  ///< that hold for it: indices into ContaminationInput::ratios
    std::optional<PointM> place_m = {};    ///< its middle; none: it is as variable, and nothing is told of it by others
    std::optional<double> risk_weather_km = {};  ///< how far away the risk's weather was measured; only said
    bool date_observed = true;                   ///< the day that the risk counts from was seen; only said
    bool operator==(const FieldSeason&) const = default;
};

struct GrainShare {
    std::size_t field_season = 0;  ///< index into ContaminationInput::field_seasons
    double share = 1.0;            ///< of the load's mass, 0 to 1
    bool operator==(const GrainShare&) const = default;
};

/// A delivery: part of one field, or of several. What the shares leave open is bought grain of unknown fields.
struct GrainLoad {
    std::string load;
    std::vector<GrainShare> parts;
    bool operator==(const GrainLoad&) const = default;
};

enum class SampledGrain { field_season, load, control };

/// Grain taken from a field, from a load, or from a control of known content.
struct GrainSample {
    std::string sample;
    SampledGrain from = SampledGrain::field_season;
    std::size_t index = 0;  ///< into field_seasons or loads; not used for a control
    Stage stage = Stage::truck;
    SampleKind kind = SampleKind::composite;
    std::optional<int> increments;  ///< of a composite; a point is one
    std::optional<double> mass_g;
    ChosenBecause chosen_because = ChosenBecause::plan;
    double control_mg_per_kg = 0.0;  ///< of a control: its content and how well that is known
    double control_standard_uncertainty_mg_per_kg = 0.0;
    bool operator==(const GrainSample&) const = default;
};

/// One reading of a sample, on the basis that all readings of the model share.
struct AssayResult {
    std::string test;
    std::size_t sample = 0;            ///< index into ContaminationInput::samples
    std::string portion;               ///< readings of one portion carry the same name; empty: a portion of its own
    Reading reading = Reading::value;  ///< `invalid` is left out
    double don_mg_per_kg = 0.0;        ///< value or bound, > 0
    Method method = Method::strip;
    std::string kit_lot;  ///< or run. Strips that do not say share one unnamed lot a season
    std::optional<double> portion_g;
    int analyses = 1;
    /// Stated by a laboratory: covers preparation and analysis, sampling comes in addition.
    std::optional<double> standard_uncertainty_mg_per_kg;
    double curve_log_variance = 0.0;  ///< of ln content from the strip's curve, about the reading symmetrically
    bool operator==(const AssayResult&) const = default;
};

struct ContaminationInput {
    std::vector<FieldSeason> field_seasons;
    std::vector<PublishedRatio> ratios;
    std::vector<GrainLoad> loads;
    std::vector<GrainSample> samples;
    std::vector<AssayResult> results;  ///< leave out what must not be known yet (tests after the mapped season)
    std::vector<KitLotEffect> lots_compared = {};  ///< what comparisons outside these results tell of lots; only said
    bool operator==(const ContaminationInput&) const = default;
};

/// How the standard deviations and the range are dealt with.
enum class ParametersBy {
    usual,                  ///< integrated up to 1,500 tested field-seasons, most probable of more
    integrated,             ///< averaged over all values by their weight
    most_probable,          ///< the values that results and priors make most probable, alone
    restricted_likelihood,  ///< those of highest restricted likelihood (REML): no prior, of level and slope neither
};
std::string_view name_of(ParametersBy way);  ///< "usual", "integrated", "most-probable", "restricted-likelihood"
/// @throws Error  no such way
ParametersBy parameters_by_named(std::string_view name);

struct ContaminationSettings {
    ErrorModel strip_error;
    ErrorModel laboratory_error{.analysis_by_horwitz = true};
    ParametersBy parameters = ParametersBy::usual;
    int points = 256;                ///< values of the covariance parameters that are averaged
    double enough_effective = 30.0;  ///< under this effective number of points they are drawn anew
    /// Of one season as many tested fields are alike where they are near, exactly. Of more, groups of near ones are, of
    /// at most so many (near_groups.h); Learnt::groups says what that costs.
    int most_joined_fields = 600;
    int threads = 0;  ///< 0: as many as the machine has; the result does not depend on it
};

/// Content of a field, load or mix, in mg/kg. Low and high: 5, 25, 75, 95 % quantiles; `mean` is the mean on the mg/kg
/// scale. 0 where so much of the law is grain without any DON.
struct Content {
    double median = 0.0, mean = 0.0, low90 = 0.0, high90 = 0.0, low50 = 0.0, high50 = 0.0;
    int tests = 0;                ///< readings of this very field or load; for a load those of its fields as well
    bool risk_unknown = false;    ///< no disease risk: the spread of the season's fields stands in for it
    bool chosen_outside = false;  ///< all its tests were taken for a reason the model does not know: widened
    bool contradicted = false;    ///< its samples, or its and those of its loads or fields, contradict one another
};

/// What is known of ln content of several fields together: a mixture of normal laws, one for each value of the standard
/// deviations that has weight. What grain from them holds follows from it (grain_of_field.h).
struct FieldsTogether {
    struct Point {
        double weight = 0.0;         ///< they add up to 1
        Eigen::VectorXd mean;        ///< ln mg/kg of the fields' arithmetic means, in the order asked for
        Eigen::MatrixXd covariance;  ///< of them
        double within_sd = 0.0;      ///< of ln content between places within a field
        /// Chances that the fields hold no DON at all, each for itself; the law above is that of fields that hold some.
        /// Empty: all hold some.
        Eigen::VectorXd without_don = {};
    };
    std::vector<Point> points;
};

/// What the results have taught about the model's parameters: posterior mean and standard deviation.
struct Learnt {
    struct Parameter {
        std::string name;
        double mean = 0.0, sd = 0.0;
    };
    /// level, slope, season_sd, field_sd, within_sd, lot_sd; with positions also region_sd, range_m; where results of
    /// some field are all below the range also free_share, of fields without any DON
    std::vector<Parameter> parameters;
    struct Season {
        int season = 0;
        int tests = 0;
        double factor = 1.0, low90 = 1.0, high90 = 1.0;  ///< of the season's fields against an average season
    };
    std::vector<Season> seasons;
    /// What the results make of a published ratio, in the order of the input; those that hold for no field are left
    /// out.
    struct Ratio {
        std::string what;
        double factor = 1.0, low90 = 1.0, high90 = 1.0;
        int fields = 0;  ///< field-seasons that it holds for
    };
    std::vector<Ratio> ratios;
    std::string parameters_by;  ///< name_of the way they were dealt with; "fixed" where they were given
    double log_evidence = 0.0;  ///< most probable parameters: by Laplace's approximation; or restricted likelihood
    double effective_points = 0.0;
    int rounds = 1;                  ///< of points drawn
    int unsettled = 0;               ///< points whose propagation did not settle (their weight is kept)
    std::vector<std::string> notes;  ///< assumptions and warnings, each a sentence, each once
    /// Samples that cannot be explained together: of what they were taken, and the note that names them.
    struct Contradiction {
        std::vector<std::size_t> field_seasons, loads;  ///< indices into the input
        std::string sentence;
    };
    std::vector<Contradiction> contradictions;

    /// Whether near fields of one season are alike beyond their risk and level. Predictions average over every sd and
    /// range either way; this says what the results make of it.
    struct Region {
        bool supported = false;
        std::string sentence;         ///< "supported: ..." or "not supported: ...", with the figures
        double evidence_ratio = 1.0;  ///< for a regional effect against none, each integrated over its parameters
        /// 1 - squared error of each field's result foretold by all others with a regional effect / without; none
        /// where too few fields have just one result that is a value.
        std::optional<double> leave_one_out_skill;
        int leave_one_out_fields = 0;
        double range_median_m = 0.0, range_low90_m = 0.0, range_high90_m = 0.0;
        bool range_told = false;  ///< false: the results leave the range what it was before them
    };
    std::optional<Region> region;  ///< none: no positions, or an sd that is fixed at 0

    /// Where a season has more tested fields than are joined exactly: what cutting them into groups costs. All fields
    /// of so many groups were worked out again, at the most probable parameters, each group joined with the fields
    /// around it, as many again as it has.
    struct Groups {
        int groups = 0, largest = 0;  ///< of tested fields
        int groups_checked = 0, fields_checked = 0;
        double median_most = 0.0, median_middle = 0.0;  ///< share by which the median of a field differs
        double width_most = 0.0, width_middle = 0.0;    ///< and the width of its 90 % interval
    };
    std::optional<Groups> groups;  ///< none: every season is joined as a whole
    /// Every assumption and what the results of the newest season say of it; empty when ranking_only. Those to warn of
    /// stand among the notes, too (doubts.h).
    std::vector<Doubt> doubts;

    /// A sample of the newest season as all other samples foretell it, beside what it read: how well places, fields and
    /// seasons stand in for one another.
    struct LeftOut {
        std::size_t sample = 0;                          ///< index into the input
        Reading reading = Reading::value;                ///< a number, or all its readings are bounds on one side
        double read_mg_per_kg = 0.0;                     ///< geometric mean of its readings, or the first of its bounds
        double median = 0.0, low90 = 0.0, high90 = 0.0;  ///< of one more reading of it, mg/kg, by all others
        double at_most = 0.0;                            ///< chance of reading at most what it read, by all others
    };
    std::vector<LeftOut> left_out;  ///< in the order of samples; empty when ranking_only
};

/// What a field's number rests on, in the order in which it became known. Each step says the median before the next.
struct Explanation {
    struct Step {
        std::string what;     ///< "disease risk alone", "results of other fields and seasons", "test T12: 1.4 mg/kg"
        double median = 0.0;  ///< mg/kg after this step
        double low90 = 0.0, high90 = 0.0;
        double factor = 1.0;  ///< median against the step before
    };
    std::vector<Step> steps;
};

/// A test that somebody might make of a field.
struct TestDesign {
    Stage stage = Stage::truck;
    int increments = 10;
    std::optional<double> mass_g;
    Method method = Method::strip;
    std::optional<double> portion_g;
    double low_mg_per_kg = 0.0;   ///< working range; 0: no lower end
    double high_mg_per_kg = 0.0;  ///< 0: no upper end
};

/// What lies between the mean of a field and the reading of a test of it, beside the test's own error: variances of
/// ln.
struct ReadingSpread {
    double composite = 0.0;  ///< of a sample of so many increments
    double lot = 0.0;        ///< between kit lots
    double stage_mean = 0.0, stage_variance = 0.0;
};

struct Worlds;  // models/contamination/worlds.h

/// Contamination of fields and loads from disease risk and results, all seasons in one model.
///
/// For field f in season y with l the logit of its disease risk, the log of its arithmetic mean content is
///   m = b0 + b1 (l + 1) + sum of the published ratios r that hold for it + season_y + region_y(f) + field_fy,
///   r ~ N(log_ratio, sd^2)
/// region_y is a Gaussian field over the places of one season, cov = region_sd^2 exp(-distance / range), and another
/// one in each season; a field-season without a place has the variance and shares it with nobody.
/// A sample of k increments holds ln c = m + stage - v/2 + N(0, v), v = ln(1 + (exp(sd_w^2) - 1)/k); a point is k = 1;
/// a load of the field differs from it by N(-v/2, v) with k = load_places, a load of several fields mixes their
/// contents by its shares. A reading is lognormal about c with mean c times the effect of its kit lot, log variance q =
/// ln(1 + CV^2(c)) at the true c (`ErrorModel`); below or above the range is the probability of that side. Readings of
/// one sample share its sampling error, readings of one portion its preparation error. Samples of one field or load
/// that contradict one another, and those of a load and its fields, count for less and are named in the notes
/// (disagreement.h).
/// A share of the field-seasons holds no DON at all, each for itself and whatever its risk: content 0, every reading of
/// its grain below the range. Where all results of a field's own grain are below, the field holds none with the chance
/// that Bayes' rule gives; with a value it holds some; without a result the share is its chance. Its content is then a
/// mixture with a lump at 0, so that a median or a low end may be 0. The share is one more parameter and is learnt
/// where some field's results are all below the range; elsewhere nothing speaks for it and it is 0. Loads of one field
/// are its grain; of a load of several fields a part without DON brings nothing, but what such a load reads tells of no
/// part that it holds none. Source of a lump at 0 beside a continuous law: Cragg (1971), Econometrica 39, 829-844. b is
/// integrated with its prior in closed form, the readings by expectation propagation, the standard deviations over
/// fixed quasi-random points weighted by their evidence. Every output is a mixture over these points. Sources:
/// Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, sections 2.7 and 3.6; Minka (2001),
/// Expectation propagation, UAI 17; Rue, Martino & Chopin (2009), J R Stat Soc B 71, 319-392 (integrated parameters);
/// Joe & Kuo (2008), SIAM J Sci Comput 30, 2635-2654 (points); Garcia-Fernandez et al. (2015), IEEE Trans Signal
/// Process 63, 5561-5573 (mixes, linearised about the posterior).
class ContaminationModel {
 public:
    struct State;
    explicit ContaminationModel(std::shared_ptr<const State> state) : state_(std::move(state)) {}

    /// No result in any season: fields can be ranked by their risk, and there is no content, interval or exceedance.
    bool ranking_only() const;
    /// All field-seasons of the season, the most suspect first: by median content, by risk when ranking_only.
    std::vector<std::size_t> ranking(int season) const;

    std::optional<Content> field_season(std::size_t index) const;  ///< nullopt when ranking_only
    std::optional<Content> load(std::size_t index) const;
    /// P(content > limit), 0 to 1.
    std::optional<double> exceedance(std::size_t field_season, double limit_mg_per_kg) const;
    std::optional<double> load_exceedance(std::size_t load, double limit_mg_per_kg) const;

    /// Needs ranking_only() to be false. @throws Error  no field, one that is not there, or one twice
    FieldsTogether fields_together(const std::vector<std::size_t>& field_seasons) const;

    /// n draws of all contents together, mg/kg, 0 for grain without any DON: a column for each field-season, then one
    /// for each load. Draw i depends on the seed and on i alone. Needs ranking_only() to be false.
    Eigen::MatrixXd draws(int n, std::uint64_t seed) const;

    /// The same draws of some field-seasons and of some loads that were tested; any other load of those fields can be
    /// drawn from them without the model (worlds.h). Needs ranking_only() to be false.
    Worlds worlds(int n, std::uint64_t seed, const std::vector<std::size_t>& field_seasons,
                  const std::vector<std::size_t>& tested_loads) const;

    const Learnt& learnt() const;
    Explanation explain(std::size_t field_season) const;
    /// What a test that is not made yet would read, given the true mean of the field: composite, error at the true
    /// content, kit lot and stage (as far as they are known) together. It says nothing of how likely that mean is.
    ReadingLaw reading_law(const TestDesign&) const;
    ReadingSpread reading_spread(const TestDesign&) const;

 private:
    std::shared_ptr<const State> state_;
};

/// The law of such a test's reading without the model.
ReadingLaw reading_law(const TestDesign&, const ReadingSpread&, const ErrorModel& strip_error,
                       const ErrorModel& laboratory_error);

/// @throws Error  an index points nowhere; a share, mass, content or uncertainty is out of its range; the same
///                field-season twice; restricted likelihood of fewer than 10 tested field-seasons
ContaminationModel fit_contamination(const ContaminationInput&, const ContaminationPriors& = {},
                                     const ContaminationSettings& = {}, const Progress& = {});

}  // namespace models
