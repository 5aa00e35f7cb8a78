#include <algorithm>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "app/language.h"
#include "app/window/pit_arrival.h"
#include "geo/store/database.h"
#include "tests/app/pit_at_window.h"
#include "tests/support/app/bench_window.h"
#include "tests/support/app/what_is_seen.h"

/// The pit and the bench in German: reasons, verdicts and what the bench says, and that records are those of English.
using namespace app::window;
using Catch::Matchers::Contains;
using pit_tests::AtThePit;
using pit_tests::PitFarm;
using std::chrono::milliseconds;
using tests::BenchWindow;

namespace {

bool drawn(const Places& places, const std::string& words) {
    return std::any_of(places.texts()->begin(), places.texts()->end(),
                       [&](const auto& text) { return text.words.find(words) != std::string::npos; });
}

void is_german(tests::WindowDriver& window) {
    window.frames(3);
    REQUIRE(window.places.texts()->size() > 20);
    std::vector<std::string> said;
    tests::add_texts(window.places, said);
    CHECK(tests::english_of(said) == std::vector<std::string>());
    CHECK(tests::points_of(said) == std::vector<std::string>());
}

void speak_german(tests::WindowDriver& window) {
    apply(*window.session, ChooseLanguage{"de"});
    window.places.note_texts();
    window.settle();
    window.frames(3);
}

/// A truck comes, is sampled, goes where it is advised, and another against a rule.
void a_day_at_the_pit(AtThePit& at) {
    at.at("10:30");
    ArrivedTruck truck = new_arrival(at.pit().plan->view().data, 2025, at.now);
    truck.typed["net_t"] = "11.5";
    truck.typed["parts"] = "Fen 0.25; Mill Piece 0.75";
    apply(*at.window->session, ArriveAtPit{truck});
    apply(*at.window->session, RecordArrival{});
    REQUIRE_FALSE(at.pit().arrives);
    at.reread();
    at.choose("T9");
    at.window->click("take sample");
    at.window->click("question yes");
    at.window->settle();
    at.choose("T1");
    at.window->click("record");
    at.window->click("question yes");
    at.window->settle();
    at.choose("T2");
    at.window->press('B');
    at.window->click("bin M1");
    at.window->click("question reason");
    at.window->write("wrong pit");
    at.window->click("question");
    at.window->click("question yes");
    at.window->settle();
    apply(*at.window->session, Undo{});
    at.window->settle();
}

}  // namespace

TEST_CASE("the pit gives its reasons in German") {
    const PitFarm farm;
    PitFarm::read(farm.store(), "ST6", "T6", "0.9");
    AtThePit at(farm.store());
    CHECK_THAT(at.pit().plan->queue.waiting.front().advice, Contains("chance over") || Contains("own strip"));
    speak_german(*at.window);
    for (const char* load : {"T1", "T2", "T5", "T6"}) {
        at.choose(load);
        CAPTURE(load);
        is_german(*at.window);
        CHECK_THAT(at.pit().truck->reason, !Contains(" chance ") && !Contains("over"));
        at.window->press('B');
        is_german(*at.window);
        at.window->click("question no");
    }
    at.choose("T2");
    CHECK(drawn(at.window->places, "igener Streifen 3,4 liegt über"));
    at.window->click("what if");
    is_german(*at.window);
    at.window->click("what if");  // its first box had the keys
    apply(*at.window->session, AskLotAtPit{});
    at.window->press('A');
    is_german(*at.window);
    at.window->click("arrival no");
    // What is dumped, closes a bin by a later result and stands in another bin than advised.
    a_day_at_the_pit(at);
    is_german(*at.window);
    // English again, as it was before.
    apply(*at.window->session, ChooseLanguage{"en"});
    at.window->settle();
    at.choose("T2");
    CHECK_THAT(at.pit().truck->in_short, Contains("own strip 3.4 is over"));
}

TEST_CASE("the bench speaks German") {
    BenchWindow bench;
    bench.open();
    speak_german(*bench.window);
    CHECK(drawn(bench.window->places, "In Gebrauch: "));
    is_german(*bench.window);
    bench.window->line("kit K7");
    CHECK_THAT(bench.said(), Contains("ihre Streifen werden bei "));
    bench.window->line("S901", true);
    CHECK_THAT(bench.said(), Contains("seine Uhr läuft ab "));
    bench.window->line("0,62");
    CHECK_THAT(bench.said(), Contains("zu früh: Streifen"));
    is_german(*bench.window);
    bench.later(375);
    CHECK_THAT(bench.said(), Contains("jetzt ablesen"));
    bench.window->line("0,6x2");
    is_german(*bench.window);
    bench.window->line("0,62");
    CHECK_THAT(bench.said(), Contains(", Charge K7, lief "));
    is_german(*bench.window);
    bench.window->line("yes");
    CHECK(bench.tests() == bench.tests_before + 1);
    CHECK_THAT(bench.said(), Contains("eingetragen: Test ") && Contains("90-%-Intervall"));
    is_german(*bench.window);
    for (const char* line : {"kit OM-26-F", "new S99", "no", "void", "mistake", "again", "after", "S999"}) {
        CAPTURE(line);
        bench.window->line(line);
        is_german(*bench.window);
    }
    bench.window->line("temperature 21,5");
    CHECK(drawn(bench.window->places, "21,5"));
    is_german(*bench.window);
    bench.window->line("help");
    CHECK(drawn(bench.window->places, "Scannen oder tippen"));
    is_german(*bench.window);
    // What was read in German is read again in English.
    apply(*bench.window->session, ChooseLanguage{"en"});
    bench.window->line("kit K7");
    CHECK_THAT(bench.said(), Contains("its strips are read at "));
}

TEST_CASE("trucks and strips recorded in German are the records of English") {
    const PitFarm of_english, of_german;
    {
        AtThePit at(of_english.store());
        a_day_at_the_pit(at);
    }
    {
        AtThePit at(of_german.store());
        speak_german(*at.window);
        a_day_at_the_pit(at);
    }
    CHECK(pit_tests::written(of_german.store()) == pit_tests::written(of_english.store()));
    const auto reasons = [](const std::filesystem::path& file) {
        std::vector<std::string> all;
        geo::Store store = geo::Store::open(file);
        geo::Statement row(store.database(), "SELECT action, payload FROM event ORDER BY sequence");
        while (row.step()) all.push_back(row.text(0) + " " + row.text(1));
        return all;
    };
    CHECK(reasons(of_german.store()) == reasons(of_english.store()));

    // A strip whose clock was started too late: its correction is reasoned in the store.
    std::vector<std::string> strips[2];
    for (const bool german : {false, true}) {
        BenchWindow bench;
        bench.open();
        if (german) speak_german(*bench.window);
        bench.window->line("kit K7");
        bench.window->line("S901", true);
        bench.later(200);
        bench.window->line("0.62 after 6:20");
        bench.window->line("yes");
        CHECK(bench.tests() == bench.tests_before + 1);
        bench.window->line("S902", true);
        bench.window->line("mistake wrong sample");
        strips[german] = reasons(bench.store());
    }
    CHECK(strips[0] == strips[1]);
}
