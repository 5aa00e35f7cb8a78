#include "models/decision/outbound_lot.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace outbound_lot_parts {

constexpr std::int64_t most_lots = 2000;

/// Chances of rejection for thousands of contents: the plan's squared coefficient of variation without its handfuls
/// stands in a table over ln content, read by straight lines (1e-6 of it at most beside the formula).
class Rejection {
 public:
    Rejection(const Limit& limit, const BuyersTest& buyer)
        : limit_(limit), buyer_(buyer), accept_to_(breaking_point(limit).mg_per_kg) {
        acceptance_probability(buyer.plan, 1.0, limit, buyer.shape, buyer.error);  // refuses a bias that is none
        SamplingPlan plan = buyer.plan;
        plan.increments_cv = 0.0;
        for (int i = 0; i <= steps; ++i) {
            const double cv = plan_cv(plan, std::exp(lowest + i * step), buyer.error);
            squared_cv_.push_back(cv * cv);
        }
        if (!buyer.error.own_sampling_cv) per_squared_cv_ = 1.0 / (plan.increments * static_cast<double>(plan.samples));
    }
    double of(double content, double squared_trucks_cv) const {
        if (!(content > 0.0)) return 0.0;
        const double at = (std::log(content) - lowest) / step;
        if (!(at >= 0.0 && at < steps)) return rejection_of_lot(content, std::sqrt(squared_trucks_cv), limit_, buyer_);
        const auto i = static_cast<std::size_t>(at);
        const double without = squared_cv_[i] + (at - static_cast<double>(i)) * (squared_cv_[i + 1] - squared_cv_[i]);
        const double handfuls = buyer_.within_load_cv * buyer_.within_load_cv + squared_trucks_cv;
        return 1.0 - acceptance_of_reading(buyer_.plan.bias * content, std::sqrt(without + handfuls * per_squared_cv_),
                                           accept_to_, buyer_.shape);
    }

 private:
    static constexpr int steps = 4000;
    static constexpr double lowest = -6.907755278982137, step = 13.815510557964274 / steps;  // 0.001 to 1000 mg/kg
    const Limit& limit_;
    const BuyersTest& buyer_;
    double accept_to_ = 0.0, per_squared_cv_ = 0.0;
    std::vector<double> squared_cv_;
};

/// The sources of a lot as columns of the draws, with what each counts in its mean.
struct LotParts {
    std::vector<Eigen::Index> column;
    std::vector<double> weight;  ///< they add up to 1
};

std::optional<LotParts> parts_of(const LotToSell& lot, const std::map<std::string, Eigen::Index>& column_of,
                                 const SourceDraws& draws) {
    LotParts parts;
    double sum = 0.0;
    for (const GrainPortion& portion : lot.portions) {
        const auto found = column_of.find(portion.source);
        if (found == column_of.end()) return std::nullopt;
        parts.column.push_back(found->second);
        parts.weight.push_back(portion.mass_t() *
                               (draws.weight_per_t.size() > 0 ? draws.weight_per_t[found->second] : 1.0));
        sum += parts.weight.back();
    }
    if (!(sum > 0.0)) return std::nullopt;
    for (double& weight : parts.weight) weight /= sum;
    return parts;
}

/// One lot, and its chance of being rejected in each draw.
LotOutlook outlook_of(const LotToSell& lot, const LotParts& parts, const SourceDraws& draws, const Limit& limit,
                      const Rejection& rejection, Eigen::VectorXd& rejected) {
    const Eigen::Index n = draws.mg_per_kg.rows();
    const BreakingPoint point = breaking_point(limit);
    LotOutlook out;
    out.lot = lot;
    Eigen::VectorXd mean = Eigen::VectorXd::Zero(n), square = Eigen::VectorXd::Zero(n);
    Eigen::ArrayXd spoilt = Eigen::ArrayXd::Zero(n);
    double highest = -1.0;
    for (std::size_t k = 0; k < parts.column.size(); ++k) {
        const auto contents = draws.mg_per_kg.col(parts.column[k]);
        mean += parts.weight[k] * contents;
        square += parts.weight[k] * contents.cwiseAbs2();
        for (Eigen::Index i = 0; i < n; ++i)
            if (point.breaks(contents[i])) spoilt[i] = 1.0;
        if (contents.mean() > highest) {
            highest = contents.mean();
            out.worst_source = lot.portions[k].source;
        }
    }
    rejected.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        double squared_cv = 0.0;
        if (lot.layered && mean[i] > 0.0) squared_cv = std::max(square[i] / (mean[i] * mean[i]) - 1.0, 0.0);
        rejected[i] = rejection.of(mean[i], squared_cv);
        if (point.breaks(mean[i])) out.over += 1.0;
    }
    out.over /= static_cast<double>(n);
    out.holds_over = spoilt.mean();
    out.rejected = rejected.mean();
    out.mean_mg_per_kg = mean.mean();
    out.low90_mg_per_kg = quantile_of_draws(mean, 0.05);
    out.high90_mg_per_kg = quantile_of_draws(mean, 0.95);
    return out;
}

