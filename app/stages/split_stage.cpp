#include "app/stages/split_stage.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "app/stages/field_spread.h"
#include "app/stages/grain_in_bins.h"
#include "app/stages/test_content.h"
#include "geo/cut_outline.h"
#include "models/contamination/grain_of_field.h"
#include "models/counted.h"
#include "models/decision/drive_lines.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spoken.h"

namespace app {

namespace split_stage_parts {

using models::phrase;

constexpr double line_cost_t = 5.0;  // ours: a truck or wagon that goes less full, and the way to it
constexpr int cells_of_a_field = 600;

void check_settings(const SeasonView& view, const SplitSettings& how) {
    if (!view.limit)
        throw models::Error(phrase("a field is divided by what is over a limit, and none is given"), "--split",
                            phrase("add --limit, as in --limit 1.0"));
    if (view.contamination.ranking_only())
        throw models::Error(phrase("no DON result in the store: nothing is known that a field could be divided by"),
                            "--split", phrase("import tests first"));
    if (!(how.header_m >= 0.5 && how.header_m <= 60.0))
        throw models::Error(fmt::format("a header of {} m is none", how.header_m), "--header",
                            "give its width in metres, as in --header 9");
    if (how.least_headers < 1 || how.least_headers > 100)
        throw models::Error(fmt::format("zones of at least {} headers are none", how.least_headers), "--least-headers",
                            "give 1 to 100, as in --least-headers 3");
    if (how.heading_deg && !(*how.heading_deg >= -360.0 && *how.heading_deg <= 360.0))
        throw models::Error(fmt::format("a heading of {} degrees is none", *how.heading_deg), "--heading",
                            "give degrees from north by east, 0 to 360");
    if (how.most_zones < 1 || how.most_zones > 20)
        throw models::Error(fmt::format("{} zones in a field are none", how.most_zones), "--most-zones",
                            "give 1 to 20, as in --most-zones 3");
    if (how.line_cost && !(*how.line_cost >= 0.0 && *how.line_cost < 1e9))
        throw models::Error(fmt::format("a line that costs {} is none", *how.line_cost), "--line-cost",
                            "give what each further zone costs, 0 or more");
    if (how.upper_cap && !(*how.upper_cap >= 0.05 && *how.upper_cap <= 1.0))
        throw models::Error(fmt::format("an upper cap of {} % is none", 100.0 * *how.upper_cap), "--upper-cap",
                            "give 5 to 100 percent, as in --upper-cap 90");
    if (how.yield_t_per_ha && !(*how.yield_t_per_ha >= 0.1 && *how.yield_t_per_ha <= 20.0))
        throw models::Error(fmt::format("{} t/ha is no yield of wheat", *how.yield_t_per_ha), "--yield",
                            "give t/ha, as in --yield 7.5");
}

std::optional<double> cost_called(const SeasonData& data, std::string_view name) {
    for (const models::Cost& cost : data.costs)
        if (cost.name == name) return cost.value;
    return std::nullopt;
}

void settle_costs(const SeasonView& view, const SplitSettings& how, SplitsOfSeason& out) {
    using drawing::set_number_text;
    const auto taken = cost_called(view.data, "wrong_acceptance_per_t");
    const auto kept = cost_called(view.data, "wrong_rejection_per_t");
    const auto hour = cost_called(view.data, "hour");
    out.in_money = taken && kept && *taken > 0.0 && *kept > 0.0;
    if (!out.in_money) {
        out.costs = {1.0, 1.0, how.line_cost.value_or(line_cost_t)};
        out.costs_in_words = phrase(
            "in tonnes of grain: a tonne over the limit taken for good and a good one kept apart count the same (the "
            "costs wrong_acceptance_per_t and wrong_rejection_per_t would make it money), each further zone {} t{}",
            set_number_text(out.costs.line), how.line_cost ? "" : phrase(" (ours)"));
        return;
    }
    out.costs = {*taken, *kept, how.line_cost.value_or(hour ? *hour : line_cost_t * *kept)};
    out.costs_in_words = phrase(
        "in money: a tonne over the limit taken for good loses {}, a good one kept apart {}, each further zone {}{}",
        set_number_text(*taken), set_number_text(*kept), set_number_text(out.costs.line),
        how.line_cost ? ""
        : hour        ? phrase(" (that a line takes an hour is ours, and an hour costs so much)")
                      : phrase(" ({} t kept apart: ours)", set_number_text(line_cost_t)));
}

/// Results of mixed samples of a ground as a whole, by field and part.
class ResultsOfGround {
 public:
    explicit ResultsOfGround(const SeasonView& view) {
        const SeasonData& data = view.data;
        for (const models::Test& recorded : data.tests) {
            if (recorded.reading == models::Reading::invalid || season_of_test(data, recorded) != view.season) continue;
            const auto s = sample_index(data, recorded.sample);
            if (!s || *s >= data.joined.samples.size()) continue;
            const GrainOfSample grain = grain_of_sample(data, *s);
            if (grain.field.empty() || data.samples[grain.taken].kind != models::SampleKind::composite) continue;
            const models::Test test = as_decided_on(recorded, data.strips);
            const auto moisture_pct = with_moisture(data, *s).moisture_pct;
            of_[{grain.field, grain.part}].push_back({test.test, test.reading, test.don_mg_per_kg, test.method,
                                                      test.basis, moisture_pct ? *moisture_pct / 100.0 : 0.14,
                                                      data.samples[grain.taken].sample});
        }
    }
    std::vector<models::OwnResult> of(const std::string& field, const std::string& part) const {
        const auto found = of_.find({field, part});
        return found == of_.end() ? std::vector<models::OwnResult>{} : found->second;
    }

