// Names that the program gives to what is recorded next.
#include "app/stages/withdrawn_names.h"

#include <catch2/catch.hpp>

namespace {

std::vector<models::Move> moves_named(const std::vector<std::string>& names) {
    std::vector<models::Move> moves(names.size());
    for (std::size_t i = 0; i < names.size(); ++i) moves[i].move = names[i];
    return moves;
}

}  // namespace

TEST_CASE(
    "the next move has the name after the latest one, with as many digits, and none that was taken or withdrawn") {
    CHECK(app::next_move_name({}, {}) == "M1");
    CHECK(app::next_move_name({}, {"M1", "M2"}) == "M3");
    CHECK(app::next_move_name(moves_named({"M26-08"}), {}) == "M26-09");
    CHECK(app::next_move_name(moves_named({"M26-99"}), {}) == "M26-100");
    CHECK(app::next_move_name(moves_named({"M26-09", "M26-08"}), {}) == "M26-10");
    CHECK(app::next_move_name(moves_named({"turned"}), {}) == "turned-2");
    CHECK(app::next_move_name(moves_named({"M20260716081500"}), {}) == "M20260716081501");
    CHECK(app::next_move_name(moves_named({"9"}), {"10"}) == "11");
}

TEST_CASE("the name after one that ends in no number says that it is the second") {
    const auto none = [](const std::string&) { return false; };
    CHECK(app::name_after("first", none) == "first-2");
    CHECK(app::name_after("W26-40", none) == "W26-41");
    CHECK(app::name_after("W26-40", [](const std::string& name) { return name == "W26-41"; }) == "W26-42");
}
