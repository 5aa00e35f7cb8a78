#include "app/stages/results_stage.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "app/stages/kit_lot_stage.h"
#include "app/stages/own_errors.h"
#include "app/stages/test_content.h"
#include "geo/tables/words.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

/// The grain that a result is of, as people call it, and how much its places differ.
struct GrainOfResult {
    std::string name;
    double places_cv = 0.0;
    GrainOfSample of;
    bool known() const { return !of.load.empty() || !of.bin.empty() || !of.field.empty(); }
};

bool is_asked_for(const SeasonData& data, const GrainAsked& asked, const GrainOfResult& grain,
                  const std::string& sample) {
    return (asked.load.empty() || asked.load == grain.of.load) && (asked.bin.empty() || asked.bin == grain.of.bin) &&
           (asked.field.empty() || asked.field == grain.of.field) &&
           (asked.sample.empty() || asked.sample == sample || asked.sample == data.samples[grain.of.taken].sample);
}

GrainOfResult grain_of_result(const SeasonData& data, std::size_t s, const models::ContaminationPriors& priors) {
    GrainOfSample of = grain_of_sample(data, s);
    if (!of.load.empty()) return {models::phrase("load {}", of.load), priors.within_load_cv, std::move(of)};
    if (!of.bin.empty()) return {models::phrase("bin {}", of.bin), priors.within_load_cv, std::move(of)};
    if (of.field.empty()) return {models::phrase("unknown grain"), 0.0, std::move(of)};
    const double sd = priors.within_sd_median;
    return {models::phrase("field {}", ground_name(of.field, of.part)), std::sqrt(std::expm1(sd * sd)), std::move(of)};
}

class ResultsTable {
 public:
    /// @param tell  is told each row in place of the table
    ResultsTable(const SeasonData& data, const ResultsSettings& settings,
                 std::function<void(const ResultRow&)> tell = {})
        : data_(data), settings_(settings), tell_(std::move(tell)) {
        ErrorsInUse errors = errors_in_use(data, settings.own_duplicates);
        strip_error_ = errors.strip;
        laboratory_error_ = errors.laboratory;
        view_.own = std::move(errors.own);
        view_.notes = std::move(errors.notes);
        view_.season = settings.season;
        view_.basis = settings.basis;
        view_.limit = settings.limit;
        lots_ = kit_lot_effects(data, strip_error_, laboratory_error_, settings.priors.lot_sd_scale);
        for (const models::FailedControl& failed : failed_controls(data, settings.season)) {
            for (const std::string& test : failed.in_doubt) {
                in_doubt_[test].push_back(models::phrase("in doubt by control {} (test {}): {}", failed.control.control,
                                                         failed.test.test, models::failure_in_words(failed)));
            }
        }
        for (const models::Test& test : data.tests) {
            if (season_of_test(data, test) == settings.season) add(test);
        }
        if (tell_) return;
        std::stable_sort(view_.rows.begin(), view_.rows.end(), [](const ResultRow& a, const ResultRow& b) {
            return std::make_pair(a.grain, a.test.time.utc) < std::make_pair(b.grain, b.test.time.utc);
        });
        if (view_.limit) conclude_on_grain();
        view_.error_model = models::describe(strip_error_);
        const bool strips = std::any_of(view_.rows.begin(), view_.rows.end(), [](const ResultRow& row) {
            return row.budget && row.test.method == models::Method::strip;
        });
        if (strips) note_kit_lots();
        for (const auto& [sentence, tests] : assumed_) {
            std::string note = sentence;
            if (!note.empty() && note.back() == '.') note.pop_back();
            view_.notes.push_back(fmt::format("{} ({})", note, models::counted(tests, "test")));
        }
    }
    ResultsView take() { return std::move(view_); }

 private:
    static std::string or_not_recorded(const std::string& name) { return name.empty() ? "not recorded" : name; }
    static void share(models::MeasuredResult& result, std::string with, double cv) {
        if (cv > 0.0) result.shared.push_back({std::move(with), std::log1p(cv * cv)});
    }

