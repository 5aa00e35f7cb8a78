#include "app/window/session.h"

#include <algorithm>
#include <thread>

#include <fmt/format.h>

#include "app/words.h"
#include "geo/store/store.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app::window {

namespace {

void start_work(Session& session) {
    Question question;
    question.season = session.season;
    question.limit = session.limit;
    session.problem.clear();
    session.working = std::make_unique<Job<Answer>>(
        fmt::format(words::working_out_season, session.season),
        [store_file = session.store, question, memory = session.memory](const models::Progress& progress) {
            const geo::Store store = geo::Store::open(store_file, geo::Store::Access::read_only);
            Answer answer;
            answer.view = look_at_season(store, question, progress, *memory);
            answer.limit = question.limit;
            answer.content_map = map_figure_of(answer.view, drawing::MapShows::content);
            answer.exceedance_map = map_figure_of(answer.view, drawing::MapShows::exceedance);
            answer.content_surface = drawing::cut_surface(answer.content_map, 1024);
            answer.exceedance_surface = drawing::cut_surface(answer.exceedance_map, 1024);
            answer.rank = rank_figure_of(answer.view);
            answer.bins = bins_figure_of(answer.view);
            return answer;
        },
        session.wake);
}

void fetch_hours(Session& session) {
    session.fetching_hours.reset();
    const FieldView* field = chosen_field(session);
    if (field == nullptr) {
        session.hours.reset();
        return;
    }
    session.fetching_hours = std::make_unique<Job<FieldHours>>(
        words::fetching_hours,
        [store_file = session.store, answer = session.answer, crop = field->crop,
         name = field->name](const models::Progress&) {
            const geo::Store store = geo::Store::open(store_file, geo::Store::Access::read_only);
            return FieldHours{name, hours_figure_of(store, answer->view, crop)};
        },
        session.wake);
}

/// The limits that a user may look through: of grain for food and feed, those in force at the harvest first.
std::vector<models::Limit> limits_to_choose(const SeasonData& data, int season) {
    std::vector<models::Limit> limits = data.limits;
    const models::LocalDay day = harvest_day(data, season);
    std::stable_partition(limits.begin(), limits.end(),
                          [&](const models::Limit& l) { return models::holds_on(l, day); });
    return limits;
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

/// The first field of the order that has a disease risk, so that there is something to look at; else the very first.
std::string field_to_open_on(const Answer& answer) {
    if (!answer.view.order || answer.view.order->fields.empty()) return "";
    for (const models::RankedField& field : answer.view.order->fields) {
        if (field.risk) return field.field;
    }
    return answer.view.order->fields.front().field;
}

}  // namespace

const char* room_word(Room room) {
    switch (room) {
        case Room::where_first:
            return "where-first";
        case Room::contamination:
            return "contamination";
        case Room::bins:
            return "bins";
    }
    return "";
}

std::optional<Room> room_named(const std::string& word) {
    for (const Room room : {Room::where_first, Room::contamination, Room::bins}) {
        if (word == room_word(room)) return room;
    }
    return std::nullopt;
}

std::unique_ptr<Session> open_session(const WindowSettings& settings, std::function<void()> wake) {
    auto session = std::make_unique<Session>();
    session->store = settings.store;
    session->wake = std::move(wake);
    const geo::Store store = geo::Store::open(settings.store, geo::Store::Access::read_only);
    const SeasonData data = read_season_data(store);
    session->seasons = data.seasons;
    session->season = settings.season.value_or(newest_season(data));
    if (std::find(data.seasons.begin(), data.seasons.end(), session->season) == data.seasons.end()) {
        throw models::Error("the store has no crop records of season " + std::to_string(session->season), "--season");
    }
    session->limits = limits_to_choose(data, session->season);
    session->limit = settings.limit.empty() ? usual_limit(data, session->season) : settings.limit;
    limit_for_season(data, session->limit, session->season);  // an unknown limit is refused before anything opens
    if (!settings.room.empty()) {
        const auto room = room_named(settings.room);
        if (!room) {
            throw models::Error("there is no room \"" + settings.room + "\"", "--room",
                                "the rooms are where-first, contamination and bins");
        }
        session->room = *room;
    }
    session->field = settings.field;
    start_work(*session);
    return session;
}

void apply(Session& session, const Action& action) {
    if (const auto* enter = std::get_if<EnterRoom>(&action)) session.room = enter->room;
    if (const auto* layer = std::get_if<ShowLayer>(&action)) session.layer = layer->layer;
    if (const auto* choose = std::get_if<ChooseField>(&action)) {
        session.field = choose->field;
        fetch_hours(session);
    }
    if (const auto* choose = std::get_if<ChooseSeason>(&action);
        choose != nullptr && choose->season != session.season) {
        session.season = choose->season;
        start_work(session);
    }
    if (const auto* choose = std::get_if<ChooseLimit>(&action); choose != nullptr && choose->limit != session.limit) {
        session.limit = choose->limit;
        start_work(session);
    }
    if (std::holds_alternative<StopWork>(action) && session.working) session.working->cancel();
}

bool collect(Session& session) {
    bool changed = false;
    if (session.working && session.working->done()) {
        if (auto answer = session.working->result()) {
            session.answer = std::move(answer);
            if (session.field.empty()) session.field = field_to_open_on(*session.answer);
            fetch_hours(session);
        } else {
            session.problem = session.working->cancelled() ? words::stopped : session.working->problem();
            // The choices say again what the numbers are of.
            if (session.answer) {
                session.season = session.answer->view.season;
                session.limit = session.answer->limit;
            }
        }
        session.working.reset();
        changed = true;
    }
    if (session.fetching_hours && session.fetching_hours->done()) {
        if (auto hours = session.fetching_hours->result()) session.hours = std::move(hours);
        session.fetching_hours.reset();
        changed = true;
    }
    return changed;
}

void finish_work(Session& session) {
    while (session.working || session.fetching_hours) {
        if (!collect(session)) std::this_thread::sleep_for(std::chrono::milliseconds(2));
    }
}

std::string still_shown(const Session& session) {
    if (!session.answer || !session.working) return "";
    const Answer& shown = *session.answer;
    std::string asked;
    if (shown.view.season != session.season) asked = fmt::format(words::still_season, session.season);
    if (shown.limit != session.limit) asked += (asked.empty() ? "" : ", ") + limit_in_words(session, session.limit);
    if (asked.empty()) return "";
    return fmt::format(words::still, shown.view.season, limit_in_words(session, shown.limit), asked);
}

std::string limit_in_words(const Session& session, const std::string& id) {
    for (const models::Limit& limit : session.limits) {
        if (limit.limit_id == id)
            return fmt::format(words::limit_by_name, id, models::content_in_words(limit.limit_mg_per_kg));
    }
    return fmt::format(words::limit_by_number, id);
}

const FieldView* chosen_field(const Session& session) {
    if (!session.answer) return nullptr;
    for (const FieldView& field : session.answer->view.fields) {
        if (field.name == session.field) return &field;
    }
    return nullptr;
}

}  // namespace app::window
