#include "app/commands/risk_seasons.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/risk_output.h"
#include "app/commands/season_options.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/disease/disease_risk.h"
#include "models/error.h"
#include "models/words.h"

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

/// By name: which record of each season, in the order of the seasons.
using GroundRows = std::map<std::string, std::vector<std::optional<std::size_t>>>;

GroundRows rows_of_grounds(const SeasonsSideBySide& view) {
    GroundRows rows;
    const std::vector<int>& seasons = view.over.seasons;
    for (std::size_t r = 0; r < view.over.records.size(); ++r) {
        const models::CropRecord& crop = view.data.crops[view.over.records[r]];
        auto& row = rows[ground_name(crop.field, crop.part)];
        row.resize(seasons.size());
        const auto season = std::lower_bound(seasons.begin(), seasons.end(), crop.season);
        row[static_cast<std::size_t>(season - seasons.begin())] = r;
    }
    return rows;
}

/// The middle one of the fields' numbers, the lower of two.
std::optional<double> middle_of(std::vector<double> values) {
    if (values.empty()) return std::nullopt;
    const auto half = values.begin() + static_cast<std::ptrdiff_t>((values.size() - 1) / 2);
    std::nth_element(values.begin(), half, values.end());
    return *half;
}

void print_table_of(std::size_t model, const SeasonsSideBySide& view, const GroundRows& rows) {
    const RisksOverSeasons& over = view.over;
    const models::DiseaseModel& of = *over.by[model];
    const std::vector<RiskInShort>& risks = over.risks[model];
    const std::string which = over.seasons.size() == 1
                                  ? fmt::format("season {}", over.seasons.front())
                                  : fmt::format("seasons {} to {}", over.seasons.front(), over.seasons.back());
    print(fmt::format("{}, {}{}: {}{}", of.kind == models::RiskKind::content ? "DON by an equation" : "Disease risk",
                      which, how_in_words(view.how), of.title, of.unconfirmed ? " (unconfirmed)" : ""));
    print(wrapped_text(
        fmt::format("{} Coefficients: {}. {}", meaning_of(of.kind), of.label, models::in_words(of.skill))));
    const auto has_value = [](const RiskInShort& risk) { return risk.value.has_value(); };
    const auto is_extrapolated = [](const RiskInShort& risk) { return risk.value && risk.extrapolated; };
    const auto extrapolated = std::count_if(risks.begin(), risks.end(), is_extrapolated);
    const bool all_extrapolated = extrapolated == std::count_if(risks.begin(), risks.end(), has_value);

    std::vector<std::string> columns = {"field"};
    for (const int season : over.seasons) columns.push_back(fmt::format(">{}", season));
    TextTable table(columns);
    std::vector<std::vector<double>> of_season(over.seasons.size());
    int forecast = 0, elsewhere = 0;
    for (const auto& [name, records] : rows) {
        std::vector<std::string> cells = {name};
        for (std::size_t s = 0; s < records.size(); ++s) {
            if (!records[s]) {
                cells.emplace_back();
                continue;
            }
            const RiskInShort& risk = risks[*records[s]];
            const models::Crop crop = view.data.crops[over.records[*records[s]]].crop;
            if (!models::has_disease_model(crop)) {
                cells.push_back(models::in_words(crop));
                continue;
            }
            const bool mark = is_extrapolated(risk) && !all_extrapolated;
            const bool is_forecast = risk.value && risk.forecast;
            forecast += is_forecast ? 1 : 0;
            elsewhere += risk.value && risk.passed_over ? 1 : 0;
            cells.push_back(risk_text(of.kind, risk.value) + (is_forecast ? " f" : "") + (mark ? " *" : ""));
            if (risk.value) of_season[s].push_back(*risk.value);
        }
        table.row(std::move(cells));
    }
    std::vector<std::string> middle = {"middle field"}, count = {"fields with a number"};
    for (std::vector<double>& values : of_season) {
        count.push_back(std::to_string(values.size()));
        middle.push_back(risk_text(of.kind, middle_of(std::move(values))));
    }
    table.row(std::move(middle));
    table.row(std::move(count));
    print(table.text_within());
    std::string said =
        "–: no number; 'lodicule risk STORE --season Y' says what is missing. Blank: no crop record. middle field: "
        "half "
        "of the fields with a number in that season lie at or below it, and they are not the same fields every season.";
    if (forecast > 0) said += " f: some of its hours are forecast.";
    if (elsewhere > 0) {
        said += fmt::format(" For {} another station than the nearest answered, whose hours were missing.",
                            models::counted(elsewhere, "number"));
    }
    if (extrapolated > 0) {
        said += all_extrapolated
                    ? " Every number is extrapolated: weather, crop or region that the model's data do not hold."
                    : " *: extrapolated, weather, crop or region that the model's data do not hold.";
    }
    print(wrapped_text(said));
}