 private:
    std::map<std::pair<std::string, std::string>, std::vector<models::OwnResult>> of_;
};

/// A zone along lines is not the ground that a mixed sample of its field speaks of: what that finds over keeps the
/// model from clearing the zone, and does not make it over.
void give_state(SplitZone& zone, const ResultsOfGround& results, const std::string& field, const models::Limit& limit,
                const models::ClearingCaps& caps) {
    zone.clearing =
        models::clear_grain(zone.part.empty() ? std::vector<models::OwnResult>{} : results.of(field, zone.part),
                            zone.content.exceedance, limit, caps);
    if (zone.clearing.state != models::ClearingState::cleared) return;
    const models::Clearing whole = models::clear_grain(results.of(field, ""), zone.content.exceedance, limit, caps);
    if (whole.state == models::ClearingState::cleared) return;
    zone.clearing.state = models::ClearingState::undecided;
    zone.clearing.in_short = phrase("of the whole field {}: take a sample of the zone", whole.in_short);
    zone.clearing.reason = phrase("of the whole field {}; a result of the zone itself decides", whole.reason);
}

std::string narrow_in_words(const models::DriveLines& lines, const SplitSettings& how) {
    return phrase("it is {:.0f} m wide across the driving, and two zones of {} of {} m do not fit", lines.all_m(),
                  models::counted(how.least_headers, models::spoken(models::word("zones of so many", "header")),
                                  models::spoken(models::word("zones of so many", "headers"))),
                  drawing::set_number_text(how.header_m));
}

std::string how_to_find_out() {
    return phrase(
        "To find out, test single places spread over the field (samples of kind point with their position, at least "
        "{}; "
        "a walk of the field says where): with 25 structure is found in about half of the fields that have it, "
        "with "
        "60 in nearly nine of ten",
        models::fewest_places_of_a_surface);
}

/// Why no line may be looked for in a field; empty where one may.
std::string not_supported(const SeasonView& view, const models::CropRecord& crop, const models::SpreadInField& spread) {
    for (const WithinField& within : view.within) {
        if (within.field != crop.field || within.part != crop.part) continue;
        if (within.supported && !spread.places.empty()) return "";
        return phrase("nothing shows where in it grain is better or worse ({})", within.reason);
    }
    return phrase("nothing shows where in it grain is better or worse: it has no results of single places");
}

std::string side_of_field(std::size_t zone, std::size_t zones, double heading_deg) {
    if (zone == 0) return phrase("{} side", models::compass_word(heading_deg - 90.0));
    if (zone + 1 == zones) return phrase("{} side", models::compass_word(heading_deg + 90.0));
    return zones == 3 ? phrase("middle") : phrase("inner");
}

std::string over_in_words(const models::ZoneSplit& split, const models::DriveLines& lines) {
    return phrase(
        "{:.0f} m of it, from {:.0f} m on from the {}, are over with a chance of {}; no zone with other ground makes "
        "that good, so what is cut together with it is kept apart",
        lines.line_m(split.over_last + 1) - lines.line_m(split.over_first),
        lines.line_m(split.over_first) - lines.first_m, side_of_field(0, 2, lines.heading_deg),
        models::chance_in_words(split.over_chance));
}

class FieldSplitter {
 public:
    FieldSplitter(const SeasonView& view, const SplitSettings& how, const models::SplitCosts& costs,
                  const models::Progress& progress)
        : view_(view),
          how_(how),
          costs_(costs),
          progress_(progress),
          spreads_(view, how.own_duplicates),
          yields_(view, how.yield_t_per_ha) {}

