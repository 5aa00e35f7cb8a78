#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "app/stages/bins_stage.h"
#include "app/stages/pit_stage.h"
#include "app/stages/season_data.h"

/// Loads at a pit with four bins, built from records without a store, and what the stages say of them.
namespace loads_at_pit {

inline models::Stamp july(int day, int hour) {
    return *models::parse_stamp("2026-07-" + std::to_string(day) + "T" + (hour < 10 ? "0" : "") + std::to_string(hour) +
                                ":00:00+02:00");
}

/// Food bins S and T under 1.0 mg/kg, a feed bin F under 4.0 and a hold bin H; loads of 10 t.
inline app::SeasonData pit_of(const std::vector<std::string>& loads) {
    app::SeasonData data;
    data.seasons = {2026};
    for (const auto& [id, number, purpose] :
         {std::tuple{"food", 1.0, models::Purpose::food}, std::tuple{"feed", 4.0, models::Purpose::feed}}) {
        models::Limit limit;
        limit.limit_id = id;
        limit.limit_mg_per_kg = number;
        limit.purpose = purpose;
        limit.mixing = models::Mixing::forbidden;
        limit.from = models::day_of(2026, 1, 1);
        data.limits.push_back(limit);
    }
    for (const auto& [name, purpose, limit] :
         {std::tuple{"S", models::Purpose::food, "food"}, std::tuple{"T", models::Purpose::food, "food"},
          std::tuple{"F", models::Purpose::feed, "feed"}, std::tuple{"H", models::Purpose::hold, ""}}) {
        models::Bin bin;
        bin.bin = name;
        bin.capacity_t = 100.0;
        bin.purpose = purpose;
        bin.limit_id = limit;
        bin.draw_off = models::DrawOff::first_in;
        data.bins.push_back(bin);
    }
    for (const std::string& name : loads) {
        models::Load load;
        load.load = name;
        load.net_t = 10.0;
        load.time = july(10, 8);
        data.load_by_name[name] = data.loads.size();
        data.loads.push_back(load);
    }
    return data;
}

inline void sampled(app::SeasonData& data, const std::string& sample, const std::string& load, const std::string& bin,
                    models::Stamp when, std::optional<double> reads) {
    models::Sample taken;
    taken.sample = sample;
    taken.load = load;
    taken.bin = bin;
    taken.stage = bin.empty() ? models::Stage::truck : models::Stage::bin;
    taken.taken_time = when;
    data.samples.push_back(taken);
    std::sort(data.samples.begin(), data.samples.end(),
              [](const auto& a, const auto& b) { return a.sample < b.sample; });
    if (!reads) return;
    models::Test test;
    test.test = "T-" + sample;
    test.sample = sample;
    test.don_mg_per_kg = *reads;
    test.time = when;
    data.tests.push_back(test);
}

inline void moved(app::SeasonData& data, const std::string& name, const std::string& from, const std::string& to,
                  models::Stamp when, models::MoveKind kind = models::MoveKind::dumped,
                  const std::string& advised = "") {
    models::Move move;
    move.move = name;
    move.from = from;
    move.to = to;
    move.mass_t = 10.0;
    move.time = when;
    move.kind = kind;
    move.advised_bin = advised;
    data.moves.push_back(move);
}

inline app::BinsView bins_of(const app::SeasonData& data) {
    app::BinsSettings settings;
    settings.season = 2026;
    settings.draws = 2000;
    return app::bins_of_season(data, {}, settings);
}

inline std::string closed_because(const app::BinsView& view, const std::string& bin) {
    for (const models::BinOutlook& one : view.plan.bins)
        if (one.bin == bin) return one.closed_reason;
    return "no such bin";
}

inline app::QueueView queue_of(const app::SeasonData& data, std::optional<models::Stamp> at = {}) {
    app::QueueSettings settings;
    settings.season = 2026;
    settings.at = at;
    return app::queue_of_season(data, bins_of(data), settings);
}

}  // namespace loads_at_pit
