#include "models/decision/bin_content.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/decision/bins_at_times.h"
#include "models/decision/source_draws.h"
#include "models/error.h"

namespace {

using models::DrawOff;
using models::MoveKind;

models::Bin ledger_bin(const std::string& name, DrawOff rule, double opening_t = 0.0) {
    models::Bin bin;
    bin.bin = name;
    bin.capacity_t = 500.0;
    bin.draw_off = rule;
    bin.opening_mass_t = opening_t;
    return bin;
}

models::Load ledger_load(const std::string& name, std::optional<double> net_t = {}) {
    models::Load load;
    load.load = name;
    load.net_t = net_t;
    return load;
}

models::Move move_of(int minute, const std::string& from, const std::string& to, double mass_t,
                     MoveKind kind = MoveKind::dumped) {
    models::Move move;
    move.move = "M" + std::to_string(minute);
    move.time.utc = std::chrono::sys_seconds{std::chrono::minutes{minute}};
    move.from = from;
    move.to = to;
    move.mass_t = mass_t;
    move.kind = kind;
    return move;
}

std::vector<std::pair<std::string, double>> shares(const std::vector<models::GrainPortion>& portions) {
    std::vector<std::pair<std::string, double>> out;
    for (const auto& portion : portions) out.emplace_back(portion.source, portion.mass_t());
    return out;
}

using Shares = std::vector<std::pair<std::string, double>>;

models::BinLedger two_loads_drawn(DrawOff rule, double drawn_t) {
    return models::ledger_of_moves(
        {ledger_bin("B", rule)}, {ledger_load("L1"), ledger_load("L2")},
        {move_of(1, "L1", "B", 20), move_of(2, "L2", "B", 10), move_of(3, "B", "out", drawn_t, MoveKind::withdrawn)});
}

}  // namespace

TEST_CASE("first in leaves first and last in leaves last in") {
    CHECK(shares(two_loads_drawn(DrawOff::first_in, 25).bin("B").by_source()) == Shares{{"L2", 5.0}});
    CHECK(shares(two_loads_drawn(DrawOff::last_in, 25).bin("B").by_source()) == Shares{{"L1", 5.0}});
    CHECK(shares(two_loads_drawn(DrawOff::mixed, 15).bin("B").by_source()) == Shares{{"L1", 10.0}, {"L2", 5.0}});
}

TEST_CASE("an unknown draw off counts as mixed and says that the order is not known") {
    const auto ledger = two_loads_drawn(DrawOff::unknown, 15);
    CHECK(shares(ledger.bin("B").by_source()) == Shares{{"L1", 10.0}, {"L2", 5.0}});
    CHECK_FALSE(ledger.bin("B").order_known);
    CHECK(two_loads_drawn(DrawOff::mixed, 15).bin("B").order_known);
    CHECK(two_loads_drawn(DrawOff::unknown, 30).bin("B").order_known);
}

TEST_CASE("what lay in a bin first is its lowest layer") {
    const auto ledger = models::ledger_of_moves({ledger_bin("B", DrawOff::first_in, 12.5)}, {ledger_load("L1")},
                                                {move_of(1, "L1", "B", 20), move_of(2, "B", "out", 12.5)});
    REQUIRE(ledger.outbound.size() == 1);
    CHECK(shares(ledger.outbound[0].portions) == Shares{{"opening of B", 12.5}});
    CHECK(shares(ledger.bin("B").by_source()) == Shares{{"L1", 20.0}});
}

TEST_CASE("grain moved between bins keeps its origin and its order") {
    const auto ledger =
        models::ledger_of_moves({ledger_bin("A", DrawOff::first_in), ledger_bin("B", DrawOff::first_in)},
                                {ledger_load("L1"), ledger_load("L2")},
                                {move_of(1, "L1", "A", 20), move_of(2, "L2", "A", 20), move_of(3, "A", "B", 30)});
    CHECK(shares(ledger.bin("A").by_source()) == Shares{{"L2", 10.0}});
    REQUIRE(ledger.bin("B").layers.size() == 2);
    CHECK(ledger.bin("B").layers[0].portions[0].source == "L1");
    CHECK(ledger.where_is("L2") == Shares{{"A", 10.0}, {"B", 10.0}});
}

