#include "models/decision/mip_solver.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <mutex>

#include <coin/Cbc_C_Interface.h>
#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace mip_solver_parts {

void check(const MipProblem& problem, const MipSettings& settings) {
    const auto bounds = [](double low, double high, const std::string& where) {
        if (std::isnan(low) || std::isnan(high) || low > high) {
            throw Error(fmt::format("bounds from {} to {} hold nothing", low, high), where);
        }
    };
    for (std::size_t c = 0; c < problem.columns.size(); ++c) {
        const MipColumn& column = problem.columns[c];
        bounds(column.low, column.high, fmt::format("column {}", c));
        if (!std::isfinite(column.objective)) throw Error("an objective is no number", fmt::format("column {}", c));
    }
    std::vector<std::size_t> seen_in(problem.columns.size(), 0);
    for (std::size_t r = 0; r < problem.rows.size(); ++r) {
        const std::string where = fmt::format("row {}", r);
        bounds(problem.rows[r].low, problem.rows[r].high, where);
        for (const auto& [column, coefficient] : problem.rows[r].terms) {
            if (column < 0 || column >= static_cast<int>(problem.columns.size())) {
                throw Error(fmt::format("there is no column {}", column), where);
            }
            if (!std::isfinite(coefficient)) throw Error("a coefficient is no number", where);
            std::size_t& seen = seen_in[static_cast<std::size_t>(column)];
            if (seen == r + 1) throw Error(fmt::format("column {} stands in it twice", column), where);
            seen = r + 1;
        }
    }
    if (!settings.start.empty() && settings.start.size() != problem.columns.size()) {
        throw Error(
            fmt::format("the start has {} values for {} columns", settings.start.size(), problem.columns.size()));
    }
    if (!(settings.relative_gap >= 0.0)) throw Error(fmt::format("a gap of {} is none", settings.relative_gap));
    if (settings.most_nodes < 0) throw Error(fmt::format("{} nodes cannot be searched", settings.most_nodes));
}

double objective_of(const MipProblem& problem, const std::vector<double>& values) {
    double sum = 0.0;
    for (std::size_t c = 0; c < values.size(); ++c) sum += problem.columns[c].objective * values[c];
    return sum;
}

/// Values as the solver has them: whole columns made whole, bounds kept to the last digit.
std::vector<double> tidied(const MipProblem& problem, const double* solution) {
    std::vector<double> values(problem.columns.size());
    for (std::size_t c = 0; c < values.size(); ++c) {
        const MipColumn& column = problem.columns[c];
        const double value = column.whole ? std::round(solution[c]) : solution[c];
        values[c] = std::clamp(value, column.low, column.high) + 0.0;  // no minus zero
    }
    return values;
}

bool can_grow(const MipProblem& problem) {
    return std::any_of(problem.columns.begin(), problem.columns.end(), [](const MipColumn& column) {
        return (column.objective > 0.0 && std::isinf(column.high)) ||
               (column.objective < 0.0 && std::isinf(column.low));
    });
}

using Model = std::unique_ptr<Cbc_Model, decltype(&Cbc_deleteModel)>;

/// The solver minimises, so it is given the objective with its sign turned.
Model model_of(const MipProblem& problem) {
    Model model(Cbc_newModel(), &Cbc_deleteModel);
    Cbc_setLogLevel(model.get(), 0);
    std::vector<CoinBigIndex> start(problem.columns.size() + 1, 0);
    for (const MipRow& row : problem.rows) {
        for (const auto& term : row.terms) ++start[static_cast<std::size_t>(term.first) + 1];
    }
    for (std::size_t c = 0; c < problem.columns.size(); ++c) start[c + 1] += start[c];
    std::vector<int> index(static_cast<std::size_t>(start.back()));
    std::vector<double> value(index.size());
    std::vector<CoinBigIndex> next = start;
    std::vector<double> row_low, row_high;
    for (std::size_t r = 0; r < problem.rows.size(); ++r) {
        for (const auto& [column, coefficient] : problem.rows[r].terms) {
            const auto at = static_cast<std::size_t>(next[static_cast<std::size_t>(column)]++);
            index[at] = static_cast<int>(r);
            value[at] = coefficient;
        }
        row_low.push_back(problem.rows[r].low);
        row_high.push_back(problem.rows[r].high);
    }
    std::vector<double> low, high, objective;
    for (const MipColumn& column : problem.columns) {
        low.push_back(column.low);
        high.push_back(column.high);
        objective.push_back(-column.objective);
    }
    Cbc_loadProblem(model.get(), static_cast<int>(problem.columns.size()), static_cast<int>(problem.rows.size()),
                    start.data(), index.data(), value.data(), low.data(), high.data(), objective.data(), row_low.data(),
                    row_high.data());
    for (std::size_t c = 0; c < problem.columns.size(); ++c) {
        if (problem.columns[c].whole) Cbc_setInteger(model.get(), static_cast<int>(c));
    }
    return model;
}

}  // namespace mip_solver_parts

