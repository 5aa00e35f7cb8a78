#include <cmath>
#include <set>

#include "demo-data/table_text.h"
#include "demo-data/tables.h"

namespace demo {

namespace {

std::string longitude_cell(const SampleRow& sample) {
    return sample.place_m ? decimals(degrees_of(*sample.place_m).first, 6) : "";
}
std::string latitude_cell(const SampleRow& sample) {
    return sample.place_m ? decimals(degrees_of(*sample.place_m).second, 6) : "";
}

std::set<std::size_t> samples_of_surveys(const Bench& bench) {
    std::set<std::size_t> found;
    for (const TestRow& test : bench.tests) {
        if (test.of_survey) found.insert(test.sample);
    }
    return found;
}

}  // namespace

std::string samples_csv(const Bench& bench) {
    std::string text = csv_row({"sample", "stage", "kind", "field", "part", "load", "bin", "taken_time", "taken_by",
                                "increments", "mass_g", "moisture_pct", "seal", "chosen_because"});
    const auto in_surveys = samples_of_surveys(bench);
    for (std::size_t i = 0; i < bench.samples.size(); ++i) {
        const SampleRow& sample = bench.samples[i];
        if (in_surveys.contains(i)) continue;
        text += csv_row({sample.sample, sample.stage, sample.kind, sample.field, sample.part, sample.load, sample.bin,
                         minute_cell(sample.taken_time), sample.taken_by,
                         sample.increments > 0 ? std::to_string(sample.increments) : "", decimals(sample.mass_g, 0),
                         decimals(sample.moisture_pct, 1), sample.seal, sample.chosen_because});
    }
    return text;
}

std::string tests_csv(const Bench& bench) {
    std::string text = csv_row({"test",
                                "time",
                                "sample",
                                "don",
                                "unit",
                                "method",
                                "commodity",
                                "kit_lot",
                                "extra_dilution",
                                "grind",
                                "extract",
                                "portion_g",
                                "basis",
                                "standard_uncertainty_mg_per_kg",
                                "loq_mg_per_kg",
                                "recovery_pct",
                                "recovery_corrected",
                                "incubation_s",
                                "temperature_degc",
                                "valid",
                                "void_reason",
                                "operator",
                                "reader",
                                "supersedes"});
    for (const TestRow& test : bench.tests) {
        if (test.of_survey) continue;
        const bool strip = test.method == "strip";
        text += csv_row({test.test,
                         minute_cell(test.time),
                         bench.samples[test.sample].sample,
                         test.don,
                         test.unit,
                         test.method,
                         test.commodity,
                         test.kit_lot,
                         strip ? decimals(test.extra_dilution, 0) : "",
                         test.grind,
                         test.extract,
                         decimals(test.portion_g, 0),
                         test.basis,
                         decimals(test.standard_uncertainty_mg_per_kg, 2),
                         decimals(test.loq_mg_per_kg, 2),
                         decimals(test.recovery_pct, 0),
                         strip ? "" : "yes",
                         decimals(test.incubation_s, 0),
                         decimals(test.temperature_degc, 1),
                         test.valid ? "yes" : "no",
                         test.void_reason,
                         test.person,
                         test.reader,
                         test.corrects ? bench.tests[*test.corrects].test : ""});
    }
    return text;
}

std::string survey_csv(const Bench& bench) {
    std::string text =
        csv_row({"test",       "time",     "don",        "unit",   "method",       "commodity",        "kit_lot",
                 "grind",      "extract",  "portion_g",  "basis",  "incubation_s", "temperature_degc", "operator",
                 "reader",     "sample",   "stage",      "kind",   "field",        "longitude_deg",    "latitude_deg",
                 "taken_time", "taken_by", "increments", "mass_g", "moisture_pct", "chosen_because"});
    for (const TestRow& test : bench.tests) {
        if (!test.of_survey) continue;
        const SampleRow& sample = bench.samples[test.sample];
        text += csv_row({test.test,
                         minute_cell(test.time),
                         test.don,
                         test.unit,
                         test.method,
                         test.commodity,
                         test.kit_lot,
                         test.grind,
                         test.extract,
                         decimals(test.portion_g, 0),
                         test.basis,
                         decimals(test.incubation_s, 0),
                         decimals(test.temperature_degc, 1),
                         test.person,
                         test.reader,
                         sample.sample,
                         sample.stage,
                         sample.kind,
                         sample.field,
                         longitude_cell(sample),
                         latitude_cell(sample),
                         minute_cell(sample.taken_time),
                         sample.taken_by,
                         std::to_string(sample.increments),
                         decimals(sample.mass_g, 0),
                         decimals(sample.moisture_pct, 1),
                         sample.chosen_because});
    }
    return text;
}

std::string law_csv() {
    std::string text = csv_row({"name", "value", "meaning"});
    const auto say = [&](const char* name, double value, const char* meaning) {
        text += csv_row({name, decimals(value, 3), meaning});
    };
    say("level", law.level, "log of mg/kg at a risk logit of -1");
    say("slope", law.slope, "of log DON on the risk logit");
    say("season_2024", law.season_2024, "added in that season");
    say("season_2025", law.season_2025, "added in that season");
    say("season_2026", law.season_2026, "added in that season");
    say("sd_region", law.sd_region, "of a smooth field over the district, new in each season");
    say("region_range_m", law.region_range_m, "its exponential range");
    say("sd_field_always", law.sd_field_always, "of a field's own effect, the same in all seasons");
    say("sd_field_season", law.sd_field_season, "of a field's effect in one season");
    say("share_with_disease", law.share_with_disease, "correlation of that effect with severity beyond the risk");
    say("ploughed", law.ploughed, "added where it was ploughed");
    say("sprayed", law.sprayed, "added where it was sprayed at flowering");
    say("sd_log_within", law.sd_log_within, "from place to place in a field");
    say("structured_share_within", law.structured_share_within, "of that variance is smooth");
    say("range_within_m", law.range_within_m, "its exponential range");
    say("combine", law.combine, "stage: log of combine grain over standing crop");
    say("truck", law.truck, "stage: log of truck grain over standing crop");
    say("bin", law.bin, "stage: log of bin grain over standing crop");
    for (const KitLot& lot : kit_lots()) {
        if (lot.commodity == "wheat")
            say(("kit_lot_" + std::string(lot.kit_lot)).c_str(), lot.log_effect, "log effect of a kit lot");
    }
    for (const Control& control : controls()) {
        say(("control_" + std::string(control.control)).c_str(), control.truly_mg_per_kg,
            "mg/kg that a control truly holds");
    }
    return text;
}

std::string true_crops_csv(const Landscape& landscape, const std::vector<CropRow>& crops,
                           const std::vector<CropTruth>& truths) {
    std::string text = csv_row({"season",
                                "field",
                                "part",
                                "crop",
                                "area_ha",
                                "flowered",
                                "depression_degc",
                                "risk_logit",
                                "risk",
                                "season_effect",
                                "region_effect",
                                "field_effect",
                                "field_season_effect",
                                "ploughed_effect",
                                "sprayed_effect",
                                "mean_mg_per_kg",
                                "severity_pct",
                                "sd_log_within",
                                "structured_share_within",
                                "range_within_m"});
    for (const CropTruth& truth : truths) {
        const CropRow& crop = crops[truth.crop];
        text += csv_row({std::to_string(crop.season),
                         landscape.fields[crop.field].field,
                         crop.part,
                         crop.crop,
                         decimals(crop.area_ha, 2),
                         models::to_text(crop.truly_flowered),
                         decimals(truth.depression_degc, 2),
                         decimals(truth.risk_logit, 3),
                         decimals(truth.risk, 3),
                         decimals(truth.season_effect, 3),
                         decimals(truth.region_effect, 3),
                         decimals(truth.field_effect, 3),
                         decimals(truth.field_season_effect, 3),
                         decimals(truth.ploughed_effect, 3),
                         decimals(truth.sprayed_effect, 3),
                         decimals(truth.mean_mg_per_kg, 3),
                         decimals(truth.severity_pct, 1),
                         decimals(truth.within.sd_log, 2),
                         decimals(truth.within.structured_share, 2),
                         decimals(truth.within.range_m, 0)});
    }
    return text;
}

std::string true_places_csv(const Landscape& landscape, const std::vector<CropRow>& crops,
                            const std::vector<CropTruth>& truths) {
    std::string text = csv_row({"field", "longitude_deg", "latitude_deg", "mg_per_kg"});
    const SurveyFields surveys = survey_fields(landscape);
    for (const std::size_t field : {surveys.with_structure, surveys.without_structure}) {
        const CropTruth& truth = *truth_of(truths, crops, field, "", 2026);
        for (const models::PointM& place : grid_inside(truth.outline_m, 25.0)) {
            const auto [longitude, latitude] = degrees_of(place);
            text += csv_row({landscape.fields[field].field, decimals(longitude, 6), decimals(latitude, 6),
                             decimals(truth.mean_mg_per_kg * truth.within.smooth_factor(place), 3)});
        }
    }
    return text;
}

std::string true_samples_csv(const Bench& bench) {
    std::string text = csv_row({"sample", "content_mg_per_kg", "stands_for_mg_per_kg"});
    for (const SampleRow& sample : bench.samples)
        text += csv_row({sample.sample, decimals(sample.content_mg_per_kg, 3), decimals(sample.target_mg_per_kg, 3)});
    return text;
}

std::string true_tests_csv(const Bench& bench) {
    std::string text = csv_row({"test", "sample", "unrounded_mg_per_kg", "log_variance", "log_lot_effect"});
    for (const TestRow& test : bench.tests)
        text += csv_row({test.test, bench.samples[test.sample].sample, decimals(test.unrounded_mg_per_kg, 4),
                         decimals(test.log_variance, 5), decimals(test.log_lot_effect, 3)});
    return text;
}

std::string true_loads_csv(const Intake& intake) {
    std::string text = csv_row({"load", "mg_per_kg"});
    for (const LoadRow& load : intake.loads) text += csv_row({load.load, decimals(load.content_mg_per_kg, 3)});
    return text;
}

std::string true_bins_csv(const Intake& intake) {
    std::string text = csv_row({"bin", "content_t", "mean_mg_per_kg"});
    for (const BinRow& bin : intake.bins)
        text +=
            csv_row({bin.bin, decimals(bin.mass_t(), 2), bin.heaps.empty() ? "" : decimals(bin.mean_mg_per_kg(), 3)});
    return text;
}

}  // namespace demo
