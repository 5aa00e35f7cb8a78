#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace models {

/// The known names that are near to one that nobody knows, the nearest first: those that begin with it in the order
/// given, then the others by the number of letters to change (Damerau and Levenshtein). Near are names that begin with
/// the same three letters, and those with at most a third of the wrong name's letters to change (one where it is
/// short). Empty where none is near: a name that has nothing to do with it helps nobody.
std::vector<std::string> nearest_names(std::string_view wrong, const std::vector<std::string>& known,
                                       std::size_t most = 3);

/// How to mend an unknown name: "use one of a, b, c" where few are known, else "did you mean a, b or c? `...` lists
/// all", or, where no name is near, "use one of the 48 that `...` lists"; "there is none yet" where none is.
/// @param listing  the command that lists them all, such as "lodicule export STORE limits --out -"
std::string mend_of_unknown_name(std::string_view wrong, const std::vector<std::string>& known,
                                 const std::string& listing);

}  // namespace models
