#include "models/decision/bin_probe.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/decision/expected.h"
#include "models/error.h"

namespace models {

namespace bin_probe_parts {

constexpr double too_far_out = 0.001;  // ours, told in the header

/// ln of the likelihood of the reading in one draw, and the chance of a lower reading.
struct ReadingInDraw {
    double log_likelihood = 0.0, lower = 0.0;
};

ReadingInDraw reading_in(const BinProbe& probe, double content, double loads_cv) {
    const RelativeVariance parts = relative_variance(content, probe.procedure, probe.error);
    const double handfuls =
        probe.error.own_sampling_cv ? 0.0 : (probe.within_load_cv * probe.within_load_cv + loads_cv * loads_cv);
    const double assay = probe.stated_cv ? *probe.stated_cv * *probe.stated_cv : parts.preparation + parts.analysis;
    const double q = std::log1p(parts.sampling + handfuls / probe.increments + assay / probe.readings +
                                probe.kit_lot_sd * probe.kit_lot_sd);
    const double z = (std::log(probe.don_mg_per_kg) - std::log(content) + 0.5 * q) / std::sqrt(q);
    ReadingInDraw out;
    out.lower = normal::cdf(z);
    switch (probe.reading) {
        case Reading::value:
            out.log_likelihood = -0.5 * z * z - 0.5 * std::log(q);
            break;
        case Reading::below:
            out.log_likelihood = normal::log_cdf(z);
            break;
        case Reading::above:
            out.log_likelihood = normal::log_cdf(-z);
            break;
        case Reading::invalid:
            break;
    }
    return out;
}

/// The mean and its quantiles of weighted draws.
struct Weighed {
    double mean = 0.0, low90 = 0.0, high90 = 0.0;
};
Weighed weighed(const Eigen::VectorXd& values, const Eigen::VectorXd& weights) {
    std::vector<Eigen::Index> order(static_cast<std::size_t>(values.size()));
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<Eigen::Index>(i);
    std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return values[a] < values[b]; });
    Weighed out;
    out.mean = values.dot(weights);
    double so_far = 0.0;
    bool low = false, high = false;
    for (const Eigen::Index i : order) {
        so_far += weights[i];
        if (!low && so_far >= 0.05) out.low90 = values[i], low = true;
        if (!high && so_far >= 0.95) out.high90 = values[i], high = true;
    }
    if (!high) out.high90 = values[order.back()];
    return out;
}

double chance_of_as_far_out(const BinProbe& probe, double lower) {
    switch (probe.reading) {
        case Reading::below:
            return lower;
        case Reading::above:
            return 1.0 - lower;
        default:
            return std::min(1.0, 2.0 * std::min(lower, 1.0 - lower));
    }
}

void take_rows(Eigen::MatrixXd& draws, const std::vector<Eigen::Index>& chosen) {
    const auto n = static_cast<Eigen::Index>(chosen.size());
    std::vector<double> column(static_cast<std::size_t>(n));
    for (Eigen::Index k = 0; k < draws.cols(); ++k) {
        double* const values = draws.col(k).data();
        std::copy(values, values + n, column.begin());
        for (Eigen::Index i = 0; i < n; ++i)
            values[i] = column[static_cast<std::size_t>(chosen[static_cast<std::size_t>(i)])];
    }
}

void require_probe(const BinProbe& probe) {
    const std::string where = "probe " + probe.sample;
    if (!(probe.don_mg_per_kg > 0.0) || !std::isfinite(probe.don_mg_per_kg)) {
        throw Error(fmt::format("a content of {} mg/kg has no logarithm", probe.don_mg_per_kg), where,
                    "give it as below the lowest content that the test can read");
    }
    if (probe.increments < 1 || probe.readings < 1) {
        throw Error("a probe is of one handful and one reading at least", where, "write 1 or more");
    }
}

}  // namespace bin_probe_parts

std::vector<Eigen::Index> chosen_by(const Eigen::VectorXd& weights) {
    const Eigen::Index n = weights.size();
    std::vector<Eigen::Index> chosen(static_cast<std::size_t>(n));
    double up_to = weights[0];
    Eigen::Index from = 0;
    for (Eigen::Index i = 0; i < n; ++i) {
        const double at = (static_cast<double>(i) + 0.5) / static_cast<double>(n);
        while (up_to < at && from + 1 < n) up_to += weights[++from];
        chosen[static_cast<std::size_t>(i)] = from;
    }
    return chosen;
}

ProbedDraws draws_after_probes(SourceDraws draws, const std::vector<BinProbe>& probes) {
    using namespace bin_probe_parts;
    const Eigen::Index n = draws.mg_per_kg.rows();
    ProbedDraws out;
    Eigen::VectorXd weights = Eigen::VectorXd::Constant(n, n > 0 ? 1.0 / static_cast<double>(n) : 0.0);
    bool any = false;
    for (const BinProbe& probe : probes) {
        require_probe(probe);
        ProbeNews& news = out.news.emplace_back();
        news.sample = probe.sample;
        news.bin = probe.bin;
        if (probe.grain.empty()) {
            news.what = ProbeNews::What::empty_bin;
            continue;
        }
        news.unknown = sources_without_draws(probe.grain, draws);
        const auto mean = mean_content(probe.grain, draws);
        if (!news.unknown.empty() || !mean || n == 0) {
            news.what = ProbeNews::What::unknown_grain;
            continue;
        }
        Eigen::VectorXd square = Eigen::VectorXd::Zero(n);
        double tonnes = 0.0;
        for (const GrainPortion& portion : probe.grain) {
            const auto column = std::find(draws.sources.begin(), draws.sources.end(), portion.source);
            square += portion.mass_t() * draws.mg_per_kg.col(column - draws.sources.begin()).cwiseAbs2();
            tonnes += portion.mass_t();
        }
        square /= tonnes;
        Eigen::VectorXd log_likelihood(n);
        double lower = 0.0;
        for (Eigen::Index i = 0; i < n; ++i) {
            const double content = std::max((*mean)[i], 1e-9);  // grain without any DON reads next to nothing
            const double spread = probe.layered ? std::max(square[i] - content * content, 0.0) : 0.0;
            const ReadingInDraw reading = reading_in(probe, content, std::sqrt(spread) / content);
            log_likelihood[i] = reading.log_likelihood;
            lower += weights[i] * reading.lower;
        }
        const Weighed before = weighed(*mean, weights);
        news.before_mg_per_kg = news.after_mg_per_kg = before.mean;
        news.before_low90 = news.after_low90 = before.low90;
        news.before_high90 = news.after_high90 = before.high90;
        news.surprise = chance_of_as_far_out(probe, lower);
        if (news.surprise < too_far_out) {
            news.what = ProbeNews::What::contradicts;
            continue;
        }
        weights = weights.array() * (log_likelihood.array() - log_likelihood.maxCoeff()).exp();
        weights /= weights.sum();
        any = true;
        const Weighed after = weighed(*mean, weights);
        news.after_mg_per_kg = after.mean;
        news.after_low90 = after.low90;
        news.after_high90 = after.high90;
    }
    out.effective_draws = n > 0 ? 1.0 / weights.squaredNorm() : 0.0;
    if (any) {
        out.chosen = chosen_by(weights);
        take_rows(draws.mg_per_kg, out.chosen);
    }
    out.draws = std::move(draws);
    return out;
}

}  // namespace models
