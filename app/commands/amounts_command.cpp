#include "app/commands/amounts_command.h"

#include <cmath>
#include <memory>
#include <optional>
#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/table_text.h"
#include "geo/store/store.h"
#include "models/assay/amounts.h"
#include "models/assay/kit_lot.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct AmountsAsked {
    std::string store, kit_lot, commodity;
    std::optional<double> portion_g, sample_mass_g, dilution, extra_dilution, expected_mg_per_kg, ratio_ml_per_g;
    double step_volume_ml = 1.0;
    bool common_practice = false, json = false;
};

models::ExtractRatio ratio_asked_for(const AmountsAsked& asked, const models::KitLot& lot) {
    if (asked.ratio_ml_per_g && asked.common_practice)
        throw models::Error("--ratio and --common-practice both say how much extractant", "--ratio",
                            "give one of them");
    if (asked.ratio_ml_per_g) return {*asked.ratio_ml_per_g, "given by hand"};
    if (lot.extract_ml_per_g) return {*lot.extract_ml_per_g, "kit lot " + lot.kit_lot};
    if (asked.common_practice) return models::common_practice_ratio();
    throw models::Error(
        fmt::format("kit lot {} does not say how much extractant its procedure takes", lot.kit_lot), "",
        fmt::format("add it from the lot's leaflet: lodicule add STORE kit-lots kit_lot={} commodity={} dilution={} "
                    "extract_ml_per_g=... --correct REASON; or give --ratio, or --common-practice",
                    lot.kit_lot, lot.commodity, lot.dilution));
}

double portion_asked_for(const AmountsAsked& asked, const models::KitLot& lot) {
    if (!asked.portion_g && !lot.portion_g)
        throw models::Error(
            fmt::format("kit lot {} does not say how much ground grain its procedure extracts", lot.kit_lot),
            "--portion", "give the grams, such as --portion 20");
    const double portion_g = asked.portion_g.value_or(lot.portion_g.value_or(0.0));
    if (!(portion_g > 0.0) || !std::isfinite(portion_g))
        throw models::Error(fmt::format("a portion of {:.6g} g is none", portion_g), "--portion",
                            "give grams above 0, or leave it out where the kit lot says its own");
    return portion_g;
}

void print_amounts(const models::KitLot& lot, const models::Amounts& amounts) {
    fmt::print("kit lot {} for {}\n", lot.kit_lot, lot.commodity);
    fmt::print("grind     {:.6g} g\n", amounts.portion_g);
    fmt::print("extract   with {:.6g} ml ({:.6g} ml to a gram: {})\n", amounts.extractant_ml, amounts.ratio.ml_per_g,
               amounts.ratio.source);
    for (const models::DilutionStep& step : amounts.steps) {
        fmt::print("thin      {:.4g} ml of {} with {:.4g} ml ({})\n", step.take_ml, step.what, step.add_ml,
                   step.of_the_lot ? "the lot's own dilution, which its curve has in it"
                                   : fmt::format("1 in {:.4g}", step.factor));
    }
    fmt::print("range     {:.6g} to {:.6g} mg/kg\n", amounts.range.low_mg_per_kg, amounts.range.high_mg_per_kg);
    for (const std::string& note : amounts.notes) fmt::print("{}", wrapped_text(note + "."));
}

void print_amounts_json(const models::KitLot& lot, const models::Amounts& amounts) {
    nlohmann::ordered_json out = {{"kit_lot", lot.kit_lot},
                                  {"commodity", lot.commodity},
                                  {"portion_g", amounts.portion_g},
                                  {"extractant_ml", amounts.extractant_ml},
                                  {"ratio_ml_per_g", amounts.ratio.ml_per_g},
                                  {"ratio_source", amounts.ratio.source},
                                  {"extra_dilution", amounts.extra_dilution},
                                  {"low_mg_per_kg", amounts.range.low_mg_per_kg},
                                  {"high_mg_per_kg", amounts.range.high_mg_per_kg}};
    out["steps"] = nlohmann::ordered_json::array();
    for (const models::DilutionStep& step : amounts.steps) {
        out["steps"].push_back({{"what", step.what},
                                {"take_ml", step.take_ml},
                                {"add_ml", step.add_ml},
                                {"factor", step.factor},
                                {"factor_so_far", step.factor_so_far},
                                {"of_the_lot", step.of_the_lot}});
    }
    out["notes"] = amounts.notes;
    fmt::print("{}\n", out.dump(2, ' ', false, nlohmann::json::error_handler_t::replace));
}

