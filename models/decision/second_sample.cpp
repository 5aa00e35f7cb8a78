#include "models/decision/second_sample.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/normal.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace models {

namespace second_sample_parts {

constexpr Eigen::Index most_contents = 2000, readings = 512;

double loss_of(const SecondSampleAsked& asked, bool goes_in, double over) {
    return goes_in ? asked.wrong_acceptance_per_t * asked.spoils_t * over
                   : asked.wrong_rejection_per_t * asked.mass_t * (1.0 - over);
}

}  // namespace second_sample_parts

SecondSample worth_of_second_sample(const SecondSampleAsked& asked) {
    using namespace second_sample_parts;
    const Eigen::Index all = asked.content_mg_per_kg.size();
    if (all == 0) throw Error("there are no draws of the load's content", "", "import a result first");
    for (const double number :
         {asked.mass_t, asked.spoils_t, asked.wrong_acceptance_per_t, asked.wrong_rejection_per_t}) {
        if (!(number >= 0.0) || !std::isfinite(number))
            throw Error(fmt::format("{} is no mass or cost", number), "second sample", "give 0 or more");
    }
    const Eigen::Index step = (all + most_contents - 1) / most_contents;
    const Eigen::Index n = (all + step - 1) / step;
    const BreakingPoint point = breaking_point(asked.limit);
    Eigen::ArrayXd mean(n), sd(n), over(n);  // of ln readings in each world
    for (Eigen::Index i = 0; i < n; ++i) {
        const double content = std::max(asked.content_mg_per_kg[i * step], 1e-9);
        const double handfuls =
            asked.error.own_sampling_cv ? 0.0 : asked.within_load_cv * asked.within_load_cv / asked.increments;
        const double q = std::log1p(relative_variance(content, asked.procedure, asked.error).total() + handfuls +
                                    asked.kit_lot_sd * asked.kit_lot_sd);
        mean[i] = std::log(content) - 0.5 * q;
        sd[i] = std::sqrt(q);
        over[i] = point.breaks(asked.content_mg_per_kg[i * step]) ? 1.0 : 0.0;
    }
    const Eigen::ArrayXd log_sd = sd.log();
    SecondSample out;
    const bool goes_in_now = asked.now == ClearingState::cleared;
    out.loss_now = loss_of(asked, goes_in_now, over.mean());
    // What is done after the reading is held against what would be done without it under the same readings: the two
    // differ only where the reading changes what is done, so that a sample that changes nothing is worth exactly
    // nothing, whatever the readings.
    out.loss_after = out.loss_now;
    for (Eigen::Index k = 0; k < readings; ++k) {
        const Eigen::Index world = (k * n + n / 2) / readings % n;
        const double u = contamination::counter_uniform(1, static_cast<std::uint64_t>(k), 7);
        const double log_y = mean[world] + sd[world] * normal::quantile(u);
        const Eigen::ArrayXd log_weight = -0.5 * ((log_y - mean) / sd).square() - log_sd;
        const Eigen::ArrayXd weight = (log_weight - log_weight.maxCoeff()).exp();
        const double over_then = (weight * over).sum() / weight.sum();
        const bool reads_over = point.breaks(std::exp(log_y));
        const bool clears = asked.now != ClearingState::over && !reads_over && over_then <= asked.caps.load_cap;
        out.loss_after += (loss_of(asked, clears, over_then) - loss_of(asked, goes_in_now, over_then)) /
                          static_cast<double>(readings);
        out.clears += clears ? 1.0 / static_cast<double>(readings) : 0.0;
        out.over += reads_over || asked.now == ClearingState::over ? 1.0 / static_cast<double>(readings) : 0.0;
    }
    return out;
}

}  // namespace models
