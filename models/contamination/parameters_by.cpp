#include <algorithm>
#include <string>
#include <vector>

#include "models/contamination/contamination.h"
#include "models/error.h"

namespace models {

namespace {

const std::vector<std::string>& parameter_ways() {
    static const std::vector<std::string> names = {"usual", "integrated", "most-probable", "restricted-likelihood"};
    return names;
}

}  // namespace

std::string_view name_of(ParametersBy way) {
    return parameter_ways()[static_cast<std::size_t>(way)];
}

ParametersBy parameters_by_named(std::string_view name) {
    const std::vector<std::string>& names = parameter_ways();
    const auto found = std::find(names.begin(), names.end(), name);
    if (found != names.end()) return static_cast<ParametersBy>(found - names.begin());
    const std::string near = nearest_name(name, names);
    throw Error("there is no way \"" + std::string(name) + "\" of dealing with standard deviations and range" +
                    (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                "", "write usual, integrated, most-probable or restricted-likelihood");
}

}  // namespace models
