#include "models/contamination/near_groups.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace models::contamination {

namespace {

class Bisection {
 public:
    Bisection(const std::vector<PlacedUnit>& units, int most_fields)
        : units_(units), most_fields_(std::max(most_fields, 1)), group_(units.size(), -1) {}

    std::vector<int> take() {
        std::vector<std::size_t> all(units_.size());
        std::iota(all.begin(), all.end(), std::size_t{0});
        if (!all.empty()) cut(std::move(all));
        return std::move(group_);
    }

 private:
    void cut(std::vector<std::size_t> piece) {
        int fields = 0;
        double low_x = INFINITY, high_x = -INFINITY, low_y = INFINITY, high_y = -INFINITY;
        for (const std::size_t u : piece) {
            const PointM& at = units_[u].at_m;
            fields += units_[u].fields;
            low_x = std::min(low_x, at.x_m);
            high_x = std::max(high_x, at.x_m);
            low_y = std::min(low_y, at.y_m);
            high_y = std::max(high_y, at.y_m);
        }
        if (fields <= most_fields_ || piece.size() == 1) {
            for (const std::size_t u : piece) group_[u] = groups_;
            ++groups_;
            return;
        }
        const bool along_x = high_x - low_x >= high_y - low_y;
        std::sort(piece.begin(), piece.end(), [&](std::size_t a, std::size_t b) {
            const PointM &p = units_[a].at_m, &q = units_[b].at_m;
            const double long_p = along_x ? p.x_m : p.y_m, long_q = along_x ? q.x_m : q.y_m;
            return long_p != long_q ? long_p < long_q : a < b;
        });
        const int groups = (fields + most_fields_ - 1) / most_fields_;
        const double wanted = static_cast<double>(fields) * (groups / 2) / groups;
        // The border nearest to that; of two as near the first.
        std::size_t border = 1;
        double least = INFINITY;
        int before = 0;
        for (std::size_t k = 1; k < piece.size(); ++k) {
            before += units_[piece[k - 1]].fields;
            if (std::abs(before - wanted) >= least) continue;
            least = std::abs(before - wanted);
            border = k;
        }
        const auto middle = piece.begin() + static_cast<std::ptrdiff_t>(border);
        cut({piece.begin(), middle});
        cut({middle, piece.end()});
    }

    const std::vector<PlacedUnit>& units_;
    int most_fields_;
    std::vector<int> group_;
    int groups_ = 0;
};

}  // namespace

std::vector<int> groups_of_near(const std::vector<PlacedUnit>& units, int most_fields) {
    return Bisection(units, most_fields).take();
}

}  // namespace models::contamination
