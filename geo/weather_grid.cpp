#include "geo/weather_grid.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <memory>
#include <utility>

#include <fmt/format.h>

#include "geo/grid_places.h"
#include "geo/grid_source.h"
#include "models/calendar.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/weather/accumulated_rain.h"
#include "models/weather/humidity.h"
#include "models/weather/weather_source.h"

namespace geo {

namespace grid_hours {

using grids::GridQuantity;
using grids::Moment;
using grids::Quantity;
using models::HourlySeries;
using std::chrono::hours;
using std::chrono::sys_seconds;
constexpr double missing = HourlySeries::missing;

std::string ground(const models::Field& field) {
    return field.part.empty() ? field.field : field.field + ", " + field.part;
}

/// "Long Acre, Fen and 3 more".
std::string some_names(const std::vector<std::string>& names) {
    constexpr std::size_t shown = 3;
    std::string list;
    for (std::size_t i = 0; i < names.size() && i < shown; ++i) list += (i > 0 ? ", " : "") + names[i];
    if (names.size() > shown) list += fmt::format(" and {} more", names.size() - shown);
    return list;
}

std::int64_t hour_number(sys_seconds utc) {
    return std::chrono::floor<hours>(utc).time_since_epoch().count();
}

/// The hour that a field of a quantity speaks of, since 1970; nullopt where it is more or less than one hour.
std::optional<std::int64_t> hour_of(const GridQuantity& quantity, const Moment& moment) {
    const bool rain = quantity.quantity == Quantity::rain;
    // The sum at the very start of a forecast, of no time at all.
    if (rain && quantity.beginning_known && moment.from == moment.to) return std::nullopt;
    if (moment.from == moment.to) return hour_number(moment.to) - (rain ? 1 : 0);
    if (rain) return hour_number(moment.to - hours(1));
    if (moment.to - moment.from != hours(1)) return std::nullopt;
    return hour_number(moment.from);
}

/// Fields three hours apart cannot be made into hours: which of them were wet and warm would be made up.
/// @returns  how far apart they lie, in words; empty where there are hourly ones among them
/// @throws models::Error  times beside the hour
std::string apart_in_words(const GridQuantity& quantity, const std::string& file) {
    const std::vector<Moment>& all = quantity.moments;
    std::map<std::chrono::seconds, long> steps;
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (i > 0) ++steps[all[i].to - all[i - 1].to];
        if (all[i].to != std::chrono::floor<hours>(all[i].to)) {
            throw models::Error(fmt::format("the time {} is not on the hour, and nothing says which hour it speaks of",
                                            models::to_text(all[i].to)),
                                file + ", " + quantity.name,
                                "get fields at full hours, or with the bounds of their times");
        }
    }
    if (steps.empty() || steps.contains(hours(1))) return "";
    const auto usual =
        std::max_element(steps.begin(), steps.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
    const auto minutes = std::chrono::duration_cast<std::chrono::minutes>(usual->first).count();
    return minutes % 60 == 0 ? models::counted(minutes / 60, "hour") : models::counted(minutes, "minute");
}

/// Leaves out the times that stand alone, where a forecast goes on every three hours.
std::vector<bool> hourly_ones(const GridQuantity& quantity) {
    std::vector<bool> kept(quantity.moments.size(), quantity.moments.size() == 1);
    for (std::size_t i = 1; i < kept.size(); ++i) {
        if (quantity.moments[i].to - quantity.moments[i - 1].to == hours(1)) kept[i] = kept[i - 1] = true;
    }
    return kept;
}

struct Cell {
    grids::CellAt at;
    std::vector<std::string> fields;
    std::array<std::vector<double>, 4> values;  // by Quantity: one an hour
};

struct Tally {
    long impossible = 0, saturated = 0, several_hours = 0, hours_told = 0;
};

class GridReader {
 public:
    GridReader(const std::filesystem::path& file, const GridForms& forms)
        : file_(file.filename().string()), forms_(forms) {
        std::array<char, 4> head{};
        std::ifstream(file, std::ios::binary).read(head.data(), head.size());
        source_ = std::string_view(head.data(), 4) == "GRIB" ? grids::open_grib(file)
                                                             : grids::open_netcdf(file, {forms.variables, forms.units});
        notes_ = source_->notes;
    }

