#include "app/stages/contamination_stage.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include <fmt/format.h>

#include "app/stages/own_errors.h"
#include "app/stages/test_content.h"
#include "models/assay/error_variance.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/disease/catalogue.h"
#include "models/disease/modifiers.h"
#include "models/error.h"

namespace app {

namespace {

bool is_wheat(models::Crop crop) {
    return crop == models::Crop::wheat || crop == models::Crop::durum;
}

/// Collects notes that would otherwise come once a row.
class Counted {
 public:
    void add(const std::string& sentence, const std::string& name) {
        auto& [count, first] = seen_[sentence];
        if (count++ == 0) first = name;
    }
    void put_into(std::vector<std::string>& notes) const {
        for (const auto& [sentence, seen] : seen_) {
            notes.push_back(seen.first == 1 ? fmt::format("{}: {}", seen.second, sentence)
                                            : fmt::format("{} and {} more: {}", seen.second, seen.first - 1, sentence));
        }
    }

 private:
    std::map<std::string, std::pair<int, std::string>> seen_;
};

/// The test on the basis of the map, with a note where it cannot be brought there.
TestContent noted_content(const models::Test& test, const models::Sample& sample, models::Basis basis, Counted& notes) {
    const TestContent content = content_on(basis, test, sample);
    if (!content.converted)
        notes.add("the sample's moisture is not recorded, so its result stands on the basis it was reported on",
                  test.test);
    if (content.read_nothing)
        notes.add("a reading of 0 is taken as below its limit of quantification (0.05 mg/kg where none is given)",
                  test.test);
    return content;
}

class ModelInput {
 public:
    ModelInput(const SeasonData& data, const std::vector<FieldRisk>& risks, const ContaminationSettings& settings)
        : data_(data), settings_(settings) {
        view_.field_season_of.resize(data.crops.size());
        view_.load_of.resize(data.loads.size());
        add_field_seasons(risks);
        add_loads();
        add_results();
        notes_.put_into(view_.notes);
    }
    ContaminationView take() { return std::move(view_); }

 private:
    bool is_known(int season) const { return settings_.hindsight || season <= settings_.season; }

    void add_field_seasons(const std::vector<FieldRisk>& risks) {
        std::map<std::size_t, const FieldRisk*> risk_of;
        for (const FieldRisk& risk : risks) risk_of[risk.crop] = &risk;
        for (std::size_t c = 0; c < data_.crops.size(); ++c) {
            const models::CropRecord& crop = data_.crops[c];
            if (!is_known(crop.season) || !is_wheat(crop.crop)) continue;
            models::FieldSeason entry{crop.field, crop.part, crop.season, std::nullopt, 0.0};
            const auto found = risk_of.find(c);
            if (found != risk_of.end()) {
                if (const auto logit = risk_logit(found->second->risk)) {
                    entry.risk_logit = logit->logit;
                    entry.risk_logit_sd = logit->sd;
                }
            }
            const std::string model = found != risk_of.end() ? found->second->risk.model : "";
            entry.ratios = ratios_of(crop, model.empty() ? models::default_model() : models::find_model(model, true));
            view_.field_season_of[c] = view_.input.field_seasons.size();
            view_.crop_of.push_back(c);
            view_.input.field_seasons.push_back(std::move(entry));
        }
    }

    /// The published ratios that the record calls for and the disease risk does not hold already. What the record
    /// leaves open is part of what fields differ by (the field effect), and no term of its own.
    std::vector<std::size_t> ratios_of(const models::CropRecord& crop, const models::DiseaseModel& model) {
        std::vector<std::size_t> held_by_field;
        for (const models::DonModifier& modifier : models::don_modifiers(crop, model).terms) {
            if (modifier.held || modifier.share == 0.0) continue;
            const auto [known, fresh] = ratio_by_factor_.try_emplace(modifier.factor, view_.input.ratios.size());
            if (fresh) view_.input.ratios.push_back({in_words(modifier.factor), modifier.log_ratio, modifier.ratio_sd});
            held_by_field.push_back(known->second);
        }
        return held_by_field;
    }

    /// The field-seasons that grain of a field came from, with their shares: the crop record of the part, of the field,
    /// or those of all its parts by area.
    std::vector<models::GrainShare> ground_of(const std::string& field, const std::string& part, int season) const {
        std::vector<models::GrainShare> shares;
        const auto crops = data_.crops_by_field.find(field);
        if (crops == data_.crops_by_field.end()) return shares;
        std::optional<std::size_t> whole;
        for (const std::size_t c : crops->second) {
            const models::CropRecord& crop = data_.crops[c];
            if (crop.season != season || !view_.field_season_of[c]) continue;
            if (crop.part == part) return {{*view_.field_season_of[c], 1.0}};
            if (crop.part.empty()) whole = *view_.field_season_of[c];
            const models::Field* outline = outline_of(data_, crop.field, crop.part);
            shares.push_back({*view_.field_season_of[c], outline != nullptr ? outline->area_ha : 1.0});
        }
        if (whole) return {{*whole, 1.0}};
        double total = 0.0;
        for (const models::GrainShare& share : shares) total += share.share;
        for (models::GrainShare& share : shares) share.share /= total;
        return shares;
    }

