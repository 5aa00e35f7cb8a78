#include <cmath>

#include "geo/import_rows.h"
#include "geo/tables/cells.h"
#include "models/calendar.h"

/// What goes in and is told: nothing here refuses a row.
namespace geo::importing {

namespace {

std::string mg_per_kg(double content) {
    return tables::number_text(content) + " mg/kg";
}

/// What a number outside the range of its strip says at most; empty where it lies inside.
std::string outside_range(const std::string& what, double content, double dilution, const Known::KitLotTold& lot) {
    const double high = lot.high_mg_per_kg * dilution;
    const auto tells = [&](const char* ends, const char* sign, double bound) {
        return what + " reads " + mg_per_kg(content) + ", and the range of its kit lot " + ends + " at " +
               mg_per_kg(bound) + ": such a strip tells only " + sign + tables::number_text(bound);
    };
    if (content > high) return tells("ends", ">", high) + "; dilute and test again";
    if (content < lot.low_mg_per_kg) return tells("begins", "<", lot.low_mg_per_kg);
    return "";
}

}  // namespace

void Oddities::look_at_start(const std::string& what, const std::string& sample, const models::Stamp& started,
                             Known& known) {
    const std::string doubt = models::why_start_is_in_doubt(started, known.grain_there(sample));
    if (!doubt.empty()) starts_.add(what + ": " + doubt);
}

void Oddities::look_at(const tables::Kind& kind, const Cells& cells, Known& known) {
    if (kind.name == "strips") {
        if (const auto started = models::parse_stamp(cells.text("started")))
            look_at_start("strip " + cells.text("strip"), cells.text("sample"), *started, known);
        return;
    }
    if (kind.name != "tests") return;
    const std::string what = "test " + cells.text("test"), lot = cells.text("kit_lot");
    const Known::SampleTold& sample = known.sample_told(cells.text("sample"));
    const auto read = models::parse_stamp(cells.text("time"));
    if (read && sample.taken && read->utc < sample.taken->utc) {
        days_.add(what + " was read at " + models::to_text(*read) + ", before its sample " + sample.sample +
                  " was taken at " + models::to_text(*sample.taken) + ": one of the two clocks is wrong");
    } else if (read && cells.has("incubation_s") && cells.text("method") != "laboratory") {
        constexpr double longest_s = 1e9;  // a mistyped number must not run over the clock
        const double ran_s = cells.number("incubation_s");
        if (ran_s <= longest_s)
            look_at_start(what, cells.text("sample"),
                          {read->utc - std::chrono::seconds(std::llround(ran_s)), read->offset}, known);
    }
    // In whole seconds: a year that was mistyped must not run over the clock's nanoseconds.
    const auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
    if (read && read->utc > now + clocks_differ_by) {
        days_.add(what + " was read at " + models::to_text(*read) +
                  ", and by this machine's clock that is still to come: look at its date");
    }
    if (read && sample.stage == "control") {
        const auto last = known.last_day_of_control(sample.sample);
        if (last && *last < read->local_day()) {
            days_.add(what + " was read on " + models::to_text(read->local_day()) + ", and control " + sample.sample +
                      " was good until " + models::to_text(*last));
        }
    }
    if (lot.empty() || known.names("kit-lots").empty()) return;
    const auto told = known.kit_lot_told(lot, cells.text("commodity"));
    if (!told) {
        if (lots_told_.insert(lot).second) {
            cautions_.push_back(what + " names kit lot " + lot +
                                ", which is not in the store, so nothing says what range and last day it has");
        }
        return;
    }
    if (read && told->expires && *told->expires < read->local_day()) {
        days_.add(what + " was read on " + models::to_text(read->local_day()) + ", and kit lot " + lot +
                  " was good until " + models::to_text(*told->expires));
    }
    if (cells.text("reading") != "value" || !cells.has("don_mg_per_kg") || cells.text("method") == "laboratory") return;
    const double dilution = cells.has("extra_dilution") ? cells.number("extra_dilution") : 1.0;
    const std::string words = outside_range(what, cells.number("don_mg_per_kg"), dilution, *told);
    if (!words.empty()) readings_.add(words);
}

}  // namespace geo::importing
