#include "models/contamination/priors.h"

#include <cmath>

#include <fmt/format.h>

namespace models {

std::vector<std::string> describe(const ContaminationPriors& p) {
    std::vector<std::string> said;
    if (p.flat_coefficients) {
        said.push_back("Level and slope on the disease risk: no prior, from the results alone.");
    } else {
        said.push_back(
            fmt::format("Level: {:.3g} mg/kg in an average season where the logit of the disease risk is -1, times or "
                        "divided by {:.3g} (one standard deviation of the log, {:g}); ours.",
                        std::exp(p.level_mean), std::exp(p.level_sd), p.level_sd));
        said.push_back(
            fmt::format("Slope: the log of the content rises by {:g} +- {:g} for each unit of the logit. A maize "
                        "forecrop is published to multiply DON by 2 to 3 and moves the disease model by 0.766: "
                        "ln 2 / 0.766 = 0.90, ln 3 / 0.766 = 1.43.",
                        p.slope_mean, p.slope_sd));
    }
    if (p.fixed.active) {
        said.push_back(
            fmt::format("Standard deviations of logs are fixed: seasons {:g}, fields {:g}, places within a field "
                        "{:g}, kit lots {:g}{}.",
                        p.fixed.season_sd, p.fixed.field_sd, p.fixed.within_sd, p.fixed.lot_sd,
                        p.fixed.region_sd > 0.0 ? fmt::format(", regions within a season {:g} with a range of {:g} m",
                                                              p.fixed.region_sd, p.fixed.range_m)
                                                : ""));
        if (p.fixed.free_share > 0.0)
            said.push_back(
                fmt::format("A share of {:.3g} % of the fields without any DON is fixed.", 100.0 * p.fixed.free_share));
    } else {
        said.push_back(fmt::format("Seasons differ by a standard deviation of the log that is |N(0, {:g})|; ours.",
                                   p.season_sd_scale));
        said.push_back(
            fmt::format("Fields of one season differ beyond their risk by a standard deviation of the log of {:g}, "
                        "times or divided by {:.3g}; ours (Kriss et al. 2012 found fields within a county to "
                        "differ much, places within a field far less).",
                        p.field_sd_median, std::exp(p.field_sd_spread)));
        said.push_back(
            fmt::format("Places within a field differ by a standard deviation of the log of {:g}, times or divided "
                        "by {:.3g}; ours.",
                        p.within_sd_median, std::exp(p.within_sd_spread)));
        said.push_back(fmt::format(
            "Kit lots and runs differ by a standard deviation of the log that is |N(0, {:g})|; ours.", p.lot_sd_scale));
        said.push_back(fmt::format(
            "Where fields have a place, regions within a season differ by a standard deviation of the log that is "
            "|N(0, {:g})|, alike by exp(-distance / range), the range {:g} km times or divided by {:.3g}; ours (the "
            "weather and the inoculum of a district; no range is published).",
            p.region_sd_scale, p.range_median_m / 1000.0, std::exp(p.range_spread)));
        said.push_back(p.free_share_median > 0.0
                           ? fmt::format("Where the results of a field are all below the range, a share of the fields "
                                         "holds no DON at all: {:.3g} %, its odds times or divided by {:.3g}; ours.",
                                         100.0 * p.free_share_median, std::exp(p.free_share_spread))
                           : std::string("Every field holds some DON; ours."));
    }
    said.push_back(
        fmt::format("Grain threshed from standing heads differs from delivered grain by an unknown factor, the same "
                    "in all fields: log N(0, {:g}^2); ours.",
                    p.standing_offset_sd));
    said.push_back(
        fmt::format("Fields tested for a reason outside the model (looked bad, asked for, not recorded) share an "
                    "unknown shift of the log a season: N(0, {:g}^2); ours.",
                    p.outside_choice_sd));
    said.push_back(
        fmt::format("A field without a disease risk has the spread of its season's fields; where no field has one, a "
                    "logit of {:g} +- {:g}; ours.",
                    p.unknown_risk_mean, p.unknown_risk_sd));
    said.push_back(fmt::format("Bought grain of unknown fields: {:.3g} mg/kg, times or divided by {:.3g}; ours.",
                               std::exp(p.bought_mean), std::exp(p.bought_sd)));
    said.push_back(
        fmt::format("A composite that does not say has {} increments; ours. A load of a field varies like the mean "
                    "of {:g} places of it; ours. Increments within one load vary by {:g} % (one 26 t truck, 100 "
                    "increments: Biselli et al. 2008).",
                    p.assumed_increments, p.load_places, 100.0 * p.within_load_cv));
    return said;
}

}  // namespace models
