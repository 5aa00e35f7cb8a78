#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/risk_stage.h"

namespace app {

/// The risks of one season's crop records by one or several models: first which days of which source they ask for, then
/// each source's days once for all records and all models.
class SeasonRisks {
 public:
    /// @param data, weather  outlive it
    SeasonRisks(const SeasonData& data, const std::vector<const models::DiseaseModel*>& by, const FieldWeather& weather,
                const RiskSettings& settings);

    /// @param crops  indices into SeasonData::crops, all of them at once
    void ask(const std::vector<std::size_t>& crops);
    /// Tells each answer once, by the places of its model and of its record in the order of asking; from several
    /// threads at a time.
    void answer(const models::Progress& progress, const RiskTold& tell);

 private:
    class DaysOfSource;
    struct Asked {
        std::size_t crop = 0;
        const models::Field* outline = nullptr;
        WeatherChoice choice;
        std::vector<FieldDate> dates;           ///< one each of dates_
        std::map<std::size_t, FieldRisk> open;  ///< by model: what its own source could not answer, another one may
    };
    struct Stretch {
        HoursSource source;
        std::optional<models::DayWindow> window;
        std::vector<std::size_t> asked;
    };

    const models::CropRecord& crop_of(std::size_t asked) const { return data_.crops[asked_[asked].crop]; }
    const FieldDates& dates_of(std::size_t model) const { return dates_[dates_of_model_[model]]; }
    const FieldDate& date_of(std::size_t asked, std::size_t model) const {
        return asked_[asked].dates[dates_of_model_[model]];
    }
    /// @param days  null: it has no source
    FieldRisk answer_from(std::size_t model, std::size_t asked, DaysOfSource* days, const HoursSource* source) const;
    void answer_all_models(std::size_t asked, DaysOfSource* days, const RiskTold& tell);
    void ask_the_others(const RiskTold& tell);

    const SeasonData& data_;
    std::vector<const models::DiseaseModel*> models_;
    const FieldWeather& weather_;
    std::vector<FieldDates> dates_;            ///< one each for models that count from the same day
    std::vector<std::size_t> dates_of_model_;  ///< which of them
    int threads_;
    bool sentences_;
    std::vector<Asked> asked_;
    std::map<std::size_t, Stretch> own_;  ///< by the index of the source
    std::vector<std::size_t> without_;    ///< those that have no source
};

}  // namespace app
