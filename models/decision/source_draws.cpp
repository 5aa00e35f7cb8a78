#include "models/decision/source_draws.h"

#include <algorithm>
#include <cmath>
#include <string_view>
#include <unordered_set>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/error.h"

namespace models {

SourceDraws opening_draws(const std::vector<Bin>& bins, Eigen::Index n_draws, std::uint64_t seed) {
    SourceDraws out;
    std::vector<Eigen::VectorXd> columns;
    for (const Bin& bin : bins) {
        if (grams_of(bin.opening_mass_t) == 0 || !bin.opening_mean_mg_per_kg) continue;
        const double mean = *bin.opening_mean_mg_per_kg;
        const double sd = bin.opening_sd_mg_per_kg.value_or(0.0);
        if (!(mean >= 0.0) || !(sd >= 0.0) || !std::isfinite(mean) || !std::isfinite(sd)) {
            throw Error(fmt::format("its opening content is {} mg/kg with a standard deviation of {}", mean, sd),
                        "bin " + bin.bin, "write 0 or more for both");
        }
        Eigen::VectorXd column = Eigen::VectorXd::Constant(n_draws, mean);
        if (mean > 0.0 && sd > 0.0) {
            // Its own stream by the letters of its name, so that another bin in the table changes nothing here.
            std::uint64_t stream = 1469598103934665603ULL;
            for (const char letter : bin.bin) stream = (stream ^ static_cast<unsigned char>(letter)) * 1099511628211ULL;
            const double variance = std::log1p(sd * sd / (mean * mean));
            for (Eigen::Index i = 0; i < n_draws; ++i) {
                const double z = contamination::counter_normal(seed, static_cast<std::uint64_t>(i), stream);
                column[i] = mean * std::exp(std::sqrt(variance) * z - 0.5 * variance);
            }
        }
        out.sources.push_back(opening_source(bin.bin));
        columns.push_back(std::move(column));
    }
    out.mg_per_kg.resize(n_draws, static_cast<Eigen::Index>(columns.size()));
    for (std::size_t j = 0; j < columns.size(); ++j) out.mg_per_kg.col(static_cast<Eigen::Index>(j)) = columns[j];
    return out;
}

SourceDraws joined(const SourceDraws& a, const SourceDraws& b) {
    if (a.sources.empty()) return b;
    if (b.sources.empty()) return a;
    if (a.mg_per_kg.rows() != b.mg_per_kg.rows()) {
        throw Error(fmt::format("{} draws cannot stand beside {}", a.mg_per_kg.rows(), b.mg_per_kg.rows()));
    }
    SourceDraws out = a;
    for (const std::string& source : b.sources) {
        if (std::find(a.sources.begin(), a.sources.end(), source) != a.sources.end()) {
            throw Error(fmt::format("\"{}\" has draws twice", source));
        }
        out.sources.push_back(source);
    }
    out.mg_per_kg.conservativeResize(Eigen::NoChange, a.mg_per_kg.cols() + b.mg_per_kg.cols());
    out.mg_per_kg.rightCols(b.mg_per_kg.cols()) = b.mg_per_kg;
    if (a.weight_per_t.size() > 0 || b.weight_per_t.size() > 0) {
        const auto weights = [](const SourceDraws& draws) {
            return draws.weight_per_t.size() > 0 ? draws.weight_per_t
                                                 : Eigen::VectorXd::Ones(draws.mg_per_kg.cols()).eval();
        };
        out.weight_per_t.resize(out.mg_per_kg.cols());
        out.weight_per_t << weights(a), weights(b);
    }
    return out;
}

std::vector<std::string> sources_without_draws(const std::vector<GrainPortion>& portions, const SourceDraws& draws) {
    std::vector<std::string> missing;
    const std::unordered_set<std::string_view> drawn(draws.sources.begin(), draws.sources.end());
    for (const GrainPortion& portion : portions)
        if (portion.mass_g > 0 && drawn.count(portion.source) == 0) missing.push_back(portion.source);
    return missing;
}

std::optional<Eigen::VectorXd> mean_content(const std::vector<GrainPortion>& portions, const SourceDraws& draws) {
    Eigen::VectorXd sum = Eigen::VectorXd::Zero(draws.mg_per_kg.rows());
    double weights = 0.0;
    for (const GrainPortion& portion : portions) {
        if (portion.mass_g == 0) continue;
        const auto found = std::find(draws.sources.begin(), draws.sources.end(), portion.source);
        if (found == draws.sources.end()) return std::nullopt;
        const Eigen::Index column = found - draws.sources.begin();
        const double weight = portion.mass_t() * (draws.weight_per_t.size() > 0 ? draws.weight_per_t[column] : 1.0);
        sum += weight * draws.mg_per_kg.col(column);
        weights += weight;
    }
    if (!(weights > 0.0)) return std::nullopt;
    return sum / weights;
}

}  // namespace models
