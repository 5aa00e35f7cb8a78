#include "app/window/last_state.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <utility>

#include <nlohmann/json.hpp>

#include "app/window/frame.h"
#include "app/window/session.h"
#include "geo/store/chain.h"
#include "geo/whole_file.h"
#include "models/error.h"

namespace app::window {

namespace {

using nlohmann::json;

constexpr int state_format = 1;

std::string whole_path(const std::filesystem::path& store) {
    std::error_code unknown;
    const std::filesystem::path whole = std::filesystem::weakly_canonical(store, unknown);
    return (unknown ? store : whole).string();
}

const char* layer_word(drawing::MapShows layer) {
    return layer == drawing::MapShows::exceedance ? "exceedance" : "content";
}

std::string text_at(const json& object, const char* name) {
    const auto found = object.find(name);
    // What no one types at a bench in one line is none of ours.
    constexpr std::size_t longest = 4000;
    if (found == object.end() || !found->is_string()) return "";
    std::string text = found->get<std::string>();
    return text.size() > longest ? std::string() : text;
}

std::optional<double> number_at(const json& object, const char* name) {
    const auto found = object.find(name);
    if (found == object.end() || !found->is_number()) return std::nullopt;
    const double number = found->get<double>();
    return std::isfinite(number) ? std::optional(number) : std::nullopt;
}

std::optional<int> whole_at(const json& object, const char* name, int least, int most) {
    const auto found = object.find(name);
    if (found == object.end() || !found->is_number_integer()) return std::nullopt;
    const auto number = found->get<std::int64_t>();
    return number < least || number > most ? std::nullopt : std::optional(static_cast<int>(number));
}

}  // namespace

LastState state_of(const Session& session, const Views& views, int width, int height) {
    LastState state;
    state.season = session.season;
    state.limit = session.limit;
    state.field = session.field;
    state.room = session.room;
    state.layer = session.layer;
    state.theme = session.theme;
    state.unit = session.unit;
    state.text_scale = session.text_scale;
    state.language = session.language;
    state.width = width;
    state.height = height;
    state.map = views.map;
    state.backdrop = session.backdrop.file;
    state.backdrop_shown = session.backdrop.shown;
    state.backdrop_strength = session.backdrop.strength;
    if (!views.line.is_only_begun()) state.line = views.line.text();  // what nobody typed does not come back
    state.strip_in_hand = session.strip_in_hand;
    state.kept = session.kept_at_bench;
    state.day = session.day_at_bench;
    if (session.bench) {
        const BenchView& bench = session.bench->view();
        if (state.line.empty()) state.line = session.bench->line_that_waits();
        state.strip_in_hand.clear();
        for (const RunningView& one : bench.running)
            if (one.in_hand) state.strip_in_hand = one.strip.strip;
        state.kept = bench.kept;
        state.day = models::to_text(session.clock().local_day());
    }
    return state;
}

void bring_back(Views& views, const LastState& state) {
    views.map = state.map;
    views.map_came_back = state.map.has_value();
    views.line.bring_back(state.line);
}

std::filesystem::path state_file_of(const std::filesystem::path& store) {
    const auto folder_in = [](const char* variable) {
        const char* value = std::getenv(variable);
        const std::filesystem::path folder = value == nullptr ? "" : value;
        return folder.is_absolute() ? folder : std::filesystem::path();
    };
    std::filesystem::path folder = folder_in("XDG_STATE_HOME");
    if (folder.empty()) {
        const std::filesystem::path home = folder_in("HOME");
        if (home.empty()) return {};
        folder = home / ".local" / "state";
    }
    return folder / "lodicule" / (geo::sha256_of(whole_path(store)) + ".json");
}

std::string text_of(const LastState& state, const std::filesystem::path& store) {
    json object = {{"program", "lodicule"},        {"format", state_format}, {"store", whole_path(store)},
                   {"limit", state.limit},         {"field", state.field},   {"line", state.line},
                   {"strip", state.strip_in_hand}, {"day", state.day},       {"kept", state.kept}};
    if (state.season) object["season"] = *state.season;
    if (state.room) object["room"] = room_word(*state.room);
    if (state.layer) object["layer"] = layer_word(*state.layer);
    if (state.theme) object["theme"] = drawing::word_of(*state.theme);
    if (state.unit) object["units"] = drawing::word_of(*state.unit);
    if (state.text_scale) object["text_scale"] = *state.text_scale;
    if (!state.language.empty()) object["language"] = state.language;
    if (state.width > 0 && state.height > 0) {
        object["width"] = state.width;
        object["height"] = state.height;
    }
    if (state.map)
        object["map"] = {{"x_m", state.map->centre_m.x_m},
                         {"y_m", state.map->centre_m.y_m},
                         {"metres_per_px", state.map->metres_per_px}};
    if (!state.backdrop.empty())
        object["backdrop"] = {
            {"file", state.backdrop}, {"shown", state.backdrop_shown}, {"strength", state.backdrop_strength}};
    return object.dump(1, ' ', false, json::error_handler_t::replace) + "\n";
}

std::optional<LastState> state_in(const std::string& text, const std::filesystem::path& store) {
    const json object = json::parse(text, nullptr, false);
    if (!object.is_object() || text_at(object, "program") != "lodicule" ||
        whole_at(object, "format", 0, 1000) != state_format || text_at(object, "store") != whole_path(store))
        return std::nullopt;
    LastState state;
    state.season = whole_at(object, "season", 1900, 2200);
    state.limit = text_at(object, "limit");
    state.field = text_at(object, "field");
    state.room = room_named(text_at(object, "room"));
    const std::string layer = text_at(object, "layer");
    for (const drawing::MapShows one : {drawing::MapShows::content, drawing::MapShows::exceedance})
        if (layer == layer_word(one)) state.layer = one;
    state.theme = drawing::theme_named(text_at(object, "theme"));
    state.unit = drawing::unit_named(text_at(object, "units"));
    state.language = text_at(object, "language");
    if (const auto scale = number_at(object, "text_scale"); scale && *scale >= 0.75 && *scale <= 3.0)
        state.text_scale = scale;
    const auto width = whole_at(object, "width", 320, 16384), height = whole_at(object, "height", 240, 16384);
    if (width && height) {
        state.width = *width;
        state.height = *height;
    }
    if (const auto map = object.find("map"); map != object.end() && map->is_object()) {
        const auto x = number_at(*map, "x_m"), y = number_at(*map, "y_m"), scale = number_at(*map, "metres_per_px");
        if (x && y && scale && *scale > 1e-4 && *scale < 1e6) {
            drawing::MapView& view = state.map.emplace();
            view.centre_m = {*x, *y};
            view.metres_per_px = *scale;
        }
    }
    if (const auto behind = object.find("backdrop"); behind != object.end() && behind->is_object()) {
        state.backdrop = text_at(*behind, "file");
        if (const auto shown = behind->find("shown"); shown != behind->end() && shown->is_boolean())
            state.backdrop_shown = shown->get<bool>();
        if (const auto strength = number_at(*behind, "strength"); strength && *strength >= 0.1 && *strength <= 1.0)
            state.backdrop_strength = *strength;
    }
    state.line = text_at(object, "line");
    state.strip_in_hand = text_at(object, "strip");
    state.day = text_at(object, "day");
    if (const auto kept = object.find("kept"); kept != object.end() && kept->is_object()) {
        for (const auto& [column, value] : kept->items())
            if (value.is_string()) state.kept[column] = value.get<std::string>();
    }
    return state;
}

std::optional<LastState> read_last_state(const std::filesystem::path& file, const std::filesystem::path& store) {
    std::error_code unknown;
    constexpr std::uintmax_t largest = 1 << 20;
    if (file.empty() || !std::filesystem::is_regular_file(file, unknown) ||
        std::filesystem::file_size(file, unknown) > largest)
        return std::nullopt;
    std::ifstream in(file, std::ios::binary);
    return state_in({std::istreambuf_iterator<char>(in), {}}, store);
}

StateKeeper::StateKeeper(std::filesystem::path file, std::filesystem::path store)
    : file_(std::move(file)), store_(std::move(store)) {}

bool StateKeeper::keep(const LastState& state) {
    if (file_.empty()) return false;
    std::string text = text_of(state, store_);
    if (text == written_) return false;
    // Also where it cannot be written: it is tried again when something else has changed.
    written_ = std::move(text);
    try {
        std::error_code refused;
        std::filesystem::create_directories(file_.parent_path(), refused);
        geo::write_whole_file(file_, written_);
    } catch (const models::Error&) {
        return false;
    }
    return true;
}

}  // namespace app::window
