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

    void ask(std::size_t crop_index);
    /// For each model in order, one entry a record asked for, in the order of asking.
    std::vector<std::vector<FieldRisk>> answer(const models::Progress& progress);

 private:
    class DaysOfSource;
    struct Asked {
        std::size_t crop = 0;
        WeatherChoice choice;
        std::vector<FieldDate> dates;  ///< one a model
        std::vector<char> open;        ///< one a model: its own source could not answer, another one may
    };
    struct Stretch {
        HoursSource source;
        std::optional<models::DayWindow> window;
        std::vector<std::size_t> asked;
    };

    const models::CropRecord& crop_of(std::size_t asked) const { return data_.crops[asked_[asked].crop]; }
    /// @param days  null: it has no source
    FieldRisk answer_from(std::size_t model, std::size_t asked, DaysOfSource* days, const HoursSource* source) const;
    void answer_all_models(std::size_t asked, DaysOfSource* days);
    void ask_the_others();

    const SeasonData& data_;
    std::vector<const models::DiseaseModel*> models_;
    const FieldWeather& weather_;
    std::vector<FieldDates> dates_;  ///< one a model
    int threads_;
    std::vector<Asked> asked_;
    std::map<std::size_t, Stretch> own_;           ///< by the index of the source
    std::vector<std::size_t> without_;             ///< those that have no source
    std::vector<std::vector<FieldRisk>> answers_;  ///< a model, a record asked for
};

}  // namespace app
