#include "models/spatial/kriging_shapes.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/kriging_factor.h"
#include "models/spatial/parallel.h"

namespace models {

namespace {

// Gauss-Legendre on [0, 1]: 1/2 -+ sqrt(3/7 -+ 2/7 sqrt(6/5)) / 2, weights (18 +- sqrt 30) / 72.
constexpr std::array<double, 4> panel_places = {0.0694318442029737124, 0.3300094782075718676, 0.6699905217924281324,
                                                0.9305681557970262876};
constexpr std::array<double, 4> panel_weights = {0.1739274225687269287, 0.3260725774312730713, 0.3260725774312730713,
                                                 0.1739274225687269287};

struct NodeList {
    std::vector<double> x, y, weight;
    void add(double x_m, double y_m, double share) {
        x.push_back(x_m);
        y.push_back(y_m);
        weight.push_back(share);
    }
    ShapeNodes shape() const {
        const auto size = static_cast<Eigen::Index>(x.size());
        ShapeNodes out{Eigen::Map<const Eigen::VectorXd>(x.data(), size),
                       Eigen::Map<const Eigen::VectorXd>(y.data(), size),
                       Eigen::Map<const Eigen::VectorXd>(weight.data(), size)};
        out.weight /= out.weight.sum();
        return out;
    }
};

/// Where a horizontal line crosses the rings, west first.
std::vector<double> crossings_at(const std::vector<const RingM*>& rings, double y) {
    std::vector<double> out;
    for (const RingM* ring : rings) {
        for (std::size_t k = 0; k < ring->size(); ++k) {
            const PointM &a = (*ring)[k], &b = (*ring)[(k + 1) % ring->size()];
            if ((a.y_m > y) == (b.y_m > y)) continue;
            out.push_back(a.x_m + (y - a.y_m) / (b.y_m - a.y_m) * (b.x_m - a.x_m));
        }
    }
    std::sort(out.begin(), out.end());
    return out;
}

/// The heights between which the bands of a part lie: its corners', and of those that lie closer together than
/// `finest` only enough for bands of that height, once they are many.
std::vector<double> band_edges(const std::vector<const RingM*>& rings, double finest) {
    std::vector<double> heights;
    for (const RingM* ring : rings) {
        for (const PointM& corner : *ring) heights.push_back(corner.y_m);
    }
    std::sort(heights.begin(), heights.end());
    heights.erase(std::unique(heights.begin(), heights.end()), heights.end());
    constexpr std::size_t few = 12;
    if (heights.size() <= few) return heights;
    std::vector<double> kept{heights.front()};
    for (const double height : heights) {
        if (height - kept.back() >= finest && heights.back() - height >= finest) kept.push_back(height);
    }
    kept.push_back(heights.back());
    return kept;
}

/// Nodes of one polygon with its holes, their weights its area together.
void add_part(const PolygonM& part, double area, double panel, double finest, NodeList& nodes) {
    std::vector<const RingM*> rings{&part.outer};
    for (const RingM& hole : part.holes) rings.push_back(&hole);
    const std::vector<double> heights = band_edges(rings, finest);
    const std::size_t first = nodes.weight.size();
    double sum = 0.0;
    for (std::size_t k = 1; k < heights.size(); ++k) {
        const int bands = std::max(1, static_cast<int>(std::ceil((heights[k] - heights[k - 1]) / panel)));
        const double height = (heights[k] - heights[k - 1]) / bands;
        for (int band = 0; band < bands; ++band) {
            for (std::size_t i = 0; i < panel_places.size(); ++i) {
                const double y = heights[k - 1] + height * (band + panel_places[i]);
                const std::vector<double> edges = crossings_at(rings, y);
                for (std::size_t edge = 1; edge < edges.size(); edge += 2) {
                    const double stretch = edges[edge] - edges[edge - 1];
                    if (!(stretch > 0.0)) continue;
                    const int panels = std::max(1, static_cast<int>(std::ceil(stretch / panel)));
                    for (int number = 0; number < panels; ++number) {
                        for (std::size_t j = 0; j < panel_places.size(); ++j) {
                            nodes.add(edges[edge - 1] + stretch / panels * (number + panel_places[j]), y,
                                      height * panel_weights[i] * stretch / panels * panel_weights[j]);
                            sum += nodes.weight.back();
                        }
                    }
                }
            }
        }
    }
    // Bands that hold corners miss a little of the area; the part counts with all of it.
    for (std::size_t k = first; k < nodes.weight.size(); ++k) nodes.weight[k] *= area / sum;
}

/// A track of thousands of points gets panels by length, of no less than a twelfth of a piece, across its corners.
void add_line(const std::vector<PointM>& line, double piece, NodeList& nodes) {
    std::vector<double> begins{0.0};  // how far along the line each point is
    for (std::size_t k = 1; k < line.size(); ++k) begins.push_back(begins.back() + distance_m(line[k - 1], line[k]));
    std::vector<double> cuts = begins;
    const double most = std::max(12.0, std::ceil(12.0 * begins.back() / piece));
    if (static_cast<double>(line.size()) > most + 1.0) {
        cuts.assign(1, 0.0);
        for (double k = 1.0; k <= most; ++k) cuts.push_back(begins.back() * (k / most));
    }
    std::size_t segment = 1;
    for (std::size_t k = 1; k < cuts.size(); ++k) {
        const double own = cuts[k] - cuts[k - 1];
        if (!(own > 0.0)) continue;
        const int panels = std::max(1, static_cast<int>(std::ceil(own / piece)));
        for (int panel = 0; panel < panels; ++panel) {
            for (std::size_t i = 0; i < panel_places.size(); ++i) {
                const double along = cuts[k - 1] + own * ((panel + panel_places[i]) / panels);
                while (segment + 1 < line.size() && begins[segment] < along) ++segment;
                const double share = (along - begins[segment - 1]) / (begins[segment] - begins[segment - 1]);
                nodes.add(line[segment - 1].x_m + share * (line[segment].x_m - line[segment - 1].x_m),
                          line[segment - 1].y_m + share * (line[segment].y_m - line[segment - 1].y_m),
                          own / panels * panel_weights[i]);
            }
        }
    }
}

/// 0 ... level for models without a sill; see Kriging.
double level_for(const VariogramModel& model, const PreparedData& data, const std::vector<ShapeNodes>& shapes) {
    if (model.has_sill()) return 0.0;
    double low_x = data.x.minCoeff(), high_x = data.x.maxCoeff(), low_y = data.y.minCoeff(), high_y = data.y.maxCoeff();
    for (const ShapeNodes& shape : shapes) {
        low_x = std::min(low_x, shape.x.minCoeff());
        high_x = std::max(high_x, shape.x.maxCoeff());
        low_y = std::min(low_y, shape.y.minCoeff());
        high_y = std::max(high_y, shape.y.maxCoeff());
    }
    double level = 0.0;
    for (const VariogramTerm& term : model.terms) {
        if (term.shape != VariogramShape::linear && term.shape != VariogramShape::power) continue;
        level +=
            2.0 * term.partial_sill * term.unit_semivariance(std::hypot(high_x - low_x, high_y - low_y) / term.ratio);
    }
    return level;
}

}  // namespace

ShapeNodes nodes_of_area(const OutlineM& outline, int across) {
    const double whole = area_m2(outline);
    if (!(whole > 0.0)) {
        throw Error("the outline has no area", "", "give at least three corners that are not in line");
    }
    const BoxM box = bounding_box(outline);
    const double widest = std::max(box.width_m(), box.height_m());
    NodeList nodes;
    for (const PolygonM& part : outline) {
        const double own = area_m2(OutlineM{part});
        if (own > 0.0) add_part(part, own, widest / std::max(1, across), widest / (12 * std::max(1, across)), nodes);
    }
    return nodes.shape();
}

ShapeNodes nodes_of_lines(const std::vector<std::vector<PointM>>& lines, int pieces) {
    double length = 0.0;
    for (const std::vector<PointM>& line : lines) {
        for (std::size_t k = 1; k < line.size(); ++k) length += distance_m(line[k - 1], line[k]);
    }
    if (!(length > 0.0)) throw Error("the line has no length", "", "give at least two different points");
    NodeList nodes;
    for (const std::vector<PointM>& line : lines) add_line(line, length / std::max(1, pieces), nodes);
    return nodes.shape();
}

ShapeNodes nodes_of_line(const std::vector<PointM>& points, int pieces) {
    return nodes_of_lines({points}, pieces);
}

int cuts_for(const VariogramModel& model, double extent_m, int least, int most) {
    double shortest = std::numeric_limits<double>::infinity();
    for (const VariogramTerm& term : model.terms) {
        using enum VariogramShape;
        if (term.shape == nugget || term.shape == error || term.shape == linear || term.shape == power) continue;
        if (term.partial_sill > 0.0) shortest = std::min(shortest, term.practical_range_m() * term.ratio);
    }
    return static_cast<int>(
        std::clamp(std::ceil(6.0 * extent_m / shortest), static_cast<double>(least), static_cast<double>(most)));
}

ShapeNodes nodes_of_places(const Eigen::MatrixX2d& places) {
    if (places.rows() == 0) throw Error("the shape has no places");
    return {places.col(0), places.col(1),
            Eigen::VectorXd::Constant(places.rows(), 1.0 / static_cast<double>(places.rows()))};
}

KrigingEstimates krige_shapes(const SpatialData& data, const VariogramModel& model,
                              const std::vector<ShapeNodes>& shapes, const KrigingSettings& settings,
                              const Eigen::MatrixXd& shape_drift, const Progress& progress) {
    if (!settings.block.is_point() || !settings.neighbourhood.is_global()) {
        throw Error("the mean over a shape takes neither a block nor a neighbourhood", "", "leave them out");
    }
    for (std::size_t k = 0; k < shapes.size(); ++k) {
        const ShapeNodes& shape = shapes[k];
        if (shape.x.size() == 0 || shape.y.size() != shape.x.size() || shape.weight.size() != shape.x.size() ||
            !shape.x.allFinite() || !shape.y.allFinite() || !shape.weight.allFinite()) {
            throw Error("its places and weights are not finite numbers of one count", fmt::format("shape {}", k + 1));
        }
    }
    const PreparedData prepared(data, model, settings);
    PreparedCovariance covariance(model);
    covariance.level = level_for(model, prepared, shapes);
    const KrigingFactor factor(prepared, covariance, model, settings.threads);
    const auto m = static_cast<Eigen::Index>(shapes.size());
    const Eigen::MatrixXd drift = prepared.drift_of_targets(m, shape_drift);
    Eigen::MatrixXd weights = prepared.values.array() - settings.known_mean.value_or(0.0);
    const Eigen::VectorXd coefficients = factor.solve(weights);
    kernels::CovarianceArrays structured = covariance.arrays();
    structured.nugget = 0.0;
    KrigingEstimates found;
    found.estimate.resize(m);
    if (settings.variance) {
        found.variance.resize(m);
        if (drift.cols() > 0) found.lagrange.resize(m);
    }
    std::vector<char> without_drift(shapes.size(), 0);
    parallel_blocks(
        m, settings.threads,
        [&](long long number) {
            const auto& table = kernels::kernel_table();
            const ShapeNodes& shape = shapes[static_cast<std::size_t>(number)];
            const auto n = static_cast<int>(prepared.x.size()), nodes = static_cast<int>(shape.x.size());
            if (!drift.row(number).allFinite()) {
                without_drift[static_cast<std::size_t>(number)] = 1;
                found.estimate[number] = std::numeric_limits<double>::quiet_NaN();
                if (found.variance.size() > 0) found.variance[number] = found.estimate[number];
                if (found.lagrange.size() > 0) found.lagrange[number] = found.estimate[number];
                return;
            }
            Eigen::VectorXd mean = Eigen::VectorXd::Zero(n), one(std::max(n, nodes));
            double own = 0.0;
            for (int k = 0; k < nodes; ++k) {
                table.covariances(structured, prepared.x.data(), prepared.y.data(), n, shape.x[k], shape.y[k],
                                  one.data());
                mean += shape.weight[k] * one.head(n);
                if (!settings.variance) continue;
                table.covariances(structured, shape.x.data(), shape.y.data(), nodes, shape.x[k], shape.y[k],
                                  one.data());
                own += shape.weight[k] * shape.weight.dot(one.head(nodes));
            }
            found.estimate[number] = settings.known_mean.value_or(0.0) + mean.dot(weights.col(0));
            if (drift.cols() > 0) found.estimate[number] += drift.row(number).dot(coefficients);
            if (!settings.variance) return;
            const KrigingFactor::Spread spread = factor.spread(mean, drift.row(number).transpose(), own);
            found.variance[number] = spread.variance;
            if (found.lagrange.size() > 0) found.lagrange[number] = spread.lagrange;
        },
        progress, "kriging shapes");
    const auto missing = std::count(without_drift.begin(), without_drift.end(), 1);
    if (missing > 0) found.not_estimated.push_back({"a drift column has no value there", missing});
    return found;
}

}  // namespace models
