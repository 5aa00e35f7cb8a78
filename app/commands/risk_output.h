#pragma once

#include <optional>
#include <string>

#include <nlohmann/json_fwd.hpp>

#include "app/commands/row_notes.h"
#include "app/workflow.h"
#include "models/disease/disease_model.h"

namespace app::commands {

/// "54 %", "0.51" of an index, "1.62 mg/kg"; a dash where there is none.
std::string risk_text(models::RiskKind kind, const std::optional<double>& value);
/// What a model's number is and is not.
const char* meaning_of(models::RiskKind kind);
/// "; " between sentences; empty ones are left out.
void join_sentence(std::string& sentences, const std::string& next);

/// "Umbrath passed over: 144 hours missing", and of the row how far that station is.
/// @param passed_over  as FieldRisk has it, not empty
RowNote note_of_passed_over(const std::string& passed_over);

/// "Umbrath"; "6 stations" where its hours are made of several.
std::string source_name(const FieldRisk& entry);
/// {as_of, weather_by}: how risks were worked out.
nlohmann::ordered_json json_of(const RiskSettings& how);
/// ", as of 2026-06-05, weather by distance"; empty where nothing was asked.
std::string how_in_words(const RiskSettings& how);

/// What a model's card says: name, title, label, what it needs, coefficients, region, skill. The same keys wherever a
/// model stands.
nlohmann::ordered_json json_of(const models::DiseaseModel& model);
/// The number of one field by one model, with its spread and what it lacks.
nlohmann::ordered_json json_of(const FieldRisk& entry);
/// Field, flowering date and heading date of a crop record, as written.
/// @param as_of  without the dates that were written later
nlohmann::ordered_json json_of_ground(const models::CropRecord& crop, const std::optional<models::LocalDay>& as_of);
/// "28 May" of an observed date, "27 May ±3 d, from heading" of another; the year is said where it is not the season's.
std::string flowering_in_season(const FloweringDay& flowering, int season);
/// "28 May", "27 May ±3 d": where there is no room for the way it was found.
std::string flowering_in_short(const FloweringDay& flowering, int season);
/// The same of the day that a model counts from, with the way it was found.
std::string day_zero_in_season(const models::DayZeroDate& date, int season);
/// The year is said where it is not the season's.
std::string day_in_season(const std::optional<models::LocalDay>& day, int season);

}  // namespace app::commands
