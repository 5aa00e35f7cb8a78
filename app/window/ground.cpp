#include "app/window/ground.h"

#include <algorithm>
#include <filesystem>
#include <system_error>
#include <utility>

#include <fmt/format.h>

#include "app/figures_of_ground.h"
#include "app/figures_of_season.h"
#include "app/ground_words.h"
#include "app/walk_files.h"
#include "app/window/session.h"
#include "app/window/take_over.h"
#include "app/words.h"
#include "models/error.h"

namespace app::window {

namespace {

const FieldView* field_of_answer(const Answer& answer, const std::string& name) {
    for (const FieldView& field : answer.view.fields)
        if (field.name == name) return &field;
    return nullptr;
}

void gather_facts(Session& session) {
    session.ground.gathering = std::make_unique<Job<GroundFacts>>(
        spoken(words::evidence_job),
        [answer = session.answer](const models::Progress& progress) {
            const SeasonView& view = answer->view;
            GroundFacts facts;
            facts.tests_on_map = tests_on_map(view);
            progress.step("", 0.1);
            facts.evidence = evidence_figure_of(view, evidence_of_season(view));
            progress.step("", 0.5);
            ResultsSettings settings;
            settings.season = view.season;
            settings.limit = view.limit;
            if (view.limit) settings.basis = view.limit->basis;
            each_result_of_season(view.data, settings,
                                  [&](const ResultRow& row) { facts.results.push_back(in_brief(row)); });
            return facts;
        },
        session.wake);
}

void explain(Session& session, const std::string& name) {
    session.ground.explaining = std::make_unique<Job<ExplainedField>>(
        spoken(words::explaining_job, name),
        [answer = session.answer, name](const models::Progress&) {
            ExplainedField out{name, {}, std::nullopt, ""};
            const FieldView* field = field_of_answer(*answer, name);
            const ContaminationView& known = answer->view.contamination;
            if (field == nullptr || known.ranking_only()) return out;
            const auto index =
                field->crop < known.field_season_of.size() ? known.field_season_of[field->crop] : std::nullopt;
            if (!index) return out;
            try {
                if (field->content) out.apart = readings_apart(known, *index, field->content->median);
                out.says = answer->view.probed.explain(*known.model, *index);
            } catch (const models::Error& error) {
                out.problem = error.what();
            }
            return out;
        },
        session.wake);
}

void divide(Session& session, const FieldView& field) {
    session.ground.dividing = std::make_unique<Job<ZonesOfField>>(
        spoken(words::zones_job, field.name),
        [answer = session.answer, name = field.name,
         of = session.answer->view.data.crops[field.crop].field](const models::Progress& progress) {
            SplitSettings settings;
            settings.field = of;
            return ZonesOfField{name, split_fields(answer->view, settings, progress)};
        },
        session.wake);
}

void place_tests(Session& session, int tests) {
    session.ground.placing = std::make_unique<Job<PlacedTests>>(
        spoken(words::budget_job, tests),
        [answer = session.answer, tests](const models::Progress& progress) {
            SeasonView view = answer->view;
            OrderSettings settings;
            settings.season = view.season;
            settings.tests = tests;
            view.order = order_of_fields(view.data, view.risks, view.contamination, *view.limit, settings, progress);
            return PlacedTests{tests, *view.order, rank_figure_of(view)};
        },
        session.wake);
}

void lay_walk_of(Session& session, const std::string& name) {
    session.ground.laying = std::make_unique<Job<WalkOfField>>(
        spoken(words::walk_job, name),
        [answer = session.answer, name](const models::Progress&) {
            WalkOfField out{name, {}, ""};
            try {
                out.walks = walk_of_field(answer->view, name, {});
            } catch (const models::Error& error) {
                out.problem = error.what();
            }
            return out;
        },
        session.wake);
}

std::string written_to(const std::string& folder, const std::vector<std::string>& files) {
    std::string list;
    for (const std::string& file : files) list += (list.empty() ? "" : ", ") + file;
    return spoken(words::walk_saved, folder, list);
}

void save_walks(Session& session) {
    Ground& ground = session.ground;
    const int fields = walks_worth_it(session);
    if (fields == 0 || ground.saving) return;
    ground.walk_saved.clear();
    ground.walk_saved_of = session.field;
    ground.saving = std::make_unique<Job<std::string>>(
        spoken(words::save_walks, fields),
        [answer = session.answer, order = *order_shown(session).order, fields,
         folder = walk_folder(session)](const models::Progress&) {
            SeasonView view = answer->view;
            view.order = order;
            WalkSettings settings;
            settings.fields = fields;
            const FieldWalks walks = walks_of_order(view, settings);
            return written_to(folder, write_walk_files(view, walks, settings, folder));
        },
        session.wake);
}

void save_walk(Session& session) {
    Ground& ground = session.ground;
    if (!ground.walk || ground.walk->walks.walks.empty() || ground.saving) return;
    ground.walk_saved.clear();
    ground.walk_saved_of = session.field;
    ground.saving = std::make_unique<Job<std::string>>(
        spoken(words::save_walk),
        [answer = session.answer, walk = ground.walk, folder = walk_folder(session)](const models::Progress&) {
            return written_to(folder, write_walk_files(answer->view, walk->walks, {}, folder));
        },
        session.wake);
}

/// Through the middle of the chosen field, or of all fields, from west to east.
std::optional<TransectLine> first_line(const Session& session) {
    const auto box = drawing::box_of(session.answer->content_map);
    if (!box) return std::nullopt;
    models::PointM middle{0.5 * (box->x_min_m + box->x_max_m), 0.5 * (box->y_min_m + box->y_max_m)};
    const FieldView* field = chosen_field(session);
    if (field != nullptr && field->outline != nullptr) middle = models::centroid(field->outline->outline_m);
    return TransectLine{{box->x_min_m, middle.y_m}, {box->x_max_m, middle.y_m}};
}

void follow_line(Session& session) {
    Ground& ground = session.ground;
    ground.transect.reset();
    ground.transect_problem.clear();
    if (!ground.line || !session.answer) return;
    try {
        ground.transect = std::make_shared<drawing::TransectFigure>(
            transect_figure_of(session.answer->view, transect_along(session.answer->view, *ground.line)));
    } catch (const models::Error& error) {
        ground.transect_problem = error.what();
    }
}

/// What belonged to the answer before goes; its work is asked to stop.
void follow_answer(Session& session) {
    Ground& ground = session.ground;
    stop_ground(ground);
    let_go(session, std::move(ground.gathering));
    let_go(session, std::move(ground.explaining));
    let_go(session, std::move(ground.dividing));
    let_go(session, std::move(ground.placing));
    let_go(session, std::move(ground.laying));
    ground.facts.reset();
    ground.explained.clear();
    ground.zones.reset();
    ground.placed.reset();
    ground.walk.reset();
    for (std::string* said : {&ground.facts_problem, &ground.to_explain, &ground.zones_problem,
                              &ground.zones_problem_of, &ground.placed_problem, &ground.walk_saved})
        said->clear();
    ground.of = session.answer;
    if (ground.panel == GroundPanel::transect && !ground.line) ground.line = first_line(session);
    follow_line(session);
}

bool take_finished(Session& session) {
    Ground& ground = session.ground;
    bool changed = false;
    const auto take = [&](auto& job, auto&& take_what_it_left) {
        const auto left = take_over(session, job);
        if (!left) return;
        take_what_it_left(*left);
        changed = true;
    };
    take(ground.gathering, [&](const auto& left) {
        ground.facts = left.result;
        ground.facts_problem = left.why_none();
    });
    take(ground.explaining, [&](const auto& left) {
        if (left.result) ground.explained[left.result->field] = left.result;
    });
    take(ground.dividing, [&](const auto& left) {
        ground.zones = left.result;
        ground.zones_problem = left.stopped ? spoken(words::zones_stopped) : left.problem;
    });
    take(ground.placing, [&](const auto& left) {
        if (left.result) ground.placed = left.result;
        ground.placed_problem = left.why_none();
    });
    take(ground.laying, [&](const auto& left) { ground.walk = left.result; });
    take(ground.saving, [&](const auto& left) { ground.walk_saved = left.result ? *left.result : left.why_none(); });
    return changed;
}

void begin_wanted(Session& session) {
    Ground& ground = session.ground;
    const FieldView* field = chosen_field(session);
    if (session.room == Room::contamination) {
        if (!ground.facts && !ground.gathering && ground.facts_problem.empty()) gather_facts(session);
        if (!ground.explaining) {
            if (!ground.to_explain.empty() && ground.explained.count(ground.to_explain) == 0)
                explain(session, std::exchange(ground.to_explain, {}));
            else if (field != nullptr && ground.explained.count(field->name) == 0)
                explain(session, field->name);
        }
        const bool zones_known = field != nullptr && ((ground.zones && ground.zones->field == field->name) ||
                                                      ground.zones_problem_of == field->name);
        if (ground.panel == GroundPanel::zones && field != nullptr && !zones_known && !ground.dividing) {
            ground.zones_problem_of = field->name;
            ground.zones_problem.clear();
            divide(session, *field);
        }
        // Another field was chosen in the meantime.
        if (ground.dividing && field != nullptr && ground.zones_problem_of != field->name) ground.dividing->cancel();
    }
    if (session.room == Room::where_first) {
        const int shown = order_shown(session).tests;
        const bool ranked = session.answer->view.limit && !session.answer->view.contamination.ranking_only();
        if (ranked && shown != ground.tests && !ground.placing && ground.placed_problem.empty())
            place_tests(session, ground.tests);
        if (ground.shows_walk && field != nullptr && !ground.laying &&
            (!ground.walk || ground.walk->field != field->name))
            lay_walk_of(session, field->name);
    }
}

}  // namespace

void show_at_start(Session& session, const std::string& word) {
    if (word == "profile") {
        session.ground.panel = GroundPanel::transect;
    } else if (word == "evidence") {
        session.ground.panel = GroundPanel::evidence;
    } else if (word == "zones") {
        session.ground.panel = GroundPanel::zones;
    } else if (word == "walk") {
        session.ground.shows_walk = true;
    } else {
        throw models::Error("there is nothing called \"" + word + "\" to show", "--show",
                            "name profile, evidence or zones for the room contamination, walk for where-first");
    }
}

void take_step(Session& session, const GroundStep& step) {
    Ground& ground = session.ground;
    if (const auto* show = std::get_if<ShowPanel>(&step)) {
        ground.panel = show->panel;
        if (ground.panel == GroundPanel::transect && !ground.line && session.answer) {
            ground.line = first_line(session);
            follow_line(session);
        }
        if (ground.panel == GroundPanel::zones) {
            ground.zones_problem.clear();
            ground.zones_problem_of.clear();
        } else if (ground.dividing) {
            ground.dividing->cancel();
        }
    }
    if (const auto* lay = std::get_if<LayTransect>(&step)) {
        ground.line = lay->line;
        follow_line(session);
    }
    if (const auto* ask = std::get_if<ExplainField>(&step)) ground.to_explain = ask->field;
    if (const auto* place = std::get_if<PlaceTests>(&step)) {
        ground.tests = std::max(1, place->tests);
        ground.placed_problem.clear();
    }
    if (const auto* show = std::get_if<ShowWalk>(&step)) ground.shows_walk = show->shown;
    if (std::holds_alternative<SaveWalk>(step)) save_walk(session);
    if (std::holds_alternative<SaveWalks>(step)) save_walks(session);
    if (std::holds_alternative<LookAhead>(step)) session.looks_ahead = true;
}

bool collect_ground(Session& session) {
    if (!session.answer) return false;
    bool changed = false;
    if (session.ground.of != session.answer) {
        follow_answer(session);
        changed = true;
    }
    changed |= take_finished(session);
    begin_wanted(session);
    return changed;
}

bool ground_works(const Ground& ground) {
    return ground.gathering || ground.explaining || ground.dividing || ground.placing || ground.laying || ground.saving;
}

void stop_ground(Ground& ground) {
    if (ground.dividing) ground.dividing->cancel();
    if (ground.placing) ground.placing->cancel();
}

OrderShown order_shown(const Session& session) {
    if (const auto& placed = session.ground.placed; placed && session.ground.of == session.answer)
        return {&placed->order, &placed->rank, placed->tests};
    const Answer& answer = *session.answer;
    return {answer.view.order ? &*answer.view.order : nullptr, &answer.rank, OrderSettings{}.tests};
}

int walks_worth_it(const Session& session) {
    const OrderShown shown = order_shown(session);
    return shown.order == nullptr || shown.order->ranking_only ? 0 : shown.order->worth_making;
}

std::string walk_folder(const Session& session) {
    const int season = session.answer ? session.answer->view.season : session.season;
    // With its place: beside the store, wherever the program was started.
    std::error_code cannot;
    const std::filesystem::path store = std::filesystem::absolute(session.store, cannot);
    return ((cannot ? session.store : store).parent_path() / fmt::format("walks-{}", season)).string();
}

}  // namespace app::window
