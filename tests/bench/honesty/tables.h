#pragma once

#include <string>
#include <vector>

#include "tests/bench/honesty/record.h"

namespace honesty {

/// Every figure of the study: a row of the summary table.
struct Figure {
    std::string world, cell, statistic, group;  ///< group: "all", "season sd, lowest third"
    double value = 0.0, low95 = 0.0, high95 = 0.0;
    int seasons = 0;
};

/// Prints the tables of the records and gives their figures.
std::vector<Figure> print_tables(const std::vector<Record>& records);

/// @throws std::runtime_error  the file cannot be written
void write_csv(const std::string& file, const std::vector<Figure>& figures);

}  // namespace honesty
