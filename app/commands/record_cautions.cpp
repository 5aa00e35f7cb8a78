#include "app/commands/record_cautions.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "app/stages/grain_in_bins.h"
#include "geo/import.h"
#include "geo/store/control_materials.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "models/assay/strip_reading.h"
#include "models/decision/load_life.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app::commands {

namespace {

/// Of the tests and controls that just went in: controls that read outside what they accept or break a rule of their
/// chart, and those of which nothing
/// says what they should read.
std::vector<std::string> cautions_of_controls(const geo::Store& store, const geo::ImportReport& report) {
    std::vector<std::string> cautions;
    const std::set<std::string> arrived(report.names.begin(), report.names.end());
    const std::vector<models::Test> tests = store.tests();
    const std::vector<models::Sample> samples = store.samples();
    const std::vector<models::ControlMaterial> controls = geo::control_materials(store);
    for (const models::FailedControl& failed : models::failed_controls(tests, samples, controls)) {
        const std::string& named = report.kind == "controls" ? failed.control.control : failed.test.test;
        const bool touched =
            arrived.count(named) != 0 ||
            (report.kind == "tests" && std::any_of(failed.in_doubt.begin(), failed.in_doubt.end(),
                                                   [&](const std::string& test) { return arrived.count(test) != 0; }));
        if (touched) cautions.push_back(models::in_words(failed));
    }
    if (report.kind != "tests") return cautions;
    std::set<std::string> unknown;
    for (const models::Sample& sample : samples) {
        if (sample.stage == models::Stage::control) unknown.insert(sample.sample);
    }
    for (const models::ControlMaterial& control : controls) unknown.erase(control.control);
    std::set<std::string> said;
    for (const models::Test& test : tests) {
        if (arrived.count(test.test) == 0 || unknown.count(test.sample) == 0 || !said.insert(test.sample).second)
            continue;
        cautions.push_back("test " + test.test + " is of a control, and there is no control \"" + test.sample +
                           "\" in the store, so nothing says what it should read; the sample of a control bears the "
                           "control's name (lodicule add STORE controls control=" +
                           test.sample + " ...)");
    }
    return cautions;
}

/// Of the tests that just went in: what their signals give, and what is odd that the import has not told already.
std::vector<std::string> cautions_of_strips(const geo::Store& store, const geo::ImportReport& report) {
    std::vector<std::string> cautions;
    const std::set<std::string> arrived(report.names.begin(), report.names.end());
    for (const models::StripReading& reading : store.strip_readings()) {
        if (arrived.count(reading.test.test) == 0) continue;
        if (reading.voided || reading.by_curve) cautions.push_back(models::in_words(reading));
        for (const models::StripFlag& flag : reading.flags) {
            if (flag.concern == models::StripConcern::range || flag.concern == models::StripConcern::expired) continue;
            cautions.push_back("test " + reading.test.test + ": " + flag.sentence);
        }
    }
    return cautions;
}

/// The curves of the kit lots whose calibrators just went in.
std::vector<std::string> cautions_of_calibrators(const geo::Store& store, const geo::ImportReport& report) {
    std::vector<std::string> cautions;
    const std::set<std::string> arrived(report.names.begin(), report.names.end());
    for (const models::KitLot& lot : store.kit_lots()) {
        if (arrived.count(lot.kit_lot) == 0) continue;
        if (!lot.why_no_curve.empty()) cautions.push_back(lot.why_no_curve);
        if (!lot.curve) continue;
        cautions.push_back(fmt::format(
            "kit lot {} for {} has the curve {} now{}", lot.kit_lot, lot.commodity, models::in_words(*lot.curve),
            lot.curve->covariance ? "" : "; four points go through exactly, and nothing says how sure it is"));
        for (const std::string& look_at : lot.curve_cautions)
            cautions.push_back(fmt::format("kit lot {}: {}", lot.kit_lot, look_at));
    }
    return cautions;
}

/// Fields of which the loads of a season, among them those that just went in, bring more than any crop yields: by the
/// bound that a yield in the crops table has.
std::vector<std::string> cautions_of_yields(const SeasonData& data, const std::vector<std::string>& loads) {
    const double most_t_per_ha = geo::tables::kind_named("crops").find("yield_t_per_ha")->most;
    const std::set<std::string> arrived(loads.begin(), loads.end());
    struct Brought {
        double tonnes = 0.0;
        bool by_new_load = false;
    };
    std::map<std::pair<std::string, int>, Brought> brought;  // by field and season
    for (const models::Load& load : data.loads) {
        for (const models::LoadPart& part : load.parts) {
            if (part.field.empty()) continue;
            Brought& here = brought[{part.field, season_of_load(data, load)}];
            here.tonnes += load.net_t.value_or(0.0) * part.share;
            here.by_new_load = here.by_new_load || arrived.count(load.load) != 0;
        }
    }
    std::vector<std::string> cautions;
    for (const auto& [ground, grain] : brought) {
        const models::Field* outline = outline_of(data, ground.first, "");
        if (!grain.by_new_load || outline == nullptr || !(outline->area_ha > 0.0)) continue;
        const double t_per_ha = grain.tonnes / outline->area_ha;
        if (t_per_ha <= most_t_per_ha) continue;
        cautions.push_back(models::phrase(
            "the loads of {} bring {:.1f} t from field {} of {:.1f} ha, which is {:.0f} t/ha, and no crop yields more "
            "than {:.0f}: check the field, its share and the mass",
            ground.second, grain.tonnes, ground.first, outline->area_ha, t_per_ha, most_t_per_ha));
    }
    return cautions;
}

/// Loads that are said to be now what does not come after what they were.
std::vector<std::string> cautions_of_states(const geo::Store& store, const geo::ImportReport& report) {
    std::vector<std::string> cautions;
    if (report.corrected == 0) return cautions;
    std::set<std::string> moved;
    for (const models::Move& move : store.moves()) moved.insert(move.from);
    const std::string mark = ": status: ", arrow = " -> ";
    for (const std::string& change : report.changed) {
        const std::size_t at = change.find(mark), to = change.find(arrow);
        if (at == std::string::npos || to == std::string::npos || to < at) continue;
        const auto status = [](const std::string& word) {
            return word == "nothing"
                       ? models::LoadStatus::arrived
                       : geo::words::meant_by<models::LoadStatus>(word).value_or(models::LoadStatus::arrived);
        };
        const std::size_t from = at + mark.size();
        const models::LoadStatus before = status(change.substr(from, to - from));
        // Of a load whose move was withdrawn it is the status that is put right.
        const bool gone = before == models::LoadStatus::dumped || before == models::LoadStatus::turned_away;
        if (gone && moved.count(change.substr(0, at)) == 0) continue;
        const std::string why = models::why_not_followed(before, status(change.substr(to + arrow.size())));
        if (!why.empty()) cautions.push_back(models::phrase("load {}: {}", change.substr(0, at), why));
    }
    return cautions;
}

/// Bins that were corrected and now stand under a limit that grain in them is over: what lies there decides what a bin
/// may be for.
std::vector<std::string> cautions_of_purposes(const SeasonData& data, const std::vector<std::string>& bins) {
    std::vector<std::string> cautions;
    for (const UnclearedLoad& load : grain_now(data).uncleared) {
        if (load.why != UnclearedLoad::Why::over || std::find(bins.begin(), bins.end(), load.bin) == bins.end())
            continue;
        cautions.push_back(in_words(load) +
                           "; the purpose of a bin is kept or lowered while such grain is in it, and "
                           "never raised");
    }
    return cautions;
}

}  // namespace