    std::string rests_on() const { return spreads_.in_words(); }

    /// Along lines.
    FieldSplit split_along_lines(const FieldView& field) const {
        FieldSplit out;
        out.field = field.name;
        const models::CropRecord& crop = view_.data.crops[field.crop];
        if (!can_be_weighed(field, out.why_not)) return out;
        const models::SpreadInField spread = spreads_.of(crop);
        out.why_not = not_supported(view_, crop, spread);
        if (!out.why_not.empty()) {
            out.how_to_find_out = how_to_find_out();
            return out;
        }
        const models::OutlineM& outline = field.outline->outline_m;
        const models::DriveLines lines = models::drive_lines(
            outline, how_.heading_deg.value_or(models::long_side_heading_deg(outline)), how_.header_m);
        out.heading_deg = lines.heading_deg;
        out.line_step_m = lines.header_m * lines.headers;
        if (lines.all_m() < 2.0 * how_.least_headers * how_.header_m - 1e-6) {
            out.why_not = narrow_in_words(lines, how_);
            return out;
        }
        weigh_lines(field, spread, lines, out);
        note_status(crop, out);
        return out;
    }

    /// Parts of a field, zones as they are drawn.
    FieldSplit split_by_parts(const std::string& field, const std::vector<const FieldView*>& parts) const {
        FieldSplit out;
        out.field = field;
        out.by_parts = true;
        std::vector<const FieldView*> grain;
        std::set<const models::Field*> outlines;
        for (const FieldView* part : parts) {
            std::string why_not;
            if (!can_be_weighed(*part, why_not)) {
                out.notes.push_back(phrase("{} is left out: {}", part->name, why_not));
                continue;
            }
            if (!outlines.insert(part->outline).second) {
                out.why_not =
                    phrase("its parts are not drawn, so nothing says where one ends: import them with their outlines");
                return out;
            }
            grain.push_back(part);
        }
        if (grain.size() < 2) {
            out.why_not =
                grain.empty() ? phrase("none of its parts has a number") : phrase("only one of its parts has a number");
            return out;
        }
        models::ZoneSplitProblem problem = problem_of(grain.size());
        const Eigen::MatrixXd all = view_.contamination.model->draws(how_.draws, 1);
        problem.contents_mg_per_kg.resize(all.rows(), static_cast<Eigen::Index>(grain.size()));
        std::vector<int> each;
        for (std::size_t p = 0; p < grain.size(); ++p) {
            const models::CropRecord& crop = view_.data.crops[grain[p]->crop];
            problem.tonnes[p] = grain[p]->outline->area_ha * yields_.of(crop)->t_per_ha;
            problem.contents_mg_per_kg.col(static_cast<Eigen::Index>(p)) =
                all.col(static_cast<Eigen::Index>(*view_.contamination.field_season_of[grain[p]->crop]));
            each.push_back(static_cast<int>(p));
        }
        problem.least_headers = 0.0;
        const models::ZoneSplit split = models::zones_at(problem, each);
        out.worth = models::worth_of(problem, split);
        out.whole_use = split.whole_use;
        for (std::size_t p = 0; p < grain.size(); ++p) {
            SplitZone zone;
            zone.part = view_.data.crops[grain[p]->crop].part;
            zone.drawn = {grain[p]->name, grain[p]->outline->outline_m};
            zone.use = split.zones[p].use;
            out.zones.push_back(std::move(zone));
            note_status(view_.data.crops[grain[p]->crop], out);
        }
        if (!(out.worth->mean > 0.0))
            out.notes.push_back(phrase("its parts have records of their own; to cut them apart is not worth its cost"));
        return out;
    }

