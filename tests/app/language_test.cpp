#include "app/language.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <regex>
#include <thread>

#include <catch2/catch.hpp>
#include <imgui.h>
#include <unistd.h>

#include "app/cautions.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/fonts.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_ground.h"
#include "app/ground_words.h"
#include "app/job.h"
#include "app/pit_words.h"
#include "app/stages/split_stage.h"
#include "app/window/last_state.h"
#include "app/window/typed_number.h"
#include "app/words.h"
#include "geo/tables/cells.h"
#include "geo/tables/kind.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "tests/support/app/what_is_seen.h"
#include "tests/support/app/window_driver.h"

/// The words in other languages: which are there, what they take, and what is said where they cannot be read. That each
/// word has its translation and no other stands in tests/house/words_of_catalogue.sh.
using namespace app;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using tests::add_texts;
using tests::english_of;
using tests::points_of;
using tests::WindowDriver;

namespace {

namespace fs = std::filesystem;

struct Pair {
    std::string original, translation, context;
};

std::string without_escapes(const std::string& text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\\' && i + 1 < text.size()) ++i;
        out += text[i];
    }
    return out;
}

/// All pairs of a language; gettext's own msgcat puts each on one line.
std::vector<Pair> pairs_of(const fs::path& po) {
    const std::string command = "msgcat --no-wrap --no-location \"" + po.string() + "\"";
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(::popen(command.c_str(), "r"), ::pclose);
    REQUIRE(pipe);
    std::string text;
    std::array<char, 4096> part{};
    while (const std::size_t count = std::fread(part.data(), 1, part.size(), pipe.get()))
        text.append(part.data(), count);
    std::vector<Pair> pairs;
    const std::regex pair("(?:msgctxt \"(.*)\"\n)?msgid \"(.*)\"\nmsgstr \"(.*)\"\n");
    for (std::sregex_iterator at(text.begin(), text.end(), pair), end; at != end; ++at)
        if (at->length(2) > 0)
            pairs.push_back({without_escapes(at->str(2)), without_escapes(at->str(3)), without_escapes(at->str(1))});
    return pairs;
}

std::vector<fs::path> all_languages() {
    std::vector<fs::path> files;
    for (const auto& file : fs::directory_iterator(fs::path(LODICULE_SOURCE_DIR) / "app" / "languages"))
        if (file.path().extension() == ".po") files.push_back(file.path());
    std::sort(files.begin(), files.end());
    return files;
}

/// $LODICULE_LANGUAGE_DIR as long as it lives, a folder of its own.
class LanguageFolder {
 public:
    LanguageFolder()
        : path_(fs::temp_directory_path() /
                ("languages_" + std::to_string(::getpid()) + "_" + std::to_string(++made_))) {
        fs::remove_all(path_);
        fs::create_directories(path_);
        ::setenv("LODICULE_LANGUAGE_DIR", path_.c_str(), 1);
    }
    ~LanguageFolder() {
        ::unsetenv("LODICULE_LANGUAGE_DIR");
        fs::remove_all(path_);
    }
    LanguageFolder(const LanguageFolder&) = delete;
    LanguageFolder& operator=(const LanguageFolder&) = delete;
    void write(const std::string& file, const std::string& bytes) const {
        std::ofstream(path_ / file, std::ios::binary) << bytes;
    }
    /// As a translator makes it.
    void compile(const std::string& language, const std::string& po) const {
        write(language + ".po", "msgid \"\"\nmsgstr \"Content-Type: text/plain; charset=UTF-8\\n\"\n\n" + po);
        const std::string file = (path_ / language).string();
        REQUIRE(std::system(("msgfmt -o \"" + file + ".mo\" \"" + file + ".po\"").c_str()) == 0);
    }

 private:
    static inline int made_ = 0;
    fs::path path_;
};

app::window::WindowSettings german_room(const char* room) {
    app::window::WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    settings.language = "de";
    settings.text_scale = 1.0;
    return settings;
}

