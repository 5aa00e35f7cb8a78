// The weather terms of all disease models for every crop record of a store, from hours in memory, at the flowering date
// and three days either way: what weather_seasons.R does with data.table, with coverage and bounds besides.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "app/stages/season_data.h"
#include "geo/store/store.h"
#include "models/disease/catalogue.h"
#include "models/disease/disease_risk.h"
#include "models/spatial/parallel.h"
#include "models/weather/nearest_station.h"

namespace {

double seconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

struct Spread {
    double middle = 0.0, low = 0.0, high = 0.0;
};
/// The hours of one station in one season, and whose field flowered near it when.
struct StationSeason {
    models::HourlySeries hours;
    std::vector<models::LocalDay> flowering;
    std::vector<std::vector<Spread>> terms;  // [record][term of all models]
};

void measure(StationSeason& here) {
    const models::StationDays days(here.hours);
    for (const models::DiseaseModel& model : models::disease_models()) {
        models::WeatherByDate by_date(model, {&days, std::nullopt});
        for (std::size_t r = 0; r < here.flowering.size(); ++r) {
            for (std::size_t t = 0; t < model.weather.size(); ++t) {
                Spread spread{*by_date.at(here.flowering[r]).terms[t].value, 1e300, -1e300};
                for (int later = -3; later <= 3; ++later) {
                    const double value = *by_date.at(here.flowering[r] + std::chrono::days(later)).terms[t].value;
                    spread.low = std::min(spread.low, value);
                    spread.high = std::max(spread.high, value);
                }
                here.terms[r].push_back(spread);
            }
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 2) {
        fmt::print(stderr, "bench_weather_terms STORE\n");
        return 2;
    }
    const geo::Store store = geo::Store::open(argv[1], geo::Store::Access::read_only);
    auto start = std::chrono::steady_clock::now();
    const app::SeasonData data = app::read_season_data(store);
    std::map<std::pair<int, std::size_t>, StationSeason> by_place;
    for (const models::CropRecord& crop : data.crops) {
        const models::Field* outline = app::outline_of(data, crop.field, crop.part);
        const auto nearest = models::nearest_station(outline->centroid_m, data.stations);
        by_place[{crop.season, nearest->index}].flowering.push_back(*models::flowering_day(crop));
    }
    std::vector<StationSeason*> places;
    std::size_t hours = 0;
    for (auto& [key, place] : by_place) {
        place.hours = store.weather(data.stations[key.second].station, models::day_of(key.first, 1, 1),
                                    models::day_of(key.first, 12, 31));
        place.terms.resize(place.flowering.size());
        hours += place.hours.size();
        places.push_back(&place);
    }
    fmt::print("ours, reading {:.1f} million hours from the store    {:.1f} s\n", static_cast<double>(hours) / 1e6,
               seconds_since(start));
    start = std::chrono::steady_clock::now();
    models::parallel_blocks(static_cast<long long>(places.size()), models::threads_to_use(0),
                            [&](long long place) { measure(*places[static_cast<std::size_t>(place)]); });
    const double took_s = seconds_since(start);
    double sum = 0.0, width = 0.0, n = 0.0;
    for (const StationSeason* place : places) {
        for (const std::vector<Spread>& terms : place->terms) {
            sum += terms.front().middle;
            width += terms.front().high - terms.front().low;
            n += 1.0;
        }
    }
    fmt::print("ours, the terms of all models             {:.1f} s; mean depression {:.4f} degC, spread {:.4f} degC\n",
               took_s, sum / n, width / n);
    return 0;
}