TEST_CASE("turning a bin makes one layer of what was turned") {
    const auto ledger = models::ledger_of_moves(
        {ledger_bin("A", DrawOff::first_in)}, {ledger_load("L1"), ledger_load("L2")},
        {move_of(1, "L1", "A", 20), move_of(2, "L2", "A", 20), move_of(3, "A", "A", 40, MoveKind::turned)});
    REQUIRE(ledger.bin("A").layers.size() == 1);
    CHECK(ledger.bin("A").mass_t() == 40.0);
}

TEST_CASE("moves count in the order of time and not of the table") {
    const auto ledger =
        models::ledger_of_moves({ledger_bin("B", DrawOff::first_in)}, {ledger_load("L1"), ledger_load("L2")},
                                {move_of(3, "B", "out", 20), move_of(2, "L2", "B", 10), move_of(1, "L1", "B", 20)});
    CHECK(shares(ledger.bin("B").by_source()) == Shares{{"L2", 10.0}});
}

TEST_CASE("a wrong bin used is put right by a corrected move") {
    const auto ledger = models::ledger_of_moves(
        {ledger_bin("A", DrawOff::mixed), ledger_bin("B", DrawOff::mixed)},
        {ledger_load("L1", 20.0), ledger_load("L2")},
        {move_of(1, "L1", "A", 20), move_of(2, "L2", "A", 10), move_of(3, "L1", "B", 20, MoveKind::corrected)});
    CHECK(shares(ledger.bin("A").by_source()) == Shares{{"L2", 10.0}});
    CHECK(shares(ledger.bin("B").by_source()) == Shares{{"L1", 20.0}});
    CHECK_THROWS_WITH(
        models::ledger_of_moves(
            {ledger_bin("A", DrawOff::mixed), ledger_bin("B", DrawOff::mixed)}, {ledger_load("L1", 20.0)},
            {move_of(1, "L1", "A", 20), move_of(2, "A", "out", 5), move_of(3, "L1", "B", 20, MoveKind::corrected)}),
        Catch::Contains("5.0 t of it went out with move M2"));
}

TEST_CASE("a rejected lot comes back with what was in it") {
    const auto ledger = models::ledger_of_moves(
        {ledger_bin("A", DrawOff::first_in), ledger_bin("H", DrawOff::mixed)}, {ledger_load("L1"), ledger_load("L2")},
        {move_of(1, "L1", "A", 20), move_of(2, "L2", "A", 20), move_of(3, "A", "out", 30, MoveKind::withdrawn),
         move_of(4, "out", "H", 30, MoveKind::rejected)});
    CHECK(shares(ledger.bin("H").by_source()) == Shares{{"L1", 20.0}, {"L2", 10.0}});
    CHECK(ledger.outbound[0].rejected);
}

TEST_CASE("a result that comes after dumping finds its load again") {
    const auto ledger = models::ledger_of_moves(
        {ledger_bin("A", DrawOff::first_in), ledger_bin("B", DrawOff::first_in)},
        {ledger_load("L1"), ledger_load("L2")},
        {move_of(1, "L1", "A", 25), move_of(2, "A", "out", 5, MoveKind::withdrawn), move_of(3, "A", "B", 3.5)});
    CHECK(ledger.where_is_in_words("L1") ==
          "load L1 has been moved: 16.5 t of it lie in bin A, 3.5 t of it lie in bin B, 5.0 t of it left bin A with "
          "move M2");
    CHECK(ledger.where_is_in_words("L2").empty());
}