int MipProblem::add(const MipColumn& column) {
    columns.push_back(column);
    return static_cast<int>(columns.size()) - 1;
}
int MipProblem::yes_or_no(double objective) {
    return add({0.0, 1.0, true, objective});
}
void MipProblem::at_most(double high, std::vector<std::pair<int, double>> terms) {
    rows.push_back({-std::numeric_limits<double>::infinity(), high, std::move(terms)});
}
void MipProblem::at_least(double low, std::vector<std::pair<int, double>> terms) {
    rows.push_back({low, std::numeric_limits<double>::infinity(), std::move(terms)});
}

double MipResult::gap() const {
    return std::max(0.0, bound - objective) / std::max(1.0, std::abs(objective));
}

double worst_miss(const MipProblem& problem, const std::vector<double>& values) {
    double worst = 0.0;
    const auto look = [&worst](double value, double low, double high, double scale) {
        worst = std::max(worst, std::max(low - value, value - high) / std::max(1.0, scale));
    };
    for (std::size_t c = 0; c < values.size(); ++c) {
        const MipColumn& column = problem.columns[c];
        look(values[c], column.low, column.high, std::abs(values[c]));
        if (column.whole) worst = std::max(worst, std::abs(values[c] - std::round(values[c])));
    }
    for (const MipRow& row : problem.rows) {
        double sum = 0.0, largest = 0.0;
        for (const auto& [column, coefficient] : row.terms) {
            const double term = coefficient * values[static_cast<std::size_t>(column)];
            sum += term;
            largest = std::max(largest, std::abs(term));
        }
        look(sum, row.low, row.high, largest);
    }
    return worst;
}

