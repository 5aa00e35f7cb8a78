#include "app/commands/record_cautions.h"

#include "app/stages/grain_in_bins.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace app::commands {

std::vector<std::string> cautions_of_records(const geo::Store& store, const geo::ImportReport& report) {
    std::vector<std::string> cautions;
    const bool of_places = (report.kind == "bins" || report.kind == "loads") && report.corrected > 0;
    if (report.names.empty() || (report.kind != "moves" && !of_places)) return cautions;
    try {
        const SeasonData data = read_season_data(store);
        if (report.kind == "moves") return warnings_of_moves(data, report.names);
        for (const models::ImpossibleMove& move : grain_now(data).impossible) cautions.push_back(in_words(move));
    } catch (const models::Error& error) {  // a load and a bin of one name
        cautions.push_back(error.what_happened());
    }
    return cautions;
}

}  // namespace app::commands
