#pragma once

#include <string>
#include <vector>

#include "models/calendar.h"

namespace app::drawing {

struct Tick {
    double value = 0.0;
    std::string label;  ///< empty: a small tick
};

/// Ticks at 1, 2 or 5 times a power of ten, at most `most` of them, all inside low..high.
std::vector<Tick> linear_ticks(double low, double high, int most);
/// Ticks on a logarithmic axis: 1, 2, 5 in each decade where they fit into `most`, else the decades; both ends > 0.
std::vector<Tick> log_ticks(double low, double high, int most);
/// Ticks on days counted from a first day: whole days, weeks or months, labelled "3 Jun".
std::vector<Tick> day_ticks(models::LocalDay first, models::LocalDay last, int most);

/// From a value to a pixel and back. `from_px` is where `low` stands, which may lie below or right of `to_px`.
struct Scale {
    double low = 0.0, high = 1.0;
    double from_px = 0.0, to_px = 1.0;
    bool logarithmic = false;
    double px(double value) const;
    double value(double px) const;
};

/// 1, 2 or 5 times a power of ten: the largest not above, the smallest not below.
double round_down_125(double value);
double round_up_125(double value);

}  // namespace app::drawing