    WeatherGrid read(const std::vector<models::Field>& fields, const models::Progress& progress) {
        find_hours();
        find_cells(fields);
        for (std::size_t q = 0; q < source_->quantities.size(); ++q) {
            read_quantity(q, [&](double done) {
                progress.step(file_ + ": " + source_->quantities[q].name,
                              (static_cast<double>(q) + done) / static_cast<double>(source_->quantities.size()));
            });
        }
        make_rain();
        WeatherGrid grid;
        for (Cell& cell : cells_) grid.table.stations.push_back(station_of(cell));
        std::sort(grid.table.stations.begin(), grid.table.stations.end(),
                  [](const auto& a, const auto& b) { return a.station.station < b.station.station; });
        finish_notes();
        grid.table.rows = grid.table.taken = tally_.hours_told;
        grid.table.notes = std::move(notes_);
        grid.made_utc = source_->made_utc;
        if (grid.made_utc) grid.reach = std::chrono::floor<hours>(last_ - *grid.made_utc);
        return grid;
    }

 private:
    void find_hours() {
        std::optional<std::int64_t> first, end;
        for (GridQuantity& quantity : source_->quantities) {
            const std::string apart = apart_in_words(quantity, file_);
            if (!apart.empty() && (quantity.quantity != Quantity::rain || source_->quantities.size() == 1)) {
                throw models::Error(fmt::format("its fields lie {} apart; the models count hours, and those between "
                                                "would be made up",
                                                apart),
                                    file_ + ", " + quantity.name,
                                    "get the hourly fields; forecasts have them for their first days");
            }
            if (!apart.empty()) {
                notes_.push_back(
                    fmt::format("{}: its sums lie {} apart and cannot be those of hours; the rain is not "
                                "kept",
                                quantity.name, apart));
            }
            kept_.push_back(apart.empty() ? hourly_ones(quantity) : std::vector<bool>(quantity.moments.size(), false));
            const long alone = std::count(kept_.back().begin(), kept_.back().end(), false);
            if (alone > 0 && apart.empty()) {
                notes_.push_back(fmt::format("{}: {} standing more than an hour from the next {} left out",
                                             quantity.name, models::counted(alone, "time"),
                                             models::by_number(alone, "is", "are")));
            }
            for (std::size_t i = 0; i < quantity.moments.size(); ++i) {
                if (!kept_.back()[i]) continue;
                const auto hour = hour_of(quantity, quantity.moments[i]);
                if (!hour && quantity.quantity == Quantity::rain) continue;
                if (!hour) {
                    throw models::Error("its values are means of more or less than an hour",
                                        file_ + ", " + quantity.name, "get the hourly fields");
                }
                first = first ? std::min(*first, *hour) : *hour;
                end = end ? std::max(*end, *hour + 1) : *hour + 1;
                last_ = std::max(last_, quantity.moments[i].to);
            }
        }
        if (!first) throw models::Error("the file holds no times", file_);
        first_hour_ = *first;
        hours_ = static_cast<std::size_t>(*end - *first);
        constexpr std::size_t longest = 24 * 366 * 200;
        if (hours_ > longest) throw models::Error("its times lie centuries apart", file_);
    }

    void find_cells(const std::vector<models::Field>& fields) {
        if (fields.empty()) {
            throw models::Error("the store has no outlines, so nothing says which cells of the grid are wanted", file_,
                                "import the outlines first: lodicule import STORE fields FILE");
        }
        std::vector<std::string> outside;
        std::map<std::pair<std::size_t, std::size_t>, std::size_t> known;
        std::vector<std::pair<const models::Field*, grids::CellAt>> found;
        for (const models::Field& field : fields) {
            const auto at = grids::cell_of(source_->lattice, field.longitude_deg, field.latitude_deg);
            if (at)
                found.emplace_back(&field, *at);
            else
                outside.push_back(ground(field));
        }
        if (found.empty()) {
            const models::Field& one = fields.front();
            throw models::Error(
                fmt::format("no field lies in the grid; {} lies at longitude {:.3f}, latitude {:.3f}, the grid {}",
                            ground(one), one.longitude_deg, one.latitude_deg, extent_in_words()),
                file_, "get the grid for where the fields lie");
        }
        if (!outside.empty()) {
            notes_.push_back(fmt::format("{} {} outside the grid and {} no weather from it", some_names(outside),
                                         models::by_number(static_cast<long>(outside.size()), "lies", "lie"),
                                         models::by_number(static_cast<long>(outside.size()), "gets", "get")));
        }
        for (auto& [field, at] : found) {
            const auto with_values = cell_with_values(at, *field);
            if (!with_values) {
                notes_.push_back("no cell near " + ground(*field) + " has values: it gets no weather from this grid");
                continue;
            }
            const auto [entry, is_new] = known.emplace(std::pair{with_values->row, with_values->column}, cells_.size());
            if (is_new) {
                cells_.push_back({});
                cells_.back().at = *with_values;
                for (const GridQuantity& quantity : source_->quantities) {
                    cells_.back().values[static_cast<std::size_t>(quantity.quantity)].assign(hours_, missing);
                }
            }
            cells_[entry->second].fields.push_back(ground(*field));
        }
        if (cells_.empty())
            throw models::Error("no cell near any field has values", file_, "see whether the grid leaves the land out");
        box_ = {cells_[0].at.row, cells_[0].at.row, cells_[0].at.column, cells_[0].at.column};
        for (const Cell& cell : cells_) {
            box_.first_row = std::min(box_.first_row, cell.at.row);
            box_.last_row = std::max(box_.last_row, cell.at.row);
            box_.first_column = std::min(box_.first_column, cell.at.column);
            box_.last_column = std::max(box_.last_column, cell.at.column);
        }
    }

