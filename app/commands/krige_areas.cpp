#include "app/commands/krige_areas.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/krige_output.h"
#include "app/commands/whole_text_file.h"
#include "geo/map_shapes.h"
#include "geo/tables/csv.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/kriging_shapes.h"

namespace app::commands {

namespace {

std::string ending_in_lower_case(const std::string& file) {
    std::string ending = std::filesystem::path(file).extension().string();
    for (char& letter : ending) {
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    }
    return ending;
}

bool is_table(const std::string& file) {
    const std::string ending = ending_in_lower_case(file);
    return ending == ".csv" || ending == ".txt" || ending == ".tsv" || ending.empty();
}

/// Which attribute of the file carries each drift column; none where it is a coordinate, known everywhere.
std::vector<std::optional<std::size_t>> drift_attributes(const KrigeRequest& request,
                                                         const std::vector<std::string>& drift,
                                                         std::vector<std::string>& wanted) {
    std::vector<std::optional<std::size_t>> attributes;
    for (const std::string& name : drift) {
        attributes.emplace_back();
        if (name == request.columns.x || name == request.columns.y) continue;
        attributes.back() = wanted.size();
        wanted.push_back(name);
    }
    return attributes;
}

models::ShapeNodes nodes_of(const geo::MapShape& shape, const models::VariogramModel& model) {
    // Then the variance of a mean is right within some parts in a thousand; beyond 24 cuts it is small anyway.
    if (!shape.area.empty()) {
        const models::BoxM box = models::bounding_box(shape.area);
        return models::nodes_of_area(shape.area,
                                     models::cuts_for(model, std::max(box.width_m(), box.height_m()), 8, 24));
    }
    double length = 0.0;
    for (const geo::LineM& line : shape.lines) {
        for (std::size_t k = 1; k < line.size(); ++k) length += models::distance_m(line[k - 1], line[k]);
    }
    return models::nodes_of_lines(shape.lines, models::cuts_for(model, length, 8, 250));
}

/// The middle of each shape in the coordinates of the table, and each drift column's mean over it.
struct ShapeMeans {
    Eigen::MatrixX2d middle;
    Eigen::MatrixXd drift;
};

ShapeMeans means_over(const std::vector<models::ShapeNodes>& nodes, const std::vector<geo::MapShape>& shapes,
                      const KrigeRequest& request, const PointSet& points, const std::vector<std::string>& drift,
                      const std::vector<std::optional<std::size_t>>& attributes) {
    const auto count = static_cast<Eigen::Index>(nodes.size());
    ShapeMeans means{Eigen::MatrixX2d(count, 2), Eigen::MatrixXd(count, static_cast<Eigen::Index>(drift.size()))};
    for (Eigen::Index k = 0; k < count; ++k) {
        const models::ShapeNodes& shape = nodes[static_cast<std::size_t>(k)];
        const models::PointM middle =
            points.plane->table_coordinates({shape.weight.dot(shape.x), shape.weight.dot(shape.y)});
        means.middle.row(k) << middle.x_m, middle.y_m;
        double mean_x = 0.0, mean_y = 0.0;
        for (Eigen::Index i = 0; !drift.empty() && i < shape.x.size(); ++i) {
            const models::PointM place = points.plane->table_coordinates({shape.x[i], shape.y[i]});
            mean_x += shape.weight[i] * place.x_m;
            mean_y += shape.weight[i] * place.y_m;
        }
        for (std::size_t column = 0; column < drift.size(); ++column) {
            const double coordinate = drift[column] == request.columns.x ? mean_x : mean_y;
            means.drift(k, static_cast<Eigen::Index>(column)) =
                attributes[column] ? shapes[static_cast<std::size_t>(k)].numbers[*attributes[column]] : coordinate;
        }
    }
    return means;
}

void write_means_as_table(const std::string& file, const std::vector<geo::MapShape>& shapes,
                          const Eigen::MatrixX2d& middle, const std::vector<std::string>& names,
                          const std::vector<Eigen::VectorXd>& columns) {
    WholeTextFile out(file);
    fmt::memory_buffer text;
    fmt::format_to(std::back_inserter(text), "x,y,shape,name");
    for (const std::string& name : names) fmt::format_to(std::back_inserter(text), ",{}", name);
    text.push_back('\n');
    for (std::size_t k = 0; k < shapes.size(); ++k) {
        const auto row = static_cast<Eigen::Index>(k);
        append_number(text, middle(row, 0));
        text.push_back(',');
        append_number(text, middle(row, 1));
        text.push_back(',');
        append_number(text, shapes[k].number);
        fmt::format_to(std::back_inserter(text), ",{}", geo::tables::csv_cell(shapes[k].name));
        for (const Eigen::VectorXd& column : columns) {
            text.push_back(',');
            append_number(text, column[row]);
        }
        text.push_back('\n');
    }
    out.write(text);
    out.finish();
}

void write_means_as_map(const std::string& file, geo::MapShapesRead& read, bool areas,
                        const std::vector<std::string>& names, const std::vector<Eigen::VectorXd>& columns) {
    geo::VectorLayer layer;
    layer.name = areas ? "areas" : "lines";
    const bool whole = std::all_of(read.shapes.begin(), read.shapes.end(), [](const geo::MapShape& shape) {
        return std::abs(shape.number) < 1e15 && std::floor(shape.number) == shape.number;
    });
    layer.columns = {{"shape", whole ? geo::ColumnKind::whole_number : geo::ColumnKind::number},
                     {"name", geo::ColumnKind::text}};
    for (const std::string& name : names) layer.columns.push_back({name, geo::ColumnKind::number});
    layer.system = read.system;
    for (std::size_t k = 0; k < read.shapes.size(); ++k) {
        geo::MapShape& shape = read.shapes[k];
        geo::VectorFeature feature{std::move(shape.drawn), {shape.number, shape.name}};
        if (whole) feature.values[0] = static_cast<long long>(shape.number);
        for (const Eigen::VectorXd& column : columns) {
            feature.values.emplace_back(column[static_cast<Eigen::Index>(k)]);
        }
        layer.features.push_back(std::move(feature));
    }
    geo::write_vector_file(file, layer);
}

}  // namespace

void check_areas_request(const KrigeRequest& request) {
    if (!request.over && !request.along) {
        if (request.name) throw models::Error("--name needs --over or --along", "", "say whose names are meant");
        if (request.layer) throw models::Error("--layer needs --over or --along", "", "say whose layer is meant");
        return;
    }
    if (request.over && request.along) throw models::Error("--over and --along exclude one another");
    if (request.at || request.cell_m || request.like || request.simulate || request.indicator || request.block ||
        request.neighbours || request.within_m || request.columns.log || request.normal_score) {
        throw models::Error("the mean over shapes comes from all points, in the unit of the value", "--over, --along",
                            "give neither places nor a grid, --simulate, --indicator, --block, --neighbours, --within, "
                            "--log or --normal-score");
    }
    if (request.cross_validate || request.folds || request.residuals) {
        throw models::Error("cross-validation predicts points, not means over shapes", "--over, --along",
                            "run it by itself, without --over or --along");
    }
    const std::string ending = request.out ? ending_in_lower_case(*request.out) : "";
    if (ending != ".csv" && ending != ".gpkg" && ending != ".geojson" && ending != ".json" && ending != ".shp") {
        throw models::Error("nothing says where the estimates go", request.out.value_or(""),
                            "give --out FILE.csv, FILE.gpkg or FILE.geojson");
    }
}

int run_areas(const KrigeRequest& request, const PointSet& points, const std::vector<std::string>& drift,
              const models::KrigingSettings& settings, const models::VariogramFit& fit,
              const models::Progress& progress) {
    const std::string& file = request.over ? *request.over : *request.along;
    const auto kind = request.over ? geo::MapShapeKind::areas : geo::MapShapeKind::lines;
    geo::MapShapeOptions options{request.layer.value_or(""), request.name.value_or(""), {}};
    const auto attributes = drift_attributes(request, drift, options.numbers);
    const Eigen::MatrixX2d& places = points.data.positions_m;
    const models::BoxM around{places.col(0).minCoeff(), places.col(1).minCoeff(), places.col(0).maxCoeff(),
                              places.col(1).maxCoeff()};
    geo::MapShapesRead read = is_table(file) ? geo::read_corner_table(file, kind, request.columns.x, request.columns.y,
                                                                      *points.plane, around, options)
                                             : geo::read_map_shapes(file, kind, *points.plane, around, options);
    say_notes(read.notes);
    std::vector<models::ShapeNodes> nodes;
    for (const geo::MapShape& shape : read.shapes) {
        try {
            nodes.push_back(nodes_of(shape, fit.model));
        } catch (const models::Error& error) {
            throw models::Error(error.what_happened(), fmt::format("{}, shape {}", file, shape.number),
                                error.how_to_mend());
        }
    }
    const ShapeMeans means = means_over(nodes, read.shapes, request, points, drift, attributes);
    const auto found = models::krige_shapes(points.data, fit.model, nodes, settings, means.drift, progress);
    for (const models::NotEstimated& entry : found.not_estimated) {
        say_notes({fmt::format("{} of {} shapes were not estimated: {}", entry.places, nodes.size(), entry.reason)});
    }
    EstimateColumns wanted;
    wanted.limit = request.limit;
    const std::vector<std::string> names = estimate_column_names(wanted);
    const std::vector<Eigen::VectorXd> columns = estimate_columns(found, wanted);
    if (ending_in_lower_case(*request.out) == ".csv") {
        write_means_as_table(*request.out, read.shapes, means.middle, names, columns);
    } else {
        write_means_as_map(*request.out, read, kind == geo::MapShapeKind::areas, names, columns);
    }
    if (request.json) {
        nlohmann::ordered_json out = {
            {"points", points.data.values.size()}, {"shapes", nodes.size()}, {"variogram", fit.model.to_text()}};
        if (!request.variogram) out["fit"] = nlohmann::ordered_json::parse(fit_as_json(fit));
        out["files"] = {*request.out};
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    fmt::print("{}, variogram {}\n{} {}\nWritten: {}\n", models::counted(points.data.values.size(), "point"),
               on_screen(fit.model), models::counted(static_cast<long long>(nodes.size()), "mean"),
               request.over ? "over areas" : "along lines", *request.out);
    return 0;
}

}  // namespace app::commands
