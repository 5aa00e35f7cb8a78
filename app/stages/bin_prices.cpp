#include "app/stages/bin_prices.h"

#include <algorithm>

#include <fmt/format.h>

#include "models/spoken.h"

namespace app {

namespace {

/// Tonnes that lie in bins under the limit, and that left them for a buyer who kept them.
double delivered_t(const std::string& limit_id, const std::vector<models::BinForPlan>& bins,
                   const models::BinLedger& ledger) {
    double sum = 0.0;
    for (const models::BinForPlan& bin : bins) {
        if (!bin.limit || bin.limit->limit_id != limit_id) continue;
        sum += bin.content_t;
        for (const models::OutboundLot& lot : ledger.outbound) {
            if (lot.from != bin.bin.bin || lot.rejected) continue;
            for (const models::GrainPortion& portion : lot.portions) sum += portion.mass_t();
        }
    }
    return sum;
}

}  // namespace

std::optional<models::PlanPrices> prices_of_bins(const SeasonData& data, const std::vector<models::BinForPlan>& bins,
                                                 const models::BinLedger& ledger, std::vector<std::string>& notes) {
    models::PlanPrices prices;
    std::optional<double> lowest_food, lowest_feed, highest_feed;
    for (const models::Contract& contract : data.contracts) {
        const auto sold = [&](models::Purpose purpose) {
            return std::any_of(bins.begin(), bins.end(), [&](const models::BinForPlan& bin) {
                return bin.bin.purpose == purpose && bin.limit && !contract.limit_id.empty() &&
                       bin.limit->limit_id == contract.limit_id;
            });
        };
        const bool food = sold(models::Purpose::food), feed = sold(models::Purpose::feed);
        if (!food && !feed && !sold(models::Purpose::other)) continue;
        if (!contract.price_per_t) {
            notes.push_back(
                models::phrase("contract {} has no price_per_t and has no part in the plan", contract.contract));
            continue;
        }
        models::ContractForPlan sale;
        sale.contract = contract.contract;
        sale.limit_id = contract.limit_id;
        sale.price_per_t = *contract.price_per_t;
        for (const auto& step : contract.steps) sale.steps.push_back({step.from_mg_per_kg, step.price_change_per_t});
        if (contract.tonnes)
            sale.tonnes_left = std::max(0.0, *contract.tonnes - delivered_t(contract.limit_id, bins, ledger));
        for (const models::ContractForPlan& other : prices.contracts) {
            if (other.limit_id != sale.limit_id) continue;
            notes.push_back(
                models::phrase("contracts {} and {} name the same limit: the plan sells under the dearer one",
                               other.contract, sale.contract));
        }
        const double price = sale.price_per_t;
        if (food) lowest_food = std::min(lowest_food.value_or(price), price);
        if (feed) lowest_feed = std::min(lowest_feed.value_or(price), price);
        if (feed) highest_feed = std::max(highest_feed.value_or(price), price);
        prices.contracts.push_back(std::move(sale));
    }
    if (prices.contracts.empty()) return std::nullopt;
    prices.food_per_t = lowest_food ? *lowest_food : highest_feed.value_or(0.0);
    prices.feed_per_t = lowest_feed.value_or(0.0);
    prices.assumed = models::phrase(
        "Where no contract takes it a tonne of food grain is taken to bring {:.2f} ({}), of feed "
        "{:.2f}, of other 0.",
        prices.food_per_t,
        lowest_food ? models::phrase("the lowest contract for food")
                    : models::phrase("as the dearest contract for feed"),
        prices.feed_per_t);
    const auto cost = std::find_if(data.costs.begin(), data.costs.end(),
                                   [](const models::Cost& one) { return one.name == "wrong_acceptance_per_t"; });
    if (cost != data.costs.end()) {
        prices.wrong_acceptance_per_t = cost->value;
    } else {
        prices.assumed +=
            models::phrase(" A spoilt tonne is taken to cost nothing more: the costs have no wrong_acceptance_per_t.");
    }
    return prices;
}

}  // namespace app
