#include "app/commands/krige_targets.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/commands/season_options.h"
#include "geo/raster.h"
#include "models/error.h"

namespace app::commands {

namespace {

constexpr double most_cells_without_yes = 1e8;

models::GridM grid_of(const KrigeRequest& request, const PointSet& points) {
    const double cell = *request.cell_m;
    require_cell_size(cell);
    models::BoxM box{points.data.positions_m.col(0).minCoeff(), points.data.positions_m.col(1).minCoeff(),
                     points.data.positions_m.col(0).maxCoeff(), points.data.positions_m.col(1).maxCoeff()};
    bool whole_multiples = true;
    if (request.extent) {
        const auto edges = numbers_in_list(*request.extent, "--extent");
        if (edges.size() != 4 || !(edges[2] > edges[0]) || !(edges[3] > edges[1])) {
            throw models::Error("\"" + *request.extent + "\" is no extent", "--extent",
                                "write x0,y0,x1,y1 with x0 < x1 and y0 < y1");
        }
        if (points.plane->from_degrees()) {
            Eigen::VectorXd x(4), y(4);
            x << edges[0], edges[2], edges[0], edges[2];
            y << edges[1], edges[1], edges[3], edges[3];
            const Eigen::MatrixX2d corners = points.plane->positions_m(x, y);
            box = {corners.col(0).minCoeff(), corners.col(1).minCoeff(), corners.col(0).maxCoeff(),
                   corners.col(1).maxCoeff()};
        } else {
            box = {edges[0], edges[1], edges[2], edges[3]};
            whole_multiples = false;
        }
    }
    const double columns = std::max(1.0, std::ceil(box.width_m() / cell - 1e-9));
    const double rows = std::max(1.0, std::ceil(box.height_m() / cell - 1e-9));
    if (columns * rows > most_cells_without_yes && !request.yes) {
        throw models::Error(fmt::format("cells of {} make a grid of {:.3g} cells", cell, columns * rows), "--cell",
                            "give larger cells, or say --yes if so many are meant");
    }
    if (columns > 2e9 || rows > 2e9) throw models::Error("the grid is too large", "--cell", "give larger cells");
    if (whole_multiples) return models::grid_over(box, cell);
    return {box.x_min_m, box.y_max_m, cell, static_cast<int>(columns), static_cast<int>(rows)};
}

}  // namespace

models::BlockM block_of(const std::string& text) {
    const std::size_t cross = text.find('x');
    const auto sides = cross == std::string::npos
                           ? std::vector<double>{}
                           : numbers_in_list(text.substr(0, cross) + "," + text.substr(cross + 1), "--block");
    if (sides.size() != 2 || !(sides[0] > 0.0) || !(sides[1] > 0.0)) {
        throw models::Error("\"" + text + "\" is no block", "--block", "write its width and height, such as 40x40");
    }
    return {sides[0], sides[1]};
}

Eigen::MatrixXd coordinate_drift(const KrigeRequest& request, const std::vector<std::string>& drift,
                                 const Eigen::VectorXd& table_x, const Eigen::VectorXd& table_y) {
    Eigen::MatrixXd out(table_x.size(), static_cast<Eigen::Index>(drift.size()));
    for (std::size_t k = 0; k < drift.size(); ++k) {
        const auto column = static_cast<Eigen::Index>(k);
        if (drift[k] == request.columns.x) {
            out.col(column) = table_x;
        } else if (drift[k] == request.columns.y) {
            out.col(column) = table_y;
        } else {
            throw models::Error("the drift \"" + drift[k] + "\" is not known at the cells of a grid", "--drift",
                                "give places with that column by --at, or a raster with a band of that name by --like");
        }
    }
    return out;
}

Targets targets_of(const KrigeRequest& request, const PointSet& points, const std::vector<std::string>& drift) {
    Targets targets;
    if (request.at) {
        const auto table = geo::PointTable::read(*request.at);
        targets.table_x = table.numbers(request.columns.x);
        targets.table_y = table.numbers(request.columns.y);
        targets.places = points.plane->positions_m(targets.table_x, targets.table_y);
        targets.drift.resize(table.rows(), static_cast<Eigen::Index>(drift.size()));
        for (std::size_t k = 0; k < drift.size(); ++k) {
            targets.drift.col(static_cast<Eigen::Index>(k)) = table.numbers(drift[k]);
        }
        return targets;
    }
    if (request.cell_m) {
        targets.grid = grid_of(request, points);
        targets.system = points.plane->system();
        return targets;
    }
    const geo::RasterFrame frame = geo::read_raster_frame(*request.like);
    targets.grid = frame.grid;
    targets.system = frame.system;
    const std::string& own = points.plane->system();
    if (!own.empty() && !frame.system.empty() && !geo::same_system(own, frame.system)) {
        throw models::Error("the raster lies in another reference system than the points", *request.like,
                            "warp the raster to the points' system, or name the system of the points by --crs");
    }
    if (!own.empty() && frame.system.empty()) {
        throw models::Error("the raster has no reference system but the points have one", *request.like,
                            "assign one to the raster, or give --cell");
    }
    if (static_cast<double>(frame.grid.cells()) > most_cells_without_yes && !request.yes) {
        throw models::Error(fmt::format("the raster has {} cells", frame.grid.cells()), *request.like,
                            "say --yes if so many are meant");
    }
    const bool needs_bands = std::any_of(drift.begin(), drift.end(), [&](const std::string& name) {
        return name != request.columns.x && name != request.columns.y;
    });
    if (needs_bands) {
        const geo::Raster raster = geo::read_raster(*request.like);
        for (const std::string& name : drift) {
            const auto found = std::find(raster.descriptions.begin(), raster.descriptions.end(), name);
            if (found == raster.descriptions.end()) {
                throw models::Error("the raster has no band called \"" + name + "\"", *request.like,
                                    "name the band like the drift column");
            }
            targets.drift_bands.push_back(raster.bands[static_cast<std::size_t>(found - raster.descriptions.begin())]);
        }
    }
    return targets;
}

Eigen::MatrixXd grid_drift(const KrigeRequest& request, const PointSet& points, const Targets& targets,
                           const std::vector<std::string>& drift, int first_row, int rows) {
    const models::GridM& grid = *targets.grid;
    const Eigen::Index count = static_cast<Eigen::Index>(rows) * grid.columns;
    if (!targets.drift_bands.empty()) {
        Eigen::MatrixXd out(count, static_cast<Eigen::Index>(targets.drift_bands.size()));
        for (std::size_t k = 0; k < targets.drift_bands.size(); ++k) {
            const Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> strip =
                targets.drift_bands[k].middleRows(first_row, rows);
            out.col(static_cast<Eigen::Index>(k)) = Eigen::Map<const Eigen::VectorXd>(strip.data(), count);
        }
        return out;
    }
    Eigen::VectorXd x(count), y(count);
    for (Eigen::Index cell = 0; cell < count; ++cell) {
        const models::PointM place = points.plane->table_coordinates(
            grid.centre(first_row + static_cast<int>(cell / grid.columns), static_cast<int>(cell % grid.columns)));
        x[cell] = place.x_m;
        y[cell] = place.y_m;
    }
    return coordinate_drift(request, drift, x, y);
}

}  // namespace app::commands
