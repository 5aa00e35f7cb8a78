#include "demo-data/truth.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "demo-data/counter_random.h"

namespace demo {

namespace {

double logit_of_risk(const CropRow& row, double depression_degc) {
    double logit = 1.903244 - 0.5009485 * depression_degc;
    if (row.resistance == "VS") logit += 0.6944069;
    if (row.resistance == "MS") logit -= 0.5089622;
    if (row.resistance == "MR") logit -= 1.086868;
    if (row.wheat_type == "spring") logit += 0.0610538;
    if (row.wheat_type == "winter" && row.previous_crop == "maize" && row.residue != "none") logit += 0.7662684;
    return logit;
}

/// The air at a field: of the stations, the near ones counting most, and a little of its own.
double depression_at(const Landscape& landscape, const std::vector<StationSeason>& weather, const CropRow& row) {
    double sum = 0.0, weights = 0.0;
    for (const StationSeason& one : weather) {
        if (one.season != row.season) continue;
        const double away =
            models::distance_m(landscape.fields[row.field].centroid_m, landscape.stations[one.station].place_m);
        const double weight = 1.0 / (away * away + 4e5);
        const auto ten_days = std::chrono::days(10);
        sum += weight * mean_depression_degc(one, row.truly_flowered - ten_days, row.truly_flowered + ten_days);
        weights += weight;
    }
    Draws draws("air of a field", row.field, static_cast<std::size_t>(row.season));
    return sum / weights + draws.normal(0.0, 0.22);
}

double season_effect_of(int season) {
    return season == 2024 ? law.season_2024 : season == 2025 ? law.season_2025 : law.season_2026;
}

const models::OutlineM& outline_of(const DemoField& field, const std::string& part) {
    for (const FieldPart& one : field.parts) {
        if (one.part == part) return one.outline_m;
    }
    return field.outline_m;
}

}  // namespace

std::vector<CropTruth> make_truth(const Landscape& landscape, const std::vector<CropRow>& crops,
                                  const std::vector<StationSeason>& weather) {
    std::map<int, SmoothField> regions;
    for (const int season : seasons)
        regions.emplace(season, SmoothField(Draws("region", static_cast<std::size_t>(season)), law.region_range_m));
    const SurveyFields surveys = survey_fields(landscape);

    std::vector<CropTruth> truths;
    for (std::size_t i = 0; i < crops.size(); ++i) {
        const CropRow& row = crops[i];
        if (!row.is_wheat()) continue;
        const auto season = static_cast<std::size_t>(row.season);
        const DemoField& field = landscape.fields[row.field];
        const models::OutlineM& outline = outline_of(field, row.part);
        double sd = law.sd_log_within, share = law.structured_share_within, range = law.range_within_m;
        if (row.season == 2026 && row.field == surveys.with_structure) sd = 0.65, share = 0.90, range = 230.0;
        if (row.season == 2026 && row.field == surveys.without_structure) sd = 0.38, share = 0.0;
        CropTruth truth{.crop = i,
                        .within = WithinCrop(outline, Draws("within a crop", row.field, season), sd, share, range),
                        .outline_m = outline};
        truth.depression_degc = depression_at(landscape, weather, row);
        truth.risk_logit = logit_of_risk(row, truth.depression_degc);
        truth.risk = 1.0 / (1.0 + std::exp(-truth.risk_logit));

        // Severity passes 10 % with just the chance that the risk says: a logistic step of chance beyond the logit.
        Draws draws("field in its season " + row.part, row.field, season);
        const double disease = draws.normal();
        const double below = 0.5 * std::erfc(-disease / std::numbers::sqrt2);
        const double beyond = truth.risk_logit + std::log(below / (1.0 - below));
        truth.severity_pct = 100.0 / (1.0 + 9.0 * std::exp(-0.75 * beyond));

        truth.season_effect = season_effect_of(row.season);
        truth.region_effect = law.sd_region * regions.at(row.season).at(field.centroid_m);
        truth.field_effect = law.sd_field_always * Draws("field, always", row.field).normal();
        const double rest = std::sqrt(1.0 - law.share_with_disease * law.share_with_disease);
        truth.field_season_effect = law.sd_field_season * (law.share_with_disease * disease + rest * draws.normal());
        truth.ploughed_effect = row.tillage == "plough" ? law.ploughed : 0.0;
        truth.sprayed_effect = row.sprayed ? law.sprayed : 0.0;
        truth.mean_mg_per_kg =
            std::exp(law.level + law.slope * (truth.risk_logit + 1.0) + truth.season_effect + truth.region_effect +
                     truth.field_effect + truth.field_season_effect + truth.ploughed_effect + truth.sprayed_effect);
        truths.push_back(std::move(truth));
    }
    return truths;
}

const CropTruth* truth_of(const std::vector<CropTruth>& truths, const std::vector<CropRow>& crops, std::size_t field,
                          const std::string& part, int season) {
    for (const CropTruth& truth : truths) {
        const CropRow& row = crops[truth.crop];
        if (row.field == field && row.season == season && row.part == part) return &truth;
    }
    return nullptr;
}

const CropTruth* truth_at(const std::vector<CropTruth>& truths, const std::vector<CropRow>& crops, std::size_t field,
                          int season, const models::PointM& place) {
    const CropTruth* whole = nullptr;
    for (const CropTruth& truth : truths) {
        const CropRow& row = crops[truth.crop];
        if (row.field != field || row.season != season) continue;
        if (row.part.empty())
            whole = &truth;
        else if (models::side_of(truth.outline_m, place) != models::Side::outside)
            return &truth;
    }
    return whole;
}

}  // namespace demo