int run_amounts(const AmountsAsked& asked) {
    const geo::Store store = geo::Store::open(asked.store, geo::Store::Access::read_only);
    const auto lots = store.kit_lots();
    const models::ChosenKitLot chosen = models::choose_kit_lot(lots, asked.kit_lot, asked.commodity, asked.dilution);
    if (chosen.lot == nullptr)
        throw models::Error(chosen.why_none, "--kit-lot",
                            "check the lot's number; --commodity names the grain, --dilution the dilution of the lot");
    if (asked.extra_dilution && asked.expected_mg_per_kg)
        throw models::Error("--extra-dilution and --expect both say how much to thin", "--expect", "give one of them");
    if (asked.extra_dilution && !(*asked.extra_dilution >= 1.0 && std::isfinite(*asked.extra_dilution)))
        throw models::Error(fmt::format("an extra dilution of {:.6g} thins nothing", *asked.extra_dilution),
                            "--extra-dilution", "write 5 for one part of the extract in five; leave it out for none");
    models::AmountsQuestion question;
    question.portion_g = portion_asked_for(asked, *chosen.lot);
    question.ratio = ratio_asked_for(asked, *chosen.lot);
    question.dilution = chosen.lot->dilution;
    question.range = chosen.lot->range;
    question.sample_mass_g = asked.sample_mass_g;
    question.usual_portion_g = chosen.lot->portion_g;
    question.step_volume_ml = asked.step_volume_ml;
    question.extra_dilution = asked.expected_mg_per_kg
                                  ? models::extra_dilution_for(*asked.expected_mg_per_kg, chosen.lot->range)
                                  : asked.extra_dilution.value_or(1.0);
    const models::Amounts amounts = models::amounts_for(question);
    if (asked.json)
        print_amounts_json(*chosen.lot, amounts);
    else
        print_amounts(*chosen.lot, amounts);
    return 0;
}

}  // namespace

Command make_amounts_command() {
    return {
        "amounts", "How much to weigh, extract and thin for a strip, and the range that results.",
        [](Options& options) {
            const auto asked = std::make_shared<AmountsAsked>();
            options.positional(asked->store, "STORE", "The store");
            options.option(asked->kit_lot, "--kit-lot", "LOT", "The lot of the strip", true);
            options.option(asked->portion_g, "--portion", "G",
                           "Ground grain that is extracted, g (default: what the lot's procedure takes)");
            options.option(asked->sample_mass_g, "--sample-mass", "G",
                           "Grain that is there, g: a larger portion is refused");
            options.option(asked->commodity, "--commodity", "GRAIN", "Which grain, of a lot made for several");
            options.option(asked->dilution, "--dilution", "N", "Which of the lot's dilutions, where it has several");
            options.option(asked->extra_dilution, "--extra-dilution", "N",
                           "Thin the extract further: one part of it in N");
            options.option(asked->expected_mg_per_kg, "--expect", "MG_PER_KG",
                           "The smallest whole extra dilution that can tell half as much again as this");
            options.option(asked->ratio_ml_per_g, "--ratio", "ML_PER_G",
                           "Extractant to a gram, instead of the lot's own");
            options.flag(asked->common_practice, "--common-practice",
                         "Where the lot says none: 5 ml to a gram, which is common practice without a source");
            options.option(asked->step_volume_ml, "--take", "ML", "Extract taken for each dilution (default: 1)");
            options.flag(asked->json, "--json", "The amounts as JSON");
            options.footer(
                "The ratio is the kit lot's (column extract_ml_per_g of kit-lots), for another ratio gives another\n"
                "content. The lot's own dilution stands in its curve: only an extra one multiplies content and\n"
                "range, and is written with the test as extra_dilution. Where a content is expected the range goes\n"
                "half as high again (the program's choice), for a sample may hold more than was thought.\n"
                "  lodicule amounts STORE --kit-lot K7 --portion 20 --expect 15");
            return [asked] { return run_amounts(*asked); };
        }};
}

}  // namespace app::commands