/// The same grain in the same shares: lots of a mixed bin but for grams of rounding.
bool same_mixture(const LotToSell& a, const LotToSell& b) {
    if (a.layered || b.layered || a.portions.size() != b.portions.size()) return false;
    for (std::size_t k = 0; k < a.portions.size(); ++k) {
        const double share_a = a.portions[k].mass_t() / a.mass_t(), share_b = b.portions[k].mass_t() / b.mass_t();
        if (a.portions[k].source != b.portions[k].source || std::abs(share_a - share_b) > 1e-5) return false;
    }
    return true;
}

}  // namespace outbound_lot_parts

std::vector<DrawOff> ways_of_drawing(DrawOff rule, bool order_known) {
    if (rule == DrawOff::mixed) return {rule};
    if (rule == DrawOff::unknown || !order_known) return {DrawOff::first_in, DrawOff::last_in, DrawOff::mixed};
    return {rule};
}

std::vector<LotToSell> lots_of_bin(BinContent content, double lot_t, DrawOff drawn) {
    if (!(lot_t > 0.0) || !std::isfinite(lot_t) || grams_of(lot_t) == 0) {
        throw Error(fmt::format("a lot of {} t is none", lot_t), "lot", "give its mass in tonnes, above 0");
    }
    if (drawn == DrawOff::unknown) {
        throw Error("an unknown rule is no way of drawing off", "bin " + content.bin,
                    "go through first_in, last_in and mixed");
    }
    const std::int64_t lot_g = grams_of(lot_t);
    if (content.mass_g() / lot_g >= outbound_lot_parts::most_lots) {
        throw Error(phrase("{:.1f} t in lots of {} t are more than {} lots", content.mass_t(), lot_t,
                           outbound_lot_parts::most_lots),
                    "bin " + content.bin, phrase("give a larger lot"));
    }
    std::vector<LotToSell> lots;
    while (content.mass_g() > 0) {
        LotToSell lot;
        lot.mass_g = std::min(lot_g, content.mass_g());
        const std::vector<Layer> taken = draw_off(content, lot.mass_g, drawn);
        for (const Layer& layer : taken) {
            for (const GrainPortion& portion : layer.portions) {
                const auto same = std::find_if(lot.portions.begin(), lot.portions.end(),
                                               [&](const GrainPortion& one) { return one.source == portion.source; });
                if (same == lot.portions.end())
                    lot.portions.push_back(portion);
                else
                    same->mass_g += portion.mass_g;
            }
        }
        lot.layered = taken.size() > 1;
        lots.push_back(std::move(lot));
    }
    return lots;
}

double rejection_of_lot(double content_mg_per_kg, double trucks_cv, const Limit& limit, const BuyersTest& buyer) {
    if (!(content_mg_per_kg > 0.0)) return 0.0;
    SamplingPlan plan = buyer.plan;
    plan.increments_cv = std::hypot(buyer.within_load_cv, trucks_cv);
    return 1.0 - acceptance_probability(plan, content_mg_per_kg, limit, buyer.shape, buyer.error);
}

std::optional<BinOutbound> outbound_of_bin(const BinContent& content, double lot_t, DrawOff drawn,
                                           const SourceDraws& on_basis, const Limit& limit, const BuyersTest& buyer) {
    const std::vector<LotToSell> lots = lots_of_bin(content, lot_t, drawn);
    if (lots.empty()) return std::nullopt;
    std::map<std::string, Eigen::Index> column_of;
    for (std::size_t k = 0; k < on_basis.sources.size(); ++k)
        column_of[on_basis.sources[k]] = static_cast<Eigen::Index>(k);
    BinOutbound out;
    out.drawn = drawn;
    Eigen::ArrayXd none = Eigen::ArrayXd::Ones(on_basis.mg_per_kg.rows());  // no lot rejected, by draw
    const outbound_lot_parts::Rejection rejection(limit, buyer);
    Eigen::VectorXd rejected, of_first;
    for (const LotToSell& lot : lots) {
        if (!out.lots.empty() && outbound_lot_parts::same_mixture(out.lots.front().lot, lot)) {
            out.lots.push_back(out.lots.front());
            out.lots.back().lot = lot;
            rejected = of_first;
        } else {
            const auto parts = outbound_lot_parts::parts_of(lot, column_of, on_basis);
            if (!parts) return std::nullopt;
            out.lots.push_back(outbound_lot_parts::outlook_of(lot, *parts, on_basis, limit, rejection, rejected));
            if (out.lots.size() == 1) of_first = rejected;
        }
        const LotOutlook& found = out.lots.back();
        none *= 1.0 - rejected.array();
        out.rejected_lots += found.rejected;
        out.rejected_t += found.rejected * found.lot.mass_t();
        out.holding_over += found.holds_over;
        if (found.rejected > out.lots[out.worst].rejected) out.worst = out.lots.size() - 1;
    }
    out.any_rejected = 1.0 - none.mean();
    return out;
}

}  // namespace models