TEST_CASE("moves that cannot have happened are refused in one sentence") {
    const auto play = [](std::vector<models::Move> moves) {
        models::ledger_of_moves({ledger_bin("B1", DrawOff::mixed, 10.0), ledger_bin("B2", DrawOff::mixed)},
                                {ledger_load("L1", 20.0)}, moves);
    };
    CHECK_THROWS_WITH(play({move_of(1, "B1", "out", 10.051)}),
                      Catch::Contains("10.051 t are to leave bin B1, in which 10.0 t lie"));
    CHECK_THROWS_WITH(play({move_of(1, "B2", "out", 0.01)}),
                      Catch::Contains("0.01 t are to leave bin B2, in which 0.0 t lie"));
    CHECK_THROWS_WITH(
        play({move_of(1, "L1", "B2", 20), move_of(2, "L1", "B1", 0.02)}),
        Catch::Contains(
            "0.02 t are to leave load L1, which has 0.0 t left of its 20.0 t (20.0 t of it lie in bin B2)"));
    CHECK_THROWS_WITH(play({move_of(1, "L1", "B2", 20.5)}), Catch::Contains("has 20.0 t left of its 20.0 t"));
    CHECK_THROWS_WITH(play({move_of(1, "L1", "B3", 20)}),
                      Catch::Contains("\"B3\" is no bin, no load and not \"out\"") && Catch::Contains("did you mean"));
    CHECK_THROWS_WITH(play({move_of(1, "L1", "B1", -3)}), Catch::Contains("a mass of -3 t cannot be moved"));
    CHECK_THROWS_WITH(play({move_of(1, "L1", "B1", std::nan(""))}), Catch::Contains("cannot be moved"));
    CHECK_THROWS_WITH(play({move_of(1, "B1", "L1", 3)}), Catch::Contains("grain cannot go from B1 to L1"));
    CHECK_THROWS_WITH(play({move_of(1, "B1", "B1", 3)}), Catch::Contains("into itself"));
    CHECK_THROWS_WITH(play({move_of(1, "out", "B1", 3, MoveKind::rejected)}), Catch::Contains("none was sent out"));
    CHECK_THROWS_WITH(models::ledger_of_moves({ledger_bin("B", DrawOff::mixed, -1.0)}, {}, {}),
                      Catch::Contains("opening mass of -1 t"));
    CHECK_THROWS_WITH(
        models::ledger_of_moves({ledger_bin("B", DrawOff::mixed), ledger_bin("B", DrawOff::mixed)}, {}, {}),
        Catch::Contains("listed twice"));
}

TEST_CASE("a move that names a little more than there is takes what there is") {
    const auto ledger = models::ledger_of_moves(
        {ledger_bin("B1", DrawOff::mixed, 10.0), ledger_bin("B2", DrawOff::mixed)}, {ledger_load("L1", 20.0)},
        {move_of(1, "L1", "B2", 20.04), move_of(2, "B1", "out", 10.05), move_of(3, "B2", "B1", 20.05)});
    CHECK(shares(ledger.bin("B1").by_source()) == Shares{{"L1", 20.0}});
    CHECK(ledger.bin("B2").mass_g() == 0);
    CHECK(shares(ledger.outbound.at(0).portions) == Shares{{"opening of B1", 10.0}});
}

TEST_CASE("a move that cannot have happened is set aside and the others stand") {
    const std::vector<models::Bin> bins = {ledger_bin("B1", DrawOff::mixed, 10.0), ledger_bin("B2", DrawOff::mixed)};
    const std::vector<models::Load> loads = {ledger_load("L1", 20.0), ledger_load("L2", 5.0)};
    const std::vector<models::Move> good = {move_of(1, "L1", "B2", 20), move_of(5, "B2", "B1", 4),
                                            move_of(7, "L2", "B2", 5)};
    std::vector<models::Move> moves = good;
    moves.push_back(move_of(2, "L1", "B1", 99));
    moves.push_back(move_of(3, "L1", "B1", 99, MoveKind::corrected));
    moves.push_back(move_of(4, "B1", "out", 0));
    moves.push_back(move_of(6, "B7", "out", 1));
    const auto ledger = models::ledger_of_possible_moves(bins, loads, moves);
    const auto without = models::ledger_of_moves(bins, loads, good);
    for (const char* bin : {"B1", "B2"}) {
        CHECK(shares(ledger.bin(bin).by_source()) == shares(without.bin(bin).by_source()));
    }
    CHECK(ledger.entered_g == without.entered_g);
    REQUIRE(ledger.impossible.size() == 4);
    CHECK(ledger.impossible[0].move == "M2");
    CHECK(ledger.impossible[0].why ==
          "99.0 t are to leave load L1, which has 0.0 t left of its 20.0 t (20.0 t of it lie in bin B2)");
    CHECK(ledger.impossible[1].why == "99.0 t are to leave load L1, which has 20.0 t left of its 20.0 t");
    CHECK(ledger.impossible[2].why == "a mass of 0 t cannot be moved");
    CHECK(ledger.impossible[3].why == "\"B7\" is no bin, no load and not \"out\"");
    // What each move carried and what it met there.
    REQUIRE(ledger.done.size() == 3);
    CHECK(ledger.done[1].move == "M5");
    CHECK(shares(ledger.done[1].carried) == Shares{{"L1", 4.0}});
    CHECK(shares(ledger.done[1].met) == Shares{{"opening of B1", 10.0}});
}

