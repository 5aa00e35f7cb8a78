#include "app/commands/krige_output.h"

#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "app/commands/whole_text_file.h"
#include "geo/raster.h"
#include "models/error.h"

namespace app::commands {

namespace {

double chance_over(double estimate, double variance, double limit) {
    if (!std::isfinite(estimate) || !std::isfinite(variance)) return std::numeric_limits<double>::quiet_NaN();
    if (variance <= 0.0) return estimate > limit ? 1.0 : 0.0;
    return 0.5 * std::erfc((limit - estimate) / std::sqrt(2.0 * variance));
}

}  // namespace

std::vector<Eigen::VectorXd> estimate_columns(const models::KrigingEstimates& found, const EstimateColumns& wanted) {
    std::vector<Eigen::VectorXd> columns{found.estimate, found.variance};
    const Eigen::Index n = found.estimate.size();
    if (wanted.log) {
        Eigen::VectorXd median(n), mean(n);
        for (Eigen::Index i = 0; i < n; ++i) {
            const auto moments = models::lognormal_moments(found.estimate[i], found.variance[i],
                                                           found.lagrange.size() > 0 ? found.lagrange[i] : 0.0);
            median[i] = moments.median;
            mean[i] = moments.mean;
        }
        columns.push_back(median);
        columns.push_back(mean);
    }
    if (wanted.scores) {
        Eigen::VectorXd median(n), mean(n);
        for (Eigen::Index i = 0; i < n; ++i) {
            median[i] = wanted.scores->value(found.estimate[i]);
            mean[i] = wanted.scores->mean(found.estimate[i], found.variance[i]);
        }
        columns.push_back(median);
        columns.push_back(mean);
    }
    if (wanted.limit && wanted.scores) {
        Eigen::VectorXd over(n);
        for (Eigen::Index i = 0; i < n; ++i) {
            over[i] = wanted.scores->chance_over(*wanted.limit, found.estimate[i], found.variance[i]);
        }
        columns.push_back(over);
    } else if (wanted.limit) {
        const double limit = wanted.log ? std::log(*wanted.limit) : *wanted.limit;
        Eigen::VectorXd over(n);
        for (Eigen::Index i = 0; i < n; ++i) over[i] = chance_over(found.estimate[i], found.variance[i], limit);
        columns.push_back(over);
    }
    return columns;
}

std::vector<std::string> estimate_column_names(const EstimateColumns& wanted) {
    std::vector<std::string> names{"estimate", "variance"};
    if (wanted.log || wanted.scores) {
        names.emplace_back("median");
        names.emplace_back("mean");
    }
    if (wanted.limit) names.emplace_back("exceedance");
    return names;
}

namespace {

class CsvEstimates : public EstimateFile {
 public:
    CsvEstimates(const std::filesystem::path& file, const std::optional<models::GridM>& grid,
                 const geo::TablePlane& plane, const EstimateColumns& columns)
        : file_(file), grid_(grid), plane_(plane), columns_(columns) {
        fmt::memory_buffer header;
        fmt::format_to(std::back_inserter(header), "x,y");
        for (const std::string& name : estimate_column_names(columns_))
            fmt::format_to(std::back_inserter(header), ",{}", name);
        header.push_back('\n');
        file_.write(header);
    }
    void write_strip(int first_row, int rows, const models::KrigingEstimates& strip) override {
        const Eigen::Index count = static_cast<Eigen::Index>(rows) * grid_->columns;
        Eigen::VectorXd x(count), y(count);
        for (Eigen::Index cell = 0; cell < count; ++cell) {
            const models::PointM place = plane_.table_coordinates(grid_->centre(
                first_row + static_cast<int>(cell / grid_->columns), static_cast<int>(cell % grid_->columns)));
            x[cell] = place.x_m;
            y[cell] = place.y_m;
        }
        write_places(x, y, strip);
    }
    void write_places(const Eigen::VectorXd& x, const Eigen::VectorXd& y,
                      const models::KrigingEstimates& found) override {
        const auto columns = estimate_columns(found, columns_);
        fmt::memory_buffer text;
        for (Eigen::Index i = 0; i < x.size(); ++i) {
            append_number(text, x[i]);
            text.push_back(',');
            append_number(text, y[i]);
            for (const Eigen::VectorXd& column : columns) {
                text.push_back(',');
                append_number(text, column[i]);
            }
            text.push_back('\n');
        }
        file_.write(text);
    }
    void finish() override { file_.finish(); }

