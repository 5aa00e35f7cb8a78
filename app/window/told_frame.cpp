#include "app/window/told_frame.h"

#include <algorithm>
#include <cstdlib>
#include <fstream>

#include <fmt/format.h>

#include "app/window/session.h"

namespace app::window {

namespace {

using drawing::Rect;

std::string on_one_line_told(std::string words) {
    std::replace_if(
        words.begin(), words.end(), [](char c) { return c == '\n' || c == '\t'; }, ' ');
    return words;
}

std::string line_of_rect(const char* kind, const Rect& rect, const std::string& what) {
    return fmt::format("{}\t{:.0f}\t{:.0f}\t{:.0f}\t{:.0f}\t{}\n", kind, rect.x, rect.y, rect.width, rect.height,
                       on_one_line_told(what));
}

bool is_in_sight(const DrawnText& text) {
    return text.box.x < text.clip.x + text.clip.width && text.clip.x < text.box.x + text.box.width &&
           text.box.y < text.clip.y + text.clip.height && text.clip.y < text.box.y + text.box.height;
}

}  // namespace

bool nothing_works(const Session& session) {
    const bool read = session.room == Room::bench || !own_records_wait(session);
    return read && !session.working && !session.fetching_hours && !session.teaching && !session.reading_years &&
           !pit_works(session) && !ground_works(session.ground);
}

std::string text_of(const ToldFrame& told, const Session& session, const Places& places) {
    std::string text =
        fmt::format("frame\t{}\nheard\t{}\nsettled\t{}\n", told.frame, told.heard, told.settled ? "yes" : "no");
    text += fmt::format("room\t{}\nseason\t{}\nlimit\t{}\nfield\t{}\ntests\t{}\n", room_word(session.room),
                        session.season, session.limit, session.field, session.ground.tests);
    for (const auto& [name, rect] : places.all()) text += line_of_rect("place", rect, name);
    if (const std::vector<DrawnText>* texts = places.texts())
        for (const DrawnText& drawn : *texts)
            if (is_in_sight(drawn)) text += line_of_rect("text", drawn.box, drawn.words);
    return text;
}

FrameTeller::FrameTeller() {
    if (const char* file = std::getenv("LODICULE_PLACES"); file != nullptr) file_ = file;
}

void FrameTeller::tell(const ToldFrame& told, const Session& session, const Places& places) {
    if (!wanted()) return;
    std::filesystem::path fresh = file_;
    fresh += ".new";
    std::ofstream(fresh, std::ios::binary) << text_of(told, session, places);
    std::error_code ignored;
    std::filesystem::rename(fresh, file_, ignored);
}

}  // namespace app::window
