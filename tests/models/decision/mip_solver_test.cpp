#include "models/decision/mip_solver.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <limits>
#include <random>
#include <sstream>
#include <thread>
#include <tuple>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <unistd.h>

#include "models/error.h"

namespace {

constexpr double no_end = std::numeric_limits<double>::infinity();
using Status = models::MipResult::Status;

struct MipDice {
    std::mt19937_64 engine;
    int below(int n) { return static_cast<int>(engine() % static_cast<std::uint64_t>(n)); }
    double between(double low, double high) {
        return low + (high - low) * static_cast<double>(engine() >> 11) * 0x1p-53;
    }
};

/// Loads to bins with extra rows of either sense, whole and continuous columns; a few of them cannot be kept to.
models::MipProblem random_choice(MipDice& dice, int columns, int rows, bool only_whole) {
    models::MipProblem problem;
    for (int c = 0; c < columns; ++c) {
        const bool whole = only_whole || dice.below(4) > 0;
        problem.add({0.0, whole ? 1.0 + dice.below(2) : 3.0, whole, std::round(dice.between(-40.0, 100.0)) / 8.0});
    }
    for (int r = 0; r < rows; ++r) {
        std::vector<std::pair<int, double>> terms;
        for (int c = 0; c < columns; ++c) {
            if (dice.below(2)) terms.push_back({c, std::round(dice.between(-8.0, 40.0)) / 4.0});
        }
        const double side = std::round(dice.between(2.0, 10.0 + columns));
        if (dice.below(4) == 0) {
            problem.at_least(side / 4.0, terms);
        } else {
            problem.at_most(side, terms);
        }
    }
    return problem;
}

}  // namespace

TEST_CASE("of all ways through small choices none is better than the answer") {
    MipDice dice{std::mt19937_64(31)};
    int none = 0;
    for (int round = 0; round < 300; ++round) {
        const int columns = 1 + dice.below(7);
        const auto problem = random_choice(dice, columns, 1 + dice.below(5), true);
        double best = -no_end;
        std::vector<double> values(problem.columns.size(), 0.0);
        for (;;) {
            bool keeps = true;
            double objective = 0.0;
            for (const auto& row : problem.rows) {
                double sum = 0.0;
                for (const auto& [c, k] : row.terms) sum += k * values[static_cast<std::size_t>(c)];
                keeps = keeps && sum >= row.low && sum <= row.high;
            }
            for (std::size_t c = 0; c < values.size(); ++c) objective += problem.columns[c].objective * values[c];
            if (keeps) best = std::max(best, objective);
            std::size_t c = 0;
            while (c < values.size() && ++values[c] > problem.columns[c].high) values[c++] = 0.0;
            if (c == values.size()) break;
        }
        const auto result = models::solve_mip(problem);
        INFO("round " << round);
        if (best == -no_end) {
            ++none;
            CHECK(result.status == Status::none);
            CHECK(result.values.empty());
            continue;
        }
        REQUIRE(result.status == Status::best);
        CHECK(result.objective == Approx(best).epsilon(0.0).margin(1e-9));  // eighths and quarters: exact in binary
        CHECK(result.gap() == 0.0);
        CHECK(models::worst_miss(problem, result.values) == 0.0);
    }
    CHECK(none > 5);
    CHECK(none < 200);
}

TEST_CASE("another solver finds the same best value of a hundred random choices") {
    // GLPK 5.0 reads the LP text that is written for it: glpsol --lp. In tests/run it is always there.
    if (std::system("command -v glpsol >/dev/null 2>&1") != 0) {
        WARN("SKIPPED: glpsol (package glpk-utils) is not installed");
        return;
    }
    const auto folder = std::filesystem::temp_directory_path() / fmt::format("lodicule-mip-{}", getpid());
    std::filesystem::create_directories(folder);
    MipDice dice{std::mt19937_64(77)};
    int none = 0, best = 0;
    for (int round = 0; round < 100; ++round) {
        const auto problem = random_choice(dice, 4 + dice.below(10), 2 + dice.below(7), false);
        std::ofstream(folder / "choice.lp") << models::lp_text(problem);
        const std::string command =
            fmt::format("glpsol --lp '{0}/choice.lp' -w '{0}/out.txt' >'{0}/log.txt' 2>&1", folder.string());
        INFO("round " << round);
        REQUIRE(std::system(command.c_str()) == 0);
        // "s mip ROWS COLUMNS STATUS VALUE": o is proved best, n is none; "s bas" where no column is whole.
        std::ifstream out(folder / "out.txt");
        std::string line, status;
        double value = 0.0;
        while (std::getline(out, line)) {
            std::istringstream words(line);
            std::string s, kind, rows, columns;
            if (!(words >> s) || s != "s" || !(words >> kind >> rows >> columns >> status)) continue;
            if (kind == "bas") words >> status;  // primal and dual status: the optimum has both feasible
            words >> value;
        }
        const auto result = models::solve_mip(problem);
        if (status == "o" || status == "f") {
            ++best;
            REQUIRE(result.status == Status::best);
            CHECK(result.objective == Approx(value).epsilon(1e-6).margin(1e-6));  // both stop at a tolerance of 1e-7
        } else {
            ++none;
            CHECK(result.status == Status::none);
        }
    }
    CHECK(best > 60);
    CHECK(none > 3);
    std::filesystem::remove_all(folder);
}

