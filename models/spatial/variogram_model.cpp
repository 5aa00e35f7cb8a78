#include "models/spatial/variogram_model.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>

#include "models/error.h"

namespace models {

namespace {

constexpr double no_end = std::numeric_limits<double>::infinity();

struct ShapeName {
    VariogramShape shape;
    std::string_view name;
};
constexpr std::array shape_names = {
    ShapeName{VariogramShape::nugget, "nugget"},
    ShapeName{VariogramShape::error, "error"},
    ShapeName{VariogramShape::spherical, "spherical"},
    ShapeName{VariogramShape::exponential, "exponential"},
    ShapeName{VariogramShape::gaussian, "gaussian"},
    ShapeName{VariogramShape::matern, "matern"},
    ShapeName{VariogramShape::pentaspherical, "pentaspherical"},
    ShapeName{VariogramShape::circular, "circular"},
    ShapeName{VariogramShape::linear, "linear"},
    ShapeName{VariogramShape::power, "power"},
    ShapeName{VariogramShape::hole, "hole"},
};

bool has_range(VariogramShape shape) {
    using enum VariogramShape;
    return shape != nugget && shape != error && shape != linear && shape != power;
}

std::string model_number(double value) {
    std::array<char, 32> buffer{};
    const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
    return {buffer.data(), end};
}

/// 1 - gamma of a Matern term of smoothness v at r = h/a > 0.
template <typename Real>
Real matern_correlation(Real r, Real v) {
    if (v == Real(0.5)) return std::exp(-r);
    if (v == Real(1.5)) return (1 + r) * std::exp(-r);
    if (v == Real(2.5)) return (1 + r + r * r / 3) * std::exp(-r);
    if (r > 600) return 0;
    if (r < Real(1e-9) && v >= 1) return 1;
    const Real log_front = (1 - v) * std::numbers::ln2_v<Real> - std::lgamma(v) + v * std::log(r);
    return std::min(Real(1), std::exp(log_front) * std::cyl_bessel_k(v, r));
}

template <typename Real>
Real unit_semivariance_of(const VariogramTerm& term, Real distance_m) {
    if (distance_m <= 0) return 0;
    const Real r = has_range(term.shape) ? distance_m / static_cast<Real>(term.range_m) : distance_m;
    switch (term.shape) {
        case VariogramShape::nugget:
        case VariogramShape::error:
            return 1;
        case VariogramShape::spherical:
            return r >= 1 ? 1 : r * (Real(1.5) - Real(0.5) * r * r);
        case VariogramShape::exponential:
            return -std::expm1(-r);
        case VariogramShape::gaussian:
            return -std::expm1(-r * r);
        case VariogramShape::matern:
            return 1 - matern_correlation(r, static_cast<Real>(term.smoothness));
        case VariogramShape::pentaspherical:
            return r >= 1 ? 1 : r * (Real(1.875) - r * r * (Real(1.25) - Real(0.375) * r * r));
        case VariogramShape::circular:
            return r >= 1 ? 1 : 2 / std::numbers::pi_v<Real> * (r * std::sqrt(1 - r * r) + std::asin(r));
        case VariogramShape::linear:
            return distance_m;
        case VariogramShape::power:
            return std::pow(distance_m, static_cast<Real>(term.exponent));
        case VariogramShape::hole: {
            const Real damped = term.damping_m > 0.0 ? std::exp(-distance_m / static_cast<Real>(term.damping_m)) : 1;
            return 1 - damped * std::sin(r) / r;
        }
    }
    return 0;
}

template <typename Real>
Real anisotropic_distance_of(const VariogramTerm& term, Real dx_m, Real dy_m) {
    if (term.ratio == 1.0) return std::sqrt(dx_m * dx_m + dy_m * dy_m);
    const Real azimuth = static_cast<Real>(term.azimuth_deg) * std::numbers::pi_v<Real> / 180;
    const Real along = dx_m * std::sin(azimuth) + dy_m * std::cos(azimuth);
    const Real across = (dx_m * std::cos(azimuth) - dy_m * std::sin(azimuth)) / static_cast<Real>(term.ratio);
    return std::sqrt(along * along + across * across);
}

std::vector<std::string_view> variogram_words(std::string_view text) {
    std::vector<std::string_view> words;
    std::size_t at = 0;
    while (at < text.size()) {
        const std::size_t begin = text.find_first_not_of(" \t\r\n", at);
        if (begin == std::string_view::npos) break;
        const std::size_t end = std::min(text.find_first_of(" \t\r\n", begin), text.size());
        words.push_back(text.substr(begin, end - begin));
        at = end;
    }
    return words;
}

std::string lowered_word(std::string_view word) {
    std::string out(word);
    for (char& letter : out) {
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    }
    return out;
}

std::string joined_shapes(const std::vector<std::string>& names) {
    std::string text;
    for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
    return text;
}

constexpr const char* variogram_example =
    "write a sum such as \"nugget 0.05 + spherical 0.59 range 897 + exponential 0.2 range 300 azimuth 30 ratio 0.5\"";

VariogramTerm parse_term(const std::vector<std::string_view>& words, std::string_view where) {
    if (words.empty()) throw Error("a term is empty", std::string(where), variogram_example);
    const std::string shape_word = lowered_word(words[0]);
    const auto known = std::find_if(shape_names.begin(), shape_names.end(),
                                    [&](const ShapeName& entry) { return entry.name == shape_word; });
    if (known == shape_names.end()) {
        const std::string near = nearest_name(shape_word, variogram_shape_names());
        throw Error("there is no variogram shape \"" + std::string(words[0]) + "\"" +
                        (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                    std::string(where), "the shapes are " + joined_shapes(variogram_shape_names()));
    }
    VariogramTerm term;
    term.shape = known->shape;
    const auto number_after = [&](std::size_t index, const std::string& what) {
        if (index >= words.size())
            throw Error("the number after \"" + what + "\" is missing", std::string(where), variogram_example);
        double value = 0.0;
        const auto [end, problem] =
            std::from_chars(words[index].data(), words[index].data() + words[index].size(), value);
        if (problem != std::errc() || end != words[index].data() + words[index].size() || !std::isfinite(value)) {
            throw Error("\"" + std::string(words[index]) + "\" after \"" + what + "\" is no number", std::string(where),
                        variogram_example);
        }
        return value;
    };
    term.partial_sill = number_after(1, shape_word);
    bool range_given = false;
    for (std::size_t at = 2; at < words.size(); at += 2) {
        const std::string key = lowered_word(words[at]);
        const double value = number_after(at + 1, key);
        if (key == "range") {
            if (!has_range(term.shape)) {
                throw Error(
                    "\"" + shape_word + "\" has no range", std::string(where),
                    term.shape == VariogramShape::linear
                        ? "a line that turns flat at a range is no valid model in the plane: take circular or spherical"
                        : "leave the range out");
            }
            term.range_m = value;
            range_given = true;
        } else if (key == "smoothness" && term.shape == VariogramShape::matern) {
            term.smoothness = value;
        } else if (key == "exponent" && term.shape == VariogramShape::power) {
            term.exponent = value;
        } else if (key == "damping" && term.shape == VariogramShape::hole) {
            term.damping_m = value;
        } else if (key == "azimuth") {
            term.azimuth_deg = value;
        } else if (key == "ratio") {
            term.ratio = value;
        } else {
            const std::string near =
                nearest_name(key, {"range", "smoothness", "exponent", "damping", "azimuth", "ratio"});
            throw Error("a " + shape_word + " term has no \"" + key + "\"" +
                            (near.empty() || near == key ? "" : "; did you mean \"" + near + "\"?"),
                        std::string(where), variogram_example);
        }
    }
    if (has_range(term.shape) && !range_given) {
        throw Error("the " + shape_word + " term has no range", std::string(where), variogram_example);
    }
    return term;
}

}  // namespace

std::string_view name_of(VariogramShape shape) {
    for (const ShapeName& entry : shape_names) {
        if (entry.shape == shape) return entry.name;
    }
    return "unknown";
}

std::vector<std::string> variogram_shape_names() {
    std::vector<std::string> names;
    for (const ShapeName& entry : shape_names) names.emplace_back(entry.name);
    return names;
}

double VariogramTerm::unit_semivariance(double distance_m) const {
    return unit_semivariance_of(*this, distance_m);
}

double VariogramTerm::anisotropic_distance_m(double dx_m, double dy_m) const {
    return anisotropic_distance_of(*this, dx_m, dy_m);
}

double VariogramTerm::practical_range_m() const {
    switch (shape) {
        case VariogramShape::nugget:
        case VariogramShape::error:
            return 0.0;
        case VariogramShape::linear:
        case VariogramShape::power:
            return no_end;
        case VariogramShape::spherical:
        case VariogramShape::pentaspherical:
        case VariogramShape::circular:
            return range_m;
        case VariogramShape::exponential:
            return 3.0 * range_m;
        case VariogramShape::gaussian:
            return std::sqrt(3.0) * range_m;
        case VariogramShape::hole:
            return damping_m > 0.0 ? std::min(3.0 * damping_m, 20.0 * range_m) : 20.0 * range_m;
        case VariogramShape::matern: {
            double low = 0.0, high = range_m;
            while (unit_semivariance(high) < 0.95) high *= 2.0;
            for (int step = 0; step < 60; ++step) {
                const double middle = 0.5 * (low + high);
                (unit_semivariance(middle) < 0.95 ? low : high) = middle;
            }
            return 0.5 * (low + high);
        }
    }
    return 0.0;
}

VariogramModel VariogramModel::parse(std::string_view text) {
    VariogramModel model;
    std::vector<std::string_view> words;
    const std::string where = "variogram \"" + std::string(text) + "\"";
    if (variogram_words(text).empty()) throw Error("the variogram is empty", "", variogram_example);
    for (const std::string_view word : variogram_words(text)) {
        if (word == "+") {
            model.terms.push_back(parse_term(words, where));
            words.clear();
        } else {
            words.push_back(word);
        }
    }
    model.terms.push_back(parse_term(words, where));
    model.check();
    return model;
}

std::string VariogramModel::to_text() const {
    std::string text;
    for (const VariogramTerm& term : terms) {
        if (!text.empty()) text += " + ";
        text += std::string(name_of(term.shape)) + " " + model_number(term.partial_sill);
        if (has_range(term.shape)) text += " range " + model_number(term.range_m);
        if (term.shape == VariogramShape::matern) text += " smoothness " + model_number(term.smoothness);
        if (term.shape == VariogramShape::power) text += " exponent " + model_number(term.exponent);
        if (term.shape == VariogramShape::hole && term.damping_m > 0.0) {
            text += " damping " + model_number(term.damping_m);
        }
        if (term.ratio != 1.0) {
            text += " azimuth " + model_number(term.azimuth_deg) + " ratio " + model_number(term.ratio);
        }
    }
    return text;
}

void VariogramModel::check() const {
    if (terms.empty()) throw Error("the variogram has no terms", "", variogram_example);
    for (const VariogramTerm& term : terms) {
        const std::string name(name_of(term.shape));
        const std::string where = "variogram \"" + to_text() + "\"";
        if (!(term.partial_sill >= 0.0) || !std::isfinite(term.partial_sill)) {
            throw Error("the sill of the " + name + " term is " + model_number(term.partial_sill) +
                            "; a variance cannot be negative",
                        where, "give a sill of 0 or more");
        }
        if (has_range(term.shape) && (!(term.range_m > 0.0) || !std::isfinite(term.range_m))) {
            throw Error("the range of the " + name + " term is " + model_number(term.range_m) +
                            "; a range must be greater than 0",
                        where, "give a range, or a nugget term for variation without range");
        }
        if (!(term.ratio > 0.0 && term.ratio <= 1.0)) {
            throw Error("the ratio of the " + name + " term is " + model_number(term.ratio) +
                            "; it is the range across the azimuth divided by the longer one along it",
                        where, "give a ratio over 0 and up to 1, and the azimuth of the longest range");
        }
        if (!std::isfinite(term.azimuth_deg)) throw Error("an azimuth is no number", where, "give degrees from north");
        if (term.shape == VariogramShape::matern && !(term.smoothness > 0.0 && term.smoothness <= 20.0)) {
            throw Error("the smoothness is " + model_number(term.smoothness) + "; it lies over 0 and up to 20", where,
                        "0.5 is the exponential shape, 1.5 smoother, beyond 20 take gaussian");
        }
        if (term.shape == VariogramShape::power && !(term.exponent > 0.0 && term.exponent < 2.0)) {
            throw Error("the exponent is " + model_number(term.exponent) + "; it lies between 0 and 2", where,
                        "1 is the linear shape");
        }
        if (!(term.damping_m >= 0.0) || !std::isfinite(term.damping_m)) {
            throw Error("the damping is " + model_number(term.damping_m) + "; it is a length", where,
                        "give a length over 0, or leave it out");
        }
    }
}

double VariogramModel::semivariance(double dx_m, double dy_m) const {
    double gamma = 0.0;
    for (const VariogramTerm& term : terms) {
        gamma += term.partial_sill * term.unit_semivariance(term.anisotropic_distance_m(dx_m, dy_m));
    }
    return gamma;
}

long double VariogramModel::extended_semivariance(long double dx_m, long double dy_m) const {
    long double gamma = 0.0L;
    for (const VariogramTerm& term : terms) {
        gamma += static_cast<long double>(term.partial_sill) *
                 unit_semivariance_of(term, anisotropic_distance_of(term, dx_m, dy_m));
    }
    return gamma;
}

double VariogramModel::nugget() const {
    double sum = 0.0;
    for (const VariogramTerm& term : terms) {
        if (term.shape == VariogramShape::nugget) sum += term.partial_sill;
    }
    return sum;
}

double VariogramModel::error() const {
    double sum = 0.0;
    for (const VariogramTerm& term : terms) {
        if (term.shape == VariogramShape::error) sum += term.partial_sill;
    }
    return sum;
}

double VariogramModel::sill() const {
    double sum = 0.0;
    for (const VariogramTerm& term : terms) sum += term.partial_sill;
    return sum;
}

double VariogramModel::structured_sill() const {
    return sill() - nugget() - error();
}

bool VariogramModel::has_sill() const {
    return std::none_of(terms.begin(), terms.end(), [](const VariogramTerm& term) {
        return (term.shape == VariogramShape::linear || term.shape == VariogramShape::power) && term.partial_sill > 0.0;
    });
}

bool VariogramModel::is_flat() const {
    return std::all_of(terms.begin(), terms.end(), [](const VariogramTerm& term) {
        return term.shape == VariogramShape::nugget || term.shape == VariogramShape::error || term.partial_sill == 0.0;
    });
}

double VariogramModel::practical_range_m() const {
    double longest = 0.0;
    for (const VariogramTerm& term : terms) {
        if (term.partial_sill > 0.0) longest = std::max(longest, term.practical_range_m());
    }
    return longest;
}

}  // namespace models
