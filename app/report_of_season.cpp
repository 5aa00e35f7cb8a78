#include "app/report_of_season.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "app/drawing/svg_painter.h"
#include "app/extrapolation.h"
#include "app/figures_of_season.h"
#include "geo/store/chain.h"
#include "geo/store/store.h"
#include "geo/store/superseded_tests.h"
#include "models/decision/bin_plan.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/disease/catalogue.h"

namespace app {

namespace {

std::string chosen_words(models::ChosenBecause because) {
    switch (because) {
        case models::ChosenBecause::random:
            return "random";
        case models::ChosenBecause::plan:
            return "plan";
        case models::ChosenBecause::risk:
            return "risk";
        case models::ChosenBecause::looked_bad:
            return "looked bad";
        case models::ChosenBecause::asked:
            return "asked for";
        case models::ChosenBecause::unknown:
            return "unknown";
    }
    return "";
}

std::vector<report::FieldRow> field_rows(const SeasonView& view) {
    std::vector<report::FieldRow> rows;
    const Extrapolations extrapolations = extrapolations_of(view);
    for (const FieldView& field : view.fields) {
        const models::CropRecord& crop = view.data.crops[field.crop];
        report::FieldRow row;
        row.name = field.name;
        row.cultivar = crop.cultivar;
        if (field.outline != nullptr) {
            row.grower = field.outline->grower;
            row.area_ha = field.outline->area_ha;
        }
        if (const auto flowering = models::flowering_day(crop)) {
            row.flowering = models::to_text(*flowering);
            if (crop.flowering_source) {
                row.flowering +=
                    *crop.flowering_source == models::FloweringSource::observed ? ", observed" : ", estimated";
            }
        }
        if (const FieldRisk* entry = risk_of(view, field.crop)) {
            const FloweringDay& flowering = entry->flowering;
            if (row.flowering.empty() && flowering.day) {
                row.flowering =
                    fmt::format("{} ±{:.0f} days, estimated {}{}", models::to_text(*flowering.day), flowering.sd_days,
                                models::in_words(flowering.basis), flowering.unconfirmed ? ", unconfirmed" : "");
            }
            row.risk = entry->risk.value;
            row.risk_low = entry->risk.low;
            row.risk_high = entry->risk.high;
            row.risk_is_index = entry->risk.kind == models::RiskKind::index;
            if (!entry->station.empty()) {
                row.risk_note =
                    fmt::format("station {}, {:.1f} km", entry->station, entry->station_distance_m / 1000.0);
            }
            for (const std::string& missing : entry->risk.missing) {
                row.risk_note += (row.risk_note.empty() ? "" : "; ") + missing;
            }
            if (const std::string own = extrapolations.beside(entry->risk); !own.empty())
                row.risk_note += (row.risk_note.empty() ? "" : "; ") + fmt::format("extrapolated: {}", own);
        }
        row.tests = field.tests;
        if (field.content) {
            row.median_mg_per_kg = field.content->median;
            row.mean_mg_per_kg = field.content->mean;
            row.low90_mg_per_kg = field.content->low90;
            row.high90_mg_per_kg = field.content->high90;
        }
        row.exceedance = field.exceedance;
        row.note = field.note;
        rows.push_back(std::move(row));
    }
    return rows;
}

std::vector<report::TestRow> test_rows(const geo::Store& store, const SeasonView& view) {
    std::vector<report::TestRow> rows;
    std::vector<const models::Test*> tests;
    const std::vector<models::Test> superseded = geo::superseded_tests(store);
    std::map<std::string, std::string> corrected_by;
    for (const auto* list : {&view.data.tests, &superseded}) {
        for (const models::Test& test : *list) {
            if (season_of_test(view.data, test) == view.season) tests.push_back(&test);
            if (!test.supersedes.empty()) corrected_by[test.supersedes] = test.test;
        }
    }
    std::stable_sort(tests.begin(), tests.end(),
                     [](const models::Test* a, const models::Test* b) { return a->time.utc < b->time.utc; });
    for (const models::Test* test : tests) {
        report::TestRow row;
        row.test = test->test;
        row.time = models::to_text(test->time);
        row.sample = test->sample;
        row.reading = test->reading;
        row.don_mg_per_kg = test->don_mg_per_kg;
        row.method = test->method;
        row.basis = test->basis;
        row.standard_uncertainty_mg_per_kg = test->standard_uncertainty_mg_per_kg;
        row.kit_lot = test->kit_lot;
        row.note = test->void_reason;
        if (!test->supersedes.empty()) row.note += (row.note.empty() ? "" : "; ") + ("corrects " + test->supersedes);
        if (const auto s = sample_index(view.data, test->sample)) {
            const models::Sample& sample = view.data.samples[*s];
            row.stage = sample.stage;
            row.chosen_because = chosen_words(sample.chosen_because);
            row.of = !sample.load.empty()  ? sample.load
                     : !sample.bin.empty() ? sample.bin
                                           : ground_name(sample.field, sample.part);
            if (*s < view.data.joined.samples.size()) {
                const geo::SampleJoin& join = view.data.joined.samples[*s];
                if (row.of.empty() && !join.field.empty()) row.of = ground_name(join.field, join.part);
                if (!join.sentence.empty()) row.note += (row.note.empty() ? "" : "; ") + join.sentence;
            }
        }
        if (const auto later = corrected_by.find(test->test); later != corrected_by.end()) {
            row.corrected = true;
            row.note = "corrected by " + later->second + ", counts no more" + (row.note.empty() ? "" : "; ") + row.note;
        } else if (view.limit && row.stage != models::Stage::control && test->basis == view.limit->basis) {
            const models::LimitOutcome outcome = models::outcome_of(test->reading, test->don_mg_per_kg, *view.limit);
            if (outcome != models::LimitOutcome::undecided) row.over_limit = outcome == models::LimitOutcome::breaks;
        }
        rows.push_back(std::move(row));
    }
    return rows;
}

/// Which controls failed, at their tests and at those that share their run.
void note_controls(report::SeasonReport& out, const std::vector<models::FailedControl>& failed) {
    const auto note = [&out](const std::string& test, const std::string& words) {
        for (report::TestRow& row : out.tests) {
            if (row.test == test && !row.corrected) row.note += (row.note.empty() ? "" : "; ") + words;
        }
    };
    for (const models::FailedControl& control : failed) {
        out.controls_outside.push_back("In doubt: " + models::in_words(control) + ".");
        note(control.test.test, models::failure_in_words(control));
        for (const std::string& test : control.in_doubt)
            note(test, "in doubt, control " + control.test.test + " failed");
    }
}

std::vector<report::LoadRow> load_rows(const SeasonView& view) {
    std::vector<report::LoadRow> rows;
    const BinsView& bins = *view.bins;
    std::map<std::string, const models::Assignment*> assigned;
    for (const models::Assignment& a : bins.plan.assignments) assigned[a.name] = &a;
    std::map<std::string, const models::UnplacedGrain*> unplaced;
    for (const models::UnplacedGrain& u : bins.plan.unplaced) unplaced[u.name] = &u;
    std::map<std::string, Eigen::Index> column;
    for (std::size_t k = 0; k < bins.draws.sources.size(); ++k)
        column[bins.draws.sources[k]] = static_cast<Eigen::Index>(k);
    for (const models::Load& load : view.data.loads) {
        if (season_of_load(view.data, load) != view.season) continue;
        report::LoadRow row;
        row.load = load.load;
        row.time = models::to_text(load.time);
        row.truck = load.truck;
        for (const models::LoadPart& part : load.parts) {
            row.from += row.from.empty() ? "" : ", ";
            row.from += part.field.empty() ? "bought" : ground_name(part.field, part.part);
            if (load.parts.size() > 1) row.from += fmt::format(" {:.0f} %", part.share * 100.0);
        }
        if (row.from.empty()) row.from = "bought";
        row.mass_t = load.net_t;
        row.waits = waits(load, bins.ledger);
        if (const auto found = column.find(load.load); found != column.end()) {
            const auto draws = bins.draws.mg_per_kg.col(found->second);
            row.median_mg_per_kg = models::quantile_of_draws(draws, 0.5);
            row.low90_mg_per_kg = models::quantile_of_draws(draws, 0.05);
            row.high90_mg_per_kg = models::quantile_of_draws(draws, 0.95);
            if (view.limit && view.limit->basis == models::Basis::as_is) {
                row.exceedance = models::exceedance_of_draws(draws, *view.limit);
            }
        }
        if (const auto found = assigned.find(load.load); found != assigned.end()) {
            row.state = found->second->state;
            row.reason = found->second->reason;
            row.bin = found->second->bin;
        } else if (const auto left = unplaced.find(load.load); left != unplaced.end()) {
            row.state = left->second->state;
            row.reason = left->second->reason;
        } else {
            const auto places = bins.ledger.where_is(load.load);
            for (const auto& [bin, tonnes] : places) row.bin += (row.bin.empty() ? "" : ", ") + bin;
            row.is_there = !places.empty();
            if (load.status == models::LoadStatus::turned_away) row.reason = "turned away";
            if (row.waits)
                row.reason =
                    load.net_t.value_or(0.0) > 0.0 ? "no wheat, so nothing is known of it" : "it has no mass yet";
        }
        rows.push_back(std::move(row));
    }
    return rows;
}

std::vector<report::BinRow> bin_rows(const SeasonView& view) {
    std::vector<report::BinRow> rows;
    const drawing::BinsFigure now = bins_figure_of(view);
    for (std::size_t b = 0; b < view.data.bins.size(); ++b) {
        const models::Bin& bin = view.data.bins[b];
        report::BinRow row;
        row.bin = bin.bin;
        row.purpose = bin.purpose;
        if (const auto& limit = view.bins->limits[b].limit) row.limit = models::in_words(*limit);
        row.content_t = view.bins->ledger.bins[b].mass_t();
        row.capacity_t = bin.capacity_t;
        for (const models::GrainPortion& portion : view.bins->ledger.bins[b].by_source()) {
            row.holds += (row.holds.empty() ? "" : ", ") + portion.source;
        }
        row.mean_mg_per_kg = now.bins[b].mean_mg_per_kg;
        row.low90_mg_per_kg = now.bins[b].low90_mg_per_kg;
        row.high90_mg_per_kg = now.bins[b].high90_mg_per_kg;
        row.exceedance = now.bins[b].exceedance;
        if (b < view.bins->plan.bins.size()) row.note = view.bins->plan.bins[b].note;
        // Of what lies there now; the plan's own number is of what will.
        const auto mean = models::mean_content(view.bins->ledger.bins[b].by_source(), view.bins->draws);
        if (const auto& limit = view.bins->limits[b].limit; limit && mean && view.contamination.model) {
            row.rejection_probability = models::rejection_probability(*mean * view.bins->factors[b], *limit,
                                                                      usual_test(*view.contamination.model));
        }
        rows.push_back(std::move(row));
    }
    return rows;
}

template <typename Figure, typename Draw>
report::Figure figure_of(const std::string& title, const std::string& alt, const std::string& name, double width,
                         double height, const Figure& figure, Draw draw) {
    const drawing::Look look = drawing::look_for(width, height);
    report::Figure out;
    out.title = title;
    out.alt = alt;
    out.svg = drawing::svg_text(
        width, height, look.theme.paper, title, alt,
        [&](drawing::Painter& painter) {
            draw(painter, drawing::Rect{0, 0, width, height}, figure, look);
        },
        name);
    return out;
}

std::vector<std::string> what_next(const SeasonView& view) {
    std::vector<std::string> sentences;
    if (view.order) {
        int named = 0;
        for (const models::RankedField& field : view.order->fields) {
            if (named == 3 || (!view.order->ranking_only && field.expected_gain <= 0.0)) break;
            sentences.push_back(fmt::format("Test {} {}: {}.", field.field, named == 0 ? "first" : "next", field.why));
            ++named;
        }
    }
    if (view.bins) {
        for (const std::string& note : view.bins->notes) sentences.push_back("Note: " + note + ".");
    }
    return sentences;
}

report::Chain chain_of(const geo::Store& store) {
    report::Chain chain;
    const std::string wrong = geo::verify_chain(store.database(), [&chain](const geo::Event& event) {
        ++chain.records;
        chain.last_hash = event.sha256;
    });
    chain.unbroken = wrong.empty();
    chain.detail = wrong;
    return chain;
}

}  // namespace

report::SeasonReport report_of_season(const geo::Store& store, const SeasonView& view) {
    report::SeasonReport out;
    out.season = view.season;
    out.store = store.file().filename().string();
    out.program = "lodicule " LODICULE_VERSION;
    if (view.limit) {
        out.limit = models::in_words(*view.limit);
        out.limit_source = view.limit->source;
        out.limit_confirmed = view.limit->confirmed;
        out.limit_mg_per_kg = view.limit->limit_mg_per_kg;
        out.basis = view.limit->basis;
    }
    out.ranking_only = view.contamination.ranking_only();
    out.load_cap = models::ClearingCaps{}.load_cap;
    const models::DiseaseModel& model = models::default_model();
    out.risk_model = model.title;
    out.risk_source = model.label + ". " + model.source;
    out.risk_holds_for = model.region.words;
    out.extrapolated = extrapolations_of(view).sentences;
    if (!view.structure.reason.empty()) out.structure = "Structure within fields: " + view.structure.reason + ".";
    out.notes = view.contamination.notes;
    if (view.contamination.model) {
        for (const std::string& note : view.contamination.model->learnt().notes) out.notes.push_back(note);
    }
    for (const std::string& line : view.data.joined.summary) out.notes.push_back(line);
    for (const geo::Withdrawal& record : store.withdrawals()) out.notes.push_back(geo::in_words(record));
    out.what_next = what_next(view);
    out.figures.push_back(figure_of("Map",
                                    "Map of the fields, coloured by DON; the table of fields says the same in numbers",
                                    "map", 1100.0, 760.0, map_figure_of(view, drawing::MapShows::content),
                                    [](drawing::Painter& p, const drawing::Rect& r, const drawing::MapFigure& f,
                                       const drawing::Look& l) { drawing::draw_map_figure(p, r, f, l); }));
    if (view.bins) {
        out.figures.push_back(figure_of("What is where",
                                        "Bins as layers of their loads; the table of bins says the same in numbers",
                                        "bins", 1100.0, 640.0, bins_figure_of(view),
                                        [](drawing::Painter& p, const drawing::Rect& r, const drawing::BinsFigure& f,
                                           const drawing::Look& l) { drawing::draw_bins_figure(p, r, f, l); }));
        out.loads = load_rows(view);
        out.bins = bin_rows(view);
    }
    out.fields = field_rows(view);
    out.tests = test_rows(store, view);
    note_controls(out, failed_controls(view.data, view.season));
    out.chain = chain_of(store);
    return out;
}

}  // namespace app