    models::MeasuredResult measured(const models::Test& test, const models::Sample& sample, const TestContent& content,
                                    double places_cv) const {
        const bool strip = test.method == models::Method::strip;
        models::MeasuredResult result;
        result.reading = content.reading;
        result.don_mg_per_kg = content.don_mg_per_kg;
        result.procedure = content.procedure;
        result.error = strip ? strip_error_ : laboratory_error_;
        const auto by_curve = data_.strips.find(test.test);
        if (by_curve != data_.strips.end() && by_curve->second.variance)
            result.curve_log_variance = by_curve->second.variance->total();
        if (sample.kind == models::SampleKind::composite) {
            result.increments = sample.increments.value_or(settings_.priors.assumed_increments);
            result.increments_cv = places_cv;
        }
        if (content.standard_uncertainty_mg_per_kg)
            result.stated_relative_variance =
                std::pow(*content.standard_uncertainty_mg_per_kg / content.don_mg_per_kg, 2);
        // Of |N(0, s)| the mean square is s^2.
        if (strip) {
            const auto lot = lots_.find(test.kit_lot);
            const double unknown = std::pow(settings_.priors.lot_sd_scale, 2);
            result.shared.push_back({test.kit_lot.empty() ? "kit lot not recorded" : "kit lot " + test.kit_lot,
                                     lot == lots_.end() ? unknown : lot->second.log_variance});
            if (lot != lots_.end()) result.shared_log_mean = lot->second.log_mean;
            share(result, "operator " + or_not_recorded(test.operator_name), settings_.shared.operator_cv);
            share(result, "reader " + or_not_recorded(test.reader), settings_.shared.reader_cv);
            share(result,
                  fmt::format("run of {} on {}", or_not_recorded(test.kit_lot), models::to_text(test.time.local_day())),
                  settings_.shared.run_cv);
        }
        return result;
    }

    void add(const models::Test& test) {
        const auto s = sample_index(data_, test.sample);
        if (!s || data_.samples[*s].stage == models::Stage::control) return;
        const models::Sample sample = with_moisture(data_, *s);
        const GrainOfResult grain = grain_of_result(data_, *s, settings_.priors);
        if (!is_asked_for(data_, settings_.grain, grain, sample.sample)) return;
        const TestContent content = content_on(settings_.basis, test, sample);
        ResultRow row;
        row.test = test;
        row.grain = grain.name;
        row.stage = sample.stage;
        row.measured = measured(test, sample, content, grain.places_cv);
        if (const auto doubt = in_doubt_.find(test.test); doubt != in_doubt_.end()) row.control_doubts = doubt->second;
        if (const auto strip = data_.strips.find(test.test); strip != data_.strips.end()) {
            for (const models::StripFlag& flag : strip->second.flags) row.flags.push_back(flag.sentence);
        }
        if (std::string wrong = other_grain(test, grain); !wrong.empty()) row.flags.push_back(std::move(wrong));
        if (test.reading == models::Reading::invalid) {
            row.flags.push_back(models::phrase(
                "void: {}", test.void_reason.empty() ? models::phrase("no reason recorded") : test.void_reason));
        } else if (!content.converted) {
            row.flags.push_back(models::phrase("not converted: the sample's moisture is not recorded; reported {}",
                                               models::in_words(test.basis)));
        } else {
            if (content.read_nothing) row.flags.push_back(models::phrase("read 0: taken as below what it can tell"));
            judge(row);
        }
        if (settings_.limit && test.reading != models::Reading::invalid) hold_against_limit(row, *s, grain);
        if (tell_) {
            tell_(row);
            return;
        }
        if (settings_.limit && grain.known()) {
            if (sample.kind == models::SampleKind::composite)
                counted_[grain.name].push_back(counter_test(test, *s, grain));
            else
                ++of_points_[grain.name];
        }
        view_.rows.push_back(std::move(row));
    }

    void judge(ResultRow& row) {
        try {
            row.budget = models::budget_of(row.measured);
            for (const std::string& sentence : row.budget->assumptions) ++assumed_[sentence];
        } catch (const models::Error& error) {
            row.flags.push_back(models::phrase("no interval: {}", error.what_happened()));
        }
    }

    /// Why the limit is not one for this test; empty where it is.
    std::string wrong_limit(const models::Test& test, std::size_t s) const {
        const models::Limit& limit = *view_.limit;
        if (!models::holds_on(limit, test.time.local_day()))
            return models::phrase("the limit is not in force on {}", models::to_text(test.time.local_day()));
        const auto& crops = geo::words::of<models::Crop>();
        const auto is_crop = [&](const std::string& word) {
            return std::find(crops.begin(), crops.end(), word) != crops.end();
        };
        const std::string is = !test.commodity.empty() ? test.commodity : commodity_of(grain_of_sample(data_, s));
        if (is.empty() || !is_crop(limit.commodity) || limit.commodity == is) return "";
        return models::phrase("the limit is for {}, and this is {}", limit.commodity, is);
    }

