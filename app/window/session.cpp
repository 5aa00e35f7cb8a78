#include "app/window/session.h"

#include <algorithm>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "app/backdrop_words.h"
#include "app/drawing/content_unit.h"
#include "app/ground_words.h"
#include "app/window/past_seasons.h"
#include "app/window/session_choices.h"
#include "app/window/take_over.h"
#include "app/words.h"
#include "geo/check.h"
#include "geo/store/store.h"
#include "models/decision/limit_rule.h"
#include "models/disease/catalogue.h"
#include "models/error.h"
#include "models/nearest_names.h"

namespace app::window {

namespace {

StoreStamp stamp_of(const std::filesystem::path& store) {
    StoreStamp stamp;
    for (const char* tail : {"", "-wal"}) {
        std::filesystem::path file = store;
        file += tail;
        std::error_code missing;
        const auto written = std::filesystem::last_write_time(file, missing);
        stamp.numbers.push_back(missing ? 0 : static_cast<std::int64_t>(written.time_since_epoch().count()));
        const std::uintmax_t size = std::filesystem::file_size(file, missing);
        stamp.numbers.push_back(missing ? -1 : static_cast<std::int64_t>(size));
    }
    return stamp;
}

/// The canvas by which groups of fields are told apart, whatever the size of the window: a usual one.
constexpr drawing::Rect usual_canvas{0.0, 0.0, 900.0, 700.0};

/// Its figures, in the language that is spoken.
void make_figures(Answer& answer) {
    answer.content_map = map_figure_of(answer.view, drawing::MapShows::content);
    answer.exceedance_map = map_figure_of(answer.view, drawing::MapShows::exceedance);
    answer.rank = rank_figure_of(answer.view);
    answer.bins = bins_figure_of(answer.view);
}

Answer answer_to(const std::filesystem::path& store_file, const Question& question, const std::string& language,
                 const models::Progress& progress, SeasonMemory& memory) {
    const geo::Store store = geo::Store::open(store_file, geo::Store::Access::read_only);
    Answer answer;
    answer.last_record = geo::end_of_chain(store).sha256;
    answer.view = look_at_season(store, question, progress, memory);
    answer.limit = question.limit;
    answer.language = language;
    make_figures(answer);
    answer.groups = drawing::map_frames(answer.content_map, usual_canvas, {});
    const auto coloured = [](const drawing::MapFigure& map) {
        constexpr int longest_px = 1024;
        return Answer::Coloured{drawing::cut_surface(map, longest_px, drawing::light_theme()),
                                drawing::cut_surface(map, longest_px, drawing::dark_theme())};
    };
    answer.content_surface = coloured(answer.content_map);
    answer.exceedance_surface = coloured(answer.exceedance_map);
    return answer;
}

std::unique_ptr<Job<Answer>> job_of(const Session& session, int season, const char* doing) {
    Question question;
    question.season = season;
    question.limit = session.limit;
    question.weather = session.weather;
    return std::make_unique<Job<Answer>>(
        fmt::format(fmt::runtime(doing), season),
        [store_file = session.store, question, language = session.language, memory = session.memory](
            const models::Progress& progress) { return answer_to(store_file, question, language, progress, *memory); },
        session.wake);
}

void start_work(Session& session, const char* doing = spoken(words::working_out_season)) {
    session.store_changed = session.by_others = false;
    session.writes_read = session.history.writes();
    session.problem.clear();
    if (session.ahead) session.ahead->cancel();
    let_go(session, std::move(session.working));
    session.working = job_of(session, session.season, doing);
}

void fetch_hours(Session& session) {
    let_go(session, std::move(session.fetching_hours));
    const FieldView* field = chosen_field(session);
    if (field == nullptr) {
        session.hours.reset();
        return;
    }
    session.fetching_hours = std::make_unique<Job<FieldHours>>(
        spoken(words::fetching_hours),
        [store_file = session.store, answer = session.answer, crop = field->crop,
         name = field->name](const models::Progress&) {
            const geo::Store store = geo::Store::open(store_file, geo::Store::Access::read_only);
            return FieldHours{name, hours_figure_of(store, answer->view, crop)};
        },
        session.wake);
}

std::string usual_limit(const SeasonData& data, int season) {
    const models::LocalDay day = harvest_day(data, season);
    for (const models::Bin& bin : data.bins) {
        if (bin.purpose == models::Purpose::food && !bin.limit_id.empty()) return bin.limit_id;
    }
    for (const models::Limit& limit : data.limits) {
        if (models::holds_on(limit, day) && limit.purpose == models::Purpose::food && limit.commodity == "wheat") {
            return limit.limit_id;
        }
    }
    return "1.0";
}

/// So many answers are kept: of each the season's records, its figures and its fitted model.
constexpr std::size_t most_kept = 6;
/// Of larger seasons only what is asked for is worked out.
constexpr std::size_t most_fields_ahead = 400;

std::shared_ptr<const Answer> kept_answer(const Session& session, int season) {
    for (const auto& answer : session.kept)
        if (answer->view.season == season && answer->limit == session.limit && answer->language == session.language)
            return answer;
    return nullptr;
}

void keep_answer(Session& session, const std::shared_ptr<const Answer>& answer) {
    std::erase_if(session.kept, [&](const std::shared_ptr<const Answer>& other) {
        return other->last_record != answer->last_record || other->language != answer->language ||
               (other->view.season == answer->view.season && other->limit == answer->limit);
    });
    session.kept.push_back(answer);
    if (session.kept.size() > most_kept) session.kept.erase(session.kept.begin());
}

/// The first of the order of tests.
std::string field_to_open_on(const Answer& answer) {
    return answer.view.order && !answer.view.order->fields.empty() ? answer.view.order->fields.front().field : "";
}

/// A field by the name of its ground, or a field with parts of their own by its own name: then the first part.
/// @throws models::Error  the season has no such field; the nearest are named
std::string field_named(const SeasonData& data, int season, const std::string& name) {
    std::vector<std::string> known;
    for (const models::CropRecord& crop : data.crops)
        if (crop.season == season) known.push_back(ground_name(crop.field, crop.part));
    std::sort(known.begin(), known.end());
    for (const std::string& ground : known)
        if (ground == name || ground.starts_with(name + ", ")) return ground;
    throw models::Error(fmt::format("season {} has no field \"{}\"", season, name), "--field",
                        models::mend_of_unknown_name(name, known, "lodicule risk STORE"));
}

void take_answer(Session& session, std::shared_ptr<const Answer> answer) {
    const bool other_language = answer->language != session.language;
    if (other_language) {  // the figures say it at once; reasons and verdicts are found again
        auto reworded = std::make_shared<Answer>(*answer);
        reworded->language = session.language;
        if (!reworded->worked_out) reworded->worked_out = answer;
        make_figures(*reworded);
        answer = std::move(reworded);
    } else {
        keep_answer(session, answer);
    }
    session.answer = std::move(answer);
    const SeasonData& data = session.answer->view.data;
    session.seasons = data.seasons;
    session.looked_at = {};  // something may have been recorded in the meantime
    if (session.answer->last_record == session.record_seen) session.store_changed = session.by_others = false;
    session.limits = limits_to_choose(data, session.answer->view.season);
    if (session.field.empty()) session.field = field_to_open_on(*session.answer);
    fetch_hours(session);
    if (other_language) start_work(session);
}

/// The season and limit that are asked for, where they are known or being worked out ahead; else they are begun.
void answer_or_work(Session& session) {
    if (auto answer = session.store_changed ? nullptr : kept_answer(session, session.season)) {
        let_go(session, std::move(session.working));
        session.problem.clear();
        take_answer(session, std::move(answer));
        return;
    }
    start_work(session);
}

/// The seasons beside the one that is shown, once somebody steps through them.
bool work_ahead(Session& session) {
    if (const auto left = take_over(session, session.ahead)) {
        const auto answer = left->result;
        // What cannot be worked out says so where it is asked for.
        if (!answer && !left->stopped) session.looks_ahead = false;
        if (answer && session.answer && answer->last_record == session.answer->last_record &&
            answer->limit == session.limit) {
            keep_answer(session, answer);
            return true;
        }
    }
    const bool may = session.looks_ahead && session.answer && !session.working && !session.ahead &&
                     !session.store_changed && session.answer->view.fields.size() <= most_fields_ahead &&
                     session.seasons.size() <= most_kept;
    if (!may) return false;
    for (const int season : session.seasons) {
        if (kept_answer(session, season)) continue;
        session.ahead = job_of(session, season, spoken(words::time_job));
        break;
    }
    return false;
}

void open_bench(Session& session) {
    if (session.bench) return;
    session.bench_problem.clear();
    try {
        session.bench = std::make_unique<BenchPanel>(
            session.store, [&session] { return session.clock(); },
            [&session](geo::Store& store, const std::vector<geo::RowToWrite>& rows, const std::string& actor) {
                session.history.write(store, rows, actor);
            });
        // Who stands there tomorrow is somebody else.
        const bool same_day = session.day_at_bench == models::to_text(session.clock().local_day());
        session.bench->take_up_again(session.strip_in_hand,
                                     same_day ? session.kept_at_bench : std::map<std::string, std::string>());
    } catch (const models::Error& error) {
        session.bench_problem = error.what();
    }
}

/// What is said of last time, where it is still there.
bool can_be_chosen(const SeasonData& data, const std::string& limit, int season) {
    if (limit.empty()) return false;
    try {
        limit_for_season(data, limit, season);
        return true;
    } catch (const models::Error&) {
        return false;
    }
}

/// What is said of it stays English where it cannot be read; then that is said, once.
void choose_language(Session& session, const std::string& language) {
    session.language = language;
    if (std::string problem = problem_of_language(language); !problem.empty()) session.history.say(std::move(problem));
}

/// What was made in another language is made again.
void say_it_in_another_language(Session& session, const std::string& language) {
    choose_language(session, language);
    const SpokenIn spoken_in(session.language);
    session.taught.reset();
    session.teaching.reset();
    session.pit.refused.clear();
    if (session.bench) session.bench->read_again();
    if (session.answer) take_answer(session, session.answer);
}

void choose_looks(Session& session, const WindowSettings& settings, const std::optional<LastState>& last) {
    if (last) {
        session.theme = last->theme.value_or(session.theme);
        session.unit = last->unit.value_or(session.unit);
        session.text_scale = last->text_scale;
    }
    if (settings.text_scale) session.text_scale = settings.text_scale;
    if (!settings.language.empty()) {
        const std::vector<std::string> known = languages();
        if (std::find(known.begin(), known.end(), settings.language) == known.end())
            throw models::Error("the window speaks no language \"" + settings.language + "\"", "--language",
                                "the languages are " + fmt::format("{}", fmt::join(known, ", ")));
        choose_language(session, settings.language);
    } else if (last && !last->language.empty()) {
        choose_language(session, last->language);
    }
    if (!settings.theme.empty()) {
        const auto theme = drawing::theme_named(settings.theme);
        if (!theme)
            throw models::Error("there is no theme \"" + settings.theme + "\"", "--theme",
                                "the themes are light, dark and outdoor");
        session.theme = *theme;
    }
    if (!settings.units.empty()) {
        const auto unit = drawing::unit_named(settings.units);
        if (!unit)
            throw models::Error("contents are not shown in \"" + settings.units + "\"", "--units",
                                "the units are mg/kg, ug/kg, ppm and ppb");
        session.unit = *unit;
    }
}

void enter_room(Session& session, Room room) {
    session.room = room;
    session.pit.asks.reset();
    session.pit.arrives.reset();
    session.pit.said.clear();
    session.pit.recorded.reset();
    if (room != Room::bench) session.to_read.reset();
    if (room == Room::bench) open_bench(session);
    if (room == Room::seasons) session.taught_problem.clear();
}

}  // namespace

std::unique_ptr<Session> open_session(const WindowSettings& settings, std::function<void()> wake,
                                      const std::optional<LastState>& last) {
    auto session = std::make_unique<Session>();
    session->store = settings.store;
    session->wake = std::move(wake);
    const geo::Store store = geo::Store::open(settings.store, geo::Store::Access::read_only);
    const SeasonData data = read_season_data(store);
    session->seasons = data.seasons;
    if (!settings.weather_by.empty()) session->weather.way = models::weather_way_named(settings.weather_by);
    const auto is_there = [&](int season) {
        return std::find(data.seasons.begin(), data.seasons.end(), season) != data.seasons.end();
    };
    const bool last_season = last && last->season && is_there(*last->season);
    session->season = settings.season.value_or(last_season ? *last->season : newest_season(data));
    if (!is_there(session->season)) {
        throw models::Error("the store has no crop records of season " + std::to_string(session->season), "--season");
    }
    session->limits = limits_to_choose(data, session->season);
    session->looked_at = stamp_of(settings.store);
    session->limit = !settings.limit.empty()                                     ? settings.limit
                     : last && can_be_chosen(data, last->limit, session->season) ? last->limit
                                                                                 : usual_limit(data, session->season);
    limit_for_season(data, session->limit, session->season);  // an unknown limit is refused before anything opens
    Room enter = session->room;
    if (!settings.room.empty()) {
        const auto room = room_named(settings.room);
        if (!room) {
            throw models::Error("there is no room \"" + settings.room + "\"", "--room",
                                "the rooms are where-first, bench, contamination, pit and past-seasons");
        }
        enter = *room;
    } else if (last && last->room) {
        enter = *last->room;
    }
    if (!settings.field.empty()) {
        session->field = field_named(data, session->season, settings.field);
    } else if (last && !last->field.empty()) {
        for (const models::CropRecord& crop : data.crops)
            if (crop.season == session->season && ground_name(crop.field, crop.part) == last->field)
                session->field = last->field;
    }
    choose_looks(*session, settings, last);
    const SpokenIn spoken_in(session->language);
    if (last) {
        if (last->layer) session->layer = *last->layer;
        session->strip_in_hand = last->strip_in_hand;
        session->day_at_bench = last->day;
        session->kept_at_bench = last->kept;
    }
    if (last && !last->backdrop.empty()) {
        step_behind(*session, ChooseBackdrop{last->backdrop});
        session->backdrop.shown = last->backdrop_shown;
        session->backdrop.strength = last->backdrop_strength;
    }
    if (!settings.backdrop.empty()) {
        geo::check_backdrop(settings.backdrop);
        step_behind(*session, ChooseBackdrop{settings.backdrop});
    }
    enter_room(*session, enter);
    if (!settings.show.empty()) show_at_start(*session, settings.show);
    start_work(*session);
    return session;
}

namespace {

void act(Session& session, const Action& action) {
    if (const auto* goes = std::get_if<EnterRoom>(&action)) enter_room(session, goes->room);
    if (const auto* layer = std::get_if<ShowLayer>(&action)) session.layer = layer->layer;
    if (const auto* choose = std::get_if<ChooseTheme>(&action)) session.theme = choose->theme;
    if (const auto* choose = std::get_if<ChooseUnit>(&action)) session.unit = choose->unit;
    if (const auto* choose = std::get_if<ChooseScale>(&action)) session.text_scale = choose->text_scale;
    if (const auto* choose = std::get_if<ChooseLanguage>(&action);
        choose != nullptr && choose->language != session.language)
        say_it_in_another_language(session, choose->language);
    if (const auto* choose = std::get_if<ChooseField>(&action)) {
        session.field = choose->field;
        fetch_hours(session);
    }
    if (const auto* choose = std::get_if<ChooseSeason>(&action);
        choose != nullptr && choose->season != session.season) {
        session.season = choose->season;
        answer_or_work(session);
    }
    if (const auto* choose = std::get_if<ChooseLimit>(&action); choose != nullptr && choose->limit != session.limit) {
        session.limit = choose->limit;
        answer_or_work(session);
    }
    if (const auto* says = std::get_if<BenchSays>(&action); says != nullptr && session.bench)
        session.bench->take(says->line);
    if (const auto* read = std::get_if<ReadAtBench>(&action)) {
        enter_room(session, Room::bench);
        session.to_read = *read;
    }
    if (const auto* choose = std::get_if<ChooseLoad>(&action)) choose_load(session, choose->load);
    if (const auto* find = std::get_if<FindLoad>(&action)) find_load(session, find->code);
    if (const auto* ask = std::get_if<AskAtPit>(&action)) ask_at_pit(session, ask->question);
    if (std::holds_alternative<DropQuestion>(action)) drop_question(session);
    if (const auto* decides = std::get_if<DecidesAtPit>(&action)) session.pit.operator_name = decides->operator_name;
    if (const auto* suppose = std::get_if<SupposeAtPit>(&action)) session.pit.what_if = suppose->what_if;
    if (const auto* yes = std::get_if<RecordAtPit>(&action)) record_at_pit(session, yes->load, yes->bin);
    if (const auto* come = std::get_if<ArriveAtPit>(&action)) arrive_at_pit(session, come->truck);
    if (std::holds_alternative<RecordArrival>(action)) record_arrival(session);
    if (const auto* lot = std::get_if<AskLotAtPit>(&action)) session.pit.lot_asked = lot->lot;
    if (std::holds_alternative<StopWork>(action)) {
        if (session.working) session.working->cancel();
        stop_ground(session.ground);
    }
    if (const auto* on = std::get_if<OnTheGround>(&action)) take_step(session, on->step);
    if (const auto* behind = std::get_if<BehindTheMap>(&action)) step_behind(session, behind->step);
    if (std::holds_alternative<ReadAgain>(action)) {
        session.looked_at = stamp_of(session.store);
        start_work(session, spoken(words::reading_again));
    }
}

}  // namespace

namespace {

void take_back_or_do_again(Session& session, bool back) {
    // A result that waits for its yes is no record yet: what would be taken back is it.
    if (back && session.room == Room::bench && session.bench && session.bench->view().asks_yes_or_no) {
        session.bench->take({"no", LineFrom::keys});
        return;
    }
    const auto do_it = [&session](const Action& one) { act(session, one); };
    // A choice that came to nothing (its work was stopped, or failed) is none to take back.
    const auto is_idle = [&session](const Deed* deed, const std::optional<Action> Deed::*way) {
        return deed != nullptr && deed->is_choice() && !choice_of(session, *(deed->*way));
    };
    History& history = session.history;
    const DeedSort sort = deeds_undone_in(session.room);
    while (back && is_idle(history.next_back(sort), &Deed::back)) history.take_back(sort, {}, do_it);
    while (!back && is_idle(history.next_again(sort), &Deed::again)) history.do_again(sort, {}, do_it);
    const Deed* deed = back ? history.next_back(sort) : history.next_again(sort);
    const bool of_records = deed != nullptr && !deed->is_choice();
    const std::string what = deed == nullptr ? "" : deed->what;
    const bool done =
        back ? history.take_back(sort, session.store, do_it) : history.do_again(sort, session.store, do_it);
    if (done && of_records) follow_history(session, what, back);
    if (session.bench) session.bench->look_again();
    // What was said there of a record stands no more: it says so below.
    if (session.bench && done && of_records) session.bench->say(session.history.said());
}

}  // namespace

void apply(Session& session, const Action& action) {
    const SpokenIn spoken_in(session.language);
    const bool back = std::holds_alternative<Undo>(action);
    if (back || std::holds_alternative<Redo>(action)) {
        take_back_or_do_again(session, back);
    } else {
        if (auto choice = choice_of(session, action))
            session.history.chosen(std::move(choice->says), choice->back, action);
        act(session, action);
    }
    // What this window wrote is read at once, so that nothing takes it for somebody else's. The bench goes by its own
    // records from strip to strip and does not ask for the answer: it is read when the store rests, or the bench is
    // left.
    if (session.room == Room::bench || !own_records_wait(session)) return;
    session.looked_at = stamp_of(session.store);
    start_work(session, spoken(words::reading_again));
}

bool own_records_wait(const Session& session) {
    return session.history.writes() != session.writes_read;
}

void let_go(Session& session, std::unique_ptr<AnyJob> job) {
    if (!job) return;
    job->cancel();
    session.leaving.push_back(std::move(job));
}

bool collect(Session& session) {
    const SpokenIn spoken_in(session.language);
    std::erase_if(session.leaving, [](const std::unique_ptr<AnyJob>& job) { return job->ended(); });
    bool changed = false;
    if (const auto left = take_over(session, session.working)) {
        if (left->result) {
            take_answer(session, left->result);
        } else {
            session.problem = left->why_none();
            // The choices say again what the numbers are of.
            if (session.answer) {
                session.season = session.answer->view.season;
                session.limit = session.answer->limit;
            }
        }
        changed = true;
    }
    changed = collect_past_seasons(session) || changed;
    changed = work_ahead(session) || changed;
    changed = collect_ground(session) || changed;
    changed = collect_backdrop(session) || changed;
    look_back(session);
    if (session.room == Room::bins) changed = look_at_pit(session) || changed;
    if (session.room == Room::bench && session.bench) {
        changed = session.bench->listen() || changed;
        session.bench->look();
    }
    if (const auto left = take_over(session, session.fetching_hours)) {
        if (left->result) session.hours = left->result;
        changed = true;
    }
    return changed;
}

bool look_at_store(Session& session, bool may_read) {
    if (const StoreStamp now = stamp_of(session.store); now != session.looked_at) {
        session.looked_at = now;
        if (!session.answer) {
            session.by_others = session.store_changed =
                !session.working;  // the first work failed: perhaps it can be done now
            return false;
        }
        try {
            const geo::Store store = geo::Store::open(session.store, geo::Store::Access::read_only);
            session.record_seen = geo::end_of_chain(store).sha256;
            const bool changed = session.record_seen != session.answer->last_record;
            const bool by_others = changed && session.record_seen != session.history.last_record();
            const bool said = std::exchange(session.by_others, by_others) != by_others;
            return std::exchange(session.store_changed, changed) != changed || said;
        } catch (const models::Error&) {
            return false;  // in the middle of being written or replaced: it will change once more
        }
    }
    if (!session.store_changed || session.working || !may_read) return false;
    apply(session, ReadAgain{});
    return true;
}

void finish_work(Session& session) {
    while (true) {
        const bool changed = collect(session);  // may begin more
        if (!session.working && !session.fetching_hours && !session.teaching && !session.reading_years &&
            !pit_works(session) && !session.ahead && !ground_works(session.ground) && !session.backdrop.reading)
            return;
        if (!changed) std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
}

bool clock_runs(const Session& session) {
    if (session.room == Room::bins) return pit_clock_runs(session);
    return session.room == Room::bench && session.bench && session.bench->clock_runs();
}

bool is_kept(const Session& session, int season) {
    return kept_answer(session, season) != nullptr;
}

const FieldView* chosen_field(const Session& session) {
    if (!session.answer) return nullptr;
    for (const FieldView& field : session.answer->view.fields) {
        if (field.name == session.field) return &field;
    }
    return nullptr;
}

}  // namespace app::window
