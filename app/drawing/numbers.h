#pragma once

#include <string>

namespace app::drawing {

/// Numbers as people read them: two significant digits below 1, one decimal from 1 up, thousands parted by a thin
/// space from 10,000 up. The same on every machine; only the mark before decimals is that of the language that is
/// spoken (models/spoken.h). What is not a number is "–".
///     0.0343 -> "0.034"    0.5 -> "0.50"    1.254 -> "1.3"    12.34 -> "12.3"    0 -> "0"
std::string number_text(double value);
/// A number that somebody set (a limit, a factor) stands as it was set, in its shortest form: 1.25 -> "1.25".
std::string set_number_text(double value);
std::string rough_text(double value);                ///< two digits, for what rests on draws: "800", "13", "0.85"
std::string interval_text(double low, double high);  ///< "0.40 to 2.1"
/// A fraction as percent without decimals; never "0 %" or "100 %" of what is not certain: "under 1 %", "over 99 %".
std::string percent_text(double fraction);
std::string short_percent_text(double fraction);  ///< the same with "< 1 %" and "> 99 %", where there is little room
std::string tonnes_text(double mass_t);           ///< "24.6 t", whole tonnes from 100 up
/// A value of an axis, with just the decimals that its step needs: step 0.25 -> "0.25", "0.50"; step 5 -> "5".
std::string axis_number_text(double value, double step);

}  // namespace app::drawing
