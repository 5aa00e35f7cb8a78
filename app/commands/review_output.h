#pragma once

#include <string>
#include <vector>

#include "app/stages/field_history.h"
#include "app/workflow.h"
#include "models/disease/disease_model.h"

namespace app::commands {

/// Models against scouting and DON, forecasts against what came after, what testing took: tables and sentences.
void print_review(const SeasonsReviewed& review, const models::DiseaseModel& model);
/// {seasons, model, n, auc, auc_low, auc_high, brier, reliability, resolution, uncertainty, skill, table, ...}
void print_review_json(const SeasonsReviewed& review, const models::DiseaseModel& model,
                       const std::vector<std::string>& files);

void print_history(const FieldHistory& history, const std::optional<models::Limit>& limit);
/// {field, seasons:[{season, part, crop, flowering_day, risk, content, tests, severity_pct, ...}]}
void print_history_json(const FieldHistory& history, const std::optional<models::Limit>& limit);

}  // namespace app::commands