    std::string extent_in_words() const {
        const grids::Lattice& lattice = source_->lattice;
        double west = 1e9, east = -1e9, south = 1e9, north = -1e9;
        for (std::size_t row = 0; row < lattice.rows; ++row) {
            for (std::size_t column = 0; column < lattice.columns; ++column) {
                west = std::min(west, lattice.longitude_deg(row, column));
                east = std::max(east, lattice.longitude_deg(row, column));
                south = std::min(south, lattice.latitude_deg(row, column));
                north = std::max(north, lattice.latitude_deg(row, column));
            }
        }
        return fmt::format("from {:.2f} to {:.2f} and from {:.2f} to {:.2f}", west, east, south, north);
    }

    /// Whether a cell says anything at the first, the middle or the last time of the first quantity.
    bool has_values(const grids::CellAt& cell) {
        const auto [known, is_new] = has_values_.emplace(std::pair{cell.row, cell.column}, false);
        if (!is_new) return known->second;
        const std::size_t times = source_->quantities.front().moments.size();
        for (const std::size_t time : {std::size_t{0}, times / 2, times - 1}) {
            const auto value = source_->read(0, time, 1, {cell.row, cell.row, cell.column, cell.column});
            if (!std::isnan(value.front())) return known->second = true;
        }
        return false;
    }

    std::optional<grids::CellAt> cell_with_values(const grids::CellAt& cell, const models::Field& field) {
        if (has_values(cell)) return cell;
        constexpr std::size_t reach = 3;
        for (const grids::CellAt& near :
             grids::cells_around(source_->lattice, cell, reach, field.longitude_deg, field.latitude_deg)) {
            if (!has_values(near)) continue;
            notes_.push_back(
                fmt::format("the cell of {} has no values (it may lie in the sea): the nearest that has some, {:.0f} "
                            "km away, takes "
                            "its place",
                            ground(field), near.distance_m / 1000.0));
            return near;
        }
        return std::nullopt;
    }

    /// Blocks of time of about 16 MB: of a large grid only the rows and columns around the fields are in memory.
    void read_quantity(std::size_t q, const std::function<void(double)>& step) {
        constexpr std::size_t values_at_once = 2'000'000;
        const GridQuantity& quantity = source_->quantities[q];
        const std::size_t per_field = box_.rows() * box_.columns();
        const std::size_t block = std::max<std::size_t>(1, values_at_once / per_field);
        // Rain keeps its totals by the order of its times until all of them are there.
        if (quantity.quantity == Quantity::rain) {
            for (Cell& cell : cells_)
                cell.values[static_cast<std::size_t>(Quantity::rain)].assign(quantity.moments.size(), missing);
        }
        for (std::size_t first = 0; first < quantity.moments.size(); first += block) {
            step(static_cast<double>(first) / static_cast<double>(quantity.moments.size()));
            const std::size_t count = std::min(block, quantity.moments.size() - first);
            const std::vector<double> values = source_->read(q, first, count, box_);
            for (Cell& cell : cells_) {
                const std::size_t at =
                    (cell.at.row - box_.first_row) * box_.columns() + cell.at.column - box_.first_column;
                std::vector<double>& into = cell.values[static_cast<std::size_t>(quantity.quantity)];
                for (std::size_t i = 0; i < count; ++i) {
                    const double value = values[i * per_field + at];
                    if (quantity.quantity == Quantity::rain) {
                        into[first + i] = value;
                    } else if (kept_[q][first + i]) {
                        into[hour_index(*hour_of(quantity, quantity.moments[first + i]))] = value;
                    }
                }
            }
        }
        if (quantity.quantity == Quantity::rain) rain_ = q;
    }

