#pragma once

#include <array>
#include <cstdint>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "models/contamination/contamination.h"
#include "tests/support/season_simulator.h"

namespace honesty {

inline constexpr double limit_mg_per_kg = 1.0;
/// A tonne over the limit that is taken costs so many times one under it that is turned away.
inline constexpr double wrong_acceptance = 4.0;
/// Contents below this are all one where it is said so: the errors of a strip are not documented further down.
inline constexpr double least_told_mg_per_kg = 0.05;

/// What one fit said of the fields of the season that counts, held against their truth: sums over the fields.
struct Tally {
    double fields = 0.0, with_don = 0.0;
    double held90 = 0.0, held50 = 0.0;  ///< a field without any DON is held where the low end is 0
    double held90_with_don = 0.0;       ///< of the fields with DON
    double held90_as_told = 0.0;        ///< contents and ends of intervals under least_told_mg_per_kg taken as that
    /// The next two take contents under least_told_mg_per_kg as that, the truth and what is said alike: a quantile
    /// keeps its place under any scale that rises, so the score is as fair as on the logarithm and finite at 0.
    double width90 = 0.0;        ///< ln high90 / low90
    double pinball = 0.0;        ///< five quantiles, natural logarithm, over all fields
    double loss = 0.0;           ///< of accept / reject, each field one tonne
    double expected_loss = 0.0;  ///< the same as the fit itself expects it
    double brier = 0.0;
    std::array<double, 10> predicted{}, observed{}, count{};  ///< exceedances in ten bins of equal width

    void add(const models::ContaminationModel& model, const std::vector<double>& truth_mg_per_kg, std::size_t first);
    void add(const Tally& other);
    double reliability() const;
};

/// One simulated season in one cell or world.
struct Record {
    std::uint64_t seed = 0;
    std::string world;      ///< "assumed" or one that the model does not assume
    std::string placement;  ///< empty where nothing is tested
    int tests = 0;
    double season_sd = 0.0, field_sd = 0.0, region_sd = 0.0, range_km = 0.0, slope = 0.0;
    Tally ours;
    std::optional<Tally> exact;        ///< under the season's true parameters
    std::vector<std::string> notes;    ///< what the user is told, figures as #, each once
    std::vector<std::string> doubted;  ///< assumptions that the model doubts, by name
    std::vector<std::string> warned;   ///< those that a line under the table speaks of
    bool region_supported = false;
    double effective = 0.0;  ///< number of points that the averages rest on
    int unsettled = 0;
};

/// A line of JSON each, so that slices can be run apart and read together.
void write(std::ostream& out, const Record& record);
/// @throws std::runtime_error  names the file and the line
std::vector<Record> read_records(const std::vector<std::string>& files);

}  // namespace honesty
