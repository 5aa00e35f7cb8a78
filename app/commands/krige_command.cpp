#include "app/commands/krige_command.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/krige_areas.h"
#include "app/commands/krige_output.h"
#include "app/commands/krige_simulation.h"
#include "app/commands/krige_targets.h"
#include "app/commands/point_columns.h"
#include "app/commands/terminal_progress.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/indicator.h"
#include "models/spatial/sphere_kriging.h"

namespace app::commands {

namespace {

models::VariogramFit given_or_fitted(const KrigeRequest& request, const PointSet& points,
                                     const models::Progress& progress) {
    if (request.variogram) {
        models::VariogramFit fit;
        fit.model = models::VariogramModel::parse(*request.variogram);
        fit.method = "given";
        fit.settled = true;
        fit.message = "given";
        return fit;
    }
    if (fits_likelihood(request.fit)) return fit_as_chosen(request.fit, points.data, {}, progress);
    const Eigen::VectorXd values = points.data.drift.cols() > 0
                                       ? models::drift_residuals(points.data.values, points.data.drift)
                                       : points.data.values;
    const auto classes =
        models::experimental_variogram(points.data.positions_m, values, {}, points.data.error_variances, progress);
    return fit_as_chosen(request.fit, points.data, classes, progress);
}

/// With too few pairs or nothing that varies: the mean everywhere, with the spread of the values (or next to none).
models::VariogramFit variogram_for(const KrigeRequest& request, const PointSet& points,
                                   const models::Progress& progress) {
    models::VariogramFit fit = given_or_fitted(request, points, progress);
    if (request.variogram || fit.model.sill() > 0.0) return fit;
    const Eigen::VectorXd& given = points.data.values;
    const double spread = (given.array() - given.mean()).square().sum() /
                          static_cast<double>(std::max<Eigen::Index>(1, given.size() - 1));
    const double least = std::pow(1e-8 * std::max(given.cwiseAbs().maxCoeff(), 1e-100), 2);
    fit.model =
        models::VariogramModel({{.shape = models::VariogramShape::nugget, .partial_sill = std::max(spread, least)}});
    fit.pure_nugget = true;
    if (spread > least) {
        fit.message += "; every place gets the mean, with the spread of the values";
    } else {
        fit.message = "all values are the same, and so is every estimate";
    }
    return fit;
}

void check_request(const KrigeRequest& request) {
    const int ways = (request.at ? 1 : 0) + (request.cell_m ? 1 : 0) + (request.like ? 1 : 0);
    if (ways > 1) throw models::Error("--at, --cell and --like exclude one another", "", "give one of them");
    if (request.variogram && request.fit.made()) {
        throw models::Error("--variogram and --fit exclude one another, and so --shape, --weights and --fit-neighbours",
                            "", "give a model or say how to fit one");
    }
    if (ways == 0 && !request.cross_validate && !request.folds && !request.over && !request.along) {
        throw models::Error(
            "nothing says where estimates are wanted", "",
            "give --at FILE.csv, --cell METRES or --like FILE.tif, or --cross-validate or --folds alone");
    }
    if (ways == 1 && !request.out) {
        throw models::Error("nothing says where the estimates go", "", "give --out FILE.csv or --out FILE.tif");
    }
    check_areas_request(request);
    if (request.indicator && (ways == 0 || request.simulate || request.columns.log || request.normal_score ||
                              request.limit || request.mean || request.columns.error_variance)) {
        throw models::Error("indicators are kriged from the values as they are, at places or on a grid", "--indicator",
                            "give --at, --cell or --like, and leave --simulate, --log, --normal-score, --limit, --mean "
                            "and --error-variance out");
    }
    if (request.normal_score &&
        (request.columns.log || request.mean || request.block || request.drift || request.columns.error_variance)) {
        throw models::Error("normal scores have the mean 0 and no unit", "--normal-score",
                            "leave --log, --mean, --block, --drift and --error-variance out");
    }
    if (request.great_circle &&
        (!request.at || !request.variogram || request.drift || request.block || request.neighbours ||
         request.within_m || request.simulate || request.indicator || request.cross_validate || request.folds)) {
        throw models::Error("great-circle distances serve values at the places of a table, by a model that is given",
                            "--great-circle",
                            "give --at FILE.csv and --variogram, and none of --drift, --block, --neighbours, --within, "
                            "--simulate, --indicator, --cross-validate and --folds");
    }
    if (request.seed && !request.simulate) {
        throw models::Error("--seed needs --simulate", "", "say how many realisations are wanted");
    }
    if (request.simulate) {
        if (*request.simulate < 1 || request.seed.value_or(1) < 0) {
            throw models::Error("--simulate must be at least 1 and --seed not negative");
        }
        if (ways == 0) {
            throw models::Error("nothing says where realisations are wanted", "--simulate",
                                "give --at FILE.csv, --cell METRES or --like FILE.tif");
        }
        if (request.neighbours || request.within_m || request.block) {
            throw models::Error("--simulate uses all points and gives values at places", "",
                                "leave --neighbours, --within and --block out");
        }
    }
    if (request.extent && !request.cell_m)
        throw models::Error("--extent needs --cell", "", "give the size of the cells");
    if (request.out && !request.over && !request.along) {
        const std::string extension = std::filesystem::path(*request.out).extension().string();
        if (extension != ".csv" && extension != ".tif" && extension != ".tiff") {
            throw models::Error("the file to write is neither .csv nor .tif", *request.out, "give such a name");
        }
        if (request.at && extension != ".csv") {
            throw models::Error("places of a table make no raster", *request.out, "give a name ending in .csv");
        }
    }
    if (request.columns.log && request.block) {
        throw models::Error(
            "--log and --block exclude one another: the mean of logarithms over a block is not the "
            "logarithm of its mean",
            "", "leave one of them out");
    }
    if (request.columns.log && request.limit && !(*request.limit > 0.0)) {
        throw models::Error("with --log the limit must be greater than 0", "--limit",
                            "give it in the unit of the value");
    }
}

nlohmann::ordered_json validation_as_json(const models::CrossValidation& validation, std::optional<int> folds) {
    nlohmann::ordered_json out = {{"mean_error", validation.mean_error},
                                  {"rmse", validation.rmse},
                                  {"mean_square_standardised_error", validation.mean_square_standardised_error},
                                  {"crps", validation.crps},
                                  {"predicted", validation.counted}};
    if (folds) out["folds"] = *folds;
    out["coverage"] = nlohmann::ordered_json::array();
    for (std::size_t k = 0; k < models::validation_levels.size(); ++k) {
        out["coverage"].push_back({{"interval", models::validation_levels[k]}, {"share", validation.coverage[k]}});
    }
    return out;
}

void print_validation(const models::CrossValidation& validation, std::optional<int> folds) {
    fmt::print("{}: mean error {}, RMSE {}, mean squared standardised error {} (1 is right), CRPS {}\n",
               folds ? models::counted(*folds, "fold") + ", each predicted from the rest" : "leave-one-out",
               on_screen(validation.mean_error), on_screen(validation.rmse),
               on_screen(validation.mean_square_standardised_error), on_screen(validation.crps));
    for (std::size_t k = 0; k < models::validation_levels.size(); ++k) {
        const double level = 100.0 * models::validation_levels[k], share = 100.0 * validation.coverage[k];
        fmt::print(fmt::runtime(k == 0 ? "    of the observations {:.1f} % lie in the {:.0f} % interval"
                                       : ", {:.1f} % in the {:.0f} % one"),
                   share, level);
    }
    fmt::print("\n");
}

std::string not_estimated_in_words(const models::NotEstimated& entry, long long places) {
    return fmt::format("{} of {} {} not estimated: {}", entry.places, models::counted(places, "place"),
                       models::by_number(entry.places, "was", "were"), entry.reason);
}

/// Chances of being at or under each threshold.
int run_indicators(const KrigeRequest& request, const PointSet& points, const std::vector<std::string>& drift,
                   const models::KrigingSettings& settings, TerminalProgress& shown) {
    std::vector<double> thresholds = numbers_in_list(*request.indicator, "--indicator");
    std::vector<models::VariogramModel> models;
    std::vector<std::string> names;
    for (const double threshold : thresholds) {
        names.push_back(fmt::format("at_or_under_{}", threshold));
        if (request.variogram && !models.empty()) continue;
        PointSet indicators = points;
        indicators.data.values = models::indicators_of(points.data.values, threshold);
        const models::VariogramFit fit = variogram_for(request, indicators, shown.progress());
        shown.clear();
        models.push_back(fit.model);
        if (request.variogram) continue;
        say_notes({fmt::format("at or under {}: fitted {} ({})", threshold, on_screen(fit.model), fit.message)});
        say_notes(fit.notes);
    }
    const Targets targets = targets_of(request, points, drift);
    models::IndicatorEstimates found;
    if (targets.grid) {
        const Eigen::MatrixXd values =
            drift.empty() ? Eigen::MatrixXd() : grid_drift(request, points, targets, drift, 0, targets.grid->rows);
        found = models::krige_indicators(points.data, thresholds, models, *targets.grid, settings, values,
                                         shown.progress());
    } else {
        found = models::krige_indicators(points.data, thresholds, models, targets.places, settings, targets.drift,
                                         shown.progress());
    }
    shown.clear();
    write_columns(*request.out, targets.grid, targets.system, *points.plane, targets.table_x, targets.table_y, names,
                  found.at_or_under);
    const Eigen::Index cells = found.at_or_under.rows();
    for (const models::NotEstimated& entry : found.not_estimated) {
        say_notes({not_estimated_in_words(entry, cells)});
    }
    if (request.json) {
        nlohmann::ordered_json out = {{"points", points.data.values.size()},
                                      {"cells", cells},
                                      {"thresholds", thresholds},
                                      {"corrected", found.corrected},
                                      {"largest_correction", found.largest_correction}};
        out["variograms"] = nlohmann::ordered_json::array();
        for (const models::VariogramModel& model : models) out["variograms"].push_back(model.to_text());
        out["files"] = {*request.out};
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    fmt::print("{}, {}; the chances of {} of {} {} corrected to a distribution, by at most {}\n",
               models::counted(points.data.values.size(), "point"),
               models::counted(static_cast<long long>(thresholds.size()), "threshold"), found.corrected,
               models::counted(cells, "place"), models::by_number(found.corrected, "was", "were"),
               on_screen(found.largest_correction));
    fmt::print("Written: {}\n", *request.out);
    return 0;
}

/// Places of a table in degrees, estimated with distances on the globe.
int run_on_sphere(const KrigeRequest& request, const PointSet& points, const models::KrigingSettings& settings,
                  const models::VariogramFit& fit, const EstimateColumns& columns, const models::Progress& progress) {
    if (!points.plane->from_degrees()) {
        throw models::Error("great-circle distances need longitude and latitude", "--great-circle",
                            "name columns in degrees for --x and --y, or leave it out");
    }
    const auto degrees_of = [&](const Eigen::MatrixX2d& places) {
        Eigen::MatrixX2d out(places.rows(), 2);
        for (Eigen::Index i = 0; i < places.rows(); ++i) {
            const models::PointM place = points.plane->table_coordinates({places(i, 0), places(i, 1)});
            out.row(i) << place.x_m, place.y_m;
        }
        return out;
    };
    const Targets targets = targets_of(request, points, {});
    const auto found =
        models::krige_on_sphere({degrees_of(points.data.positions_m), points.data.values, points.data.error_variances},
                                fit.model, degrees_of(targets.places), settings.known_mean, progress);
    const auto file = open_estimate_file(*request.out, {}, "", *points.plane, columns);
    file->write_places(targets.table_x, targets.table_y, found);
    file->finish();
    if (request.json) {
        const nlohmann::ordered_json out = {{"points", points.data.values.size()},
                                            {"cells", targets.places.rows()},
                                            {"variogram", fit.model.to_text()},
                                            {"files", {*request.out}}};
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    fmt::print("{} on the sphere, variogram {}\nWritten: {}\n", models::counted(points.data.values.size(), "point"),
               on_screen(fit.model), *request.out);
    return 0;
}

int run_krige(const KrigeRequest& request) {
    check_request(request);
    const auto start = std::chrono::steady_clock::now();
    const std::vector<std::string> drift = request.drift ? names_in_list(*request.drift) : std::vector<std::string>{};
    PointSet points = read_points(request.columns, drift);
    say_notes(points.notes);
    models::KrigingSettings settings;
    std::shared_ptr<const models::NormalScore> scores;
    if (request.normal_score) {
        scores = std::make_shared<models::NormalScore>(points.data.values);
        points.data.values = scores->scores(points.data.values);
        settings.known_mean = 0.0;
    }
    if (request.mean) settings.known_mean = request.columns.log ? std::log(*request.mean) : *request.mean;
    if (request.block) settings.block = block_of(*request.block);
    settings.neighbourhood.count = request.neighbours.value_or(0);
    settings.neighbourhood.radius_m = request.within_m.value_or(0.0);
    settings.neighbourhood.sectors = request.sectors.value_or(0);
    settings.neighbourhood.at_least = request.at_least.value_or(0);
    if ((request.neighbours && *request.neighbours < 1) || (request.within_m && !(*request.within_m > 0.0))) {
        throw models::Error("--neighbours and --within must be greater than 0", "", "leave them out to use all points");
    }
    if ((request.sectors || request.at_least) && !request.neighbours && !request.within_m) {
        throw models::Error("--sectors and --at-least say more about the points near a place", "",
                            "give --neighbours or --within too");
    }
    TerminalProgress shown;
    const models::Progress& progress = shown.progress();
    if (request.indicator) return run_indicators(request, points, drift, settings, shown);
    const models::VariogramFit fit = variogram_for(request, points, progress);
    shown.clear();
    const bool shapes = request.over || request.along;
    if (!request.variogram && shapes) say_notes({fmt::format("fitted {} ({})", on_screen(fit.model), fit.message)});
    say_notes(fit.notes);
    if (request.great_circle) {
        return run_on_sphere(request, points, settings, fit,
                             {request.columns.log, request.limit, !settings.known_mean, scores}, progress);
    }
    if (shapes) return run_areas(request, points, drift, settings, fit, progress);
    const bool estimates = request.at || request.cell_m || request.like;
    const Targets targets = estimates ? targets_of(request, points, drift) : Targets{};
    const models::Kriging kriging(points.data, fit.model, settings, progress);
    shown.clear();
    say_notes(kriging.preparation().notes);
    const auto factored = std::chrono::steady_clock::now();

    long long cells = 0;
    std::vector<models::NotEstimated> not_estimated;
    std::optional<models::SimulationReport> simulation;
    nlohmann::ordered_json files = nlohmann::ordered_json::array();
    if (estimates) {
        const auto drift_of_strip = [&](int first_row, int rows) {
            return grid_drift(request, points, targets, drift, first_row, rows);
        };
        if (request.simulate) {
            SimulationOutput output{*request.out,    targets.grid, targets.system, targets.places, targets.table_x,
                                    targets.table_y, {},           request.limit};
            if (!drift.empty()) output.drift = targets.grid ? drift_of_strip(0, targets.grid->rows) : targets.drift;
            if (request.columns.log) output.back = [](double value) { return std::exp(value); };
            if (scores) output.back = [scores](double value) { return scores->value(value); };
            models::SimulationSettings simulated;
            simulated.realisations = *request.simulate;
            simulated.seed = static_cast<std::uint64_t>(request.seed.value_or(1));
            simulated.known_mean = settings.known_mean;
            simulation = write_simulation(output, points.data, fit.model, *points.plane, simulated, progress);
            say_notes(simulation->notes);
            not_estimated = simulation->not_estimated;
            cells = targets.grid ? targets.grid->cells() : targets.places.rows();
            files.push_back(*request.out);
        }
    }
    if (estimates && !request.simulate) {
        const auto drift_of_strip = [&](int first_row, int rows) {
            return grid_drift(request, points, targets, drift, first_row, rows);
        };
        const std::unique_ptr<EstimateFile> file =
            open_estimate_file(*request.out, targets.grid, targets.system, *points.plane,
                               {request.columns.log, request.limit, !settings.known_mean, scores});
        if (targets.grid) {
            const models::GridM& grid = *targets.grid;
            kriging.over_grid(
                grid,
                [&](int first_row, int rows, const models::KrigingEstimates& strip) {
                    file->write_strip(first_row, rows, strip);
                    models::add_to(not_estimated, strip.not_estimated);
                },
                drift.empty() ? models::Kriging::StripDrift() : models::Kriging::StripDrift(drift_of_strip), progress);
            cells = grid.cells();
        } else {
            const models::KrigingEstimates found = kriging.at(targets.places, targets.drift, progress);
            file->write_places(targets.table_x, targets.table_y, found);
            not_estimated = found.not_estimated;
            cells = targets.places.rows();
        }
        file->finish();
        files.push_back(*request.out);
    }
    shown.clear();
    std::optional<models::CrossValidation> validation;
    if (request.folds) {
        validation = kriging.leave_folds_out(*request.folds);
    } else if (request.cross_validate || request.residuals) {
        validation = kriging.leave_one_out(progress);
    }
    if (request.residuals) {
        write_residuals(*request.residuals, *validation);
        files.push_back(*request.residuals);
    }
    if (request.timing) {
        const auto end = std::chrono::steady_clock::now();
        fmt::print(stderr, "lodicule: reading and factoring {:.3f} s, the rest {:.3f} s\n",
                   std::chrono::duration<double>(factored - start).count(),
                   std::chrono::duration<double>(end - factored).count());
    }
    for (const models::NotEstimated& entry : not_estimated) {
        say_notes({not_estimated_in_words(entry, cells)});
    }
    if (request.json) {
        nlohmann::ordered_json out;
        out["points"] = points.data.values.size();
        out["places"] = kriging.preparation().places;
        out["cells"] = cells;
        out["variogram"] = fit.model.to_text();
        if (!request.variogram) out["fit"] = nlohmann::ordered_json::parse(fit_as_json(fit));
        if (validation) {
            out["cross_validation"] = validation_as_json(*validation, request.folds);
        }
        if (simulation) {
            out["simulation"] = {{"realisations", *request.simulate},
                                 {"seed", request.seed.value_or(1)},
                                 {"method", simulation->method},
                                 {"neglected_share_of_sill", simulation->neglected}};
        }
        out["not_estimated"] = nlohmann::ordered_json::array();
        for (const models::NotEstimated& entry : not_estimated) {
            out["not_estimated"].push_back({{"reason", entry.reason}, {"places", entry.places}});
        }
        out["files"] = files;
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    const bool all_the_same = points.data.values.maxCoeff() == points.data.values.minCoeff();
    fmt::print("{}, {}{}\n", models::counted(points.data.values.size(), "point"),
               all_the_same && !request.variogram ? "no variogram" : "variogram " + on_screen(fit.model),
               request.variogram ? "" : fmt::format("\n{}: {}", fit.method, fit.message));
    fmt::print("{}\n", units_in_words(request.columns, points, scores ? WorkedOn::normal_scores : WorkedOn::values));
    if (validation) {
        print_validation(*validation, request.folds);
    }
    if (simulation) {
        fmt::print("{}, seed {}, by {}; {}\n", models::counted(*request.simulate, "realisation"),
                   request.seed.value_or(1), simulation->method,
                   simulation->neglected > 0.0
                       ? fmt::format("neglected covariance at most {:.1e} of the sill", simulation->neglected)
                       : std::string("no covariance is neglected"));
    }
    for (const auto& name : files) fmt::print("Written: {}\n", name.get<std::string>());
    return 0;
}

}  // namespace

Command make_krige_command() {
    return {
        "krige", "Estimates between the points of a plain table, with their variance.", [](Options& options) {
            auto request = std::make_shared<KrigeRequest>();
            declare_point_columns(options, request->columns);
            options.option(request->variogram, "--variogram", "MODEL",
                           "the model, as text (see below); else one is fitted");
            declare_fit_choice(options, request->fit);
            options.option(request->at, "--at", "FILE.csv", "estimate at the places of this table");
            options.option(request->cell_m, "--cell", "M", "estimate on a grid of cells of this size");
            options.option(request->extent, "--extent", "X0,Y0,X1,Y1", "of the grid (the box around the points)");
            options.option(request->like, "--like", "FILE.tif", "estimate on the cells of this raster");
            options.option(request->drift, "--drift", "COLUMN,...", "the mean depends on these (also x or y itself)");
            options.option(request->block, "--block", "WxH", "mean over rectangles instead of values at places");
            options.option(request->over, "--over", "FILE",
                           "mean over areas: GeoPackage, shapefile, GeoJSON, GML, or a CSV of corners");
            options.option(request->along, "--along", "FILE", "mean along lines, from the same kinds of file");
            options.option(request->layer, "--layer", "NAME", "which layer of that file, where it has several");
            options.option(request->name, "--name", "ATTRIBUTE",
                           "what names its shapes (name, field, ... or a number)");
            options.option(request->neighbours, "--neighbours", "N", "only the nearest N points");
            options.option(request->within_m, "--within", "M", "only points within this distance");
            options.option(request->sectors, "--sectors", "S",
                           "4 or 8 around each place: of each no more than N/S of the neighbours");
            options.option(request->at_least, "--at-least", "N", "no estimate where fewer points are near");
            options.option(request->mean, "--mean", "VALUE", "the mean is known (simple kriging)");
            options.option(request->limit, "--limit", "L", "also the chance that the value is over L");
            options.flag(request->great_circle, "--great-circle", "distances on the globe: for --at, in degrees");
            options.flag(request->normal_score, "--normal-score", "work with the normal score of the value's rank");
            options.option(request->indicator, "--indicator", "L,...",
                           "chances of being at or under these, free of any "
                           "distribution");
            options.option(request->simulate, "--simulate", "N",
                           "N maps as the ground could be, in place of estimates");
            options.option(request->seed, "--seed", "S", "of the simulation: the same seed gives the same maps (1)");
            options.flag(request->cross_validate, "--cross-validate",
                         "predict each point from all others (leave-one-out)");
            options.option(request->folds, "--folds", "K", "cross-validate in K folds, rows dealt out in turn");
            options.option(request->residuals, "--residuals", "FILE.csv", "the cross-validation of each point");
            options.option(request->out, "--out", "FILE", "FILE.csv or FILE.tif; of shapes also .gpkg, .geojson");
            options.flag(request->json, "--json", "machine-readable, every number with all its digits");
            options.flag(request->yes, "--yes", "also more than 100 million cells");
            options.flag(request->timing, "--timing", "seconds, on stderr");
            options.footer(
                "A model is a sum: \"nugget 0.05 + spherical 0.59 range 897 + exponential 0.2 range 300 azimuth 30 "
                "ratio 0.5\".\n"
                "Shapes: nugget (kept at the data), error (filtered out), spherical, exponential, gaussian, matern\n"
                "(smoothness), pentaspherical, circular, linear, power (exponent), hole (damping).\n"
                "Columns out: x, y, estimate, variance; with --log or --normal-score both are of the logarithm or "
                "score\n"
                "and median and mean of the value follow (the mean is free of bias, the median is half-way);\n"
                "with --limit exceedance. With --simulate: x, y, simulation_1 to simulation_N in the unit of the\n"
                "value, and with --limit the share of them over it. With --json, `files` are paths as --out gave "
                "them.\n"
                "Shapes may have holes and parts; they are re-projected into the plane of the points, and --drift "
                "takes\n"
                "x, y or a number of their attributes. In a CSV they are corners in order, with shape, x and y. Out: "
                "x\n"
                "and y of the middle, shape, name, estimate, variance, exceedance; a map file has the shapes "
                "themselves.\n"
                "A map of estimates is no certificate of what lies between the points.");
            return [request] { return run_krige(*request); };
        }};
}

}  // namespace app::commands