TEST_CASE("what lay in a bin at a time is what the moves up to then left there") {
    const std::vector<models::Bin> bins{ledger_bin("A", DrawOff::first_in, 5.0), ledger_bin("B", DrawOff::mixed)};
    std::vector<models::Load> loads;
    std::vector<models::Move> moves;
    for (int i = 1; i <= 9; ++i) {
        loads.push_back(ledger_load("L" + std::to_string(i), 20.0));
        moves.push_back(move_of(10 * i, loads.back().load, i % 2 == 0 ? "A" : "B", 20));
    }
    moves.push_back(move_of(45, "A", "B", 12));
    moves.push_back(move_of(46, "L2", "A", 20));  // it has nothing left: set aside
    moves.push_back(move_of(65, "B", "out", 7, MoveKind::withdrawn));
    moves.push_back(move_of(66, "L3", "A", 20, MoveKind::corrected));  // some of it went out: set aside
    const auto at = [](int minute) { return std::chrono::sys_seconds{std::chrono::minutes{minute}}; };
    std::vector<models::BinAtTime> asked;
    for (const int minute : {200, 45, 5, 66, 44, 10, 65, 66}) {  // in no order
        asked.push_back({0, at(minute)});
        asked.push_back({1, at(minute)});
    }
    const std::vector<models::BinContent> then = models::contents_at(bins, loads, moves, asked);
    REQUIRE(then.size() == asked.size());
    for (std::size_t k = 0; k < asked.size(); ++k) {
        std::vector<models::Move> until;
        for (const models::Move& move : moves)
            if (move.time.utc <= asked[k].utc) until.push_back(move);
        const models::BinContent alone = models::ledger_of_possible_moves(bins, loads, until).bins[asked[k].bin];
        CHECK(then[k].bin == alone.bin);
        CHECK(then[k].order_known == alone.order_known);
        REQUIRE(then[k].layers.size() == alone.layers.size());
        for (std::size_t i = 0; i < alone.layers.size(); ++i)
            CHECK(shares(then[k].layers[i].portions) == shares(alone.layers[i].portions));
    }
    CHECK(models::contents_at(bins, loads, moves, {}).empty());
}

TEST_CASE("whatever is moved in whatever order no gram is lost or made") {
    std::mt19937_64 random(20260703);
    const auto below = [&](int n) { return static_cast<int>(random() % static_cast<std::uint64_t>(n)); };
    int played = 0, refused = 0;
    for (int sequence = 0; sequence < 300; ++sequence) {
        std::vector<models::Bin> bins;
        for (int b = 0; b < 4; ++b) {
            bins.push_back(ledger_bin("B" + std::to_string(b), static_cast<DrawOff>(below(4)), below(3) * 11.1234567));
        }
        std::vector<models::Load> loads;
        for (int l = 0; l < 12; ++l) loads.push_back(ledger_load("L" + std::to_string(l)));
        std::vector<models::Move> moves;
        for (int step = 0; step < 40; ++step) {
            const std::string bin = "B" + std::to_string(below(4)), other = "B" + std::to_string(below(4));
            const std::string load = "L" + std::to_string(below(12));
            const double mass_t = (1 + below(30'000'000)) * 1e-6;
            models::Move move;
            switch (below(8)) {
                case 0:
                case 1:
                case 2:
                    move = move_of(step, load, bin, mass_t);
                    break;
                case 3:
                    move = move_of(step, bin, other, mass_t, bin == other ? MoveKind::turned : MoveKind::dumped);
                    break;
                case 4:
                    move = move_of(step, bin, "out", mass_t, MoveKind::withdrawn);
                    break;
                case 5:
                    move = move_of(step, load, bin, mass_t, MoveKind::corrected);
                    break;
                case 6:
                    move = move_of(step, "out", bin, mass_t, MoveKind::rejected);
                    break;
                default:
                    move = move_of(step, below(2) ? "out" : bin, below(2) ? "out" : bin, mass_t, MoveKind::corrected);
            }
            moves.push_back(move);
            models::BinLedger ledger;
            try {
                ledger = models::ledger_of_moves(bins, loads, moves);
            } catch (const models::Error&) {
                moves.pop_back();  // refused moves leave no trace
                ++refused;
                continue;
            }
            ++played;
            std::map<std::string, std::int64_t> found;
            for (const auto& content : ledger.bins) {
                for (const auto& layer : content.layers) {
                    for (const auto& portion : layer.portions) {
                        REQUIRE(portion.mass_g > 0);
                        found[portion.source] += portion.mass_g;
                    }
                }
            }
            for (const auto& lot : ledger.outbound) {
                for (const auto& portion : lot.portions) found[portion.source] += portion.mass_g;
            }
            for (const auto& [source, entered_g] : ledger.entered_g) REQUIRE(found[source] == entered_g);
            std::int64_t found_g = 0, entered_g = 0;
            for (const auto& [source, mass_g] : found) found_g += mass_g;
            for (const auto& [source, mass_g] : ledger.entered_g) entered_g += mass_g;
            REQUIRE(found_g == entered_g);
        }
    }
    CHECK(played > 3000);
    CHECK(refused > 300);
}

