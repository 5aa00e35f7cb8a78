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
#include "app/drawing/fonts.h"
#include "app/ground_words.h"
#include "app/job.h"
#include "app/pit_words.h"
#include "app/window/last_state.h"
#include "app/words.h"
#include "models/error.h"
#include "tests/support/app/window_driver.h"

/// The words in other languages: which are there, what they take, and what is said where they cannot be read. That each
/// word has its translation and no other stands in tests/house/words_of_catalogue.sh.
using namespace app;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
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

TEST_CASE("numbers in German sentences are written as in English ones") {
    const SpokenIn german("de");
    CHECK(spoken(words::hours_station, "S1", 12.34) == "; Station S1, 12.3 km entfernt");
    CHECK(spoken(words::pit_minutes, 7, 5) == "7:05 min");
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
        Case{"bins", {"unten zu prüfen", "Grenzwert 1.5 mg/kg"}, {"to be looked at", "Limit 1.5 mg/kg"}},
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