std::vector<std::string> cautions_of_records(const geo::Store& store, const geo::ImportReport& report) {
    std::vector<std::string> cautions = report.cautions;
    if (report.names.empty()) return cautions;
    const auto also = [&cautions](const std::vector<std::string>& more) {
        cautions.insert(cautions.end(), more.begin(), more.end());
    };
    if (report.kind == "tests") also(cautions_of_strips(store, report));
    if (report.kind == "calibrators") also(cautions_of_calibrators(store, report));
    if (report.kind == "tests" || report.kind == "controls") also(cautions_of_controls(store, report));
    if (report.kind == "loads") also(cautions_of_states(store, report));
    const bool of_places = (report.kind == "bins" || report.kind == "loads") && report.corrected > 0;
    const bool of_loads = report.kind == "loads" || report.kind == "load-parts";
    if (report.kind != "moves" && !of_places && !of_loads) return cautions;
    try {
        const SeasonData data = read_season_data(store);
        if (of_loads) also(cautions_of_yields(data, report.names));
        if (report.kind == "moves") also(warnings_of_moves(data, report.names));
        if (!of_places) return cautions;
        if (report.kind == "bins") also(cautions_of_purposes(data, report.names));
        for (const models::ImpossibleMove& move : grain_now(data).impossible) cautions.push_back(in_words(move));
    } catch (const models::Error& error) {  // a load and a bin of one name
        cautions.push_back(error.what_happened());
    }
    return cautions;
}

}  // namespace app::commands
