#include "app/commands/variogram_command.h"

#include <cstdio>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/point_columns.h"
#include "app/commands/terminal_progress.h"
#include "app/table_text.h"
#include "models/error.h"
#include "models/spatial/variogram_fit.h"

namespace app::commands {

namespace {

struct VariogramRequest {
    PointColumns columns;
    std::optional<double> cutoff_m, width_m, tolerance_deg;
    std::optional<std::string> direction_deg, boundaries_m, shapes, drift;
    std::string weights = "pairs-over-distance";
    bool robust = false, json = false;
};

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

void print_readable(const std::vector<models::VariogramClass>& classes, const models::VariogramFit& fit, bool directed,
                    const std::string& units) {
    TextTable table({">distance", ">gamma", ">pairs", directed ? ">direction" : ""});
    for (const models::VariogramClass& entry : classes) {
        table.row({on_screen(entry.distance_m), on_screen(entry.gamma), std::to_string(entry.pairs),
                   directed ? on_screen(entry.direction_deg) : ""});
    }
    fmt::print("{}\nfit: {}\n     {}\n     {}\n", table.text(), on_screen(fit.model), fit.method, fit.message);
    for (const models::VariogramTerm& term : fit.model.terms) {
        const double practical = term.practical_range_m();
        if (term.range_m > 0.0 && practical != term.range_m) {
            fmt::print("     practical range of the {} term (95 % of its sill): {}\n", models::name_of(term.shape),
                       on_screen(practical));
        }
    }
    fmt::print("{}\n", units);
}

int run_variogram(const VariogramRequest& request) {
    const PointSet points =
        read_points(request.columns, request.drift ? names_in_list(*request.drift) : std::vector<std::string>{});
    say_notes(points.notes);
    models::VariogramSettings settings;
    settings.cutoff_m = request.cutoff_m;
    settings.width_m = request.width_m;
    settings.tolerance_deg = request.tolerance_deg;
    settings.robust = request.robust;
    if (request.direction_deg) settings.directions_deg = numbers_in_list(*request.direction_deg, "--direction");
    if (request.boundaries_m) settings.boundaries_m = numbers_in_list(*request.boundaries_m, "--boundaries");
    const Eigen::VectorXd values = points.data.drift.cols() > 0
                                       ? models::drift_residuals(points.data.values, points.data.drift)
                                       : points.data.values;
    const TerminalProgress shown;
    const auto classes = models::experimental_variogram(points.data.positions_m, values, settings,
                                                        points.data.error_variances, shown.progress());
    const models::FitWeights weights = weights_named(request.weights);
    const models::VariogramFit fit = request.shapes
                                         ? models::fit_variogram(classes, shapes_to_fit(*request.shapes), weights)
                                         : models::fit_variogram(classes, weights);
    if (!request.json) {
        print_readable(classes, fit, !settings.directions_deg.empty(), units_in_words(request.columns, points));
        return 0;
    }
    nlohmann::ordered_json out;
    out["pairs"] = nlohmann::ordered_json::array();
    for (const models::VariogramClass& entry : classes) {
        nlohmann::ordered_json row = {{"distance", entry.distance_m}, {"gamma", entry.gamma}, {"pairs", entry.pairs}};
        if (!settings.directions_deg.empty()) row["direction_deg"] = entry.direction_deg;
        out["pairs"].push_back(row);
    }
    out["fit"] = nlohmann::ordered_json::parse(fit_as_json(fit));
    fmt::print("{}\n", out.dump(2));
    return 0;
}

}  // namespace

Command make_variogram_command() {
    return {
        "variogram", "How unlike values become with distance, in a plain table of points.", [](Options& options) {
            auto request = std::make_shared<VariogramRequest>();
            declare_point_columns(options, request->columns);
            options.option(request->drift, "--drift", "COLUMN,...", "take the residuals of a regression on these");
            options.option(request->cutoff_m, "--cutoff", "M", "longest distance looked at (0.33333 of the diagonal)");
            options.option(request->width_m, "--width", "M", "width of the classes of distance (cutoff / 15)");
            options.option(request->boundaries_m, "--boundaries", "M,...", "right edges of the classes instead");
            options.option(request->direction_deg, "--direction", "DEG,...", "azimuths, clockwise from north");
            options.option(request->tolerance_deg, "--tolerance", "DEG", "either side of a direction (90 / number)");
            options.flag(request->robust, "--robust", "the estimator of Cressie and Hawkins");
            options.option(request->shapes, "--shape", "SHAPES",
                           "what to fit: \"nugget + spherical\"; else the better of two");
            options.option(request->weights, "--weights", "NAME",
                           "of the fit: pairs-over-distance (default), pairs-over-gamma, pairs, equal");
            options.flag(request->json, "--json", "machine-readable");
            options.footer(
                "Classes are closed on the right; distance is the mean of the pairs. The range of an exponential or\n"
                "gaussian term is its scale; its practical range is printed beside it.");
            return [request] { return run_variogram(*request); };
        }};
}

}  // namespace app::commands