    void add_loads() {
        for (std::size_t l = 0; l < data_.loads.size(); ++l) {
            const models::Load& load = data_.loads[l];
            const int season = season_of_load(data_, load);
            if (!is_known(season)) continue;
            if (load.commodity && !is_wheat(*load.commodity)) continue;
            models::GrainLoad entry{load.load, {}};
            double total = 0.0;
            for (const models::LoadPart& part : load.parts) total += part.share;
            for (const models::LoadPart& part : load.parts) {
                if (part.field.empty()) continue;
                const auto ground = ground_of(part.field, part.part, season);
                if (ground.empty()) {
                    notes_.add(fmt::format("its field has no wheat in {}; that part counts as bought grain", season),
                               load.load);
                }
                // Shares of more than the whole load are taken in proportion.
                for (const models::GrainShare& share : ground) {
                    entry.parts.push_back({share.field_season, share.share * part.share / std::max(1.0, total)});
                }
            }
            view_.load_of[l] = view_.input.loads.size();
            load_by_name_[load.load] = view_.input.loads.size();
            view_.input.loads.push_back(std::move(entry));
        }
    }

    /// What a sample was taken from, as the model knows it; nullopt (with a note) where it knows no such grain.
    std::optional<models::GrainSample> grain_of(std::size_t s, int season) {
        const models::Sample& sample = data_.samples[s];
        models::GrainSample grain;
        grain.sample = sample.sample;
        grain.stage = sample.stage;
        grain.kind = sample.kind;
        grain.increments = sample.increments;
        grain.mass_g = sample.mass_g;
        grain.chosen_because = sample.chosen_because;
        if (sample.stage == models::Stage::control) {
            notes_.add("a control speaks of the kit, not of grain, and is not in the contamination model",
                       sample.sample);
            return std::nullopt;
        }
        if (!sample.load.empty()) {
            const auto load = load_by_name_.find(sample.load);
            if (load == load_by_name_.end()) {
                notes_.add("its load is not wheat of these seasons", sample.sample);
                return std::nullopt;
            }
            grain.from = models::SampledGrain::load;
            grain.index = load->second;
            return grain;
        }
        if (sample.stage == models::Stage::bin) {
            notes_.add("a bin probe speaks of mixed loads and is not in the contamination model", sample.sample);
            return std::nullopt;
        }
        std::string field = sample.field, part = sample.part;
        if (s < data_.joined.samples.size()) {
            field = data_.joined.samples[s].field;
            part = data_.joined.samples[s].part;
        }
        if (field.empty()) {
            notes_.add("the sample lies in no field and names none", sample.sample);
            return std::nullopt;
        }
        const auto ground = ground_of(field, part, season);
        if (ground.empty()) {
            notes_.add(fmt::format("its field has no wheat in {}", season), sample.sample);
            return std::nullopt;
        }
        if (ground.size() == 1) {
            grain.index = ground[0].field_season;
            return grain;
        }
        // A composite over a field whose parts are booked apart: a mix of the parts, as a load of them would be.
        grain.from = models::SampledGrain::load;
        grain.index = view_.input.loads.size();
        view_.input.loads.push_back({sample.sample, ground});
        return grain;
    }

    void add_results() {
        std::map<std::string, std::size_t> sample_of;
        for (const models::Test& test : data_.tests) {
            if (test.reading == models::Reading::invalid) continue;
            const int season = season_of_test(data_, test);
            if (!is_known(season)) continue;
            const auto s = sample_index(data_, test.sample);
            if (!s) continue;
            auto known = sample_of.find(test.sample);
            if (known == sample_of.end()) {
                auto grain = grain_of(*s, season);
                if (!grain) continue;
                known = sample_of.emplace(test.sample, view_.input.samples.size()).first;
                view_.input.samples.push_back(std::move(*grain));
            }
            const TestContent content = noted_content(test, data_.samples[*s], settings_.basis, notes_);
            models::AssayResult result;
            result.test = test.test;
            result.sample = known->second;
            result.reading = content.reading;
            result.don_mg_per_kg = content.don_mg_per_kg;
            result.method = test.method;
            result.kit_lot = test.kit_lot;
            result.portion_g = content.procedure.portion_g;
            result.standard_uncertainty_mg_per_kg = content.standard_uncertainty_mg_per_kg;
            view_.input.results.push_back(std::move(result));
        }
    }