 private:
    bool can_be_weighed(const FieldView& field, std::string& why_not) const {
        if (!field.content)
            why_not = field.note;
        else if (field.outline == nullptr || !(field.outline->area_ha > 0.0))
            why_not = phrase("its outline is not drawn");
        else if (!yields_.of(view_.data.crops[field.crop]))
            why_not = phrase("its yield is not known, so nothing says how many tonnes a line parts: give --yield");
        return why_not.empty();
    }

    models::ZoneSplitProblem problem_of(std::size_t pieces) const {
        models::ZoneSplitProblem problem;
        problem.tonnes.assign(pieces, 0.0);
        problem.headers.assign(pieces, 1.0);
        problem.least_headers = how_.least_headers;
        problem.most_zones = how_.most_zones;
        problem.limit = *view_.limit;
        problem.costs = costs_;
        return problem;
    }

    void weigh_lines(const FieldView& field, const models::SpreadInField& spread, const models::DriveLines& lines,
                     FieldSplit& out) const {
        const models::CropRecord& crop = view_.data.crops[field.crop];
        const models::OutlineM& outline = field.outline->outline_m;
        const models::GroundCells ground = models::ground_in_swaths(outline, lines, cells_of_a_field);
        models::ZoneSplitProblem problem = problem_of(static_cast<std::size_t>(lines.swaths()));
        std::vector<models::CutCells> cuts;
        std::vector<Eigen::Index> swath_of_cut;
        const auto cells = models::cells_of_swaths(ground, lines);
        for (std::size_t s = 0; s < cells.size(); ++s) {
            problem.headers[s] = lines.width_m[s] / lines.header_m;
            problem.tonnes[s] = lines.area_m2[s] * 1e-4 * yields_.of(crop)->t_per_ha;
            if (cells[s].empty()) continue;
            cuts.push_back(cells[s]);
            swath_of_cut.push_back(static_cast<Eigen::Index>(s));
        }
        progress_.step(phrase("what its swaths hold"), 0.1);
        const Eigen::MatrixXd drawn = models::draws_of_cuts(
            view_.contamination.model->fields_together({*view_.contamination.field_season_of[field.crop]}), ground,
            spread, cuts, how_.draws, seed_of_name(field.name));
        // Both halves of the draws lie evenly over what they are drawn from.
        const Eigen::Index half = drawn.rows() / 2;
        models::ZoneSplitProblem other = problem;
        problem.contents_mg_per_kg = Eigen::MatrixXd::Zero(half, lines.swaths());
        other.contents_mg_per_kg = Eigen::MatrixXd::Zero(half, lines.swaths());
        for (std::size_t k = 0; k < cuts.size(); ++k) {
            const auto column = static_cast<Eigen::Index>(k);
            problem.contents_mg_per_kg.col(swath_of_cut[k]) = drawn.col(column).head(half);
            other.contents_mg_per_kg.col(swath_of_cut[k]) = drawn.col(column).tail(half);
        }
        progress_.step(phrase("the best lines"), 0.5);
        const models::ZoneSplit split = models::best_zones(problem);
        progress_.step(phrase("what they are worth"), 0.8);
        out.whole_use = split.whole_use;
        if (split.over_last >= split.over_first) out.notes.push_back(over_in_words(split, lines));
        if (split.zones.size() < 2) {
            out.why_not = phrase("no division along its lines is worth what its lines cost");
            return;
        }
        out.worth = models::worth_of(other, split);
        if (!(out.worth->mean > 0.0)) {
            out.why_not =
                phrase("the best division found is not worth its lines on draws that had no part in the choice");
            return;
        }
        std::vector<double> lines_m;
        for (std::size_t z = 1; z < split.zones.size(); ++z) lines_m.push_back(lines.line_m(split.zones[z].first));
        std::vector<models::OutlineM> outlines = geo::cut_along(outline, lines.across, lines_m);
        for (std::size_t z = 0; z < split.zones.size(); ++z) {
            const models::ZoneOfSwaths& swaths = split.zones[z];
            SplitZone zone;
            zone.drawn = {fmt::format("{} zone {}", field.name, z + 1), std::move(outlines[z])};
            zone.where = side_of_field(z, split.zones.size(), lines.heading_deg);
            zone.width_m = lines.line_m(swaths.last + 1) - lines.line_m(swaths.first);
            zone.use = swaths.use;
            out.zones.push_back(std::move(zone));
        }
    }

