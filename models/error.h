#pragma once

#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace models {

/// Something the user has to know and can mend: what happened, where, and how to mend it. The three are one
/// readable sentence in what(); a part that says nothing is left empty and is left out.
///
///     throw Error("\"1,25 ppx\" has no known unit", "tests.csv, row 12, column don", "write mg/kg, ppm, ug/kg or
///     ppb");
///     -> tests.csv, row 12, column don: "1,25 ppx" has no known unit. To mend it: write mg/kg, ppm, ug/kg or ppb.
///
/// A fit that does not settle is a result, a bad row is data, absence is std::optional, and a promise of our own that
/// is broken is an assert: none of them is an Error.
class Error : public std::runtime_error {
 public:
    explicit Error(std::string what_happened, std::string where = "", std::string how_to_mend = "");

    const std::string& what_happened() const { return what_happened_; }
    const std::string& where() const { return where_; }
    const std::string& how_to_mend() const { return how_to_mend_; }

 private:
    std::string what_happened_;
    std::string where_;
    std::string how_to_mend_;
};

/// The user asked to stop. Thrown by Progress::step, caught where the work was started.
class Cancelled : public std::runtime_error {
 public:
    Cancelled() : std::runtime_error("stopped on request") {}
};

/// The known name nearest to a misspelt one (Damerau-Levenshtein distance of at most a third of its length, at least
/// one), or an empty string where none is near. For refusals: `unknown column "flowring_date"; did you mean ...`.
std::string nearest_name(std::string_view wrong, const std::vector<std::string>& known);

}  // namespace models