    const SeasonData& data_;
    const ContaminationSettings& settings_;
    ContaminationView view_;
    Counted notes_;
    std::map<std::string, std::size_t> load_by_name_;
    std::map<models::DonFactor, std::size_t> ratio_by_factor_;
};

/// What was published of a way of keeping fields, and what the results say of it.
void tell_ratios(ContaminationView& view) {
    const auto words = [](double factor, double low, double high) {
        return fmt::format("times {:.2f} ({:.2f} to {:.2f})", factor, low, high);
    };
    for (const models::Learnt::Ratio& learnt : view.model->learnt().ratios) {
        for (const models::PublishedRatio& published : view.input.ratios) {
            if (published.what != learnt.what) continue;
            const double reach = 1.6448536269514722 * published.sd;
            view.notes.push_back(fmt::format("{}, {}: DON {} as published, {} with these results", published.what,
                                             models::counted(learnt.fields, "field-season"),
                                             words(std::exp(published.log_ratio), std::exp(published.log_ratio - reach),
                                                   std::exp(published.log_ratio + reach)),
                                             words(learnt.factor, learnt.low90, learnt.high90)));
        }
    }
}

/// A cell small enough to show the outline, and not more than some 20,000 of them.
double cell_size_m(const models::BoxM& box) {
    double cell = 5.0;
    while (box.width_m() / cell * box.height_m() / cell > 20000.0) cell *= 2.0;
    return cell;
}

struct PlacedResults {
    std::vector<models::PointM> places;
    std::vector<double> log_values, error_variances;
    std::vector<models::AssayProcedure> procedures;
    int bounds = 0;  ///< results below or above range, which kriging of values cannot take
};

void krige_field(WithinField& within, const PlacedResults& results, const models::OutlineM& outline,
                 const models::Progress& progress) {
    models::SpatialData data;
    const auto n = static_cast<Eigen::Index>(results.places.size());
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    data.error_variances.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const auto k = static_cast<std::size_t>(i);
        data.positions_m(i, 0) = results.places[k].x_m;
        data.positions_m(i, 1) = results.places[k].y_m;
        data.values(i) = results.log_values[k];
        data.error_variances(i) = results.error_variances[k];
    }
    within.points = static_cast<int>(n);
    within.verdict = models::structure_verdict(data.positions_m, data.values, data.error_variances);
    if (!within.verdict.supported) return;

    const models::BoxM box = models::bounding_box(outline);
    within.grid = models::grid_over(box, cell_size_m(box));
    const models::Kriging kriging(data, within.verdict.fit.model);
    const models::KrigingEstimates kriged = kriging.on_grid(within.grid, {}, progress);
    const double nan = std::numeric_limits<double>::quiet_NaN();
    within.median_mg_per_kg.setConstant(within.grid.rows, within.grid.columns, nan);
    within.mean_mg_per_kg = within.low90_mg_per_kg = within.high90_mg_per_kg = within.log_sd = within.median_mg_per_kg;
    for (int row = 0; row < within.grid.rows; ++row) {
        for (int column = 0; column < within.grid.columns; ++column) {
            if (models::side_of(outline, within.grid.centre(row, column)) == models::Side::outside) continue;
            const Eigen::Index cell = static_cast<Eigen::Index>(row) * within.grid.columns + column;
            const double log_median = kriged.estimate(cell);
            const double sd = std::sqrt(kriged.variance(cell));
            if (!std::isfinite(log_median)) continue;
            const models::LognormalMoments moments =
                models::lognormal_moments(log_median, kriged.variance(cell), kriged.lagrange(cell));
            within.median_mg_per_kg(row, column) = moments.median;
            within.mean_mg_per_kg(row, column) = moments.mean;
            within.low90_mg_per_kg(row, column) = std::exp(log_median - 1.6448536269514722 * sd);
            within.high90_mg_per_kg(row, column) = std::exp(log_median + 1.6448536269514722 * sd);
            within.log_sd(row, column) = sd;
        }
    }
}

}  // namespace

ContaminationView contamination_of_season(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                          const ContaminationSettings& settings, const models::Progress& progress) {
    ContaminationView view = ModelInput(data, risks, settings).take();
    if (view.input.field_seasons.empty() && view.input.loads.empty()) return view;
    models::ContaminationSettings how;
    how.threads = settings.threads;
    ErrorsInUse errors = errors_in_use(data, settings.own_duplicates);
    how.strip_error = errors.strip;
    how.laboratory_error = errors.laboratory;
    for (std::string& note : errors.notes) view.notes.push_back(std::move(note));
    view.model = models::fit_contamination(view.input, {}, how, progress);
    if (!view.model->ranking_only()) tell_ratios(view);
    const auto foreseen = std::count_if(risks.begin(), risks.end(), [&](const FieldRisk& risk) {
        return risk.forecast && risk.risk.season == settings.season && risk.risk.value;
    });
    if (foreseen > 0) {
        view.notes.push_back(
            fmt::format("the disease risk of {} rests on hours that are forecast", models::counted(foreseen, "field")));
    }
    if (std::string changed = models::note_of_changed_source(weather_sources(risks)); !changed.empty())
        view.notes.push_back(std::move(changed));
    return view;
}

