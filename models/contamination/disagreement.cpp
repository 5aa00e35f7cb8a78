#include "models/contamination/disagreement.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <Eigen/Core>

namespace models::contamination {

namespace {

constexpr double grid_step = 0.05;      ///< of ln content
constexpr double most_variance = 30.0;  ///< a factor of 200 each way
// The range of the sites' tables.
const double grid_low = std::log(SiteTable::least_don_mg_per_kg);
const auto grid_count =
    static_cast<Eigen::Index>(std::ceil((std::log(SiteTable::most_don_mg_per_kg) - grid_low) / grid_step)) + 1;

double on_grid(Eigen::Index k) {
    return grid_low + grid_step * static_cast<double>(k);
}

/// ln likelihood of a sample on the grid of its own content.
Eigen::ArrayXd own_likelihood(const SampleOfSame& sample) {
    Eigen::ArrayXd sum = Eigen::ArrayXd::Zero(grid_count);
    for (const SiteTable* table : sample.tables) {
        for (Eigen::Index k = 0; k < grid_count; ++k) sum[k] += (*table)(on_grid(k));
    }
    return sum;
}

/// The best that something can say when what it was taken from has each content of the grid: it differs from that by
/// N(-v/2, v).
Eigen::ArrayXd profile(const Eigen::ArrayXd& own, double variance) {
    const auto reach = static_cast<Eigen::Index>(10.0 * std::sqrt(variance) / grid_step) + 1;
    const double shift = 0.5 * variance / grid_step;
    Eigen::ArrayXd best = Eigen::ArrayXd::Constant(grid_count, -1e300);
    for (Eigen::Index k = 0; k < grid_count; ++k) {
        const auto centre = static_cast<Eigen::Index>(std::lround(static_cast<double>(k) - shift));
        const Eigen::Index first = std::max<Eigen::Index>(0, centre - reach),
                           last = std::min(grid_count - 1, centre + reach);
        for (Eigen::Index j = first; j <= last; ++j) {
            const double off = grid_step * (static_cast<double>(j - k) + shift);
            best[k] = std::max(best[k], own[j] - 0.5 * off * off / variance);
        }
    }
    return best;
}

/// A witness with its samples' likelihoods tabulated once.
class Heard {
 public:
    explicit Heard(const Witness& witness) : witness_(witness) {
        for (const SampleOfSame& sample : witness.samples) own_.push_back(own_likelihood(sample));
    }
    /// ln likelihood of the content that the samples were taken from.
    Eigen::ArrayXd of_its_own(double added) const {
        Eigen::ArrayXd sum = Eigen::ArrayXd::Zero(grid_count);
        for (std::size_t i = 0; i < own_.size(); ++i) {
            sum += profile(own_[i], std::max(witness_.samples[i].variance + added, 1e-4));
        }
        return sum;
    }
    /// ln likelihood of the content that it is a witness of.
    Eigen::ArrayXd of_what_it_tells(const Eigen::ArrayXd& of_its_own) const {
        return witness_.variance > 0.0 ? profile(of_its_own, std::max(witness_.variance, 1e-4)) : of_its_own;
    }

