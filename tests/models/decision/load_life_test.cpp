#include "models/decision/load_life.h"

#include <catch2/catch.hpp>

namespace {

using models::LoadStatus;

}  // namespace

TEST_CASE("a load is as far as what was written of it or done with it, whichever is further") {
    using models::state_of_load;
    CHECK(state_of_load({}).status == LoadStatus::arrived);
    CHECK(state_of_load({.sampled = true}).status == LoadStatus::probed);
    CHECK(state_of_load({.sampled = true}).derived);
    CHECK(state_of_load({.sampled = true, .has_result = true}).status == LoadStatus::awaiting);
    CHECK(state_of_load({.written = LoadStatus::directed, .sampled = true, .has_result = true}).status ==
          LoadStatus::directed);
    CHECK_FALSE(state_of_load({.written = LoadStatus::awaiting}).derived);
    // Only a person directs.
    CHECK(state_of_load({.written = LoadStatus::probed, .sampled = true, .has_result = true}).status ==
          LoadStatus::awaiting);
}

TEST_CASE("what was moved is where the moves say whatever is written") {
    using models::state_of_load;
    const auto dumped = state_of_load({.written = LoadStatus::awaiting, .in_bins = true});
    CHECK(dumped.status == LoadStatus::dumped);
    CHECK(dumped.derived);
    CHECK(dumped.odd.empty());
    const auto gone = state_of_load({.written = LoadStatus::dumped, .sent_away = true});
    CHECK(gone.status == LoadStatus::turned_away);
    CHECK(gone.odd == "its status says dumped, and by the moves it was turned away");
    CHECK(state_of_load({.written = LoadStatus::dumped}).odd ==
          "its status says dumped, and no move says into which bin");
    CHECK(state_of_load({.written = LoadStatus::turned_away}).odd ==
          "its status says turned away, and no move says that it left");
}

TEST_CASE("a load goes forward, back only to be tested again, and what is dumped stays dumped") {
    using models::may_follow;
    CHECK(may_follow(LoadStatus::arrived, LoadStatus::probed));
    CHECK(may_follow(LoadStatus::arrived, LoadStatus::dumped));
    CHECK(may_follow(LoadStatus::probed, LoadStatus::turned_away));
    CHECK(may_follow(LoadStatus::directed, LoadStatus::probed));
    CHECK(may_follow(LoadStatus::awaiting, LoadStatus::awaiting));
    CHECK_FALSE(may_follow(LoadStatus::awaiting, LoadStatus::arrived));
    CHECK_FALSE(may_follow(LoadStatus::directed, LoadStatus::arrived));
    CHECK_FALSE(may_follow(LoadStatus::dumped, LoadStatus::awaiting));
    CHECK_FALSE(may_follow(LoadStatus::turned_away, LoadStatus::dumped));
    CHECK(models::why_not_followed(LoadStatus::dumped, LoadStatus::arrived) ==
          "a load that was dumped is not arrived afterwards; if it was not, correct or withdraw its move");
    CHECK(models::why_not_followed(LoadStatus::awaiting, LoadStatus::arrived) ==
          "a load that is awaiting is not arrived next; after it comes directed, dumped, turned away");
    CHECK(models::why_not_followed(LoadStatus::arrived, LoadStatus::directed).empty());
}
