#pragma once

#include <optional>
#include <string>
#include <vector>

#include "demo-data/landscape.h"
#include "models/calendar.h"

namespace demo {

/// What grew on a field, or on a part of it, in one season: the row of crops.csv, and the day it truly flowered.
struct CropRow {
    std::size_t field = 0;  ///< index into the landscape
    std::string part;       ///< empty: the whole field
    int season = 0;
    std::string crop, wheat_type, cultivar, resistance, previous_crop, before_previous_crop, residue, tillage;
    std::optional<models::LocalDay> sowing_date, heading_date, flowering_date, flowering_start, flowering_end;
    std::string flowering_source;
    bool sprayed = false;
    std::optional<models::LocalDay> spray_date;
    std::string status;
    std::optional<models::LocalDay> expected_cut_date, cut_date;
    std::optional<double> yield_t_per_ha;

    models::LocalDay truly_flowered{};  ///< wheat and durum only
    double area_ha = 0.0;

    bool is_wheat() const { return crop == "wheat" || crop == "durum"; }
};

/// Crop rows of three seasons, by season, field and part. What came before is what the season before says.
std::vector<CropRow> make_crops(const Landscape& landscape);

/// The evening of 16 July 2026: the scenario stands still here, about half of the wheat is cut.
models::LocalDay scenario_day();

bool is_organic(const DemoField& field);

/// The field that is sampled at sixty points, and the one at twenty-five; indices into the landscape.
struct SurveyFields {
    std::size_t with_structure = 0;
    std::size_t without_structure = 0;
};
SurveyFields survey_fields(const Landscape& landscape);

}  // namespace demo
