#include "app/stages/review_stage.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/disease/disease_risk.h"
#include "models/error.h"

namespace app {

namespace {

/// The first day on which grain of the field is known to have been cut in that season.
std::optional<models::LocalDay> first_cut_day(const SeasonData& data, const models::CropRecord& crop) {
    std::optional<models::LocalDay> first;
    const auto see = [&](models::LocalDay day) { first = first ? std::min(*first, day) : day; };
    for (const models::Load& load : data.loads) {
        for (const models::LoadPart& part : load.parts) {
            if (part.field == crop.field && season_of_load(data, load) == crop.season) see(load.time.local_day());
        }
    }
    for (std::size_t s = 0; s < data.samples.size(); ++s) {
        const models::Sample& sample = data.samples[s];
        if (sample.stage != models::Stage::combine || !sample.taken_time) continue;
        const std::string& field = s < data.joined.samples.size() && !data.joined.samples[s].field.empty()
                                       ? data.joined.samples[s].field
                                       : sample.field;
        const models::LocalDay day = sample.taken_time->local_day();
        if (field == crop.field && season_of(data, field, day) == crop.season) see(day);
    }
    return first;
}

/// Visits that do not count, by why.
class NotCounted {
 public:
    void add(const char* why) { ++by_why_[why]; }
    std::vector<std::string> sentences() const {
        std::vector<std::string> all;
        for (const auto& [why, visits] : by_why_)
            all.push_back(fmt::format("{} not counted: {}", models::counted(visits, "visit"), why));
        return all;
    }