TEST_CASE("the content of a bin is the mean of its loads in every draw") {
    models::SourceDraws draws;
    draws.sources = {"L1", "L2"};
    draws.mg_per_kg.resize(3, 2);
    draws.mg_per_kg << 1.0, 4.0, 2.0, 2.0, 0.5, 8.0;
    const std::vector<models::GrainPortion> grain{{"L1", 30'000'000}, {"L2", 10'000'000}};
    const auto mean = models::mean_content(grain, draws);
    REQUIRE(mean);
    CHECK((*mean)[0] == Approx(1.75));
    CHECK((*mean)[1] == Approx(2.0));
    CHECK((*mean)[2] == Approx(2.375));
    draws.weight_per_t = Eigen::Vector2d(0.5, 1.0);
    CHECK((*models::mean_content(grain, draws))[0] == Approx((15.0 * 1.0 + 10.0 * 4.0) / 25.0));
    CHECK_FALSE(models::mean_content({{"L3", 1}}, draws));
    CHECK_FALSE(models::mean_content({}, draws));
    CHECK(models::sources_without_draws({{"L1", 1}, {"L3", 1}}, draws) == std::vector<std::string>{"L3"});
}

TEST_CASE("opening contents are drawn with their mean and spread and do not depend on other bins") {
    models::Bin known = ledger_bin("A", DrawOff::mixed, 40.0);
    known.opening_mean_mg_per_kg = 0.8;
    known.opening_sd_mg_per_kg = 0.3;
    models::Bin exact = ledger_bin("C", DrawOff::mixed, 40.0);
    exact.opening_mean_mg_per_kg = 0.5;
    const models::Bin unknown = ledger_bin("D", DrawOff::mixed, 40.0);
    const int n = 40000;
    const auto draws = models::opening_draws({unknown, known, exact}, n, 5);
    REQUIRE(draws.sources == std::vector<std::string>{"opening of A", "opening of C"});
    const Eigen::ArrayXd a = draws.mg_per_kg.col(0).array();
    // Five standard errors of a mean and (from the lognormal's kurtosis) of a standard deviation of 40,000 draws.
    CHECK(a.mean() == Approx(0.8).margin(5 * 0.3 / std::sqrt(n)).epsilon(0.0));
    CHECK(std::sqrt((a - a.mean()).square().mean()) == Approx(0.3).margin(0.01).epsilon(0.0));
    CHECK((draws.mg_per_kg.col(1).array() == 0.5).all());
    CHECK(models::opening_draws({known}, n, 5).mg_per_kg.col(0) == draws.mg_per_kg.col(0));
    CHECK(models::joined(draws, {}).sources.size() == 2);
    CHECK_THROWS_WITH(models::joined(draws, draws), Catch::Contains("has draws twice"));
}