    /// What grows in the field, or was delivered; empty where nobody says.
    std::string commodity_of(const GrainOfSample& grain) const {
        if (const models::Load* load = load_named(data_, grain.load); load != nullptr && load->commodity)
            return geo::words::word(*load->commodity);
        if (grain.field.empty()) return "";
        const auto crop = crop_of_ground(data_, grain.field, grain.part, settings_.season);
        return crop ? geo::words::word(data_.crops[*crop].crop) : std::string();
    }

    /// Where a test says another grain than the load or field has; empty where they agree.
    std::string other_grain(const models::Test& test, const GrainOfResult& grain) const {
        const std::string is = commodity_of(grain.of);
        if (test.commodity.empty() || is.empty() || test.commodity == is) return "";
        const auto is_wheat = [](const std::string& word) { return word == "wheat" || word == "durum"; };
        if (is_wheat(test.commodity) && is_wheat(is)) return "";  // durum is often called wheat
        return models::phrase("it is called a test of {}, and {} is {}: one of the two is wrong", test.commodity,
                              grain.name, is);
    }

    CounterTest counter_test(const models::Test& test, std::size_t s, const GrainOfResult& grain) const {
        const models::Test decided = as_decided_on(test, data_.strips);
        const models::Sample sample = with_moisture(data_, s);
        const TestContent content = content_on(view_.limit->basis, decided, sample);
        CounterTest counted{&test, s, measured(decided, sample, content, grain.places_cv), wrong_limit(test, s)};
        if (counted.why_not.empty()) counted.why_not = other_grain(test, grain);
        if (counted.why_not.empty() && !content.converted && test.reading != models::Reading::invalid)
            counted.why_not = models::phrase("it was reported {}, and the moisture of sample {} is not recorded",
                                             models::in_words(test.basis), sample.sample);
        return counted;
    }

    void hold_against_limit(ResultRow& row, std::size_t s, const GrainOfResult& grain) {
        const models::Limit& limit = *settings_.limit;
        if (std::string why = wrong_limit(row.test, s); !why.empty()) {
            row.flags.push_back(models::phrase("not held against the limit: {}", why));
            return;
        }
        const models::Sample sample = with_moisture(data_, s);
        const TestContent content = content_on(limit.basis, row.test, sample);
        if (!content.converted) {
            row.flags.push_back(models::phrase("not held against the limit, which is on another basis"));
            return;
        }
        row.outcome = models::outcome_of(content.reading, content.don_mg_per_kg, limit);
        if (row.test.method == models::Method::laboratory) {
            row.official = models::official_conclusion(
                content.reading, content.don_mg_per_kg,
                {.standard_uncertainty_mg_per_kg = content.standard_uncertainty_mg_per_kg, .recovery = std::nullopt},
                limit);
        }
        if (!row.budget) return;
        const double at = models::breaking_point(limit).mg_per_kg;
        const models::MeasuredResult result = measured(row.test, sample, content, grain.places_cv);
        row.chance_over = models::chance_over(result, at);
        // The error of grain just at the limit; what results share lies about it symmetrically, as in the budget.
        const double shared = models::shared_log_variance(result);
        row.conformity = models::conformity_of(
            content.reading, content.don_mg_per_kg * std::exp(-result.shared_log_mean),
            models::with_shared(models::lognormal_error(models::log_variance_at(result, at) - shared), shared, limit),
            limit);
    }

    void conclude_on_grain() {
        for (auto& [grain, tests] : counted_) {
            GrainConclusion told = conclude_on(data_, grain, tests, *view_.limit, settings_.priors.lot_sd_scale);
            std::set<std::string> doubts;
            for (const CounterTest& test : tests) {
                const auto doubt = in_doubt_.find(test.test->test);
                if (doubt != in_doubt_.end()) doubts.insert(doubt->second.begin(), doubt->second.end());
                const auto strip = data_.strips.find(test.test->test);
                if (strip == data_.strips.end() || test.test->reading == models::Reading::invalid) continue;
                for (const models::StripFlag& flag : strip->second.flags) {
                    if (flag.concern != models::StripConcern::range) doubts.insert(flag.sentence);
                }
            }
            told.doubts.assign(doubts.begin(), doubts.end());
            view_.conclusions.push_back(std::move(told));
        }
        for (const auto& [grain, tests] : of_points_) {
            if (counted_.count(grain) != 0) continue;
            view_.notes.push_back(
                fmt::format("{} is not concluded on: {} of single places speak of those places and not of the whole; "
                            "`lodicule map STORE --limit L` says what they tell of it",
                            grain, models::counted(tests, "result")));
        }
    }