/// Those of the range that have none, as many as can be named.
std::string seasons_without_records(const SeasonsSideBySide& view) {
    constexpr std::size_t can_be_named = 12;
    std::string names;
    std::size_t without = 0;
    for (int season = view.asked.first; season <= view.asked.last; ++season) {
        if (std::binary_search(view.over.seasons.begin(), view.over.seasons.end(), season)) continue;
        if (++without > can_be_named) return "No crop records in the other seasons of the range.";
        names += (names.empty() ? "" : ", ") + std::to_string(season);
    }
    return without == 0 ? "" : "No crop records in " + names + ".";
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

void print_seasons(const SeasonsSideBySide& view) {
    const GroundRows rows = rows_of_grounds(view);
    for (std::size_t m = 0; m < view.over.by.size(); ++m) print_table_of(m, view, rows);
    if (const std::string without = seasons_without_records(view); !without.empty()) print(without);
    if (!view.over.changed_source.empty()) print(wrapped_text("Note: " + view.over.changed_source + "."));
}

void print_seasons_json(const SeasonsSideBySide& view) {
    const RisksOverSeasons& over = view.over;
    Json models = Json::array();
    for (const models::DiseaseModel* model : over.by) models.push_back(json_of(*model));
    Json notes = Json::array();
    if (!over.changed_source.empty()) notes.push_back(over.changed_source);
    // Field by field: all of them at once would be many times as large as what they say.
    print("{\"seasons\": " + Json(over.seasons).dump() + ",\n\"how\": " + json_of(view.how).dump() +
          ",\n\"models\": " + models.dump(2) + ",\n\"fields\": [");
    bool first = true;
    for (const auto& [name, records] : rows_of_grounds(view)) {
        Json field = {{"field", name}, {"seasons", Json::array()}};
        for (std::size_t s = 0; s < records.size(); ++s) {
            if (!records[s]) continue;
            const std::size_t record = *records[s];
            Json of_season;
            of_season["season"] = over.seasons[s];
            of_season["crop"] = models::in_words(view.data.crops[over.records[record]].crop);
            of_season["flowering_day"] =
                over.flowering[record] ? Json(models::to_text(*over.flowering[record])) : Json(nullptr);
            of_season["risks"] = Json::array();
            for (std::size_t m = 0; m < over.by.size(); ++m) {
                const RiskInShort& risk = over.risks[m][record];
                const auto without = over.without.find({m, record});
                of_season["risks"].push_back(
                    {{"model", over.by[m]->name},
                     {"kind", models::in_words(over.by[m]->kind)},
                     {"value", number_or_null(risk.value)},
                     {"low", number_or_null(risk.low)},
                     {"high", number_or_null(risk.high)},
                     {"coverage", risk.coverage},
                     {"extrapolated", risk.extrapolated},
                     {"unconfirmed", risk.unconfirmed},
                     {"forecast_hours", risk.forecast},
                     {"weather_passed_over", risk.passed_over},
                     {"weather_source", risk.source == nullptr ? Json(nullptr) : Json(*risk.source)},
                     {"missing", without == over.without.end() ? Json::array() : Json(without->second)}});
            }
            field["seasons"].push_back(std::move(of_season));
        }
        print((first ? "" : ",") + field.dump());
        first = false;
    }
    print("],\n\"notes\": " + notes.dump() + "}");
}

}  // namespace app::commands
