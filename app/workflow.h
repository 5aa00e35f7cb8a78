#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/bins_stage.h"
#include "app/stages/contamination_stage.h"
#include "app/stages/order_stage.h"
#include "app/stages/risk_stage.h"
#include "app/stages/season_data.h"

namespace app {

/// How far the work goes; each stage needs those before it.
enum class Upto { risk, contamination, map, first, bins, everything };

/// What is asked of a store.
struct Question {
    std::optional<int> season;  ///< none: the newest
    std::string limit;  ///< a limit_id or a number, mg/kg; needed from `map` on (not by `bins`, whose bins name theirs)
    Upto upto = Upto::everything;
    std::string risk_model;  ///< empty: the default one
    std::optional<models::LocalDay> as_of;
    bool hindsight = false;
    OrderSettings order;  ///< its season is set from above
    std::optional<std::string> next_load;
    int threads = 0;
};

/// One row of the season: a field, or a part with its own crop record.
struct FieldView {
    std::size_t crop = 0;                    ///< index into SeasonData::crops
    std::string name;                        ///< ground_name
    const models::Field* outline = nullptr;  ///< into SeasonData::fields; null where none is drawn
    std::optional<models::Content> content;  ///< none: no wheat, or ranking only
    std::optional<double> exceedance;        ///< none without a limit or a content
    int tests = 0;                           ///< of the field's own samples
    int load_tests = 0;                      ///< of its loads: the number rests on these too
    std::optional<double> risk;
    std::string note;  ///< why there is no number
};

/// A season as the program sees it, everything that the command line prints and the window shows.
struct SeasonView {
    SeasonData data;
    int season = 0;
    std::optional<models::Limit> limit;
    std::vector<FieldRisk> risks;  ///< of all seasons up to this one
    ContaminationView contamination;
    std::vector<FieldView> fields;  ///< of this season, by name
    std::vector<WithinField> within;
    StructureSentence structure;
    std::optional<models::TestOrder> order;
    std::optional<BinsView> bins;
    std::string no_bins;  ///< why there are none
};

/// The whole job, top to bottom.
SeasonView look_at_season(const geo::Store& store, const Question& question, const models::Progress& progress = {});

/// The risk of one crop record of the season.
const FieldRisk* risk_of(const SeasonView& view, std::size_t crop);

}  // namespace app