    void note_status(const models::CropRecord& crop, FieldSplit& out) const {
        const auto status = crop.status.value_or(models::FieldStatus::standing);
        if (status != models::FieldStatus::standing)
            out.notes.push_back(
                phrase("{} is recorded as cut: lines come too late for it", ground_name(crop.field, crop.part)));
    }

    const SeasonView& view_;
    const SplitSettings& how_;
    models::SplitCosts costs_;
    const models::Progress& progress_;
    FieldSpreads spreads_;
    SeasonYields yields_;
};

/// The fields asked about: each with its rows, several where it has parts.
std::vector<std::pair<std::string, std::vector<const FieldView*>>> fields_asked(const SeasonView& view,
                                                                                const std::string& asked) {
    std::vector<std::pair<std::string, std::vector<const FieldView*>>> fields;
    std::vector<std::string> known = {"all"};
    for (const FieldView& row : view.fields) {
        const std::string& field = view.data.crops[row.crop].field;
        known.push_back(row.name);
        if (row.name != field) known.push_back(field);
        if (asked != "all" && asked != field && asked != row.name) continue;
        const std::string group = asked == row.name ? row.name : field;
        auto found = std::find_if(fields.begin(), fields.end(), [&](const auto& one) { return one.first == group; });
        if (found == fields.end()) found = fields.insert(fields.end(), {group, {}});
        found->second.push_back(&row);
    }
    std::sort(known.begin() + 1, known.end());
    known.erase(std::unique(known.begin() + 1, known.end()), known.end());
    if (fields.empty())
        throw models::Error(phrase("season {} has no field \"{}\"", view.season, asked), "--split",
                            models::mend_of_unknown_name(asked, known, "lodicule map STORE --limit L"));
    return fields;
}

}  // namespace split_stage_parts

SplitsOfSeason split_fields(const SeasonView& view, const SplitSettings& settings, const models::Progress& progress) {
    namespace parts = split_stage_parts;
    parts::check_settings(view, settings);
    SplitsOfSeason out;
    parts::settle_costs(view, settings, out);
    const parts::FieldSplitter splitter(view, settings, out.costs, progress);
    out.rests_on = splitter.rests_on();
    for (const auto& [name, rows] : parts::fields_asked(view, settings.field)) {
        progress.step(name, 0.0);
        out.fields.push_back(rows.size() > 1 ? splitter.split_by_parts(name, rows)
                                             : splitter.split_along_lines(*rows.front()));
    }
    std::vector<DrawnZone> drawn;
    for (const FieldSplit& field : out.fields)
        for (const SplitZone& zone : field.zones) drawn.push_back(zone.drawn);
    const ZonesOfSeason told =
        contents_of_zones(view, drawn, {settings.yield_t_per_ha, settings.own_duplicates, settings.threads});
    const parts::ResultsOfGround results(view);
    models::ClearingCaps caps;
    caps.upper_cap = settings.upper_cap;
    std::size_t next = 0;
    for (FieldSplit& field : out.fields)
        for (SplitZone& zone : field.zones) {
            zone.content = told.zones[next++];
            parts::give_state(zone, results, field.field, *view.limit, caps);
        }
    for (FieldSplit& field : out.fields) {
        const auto cleared = [](const SplitZone& zone) {
            return zone.clearing.state == models::ClearingState::cleared;
        };
        if (!field.zones.empty() && std::none_of(field.zones.begin(), field.zones.end(), cleared))
            field.notes.push_back(
                models::phrase("none of its zones is cleared today: cut apart, each is tested by itself before it is "
                               "delivered"));
    }
    return out;
}

}  // namespace app
