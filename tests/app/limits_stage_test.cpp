#include "app/stages/limits_stage.h"

#include <catch2/catch.hpp>

#include "models/decision/limit_rule.h"

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

TEST_CASE("durum among wheat has the limit of durum named beside the one that all fields are judged by") {
    SeasonData data;
    for (const models::Crop crop : {models::Crop::wheat, models::Crop::wheat, models::Crop::durum}) {
        models::CropRecord record;
        record.season = 2030;
        record.crop = crop;
        data.crops.push_back(record);
    }
    models::Limit durum = limit_named("of durum", "durum"), over = durum;
    durum.limit_mg_per_kg = 1.5;
    over.limit_id = "over";
    over.to = models::LocalDay(std::chrono::year(2029) / 6 / 30);
    models::Limit feed = limit_named("feed", "durum", models::Purpose::feed);
    data.limits = {limit_named("of wheat", "wheat"), limit_named("of cereals", "cereals"), over, feed, durum};
    const models::Limit& wheat = data.limits[0];
    const auto of = [&](const models::Limit& asked, models::Crop crop) {
        const auto found = limit_of_grain(data, 2030, asked, crop);
        return found ? found->limit_id : std::string("none");
    };
    CHECK(of(wheat, models::Crop::durum) == "of durum");
    CHECK(of(wheat, models::Crop::wheat) == "none");
    CHECK(of(durum, models::Crop::durum) == "none");
    CHECK(of(data.limits[1], models::Crop::durum) == "none");  // cereals are all of them
    // A number by hand is meant for what most fields are.
    const models::Limit by_hand = models::limit_from_text("1.0", data.limits);
    CHECK(of(by_hand, models::Crop::durum) == "of durum");
    CHECK(of(by_hand, models::Crop::wheat) == "none");
    CHECK(of(models::limit_from_text("1.5", data.limits), models::Crop::durum) == "none");  // the same number
    // Judged on another basis the numbers say nothing of one another.
    models::Limit dry = wheat;
    dry.basis = models::Basis::dry;
    CHECK(of(dry, models::Crop::durum) == "none");
    data.limits.pop_back();
    CHECK(of(wheat, models::Crop::durum) == "none");
}
