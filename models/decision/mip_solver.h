#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace models {

/// A choice among yes-or-no and how-much questions under linear rules: what a plan is cast into before it is solved.
///   maximise  sum of objective x value   subject to   low <= sum of coefficient x value <= high   for every row,
///   low <= value <= high for every column, and whole numbers where a column says so.
struct MipColumn {
    double low = 0.0, high = 1.0;  ///< may be infinite
    bool whole = false;
    double objective = 0.0;
};
struct MipRow {
    double low = 0.0, high = 0.0;               ///< may be infinite, not both
    std::vector<std::pair<int, double>> terms;  ///< column and coefficient; a column at most once
};
struct MipProblem {
    std::vector<MipColumn> columns;
    std::vector<MipRow> rows;
    int add(const MipColumn& column);  ///< its index
    int yes_or_no(double objective = 0.0);
    void at_most(double high, std::vector<std::pair<int, double>> terms);
    void at_least(double low, std::vector<std::pair<int, double>> terms);
};

struct MipSettings {
    /// The search ends after so many nodes, never by the clock, so that the same problem has the same answer on a slow
    /// machine and a fast one.
    int most_nodes = 20000;
    std::optional<double> most_seconds =
        std::nullopt;  ///< only where somebody asks; the answer then hangs on the clock
    /// The search may end where the bound is no further than this share of the answer; `bound` then says so much.
    double relative_gap = 0.0;
    std::vector<double> start = {};  ///< a value a column: a first answer, left aside if it breaks a row
};

struct MipResult {
    enum class Status {
        best,     ///< proved: nothing is better by more than the tolerance, or than `relative_gap` where one is given
        stopped,  ///< the best found before the nodes ran out; `bound` says what may be left
        none,     ///< nothing keeps to the rows
        endless,  ///< no answer is the best one: it can grow without end
        unknown   ///< the nodes ran out before anything was found, or what was found breaks a row
    };
    Status status = Status::unknown;
    std::vector<double> values;  ///< of the columns, whole ones exactly whole; empty unless best or stopped
    double objective = 0.0;      ///< of `values`, summed here and not by the solver
    double bound = 0.0;          ///< no answer is above it
    int nodes = 0;
    bool has_values() const { return !values.empty(); }
    double gap() const;  ///< (bound - objective) / max(1, |objective|)
};

/// How far a row or bound may be missed by an answer, relative to max(1, the largest term of the row): rounding whole
/// columns leaves as much as the solver's own 1e-7 primal tolerance does.
constexpr double mip_tolerance = 1e-6;

/// The best answer by branch and cut, in one thread. The answer is held against every row here before it is given.
/// Source: the solver is CBC (COIN-OR branch and cut; Forrest & Lougee-Heimer (2005), CBC User Guide, INFORMS Tutorials
/// in Operations Research, 257-277), of which nothing but this knows.
/// @throws Error  a coefficient or objective that is no number; a row with a column that is not there or there twice;
///   bounds that cross; a start of another length
MipResult solve_mip(const MipProblem& problem, const MipSettings& settings = {});

/// By how much the values miss the worst row, bound or whole number, relative as above; 0: they keep to everything.
double worst_miss(const MipProblem& problem, const std::vector<double>& values);

/// The problem as a text in the LP format, columns x0, x1 and on, so that any other solver can be asked the same.
std::string lp_text(const MipProblem& problem);

}  // namespace models
