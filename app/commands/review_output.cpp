#include "app/commands/review_output.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/commands/risk_output.h"
#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/forecast_words.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/words.h"

namespace app::commands {

namespace {

std::string decimals_or_dash(const std::optional<double>& value, int decimals) {
    return value ? fmt::format("{:.{}f}", *value, decimals) : "–";
}

std::string signed_or_dash(const std::optional<double>& value) {
    return value ? fmt::format("{:+.2f}", *value) : "–";
}

std::string whole_percent(double share) {
    return fmt::format("{:.0f} %", share * 100.0);
}

std::string span_or_dash(const std::optional<double>& low, const std::optional<double>& high) {
    return low && high ? fmt::format("{:.2f} to {:.2f}", *low, *high) : "–";
}

std::string seasons_in_words(const std::vector<int>& seasons) {
    return seasons.size() == 1 ? fmt::format("season {}", seasons.front())
                               : fmt::format("seasons {} to {}", seasons.front(), seasons.back());
}

void print_in_section(const TextTable& table) {
    std::string text = "  " + table.text_within(98);
    for (std::size_t at = text.find('\n'); at + 1 < text.size(); at = text.find('\n', at + 1)) {
        if (text[at + 1] != '\n') text.insert(at + 1, "  ");
    }
    print(text);
}

void print_notes(const std::vector<std::string>& notes) {
    for (const std::string& note : notes) print(wrapped_text("  " + note + ".", 98, "  "));
}

/// A number over seasons as a sentence: "AUC 0.71, over seasons 0.40 to 1.00; without 2024 0.65, ..."
void print_over_seasons(const std::string& name, const models::OverSeasons& over, int decimals) {
    if (!over.value) return;
    std::string text = fmt::format("{} {:.{}f}", name, *over.value, decimals);
    if (over.low95) {
        text += *over.low95 < -9.0 ? fmt::format(", 95 % over seasons at most {:.{}f}", *over.high95, decimals)
                                   : fmt::format(", 95 % over seasons {:.{}f} to {:.{}f}", *over.low95, decimals,
                                                 *over.high95, decimals);
        text += "; without";
        for (const models::OverSeasons::LeftOut& left : over.without)
            text += fmt::format(" {} {},", left.season, decimals_or_dash(left.value, decimals));
        text.back() = '.';
    } else {
        text += "; " + over.not_told + ".";
    }
    print(wrapped_text(text, 98, "  "));
}

void print_reliability(const models::BrierParts& brier, const char* predicted) {
    TextTable table({std::string(">") + predicted, ">happened", ">fields"});
    for (const models::ReliabilityRow& row : brier.table)
        table.row({whole_percent(row.predicted), whole_percent(row.observed), std::to_string(row.n)});
    print_in_section(table);
    std::size_t fields = 0;
    for (const models::ReliabilityRow& row : brier.table) fields += static_cast<std::size_t>(row.n);
    print(wrapped_text(
        fields < least_cases_for_parts
            ? fmt::format("Brier {:.3f}. {} next to nothing of how far chances can be trusted; the parts of the "
                          "score (reliability, resolution) are told from {} on.",
                          brier.brier, models::counted(static_cast<long long>(fields), "field tells", "fields tell"),
                          least_cases_for_parts)
            : fmt::format("Brier {:.3f} = reliability {:.3f} - resolution {:.3f} + uncertainty {:.3f} {} {:.3f} within "
                          "groups.",
                          brier.brier, brier.reliability, brier.resolution, brier.uncertainty,
                          brier.within < 0.0 ? '-' : '+', std::abs(brier.within)),
        98, "  "));
}

constexpr const char* words_of_intervals =
    "over seasons: 95 % interval with the season as the unit, for a year that nobody has seen. if independent: 95 % "
    "interval as if fields were independent (DeLong); too narrow, for fields of a season share its weather.";

std::string name_in_league(const ModelReview& one, const models::DiseaseModel& model) {
    return one.model->name + (one.model == &model ? " *" : "");
}

void print_league(const RiskReview& review, const models::DiseaseModel& model) {
    TextTable table({"model", ">fields", ">AUC", "over seasons", "if independent", ">Brier", ">skill"});
    for (const ModelReview& one : review.models) {
        const models::OverSeasons& over = one.auc_over_seasons;
        table.row({name_in_league(one, model), std::to_string(one.cases.happened.size()),
                   one.rank ? fmt::format("{:.2f}", one.rank->auc) : "–",
                   one.rank ? span_or_dash(over.low95, over.high95) : "–",
                   one.rank ? span_or_dash(one.rank->low95, one.rank->high95) : "–",
                   one.brier ? fmt::format("{:.3f}", one.brier->brier) : "–", signed_or_dash(one.skill)});
    }
    print_in_section(table);
    std::string said = fmt::format(
        "*: told in full below. AUC: chance that a diseased field had the higher number. {} Brier: mean "
        "square error of the chance; an index has none. skill: 1 - Brier / Brier of naming the share of "
        "the other seasons.",
        words_of_intervals);
    if (!review.same_fields)
        said += " Not every model has a number for the same fields: rows of differing fields cannot be compared.";
    print(wrapped_text(said, 98, "  "));
}

void print_local(const models::LocalCalibration& local) {
    std::string text = "Local re-calibration " + local.reason + ".";
    if (local.offered) {
        text += fmt::format(
            " logit of the local chance = {:+.2f} {:+.2f} x logit of the published one: 10 % becomes "
            "{}, 30 % {}, 60 % {}.",
            local.intercept, local.slope, whole_percent(local.apply(0.1)), whole_percent(local.apply(0.3)),
            whole_percent(local.apply(0.6)));
    }
    text += " Shrunk towards what was published: intercept N(0, 1), slope N(1, 0.5), both ours.";
    print(wrapped_text(text, 98, "  "));
}

void print_model_against_severity(const RiskReview& review, const ModelReview& one) {
    print(fmt::format("  {}:", one.model->title));
    if (one.cases.happened.empty()) {
        print("  it has no number for any of the scouted fields");
        return;
    }
    if (one.brier) print_reliability(*one.brier, "predicted");
    TextTable table({">season", ">fields", ">diseased", ">mean risk", ">AUC", ">Brier"});
    for (const models::SeasonTally& tally : one.tallies) {
        table.row({std::to_string(tally.season), std::to_string(tally.n), std::to_string(tally.events),
                   risk_text(one.model->kind, tally.mean_predicted), decimals_or_dash(tally.auc, 2),
                   one.brier ? decimals_or_dash(tally.brier, 3) : "–"});
    }
    print_in_section(table);
    if (!one.rank) print("  no AUC of all: it takes two diseased fields and two others");
    print_over_seasons("AUC", one.auc_over_seasons, 2);
    if (one.auc_within_seasons) print(fmt::format("  AUC among fields of one season: {:.2f}", *one.auc_within_seasons));
    if (one.brier) print_over_seasons("Brier", one.brier_over_seasons, 3);
    if (one.skill) print_over_seasons("skill", one.skill_over_seasons, 2);
    if (one.brier && !one.skill && review.seasons.size() < 2)
        print("  no skill against other seasons: there is one season only");
    if (one.local) print_local(*one.local);
}

void print_severity(const RiskReview& review, const models::DiseaseModel& model) {
    print("1. Disease models against scouted severity");
    const auto& found = review.scouting.found;
    if (found.empty()) {
        print(wrapped_text(
            review.scouting.visits == 0
                ? "No field of these seasons was scouted. Import what was seen: lodicule import STORE scouting "
                  "FILE.csv (field, date, severity_pct; the severity is the mean share of diseased spikelets)."
                : "No visit counts, so no model can be judged.",
            98, "  "));
        print_notes(review.scouting.notes);
        return;
    }
    const auto diseased =
        std::count_if(found.begin(), found.end(), [](const SeverityFound& one) { return one.diseased; });
    print(wrapped_text(
        fmt::format("{} of {} fields came to a severity of {:.0f} % or more, the event that the models speak of. Of a "
                    "field and season the last visit before the cut counts: severity grows until the heads ripen.",
                    diseased, found.size(), diseased_from_severity_pct),
        98, "  "));
    print_notes(review.scouting.notes);
    print_league(review, model);
    print_model_against_severity(review, review.of(model));
}

/// As the league against severity, of results over the limit.
void print_don_league(const RiskReview& review, const models::DiseaseModel& model) {
    std::vector<const ModelReview*> order;
    for (const ModelReview& one : review.models) {
        if (one.don_rank) order.push_back(&one);
    }
    if (order.empty()) return;
    std::stable_sort(order.begin(), order.end(),
                     [](const ModelReview* a, const ModelReview* b) { return a->don_rank->auc > b->don_rank->auc; });
    TextTable table({"model", ">fields", ">AUC", "over seasons", "if independent"});
    for (const ModelReview* one : order) {
        table.row({name_in_league(*one, model), std::to_string(one->don_cases.happened.size()),
                   fmt::format("{:.2f}", one->don_rank->auc),
                   span_or_dash(one->don_auc_over_seasons.low95, one->don_auc_over_seasons.high95),
                   span_or_dash(one->don_rank->low95, one->don_rank->high95)});
    }
    print_in_section(table);
    if (review.scouting.found.empty()) print(wrapped_text(words_of_intervals, 98, "  "));
}

void print_don(const SeasonsReviewed& all, const models::DiseaseModel& model) {
    const RiskReview& review = all.risks;
    print("2. Disease risk against DON: the order only");
    if (!review.limit) {
        print(wrapped_text("Name a limit to hold results against: --limit 1.0, or a limit_id of the store.", 98, "  "));
        return;
    }
    if (review.don.empty()) {
        print(
            wrapped_text("No field of these seasons has a result of its own that tells which side of the limit it "
                         "lies on. Import tests: lodicule import STORE tests FILE.csv",
                         98, "  "));
        print_notes(review.don_notes);
        return;
    }
    const auto over = std::count_if(review.don.begin(), review.don.end(), [](const DonFound& one) { return one.over; });
    print(wrapped_text(
        fmt::format("{} of {} tested fields are over by their own results ({}): at least half of those of its samples "
                    "and of loads of it alone.",
                    over, review.don.size(), models::in_words(*review.limit)),
        98, "  "));
    print_notes(review.don_notes);
    print_don_league(review, model);
    const ModelReview& one = review.of(model);
    if (!one.don_rank) {
        print(wrapped_text(
            fmt::format("{}: no order to tell; it takes two fields over and two others with a number", model.title), 98,
            "  "));
        return;
    }
    print(wrapped_text(fmt::format("{}: of two fields the one over had the higher number in {} of 100 pairs.",
                                   model.title, static_cast<int>(one.don_rank->auc * 100.0 + 0.5)),
                       98, "  "));
    print_over_seasons("AUC", one.don_auc_over_seasons, 2);
    if (one.don_auc_within_seasons)
        print(fmt::format("  AUC among fields of one season: {:.2f}", *one.don_auc_within_seasons));
}

void print_class(const ForecastClass& of) {
    const std::string when = of.made_afterwards ? "Made afterwards, as of a day " : "Made ";
    print("  " + when +
          (of.own_results_known ? "when results of the field were known:" : "when no result of the field was known:"));
    if (of.checks.empty()) {
        print("  none that a later result followed");
        return;
    }
    TextTable table({">season", ">fields", ">over", ">mean chance", ">Brier", ">in 90 %", ">with its error"});
    int intervals = 0, inside = 0, with_error = 0, inside_with_error = 0;
    const auto share = [](int part, int all) {
        return all == 0 ? std::string("–") : fmt::format("{} of {}", part, all);
    };
    for (const ForecastSeason& row : of.seasons) {
        intervals += row.intervals;
        inside += row.inside;
        with_error += row.intervals_with_error;
        inside_with_error += row.inside_with_error;
        table.row({std::to_string(row.season), std::to_string(row.n), std::to_string(row.over),
                   row.n > 0 ? whole_percent(row.mean_exceedance) : "–", decimals_or_dash(row.brier, 3),
                   share(row.inside, row.intervals), share(row.inside_with_error, row.intervals_with_error)});
    }
    print_in_section(table);
    if (of.brier) {
        print_reliability(*of.brier, "chance");
        if (of.brier_as_read) {
            std::string as_read =
                fmt::format("As a chance that the reading itself is over, its own error in it: Brier {:.3f}",
                            of.brier_as_read->brier);
            if (of.cases.happened.size() >= least_cases_for_parts)
                as_read += fmt::format(", reliability {:.3f}", of.brier_as_read->reliability);
            print(wrapped_text(as_read + ".", 98, "  "));
        }
        if (of.skill) print_over_seasons("skill against the share of the other seasons:", of.skill_over_seasons, 2);
    }
    if (intervals > 0) {
        print(wrapped_text(
            fmt::format("90 % intervals: {} of {} readings inside as they stand, {} of {} once the reading's own error "
                        "is in.",
                        inside, intervals, inside_with_error, with_error),
            98, "  "));
    }
}

void print_forecasts(const SeasonsReviewed& all) {
    const ForecastReview& review = all.forecasts;
    print("3. Kept forecasts against the results that came after");
    if (review.kept == 0) {
        print(wrapped_text(
            review.of_other_limits > 0
                ? fmt::format("None is of this limit; {} of other limits. Leave out --limit, or name theirs.",
                              models::counted(review.of_other_limits, "is", "are"))
                : std::string("None is kept. lodicule map STORE --season Y --limit L --keep puts what the program says "
                              "of each field into the store; do so before results come in. With --as-of DATE it is "
                              "what would have been said on a past day, marked as made afterwards."),
            98, "  "));
        return;
    }
    std::string said = fmt::format(
        "{} kept of limit {} mg/kg{}; {} had a result after one.", models::counted(review.kept, "forecast"),
        drawing::set_number_text(review.limit->limit_mg_per_kg),
        all.limit_of_forecasts ? " (the one that most are of)" : "", models::counted(review.followed, "field"));
    if (review.afterwards > 0) {
        said += fmt::format(
            " {} made afterwards (map --keep --as-of), by the program and the records as they stood when it was made, "
            "not by what anybody had in hand: told apart, and no proof of what will be foretold.",
            review.afterwards == review.kept ? "All are" : models::counted(review.afterwards, "is", "are"));
    }
    if (review.of_other_limits > 0)
        said += fmt::format(" {} of other limits not looked at.", models::counted(review.of_other_limits, "forecast"));
    print(wrapped_text(said, 98, "  "));
    if (review.followed > 0)
        for (const std::string& paragraph : forecasts_in_words(review)) print(wrapped_text(paragraph, 98, "  "));
    if (review.followed == 0) {
        print(wrapped_text("Nothing can be told: keep a forecast before the next results come in.", 98, "  "));
        return;
    }
    print(
        wrapped_text("Of a field the last forecast that a result followed, and the first result after it, by their "
                     "time stamps. A forecast speaks of the content, a reading has an error of its own: sampling, "
                     "preparation, assay, kit lot, places of the field or load, and standing heads against "
                     "delivered grain, as the map believes them. \"with its error\" has that in it; a reading "
                     "below or above the range counts as inside where it does not rule the interval out.",
                     98, "  "));
    for (const ForecastClass& of : review.classes) {
        // Of the way in which none was made nothing needs to be said.
        if ((of.made_afterwards ? review.afterwards : review.kept - review.afterwards) > 0) print_class(of);
    }
}

void print_strips(const SeasonsReviewed& all) {
    print("4. What the strips cost and changed");
    TextTable table({">season", ">strips", ">laboratory", ">void", ">controls", ">samples", ">money", ">moved under",
                     ">moved over", ">compared"});
    bool money = false, assumed = false, compared = false;
    const auto moved = [](int fields, double tonnes) {
        return fields == 0 ? std::string("0") : fmt::format("{} ({})", fields, drawing::tonnes_text(tonnes));
    };
    for (const SeasonOfStrips& of : all.strips) {
        money = money || of.money;
        assumed = assumed || of.tonnes_assumed;
        compared = compared || of.fields > 0;
        table.row({std::to_string(of.season), std::to_string(of.strips), std::to_string(of.laboratory),
                   std::to_string(of.voids), std::to_string(of.controls), std::to_string(of.samples),
                   of.money ? fmt::format("{:.0f}", *of.money) : "–",
                   of.fields > 0 ? moved(of.to_within, of.to_within_t) : "–",
                   of.fields > 0 ? moved(of.to_beyond, of.to_beyond_t) : "–", std::to_string(of.fields)});
    }
    print_in_section(table);
    std::string said = money ? "money: strips, those that read controls among them, and samples, by the costs table; "
                               "laboratory and hours are not in it."
                             : "No sum of money: the costs table needs test and sample (lodicule add STORE costs "
                               "name=test value=12).";
    print(wrapped_text(said, 98, "  "));
    said = fmt::format(
        "moved under, moved over: of the fields compared, foretold twice or more, those (and their tonnes) whose "
        "chance "
        "of being over the limit fell under the load cap of {} (what a cleared load may have), or rose over it, from "
        "their first to their last forecast. Results, weather and other fields all had a part in it.",
        whole_percent(models::ClearingCaps{}.load_cap));
    if (!compared) said += " Here it cannot be told: it takes two kept forecasts of a field (lodicule map --keep).";
    if (assumed) said += " Tonnes rest on an assumed yield for some.";
    print(wrapped_text(said, 98, "  "));
}

}  // namespace

void print_review(const SeasonsReviewed& review, const models::DiseaseModel& model) {
    print("What " + seasons_in_words(review.risks.seasons) + " can teach");
    if (review.risks.seasons.size() == 1) {
        print("One season: what it shows holds for it; nothing can be told of other seasons.");
    } else if (static_cast<int>(review.risks.seasons.size()) < models::least_seasons) {
        print("Two seasons: nothing can be told of other seasons yet; it takes three.");
    }
    print_severity(review.risks, model);
    print_don(review, model);
    print_forecasts(review);
    print_strips(review);
    if (!review.side.over.changed_source.empty()) print(wrapped_text("Note: " + review.side.over.changed_source + "."));
    print(wrapped_text(spoken(caution::risk_is_not_don)));
}

void print_history(const FieldHistory& history, const std::optional<models::Limit>& limit) {
    std::string head = "Field " + history.field;
    if (!history.name.empty() && history.name != history.field) head += ", " + history.name;
    if (!history.grower.empty()) head += ", " + history.grower;
    if (history.area_ha) head += fmt::format(", {:.1f} ha", *history.area_ha);
    print(head);
    const bool parts =
        std::any_of(history.years.begin(), history.years.end(), [](const FieldYear& one) { return !one.part.empty(); });
    std::vector<std::string> columns = {">season"};
    if (parts) columns.push_back("part");
    columns.insert(columns.end(),
                   {"crop", "flowering", ">risk", ">DON, mg/kg", "90 %", ">tests", ">of loads", ">severity"});
    if (limit) columns.push_back(">over");
    TextTable table(columns);
    for (const FieldYear& year : history.years) {
        std::vector<std::string> cells = {std::to_string(year.season)};
        if (parts) cells.push_back(year.part.empty() ? "–" : year.part);
        const auto& content = year.content;
        cells.insert(
            cells.end(),
            {models::in_words(year.crop),
             year.flowering ? models::to_short_text(*year.flowering) + (year.flowering_observed ? "" : " est.") : "–",
             risk_text(history.kind, year.risk), content ? drawing::number_text(content->median) : "–",
             content ? drawing::interval_text(content->low90, content->high90) : "–", std::to_string(year.tests),
             std::to_string(year.load_tests), year.severity_pct ? fmt::format("{:.1f} %", *year.severity_pct) : "–"});
        if (limit) cells.push_back(year.exceedance ? drawing::short_percent_text(*year.exceedance) : "–");
        table.row(std::move(cells));
    }
    print(table.text_within());
    std::string said = fmt::format(
        "risk: {}; DON: median of what the field delivered, by all results up to season {}, its own and those of other "
        "fields. severity: the last visit after flowering and before the cut.",
        history.model, history.known_up_to);
    if (limit) said += fmt::format(" over: chance of being {}.", models::in_words(*limit));
    print(wrapped_text(said));
    print(wrapped_text(spoken(caution::risk_is_not_don)));
}

}  // namespace app::commands