TEST_CASE("a search that is cut short still says how much better an answer could be") {
    MipDice dice{std::mt19937_64(9)};
    models::MipProblem knapsack;
    std::vector<std::vector<std::pair<int, double>>> sides(5);
    for (int c = 0; c < 60; ++c) {
        const int column = knapsack.yes_or_no(std::round(dice.between(10.0, 99.0)));
        for (auto& side : sides) side.push_back({column, std::round(dice.between(10.0, 99.0))});
    }
    for (auto& side : sides) knapsack.at_most(900.0, side);
    models::MipSettings few;
    few.most_nodes = 5;
    few.start.assign(60, 0.0);
    const auto short_search = models::solve_mip(knapsack, few);
    REQUIRE(short_search.has_values());
    models::MipSettings many;
    many.most_nodes = 3000;
    const auto long_search = models::solve_mip(knapsack, many);
    REQUIRE(long_search.has_values());
    CHECK(short_search.status == Status::stopped);
    CHECK(short_search.gap() > 0.0);
    CHECK(short_search.bound >= long_search.objective);
    CHECK(long_search.objective >= short_search.objective);
    CHECK(long_search.bound <= short_search.bound + 1e-9);
    // The start is never lost: it is the answer where nothing better was found.
    few.most_nodes = 0;
    few.start[7] = 1.0;
    CHECK(models::solve_mip(knapsack, few).objective >= knapsack.columns[7].objective);
}

TEST_CASE("a choice has the same answer however often and from however many threads it is asked") {
    MipDice dice{std::mt19937_64(5)};
    const auto problem = random_choice(dice, 24, 12, false);
    const auto alone = models::solve_mip(problem);
    std::array<models::MipResult, 4> together;
    {
        std::vector<std::jthread> threads;
        for (auto& result : together) threads.emplace_back([&] { result = models::solve_mip(problem); });
    }
    for (const auto& result : together) {
        CHECK(result.values == alone.values);
        CHECK(result.nodes == alone.nodes);
    }
}

TEST_CASE("a first answer does not end the search where every choice is one of a set") {
    // Loads of which each goes into one bin at most: the solver sees sets of columns and would add some of its own.
    for (const auto& [loads, bins, room] :
         {std::tuple{6, 10, 30.0}, std::tuple{10, 6, 25.0}, std::tuple{12, 9, 35.0}}) {
        INFO(loads << " loads, " << bins << " bins of " << room << " t");
        models::MipProblem problem;
        std::vector<std::vector<std::pair<int, double>>> inside(static_cast<std::size_t>(bins));
        for (int l = 0; l < loads; ++l) {
            std::vector<std::pair<int, double>> once;
            for (int b = 0; b < bins; ++b) {
                const int column = problem.yes_or_no(1.0 + (7 * l + 13 * b) % 11);
                once.push_back({column, 1.0});
                inside[static_cast<std::size_t>(b)].push_back({column, 10.0 + (5 * l) % 7});
            }
            problem.at_most(1.0, once);
        }
        for (const auto& grain : inside) problem.at_most(room, grain);
        models::MipSettings settings;
        settings.start.assign(problem.columns.size(), 0.0);
        settings.start.front() = 1.0;
        const models::MipResult started = models::solve_mip(problem, settings), fresh = models::solve_mip(problem);
        CHECK(started.status == Status::best);
        CHECK(fresh.status == Status::best);
        CHECK(started.objective == Approx(fresh.objective).epsilon(0.0).margin(1e-6));
        CHECK(started.objective > problem.columns.front().objective + 0.5);
    }
}

TEST_CASE("choices without an answer, without an end and without a question are told apart") {
    models::MipProblem problem;
    const int x = problem.yes_or_no(1.0);
    problem.at_least(2.0, {{x, 1.0}});
    CHECK(models::solve_mip(problem).status == Status::none);
    models::MipProblem endless;
    endless.add({0.0, no_end, false, 1.0});
    endless.at_least(0.0, {{0, 1.0}});
    CHECK(models::solve_mip(endless).status == Status::endless);
    CHECK(models::solve_mip({}).status == Status::best);
    // Without a whole column it is a linear problem: x + y <= 1.5 with x at most 1.
    models::MipProblem linear;
    linear.add({0.0, 1.0, false, 2.0});
    linear.add({0.0, no_end, false, 1.0});
    linear.at_most(1.5, {{0, 1.0}, {1, 1.0}});
    const auto result = models::solve_mip(linear);
    CHECK(result.status == Status::best);
    CHECK(result.objective == Approx(2.5));
}

TEST_CASE("a choice without sense is refused") {
    models::MipProblem problem;
    const int x = problem.yes_or_no(1.0);
    auto wrong = problem;
    wrong.at_most(1.0, {{7, 1.0}});
    CHECK_THROWS_WITH(models::solve_mip(wrong), Catch::Contains("row 0: there is no column 7"));
    wrong = problem;
    wrong.at_most(1.0, {{x, 1.0}, {x, 2.0}});
    CHECK_THROWS_WITH(models::solve_mip(wrong), Catch::Contains("row 0: column 0 stands in it twice"));
    wrong = problem;
    wrong.at_most(1.0, {{x, std::nan("")}});
    CHECK_THROWS_WITH(models::solve_mip(wrong), Catch::Contains("a coefficient is no number"));
    wrong = problem;
    wrong.columns[0].low = 2.0;
    CHECK_THROWS_WITH(models::solve_mip(wrong), Catch::Contains("column 0: bounds from 2 to 1 hold nothing"));
    wrong = problem;
    wrong.columns[0].objective = no_end;
    CHECK_THROWS_WITH(models::solve_mip(wrong), Catch::Contains("an objective is no number"));
    models::MipSettings settings;
    settings.start = {1.0, 0.0};
    CHECK_THROWS_WITH(models::solve_mip(problem, settings), Catch::Contains("the start has 2 values for 1 columns"));
}