void add_progress(const app::window::Session& session, std::vector<std::string>& said) {
    const std::string now = session.working    ? session.working->what()
                            : session.teaching ? session.teaching->what()
                                               : "";
    if (said.empty() || said.back() != now) said.push_back(now);
}

/// Everything that a room says by itself, with what its tools and cards say and what is said while it works.
struct RoomThatSpeaks {
    const char* room;
    /// Opens what it has to show, one after the other; the texts of each are added.
    void (*show)(WindowDriver& window, std::vector<std::string>& said);
};

void show_contamination(WindowDriver& window, std::vector<std::string>& said) {
    app::window::Session& session = *window.session;
    for (const char tool : {'T', 'E', 'Z'}) {
        window.press(tool);
        window.frames(3);
        finish_work(session);
        window.frames(3);
        add_texts(window.places, said);
        if (tool == 'E') window.press(tool);
    }
    // Zones of every kind of field, and what stands on the cards.
    const app::SeasonView& view = session.answer->view;
    const SpokenIn language(session.language);
    for (const app::FieldView& field : view.fields) {
        const auto index = view.contamination.field_season_of[field.crop];
        std::optional<models::Explanation> says;
        if (field.content && index) says = view.probed.explain(*view.contamination.model, *index);
        for (const std::string& line : app::field_card(view, field, says ? &*says : nullptr)) said.push_back(line);
        said.push_back(field.note);
    }
    app::SplitSettings all;
    const app::SplitsOfSeason splits = app::split_fields(view, all);
    said.push_back(splits.costs_in_words);
    for (const app::FieldSplit& split : splits.fields) {
        said.insert(said.end(), {split.why_not, split.how_to_find_out});
        said.insert(said.end(), split.notes.begin(), split.notes.end());
        for (const app::SplitZone& zone : split.zones) said.insert(said.end(), {zone.where, zone.clearing.reason});
    }
}

void show_where_first(WindowDriver& window, std::vector<std::string>& said) {
    app::window::Session& session = *window.session;
    for (const auto& row : order_shown(session).rank->rows) said.insert(said.end(), {row.why, row.risk_extrapolated});
    said.push_back(order_shown(session).rank->subtitle);
    for (const app::FieldRisk& risk : session.answer->view.risks)
        said.insert(said.end(), risk.risk.missing.begin(), risk.risk.missing.end());
    // Hours and walk of each field, those that have none with the reason.
    window.press('W');
    for (const app::FieldView& field : session.answer->view.fields) {
        app::window::apply(session, app::window::ChooseField{field.name});
        finish_work(session);
        window.frames(2);
        add_texts(window.places, said);
    }
    window.press('W');
    for (const app::FieldView& field : session.answer->view.fields) {
        app::window::apply(session, app::window::ChooseField{field.name});
        finish_work(session);
        window.frames(2);
        add_texts(window.places, said);
    }
}

void show_past_seasons(WindowDriver& window, std::vector<std::string>& said) {
    window.session->looks_ahead = true;
    window.press('N');
    window.frames(3);
    finish_work(*window.session);
    window.frames(3);
    add_texts(window.places, said);
    for (const auto& row : window.session->taught->figure.league) said.push_back(row.name);
}

const std::vector<RoomThatSpeaks> rooms_that_speak = {
    {"contamination", show_contamination}, {"where-first", show_where_first}, {"past-seasons", show_past_seasons}};

