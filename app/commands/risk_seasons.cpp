#include "app/commands/risk_seasons.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/risk_output.h"
#include "app/commands/season_options.h"
#include "app/table_text.h"
#include "models/error.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

std::optional<int> season_in(const std::string& text) {
    int season = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), season);
    if (text.empty() || error != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return season;
}

template <typename T>
Json number_or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

}  // namespace

SeasonRange season_range(const std::string& text) {
    const auto dash = text.find('-');
    const auto first = season_in(text.substr(0, dash));
    const auto last = dash == std::string::npos ? first : season_in(text.substr(dash + 1));
    if (!first || !last)
        throw models::Error("\"" + text + "\" is no range of seasons", "--seasons", "write it as 2019-2026");
    if (*last < *first) {
        throw models::Error(fmt::format("season {} comes after season {}", *first, *last), "--seasons",
                            fmt::format("write it as {}-{}", *last, *first));
    }
    return {*first, *last};
}

std::uint32_t RisksOverSeasons::number_of(const std::string& station) {
    if (station.empty()) return 0;
    const auto [found, is_new] = station_numbers_.try_emplace(station, static_cast<std::uint32_t>(stations_.size()));
    if (is_new) stations_.push_back(station);
    return found->second;
}

void RisksOverSeasons::add(const SeasonData& data, const RisksByModels& risks) {
    by_ = risks.by;
    seasons_.push_back(risks.season);
    for (std::size_t f = 0; f < risks.risks.front().size(); ++f) {
        const models::CropRecord& crop = data.crops[risks.risks.front()[f].crop];
        OfSeason& here = grounds_[ground_name(crop.field, crop.part)][risks.season];
        here.by_model.reserve(by_.size());
        for (const std::vector<FieldRisk>& of_model : risks.risks) {
            const FieldRisk& entry = of_model[f];
            if (entry.flowering.day) here.flowering = entry.flowering.day;
            here.by_model.push_back({entry.risk.value, entry.risk.low, entry.risk.high, entry.risk.coverage,
                                     entry.risk.extrapolated, entry.risk.unconfirmed, number_of(entry.station)});
        }
    }
    // One entry of each kind a season says it all.
    for (const std::vector<FieldRisk>& of_model : risks.risks) {
        for (const models::SourceOfSeason& source : weather_sources(of_model)) {
            const auto same = [&](const models::SourceOfSeason& known) {
                return known.season == source.season && known.source == source.source;
            };
            if (std::none_of(sources_.rbegin(), sources_.rend(), same)) sources_.push_back(source);
        }
    }
}

std::string RisksOverSeasons::note_of_sources() const {
    return models::note_of_changed_source(sources_);
}

void RisksOverSeasons::print_table(std::size_t model) const {
    const models::DiseaseModel& of = *by_[model];
    const std::string which = seasons_.size() == 1 ? fmt::format("season {}", seasons_.front())
                                                   : fmt::format("seasons {} to {}", seasons_.front(), seasons_.back());
    print(fmt::format("{}, {}: {}{}", of.kind == models::RiskKind::content ? "DON by an equation" : "Disease risk",
                      which, of.title, of.unconfirmed ? " (unconfirmed)" : ""));
    print(wrapped_text(
        fmt::format("{} Coefficients: {}. {}", meaning_of(of.kind), of.label, models::in_words(of.skill))));
    std::vector<std::string> columns = {"field"};
    for (const int season : seasons_) columns.push_back(fmt::format(">{}", season));
    TextTable table(columns);
    std::vector<std::vector<double>> of_season(seasons_.size());
    bool extrapolated = false, all_extrapolated = true;
    for (const auto& [name, seasons] : grounds_) {
        for (const auto& [season, here] : seasons) {
            const Cell& cell = here.by_model[model];
            if (!cell.value) continue;
            extrapolated = extrapolated || cell.extrapolated;
            all_extrapolated = all_extrapolated && cell.extrapolated;
        }
    }
    for (const auto& [name, seasons] : grounds_) {
        std::vector<std::string> cells = {name};
        for (std::size_t s = 0; s < seasons_.size(); ++s) {
            const auto here = seasons.find(seasons_[s]);
            if (here == seasons.end()) {
                cells.emplace_back();  // no record: nothing grew, or nobody wrote it down
                continue;
            }
            const Cell& cell = here->second.by_model[model];
            const bool mark = cell.value && cell.extrapolated && !all_extrapolated;
            cells.push_back(risk_text(of.kind, cell.value) + (mark ? " *" : ""));
            if (cell.value) of_season[s].push_back(*cell.value);
        }
        table.row(std::move(cells));
    }
    std::vector<std::string> middle = {"middle field"}, count = {"fields with a number"};
    for (std::vector<double>& values : of_season) {
        count.push_back(std::to_string(values.size()));
        if (values.empty()) {
            middle.push_back(risk_text(of.kind, std::nullopt));
            continue;
        }
        const auto half = values.begin() + static_cast<std::ptrdiff_t>((values.size() - 1) / 2);
        std::nth_element(values.begin(), half, values.end());
        middle.push_back(risk_text(of.kind, *half));
    }
    table.row(std::move(middle));
    table.row(std::move(count));
    print(table.text());
    std::string said = "–: no number; 'lodicule risk STORE --season Y' says what is missing. Blank: no crop record.";
    if (extrapolated) {
        said += all_extrapolated
                    ? " Every number is extrapolated: weather, crop or region that the model's data do not hold."
                    : " *: extrapolated, weather, crop or region that the model's data do not hold.";
    }
    print(wrapped_text(said));
}

void RisksOverSeasons::print_tables() const {
    for (std::size_t m = 0; m < by_.size(); ++m) print_table(m);
    if (const std::string note = note_of_sources(); !note.empty()) print(wrapped_text("Note: " + note + "."));
}

void RisksOverSeasons::print_json() const {
    Json models = Json::array();
    for (const models::DiseaseModel* model : by_) models.push_back(json_of(*model));
    Json notes = Json::array();
    if (std::string note = note_of_sources(); !note.empty()) notes.push_back(std::move(note));
    // Field by field: all of them at once would be many times as large as what they say.
    print("{\"seasons\": " + Json(seasons_).dump() + ",\n\"models\": " + models.dump(2) + ",\n\"fields\": [");
    bool first = true;
    for (const auto& [name, seasons] : grounds_) {
        Json field = {{"field", name}, {"seasons", Json::array()}};
        for (const auto& [season, here] : seasons) {
            Json of_season;
            of_season["season"] = season;
            of_season["flowering"] = here.flowering ? Json(models::to_text(*here.flowering)) : Json(nullptr);
            of_season["risks"] = Json::array();
            for (std::size_t m = 0; m < by_.size(); ++m) {
                const Cell& cell = here.by_model[m];
                of_season["risks"].push_back(
                    {{"model", by_[m]->name},
                     {"kind", models::in_words(by_[m]->kind)},
                     {"value", number_or_null(cell.value)},
                     {"low", number_or_null(cell.low)},
                     {"high", number_or_null(cell.high)},
                     {"coverage", cell.coverage},
                     {"extrapolated", cell.extrapolated},
                     {"unconfirmed", cell.unconfirmed},
                     {"weather_source", cell.station == 0 ? Json(nullptr) : Json(stations_[cell.station])}});
            }
            field["seasons"].push_back(std::move(of_season));
        }
        print((first ? "" : ",") + field.dump());
        first = false;
    }
    print("],\n\"notes\": " + notes.dump() + "}");
}

}  // namespace app::commands
