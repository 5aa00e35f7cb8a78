#include "app/commands/point_columns.h"

#include <charconv>
#include <cmath>
#include <cstdio>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/tables/cells.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

/// Rounded to four significant digits.
double four_digits(double value) {
    const std::string text = fmt::format("{:.4g}", value);
    double rounded = value;
    std::from_chars(text.data(), text.data() + text.size(), rounded);
    return rounded;
}

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    return text;
}

}  // namespace

void declare_point_columns(Options& options, PointColumns& columns) {
    options.positional(columns.file, "FILE", "a CSV table of points with a header line");
    options.option(columns.x, "--x", "COLUMN", "easting or longitude; x where it is not said");
    options.option(columns.y, "--y", "COLUMN", "northing or latitude; y where it is not said");
    options.option(columns.value, "--value", "COLUMN", "what was measured", true);
    options.option(columns.crs, "--crs", "SYSTEM",
                   "planar or EPSG:n; else columns named lon, lat are degrees and others planar");
    options.option(columns.error_variance, "--error-variance", "COLUMN",
                   "variance of each value's own error (with --log: of its logarithm)");
    options.flag(columns.log, "--log", "work with the natural logarithm of the value");
}

PointSet read_points(const PointColumns& columns, const std::vector<std::string>& drift) {
    const auto table = geo::PointTable::read(columns.file);
    const Eigen::VectorXd x = table.numbers(columns.x), y = table.numbers(columns.y);
    Eigen::VectorXd values = table.numbers(columns.value), errors;
    if (columns.error_variance) errors = table.numbers(*columns.error_variance);
    Eigen::MatrixXd covariates(table.rows(), static_cast<Eigen::Index>(drift.size()));
    for (std::size_t k = 0; k < drift.size(); ++k)
        covariates.col(static_cast<Eigen::Index>(k)) = table.numbers(drift[k]);
    std::vector<Eigen::Index> kept;
    for (long row = 0; row < table.rows(); ++row) {
        const bool complete = std::isfinite(x[row]) && std::isfinite(y[row]) && std::isfinite(values[row]) &&
                              (errors.size() == 0 || std::isfinite(errors[row])) && covariates.row(row).allFinite();
        if (!complete) continue;
        if (columns.log && !(values[row] > 0.0)) {
            throw models::Error(fmt::format("{} has no logarithm", values[row]),
                                fmt::format("{}, row {}, column {}", columns.file, row + 2, columns.value),
                                "leave --log out, or leave the row's value empty");
        }
        kept.push_back(row);
    }
    PointSet points;
    points.plane = std::make_shared<const geo::TablePlane>(columns.x, columns.y, x, y, columns.crs);
    points.notes = points.plane->notes();
    const auto left_out = table.rows() - static_cast<long>(kept.size());
    if (left_out > 0)
        points.notes.push_back(fmt::format("{} with missing cells {} left out", models::counted(left_out, "row"),
                                           models::by_number(left_out, "was", "were")));
    if (kept.empty()) {
        throw models::Error("no row has all of place and value", columns.file, "check the column names");
    }
    points.data.positions_m = points.plane->positions_m(x(kept), y(kept));
    points.data.values = values(kept);
    if (columns.log) points.data.values = points.data.values.array().log().matrix().eval();
    if (errors.size() > 0) points.data.error_variances = errors(kept);
    if (!drift.empty()) points.data.drift = covariates(kept, Eigen::all);
    return points;
}

std::vector<std::string> names_in_list(const std::string& list) {
    std::vector<std::string> names;
    std::size_t begin = 0;
    while (begin <= list.size()) {
        const std::size_t end = std::min(list.find(',', begin), list.size());
        const std::string_view name = trimmed(std::string_view(list).substr(begin, end - begin));
        if (name.empty()) throw models::Error("a name is empty in the list \"" + list + "\"");
        names.emplace_back(name);
        begin = end + 1;
    }
    return names;
}

std::vector<double> numbers_in_list(const std::string& list, const std::string& option) {
    std::vector<double> numbers;
    for (const std::string& word : names_in_list(list)) {
        double value = 0.0;
        const auto [end, problem] = std::from_chars(word.data(), word.data() + word.size(), value);
        if (problem != std::errc() || end != word.data() + word.size() || !std::isfinite(value)) {
            throw models::Error("\"" + word + "\" is no number", option, "write numbers separated by commas");
        }
        numbers.push_back(value);
    }
    return numbers;
}

std::string on_screen(double value) {
    return geo::tables::number_text(four_digits(value));
}

std::string on_screen(const models::VariogramModel& model) {
    models::VariogramModel rounded = model;
    for (models::VariogramTerm& term : rounded.terms) {
        for (double* number : {&term.partial_sill, &term.range_m, &term.smoothness, &term.exponent, &term.damping_m,
                               &term.azimuth_deg, &term.ratio}) {
            *number = four_digits(*number);
        }
    }
    return rounded.to_text();
}

std::string units_in_words(const PointColumns& columns, const PointSet& points, WorkedOn worked_on) {
    const std::string lengths =
        points.plane->system().empty() ? "the unit of " + columns.x + " and " + columns.y : std::string("metres");
    std::string sills = "in the unit of " + columns.value + ", squared";
    if (columns.log) sills = "in the square of the natural logarithm of " + columns.value;
    if (worked_on == WorkedOn::indicator) sills = "of an indicator (1 or 0), without a unit";
    if (worked_on == WorkedOn::normal_scores) sills = "of normal scores, without a unit";
    return "Ranges and distances in " + lengths + "; sills and gamma " + sills + ".";
}

void say_notes(const std::vector<std::string>& notes) {
    for (const std::string& note : notes) fmt::print(stderr, "lodicule: {}\n", note);
}

}  // namespace app::commands