    std::size_t hour_index(std::int64_t hour) const { return static_cast<std::size_t>(hour - first_hour_); }

    void make_rain() {
        if (!rain_) return;
        const GridQuantity& quantity = source_->quantities[*rain_];
        constexpr auto place = static_cast<std::size_t>(Quantity::rain);
        if (std::count(kept_[*rain_].begin(), kept_[*rain_].end(), true) == 0) {
            for (Cell& cell : cells_) cell.values[place].assign(hours_, missing);
            return;
        }
        if (quantity.beginning_known) {
            for (Cell& cell : cells_) cell.values[place] = rain_between(quantity, cell.values[place]);
            return;
        }
        std::vector<std::vector<double>> totals;
        for (const Cell& cell : cells_) {
            std::vector<double> by_hour(hours_, missing);
            for (std::size_t i = 0; i < quantity.moments.size(); ++i) {
                if (kept_[*rain_][i])
                    by_hour[hour_index(*hour_of(quantity, quantity.moments[i]))] = cell.values[place][i];
            }
            totals.push_back(std::move(by_hour));
        }
        models::RainCounter counter;
        if (!quantity.is_rate) {
            counter = models::find_rain_counter(totals, first_hour_);
            if (forms_.rain_accumulates) {
                counter.told = *forms_.rain_accumulates ? models::RainTold::counting : models::RainTold::each_hour;
            }
        }
        if (counter.told == models::RainTold::unclear) {
            throw models::Error("nothing says whether the rain is that of each hour or counts on from a beginning",
                                file_ + ", " + quantity.name,
                                "say it in a column map: rain_accumulates = true (or false)");
        }
        notes_.push_back(
            fmt::format("{}: the rain told at an hour is that of the hour before it{}", quantity.name,
                        counter.told == models::RainTold::counting
                            ? "; it counts on " + beginning_in_words(counter) + ", and was taken apart into hours"
                            : ""));
        for (std::size_t c = 0; c < cells_.size(); ++c) {
            if (counter.told == models::RainTold::each_hour) {
                cells_[c].values[place] = std::move(totals[c]);
                continue;
            }
            cells_[c].values[place] = models::rain_of_each_hour(totals[c], first_hour_, counter.reset_hour);
            // The first hour of a forecast is counted from its beginning.
            const bool from_start = source_->made_utc && hour_number(*source_->made_utc) == first_hour_;
            if (from_start && !totals[c].empty()) cells_[c].values[place][0] = totals[c][0];
        }
    }

    static std::string beginning_in_words(const models::RainCounter& counter) {
        if (!counter.reset_hour) return "until it is set back";
        return fmt::format("from {:02}:00 UTC of each day", *counter.reset_hour);
    }

    /// Sums whose beginnings are known: of one hour as they are, of more as the difference to the one that ended an
    /// hour before.
    std::vector<double> rain_between(const GridQuantity& quantity, const std::vector<double>& sums) {
        std::vector<double> rain(hours_, missing);
        double highest = missing;  // since the same beginning
        for (std::size_t i = 0; i < sums.size(); ++i) {
            const Moment& moment = quantity.moments[i];
            if (!kept_[*rain_][i] || moment.from == moment.to) {
                highest = moment.from == moment.to ? sums[i] : missing;
                continue;
            }
            const bool goes_on = i > 0 && quantity.moments[i - 1].from == moment.from &&
                                 quantity.moments[i - 1].to == moment.to - hours(1);
            double one = missing;
            if (moment.to - moment.from == hours(1))
                one = sums[i];
            else if (goes_on && !quantity.is_rate && !std::isnan(highest))
                one = std::max(0.0, sums[i] - highest);
            else
                ++tally_.several_hours;
            const auto hour = hour_number(moment.to - hours(1)) - first_hour_;
            if (hour >= 0 && hour < static_cast<std::int64_t>(hours_)) rain[static_cast<std::size_t>(hour)] = one;
            highest = goes_on && !std::isnan(sums[i]) && !std::isnan(highest) ? std::max(highest, sums[i]) : sums[i];
        }
        return rain;
    }

    /// No grid tells a millionth; and what cannot be is not there.
    static double rounded(double value) { return std::round(value * 1e6) / 1e6; }