 private:
    WholeTextFile file_;
    std::optional<models::GridM> grid_;
    const geo::TablePlane& plane_;
    EstimateColumns columns_;
};

class RasterEstimates : public EstimateFile {
 public:
    RasterEstimates(const std::filesystem::path& file, const models::GridM& grid, const std::string& system,
                    const EstimateColumns& columns)
        : writer_(file, {grid, system}, estimate_column_names(columns)), columns_(columns) {}
    void write_strip(int first_row, int rows, const models::KrigingEstimates& strip) override {
        const auto bands = estimate_columns(strip, columns_);
        for (std::size_t k = 0; k < bands.size(); ++k) {
            writer_.write_rows(static_cast<int>(k), first_row, rows, bands[k].data());
        }
    }
    void write_places(const Eigen::VectorXd&, const Eigen::VectorXd&, const models::KrigingEstimates&) override {
        throw models::Error("places of a table make no raster");
    }
    void finish() override { writer_.finish(); }

 private:
    geo::RasterWriter writer_;
    EstimateColumns columns_;
};

}  // namespace

std::unique_ptr<EstimateFile> open_estimate_file(const std::filesystem::path& file,
                                                 const std::optional<models::GridM>& grid, const std::string& system,
                                                 const geo::TablePlane& plane, const EstimateColumns& columns) {
    if (file.extension() == ".csv") return std::make_unique<CsvEstimates>(file, grid, plane, columns);
    return std::make_unique<RasterEstimates>(file, *grid, system, columns);
}

void write_columns(const std::filesystem::path& file, const std::optional<models::GridM>& grid,
                   const std::string& system, const geo::TablePlane& plane, const Eigen::VectorXd& table_x,
                   const Eigen::VectorXd& table_y, const std::vector<std::string>& names,
                   const Eigen::MatrixXd& columns) {
    if (file.extension() != ".csv") {
        geo::RasterWriter writer(file, {*grid, system}, names);
        for (Eigen::Index k = 0; k < columns.cols(); ++k) {
            writer.write_rows(static_cast<int>(k), 0, grid->rows, columns.col(k).data());
        }
        writer.finish();
        return;
    }
    WholeTextFile out(file);
    fmt::memory_buffer text;
    fmt::format_to(std::back_inserter(text), "x,y");
    for (const std::string& name : names) fmt::format_to(std::back_inserter(text), ",{}", name);
    text.push_back('\n');
    for (Eigen::Index i = 0; i < columns.rows(); ++i) {
        const models::PointM place = grid ? plane.table_coordinates(grid->centre(static_cast<int>(i / grid->columns),
                                                                                 static_cast<int>(i % grid->columns)))
                                          : models::PointM{table_x[i], table_y[i]};
        append_number(text, place.x_m);
        text.push_back(',');
        append_number(text, place.y_m);
        for (Eigen::Index k = 0; k < columns.cols(); ++k) {
            text.push_back(',');
            append_number(text, columns(i, k));
        }
        text.push_back('\n');
        if (text.size() > (1u << 20)) {
            out.write(text);
            text.clear();
        }
    }
    out.write(text);
    out.finish();
}

void write_residuals(const std::filesystem::path& file, const models::CrossValidation& validation) {
    WholeTextFile out(file);
    fmt::memory_buffer text;
    fmt::format_to(std::back_inserter(text), "predicted,residual,variance,standardised_error\n");
    for (Eigen::Index i = 0; i < validation.residual.size(); ++i) {
        fmt::format_to(std::back_inserter(text), "{:.17g},{:.17g},{:.17g},{:.17g}\n", validation.predicted[i],
                       validation.residual[i], validation.variance[i], validation.standardised_error[i]);
    }
    out.write(text);
    out.finish();
}

}  // namespace app::commands