MipResult solve_mip(const MipProblem& problem, const MipSettings& settings) {
    using namespace mip_solver_parts;
    check(problem, settings);
    MipResult result;
    const bool good_start = !settings.start.empty() && worst_miss(problem, settings.start) <= mip_tolerance;
    if (problem.columns.empty()) {
        const bool open = std::all_of(problem.rows.begin(), problem.rows.end(),
                                      [](const MipRow& row) { return row.low <= 0.0 && row.high >= 0.0; });
        result.status = open ? MipResult::Status::best : MipResult::Status::none;
        return result;
    }
    {
        // The solver keeps some of its settings in one place for the whole program.
        static std::mutex one_at_a_time;
        const std::lock_guard lock(one_at_a_time);
        const Model model = model_of(problem);
        Cbc_setMaximumNodes(model.get(), settings.most_nodes);
        if (settings.most_seconds) Cbc_setMaximumSeconds(model.get(), *settings.most_seconds);
        if (settings.relative_gap > 0.0) Cbc_setAllowableFractionGap(model.get(), settings.relative_gap);
        if (good_start) {
            // Left to itself the solver looks for sets among the columns and may add columns for them; then it looks
            // the first answer up in a column that the problem does not have, and gives up before it has searched.
            // With none of its preprocessing, plans of a harvest are as good and as soon there, those of a queue sooner.
            Cbc_setParameter(model.get(), "preprocess", "off");
            std::vector<int> columns;
            for (std::size_t c = 0; c < settings.start.size(); ++c) columns.push_back(static_cast<int>(c));
            Cbc_setMIPStartI(model.get(), static_cast<int>(columns.size()), columns.data(), settings.start.data());
        }
        Cbc_solve(model.get());
        result.nodes = Cbc_getNodeCount(model.get());
        const bool whole_asked = std::any_of(problem.columns.begin(), problem.columns.end(),
                                             [](const MipColumn& column) { return column.whole; });
        const double* solution = whole_asked ? Cbc_bestSolution(model.get()) : Cbc_getColSolution(model.get());
        const bool proved = Cbc_isProvenOptimal(model.get()) != 0;
        result.bound = -Cbc_getBestPossibleObjValue(model.get());
        if (Cbc_isProvenInfeasible(model.get())) result.status = MipResult::Status::none;
        if (Cbc_isContinuousUnbounded(model.get())) result.status = MipResult::Status::endless;
        if (result.status == MipResult::Status::none && can_grow(problem)) {
            // Before it searches the solver does not tell "too much" from "nothing": ask whether there is anything.
            MipProblem anything = problem;
            for (MipColumn& column : anything.columns) column.objective = 0.0;
            const Model again = model_of(anything);
            Cbc_solve(again.get());
            if (Cbc_isProvenOptimal(again.get())) result.status = MipResult::Status::endless;
        }
        if (result.status == MipResult::Status::unknown && solution != nullptr) {
            result.values = tidied(problem, solution);
            result.status = proved ? MipResult::Status::best : MipResult::Status::stopped;
        }
    }
    if (result.has_values() && worst_miss(problem, result.values) > mip_tolerance) {
        result.values.clear();
        result.status = MipResult::Status::unknown;
    }
    if (good_start && result.status != MipResult::Status::endless) {
        std::vector<double> start = tidied(problem, settings.start.data());
        // A first answer is never lost, and one that keeps to everything proves that there is an answer.
        if (!result.has_values() || objective_of(problem, start) > objective_of(problem, result.values)) {
            result.values = std::move(start);
            if (result.status != MipResult::Status::best) result.status = MipResult::Status::stopped;
        }
    }
    if (result.has_values()) {
        result.objective = objective_of(problem, result.values);
        // Within a gap that was asked for the solver calls its answer proved and forgets how far the bound was.
        if (result.status == MipResult::Status::best)
            result.bound = result.objective + settings.relative_gap * std::abs(result.objective);
        result.bound = std::max(result.bound, result.objective);
    }
    return result;
}

std::string lp_text(const MipProblem& problem) {
    const auto terms_text = [](const std::vector<std::pair<int, double>>& terms) {
        std::string text = terms.empty() ? " +0 x0\n" : "";  // a row without a term can still be one that nothing keeps
        for (const auto& [column, coefficient] : terms) text += fmt::format(" {:+.17g} x{}\n", coefficient, column);
        return text;
    };
    std::string text = "Maximize\n obj:\n";
    for (std::size_t c = 0; c < problem.columns.size(); ++c) {
        text += fmt::format(" {:+.17g} x{}\n", problem.columns[c].objective, c);
    }
    text += "Subject To\n";
    for (std::size_t r = 0; r < problem.rows.size(); ++r) {
        const MipRow& row = problem.rows[r];
        if (row.low == row.high) {
            text += fmt::format(" r{}:\n{} = {:.17g}\n", r, terms_text(row.terms), row.low);
            continue;
        }
        if (std::isfinite(row.high)) text += fmt::format(" r{}h:\n{} <= {:.17g}\n", r, terms_text(row.terms), row.high);
        if (std::isfinite(row.low)) text += fmt::format(" r{}l:\n{} >= {:.17g}\n", r, terms_text(row.terms), row.low);
    }
    text += "Bounds\n";
    const auto bound = [](double value) {
        return std::isfinite(value) ? fmt::format("{:.17g}", value) : std::string(value > 0.0 ? "+inf" : "-inf");
    };
    std::string whole;
    for (std::size_t c = 0; c < problem.columns.size(); ++c) {
        const MipColumn& column = problem.columns[c];
        text += fmt::format(" {} <= x{} <= {}\n", bound(column.low), c, bound(column.high));
        if (column.whole) whole += fmt::format(" x{}\n", c);
    }
    if (!whole.empty()) text += "General\n" + whole;
    return text + "End\n";
}

}  // namespace models
