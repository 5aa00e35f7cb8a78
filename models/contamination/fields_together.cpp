#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "models/contamination/fields_without_don.h"
#include "models/contamination/model_state.h"
#include "models/error.h"

namespace models {

namespace con = contamination;

FieldsTogether ContaminationModel::fields_together(const std::vector<std::size_t>& field_seasons) const {
    const State& state = *state_;
    const con::Layout& layout = state.layout;
    if (ranking_only())
        throw Error("there is no DON result that contents of fields could rest on", "", "import tests first");
    if (field_seasons.empty()) throw Error("no field is asked for");
    std::vector<con::Item> items;
    std::set<std::size_t> seen;
    for (const std::size_t f : field_seasons) {
        if (f >= layout.input().field_seasons.size())
            throw Error(fmt::format("there is no field-season number {}", f), "",
                        fmt::format("give one from 0 to {}", layout.input().field_seasons.size() - 1));
        if (!seen.insert(f).second)
            throw Error(con::field_season_name(layout.input().field_seasons[f]) + " is asked for twice", "",
                        "add its shares up");
        items.push_back({con::LocalKind::field, f});
    }
    FieldsTogether together;
    for (const con::PointPosterior& point : state.points) {
        // Of very many fields only variances are kept, which are enough for one of them.
        const bool whole = items.size() == 1 || state.loads_of_point.empty();
        con::JointLaw law = con::joint_law(
            layout, state.linearisation,
            whole ? point : con::point_posterior(layout, state.linearisation, point.parameters, point.sites), items);
        con::give_don(layout, point, items, law);
        law.covariance.diagonal() = law.covariance.diagonal().cwiseMax(0.0);
        Eigen::VectorXd none(law.mean.size());
        for (std::size_t k = 0; k < items.size(); ++k)
            none[static_cast<Eigen::Index>(k)] = con::chance_without_don(layout, point, items[k].index);
        together.points.push_back({point.weight, std::move(law.mean), std::move(law.covariance),
                                   point.parameters.within_sd, std::move(none)});
    }
    return together;
}

}  // namespace models