    void check_hour(HourlySeries& series, std::size_t i) {
        double& temperature = series.temperature_degc[i];
        double& humidity = series.relative_humidity_pct[i];
        double& dew_point = series.dew_point_degc[i];
        double& rain = series.rain_mm[i];
        if (temperature < -60.0 || temperature > 55.0) {
            throw models::Error(
                fmt::format("a temperature of {:.6g} degC lies outside -60 to 55 degC, so its unit is another one",
                            temperature),
                file_, "say it in a column map: temperature_degc = { from = \"t2m\", unit = \"K\" }");
        }
        if (humidity > 100.5 || humidity <= 0.0) {
            humidity = missing;
            ++tally_.impossible;
        }
        if (dew_point > temperature + 0.2) {
            dew_point = missing;
            ++tally_.impossible;
        }
        constexpr double packing_mm = 0.05;
        if (rain < 0.0 && rain >= -packing_mm) rain = 0.0;
        if (rain < 0.0 || rain > 400.0) {
            rain = missing;
            ++tally_.impossible;
        }
        for (double* value : {&temperature, &humidity, &dew_point, &rain}) *value = rounded(*value);
        if (std::isnan(temperature)) return;
        if (!std::isnan(humidity) && std::isnan(dew_point)) {
            dew_point = models::dew_point_degc(temperature, humidity);
        } else if (!std::isnan(dew_point) && std::isnan(humidity)) {
            humidity = std::min(100.0, models::relative_humidity_pct(temperature, dew_point));
        }
    }

    StationHours station_of(Cell& cell) {
        using namespace std::chrono;
        StationHours station;
        const auto shorter = [](double degrees) { return std::round(degrees * 1e4) / 1e4; };
        station.station.longitude_deg =
            shorter(grids::longitude_about_zero(source_->lattice.longitude_deg(cell.at.row, cell.at.column)));
        station.station.latitude_deg = shorter(source_->lattice.latitude_deg(cell.at.row, cell.at.column));
        station.station.station =
            grids::cell_name(forms_.name, station.station.longitude_deg, station.station.latitude_deg);
        station.station.source = models::WeatherSource::grid;
        station.placed = true;
        const minutes clock = forms_.clock.value_or(hours(std::lround(station.station.longitude_deg / 15.0)));
        clocks_.push_back(clock);
        told_.push_back(station.station.station + " stands for " + some_names(cell.fields));

        HourlySeries all;
        all.station = station.station.station;
        all.first_utc = sys_seconds(hours(first_hour_));
        const std::array<std::vector<double>*, 4> into = {&all.temperature_degc, &all.dew_point_degc,
                                                          &all.relative_humidity_pct, &all.rain_mm};
        for (std::size_t q = 0; q < into.size(); ++q) {
            *into[q] = std::move(cell.values[q]);
            into[q]->resize(hours_, missing);
        }
        for (std::size_t i = 0; i < hours_; ++i) all.offset_min.push_back(clock_at(all.utc(i), clock));
        for (std::size_t i = 0; i < hours_; ++i) check_hour(all, i);
        put_months(all, clock, station);
        return station;
    }

    std::int16_t clock_at(sys_seconds utc, std::chrono::minutes otherwise) const {
        try {
            return static_cast<std::int16_t>((forms_.zone ? forms_.zone->offset_at(utc) : otherwise).count());
        } catch (const models::Error& beyond_its_rules) {
            throw models::Error(
                "the time " + models::utc_in_words(utc) + " has no known clock: " + beyond_its_rules.what_happened(),
                file_, beyond_its_rules.how_to_mend());
        }
    }

    void put_months(const HourlySeries& all, std::chrono::minutes clock, StationHours& station) {
        using namespace std::chrono;
        for (std::size_t i = 0; i < all.size();) {
            const year_month_day day{floor<days>(all.utc(i))};
            const year_month month = day.year() / day.month();
            const sys_seconds begin = sys_days(month / std::chrono::day(1));
            const sys_seconds end = sys_days((month + months(1)) / std::chrono::day(1));
            StationMonth block;
            block.month = month;
            block.hours.station = all.station;
            block.hours.first_utc = begin;
            const auto count = static_cast<std::size_t>((end - begin) / hours(1));
            const auto skipped = static_cast<std::size_t>((all.utc(i) - begin) / hours(1));
            const std::size_t taken = std::min(count - skipped, all.size() - i);
            bool any = false;
            for (const auto column : {&HourlySeries::temperature_degc, &HourlySeries::relative_humidity_pct,
                                      &HourlySeries::dew_point_degc, &HourlySeries::rain_mm}) {
                std::vector<double>& values = block.hours.*column;
                values.assign(count, missing);
                std::copy_n((all.*column).begin() + static_cast<std::ptrdiff_t>(i), taken,
                            values.begin() + static_cast<std::ptrdiff_t>(skipped));
                any = any || std::any_of(values.begin(), values.end(), [](double value) { return !std::isnan(value); });
            }
            for (std::size_t k = 0; k < count; ++k) block.hours.offset_min.push_back(clock_at(begin + hours(k), clock));
            block.row.assign(count, 0);
            for (std::size_t k = 0; k < count; ++k) {
                tally_.hours_told +=
                    !std::isnan(block.hours.temperature_degc[k]) || !std::isnan(block.hours.relative_humidity_pct[k]) ||
                            !std::isnan(block.hours.dew_point_degc[k]) || !std::isnan(block.hours.rain_mm[k])
                        ? 1
                        : 0;
            }
            if (any) station.months.push_back(std::move(block));
            i += taken;
        }
    }

