#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/zone_stage.h"
#include "app/workflow.h"
#include "models/decision/clearing.h"
#include "models/decision/zone_split.h"
#include "models/geometry.h"

namespace app {

struct SplitSettings {
    std::string field = "all";          ///< a field, a part, or "all"
    double header_m = 9.0;              ///< width of the combine's header; common practice, no source
    int least_headers = 3;              ///< no zone is narrower; ours
    std::optional<double> heading_deg;  ///< of the driving, from north by east; none: the field's longer side
    int most_zones = 3;                 ///< ours
    /// Of each further zone, in the unit of the worth. None: an hour where money and the cost `hour` are known, else
    /// 5 t (ours), at what a tonne kept apart loses.
    std::optional<double> line_cost;
    std::optional<double> upper_cap;       ///< 0 to 1: above this chance of being over a zone is over, not undecided
    std::optional<double> yield_t_per_ha;  ///< of fields that do not say theirs
    bool own_duplicates = false;           ///< as the season was looked at
    int threads = 0;
    int draws = 4096;  ///< half of them choose the lines, half tell what they are worth
};

/// A zone of a split field, with what its grain holds.
struct SplitZone {
    DrawnZone drawn;       ///< "C02 zone 1", or the name of a part
    std::string part;      ///< of a crop record of its own; empty: a zone along lines
    std::string where;     ///< "west side", "middle"; empty for a part
    double width_m = 0.0;  ///< across the driving; 0 for a part
    ZoneContent content;   ///< as contents_of_zones has it
    models::ZoneUse use = models::ZoneUse::taken;
    models::Clearing clearing;  ///< by the limit's rule
};

/// How a field is cut, or why it is cut as one.
struct FieldSplit {
    std::string field;                                   ///< FieldView::name; of parts their field
    bool by_parts = false;                               ///< zones are its parts, which have records of their own
    std::vector<SplitZone> zones;                        ///< empty: it is cut as one, and `why_not` says why
    std::string why_not;                                 ///< a sentence without its full stop
    std::string how_to_find_out;                         ///< likewise; empty where there is nothing to find out
    double heading_deg = 0.0;                            ///< of its lines, once they were looked for
    double line_step_m = 0.0;                            ///< lines lie at multiples of this; 0: none were looked for
    std::optional<models::SplitWorth> worth;             ///< over cutting it as one; none: nothing was weighed
    models::ZoneUse whole_use = models::ZoneUse::taken;  ///< as one
    std::vector<std::string> notes;                      ///< sentences without their full stop
};

struct SplitsOfSeason {
    std::vector<FieldSplit> fields;  ///< that were asked about, by name
    bool in_money = false;           ///< else worth is in tonnes of grain
    models::SplitCosts costs;
    std::string costs_in_words;  ///< what a line and a wrong decision cost; one sentence without its full stop
    std::string rests_on;        ///< likewise
};

/// Which fields are worth cutting in zones, and along which lines. Parts that have crop records of their own are zones
/// as they are. Another field is divided only where results of its own places support a surface in it (the verdict of
/// the map), along lines that its combine drives (models/decision/drive_lines.h), if some division is worth more than
/// its lines cost (models/decision/zone_split.h): lines are chosen on one half of the draws, and on the other half
/// their worth must be above 0 as well. What a zone holds is told as for any drawn zone, so that its outline read back
/// by `map --zones` has the same numbers; its state follows the limit's rule. A zone of a field that has a result over
/// the limit of its own whole is not cleared by the model.
/// @throws models::Error  no such field (near names are offered); a header, least width, heading, number of zones or
///                        cost out of range; no limit; a ranking only
SplitsOfSeason split_fields(const SeasonView& view, const SplitSettings& settings,
                            const models::Progress& progress = {});

}  // namespace app
