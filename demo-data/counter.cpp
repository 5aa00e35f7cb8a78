#include "demo-data/counter.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "demo-data/counter_random.h"

namespace demo {

namespace {

models::Stamp minutes_after(models::Stamp time, int minutes) {
    return {time.utc + std::chrono::minutes(minutes), time.offset};
}

}  // namespace

const char* Counter::on_duty(models::Stamp time) {
    return time.local_time_of_day() < std::chrono::hours(15) ? "Mivra" : "Tobrel";
}

BinRow& Counter::bin(const std::string& name) {
    return *std::find_if(intake_.bins.begin(), intake_.bins.end(), [&](const BinRow& b) { return b.bin == name; });
}

std::size_t Counter::probe(const LoadRow& load, const char* why) {
    Draws draws("probe of " + load.load);
    SampleRow sample;
    sample.stage = "truck";
    sample.kind = "composite";
    sample.load = load.load;
    sample.taken_time = minutes_after(load.time, draws.whole(4, 9));
    sample.taken_by = on_duty(load.time);
    sample.increments = draws.whole(8, 12);
    sample.mass_g = 10.0 * draws.whole(210, 310);
    sample.moisture_pct = load.moisture_pct;
    sample.seal = fmt::format("{}", 7100 + draws.whole(0, 899));
    sample.chosen_because = why;
    sample.commodity = load.commodity;
    sample.content_mg_per_kg = load.content_mg_per_kg * std::exp(draws.normal(0.0, 0.05));
    sample.target_mg_per_kg = load.content_mg_per_kg;
    return bench_.take(std::move(sample));
}

void Counter::probe_bin(const std::string& name, models::Stamp time) {
    const double mean = bin(name).mean_mg_per_kg();
    Draws draws("probe of " + name, static_cast<std::size_t>(time.utc.time_since_epoch().count()));
    SampleRow sample;
    sample.stage = "bin";
    sample.kind = "composite";
    sample.bin = name;
    sample.taken_time = time;
    sample.taken_by = on_duty(time);
    sample.increments = 12;
    sample.mass_g = 10.0 * draws.whole(230, 300);
    sample.moisture_pct = 0.1 * draws.whole(128, 139);
    sample.chosen_because = "asked";
    sample.commodity = name == "S4" ? "durum" : "wheat";
    sample.content_mg_per_kg = mean * std::exp(draws.normal(0.0, 0.06));
    sample.target_mg_per_kg = mean;
    const std::size_t taken = bench_.take(std::move(sample));
    bench_.read_strip(taken, minutes_after(time, 34), on_duty(time));
}

std::optional<std::string> Counter::with_room(std::initializer_list<const char*> names, double mass_t) {
    for (const char* name : names) {
        if (bin(name).mass_t() + mass_t <= bin(name).capacity_t) return name;
    }
    return std::nullopt;
}

std::optional<std::string> Counter::bin_for(const LoadRow& load, std::optional<double> reading) {
    if (reading.value_or(0.0) > feed_limit_mg_per_kg) return std::nullopt;  // over what the feed mill takes
    if (load.keep_apart == "durum") {
        if (reading.value_or(0.0) > 1.5) return with_room({"F1"}, load.net_t);
        return with_room({"S4"}, load.net_t);
    }
    if (reading.value_or(0.0) > 1.0) return with_room({"F1"}, load.net_t);
    if (load.keep_apart == "organic") return with_room({"S5"}, load.net_t);
    if (reading && *reading <= 0.6) return with_room({"S3", "S1", "S2", "S6"}, load.net_t);
    return with_room({"S1", "S2", "S6"}, load.net_t);
}

MoveRow& Counter::write_down(const std::string& from, const std::string& to, double mass_t, const char* kind,
                             models::Stamp time) {
    MoveRow row;
    row.from = from;
    row.to = to;
    row.kind = kind;
    row.person = on_duty(time);
    row.time = time;
    row.mass_t = mass_t;
    intake_.moves.push_back(std::move(row));
    return intake_.moves.back();
}

MoveRow& Counter::dump(const LoadRow& load, const std::string& to, models::Stamp time) {
    bin(to).heaps.push_back({load.load, load.net_t, load.content_mg_per_kg});
    return write_down(load.load, to, load.net_t, "dumped", time);
}

MoveRow& Counter::turn_away(const LoadRow& load, models::Stamp time) {
    return write_down(load.load, "out", load.net_t, "rejected", time);
}

MoveRow& Counter::draw(const std::string& from, const std::string& to, double mass_t, const char* kind,
                       models::Stamp time) {
    BinRow& here = bin(from);
    std::vector<Heap> drawn;
    if (here.draw_off == "first_in" || here.draw_off == "last_in") {
        const bool lowest = here.draw_off == "first_in";
        double rest = mass_t;
        while (rest > 1e-9 && !here.heaps.empty()) {
            Heap& heap = lowest ? here.heaps.front() : here.heaps.back();
            const double taken = std::min(rest, heap.mass_t);
            drawn.push_back({heap.from, taken, heap.mg_per_kg});
            heap.mass_t -= taken;
            rest -= taken;
            if (heap.mass_t < 1e-9) here.heaps.erase(lowest ? here.heaps.begin() : here.heaps.end() - 1);
        }
    } else {
        const double share = mass_t / here.mass_t();
        for (Heap& heap : here.heaps) {
            drawn.push_back({heap.from, heap.mass_t * share, heap.mg_per_kg});
            heap.mass_t *= 1.0 - share;
        }
    }
    if (to != "out") {
        auto& heaps = bin(to).heaps;
        heaps.insert(heaps.end(), drawn.begin(), drawn.end());
    }
    return write_down(from, to, mass_t, kind, time);
}

MoveRow& Counter::correct(const LoadRow& load, const std::string& to, models::Stamp time) {
    for (BinRow& one : intake_.bins) std::erase_if(one.heaps, [&](const Heap& heap) { return heap.from == load.load; });
    bin(to).heaps.push_back({load.load, load.net_t, load.content_mg_per_kg});
    return write_down(load.load, to, load.net_t, "corrected", time);
}

}  // namespace demo