    void finish_notes() {
        constexpr std::size_t shown = 5;
        std::sort(told_.begin(), told_.end());
        for (std::size_t i = 0; i < told_.size() && i < shown; ++i) notes_.push_back(told_[i]);
        if (told_.size() > shown) {
            notes_.push_back(
                fmt::format("and {}", models::counted(static_cast<long>(told_.size() - shown), "more cell")));
        }
        if (!forms_.clock && !forms_.zone) {
            const auto [least, most] = std::minmax_element(clocks_.begin(), clocks_.end());
            const auto in_hours = [](std::chrono::minutes clock) {
                return fmt::format("UTC{:+03}:00", clock.count() / 60);
            };
            notes_.push_back(fmt::format(
                "its times are UTC and no clock is named: days are counted by the sun at these longitudes, {}; another "
                "clock is said in a column map: offset = \"+02:00\" or time_zone = \"Europe/Budapest\"",
                *least == *most ? in_hours(*least) : in_hours(*least) + " to " + in_hours(*most)));
        }
        if (tally_.several_hours > 0) {
            notes_.push_back(fmt::format("rain of {} covers more than one hour and is not kept",
                                         models::counted(tally_.several_hours, "value")));
        }
        if (tally_.impossible > 0) {
            notes_.push_back(fmt::format(
                "{} cannot be (a humidity above 100.5 %, a dew point above the temperature, rain "
                "below 0 or above 400 mm) and {} not kept",
                models::counted(tally_.impossible, "value"), models::by_number(tally_.impossible, "is", "are")));
        }
        for (const Quantity quantity : {Quantity::temperature, Quantity::rain}) {
            const bool there = std::any_of(source_->quantities.begin(), source_->quantities.end(),
                                           [&](const GridQuantity& one) { return one.quantity == quantity; });
            if (!there) notes_.push_back(fmt::format("the file holds no {}", grids::in_words(quantity)));
        }
        const bool moist = std::any_of(source_->quantities.begin(), source_->quantities.end(), [](const auto& one) {
            return one.quantity == Quantity::dew_point || one.quantity == Quantity::relative_humidity;
        });
        if (!moist) notes_.push_back("the file holds neither a dew point nor a relative humidity");
    }

    std::string file_;
    const GridForms& forms_;
    std::unique_ptr<grids::GridSource> source_;
    std::vector<std::vector<bool>> kept_;  // by quantity: the times that are hourly
    std::vector<Cell> cells_;
    std::map<std::pair<std::size_t, std::size_t>, bool> has_values_;
    grids::Box box_;
    std::int64_t first_hour_ = 0;
    std::size_t hours_ = 0;
    sys_seconds last_{};
    std::optional<std::size_t> rain_;
    std::vector<std::chrono::minutes> clocks_;
    std::vector<std::string> told_, notes_;
    Tally tally_;
};

}  // namespace grid_hours

bool is_weather_grid(const std::filesystem::path& file) {
    std::array<char, 4> head{};
    std::ifstream(file, std::ios::binary).read(head.data(), head.size());
    const std::string_view begin(head.data(), head.size());
    return begin == "GRIB" || begin == "\x89HDF" || (begin.substr(0, 3) == "CDF" && begin[3] >= 1 && begin[3] <= 5);
}

WeatherGrid read_weather_grid(const std::filesystem::path& file, const std::vector<models::Field>& fields,
                              const GridForms& forms, const models::Progress& progress) {
    return grid_hours::GridReader(file, forms).read(fields, progress);
}

}  // namespace geo