    void note_kit_lots() {
        std::set<std::string> here;
        for (const ResultRow& row : view_.rows) {
            if (row.test.method == models::Method::strip) here.insert(row.test.kit_lot);
        }
        bool told = false;
        for (const std::string& name : here) {
            const auto lot = lots_.find(name);
            if (lot == lots_.end()) continue;
            view_.kit_lots.push_back(lot->second);
            if (lot->second.laboratory_pairs + lot->second.controls == 0) continue;
            view_.notes.push_back(lot->second.says + "; that is taken off its contents and chances");
            told = true;
        }
        view_.notes.push_back(fmt::format(
            "strips of one kit lot share an effect of some {:.0f} % before {}; more strips of that lot do not average "
            "it out",
            100.0 * settings_.priors.lot_sd_scale,
            told ? "anything compares them, which is ours" : "controls and laboratory pairs tell it, which is ours"));
    }

    const SeasonData& data_;
    const ResultsSettings& settings_;
    std::function<void(const ResultRow&)> tell_;
    models::ErrorModel strip_error_, laboratory_error_;
    std::map<std::string, std::vector<std::string>> in_doubt_;  ///< by test
    std::map<std::string, models::KitLotEffect> lots_;
    std::map<std::string, std::vector<CounterTest>> counted_;  ///< tests of samples of the whole, by grain
    std::map<std::string, long long> of_points_;               ///< results of single places, by grain
    std::map<std::string, long long> assumed_;
    ResultsView view_;
};

}  // namespace

namespace {

/// Whoever asks about grain that was not tested learns that it is known, and whoever mistyped its name the nearest one.
[[noreturn]] void refuse_grain_without_tests(const SeasonData& data, const ResultsSettings& settings) {
    const GrainAsked& asked = settings.grain;
    std::string grain;
    const auto named = [&](const char* kind, const std::string& name, const std::vector<std::string>& known,
                           const char* listing) {
        if (name.empty()) return;
        if (std::find(known.begin(), known.end(), name) == known.end())
            throw models::Error(fmt::format("there is no {} \"{}\"", kind, name), std::string("--") + kind,
                                models::mend_of_unknown_name(name, known, listing));
        grain += fmt::format("{}{} {}", grain.empty() ? "" : ", ", kind, name);
    };
    std::vector<std::string> loads, bins, fields, samples;
    for (const models::Load& load : data.loads) loads.push_back(load.load);
    std::sort(loads.begin(), loads.end());
    for (const models::Bin& bin : data.bins) bins.push_back(bin.bin);
    for (const auto& [field, records] : data.crops_by_field) fields.push_back(field);
    for (const models::Sample& sample : data.samples) samples.push_back(sample.sample);
    named("load", asked.load, loads, "lodicule export STORE loads --out -");
    named("bin", asked.bin, bins, "lodicule export STORE bins --out -");
    named("field", asked.field, fields, "lodicule export STORE crops --out -");
    named("sample", asked.sample, samples, "lodicule export STORE samples --out -");
    throw models::Error(
        fmt::format("{} is in the store, and no test of its grain is of season {}", grain, settings.season), "",
        !asked.load.empty()
            ? "test it; what its fields say of it: lodicule bins STORE --next " + asked.load
            : "test it; what its neighbours say of a field: lodicule map STORE --limit L --explain FIELD");
}

}  // namespace

void each_result_of_season(const SeasonData& data, const ResultsSettings& settings,
                           const std::function<void(const ResultRow&)>& tell) {
    ResultsTable(data, settings, tell);
}

ResultsView results_of_season(const SeasonData& data, const ResultsSettings& settings) {
    ResultsView view = ResultsTable(data, settings).take();
    if (view.rows.empty() && settings.grain.one()) refuse_grain_without_tests(data, settings);
    if (view.rows.empty()) {
        std::set<int> with_tests;
        for (const models::Test& test : data.tests) with_tests.insert(season_of_test(data, test));
        throw models::Error(fmt::format("the season {} has no test of grain", settings.season), "tests",
                            with_tests.empty()
                                ? "import them: lodicule import STORE tests FILE.csv"
                                : fmt::format("name a season that has some: {}", fmt::join(with_tests, ", ")));
    }
    return view;
}

}  // namespace app
