#include "app/window/past_seasons.h"

#include <string>
#include <vector>

#include "app/figure_of_review.h"
#include "app/window/take_over.h"
#include "app/words.h"
#include "geo/store/store.h"
#include "models/disease/catalogue.h"

namespace app::window {

void look_back(Session& session) {
    if (session.room != Room::seasons || !session.answer) return;
    const std::shared_ptr<const Answer> answer = session.answer;
    const bool taught_so =
        session.taught && session.taught->limit == answer->limit && session.taught->last_record == answer->last_record;
    if (!taught_so && !session.teaching && session.taught_problem.empty()) {
        session.teaching = std::make_unique<Job<SeasonsTaught>>(
            spoken(words::looking_back),
            [store_file = session.store, answer, weather = session.weather](const models::Progress& progress) {
                const geo::Store store = geo::Store::open(store_file, geo::Store::Access::read_only);
                const std::vector<int> seasons = store.seasons();
                Question question;
                question.limit = answer->limit;
                question.weather = weather;
                std::vector<const models::DiseaseModel*> by;
                for (const models::DiseaseModel& one : models::disease_models(false)) by.push_back(&one);
                const SeasonsReviewed review =
                    review_seasons(store, question, {seasons.front(), seasons.back()}, by, progress);
                return SeasonsTaught{answer->limit, answer->last_record,
                                     review_figure_of(review, models::default_model()), review.strips,
                                     review.forecasts};
            },
            session.wake);
    }
    const bool years_so = session.years && session.years->field == session.field && session.years->from == answer;
    if (years_so || session.reading_years || session.field.empty()) return;
    session.reading_years = std::make_unique<Job<FieldYears>>(
        spoken(words::reading_years),
        [store_file = session.store, answer, field = session.field](const models::Progress&) {
            const geo::Store store = geo::Store::open(store_file, geo::Store::Access::read_only);
            const std::string whole = field.substr(0, field.find(", "));
            return FieldYears{field, answer, answer->view.limit->limit_mg_per_kg,
                              history_of_field(answer->view, store.scouting(), whole, store.seasons().front())};
        },
        session.wake);
}

bool collect_past_seasons(Session& session) {
    bool changed = false;
    if (const auto left = take_over(session, session.teaching)) {
        if (left->result)
            session.taught = left->result;
        else
            session.taught_problem = left->problem;
        changed = true;
    }
    if (const auto left = take_over(session, session.reading_years)) {
        session.years = left->result;
        if (!session.years) {
            session.problem = left->problem;
            session.years = std::make_shared<FieldYears>(FieldYears{session.field, session.answer, 1.0, {}});
        }
        changed = true;
    }
    return changed;
}

}  // namespace app::window
