#pragma once

#include <string>
#include <vector>

namespace geo {
class Store;
struct ImportReport;
}  // namespace geo

namespace app::commands {

/// What `add` and `import` tell of the records that just went in, the same words in both: of moves what is wrong with
/// the grain in its new place, of corrected bins and loads the moves that cannot have happened any more, of tests and
/// controls which control reads outside what it accepts, of tests with signals what they give, of calibrators the curve
/// that is fitted to them, of loads the fields that yield more than a crop can. Sentences without their full stop.
std::vector<std::string> cautions_of_records(const geo::Store& store, const geo::ImportReport& report);

}  // namespace app::commands
