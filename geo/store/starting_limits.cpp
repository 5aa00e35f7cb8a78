#include "geo/store/starting_limits.h"

#include <algorithm>
#include <string_view>
#include <utility>

#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace embedded {
std::vector<std::pair<std::string_view, std::string_view>> starting_tables();
}

namespace geo {

void load_starting_limits(Store& store) {
    for (const auto& [name, content] : embedded::starting_tables()) {
        if (name != "starting_limits.csv") continue;
        const ImportReport report =
            importing::import_own_table(store, tables::kind_named("limits"), std::string(content), std::string(name));
        if (!report.refused.empty())
            throw models::Error("the limits that ship are broken: " + to_text(report.refused[0]));
    }
}

std::optional<models::Limit> limit_in_force(const std::vector<models::Limit>& limits, const std::string& jurisdiction,
                                            const std::string& commodity, models::Purpose purpose,
                                            const std::string& stage, models::LocalDay day) {
    static const std::vector<std::string> cereals = {"wheat", "durum", "barley", "oats", "maize", "rye", "triticale"};
    const auto fits = [&](const models::Limit& limit, const std::string& wanted) {
        return limit.jurisdiction == jurisdiction && limit.commodity == wanted && limit.purpose == purpose &&
               (stage.empty() || limit.stage == stage) && (!limit.from || *limit.from <= day) &&
               (!limit.to || day <= *limit.to);
    };
    for (const models::Limit& limit : limits) {
        if (fits(limit, commodity)) return limit;
    }
    if (std::find(cereals.begin(), cereals.end(), commodity) == cereals.end()) return std::nullopt;
    for (const models::Limit& limit : limits) {
        if (fits(limit, "cereals")) return limit;
    }
    return std::nullopt;
}

}  // namespace geo
