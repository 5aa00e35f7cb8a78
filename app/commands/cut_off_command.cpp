#include "app/commands/cut_off_command.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/season_options.h"
#include "app/table_text.h"
#include "geo/import.h"
#include "geo/point_table.h"
#include "geo/store/store.h"
#include "models/assay/kit_lot.h"
#include "models/decision/screening_cutoff.h"
#include "models/error.h"

namespace app::commands {

namespace {

using CutOffJson = nlohmann::ordered_json;

struct CutOffAsked {
    std::string file, target, store, kit_lot, commodity;
    std::optional<double> dilution;
    std::string study = "full";
    std::optional<double> against;
    bool falling = false, json = false;
};

models::ScreeningStudy study_option(const std::string& text) {
    if (text == "full") return models::ScreeningStudy::full;
    if (text == "new-commodity") return models::ScreeningStudy::new_commodity;
    if (text == "verification") return models::ScreeningStudy::verification;
    throw models::Error("\"" + text + "\" is no study", "--study", "write full, new-commodity or verification");
}

models::ScreeningData read_validation(const CutOffAsked& asked) {
    const geo::PointTable table = geo::PointTable::read(asked.file);
    const std::vector<std::string> samples = table.texts("sample"), dates = table.texts("date");
    const Eigen::VectorXd responses = table.numbers("response");
    models::ScreeningData data;
    data.response = asked.falling ? models::ScreeningResponse::falling : models::ScreeningResponse::rising;
    data.target_mg_per_kg = asked.target;
    for (long row = 0; row < table.rows(); ++row) {
        const auto i = static_cast<std::size_t>(row);
        const auto where = [&](const char* column) {
            return fmt::format("{}, row {}, column {}", asked.file, row + 2, column);
        };
        const auto day = models::parse_day(dates[i]);
        if (!day) throw models::Error("\"" + dates[i] + "\" is no date", where("date"), "write it as 2026-05-12");
        if (!std::isfinite(responses[row])) {
            throw models::Error("the response is missing", where("response"),
                                "fill it in, or leave the sample out and say why in the report of the validation");
        }
        const bool negative = samples[i] == "negative", positive = samples[i] == "positive";
        if (!negative && !positive) {
            throw models::Error("\"" + samples[i] + "\" is neither negative nor positive", where("sample"),
                                "negative: at most a fifth of the target; positive: at the target");
        }
        (negative ? data.negative : data.positive).push_back({*day, responses[row]});
    }
    return data;
}

std::string days_in_words(const models::ScreeningData& data) {
    models::LocalDay first = data.positive.front().day, last = first;
    for (const auto* readings : {&data.negative, &data.positive}) {
        for (const models::ScreeningReading& reading : *readings) {
            first = std::min(first, reading.day);
            last = std::max(last, reading.day);
        }
    }
    return models::to_text(first) + " to " + models::to_text(last);
}

/// That it is a number screening_cutoff has seen.
double target_of(const CutOffAsked& asked) {
    double target = 0.0;
    std::from_chars(asked.target.data(), asked.target.data() + asked.target.size(), target);
    return target;
}

/// Samples that hold too much to stand for grain without the toxin. It can be seen where responses are contents: where
/// grain at the target reads about the target.
std::optional<std::string> doubt_of_negatives(const CutOffAsked& asked, const models::ScreeningCutoff& cutoff) {
    const double target = target_of(asked), most = target / 5.0;
    const bool contents = !asked.falling && cutoff.mean_positive > target / 3.0 && cutoff.mean_positive < target * 3.0;
    if (!contents || cutoff.mean_negative <= most) return std::nullopt;
    return fmt::format(
        "The negative samples read {:.2g} mg/kg on average, and should hold at most {:.2g}, a fifth of "
        "the target: the share of good grain that is suspected is overstated.",
        cutoff.mean_negative, most);
}

/// Writes the cut-off into the record of the kit lot. @returns what was done
std::string keep_cutoff(const CutOffAsked& asked, const models::ScreeningCutoff& cutoff, const std::string& from) {
    const double target = target_of(asked);
    if (cutoff.cut_off >= target) {
        throw models::Error(
            fmt::format("the cut-off {:.6g} does not lie below its target {}, so that grain over the limit "
                        "would pass more often than not",
                        cutoff.cut_off, asked.target),
            "--keep",
            "check that the positive samples hold the target; a kit lot that reads this high needs a "
            "curve of its own, not a cut-off");
    }
    geo::Store store = geo::Store::open(asked.store);
    const auto lots = store.kit_lots();
    const models::ChosenKitLot chosen = models::choose_kit_lot(lots, asked.kit_lot, asked.commodity, asked.dilution);
    if (chosen.lot == nullptr)
        throw models::Error(chosen.why_none, "--kit-lot",
                            "check the lot's number; --commodity names the grain, --dilution the dilution of the lot");
    geo::ImportOptions options;
    options.correct_because = "validation for " + asked.target + " mg/kg";
    geo::add_row(store, "kit-lots",
                 {{"kit_lot", chosen.lot->kit_lot},
                  {"commodity", chosen.lot->commodity},
                  {"dilution", fmt::format("{}", chosen.lot->dilution)},
                  {"low_mg_per_kg", fmt::format("{}", chosen.lot->range.low_mg_per_kg)},
                  {"high_mg_per_kg", fmt::format("{}", chosen.lot->range.high_mg_per_kg)},
                  {"cut_off_mg_per_kg", fmt::format("{}", cutoff.cut_off)},
                  {"cut_off_for_mg_per_kg", asked.target},
                  {"cut_off_from", from}},
                 options);
    return fmt::format("kept with kit lot {} for {}", chosen.lot->kit_lot, chosen.lot->commodity);
}

void require_sense(const CutOffAsked& asked, models::ScreeningStudy study) {
    if (asked.store.empty() != asked.kit_lot.empty())
        throw models::Error("a cut-off is kept with a kit lot of a store", asked.store.empty() ? "--keep" : "--kit-lot",
                            "give both --keep STORE and --kit-lot LOT, or neither");
    if (study == models::ScreeningStudy::full) {
        if (asked.against)
            throw models::Error("a full validation makes its own cut-off", "--against",
                                "leave it out, or ask for --study new-commodity or verification");
        if (asked.falling && !asked.store.empty())
            throw models::Error("a response that falls with the content is a signal, and the lot's cut-off a content",
                                "--keep", "validate with the contents that the strips read, which rise");
        return;
    }
    if (!asked.against) throw models::Error("the study checks a cut-off that stands", "--against", "give that cut-off");
    if (!asked.store.empty()) throw models::Error("a check makes no cut-off of its own", "--keep", "leave it out");
}

int run_cut_off(const CutOffAsked& asked) {
    const models::ScreeningStudy study = study_option(asked.study);
    require_sense(asked, study);
    const models::ScreeningData data = read_validation(asked);
    if (study != models::ScreeningStudy::full) {
        models::ScreeningCutoff standing;
        standing.cut_off = *asked.against;
        standing.response = data.response;
        standing.significant_figures = models::significant_figures_of(asked.target);
        const models::CutoffCheck check = models::check_cutoff(standing, data, study);
        if (asked.json) {
            print(CutOffJson{{"study", asked.study},
                             {"holds", check.holds},
                             {"positives_missed", check.positives_missed},
                             {"negatives_suspected", check.negatives_suspected},
                             {"says", check.says}}
                      .dump(2));
        } else {
            print(wrapped_text(check.says));
        }
        return 0;
    }
    const models::ScreeningCutoff cutoff = models::screening_cutoff(data);
    const std::string from =
        fmt::format("{} + {} samples, {}", cutoff.negatives, cutoff.positives, days_in_words(data));
    const std::optional<std::string> doubt = doubt_of_negatives(asked, cutoff);
    std::string kept;
    if (!asked.store.empty()) kept = keep_cutoff(asked, cutoff, from);
    if (asked.json) {
        print(CutOffJson{{"study", asked.study},
                         {"target_mg_per_kg", target_of(asked)},
                         {"cut_off", cutoff.cut_off},
                         {"before_rounding", cutoff.before_rounding},
                         {"t", cutoff.t_value},
                         {"mean_positive", cutoff.mean_positive},
                         {"sd_positive", cutoff.sd_positive},
                         {"mean_negative", cutoff.mean_negative},
                         {"sd_negative", cutoff.sd_negative},
                         {"positives", cutoff.positives},
                         {"negatives", cutoff.negatives},
                         {"days", cutoff.days},
                         {"false_negative_rate", cutoff.false_negative_rate},
                         {"false_suspect_rate", cutoff.false_suspect_rate},
                         {"from", from},
                         {"kept", kept.empty() ? CutOffJson(nullptr) : CutOffJson(kept)},
                         {"says", cutoff.says},
                         {"caution", doubt ? CutOffJson(*doubt) : CutOffJson(nullptr)}}
                  .dump(2));
        return 0;
    }
    print(fmt::format("cut-off  {:.{}g}", cutoff.cut_off, std::max(cutoff.significant_figures, 1)));
    print(wrapped_text(cutoff.says));
    if (doubt) print(wrapped_text(*doubt));
    if (!kept.empty()) print(kept + ": `results --limit " + asked.target + "` holds its strips against it");
    return 0;
}

}  // namespace

Command make_cut_off_command() {
    return {
        "cut-off", "The content from which a strip is suspected, from a validation.", [](Options& options) {
            const auto asked = std::make_shared<CutOffAsked>();
            options.positional(asked->file, "FILE", "Results of the validation: columns sample, date, response");
            options.option(asked->target, "--target", "MG_PER_KG",
                           "The screening target as the limit is written, 1.0: the cut-off has as many figures", true);
            options.flag(asked->falling, "--falling", "The response falls with the content, as a test line does");
            options.option(asked->study, "--study", "STUDY",
                           "full (20 + 20), new-commodity (10 + 10) or verification (6 + 6)");
            options.option(asked->against, "--against", "CUT_OFF",
                           "The cut-off that a new commodity or a verification checks");
            options.option(asked->store, "--keep", "STORE", "Write the cut-off into a kit lot of this store");
            options.option(asked->kit_lot, "--kit-lot", "LOT", "That kit lot");
            options.option(asked->commodity, "--commodity", "GRAIN", "Which grain, of a lot made for several");
            options.option(asked->dilution, "--dilution", "N", "Which of the lot's dilutions, where it has several");
            options.flag(asked->json, "--json", "The answer as JSON");
            options.footer(
                "One row a sample: `sample` is negative (at most a fifth of the target) or positive (at the\n"
                "target), `date` the day it was read, `response` what the strip read. (EU) 2023/2782, Annex II,\n"
                "point 4.2.2: 20 of each over 5 days or more; grain at the target then passes in one of 20 cases.\n"
                "  lodicule cut-off validation.csv --target 1.0 --keep season.lodicule --kit-lot K7");
            return [asked] { return run_cut_off(*asked); };
        }};
}

}  // namespace app::commands
