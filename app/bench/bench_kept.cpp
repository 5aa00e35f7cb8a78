#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench.h"
#include "app/bench/bench_words.h"
#include "geo/tables/cells.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "models/spoken.h"

/// What a test carries on to the next one until it is changed.
namespace app {

void Bench::take_up() {
    if (facts_.running.empty()) return;
    const models::StartedStrip& last = facts_.running.back();
    const auto keep_if_said = [this](const char* column, const std::string& value) {
        if (!value.empty()) kept_.emplace(column, value);
    };
    if (lot_named(last.kit_lot) != nullptr) keep_if_said("kit_lot", last.kit_lot);
    keep_if_said("commodity", last.commodity);
    keep_if_said("operator", last.operator_name);
    if (last.lot_dilution) keep_if_said("lot_dilution", geo::tables::number_text(*last.lot_dilution));
}

BenchAnswer Bench::keep(const std::string& word, const std::string& said, const models::Stamp& now) {
    const benching::KeptWord* known = benching::kept_word(word);
    if (known == nullptr) return unknown(word);
    const std::string column_name = known->column;
    const std::string label = models::spoken(known->label);
    BenchAnswer answer;
    std::string value = said;
    if (column_name == "commodity")  // a crop as the language that is spoken names it
        for (const std::string& crop : geo::words::of<models::Crop>())
            if (benching::lower(benching::grain_in_words(crop)) == benching::lower(said)) value = crop;
    if (column_name != "operator" && column_name != "kit_lot") value = models::number_as_typed(value);
    if (column_name == "kit_lot" && lot_named(said) == nullptr) {
        const std::vector<std::string> words = benching::words_of(said);  // "kit lot K7" is "kit K7"
        if (!words.empty() && benching::lower(words.front()) == "lot") value = benching::rest_of(words, 1);
        if (!value.empty() && value != "-" && lot_named(value) == nullptr) return unknown_lot(value);
    }
    if (value.empty()) {
        const std::string now_kept = kept(known->column);
        answer.says.push_back(fmt::format(
            "{}: {}", label,
            now_kept.empty() ? models::phrase("not said") : benching::kept_in_words(column_name, now_kept)));
        return answer;
    }
    if (value == "-") {
        kept_.erase(known->column);
        answer.says.push_back(models::phrase("{}: not said any more", label));
        return answer;
    }
    if (column_name == "unit") {
        std::optional<geo::tables::CellRefusal> wrong;
        geo::tables::read_don("1", value, {}, wrong);
        if (wrong) return benching::refusal(benching::refused_cell(*wrong));
    } else {
        std::optional<geo::tables::CellRefusal> wrong;
        geo::tables::read_cell(*geo::tables::kind_named("tests").find(column_name), value, {}, wrong);
        if (wrong) return benching::refusal(fmt::format("{}: {}", label, benching::refused_cell(*wrong)));
    }
    kept_[column_name] = value;
    answer.says.push_back(
        models::phrase("{} {}, until it is changed", label, benching::kept_in_words(column_name, value)));
    if (column_name == "kit_lot" || column_name == "commodity" || column_name == "lot_dilution") {
        if (std::string sentence = about_reading_time(); !sentence.empty()) answer.says.push_back(std::move(sentence));
        for (std::string& sentence : about_kit_lot(now)) answer.says.push_back(std::move(sentence));
    }
    if (column_name == "kit_lot" || column_name == "temperature_degc") {
        if (std::string sentence = about_temperature(); !sentence.empty()) answer.says.push_back(std::move(sentence));
    }
    return answer;
}

BenchAnswer Bench::unknown_lot(const std::string& lot) const {
    const std::string in_use = kept("kit_lot");
    return benching::refusal(models::phrase(
        "kit lot {} is not in the store{}; {}. A new lot is entered outside: lodicule add STORE kit-lots kit_lot={} "
        "commodity=... dilution=... low_mg_per_kg=... high_mg_per_kg=... incubation_least_s=... incubation_most_s=...",
        lot, benching::did_you_mean(lot, lot_names()),
        in_use.empty() ? models::phrase("none is in use") : models::phrase("{} stays in use", in_use), lot));
}

std::vector<std::string> Bench::lot_names() const {
    std::vector<std::string> names;
    for (const models::KitLot& lot : facts_.kit_lots) names.push_back(lot.kit_lot);
    return names;
}

/// What is said when it is set, and not only when a result is flagged or void for it.
std::string Bench::about_temperature() const {
    const std::optional<double> degc = kept_number("temperature_degc");
    const models::ChosenKitLot chosen =
        models::choose_kit_lot(facts_.kit_lots, kept("kit_lot"), kept("commodity"), kept_number("lot_dilution"));
    if (!degc || chosen.lot == nullptr) return "";
    const std::optional<double> least = chosen.lot->temperature_least_degc, most = chosen.lot->temperature_most_degc;
    if (!(least && *degc < *least) && !(most && *degc > *most)) return "";
    const std::string asked = least && most ? models::phrase("{:.6g} to {:.6g} degC", *least, *most)
                              : least       ? models::phrase("at least {:.6g} degC", *least)
                                            : models::phrase("at most {:.6g} degC", *most);
    return models::phrase("kit lot {} asks for {}: contents read so are flagged, and signals are void",
                          chosen.lot->kit_lot, asked);
}

/// Empty where no kit lot is in use.
std::string Bench::about_reading_time() const {
    if (kept("kit_lot").empty()) return "";
    const models::ReadingWindow window = window_in_use();
    return window.why_none.empty() ? models::phrase("its strips are read at {}", models::in_words(window))
                                   : models::phrase("nothing says when its strips may be read: {}", window.why_none);
}

models::ReadingWindow Bench::window_in_use() const {
    return models::reading_window(facts_.kit_lots, kept("kit_lot"), kept("commodity"), kept_number("lot_dilution"));
}

std::vector<std::string> Bench::about_kit_lot(const models::Stamp& now, const std::string& sample) const {
    const std::string name = kept("kit_lot");
    if (name.empty()) return {};
    std::vector<std::string> says;
    const auto chosen_for = [&](const std::string& grain) {
        return models::choose_kit_lot(facts_.kit_lots, name, grain, kept_number("lot_dilution"));
    };
    const models::ChosenKitLot chosen = chosen_for(grain_for(sample, name));
    // With the grain of a sample it may be plain which is meant.
    const bool sample_says =
        sample.empty() && kept("commodity").empty() && !facts_.grain.empty() &&
        std::any_of(facts_.kit_lots.begin(), facts_.kit_lots.end(), [&](const models::KitLot& lot) {
            return lot.kit_lot == name && chosen_for(lot.commodity).lot != nullptr;
        });
    if (chosen.lot == nullptr && sample_says)
        says.push_back(models::phrase(
            "each strip takes the grain of its sample's load or field; where none is known say it (grain wheat)"));
    else if (chosen.lot == nullptr && window_in_use().why_none.empty())
        says.push_back(models::phrase("{}: say it (grain, dilution), or nothing says what range its strips have",
                                      chosen.why_none));
    const models::KitLot* lot = lot_named(name);
    if (lot != nullptr && lot->expires && *lot->expires < now.local_day()) {
        says.push_back(models::phrase("kit lot {} was good until {}: its results are flagged", name,
                                      models::to_text(*lot->expires)));
    }
    if (const auto failed = facts_.choices.failed_lots.find(name); failed != facts_.choices.failed_lots.end())
        says.push_back(models::phrase("kit lot {}: {}", name, failed->second));
    return says;
}

const models::KitLot* Bench::lot_named(const std::string& name) const {
    for (const models::KitLot& lot : facts_.kit_lots) {
        if (lot.kit_lot == name) return &lot;
    }
    return nullptr;
}

std::string Bench::kept(const char* column) const {
    const auto found = kept_.find(column);
    return found == kept_.end() ? "" : found->second;
}

std::optional<double> Bench::kept_number(const char* column) const {
    std::optional<geo::tables::CellRefusal> refused;
    const geo::Value value =
        geo::tables::read_cell(*geo::tables::kind_named("tests").find(column), kept(column), {}, refused);
    const double* number = std::get_if<double>(&value);
    return number == nullptr ? std::nullopt : std::optional(*number);
}

}  // namespace app
