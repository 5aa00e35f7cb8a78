#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/bins_stage.h"
#include "app/stages/contamination_stage.h"
#include "app/stages/forecast_review.h"
#include "app/stages/kept.h"
#include "app/stages/order_stage.h"
#include "app/stages/probed_fields.h"
#include "app/stages/review_stage.h"
#include "app/stages/risk_stage.h"
#include "app/stages/risks_over_seasons.h"
#include "app/stages/season_data.h"
#include "app/stages/within_fields_stage.h"
#include "models/spoken.h"

namespace app {

/// How far the work goes; each stage needs those before it.
enum class Upto { risk, contamination, map, first, bins, everything };

/// What is asked of a store.
struct Question {
    std::optional<int> season;  ///< none: the newest
    std::string limit;  ///< a limit_id or a number, mg/kg; needed from `map` on (not by `bins`, whose bins name theirs)
    Upto upto = Upto::everything;
    std::string risk_model;                 ///< empty: the default one
    bool include_unconfirmed = false;       ///< risk_model may be one whose numbers nobody confirmed
    std::optional<models::LocalDay> as_of;  ///< weather, dates and results that were known at its end
    models::InterpolationSettings weather;  ///< how stations become a field's weather
    bool hindsight = false;
    bool own_duplicates = false;  ///< errors of results from the store's own duplicates
    models::ParametersBy parameters = models::ParametersBy::usual;  ///< of the contamination model
    OrderSettings order;                                            ///< its season is set from above
    std::optional<std::string> next_load;
    std::optional<double> upper_cap;  ///< 0 to 1: above this chance of being over a load is over, not undecided
    int threads = 0;
    bool bins_ahead = false;                ///< the bin plan looks at fields that are still to be cut, too
    std::filesystem::path bins_zones = {};  ///< that these fields are cut in, any map file; empty: none
    bool all_grain = false;                 ///< draws of every load in the bins, for lots that are sold from them
};

/// A limit of the store that speaks of a field's grain, and the chance of being over it.
struct LimitOfGrain {
    models::Limit limit;
    double exceedance = 0.0;
};

/// One row of the season: a field, or a part with its own crop record.
struct FieldView {
    std::size_t crop = 0;                      ///< index into SeasonData::crops
    std::string name;                          ///< ground_name
    const models::Field* outline = nullptr;    ///< into SeasonData::fields; null where none is drawn
    std::optional<models::Content> content;    ///< none: no wheat, or ranking only
    std::optional<double> exceedance;          ///< none without a limit or a content
    std::optional<LimitOfGrain> of_its_grain;  ///< where the limit of the question speaks of another grain
    int tests = 0;                             ///< of the field's own samples
    int load_tests = 0;                        ///< of its loads: the number rests on these too
    std::optional<double> risk;
    std::string note;                          ///< why there is no number, or what is odd about it
    std::vector<std::string> bin_probes = {};  ///< samples of bins with its grain, that count for it
};

/// A season as the program sees it, everything that the command line prints and the window shows.
struct SeasonView {
    SeasonData data;
    int season = 0;
    RiskSettings how;  ///< the risks were worked out
    std::optional<models::Limit> limit;
    std::vector<FieldRisk> risks;  ///< of all seasons up to this one
    ContaminationView contamination;
    ProbedFields probed;                                   ///< what probes of bins say of fields
    std::vector<FieldView> fields;                         ///< of this season, by name
    std::vector<WithinField> within;                       ///< fields with placed results
    std::optional<models::WithinFieldStructure> evidence;  ///< of structure within them; none: not asked for
    StructureSentence structure;
    std::string other_grain;  ///< which fields are of another grain than the limit, in words; empty: none
    std::optional<models::TestOrder> order;
    std::optional<BinsView> bins;
    std::string no_bins;  ///< why no plan can be made of those there are; the rest of the season stands
};

/// What is worked out before any limit is asked about: it depends on the records of the store, the season and how the
/// work is done, and stays as it is when another limit is chosen. Whoever asks more than once keeps one of these and
/// gives it to each question; an answer is the same with and without. A change of the store is seen by the end of its
/// chain of records.
struct SeasonMemory {
    struct Inputs {
        std::string last_record;  ///< SHA-256
        int season = 0;
        std::string risk_model = {};
        bool include_unconfirmed = false;
        std::optional<models::LocalDay> as_of = {};
        models::InterpolationSettings weather = {};
        bool all_seasons = false, hindsight = false, own_duplicates = false;
        models::ParametersBy parameters = models::ParametersBy::usual;
        models::Basis basis = models::Basis::as_is;
        std::string next_load = {};
        std::optional<double> upper_cap = {};
        bool bins_ahead = false;
        const models::Translation* spoken = models::translation_here();  ///< reasons are worded where they are found
        bool operator==(const Inputs&) const = default;
    };
    Kept<std::string, SeasonData> data;  ///< by the last record
    Kept<Inputs, std::vector<FieldRisk>> risks;
    Kept<Inputs, ContaminationView> fits;
    Kept<Inputs, ProbedFields> probed;
    Kept<Inputs, WithinFields> within;
    Kept<Inputs, BinsView> bins;  ///< bins name their own limits
};

/// The whole job, top to bottom.
SeasonView look_at_season(const geo::Store& store, const Question& question, const models::Progress& progress = {});
SeasonView look_at_season(const geo::Store& store, const Question& question, const models::Progress& progress,
                          SeasonMemory& memory);
/// The same for a program that ends with its answer: what a fit says of grain is kept beside the store
/// (app/stages/grain_fit.h), and bins and loads are spoken of from that where it is of these very results. The answer
/// is the same without; of bins `contamination` then has no model, `fields` no content, and `draws` loads that wait,
/// or all with `all_grain`.
SeasonView look_at_season_from_kept(const geo::Store& store, const Question& question,
                                    const models::Progress& progress = {});

/// The disease risks of one season by several models.
struct RisksByModels {
    SeasonData data;
    int season = 0;
    RiskSettings how;
    std::vector<const models::DiseaseModel*> by;
    std::vector<std::vector<FieldRisk>> risks;  ///< [model][crop record of the season]
};
/// Of the question `season`, `as_of`, `weather`, `include_unconfirmed` and `threads` count.
/// @throws models::Error  the store has no crop record of that season
RisksByModels look_at_models(const geo::Store& store, const Question& question,
                             const std::vector<const models::DiseaseModel*>& by, const models::Progress& progress = {});

/// The disease risks of several seasons side by side.
struct SeasonRange {
    int first = 0, last = 0;  ///< both included
};
struct SeasonsSideBySide {
    SeasonData data;
    SeasonRange asked;
    RiskSettings how;  ///< `as_of` is of the last season, the same day of the year in the others
    RisksOverSeasons over;
};
/// As above.
/// @param reasons  why records have no number, too
/// @throws models::Error  the store has no crop record of any of these seasons
SeasonsSideBySide look_over_seasons(const geo::Store& store, const Question& question, const SeasonRange& seasons,
                                    const std::vector<const models::DiseaseModel*>& by, bool reasons = false,
                                    const models::Progress& progress = {});

/// What past seasons teach: risks against scouting and results, forecasts against what came after them, and what
/// testing took.
struct SeasonsReviewed {
    SeasonsSideBySide side;
    std::optional<models::Limit> limit;
    bool limit_of_forecasts = false;  ///< none was asked for: the one that most forecasts are of
    RiskReview risks;
    ForecastReview forecasts;
    std::vector<SeasonOfStrips> strips;
};
/// Of the question `limit` (where empty, the limit of most forecasts), `weather` and `threads` count.
/// @throws models::Error  as look_over_seasons; an unknown limit
SeasonsReviewed review_seasons(const geo::Store& store, const Question& question, const SeasonRange& seasons,
                               const std::vector<const models::DiseaseModel*>& by,
                               const models::Progress& progress = {});

/// What the numbers of a season rest on, counted once each.
struct SeasonCount {
    int fields = 0;            ///< with a number
    int fields_without = 0;    ///< listed, without one: no wheat, or ranking only
    int field_results = 0;     ///< of samples taken from these fields
    int load_results = 0;      ///< of their loads; a load of several fields stands in each of their rows
    int bin_probes = 0;        ///< of bins with their grain, by which their loads' and their own draws count
    int results_left_out = 0;  ///< of the season's tests: void ones, controls, grain that is not theirs
};
SeasonCount count_of(const SeasonView& view);
/// "34 fields with a number (10 more without), from 98 results of field samples and 30 of loads; 23 more tests ..."
std::string in_words(const SeasonCount& count);

/// Controls that read outside what they accept and which results of the season are in doubt for it; sentences without
/// their full stop.
std::vector<std::string> control_notes(const SeasonView& view);
/// The same in few sentences, the last of which says where all is told.
std::vector<std::string> control_notes_in_short(const SeasonView& view);

/// The risk of one crop record of the season.
const FieldRisk* risk_of(const SeasonView& view, std::size_t crop);

}  // namespace app
