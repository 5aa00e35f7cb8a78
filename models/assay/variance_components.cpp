#include "models/assay/variance_components.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include <Eigen/Core>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/simplex_search.h"

namespace models {

namespace nested_duplicates {

constexpr double chi_square_90 = 2.705543454095404;  ///< one degree of freedom
constexpr double largest_sd = 1e3;                   ///< of a scaled step: past it an upper end is open

struct PortionReading {
    double count = 0.0, mean = 0.0, squares = 0.0;  ///< readings, their mean, squares about it
};
using PortionReadings = std::vector<PortionReading>;
using LotReadings = std::vector<PortionReadings>;  ///< by sample

/// Standard deviations of sample, portion and reading.
using StepDeviations = std::array<double, 3>;

/// -2 ln of the restricted likelihood. Each level is brought to one mean with one precision, from the readings upward.
double criterion(const std::vector<LotReadings>& lots, const StepDeviations& sd) {
    const double v_sample = sd[0] * sd[0], v_portion = sd[1] * sd[1], v_reading = sd[2] * sd[2];
    double sum = 0.0, count = 0.0;
    for (const LotReadings& lot : lots) {
        double lot_precision = 0.0, lot_mean = 0.0;
        for (const PortionReadings& portions : lot) {
            double precision = 0.0, mean = 0.0;
            for (const PortionReading& portion : portions) {
                const double of_mean = v_reading + portion.count * v_portion;
                const double w = portion.count / of_mean;
                sum += (portion.count - 1.0) * std::log(v_reading) + std::log(of_mean) + portion.squares / v_reading;
                count += portion.count;
                const double apart = portion.mean - mean;
                sum += precision * w / (precision + w) * apart * apart;
                mean += w / (precision + w) * apart;
                precision += w;
            }
            sum += std::log1p(v_sample * precision);
            const double w = precision / (1.0 + v_sample * precision);
            const double apart = mean - lot_mean;
            sum += lot_precision * w / (lot_precision + w) * apart * apart;
            lot_mean += w / (lot_precision + w) * apart;
            lot_precision += w;
        }
        sum += std::log(lot_precision);
        count -= 1.0;
    }
    return sum + count * std::log(2.0 * std::numbers::pi);
}

struct LeastCriterion {
    StepDeviations sd{};
    double value = 0.0;
    bool settled = true;
};

/// The least criterion over the steps that are free, the others as given.
LeastCriterion least_over(const std::vector<LotReadings>& lots, const std::vector<std::size_t>& free,
                          const StepDeviations& start) {
    LeastCriterion least{start, criterion(lots, start), true};
    if (free.empty()) return least;
    const auto n = static_cast<Eigen::Index>(free.size());
    Eigen::VectorXd from(n), low(n), high(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const std::size_t step = free[static_cast<std::size_t>(i)];
        low(i) = step == 2 ? 1e-7 : 0.0;
        high(i) = 10.0 * largest_sd;
        from(i) = std::clamp(start[step], 0.05, largest_sd);
    }
    const auto at = [&](const Eigen::VectorXd& x) {
        StepDeviations sd = start;
        for (Eigen::Index i = 0; i < n; ++i) sd[free[static_cast<std::size_t>(i)]] = x(i);
        return sd;
    };
    const SimplexMinimum found = simplex_minimum([&](const Eigen::VectorXd& x) { return criterion(lots, at(x)); }, from,
                                                 0.3, low, high, 8000, 1e-11);
    return {at(found.point), found.value, found.settled};
}

/// Where the profile of one step's standard deviation crosses the cut between `in`, inside the interval, and `out`.
double crossing(const std::function<double(double)>& over_cut, double in, double out) {
    for (int i = 0; i < 60 && std::abs(out - in) > 1e-9 * std::max(in, out); ++i) {
        const double middle = 0.5 * (in + out);
        (over_cut(middle) > 0.0 ? out : in) = middle;
    }
    return 0.5 * (in + out);
}

struct ProfileInterval {
    double low = 0.0, high = 0.0;  ///< standard deviations
};

ProfileInterval profile_interval(const std::vector<LotReadings>& lots, std::vector<std::size_t> free, std::size_t step,
                                 const LeastCriterion& best) {
    std::erase(free, step);
    const auto over_cut = [&](double sd) {
        StepDeviations start = best.sd;
        start[step] = sd;
        return least_over(lots, free, start).value - best.value - chi_square_90;
    };
    const double estimate = best.sd[step];
    ProfileInterval interval;
    const double least_sd = step == 2 ? 1e-6 : 0.0;
    if (estimate > least_sd && over_cut(least_sd) > 0.0) interval.low = crossing(over_cut, estimate, least_sd);
    double in = estimate, out = std::max(2.0 * estimate, 0.1);
    while (out < largest_sd && over_cut(out) <= 0.0) {
        in = out;
        out *= 2.0;
    }
    interval.high = out < largest_sd ? crossing(over_cut, in, out) : std::numeric_limits<double>::infinity();
    return interval;
}

[[noreturn]] void refuse_reading(const DuplicateReading& r, const std::string& what, const std::string& mend) {
    throw Error(what, fmt::format("lot \"{}\", sample \"{}\", portion \"{}\"", r.lot, r.sample, r.portion), mend);
}

std::string lot_of(const Sample& sample) {
    const std::string stage = ", stage " + std::to_string(static_cast<int>(sample.stage));
    if (!sample.load.empty()) return "load " + sample.load + stage;
    // A bin fills and a field ripens: only what was taken on one day is one lot.
    const bool known = sample.taken_time && (!sample.bin.empty() || !sample.field.empty());
    if (!known) return "sample " + sample.sample;  // comparable with nothing but itself
    const std::string of = !sample.bin.empty()
                               ? "bin " + sample.bin
                               : "field " + sample.field + (sample.part.empty() ? "" : ", " + sample.part);
    return of + stage + ", " + to_text(sample.taken_time->local_day());
}

/// Half way between the two in the middle where their number is even.
std::optional<double> median_recorded(const std::map<std::string, double>& by_name) {
    if (by_name.empty()) return std::nullopt;
    std::vector<double> grams;
    for (const auto& [name, g] : by_name) grams.push_back(g);
    std::sort(grams.begin(), grams.end());
    return 0.5 * (grams[(grams.size() - 1) / 2] + grams[grams.size() / 2]);
}

}  // namespace nested_duplicates

double VarianceComponent::cv() const {
    return std::sqrt(std::expm1(log_variance));
}

VarianceComponents variance_components(const std::vector<DuplicateReading>& readings) {
    using namespace nested_duplicates;
    std::map<std::string, std::map<std::string, std::map<std::string, std::vector<double>>>> by_name;
    std::map<std::string, double> masses_g, portions_g;
    for (std::size_t i = 0; i < readings.size(); ++i) {
        const DuplicateReading& r = readings[i];
        if (r.lot.empty() || r.sample.empty())
            refuse_reading(r, "a reading does not say its lot and sample",
                           "name the lot and the sample it was read of");
        if (!(r.don_mg_per_kg > 0.0) || !std::isfinite(r.don_mg_per_kg))
            refuse_reading(r, fmt::format("a content of {} mg/kg has no logarithm", r.don_mg_per_kg),
                           "leave readings below the range out of a duplicate study, or take grain that holds more");
        // A name that no table can hold, as numbers of bytes 0 do not occur in text.
        const std::string portion = r.portion.empty() ? std::string(1, '\0') + std::to_string(i) : r.portion;
        by_name[r.lot][r.sample][portion].push_back(std::log(r.don_mg_per_kg));
        const std::string sample = r.lot + '\0' + r.sample;
        if (r.sample_mass_g) masses_g[sample] = *r.sample_mass_g;
        if (r.portion_g) portions_g[sample + '\0' + portion] = *r.portion_g;
    }

    VarianceComponents out;
    out.sample_mass_g = median_recorded(masses_g);
    out.portion_g = median_recorded(portions_g);
    out.readings = static_cast<int>(readings.size());
    std::vector<LotReadings> lots;
    bool twice_sampled = false, twice_ground = false, twice_read = false;
    double squares_of_readings = 0.0;
    for (const auto& [lot_name, samples] : by_name) {
        ++out.lots;
        twice_sampled = twice_sampled || samples.size() > 1;
        LotReadings lot;
        for (const auto& [sample_name, named] : samples) {
            ++out.samples;
            twice_ground = twice_ground || named.size() > 1;
            PortionReadings portions;
            for (const auto& [portion_name, values] : named) {
                ++out.portions;
                twice_read = twice_read || values.size() > 1;
                PortionReading p;
                p.count = static_cast<double>(values.size());
                for (const double v : values) p.mean += v / p.count;
                for (const double v : values) p.squares += (v - p.mean) * (v - p.mean);
                squares_of_readings += p.squares;
                portions.push_back(p);
            }
            lot.push_back(std::move(portions));
        }
        lots.push_back(std::move(lot));
    }
    if (!twice_sampled && !twice_ground && !twice_read)
        throw Error(fmt::format("no reading of {} has a duplicate", counted(out.readings, "reading")), "duplicates",
                    "take two samples of a lot, grind two portions of a sample, or read a portion twice");

    // The lowest step that has duplicates is what is left over; a step without any is part of the one above it.
    const bool estimate_sample = twice_sampled && (twice_ground || twice_read);
    const bool estimate_portion = twice_ground && twice_read;
    const char* bottom = twice_read     ? "readings of a portion"
                         : twice_ground ? "portions of a sample"
                                        : "samples of a lot";
    double squares = squares_of_readings, within_lots = 0.0;
    for (const LotReadings& lot : lots) {
        double n = 0.0, mean = 0.0, about = 0.0;
        for (const PortionReadings& portions : lot) {
            double k = 0.0, m = 0.0, s = 0.0;
            for (const PortionReading& p : portions) {
                const double apart = p.mean - m;
                s += p.squares + k * p.count / (k + p.count) * apart * apart;
                m += p.count / (k + p.count) * apart;
                k += p.count;
            }
            if (!twice_read && twice_ground) squares += s;
            const double apart = m - mean;
            about += s + n * k / (n + k) * apart * apart;
            mean += k / (n + k) * apart;
            n += k;
        }
        within_lots += about;
    }
    if (!twice_read && !twice_ground) squares = within_lots;
    // Equal contents have equal logarithms; their mean may differ from them in the last place.
    if (!(squares > 1e-24 * static_cast<double>(out.readings)))
        throw Error(fmt::format("the {} agree to the last digit everywhere, which no error of a reading does", bottom),
                    "duplicates", "write each reading as it was read, unrounded, and not the first one twice");

    // In units of the scatter itself, so that the search knows no small and large.
    const double scale = std::sqrt(within_lots / static_cast<double>(out.readings - out.lots));
    for (LotReadings& lot : lots)
        for (PortionReadings& portions : lot)
            for (PortionReading& p : portions) {
                p.mean /= scale;
                p.squares /= scale * scale;
            }
    std::vector<std::size_t> free;
    if (estimate_sample) free.push_back(0);
    if (estimate_portion) free.push_back(1);
    free.push_back(2);
    const LeastCriterion best =
        least_over(lots, free, {estimate_sample ? 0.6 : 0.0, estimate_portion ? 0.6 : 0.0, 0.6});
    out.settled = best.settled;
    out.reml_criterion = best.value + 2.0 * static_cast<double>(out.readings - out.lots) * std::log(scale);

    const auto fill = [&](VarianceComponent& component, std::size_t step) {
        const ProfileInterval interval = profile_interval(lots, free, step, best);
        component.told = true;
        component.log_variance = std::pow(best.sd[step] * scale, 2);
        component.low90 = std::pow(interval.low * scale, 2);
        component.high90 = std::pow(interval.high * scale, 2);
    };
    if (twice_sampled) fill(out.sampling, estimate_sample ? 0 : 2);
    if (twice_ground) fill(out.preparation, estimate_portion ? 1 : 2);
    if (twice_read) fill(out.analysis, 2);

    const auto missing = [](const char* step, const char* lacks, const char* holds) {
        return *holds == '\0' ? fmt::format("{} cannot be told: {}, and no step above it has duplicates", step, lacks)
                              : fmt::format("{} cannot be told: {}; it is part of {}", step, lacks, holds);
    };
    if (!twice_sampled) out.sampling.message = "sampling cannot be told: no lot has two samples";
    if (!twice_ground)
        out.preparation.message = missing("preparation", "no sample has two portions", twice_sampled ? "sampling" : "");
    if (!twice_read)
        out.analysis.message = missing("analysis", "no portion was read twice",
                                       twice_ground    ? "preparation"
                                       : twice_sampled ? "sampling"
                                                       : "");
    if (twice_ground && !twice_read) out.preparation.message = "holds the analysis as well";
    if (twice_sampled && !twice_ground)
        out.sampling.message = twice_read ? "holds the preparation as well" : "holds preparation and analysis as well";
    return out;
}

std::vector<DuplicateReading> duplicate_readings(const std::vector<Test>& tests, const std::vector<Sample>& samples) {
    std::map<std::string, const Sample*> by_name;
    for (const Sample& sample : samples) by_name[sample.sample] = &sample;
    const auto parent_of = [&](const Sample& sample) -> const Sample* {
        const auto found = by_name.find(sample.parent);
        return sample.parent.empty() || found == by_name.end() ? nullptr : found->second;
    };
    std::vector<DuplicateReading> out;
    std::map<std::string, std::vector<Basis>> bases;
    for (const Test& test : tests) {
        const auto found = by_name.find(test.sample);
        if (found == by_name.end() || test.reading != Reading::value || test.method != Method::strip) continue;
        const Sample& sample = *found->second;
        const Sample* parent = parent_of(sample);
        if (parent != nullptr && parent_of(*parent) != nullptr)
            throw Error(fmt::format("sample {} was split from {}, which was itself split from {}: a duplicate of a "
                                    "duplicate, and below samples there are portions and readings only",
                                    sample.sample, parent->sample, parent->parent),
                        "sample " + sample.sample,
                        fmt::format("give {} the parent {}, or make its tests further tests of {}", sample.sample,
                                    parent->parent, parent->sample));
        const Sample& taken = parent != nullptr ? *parent : sample;
        if (taken.stage == Stage::control || taken.kind == SampleKind::point || !(test.don_mg_per_kg > 0.0)) continue;
        const std::string lot = nested_duplicates::lot_of(taken);
        out.push_back({lot, taken.sample, parent != nullptr ? sample.sample : "", test.don_mg_per_kg, taken.mass_g,
                       test.portion_g});
        bases[lot].push_back(test.basis);
    }
    std::erase_if(out, [&](const DuplicateReading& r) {
        const std::vector<Basis>& of_lot = bases[r.lot];
        return std::any_of(of_lot.begin(), of_lot.end(), [&](Basis b) { return b != of_lot.front(); });
    });
    return out;
}

ErrorModel own_errors(const VarianceComponents& own, ErrorModel published) {
    if (own.analysis.told) published.own_analysis_cv = own.analysis.cv();
    if (own.preparation.told) {
        published.own_preparation_cv = own.preparation.cv();
        if (!own.analysis.told) published.own_analysis_cv = 0.0;
        if (own.analysis.told && own.portion_g) {
            published.own_portion_g = own.portion_g;
            published.assumed_portion_g = *own.portion_g;
        }
    }
    if (own.sampling.told) {
        published.own_sampling_cv = own.sampling.cv();
        if (own.preparation.told && own.sample_mass_g) {
            published.own_sampling_mass_g = own.sample_mass_g;
            published.assumed_mass_g = *own.sample_mass_g;
        }
        if (!own.preparation.told) published.own_preparation_cv = 0.0;
        if (!own.preparation.told && !own.analysis.told) published.own_analysis_cv = 0.0;
    }
    return published;
}

DuplicatePairs pairs_of(const VarianceComponents& own) {
    return {own.samples - own.lots, own.portions - own.samples, own.readings - own.portions};
}

std::vector<std::string> describe(const VarianceComponents& own) {
    std::vector<std::string> said;
    const DuplicatePairs pairs = pairs_of(own);
    const auto percent_of = [](double log_variance) { return 100.0 * std::sqrt(std::expm1(log_variance)); };
    const auto step = [&](const char* name, const VarianceComponent& c, int of, const std::string& at) {
        if (!c.told) {
            std::string sentence = c.message + ".";
            sentence[0] = static_cast<char>(sentence[0] - 'a' + 'A');
            said.push_back(std::move(sentence));
            return;
        }
        const double high = percent_of(c.high90);
        said.push_back(
            fmt::format("{}: coefficient of variation {:.1f} %{} from {} (90 % interval {:.1f} % {}{}){}.", name,
                        percent_of(c.log_variance), at, counted(of, "pair"), percent_of(c.low90),
                        high < 1000.0 ? fmt::format("to {:.1f} %", high) : "and up, with no upper end to speak of",
                        c.message.empty() ? "" : "; " + c.message,
                        of < few_pairs ? fmt::format("; fewer than {} pairs tell little: take more before relying on "
                                                     "them",
                                                     few_pairs)
                                       : ""));
    };
    const auto at = [](const char* what, const std::optional<double>& grams) {
        return grams ? fmt::format(" for {} of {:.4g} g", what, *grams) : std::string();
    };
    step("Sampling", own.sampling, pairs.sampling, own.preparation.told ? at("samples", own.sample_mass_g) : "");
    step("Preparation", own.preparation, pairs.preparation, own.analysis.told ? at("portions", own.portion_g) : "");
    step("Analysis", own.analysis, pairs.analysis, "");
    return said;
}

}  // namespace models
