#include "app/commands/variogram_command.h"

#include <cstdio>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/fit_choice.h"
#include "app/commands/point_columns.h"
#include "app/commands/terminal_progress.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/indicator.h"
#include "models/spatial/variogram_fit.h"
#include "models/spatial/variogram_likelihood.h"
#include "models/spatial/variogram_map.h"

namespace app::commands {

namespace {

struct VariogramRequest {
    PointColumns columns;
    std::optional<double> cutoff_m, width_m, tolerance_deg;
    std::optional<std::string> direction_deg, boundaries_m, drift;
    FitChoice fit;
    std::optional<double> indicator;
    bool robust = false, gls = false, map = false, json = false;
};

void print_readable(const std::vector<models::VariogramClass>& classes, const models::VariogramFit& fit, bool directed,
                    const std::string& units) {
    TextTable table({">distance", ">gamma", ">pairs", directed ? ">direction" : ""});
    for (const models::VariogramClass& entry : classes) {
        table.row({on_screen(entry.distance_m), on_screen(entry.gamma), std::to_string(entry.pairs),
                   directed ? on_screen(entry.direction_deg) : ""});
    }
    fmt::print("{}\n", table.text());
    if (fit.found) {
        fmt::print("fit: {}\n     {}\n     {}\n", on_screen(fit.model), fit.method, fit.message);
    } else {
        fmt::print("fit: none, {}\n", fit.message);
    }
    for (const std::string& note : fit.notes) fmt::print("     {}\n", note);
    for (const models::VariogramTerm& term : fit.model.terms) {
        const double practical = term.practical_range_m();
        if (term.range_m > 0.0 && practical != term.range_m) {
            fmt::print("     practical range of the {} term (95 % of its sill): {}\n", models::name_of(term.shape),
                       on_screen(practical));
        }
    }
    fmt::print("{}\n", units);
}

std::string units_of(const VariogramRequest& request, const PointSet& points) {
    return units_in_words(request.columns, points, request.indicator ? WorkedOn::indicator : WorkedOn::values);
}

int print_map(const VariogramRequest& request, const PointSet& points, const Eigen::VectorXd& values,
              TerminalProgress& shown) {
    const double cutoff = request.cutoff_m.value_or(models::default_cutoff_m(points.data.positions_m));
    const auto map = models::variogram_map(points.data.positions_m, values, cutoff,
                                           request.width_m.value_or(cutoff / 15.0), shown.progress());
    shown.clear();
    if (request.json) {
        nlohmann::ordered_json out;
        out["map"] = nlohmann::ordered_json::array();
        for (const models::VariogramMapCell& cell : map) {
            out["map"].push_back({{"dx", cell.dx_m}, {"dy", cell.dy_m}, {"gamma", cell.gamma}, {"pairs", cell.pairs}});
        }
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    TextTable table({">dx", ">dy", ">gamma", ">pairs"});
    for (const models::VariogramMapCell& cell : map) {
        table.row({on_screen(cell.dx_m), on_screen(cell.dy_m), on_screen(cell.gamma), std::to_string(cell.pairs)});
    }
    fmt::print("{}{}\n", table.text(), units_of(request, points));
    return 0;
}

/// A few pairs in one class of distance are no variogram: neither does the class hold for itself, nor is there another
/// to compare it with. One class that holds is an answer, though nothing can be fitted to it.
void refuse_too_few_pairs(const std::vector<models::VariogramClass>& classes, const models::VariogramFit& fit) {
    if (fit.found) return;
    long long pairs = 0;
    for (const models::VariogramClass& entry : classes) {
        if (entry.pairs >= models::pairs_of_a_class_that_holds) return;
        pairs += entry.pairs;
    }
    throw models::Error(fmt::format("{} of points within the cutoff {} no variogram", models::counted(pairs, "pair"),
                                    models::by_number(pairs, "makes", "make")),
                        "", "give more points (about a hundred show a variogram well) or a longer --cutoff");
}

int run_variogram(const VariogramRequest& request) {
    PointSet points =
        read_points(request.columns, request.drift ? names_in_list(*request.drift) : std::vector<std::string>{});
    say_notes(points.notes);
    models::VariogramSettings settings;
    settings.cutoff_m = request.cutoff_m;
    settings.width_m = request.width_m;
    settings.tolerance_deg = request.tolerance_deg;
    settings.robust = request.robust;
    if (request.direction_deg) settings.directions_deg = numbers_in_list(*request.direction_deg, "--direction");
    if (request.boundaries_m) settings.boundaries_m = numbers_in_list(*request.boundaries_m, "--boundaries");
    if (request.indicator) {
        if (request.columns.log || request.columns.error_variance) {
            throw models::Error("an indicator is of the value as it is", "--indicator",
                                "leave --log and --error-variance out");
        }
        points.data.values = models::indicators_of(points.data.values, *request.indicator);
    }
    if (request.gls && points.data.drift.cols() == 0) {
        throw models::Error("--gls needs --drift", "", "name the columns that the mean depends on");
    }
    Eigen::VectorXd values = points.data.drift.cols() > 0
                                 ? models::drift_residuals(points.data.values, points.data.drift)
                                 : points.data.values;
    TerminalProgress shown;
    const auto classes_now = [&] {
        return models::experimental_variogram(points.data.positions_m, values, settings, points.data.error_variances,
                                              shown.progress());
    };
    std::vector<models::VariogramClass> classes = classes_now();
    models::VariogramFit fit = fit_as_chosen(request.fit, points.data, classes, shown.progress());
    // Residuals and variogram from one another until the residuals stay as they are.
    for (int round = 0; request.gls && round < 20; ++round) {
        const Eigen::VectorXd before = values;
        values = models::generalised_residuals(points.data, fit.model);
        if ((values - before).norm() < 1e-6 * before.norm()) break;
        classes = classes_now();
        fit = fit_as_chosen(request.fit, points.data, classes, shown.progress());
    }
    if (request.map) return print_map(request, points, values, shown);
    refuse_too_few_pairs(classes, fit);
    shown.clear();
    if (!request.json) {
        print_readable(classes, fit, !settings.directions_deg.empty(), units_of(request, points));
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
    out["fit"]["found"] = fit.found;
    if (!fit.found) out["fit"]["nugget"] = out["fit"]["model"] = nullptr;
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
            options.flag(request->gls, "--gls", "with --drift: residuals by generalised least squares, in rounds");
            options.option(request->indicator, "--indicator", "L",
                           "of \"at or under L?\" (1 or 0) instead of the value");
            options.flag(request->map, "--map", "by east and north part of the separation, in squares of --width");
            options.flag(request->robust, "--robust", "the estimator of Cressie and Hawkins");
            declare_fit_choice(options, request->fit);
            options.flag(request->json, "--json", "machine-readable, every number with all its digits");
            options.footer(
                "Classes are closed on the right; distance is the mean of the pairs. The range of an exponential or\n"
                "gaussian term is its scale; its practical range is printed beside it.\n"
                "reml and ml take up to 3,000 places together; of more, each value is taken given its 30 nearest (or\n"
                "--fit-neighbours), and what that leaves out is printed.");
            return [request] { return run_variogram(*request); };
        }};
}

}  // namespace app::commands