 private:
    Witness witness_;
    std::vector<Eigen::ArrayXd> own_;
};

std::vector<Heard> heard(const std::vector<Witness>& witnesses) {
    return {witnesses.begin(), witnesses.end()};
}

struct Told {
    Eigen::ArrayXd together = Eigen::ArrayXd::Zero(grid_count);
    double apart = 0.0;  ///< the sum of what each would have at best
};

Told told_by(const std::vector<Heard>& witnesses, double added) {
    Told told;
    for (const Heard& witness : witnesses) {
        const Eigen::ArrayXd own = witness.of_its_own(added);
        told.apart += own.maxCoeff();
        told.together += witness.of_what_it_tells(own);
    }
    return told;
}

/// The content of a part, with its ln share put on.
Eigen::ArrayXd shifted_by_share(const Eigen::ArrayXd& told, double share) {
    const auto steps = static_cast<Eigen::Index>(std::lround(std::log(share) / grid_step));  // not above 0
    Eigen::ArrayXd shifted = Eigen::ArrayXd::Constant(grid_count, -1e300);
    for (Eigen::Index k = 0; k < grid_count; ++k) {
        const Eigen::Index to = std::max<Eigen::Index>(0, k + steps);
        shifted[to] = std::max(shifted[to], told[k]);
    }
    return shifted;
}

/// The best of two parts for each sum of theirs.
Eigen::ArrayXd best_of_sums(const Eigen::ArrayXd& one, const Eigen::ArrayXd& other) {
    static const std::vector<Eigen::Index> more = [] {
        std::vector<Eigen::Index> steps;  // that ln(e^a + e^b) lies above the larger, by how far they are apart
        for (Eigen::Index apart = 0; apart < grid_count; ++apart) {
            steps.push_back(static_cast<Eigen::Index>(
                std::lround(std::log1p(std::exp(-grid_step * static_cast<double>(apart))) / grid_step)));
        }
        return steps;
    }();
    Eigen::ArrayXd best = Eigen::ArrayXd::Constant(grid_count, -1e300);
    for (Eigen::Index a = 0; a < grid_count; ++a) {
        for (Eigen::Index b = 0; b < grid_count; ++b) {
            const Eigen::Index sum =
                std::min(grid_count - 1, std::max(a, b) + more[static_cast<std::size_t>(std::abs(a - b))]);
            best[sum] = std::max(best[sum], one[a] + other[b]);
        }
    }
    return best;
}

/// The 99 % quantile of chi-square.
double most_expected(double degrees) {
    const double a = 2.0 / (9.0 * degrees);
    return degrees * std::pow(1.0 - a + 2.3263478740408408 * std::sqrt(a), 3.0);
}

/// The least variance with which `excess` of it is no more than expected.
double least_variance(const std::function<double(double)>& excess, double degrees) {
    const double expected = most_expected(degrees);
    if (excess(0.0) <= expected) return 0.0;
    double too_little = 0.0, enough = most_variance;
    while (enough - too_little > 1e-3 * enough) {
        const double middle = 0.5 * (too_little + enough);
        (excess(middle) > expected ? too_little : enough) = middle;
    }
    return enough;
}

}  // namespace

double variance_of_disagreement(const std::vector<Witness>& witnesses) {
    if (witnesses.size() < 2) return 0.0;
    const std::vector<Heard> all = heard(witnesses);
    const auto excess = [&](double added) {
        const Told told = told_by(all, added);
        return 2.0 * (told.apart - told.together.maxCoeff());
    };
    return least_variance(excess, static_cast<double>(witnesses.size() - 1));
}

double variance_of_disagreement(const std::vector<SampleOfSame>& samples) {
    std::vector<Witness> witnesses;
    for (const SampleOfSame& sample : samples) witnesses.push_back({{sample}, 0.0});
    return variance_of_disagreement(witnesses);
}

double variance_of_disagreement(const Witness& load, const std::vector<PartOfMix>& parts) {
    const Heard mix(load);
    std::vector<std::vector<Heard>> said;
    for (const PartOfMix& part : parts) said.push_back(heard(part.said));
    const auto excess = [&](double added) {
        const Eigen::ArrayXd own = mix.of_its_own(added);
        double apart = own.maxCoeff();
        Eigen::ArrayXd sum;
        for (std::size_t k = 0; k < parts.size(); ++k) {
            Eigen::ArrayXd of_part;
            if (said[k].empty()) {
                of_part.resize(grid_count);
                for (Eigen::Index i = 0; i < grid_count; ++i) {
                    const double off = (on_grid(i) - parts[k].believed_mean) / parts[k].believed_sd;
                    of_part[i] = -0.5 * off * off;
                }
            } else {
                of_part = told_by(said[k], added).together;
            }
            apart += of_part.maxCoeff();
            of_part = shifted_by_share(of_part, parts[k].share);
            sum = k == 0 ? of_part : best_of_sums(sum, of_part);
        }
        return 2.0 * (apart - (sum + mix.of_what_it_tells(own)).maxCoeff());
    };
    return least_variance(excess, 1.0);
}

}  // namespace models::contamination
