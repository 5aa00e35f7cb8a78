#include "app/commands/review_command.h"

#include <memory>

#include "app/commands/review_output.h"
#include "app/commands/risk_seasons.h"
#include "app/commands/season_options.h"
#include "app/figure_of_review.h"
#include "geo/store/store.h"
#include "models/disease/catalogue.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct ReviewAsked {
    SeasonOptions options;
    std::string seasons, limit, model, out;
    std::optional<std::string> field;
    bool include_unconfirmed = false;
};

SeasonRange asked_seasons(const geo::Store& store, const ReviewAsked& asked) {
    if (!asked.seasons.empty()) return season_range(asked.seasons);
    const std::vector<int> known = store.seasons();
    if (known.empty()) {
        throw models::Error("the store has no crop records, so there is no season to look back on",
                            store.file().filename().string(),
                            "import a crops table: lodicule import STORE crops FILE.csv");
    }
    return {known.front(), known.back()};
}

void tell_field(const geo::Store& store, Question question, const ReviewAsked& asked,
                const models::Progress& progress) {
    const SeasonRange seasons = asked_seasons(store, asked);
    // Contents of all years come from one fit, of the last season that has crop records.
    question.season.reset();
    for (const int season : store.seasons()) {
        if (season >= seasons.first && season <= seasons.last) question.season = season;
    }
    if (!question.season) question.season = seasons.last;  // refused with the seasons that there are
    question.upto = Upto::contamination;
    const SeasonView view = look_at_season(store, question, progress);
    const FieldHistory history = history_of_field(view, store.scouting(), *asked.field, seasons.first);
    if (asked.options.json) {
        print_history_json(history, view.limit);
    } else {
        print_history(history, view.limit);
    }
}

void tell_seasons(const geo::Store& store, const Question& question, const ReviewAsked& asked,
                  const models::DiseaseModel& model, const models::Progress& progress) {
    std::vector<const models::DiseaseModel*> by;
    for (const models::DiseaseModel& one : models::disease_models(asked.include_unconfirmed)) by.push_back(&one);
    const SeasonsReviewed review = review_seasons(store, question, asked_seasons(store, asked), by, progress);
    std::vector<std::string> files;
    if (!asked.out.empty()) {
        write_review_figure(asked.out, review_figure_of(review, model));
        files.push_back(asked.out);
    }
    if (asked.options.json) {
        print_review_json(review, model, files);
    } else {
        print_review(review, model);
        for (const std::string& file : files) print("Written: " + file);
    }
}

int run_review(const ReviewAsked& asked) {
    if (asked.field && !asked.out.empty()) {
        throw models::Error("--field and --out cannot both be: the picture is of the models, not of a field", "",
                            "leave one of them away");
    }
    if (!asked.seasons.empty()) season_range(asked.seasons);
    const models::DiseaseModel& model =
        asked.model.empty() ? models::default_model() : models::find_model(asked.model, asked.include_unconfirmed);
    Question question;
    question.limit = asked.limit;
    question.risk_model = asked.model;
    question.include_unconfirmed = asked.include_unconfirmed;
    with_the_store(asked.options, question,
                   [&](const geo::Store& store, const Question& of_store, const models::Progress& progress) {
                       if (asked.field) {
                           tell_field(store, of_store, asked, progress);
                       } else {
                           tell_seasons(store, of_store, asked, model, progress);
                       }
                   });
    return 0;
}

}  // namespace

Command make_review_command() {
    return {"review", "What past seasons teach: risks and forecasts against what was found.", [](Options& options) {
                auto asked = std::make_shared<ReviewAsked>();
                options.positional(asked->options.store, "STORE", "the store, one file");
                options.option(asked->seasons, "--seasons", "A-B", "which seasons, as 2019-2026; else all");
                options.option(asked->limit, "--limit", "L",
                               "a limit_id of the store, or a number in mg/kg; else the one that most kept forecasts "
                               "are of");
                options.option(asked->field, "--field", "F",
                               "the years of one field instead: crop, risk, content, tests, severity");
                options.option(asked->model, "--model", "NAME",
                               "the disease model that is told in full; all stand in the table of models");
                options.flag(asked->include_unconfirmed, "--include-unconfirmed",
                             "models too whose numbers nobody confirmed");
                options.option(asked->out, "--out", "FILE",
                               "reliability, order and table of models as a picture: .png, .svg or .pdf");
                options.flag(asked->options.json, "--json", "machine-readable output with stable keys");
                asked->options.declare_weather(options);
                options.option(asked->options.threads, "--threads", "N",
                               "threads to work with; 0: all. The result does not depend on it");
                options.flag(asked->options.timing, "--timing", "says on stderr how long it took");
                options.footer(
                    "Example: lodicule review season.lodicule --seasons 2024-2026 --limit 1.0 --out review.png\n"
                    "Disease models are held against scouted severity: 10 % or more of the spikelets, at the last\n"
                    "visit after flowering and before the cut. Against DON only their order is told: a risk of\n"
                    "disease is no chance of exceeding a limit. Forecasts are those that 'lodicule map --keep' put\n"
                    "into the store, held against the first result that came after them; those made afterwards\n"
                    "(--as-of) are told apart. The season is the unit: with fewer than three nothing is claimed of\n"
                    "other seasons.");
                return [asked] { return run_review(*asked); };
            }};
}

}  // namespace app::commands
