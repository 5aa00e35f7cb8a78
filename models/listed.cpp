#include "models/listed.h"

#include "models/spoken.h"

namespace models {

std::string listed(const std::vector<std::string>& names) {
    std::string list;
    for (std::size_t i = 0; i < names.size(); ++i)
        list += (i == 0 ? std::string() : i + 1 == names.size() ? phrase(" and ") : std::string(", ")) + names[i];
    return list;
}

}  // namespace models