bool any_text(app::window::Places& places, const std::string& words) {
    return std::any_of(places.texts()->begin(), places.texts()->end(),
                       [&](const auto& text) { return text.words.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("a word is English where no language is spoken and the language's own while one is") {
    CHECK(std::string(spoken(words::season)) == "Season");
    {
        const SpokenIn german("de");
        CHECK(std::string(spoken(words::season)) == "Ernte");
        CHECK(spoken(words::title_content, 2026) == "Belastung mit DON, Ernte 2026");
        CHECK(spoken(words::bench_part, "x", 12.6) == "x 13 %");
        CHECK(std::string(spoken(caution::only_don)).find("Mutterkorn") != std::string::npos);
        {
            const SpokenIn english("en");
            CHECK(spoken(words::title_content, 2026) == "Contamination with DON, season 2026");
        }
        CHECK(std::string(spoken(words::season)) == "Ernte");
        // Work beside speaks as who began it; another thread does not.
        Job<std::string> job("", [](const models::Progress&) { return std::string(spoken(words::season)); });
        while (!job.done()) std::this_thread::yield();
        CHECK(*job.result() == "Ernte");
        std::string elsewhere;
        std::thread([&] { elsewhere = spoken(words::season); }).join();
        CHECK(elsewhere == "Season");
    }
    CHECK(std::string(spoken(words::season)) == "Season");
}

TEST_CASE("numbers in German sentences have a decimal comma and what programs read keeps its point") {
    CHECK(drawing::axis_number_text(0.5, 0.25) == "0.50");
    CHECK(drawing::axis_number_text(7.5, 2.5) == "7.5");
    CHECK_FALSE(window::number_typed("1,25"));
    CHECK(spoken(words::hours_station, "S1", 12.34) == "; station S1, 12.3 km away");
    CHECK(models::number_as_typed("0,42") == "0,42");  // no mark of English: it stays for the refusal to name
    const SpokenIn german("de");
    CHECK(spoken(words::hours_station, "S1", 12.34) == "; Station S1, 12,3 km entfernt");
    CHECK(spoken(words::pit_minutes, 7, 5) == "7:05 min");
    CHECK(models::phrase("{:.{}f} and {}", 2.5, 3, 0.75) == "2,500 and 0,75");
    CHECK(drawing::number_text(0.0343) == "0,034");
    CHECK(drawing::content_text(1.254) == "1,3");
    CHECK(drawing::set_number_text(1.25) == "1,25");
    CHECK(drawing::tonnes_text(24.56) == "24,6 t");
    CHECK(drawing::axis_number_text(0.5, 0.5) == "0,5");
    CHECK(models::content_in_words(1.0) == "1,0");
    CHECK(models::said("v1.x, 3. of 4.5 and S1.2") == "v1.x, 3. of 4,5 and S1,2");
    CHECK(geo::tables::number_text(0.5) == "0.5");  // a cell of a table
    CHECK(models::number_as_typed("0,42") == "0.42");
    CHECK(models::number_as_typed("0.42") == "0.42");
    CHECK(models::number_as_typed("1,234,5") == "1,234,5");
    CHECK(models::number_as_typed("T07, east") == "T07, east");
    CHECK(window::number_typed("1,25") == 1.25);
    CHECK(window::number_typed("1.25") == 1.25);
    CHECK_FALSE(window::number_typed("1,2,5"));
    CHECK_FALSE(window::number_typed("nan"));
    CHECK(window::tonnes_typed("24,6") == 24.6);
    CHECK_FALSE(window::tonnes_typed("0"));
    CHECK(models::estimate_in_words(0.72) == "0,72");
    {
        const models::Translated english(nullptr);  // as records are written
        CHECK(drawing::number_text(0.0343) == "0.034");
        CHECK(models::phrase("{:.1f}", 2.5) == "2.5");
    }
    CHECK(drawing::number_text(0.0343) == "0,034");
}

TEST_CASE("a translation fits where it takes the same places in whatever order") {
    CHECK(same_places("{} of {}", "{} von {}"));
    CHECK(same_places("{} of {}", "{1} aus {0}"));
    CHECK(same_places("{} {:.1f} %", "{1:.1f} % {0}"));
    CHECK(same_places("a {{b}} {}", "{} {{c}}"));
    CHECK(same_places("no place", "kein Ort"));
    CHECK_FALSE(same_places("{} of {}", "{} von"));
    CHECK_FALSE(same_places("{} of {}", "{} von {} {}"));
    CHECK_FALSE(same_places("{} of {}", "{0} von {0}"));
    CHECK_FALSE(same_places("{} of {}", "{} von {1}"));  // counted and numbered at once is no format
    CHECK_FALSE(same_places("{:.1f}", "{:.2f}"));
    CHECK_FALSE(same_places("{:.1f}", "{:d}"));
    CHECK_FALSE(same_places("{}", "{"));
    CHECK_FALSE(same_places("{}", "}{"));
    CHECK_FALSE(same_places("{}", "{name}"));
}

TEST_CASE("every translation takes what its original takes and is written in letters that the fonts have") {
    const std::vector<fs::path> files = all_languages();
    REQUIRE_FALSE(files.empty());
    for (const fs::path& po : files) {
        const std::vector<Pair> pairs = pairs_of(po);
        REQUIRE(pairs.size() > 600);
        const SpokenIn language(po.stem().string());
        REQUIRE(models::translation_here() != nullptr);
        for (const Pair& pair : pairs) {
            CAPTURE(po.filename().string(), pair.original, pair.translation);
            CHECK_FALSE(pair.translation.empty());
            CHECK(same_places(pair.original, pair.translation));
            // What the program finds is what stands there.
            const char* context = pair.context.empty() ? nullptr : pair.context.c_str();
            CHECK(pair.translation == spoken(Word{pair.original.c_str(), context}));
            // Sentences that are joined to others begin and end alike.
            CHECK((pair.original.front() == ' ') == (pair.translation.front() == ' '));
            if (pair.original != ".")  // the mark before decimals
                CHECK((pair.original.back() == '.') == (pair.translation.back() == '.'));
            for (const auto weight : {drawing::Weight::regular, drawing::Weight::bold}) {
                const auto line = drawing::set_line(pair.translation, weight);
                CHECK(std::none_of(line.glyphs.begin(), line.glyphs.end(),
                                   [](const drawing::PlacedGlyph& glyph) { return glyph.index == 0; }));
            }
        }
    }
}

TEST_CASE("the window's faces hold umlauts and the quotation marks of German at every size") {
    WindowDriver window(german_room("bench"));
    for (const double size : {12.0, 16.0, 35.0, 54.0})
        for (const auto weight : {drawing::Weight::regular, drawing::Weight::bold})
            for (const ImWchar letter :
                 std::initializer_list<ImWchar>{0xC4, 0xD6, 0xDC, 0xE4, 0xF6, 0xFC, 0xDF, 0x201C})
                CHECK(window.brushes.fonts.face(size, weight)->FindGlyphNoFallback(letter) != nullptr);
    for (const auto weight : {drawing::Weight::regular, drawing::Weight::bold})
        CHECK(window.brushes.fonts.face(16.0, weight)->FindGlyphNoFallback(0x201E) != nullptr);
}

TEST_CASE("languages name themselves and those of a translator's folder are among them") {
    CHECK(languages() == std::vector<std::string>{"en", "de"});
    CHECK(name_of_language("en") == "English");
    CHECK(name_of_language("de") == "Deutsch");
    CHECK(problem_of_language("de").empty());
    const LanguageFolder folder;
    folder.compile("nn",
                   "msgctxt \"name of the language\"\nmsgid \"English\"\nmsgstr \"Nynorsk\"\n\n"
                   "msgid \"Season\"\nmsgstr \"Sesong\"\n\n"
                   "msgid \"{} of {}\"\nmsgstr \"{1} frå {0}\"\n\n"
                   "msgid \"Closed: {}\"\nmsgstr \"Stengd {} {}\"\n");
    CHECK(languages() == std::vector<std::string>{"en", "de", "nn"});
    CHECK(name_of_language("nn") == "Nynorsk");
    const SpokenIn other("nn");
    CHECK(std::string(spoken(words::season)) == "Sesong");
    CHECK(spoken(words::bin_filled, "3 t", "9 t") == "9 t frå 3 t");
    CHECK(spoken(words::bin_closed, "x") == "Closed: x");  // it takes more than there is: as it was written
    CHECK(std::string(spoken(words::limit)) == "Limit");   // none yet
}

TEST_CASE("a language that is damaged or missing leaves English and says so") {
    const LanguageFolder folder;
    for (const char* bytes : {"no catalogue at all", "\xde\x12\x04\x95"}) {
        folder.write(bytes[0] == 'n' ? "xa.mo" : "xb.mo", bytes);
        const std::string code = bytes[0] == 'n' ? "xa" : "xb";
        CHECK_THAT(problem_of_language(code),
                   StartsWith("The words of the language \"" + code + "\" cannot be read (") &&
                       Contains("so the window speaks English"));
        const SpokenIn damaged(code);
        CHECK(std::string(spoken(words::season)) == "Season");
    }
    CHECK_THAT(problem_of_language("xc"), Contains("\"xc\" cannot be read (there is none)"));
    // Of what was chosen last time it is said once, until something else is done.
    app::window::WindowSettings settings = german_room("contamination");
    settings.language = "";
    app::window::LastState last;
    last.language = "xa";
    WindowDriver window(settings, last);
    window.places.note_texts();
    window.settle();
    CHECK(any_text(window.places, "Season"));
    CHECK(any_text(window.places, "The words of the language"));
    app::window::apply(*window.session, app::window::ChooseTheme{drawing::ThemeName::dark});
    window.frames(3);
    CHECK_FALSE(any_text(window.places, "The words of the language"));
}

TEST_CASE("a language that nobody knows is refused with those that are there") {
    app::window::WindowSettings settings = german_room("bench");
    settings.language = "xx";
    try {
        WindowDriver window(settings);
        FAIL("it was taken");
    } catch (const models::Error& error) {
        CHECK_THAT(error.what(), Contains("the window speaks no language \"xx\"") && Contains("--language") &&
                                     Contains("the languages are en, de"));
    }
}

TEST_CASE("every room speaks German and no word of its own is left in English") {
    struct Case {
        const char* room;
        std::vector<std::string> says, says_not;
    };
    // Of what a painter writes; labels of buttons come by the same way.
    const Case at = GENERATE(
        Case{"where-first",
             {"Wo zuerst?", "Ernte", "Welches Feld zuerst", "Grenzwert 1"},
             {"Season", "Which field first"}},
        Case{"bench", {"Laufende Streifen", "Letzte Tests aller Ernten, mg/kg"}, {"Strips that run", "Last tests"}},
        Case{"contamination", {"DON, mg/kg (Median)", "schraffiert", "Ansicht (F2)"}, {"hatched", "View (F2)"}},
        Case{"bins", {"unten zu prüfen", "Grenzwert 1,5 mg/kg"}, {"to be looked at", "Limit 1.5 mg/kg"}},
        Case{"past-seasons", {"über die Jahre", "Reihenfolge der Felder"}, {"Order of the fields"}});
    WindowDriver window(german_room(at.room));
    window.places.note_texts();
    window.settle();
    finish_work(*window.session);
    window.frames(3);
    for (const std::string& words : at.says) {
        CAPTURE(words);
        CHECK(any_text(window.places, words));
    }
    for (const std::string& words : at.says_not) {
        CAPTURE(words);
        CHECK_FALSE(any_text(window.places, words));
    }
}

TEST_CASE("no sentence is left in English and no number with its point where a room speaks German") {
    CHECK(points_of({"0,5", "1.", "2026-07-01", "ein Anteil von 0.5", "lodicule first --limit 1.0"}) ==
          std::vector<std::string>{"ein Anteil von 0.5"});
    CHECK(english_of({"supported: evidence 5 to 1 for it", "Belege der Ernte", "Not", "the"}) ==
          std::vector<std::string>{"supported: evidence 5 to 1 for it", "the"});
    for (const RoomThatSpeaks& of : rooms_that_speak) {
        WindowDriver window(german_room(of.room));
        window.places.note_texts();
        std::vector<std::string> said;
        while (window.session->working) {
            add_progress(*window.session, said);
            window.frames();
        }
        window.settle();
        finish_work(*window.session);
        window.frames(3);
        add_texts(window.places, said);
        of.show(window, said);
        CHECK(said.size() > 50);
        for (const std::string& words : english_of(said)) {
            CAPTURE(of.room, words);
            CHECK(words.empty());
        }
        for (const std::string& words : points_of(said)) {
            CAPTURE(of.room, words);
            CHECK(words.empty());
        }
    }
}

TEST_CASE("what a table refuses in a cell is said in the language that is spoken, whole, and in English without one") {
    const auto& tests = geo::tables::kind_named("tests");
    const auto refused = [&](const char* column, const char* cell) {
        std::optional<geo::tables::CellRefusal> refusal;
        geo::tables::read_cell(*tests.find(column), cell, {}, refusal);
        REQUIRE(refusal);
        return refusal->what + " | " + refusal->mend + " | " + refusal->mend_of_typed();
    };
    const auto don = [](const char* cell, const char* unit) {
        std::optional<geo::tables::CellRefusal> refusal;
        geo::tables::read_don(cell, unit, {}, refusal);
        REQUIRE(refusal);
        return refusal->what + " | " + refusal->mend + " | " + refusal->mend_of_typed();
    };
    CHECK(refused("temperature_degc", "21,5") ==
          "\"21,5\" has a decimal comma | write 21.5, or give a column map with decimal = \",\" | write 21.5");
    CHECK(don("cold", "ppm") ==
          "\"cold\" is no number | write a number, <0.2 for below the range, >6 for above it | "
          "write a number, <0.2 for below the range, >6 for above it");
    const app::SpokenIn german("de");
    CHECK(refused("temperature_degc", "21,5") ==
          "\"21,5\" hat ein Dezimalkomma | 21.5 schreiben, oder eine Spaltenzuordnung mit decimal = \",\" angeben | "
          "21.5 schreiben");
    CHECK(refused("temperature_degc", "warm")
              .starts_with("\"warm\" ist keine Zahl | eine Zahl mit Punkt schreiben oder"));
    CHECK(refused("basis", "drry").starts_with("\"drry\" ist kein bekanntes Wort; ist \"dry\" gemeint?"));
    CHECK(refused("time", "noon").starts_with("\"noon\" ist keine Zeit"));
    CHECK(refused("incubation_s", "-3").find("-3 liegt außerhalb des Bereichs | sie ist nie negativ") == 0);
    CHECK(don("-0.4", "ppm").starts_with("-0.4 ist negativ, und ein Gehalt ist es nie"));
    CHECK(don("0.4", "grains").starts_with("\"grains\" ist keine bekannte Einheit für DON"));
    CHECK(don("<", "ppm").starts_with("\"<\" hat keine Zahl"));
}

TEST_CASE("a language that is chosen is spoken at once and can be taken back") {
    app::window::WindowSettings settings = german_room("contamination");
    settings.language = "en";
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    CHECK(any_text(window.places, "DON, mg/kg (median)"));
    window.click("looks");
    window.click("language de");
    CHECK(window.session->language == "de");
    window.frames(3);
    CHECK(window.session->working);  // reasons and verdicts are found again beside it
    CHECK(any_text(window.places, "DON, mg/kg (Median)"));
    CHECK(any_text(window.places, "Sprache"));
    CHECK(window.session->answer->content_map.title == "Belastung mit DON, Ernte 2026");
    CHECK(state_of(*window.session, window.views, 1440, 900).language == "de");
    app::window::apply(*window.session, app::window::Undo{});
    window.frames(3);
    CHECK(window.session->language == "en");
    CHECK(any_text(window.places, "DON, mg/kg (median)"));
    CHECK_FALSE(any_text(window.places, "DON, mg/kg (Median)"));
}