std::vector<WithinField> maps_within_fields(const SeasonData& data, const ContaminationSettings& settings,
                                            const models::Progress& progress) {
    std::map<std::string, PlacedResults> by_field;
    for (const models::Test& test : data.tests) {
        if (test.reading == models::Reading::invalid || season_of_test(data, test) != settings.season) continue;
        const auto s = sample_index(data, test.sample);
        if (!s || *s >= data.joined.samples.size()) continue;
        const geo::SampleJoin& join = data.joined.samples[*s];
        const models::Sample& sample = data.samples[*s];
        if (join.field.empty() || !join.position_fits || !sample.place_m || sample.kind != models::SampleKind::point)
            continue;
        PlacedResults& results = by_field[join.field];
        const TestContent content = content_on(settings.basis, test, sample);
        if (content.reading != models::Reading::value) {
            ++results.bounds;
            continue;
        }
        results.places.push_back(*sample.place_m);
        results.log_values.push_back(std::log(content.don_mg_per_kg));
        results.procedures.push_back(content.procedure);
    }
    std::vector<WithinField> out;
    for (auto& [field, results] : by_field) {
        if (results.places.size() < 2) continue;
        const models::Field* outline = outline_of(data, field, "");
        if (outline == nullptr) continue;
        // The error of a result at the content it stands for, not at the reading: the field's median serves all.
        std::vector<double> sorted = results.log_values;
        std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
        const double typical = std::exp(sorted[sorted.size() / 2]);
        for (const models::AssayProcedure& procedure : results.procedures) {
            results.error_variances.push_back(models::log_variance(typical, procedure).total());
        }
        WithinField within;
        within.field = field;
        if (results.bounds * 5 > static_cast<int>(results.places.size())) {
            within.points = static_cast<int>(results.places.size());
            within.verdict.reason = fmt::format(
                "not supported: {} of {} results {} outside the working range, and a map of the rest would mislead",
                results.bounds, results.bounds + within.points, models::by_number(results.bounds, "lies", "lie"));
        } else {
            krige_field(within, results, outline->outline_m, progress);
        }
        out.push_back(std::move(within));
    }
    return out;
}

void give_exceedance(WithinField& within, const models::Limit& limit) {
    if (!within.verdict.supported) return;
    const double log_limit = std::log(models::breaking_point(limit).mg_per_kg);
    within.exceedance = within.median_mg_per_kg;  // NaN where nothing is known
    for (Eigen::Index i = 0; i < within.exceedance.size(); ++i) {
        double& cell = within.exceedance.data()[i];
        if (std::isnan(cell)) continue;
        const double log_median = std::log(cell), sd = within.log_sd.data()[i];
        cell = sd > 0.0 ? 0.5 * std::erfc((log_limit - log_median) / (sd * std::sqrt(2.0)))
                        : (log_median > log_limit ? 1.0 : 0.0);
    }
}

std::vector<geo::ContourLine> lines_of_equal_content(const WithinField& within,
                                                     const std::vector<double>& levels_mg_per_kg) {
    if (!within.verdict.supported) return {};
    std::vector<double> values;
    values.reserve(static_cast<std::size_t>(within.grid.cells()));
    for (int row = 0; row < within.grid.rows; ++row) {
        for (int column = 0; column < within.grid.columns; ++column)
            values.push_back(within.median_mg_per_kg(row, column));
    }
    return geo::contour_lines(within.grid, values, levels_mg_per_kg);
}

StructureSentence structure_of(const std::vector<WithinField>& within) {
    StructureSentence out;
    std::string yes, no;
    for (const WithinField& field : within) {
        std::string& list = field.verdict.supported ? yes : no;
        if (field.verdict.supported || field.points >= 25) {
            list += fmt::format("{}{} ({} places)", list.empty() ? "" : ", ", field.field, field.points);
        }
    }
    out.supported = !yes.empty();
    if (!yes.empty()) out.reason = "supported in " + yes + ", drawn as a surface";
    if (!no.empty()) out.reason += (out.reason.empty() ? "not supported in " : "; not supported in ") + no;
    if (out.reason.empty()) {
        out.reason =
            "not supported: no field has enough placed results to show structure within it; fields carry their mean";
    } else {
        out.reason += "; all other fields carry their mean";
    }
    return out;
}

}  // namespace app
