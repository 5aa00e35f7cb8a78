#include "app/stages/limits_stage.h"

#include <catch2/catch.hpp>

using namespace app;

namespace {

models::Limit limit_named(const char* id, const char* commodity, models::Purpose purpose = models::Purpose::food) {
    models::Limit limit;
    limit.limit_id = id;
    limit.commodity = commodity;
    limit.purpose = purpose;
    limit.limit_mg_per_kg = 1.0;
    return limit;
}

std::vector<std::string> ids_of(const std::vector<models::Limit>& limits) {
    std::vector<std::string> ids;
    for (const models::Limit& limit : limits) ids.push_back(limit.limit_id);
    return ids;
}

}  // namespace

TEST_CASE("limits of the grain in force at the harvest come before all others and the bins' own first") {
    SeasonData data;
    models::CropRecord crop;
    crop.season = 2030;
    data.crops = {crop};
    crop.crop = models::Crop::barley;
    data.crops.push_back(crop);
    models::Limit old = limit_named("old wheat", "wheat");
    old.to = models::LocalDay(std::chrono::year(2029) / 6 / 30);
    models::Limit mill = limit_named("mill", "wheat");
    mill.kind = models::LimitKind::contract;
    data.limits = {limit_named("barley", "barley"),
                   limit_named("cereals", "cereals"),
                   limit_named("cattle", "grain and by-products", models::Purpose::feed),
                   limit_named("flour", "milling products"),
                   old,
                   limit_named("durum", "durum"),
                   limit_named("soft", "soft wheat"),
                   limit_named("of the bin", "maize"),
                   limit_named("wheat", "wheat"),
                   mill};
    models::Bin bin;
    bin.bin = "S1";
    bin.limit_id = "of the bin";
    data.bins = {bin};
    const LimitsToChoose limits = limits_to_choose(data, 2030);
    CHECK(ids_of(limits.fitting) ==
          std::vector<std::string>{"of the bin", "mill", "soft", "wheat", "cereals", "cattle"});
    CHECK(ids_of(limits.others) == std::vector<std::string>{"barley", "flour", "old wheat", "durum"});
    data.crops[0].crop = models::Crop::durum;
    CHECK(ids_of(limits_to_choose(data, 2030).fitting) ==
          std::vector<std::string>{"of the bin", "durum", "cereals", "cattle"});
}
