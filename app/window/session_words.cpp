// What a session is called on the screen: rooms, themes, limits, what is still shown.
#include <charconv>

#include <fmt/format.h>

#include "app/drawing/content_unit.h"
#include "app/window/session.h"
#include "app/words.h"

namespace app::window {

const char* room_word(Room room) {
    switch (room) {
        case Room::where_first:
            return "where-first";
        case Room::bench:
            return "bench";
        case Room::contamination:
            return "contamination";
        case Room::bins:
            return "pit";
        case Room::seasons:
            return "past-seasons";
    }
    return "";
}

std::optional<Room> room_named(const std::string& word) {
    for (const Room room : {Room::where_first, Room::bench, Room::contamination, Room::bins, Room::seasons}) {
        if (word == room_word(room)) return room;
    }
    if (word == "bins") return Room::bins;  // as the command is called
    return std::nullopt;
}

const char* name_of_room(Room room) {
    switch (room) {
        case Room::where_first:
            return spoken(words::room_where_first);
        case Room::bench:
            return spoken(words::room_bench);
        case Room::contamination:
            return spoken(words::room_contamination);
        case Room::bins:
            return spoken(words::room_bins);
        case Room::seasons:
            return spoken(words::room_seasons);
    }
    return "";
}

const char* name_of_theme(drawing::ThemeName theme) {
    switch (theme) {
        case drawing::ThemeName::light:
            return spoken(words::theme_light);
        case drawing::ThemeName::dark:
            return spoken(words::theme_dark);
        case drawing::ThemeName::outdoor:
            return spoken(words::theme_outdoor);
    }
    return "";
}

std::string still_shown(const Session& session) {
    if (!session.answer || !session.working) return "";
    const Answer& shown = *session.answer;
    std::string asked;
    if (shown.view.season != session.season) asked = spoken(words::still_season, session.season);
    if (shown.limit != session.limit) asked += (asked.empty() ? "" : ", ") + limit_in_words(session, session.limit);
    if (asked.empty()) return "";
    return spoken(words::still, shown.view.season, limit_in_words(session, shown.limit), asked);
}

const models::Limit* limit_of_store(const Session& session, const std::string& id) {
    for (const auto* list : {&session.limits.fitting, &session.limits.others})
        for (const models::Limit& limit : *list)
            if (limit.limit_id == id) return &limit;
    return nullptr;
}

std::string limit_number_text(double limit_mg_per_kg) {
    return drawing::in_shown_unit(1.0) == 1.0 ? models::content_in_words(limit_mg_per_kg)
                                              : drawing::set_content_text(limit_mg_per_kg);
}

std::string limit_number_text(const std::string& typed_mg_per_kg) {
    double number = 0.0;
    const char* end = typed_mg_per_kg.data() + typed_mg_per_kg.size();
    const bool is_number = std::from_chars(typed_mg_per_kg.data(), end, number).ptr == end;
    if (!is_number) return typed_mg_per_kg;
    return drawing::in_shown_unit(1.0) != 1.0 ? drawing::set_content_text(number) : models::said(typed_mg_per_kg);
}

std::string limit_in_words(const Session& session, const std::string& id) {
    if (const models::Limit* limit = limit_of_store(session, id))
        return drawing::with_unit(words::limit_by_name, id, limit_number_text(limit->limit_mg_per_kg));
    return drawing::with_unit(words::limit_by_number, limit_number_text(id));
}

}  // namespace app::window
