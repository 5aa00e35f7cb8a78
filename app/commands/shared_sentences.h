#pragma once

#include <map>
#include <string>
#include <vector>

namespace app::commands {

/// What many rows of a table say alike is said once, under the table, and stands in its rows as (a), (b) ... Rows are
/// lists of sentences parted by "; ": each counts by itself.
class SharedSentences {
 public:
    void count(const std::string& row);
    std::string in_table(const std::string& row);
    void print_under() const;

 private:
    std::string shortened(const std::string& sentence);

    std::map<std::string, int> rows_;
    std::vector<std::string> said_;
};

}  // namespace app::commands
