#include "app/commands/fit_choice.h"

#include <algorithm>
#include <string_view>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "models/error.h"
#include "models/spatial/variogram_likelihood.h"

namespace app::commands {

namespace {

models::FitWeights weights_named(const std::string& name) {
    const std::vector<std::pair<std::string, models::FitWeights>> known = {
        {"pairs-over-distance", models::FitWeights::pairs_over_distance_squared},
        {"pairs-over-gamma", models::FitWeights::pairs_over_gamma_squared},
        {"pairs", models::FitWeights::pairs},
        {"equal", models::FitWeights::equal}};
    std::vector<std::string> names;
    for (const auto& [known_name, weights] : known) {
        if (known_name == name) return weights;
        names.push_back(known_name);
    }
    const std::string near = models::nearest_name(name, names);
    throw models::Error(
        "there are no weights \"" + name + "\"" + (near.empty() ? "" : "; did you mean \"" + near + "\"?"), "--weights",
        "write pairs-over-distance, pairs-over-gamma, pairs or equal");
}

std::string_view trimmed_term(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    return text;
}

/// "nugget + spherical" or a whole model, of which the sills and ranges are ignored.
models::VariogramModel shapes_to_fit(const std::string& text) {
    // Bare names get the numbers that a whole model would have; they are found by the fit.
    std::string whole;
    std::size_t begin = 0;
    while (begin <= text.size()) {
        const std::size_t end = std::min(text.find('+', begin), text.size());
        std::string term(trimmed_term(std::string_view(text).substr(begin, end - begin)));
        if (!term.empty() && term.find(' ') == std::string::npos) {
            const bool without_range = term == "nugget" || term == "error" || term == "linear" || term == "power";
            term += without_range ? " 0" : " 0 range 1";
        }
        whole += (whole.empty() ? "" : " + ") + term;
        begin = end + 1;
    }
    return models::VariogramModel::parse(whole);
}

models::VariogramFit likelihood_fit(const FitChoice& choice, const models::SpatialData& data,
                                    const models::Progress& progress) {
    const auto kind = choice.method == "reml" ? models::LikelihoodKind::restricted : models::LikelihoodKind::full;
    const auto fitted = [&](const std::string& shapes) {
        return models::fit_variogram_by_likelihood(data, shapes_to_fit(shapes), kind, progress,
                                                   {.neighbours = choice.neighbours.value_or(0)});
    };
    if (choice.shapes) return fitted(*choice.shapes);
    auto spherical = fitted("nugget + spherical"), exponential = fitted("nugget + exponential");
    if (spherical.settled != exponential.settled) return spherical.settled ? spherical : exponential;
    return spherical.objective >= exponential.objective ? spherical : exponential;
}

}  // namespace

void declare_fit_choice(Options& options, FitChoice& choice) {
    options.option(choice.shapes, "--shape", "SHAPES", "what to fit: \"nugget + spherical\"; else the better of two");
    options.option(choice.method, "--fit", "METHOD", "least-squares (default), reml or ml");
    options.option(choice.weights, "--weights", "NAME",
                   "of least squares: pairs-over-distance (default), pairs-over-gamma, pairs, equal");
    options.option(choice.neighbours, "--fit-neighbours", "N",
                   "of reml and ml: take each value given its N nearest (30 above 3,000 places)");
}

bool fits_likelihood(const FitChoice& choice) {
    const std::string method = choice.method.value_or("least-squares");
    const std::vector<std::string> methods = {"least-squares", "reml", "ml"};
    if (std::find(methods.begin(), methods.end(), method) == methods.end()) {
        const std::string near = models::nearest_name(method, methods);
        throw models::Error("there is no way to fit called \"" + method + "\"" +
                                (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                            "--fit", "write least-squares, reml or ml");
    }
    const bool likelihood = method != "least-squares";
    if (likelihood && choice.weights) {
        throw models::Error("a likelihood has no weights", "--weights", "leave it out, or fit by least-squares");
    }
    if (!likelihood && choice.neighbours) {
        throw models::Error("least squares take all pairs", "--fit-neighbours", "leave it out, or add --fit reml");
    }
    if (choice.neighbours && *choice.neighbours < 1) {
        throw models::Error(fmt::format("{} neighbours are asked for", *choice.neighbours), "--fit-neighbours",
                            "give a number greater than 0");
    }
    return likelihood;
}

models::VariogramFit fit_as_chosen(const FitChoice& choice, const models::SpatialData& data,
                                   const std::vector<models::VariogramClass>& classes,
                                   const models::Progress& progress) {
    if (fits_likelihood(choice)) return likelihood_fit(choice, data, progress);
    const models::FitWeights weights = weights_named(choice.weights.value_or("pairs-over-distance"));
    return choice.shapes ? models::fit_variogram(classes, shapes_to_fit(*choice.shapes), weights)
                         : models::fit_variogram(classes, weights);
}

std::string fit_as_json(const models::VariogramFit& fit) {
    nlohmann::ordered_json out;
    out["nugget"] = fit.model.nugget();
    if (fit.model.error() > 0.0) out["error"] = fit.model.error();
    out["terms"] = nlohmann::ordered_json::array();
    for (const models::VariogramTerm& term : fit.model.terms) {
        using enum models::VariogramShape;
        if (term.shape == nugget || term.shape == error) continue;
        nlohmann::ordered_json one = {{"shape", std::string(models::name_of(term.shape))},
                                      {"partial_sill", term.partial_sill}};
        if (term.shape != linear && term.shape != power) {
            one["range"] = term.range_m;
            one["practical_range"] = term.practical_range_m();
        }
        if (term.shape == matern) one["smoothness"] = term.smoothness;
        if (term.shape == power) one["exponent"] = term.exponent;
        if (term.shape == hole && term.damping_m > 0.0) one["damping"] = term.damping_m;
        if (term.ratio != 1.0) {
            one["azimuth_deg"] = term.azimuth_deg;
            one["ratio"] = term.ratio;
        }
        out["terms"].push_back(one);
    }
    out["model"] = fit.model.to_text();
    out["method"] = fit.method;
    out["objective"] = fit.objective;
    out["settled"] = fit.settled;
    out["pure_nugget"] = fit.pure_nugget;
    out["at_bound"] = fit.at_bound;
    out["message"] = fit.message;
    if (fit.approximation) {
        out["approximation"] = {{"neighbours", fit.approximation->neighbours},
                                {"log_likelihood_change_with_twice", fit.approximation->change_with_twice},
                                {"compared_places", fit.approximation->compared_places},
                                {"log_likelihood_error_there", fit.approximation->error_there}};
    }
    if (!fit.notes.empty()) out["notes"] = fit.notes;
    return out.dump();
}

}  // namespace app::commands