 private:
    std::map<std::string, int> by_why_;
};

void rank_against_severity(ModelReview& review) {
    const models::SeasonCases& cases = review.cases;
    review.tallies = models::tally_of_seasons(cases);
    const auto events = std::count(cases.happened.begin(), cases.happened.end(), true);
    const auto others = static_cast<std::ptrdiff_t>(cases.happened.size()) - events;
    if (events >= 2 && others >= 2) review.rank = models::rank_skill(cases.predicted, cases.happened);
    review.auc_within_seasons = models::area_within_seasons(cases);
    review.auc_over_seasons = models::over_seasons(cases, models::area_under_curve, 0.0, 1.0);
    if (review.model->kind != models::RiskKind::probability || cases.happened.empty()) return;
    review.brier = models::brier_parts(cases.predicted, cases.happened, reliability_groups(cases.happened.size()));
    review.skill = models::skill_against_climatology(cases);
    review.brier_over_seasons = models::over_seasons(cases, models::brier_score, 0.0, 1.0);
    review.skill_over_seasons = models::over_seasons(cases, models::skill_against_climatology, -1e9, 1.0);
    if (models::seasons_of(cases).size() >= 2) review.local = models::local_calibration(cases);
}

void rank_against_don(ModelReview& review) {
    const models::SeasonCases& cases = review.don_cases;
    const auto events = std::count(cases.happened.begin(), cases.happened.end(), true);
    const auto others = static_cast<std::ptrdiff_t>(cases.happened.size()) - events;
    if (events >= 2 && others >= 2) review.don_rank = models::rank_skill(cases.predicted, cases.happened);
    review.don_auc_within_seasons = models::area_within_seasons(cases);
    review.don_auc_over_seasons = models::over_seasons(cases, models::area_under_curve, 0.0, 1.0);
}

/// The model's numbers of those records that have one, with what happened.
template <typename Found, typename Happened>
models::SeasonCases cases_of(const SeasonData& data, const RisksOverSeasons& over, std::size_t model,
                             const std::vector<Found>& found, Happened happened) {
    models::SeasonCases cases;
    std::vector<double> values;
    for (const Found& one : found) {
        const auto& value = over.risks[model][one.record].value;
        if (!value) continue;
        values.push_back(*value);
        cases.happened.push_back(happened(one));
        cases.season.push_back(data.crops[over.records[one.record]].season);
    }
    cases.predicted = Eigen::Map<Eigen::VectorXd>(values.data(), static_cast<Eigen::Index>(values.size()));
    return cases;
}

std::vector<std::string> notes_of_don(const std::vector<DonFound>& don, const std::vector<FieldResults>& results) {
    std::vector<std::string> notes;
    int mixed = 0, no_part = 0;
    std::set<std::size_t> with_results;
    for (const FieldResults& season : results) {
        mixed += season.of_mixed_grain;
        no_part += season.of_no_part;
        for (const FieldResult& one : season.results) with_results.insert(one.crop);
    }
    const auto undecided = static_cast<int>(with_results.size()) - static_cast<int>(don.size());
    if (undecided > 0) {
        notes.push_back(fmt::format("{} left out: no result of {} tells which side of the limit it lies on",
                                    models::counted(undecided, "field"), models::by_number(undecided, "it", "them")));
    }
    if (mixed > 0) {
        notes.push_back(
            fmt::format("{} of mixed, bought or other grain not counted", models::counted(mixed, "result")));
    }
    if (no_part > 0) {
        notes.push_back(fmt::format("{} not counted: the field is booked in parts and none is named",
                                    models::counted(no_part, "result")));
    }
    const auto chosen =
        std::count_if(don.begin(), don.end(), [](const DonFound& one) { return one.chosen_by_suspicion; });
    if (chosen > 0) {
        notes.push_back(fmt::format(
            "{} of {} tested fields were tested because of their risk or their looks; among fields that were chosen so "
            "the order shows less than among all",
            chosen, don.size()));
    }
    return notes;
}

}  // namespace

int reliability_groups(std::size_t cases) {
    return std::clamp(static_cast<int>(cases / 7), cases < 4 ? 1 : 2, 10);
}

ScoutingUsed severity_found(const SeasonData& data, const RisksOverSeasons& over,
                            const std::vector<models::Scouting>& scouting) {
    // By field and season: the record of the whole field, where there is one.
    std::map<std::pair<std::string, int>, std::optional<std::size_t>> records;
    for (std::size_t r = 0; r < over.records.size(); ++r) {
        const models::CropRecord& crop = data.crops[over.records[r]];
        auto& whole = records[{crop.field, crop.season}];
        if (crop.part.empty()) whole = r;
    }
    ScoutingUsed used;
    NotCounted not_counted;
    std::map<std::size_t, SeverityFound> last;
    std::map<std::size_t, std::optional<models::LocalDay>> cut;
    for (const models::Scouting& visit : scouting) {
        const int season = season_of(data, visit.field, visit.date);
        if (!std::binary_search(over.seasons.begin(), over.seasons.end(), season)) continue;
        ++used.visits;
        const auto of = records.find({visit.field, season});
        if (of == records.end()) {
            not_counted.add("the field has no crop record of that season");
            continue;
        }
        if (!of->second) {
            not_counted.add("the field is booked in parts, and a visit names none");
            continue;
        }
        const std::size_t record = *of->second;
        const models::CropRecord& crop = data.crops[over.records[record]];
        if (!models::has_disease_model(crop.crop)) {
            not_counted.add("no wheat");
            continue;
        }
        if (!visit.severity_pct) {
            not_counted.add("no severity was written down");
            continue;
        }
        const auto flowering = crop.flowering_start ? crop.flowering_start : over.flowering[record];
        if (flowering && visit.date < *flowering) {
            not_counted.add("before flowering nothing shows");
            continue;
        }
        if (cut.count(record) == 0) cut[record] = first_cut_day(data, crop);
        if (cut[record] && visit.date > *cut[record]) {
            not_counted.add("after the field was cut");
            continue;
        }
        const auto [known, first] = last.try_emplace(record);
        if (!first) not_counted.add("a later one of the same field and season counts");
        if (!first && visit.date < known->second.day) continue;
        known->second = {record, visit.date, *visit.severity_pct, *visit.severity_pct >= diseased_from_severity_pct};
    }
    for (const auto& [record, found] : last) used.found.push_back(found);
    used.notes = not_counted.sentences();
    return used;
}

std::vector<DonFound> don_found(const SeasonData& data, const RisksOverSeasons& over,
                                const std::vector<FieldResults>& results) {
    std::vector<std::optional<std::size_t>> record_of(data.crops.size());
    for (std::size_t r = 0; r < over.records.size(); ++r) record_of[over.records[r]] = r;
    std::map<std::size_t, DonFound> found;
    for (const FieldResults& season : results) {
        for (const FieldResult& one : season.results) {
            if (!record_of[one.crop] || !one.row.outcome || *one.row.outcome == models::LimitOutcome::undecided)
                continue;
            DonFound& of = found.try_emplace(*record_of[one.crop], DonFound{*record_of[one.crop], 0, 0, false, true})
                               .first->second;
            ++(*one.row.outcome == models::LimitOutcome::breaks ? of.breaks : of.meet);
            of.over = of.breaks >= of.meet;
            of.chosen_by_suspicion =
                of.chosen_by_suspicion && (one.chosen_because == models::ChosenBecause::risk ||
                                           one.chosen_because == models::ChosenBecause::looked_bad);
        }
    }
    std::vector<DonFound> all;
    for (const auto& [record, one] : found) all.push_back(one);
    return all;
}

const ModelReview& RiskReview::of(const models::DiseaseModel& model) const {
    const auto found =
        std::find_if(models.begin(), models.end(), [&](const ModelReview& one) { return one.model == &model; });
    if (found == models.end()) throw models::Error("the model " + model.name + " was not asked");
    return *found;
}

RiskReview review_risks(const SeasonData& data, const RisksOverSeasons& over,
                        const std::vector<models::Scouting>& scouting, const std::optional<models::Limit>& limit,
                        const std::vector<FieldResults>& results) {
    RiskReview out;
    out.seasons = over.seasons;
    out.scouting = severity_found(data, over, scouting);
    out.limit = limit;
    if (limit) {
        out.don = don_found(data, over, results);
        out.don_notes = notes_of_don(out.don, results);
    }
    std::set<std::vector<bool>> which_fields;
    for (std::size_t m = 0; m < over.by.size(); ++m) {
        ModelReview review;
        review.model = over.by[m];
        review.cases =
            cases_of(data, over, m, out.scouting.found, [](const SeverityFound& one) { return one.diseased; });
        review.don_cases = cases_of(data, over, m, out.don, [](const DonFound& one) { return one.over; });
        std::vector<bool> has_number;
        for (const SeverityFound& one : out.scouting.found)
            has_number.push_back(over.risks[m][one.record].value.has_value());
        if (!review.cases.happened.empty()) which_fields.insert(has_number);
        rank_against_severity(review);
        rank_against_don(review);
        out.models.push_back(std::move(review));
    }
    out.same_fields = which_fields.size() <= 1;
    std::stable_sort(out.models.begin(), out.models.end(), [](const ModelReview& a, const ModelReview& b) {
        return (a.rank ? a.rank->auc : -1.0) > (b.rank ? b.rank->auc : -1.0);
    });
    return out;
}

}  // namespace app
