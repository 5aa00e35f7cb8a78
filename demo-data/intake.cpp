#include "demo-data/intake.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <map>
#include <numeric>
#include <set>

#include <fmt/format.h>

#include "demo-data/counter.h"
#include "demo-data/counter_random.h"

namespace demo {

namespace {

using models::LocalDay;
using std::chrono::days;
using std::chrono::minutes;

constexpr std::size_t loads_off_fields = 32, loads_bought = 8, loads_waiting = 15;

double to_hundredths(double value) {
    return std::round(100.0 * value) / 100.0;
}

models::Stamp later(models::Stamp time, int by_minutes) {
    return {time.utc + minutes(by_minutes), time.offset};
}

models::Stamp end_of_scenario() {
    return at_clock(scenario_day(), 18, 0);
}

/// Mean factor of the stretch [from, to] of a crop, cut along its longer way, 0 to 1 of its area.
double stretch_factor(const CropTruth& truth, double from, double to) {
    std::vector<models::PointM> places = grid_inside(truth.outline_m, 25.0);
    const models::BoxM box = models::bounding_box(truth.outline_m);
    const bool eastwards = box.width_m() > box.height_m();
    std::stable_sort(places.begin(), places.end(), [&](const models::PointM& a, const models::PointM& b) {
        return eastwards ? a.x_m < b.x_m : a.y_m > b.y_m;
    });
    const auto n = static_cast<double>(places.size());
    const auto first = std::min(static_cast<std::size_t>(from * n), places.size() - 1);
    const auto last = std::min(std::max(static_cast<std::size_t>(to * n), first + 1), places.size());
    double sum = 0.0;
    for (std::size_t i = first; i < last; ++i) sum += truth.within.smooth_factor(places[i]);
    return sum / static_cast<double>(last - first);
}

/// Grain of one crop that goes to the intake: the first `wanted_t` tonnes of it.
struct Stretch {
    std::size_t crop;
    double tonnes, total_t, taken_t;
    LocalDay cut;
};

struct Wagon {
    LoadRow load;
    std::vector<std::pair<std::size_t, double>> tonnes_of_crop;
};

/// What each grower's combine sends, wagon by wagon, until so many tonnes of each crop have gone.
std::vector<Wagon> wagons_off_fields(const std::vector<CropRow>& crops, const Landscape& landscape,
                                     const std::vector<CropTruth>& truths, double tonnes_of_a_crop) {
    std::map<std::pair<std::string, std::string>, std::deque<Stretch>> queues;
    for (std::size_t i = 0; i < crops.size(); ++i) {
        const CropRow& crop = crops[i];
        if (crop.season != 2026 || !crop.is_wheat() || !crop.cut_date) continue;
        const double total = crop.area_ha * crop.yield_t_per_ha.value_or(0.0);
        const double sent = total < 1.5 * tonnes_of_a_crop ? total : tonnes_of_a_crop;
        queues[{landscape.fields[crop.field].grower, crop.crop}].push_back({i, sent, total, 0.0, *crop.cut_date});
    }
    std::vector<Wagon> wagons;
    for (auto& [who, queue] : queues) {
        const auto& [grower, commodity] = who;
        std::stable_sort(queue.begin(), queue.end(), [](const Stretch& a, const Stretch& b) { return a.cut < b.cut; });
        Draws draws("wagons of " + grower + " " + commodity);
        models::Stamp clock = at_clock(queue.front().cut, 11, draws.whole(0, 59));
        while (!queue.empty()) {
            const bool truck = draws.chance(0.55);
            const double room = truck ? draws.uniform(22.4, 25.6) : draws.uniform(12.6, 16.8);
            Wagon wagon;
            LoadRow& load = wagon.load;
            double mass = 0.0;
            while (!queue.empty() && mass < room - 1.0) {
                Stretch& next = queue.front();
                if (mass > 0.0 && next.cut > clock.local_day() + days(1))
                    break;  // not yet cut: the wagon goes as it is
                double part = std::min(next.tonnes - next.taken_t, room - mass);
                if (next.tonnes - next.taken_t - part < 2.5) part = next.tonnes - next.taken_t;  // no trip for the rest
                const CropTruth& truth = *truth_of(truths, crops, crops[next.crop].field, crops[next.crop].part, 2026);
                const double from = next.taken_t / next.total_t, to = (next.taken_t + part) / next.total_t;
                load.content_mg_per_kg +=
                    part * truth.mean_mg_per_kg * stretch_factor(truth, from, to) * std::exp(law.truck);
                load.parts.push_back({next.crop, part});
                mass += part;
                next.taken_t += part;
                const models::Stamp ready = at_clock(next.cut, 11, 20);
                if (clock.utc < ready.utc) clock = later(ready, draws.whole(5, 50));
                if (next.tonnes - next.taken_t < 1e-9) queue.pop_front();
            }
            load.content_mg_per_kg /= mass;
            for (LoadPartRow& part : load.parts) part.share /= mass;
            load.net_t = to_hundredths(mass);
            load.supplier = grower;
            load.truck = fmt::format("{}{}", grower.substr(0, 1), truck ? 1 : 2);
            load.commodity = commodity;
            load.tare_t = to_hundredths(truck ? draws.uniform(13.8, 14.6) : draws.uniform(8.1, 8.9));
            load.time = clock;
            wagons.push_back(std::move(wagon));
            clock = later(clock, draws.whole(55, 120));
            if (clock.local_time_of_day() > std::chrono::hours(20)) {
                clock = at_clock(clock.local_day() + days(1), 10, draws.whole(10, 59));
            }
        }
    }
    std::stable_sort(wagons.begin(), wagons.end(),
                     [](const Wagon& a, const Wagon& b) { return a.load.time.utc < b.load.time.utc; });
    std::erase_if(wagons, [](const Wagon& w) { return w.load.time.utc > end_of_scenario().utc - minutes(20); });
    return wagons;
}

LoadRow bought_load(std::size_t index) {
    static constexpr std::array<const char*, 3> sellers = {"Sommath", "Errideth", "Lorvim"};
    Draws draws("bought grain", index);
    LoadRow load;
    const auto seller = static_cast<std::size_t>(draws.whole(0, 2));
    load.supplier = sellers[seller];
    load.truck = fmt::format("{}{}", load.supplier.substr(0, 1), draws.whole(1, 4));
    load.commodity = "wheat";
    load.net_t = to_hundredths(draws.uniform(22.8, 25.8));
    load.tare_t = to_hundredths(draws.uniform(13.6, 14.8));
    load.content_mg_per_kg = std::exp(draws.normal(std::log(0.62), 0.5));
    const int minute = draws.whole(0, 59);
    const int hour = draws.whole(8, 16);
    load.time = at_clock(models::day_of(2026, 7, 11) + days(static_cast<int>(index * 6 / loads_bought)), hour, minute);
    return load;
}

std::vector<LoadRow> make_loads(std::vector<CropRow>& crops, const Landscape& landscape,
                                const std::vector<CropTruth>& truths) {
    double tonnes = 20.0;
    std::vector<Wagon> wagons = wagons_off_fields(crops, landscape, truths, tonnes);
    while (wagons.size() < loads_off_fields) wagons = wagons_off_fields(crops, landscape, truths, tonnes += 1.0);
    while (wagons.size() > loads_off_fields) wagons.pop_back();

    std::map<std::size_t, double> delivered;
    std::vector<LoadRow> loads;
    for (Wagon& wagon : wagons) {
        for (const LoadPartRow& part : wagon.load.parts) delivered[part.crop] += part.share * wagon.load.net_t;
        loads.push_back(std::move(wagon.load));
    }
    for (const auto& [crop, sum] : delivered) {
        if (sum > crops[crop].area_ha * crops[crop].yield_t_per_ha.value_or(0.0) - 0.3)
            crops[crop].status = "delivered";
    }
    for (std::size_t i = 0; i < loads_bought; ++i) loads.push_back(bought_load(i));
    std::stable_sort(loads.begin(), loads.end(),
                     [](const LoadRow& a, const LoadRow& b) { return a.time.utc < b.time.utc; });
    int number = 0;
    for (LoadRow& load : loads) {
        Draws draws("a load on the scale", static_cast<std::size_t>(++number));
        load.load = fmt::format("W26-{:02}", number);
        load.ticket = fmt::format("{}", 40213 + 7 * number);
        load.gross_t = to_hundredths(load.net_t + load.tare_t);
        load.moisture_pct = 0.1 * draws.whole(121, 149);
        load.dockage_pct = 0.1 * draws.whole(6, 31);
        const bool organic = !load.parts.empty() && is_organic(landscape.fields[crops[load.parts[0].crop].field]);
        if (organic) load.keep_apart = "organic";
        if (load.commodity == "durum") load.keep_apart = "durum";
    }
    return loads;
}

std::vector<BinRow> bins_before_harvest() {
    const auto bin = [](const char* name, const char* purpose, const char* limit, const char* keep_apart,
                        const char* draw_off, double capacity) {
        BinRow row;
        row.bin = name;
        row.purpose = purpose;
        row.limit_id = limit;
        row.keep_apart = keep_apart;
        row.draw_off = draw_off;
        row.capacity_t = capacity;
        return row;
    };
    std::vector<BinRow> bins = {bin("S1", "food", law_limit_wheat, "", "first_in", 160.0),
                                bin("S2", "food", law_limit_wheat, "", "first_in", 140.0),
                                bin("S3", "food", mill_limit, "", "mixed", 110.0),
                                bin("S4", "food", law_limit_durum, "durum", "first_in", 90.0),
                                bin("S5", "food", law_limit_wheat, "organic", "first_in", 120.0),
                                bin("S6", "food", law_limit_wheat, "", "last_in", 150.0),
                                bin("F1", "feed", feed_limit, "", "mixed", 180.0),
                                bin("H1", "hold", "", "", "unknown", 60.0)};
    const auto fill = [&](std::size_t at, double mass, double mean, double sd, double truly) {
        bins[at].opening_mass_t = mass;
        bins[at].opening_mean_mg_per_kg = mean;
        bins[at].opening_sd_mg_per_kg = sd;
        bins[at].heaps.push_back({"opening", mass, truly});
    };
    fill(5, 58.0, 0.31, 0.07, 0.29);  // left of the dry year
    fill(6, 14.0, 1.90, 0.50, 2.20);
    return bins;
}

/// Of the loads that may go wrong (plain wheat of one field in the middle of the rush, its first wagon) the most
/// contaminated.
std::size_t load_that_goes_wrong(const std::vector<LoadRow>& loads, std::size_t done) {
    std::size_t worst = done;
    std::set<std::size_t> seen;
    for (std::size_t i = 0; i + 4 < done; ++i) {
        bool first = true;
        for (const LoadPartRow& part : loads[i].parts) first = seen.insert(part.crop).second && first;
        if (i < 6 || !first || !loads[i].keep_apart.empty() || loads[i].parts.size() != 1) continue;
        if (worst == done || loads[i].content_mg_per_kg > loads[worst].content_mg_per_kg) worst = i;
    }
    return worst;
}

void number_moves(std::vector<MoveRow>& moves) {
    std::stable_sort(moves.begin(), moves.end(),
                     [](const MoveRow& a, const MoveRow& b) { return a.time.utc < b.time.utc; });
    for (std::size_t i = 0; i < moves.size(); ++i) moves[i].move = fmt::format("M26-{:02}", i + 1);
}

/// A load whose story is told.
void deal_with(LoadRow& load, std::size_t index, Counter& counter, Bench& bench, std::map<std::size_t, double>& last) {
    Draws draws("at the counter", index);
    const models::Stamp dumped_at = later(load.time, draws.whole(34, 55));
    std::optional<double> reading;
    if (draws.chance(0.7)) {
        const std::size_t sample = counter.probe(load, draws.chance(0.7) ? "plan" : "random");
        reading = as_seen_mg_per_kg(bench.read_strip(sample, later(load.time, 20), Counter::on_duty(load.time)));
        const bool near_the_limit = reading > 0.95 && reading < 1.25;
        if (near_the_limit && load.time.utc < end_of_scenario().utc - days(3)) {
            bench.read_laboratory(sample, at_clock(load.time.local_day() + days(3), 10, draws.whole(0, 40)));
        } else if (index == 8) {
            bench.type_wrong_and_correct();
        } else if (draws.chance(0.15)) {  // a second strip of the same sample
            bench.read_strip(sample, later(load.time, 31), Counter::on_duty(load.time));
        }
    }
    for (const LoadPartRow& part : load.parts) {  // what is not tested is taken for what the field read last
        if (reading)
            last[part.crop] = *reading;
        else if (last.contains(part.crop))
            reading = last[part.crop];
    }
    if (const auto bin = counter.bin_for(load, reading)) {
        load.status = "dumped";
        if (*bin == "S3") load.contract = "QM-26";
        counter.dump(load, *bin, dumped_at);
    } else {
        load.status = "turned_away";
        counter.turn_away(load, dumped_at).reason = "over what the feed mill takes";
    }
}

/// The strip came to nothing, the wagons waited, and it was dumped on the good name of the one before. The laboratory
/// had the rest of the sample.
void let_go_wrong(LoadRow& load, Counter& counter, Bench& bench) {
    const std::size_t sample = counter.probe(load, "plan");
    TestRow& nothing = bench.read_strip(sample, later(load.time, 22), Counter::on_duty(load.time));
    nothing.valid = false;
    nothing.void_reason = "strip flooded, no control line";
    nothing.don.clear();
    load.status = "dumped";
    MoveRow& move = counter.dump(load, "S2", later(load.time, 41));
    move.advised_bin = "H1";
    move.reason = "strip void, nine wagons waiting; taken to be as good as the one before it";
    bench.read_laboratory(sample, at_clock(load.time.local_day() + days(2), 16, 10));
}

/// Every day begins with a control; on some there is work on the bins.
void begin_day(LocalDay day, Counter& counter, Bench& bench) {
    const int date = static_cast<int>(static_cast<unsigned>(std::chrono::year_month_day{day}.day()));
    bench.read_control(controls()[static_cast<std::size_t>(date % 2)], at_clock(day, 7, 40), "Mivra");
    if (date == 13)
        counter.draw("S6", "out", 22.4, "withdrawn", at_clock(day, 7, 50)).reason = "sold to the mill, old grain";
    if (date == 14) counter.probe_bin("S3", at_clock(day, 8, 5));
    if (date == 15) {
        counter.probe_bin("S1", at_clock(day, 8, 0));
        counter.draw("S1", "S6", 15.0, "turned", at_clock(day, 8, 50)).reason = "warm at two metres";
    }
    if (date == 16) counter.probe_bin("F1", at_clock(day, 8, 15));
}

}  // namespace

double BinRow::mass_t() const {
    return std::accumulate(heaps.begin(), heaps.end(), 0.0, [](double sum, const Heap& h) { return sum + h.mass_t; });
}

double BinRow::mean_mg_per_kg() const {
    double sum = 0.0;
    for (const Heap& heap : heaps) sum += heap.mass_t * heap.mg_per_kg;
    return heaps.empty() ? 0.0 : sum / mass_t();
}

Intake run_the_intake(std::vector<CropRow>& crops, const Landscape& landscape, const std::vector<CropTruth>& truths,
                      Bench& bench) {
    Intake intake;
    intake.loads = make_loads(crops, landscape, truths);
    intake.bins = bins_before_harvest();
    Counter counter(intake, bench);
    std::vector<LoadRow>& loads = intake.loads;
    const std::size_t done = loads.size() - loads_waiting;
    const std::size_t wrong = load_that_goes_wrong(loads, done);

    LocalDay today{};
    std::map<std::size_t, double> last_of_crop;
    for (std::size_t i = 0; i < loads.size(); ++i) {
        LoadRow& load = loads[i];
        if (load.time.local_day() != today) {
            today = load.time.local_day();
            begin_day(today, counter, bench);
        }
        if (i == wrong)
            let_go_wrong(load, counter, bench);
        else if (i < done)
            deal_with(load, i, counter, bench, last_of_crop);
        const bool written_wrong = i == 2;  // dumped into the bin whose slide was open, not into the one written down
        if (written_wrong) counter.correct(load, "S2", later(load.time, 70)).reason = "slide stood on S2";
    }

    for (std::size_t i = done; i < loads.size(); ++i) {
        LoadRow& load = loads[i];
        const std::size_t left = loads.size() - i;  // 15 ... 1
        load.status = "arrived";
        if (left <= 4) continue;
        const std::size_t sample = counter.probe(load, "plan");
        const double reading =
            as_seen_mg_per_kg(bench.read_strip(sample, later(load.time, 26), Counter::on_duty(load.time)));
        load.status = reading > 0.8 && reading < 1.4 ? "awaiting" : left > 9 && reading <= 0.8 ? "directed" : "probed";
    }
    counter.probe_bin("S2", at_clock(scenario_day(), 16, 40));
    number_moves(intake.moves);
    return intake;
}

}  // namespace demo
