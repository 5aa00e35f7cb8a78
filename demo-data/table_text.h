#pragma once

#include <initializer_list>
#include <optional>
#include <string>

#include "models/calendar.h"

namespace demo {

/// A number with so many decimals, never "-0.0", whatever the locale.
std::string decimals(double value, int places);
std::string decimals(const std::optional<double>& value, int places);  ///< empty where there is none
std::string day_cell(const std::optional<models::LocalDay>& day);
std::string minute_cell(const models::Stamp& stamp);  ///< 2026-07-14T12:06+02:00
/// One line of a CSV table; a cell with a comma or a quote is quoted.
std::string csv_row(std::initializer_list<std::string> cells);

}  // namespace demo
