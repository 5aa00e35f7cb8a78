#pragma once

#include <optional>
#include <string>
#include <variant>

#include "app/bench/bench.h"
#include "app/drawing/content_unit.h"
#include "app/drawing/figures/map_figure.h"
#include "app/drawing/palette.h"
#include "app/window/backdrop_panel.h"
#include "app/window/ground.h"
#include "app/window/pit_panel.h"

namespace app::window {

enum class Room { where_first, bench, contamination, bins, seasons };

/// The name that --room takes, and back.
const char* room_word(Room room);
std::optional<Room> room_named(const std::string& word);

// What a user may ask of the window. The only way in which anything changes is apply(session, action).
struct EnterRoom {
    Room room;
};
struct ChooseSeason {
    int season;
};
struct ChooseLimit {
    std::string limit;
};
/// A crop record by the name of its ground; empty: none.
struct ChooseField {
    std::string field;
};
struct ShowLayer {
    drawing::MapShows layer;
};
struct ChooseTheme {
    drawing::ThemeName theme;
};
struct ChooseUnit {
    drawing::ContentUnit unit;
};
/// Of text, 0.75 to 3; none: what the screen asks for.
struct ChooseScale {
    std::optional<double> text_scale;
};
/// A code as of app::languages().
struct ChooseLanguage {
    std::string language;
};
struct StopWork {};
/// Works everything out again from what the store holds now.
struct ReadAgain {};
/// A line of the bench: what a terminal's bench would have been told.
struct BenchSays {
    BenchLine line;
};
/// To the bench with a sample of this load: its strip is started there, or what it read is typed.
struct ReadAtBench {
    std::string sample, load;
};
/// Of the map and the order of tests: profile, evidence, zones, walk, number of tests.
struct OnTheGround {
    GroundStep step;
};
/// Of the user's own picture behind the map.
struct BehindTheMap {
    BackdropStep step;
};
/// At the pit: this load stands on the scale.
struct ChooseLoad {
    std::string load;
};
/// The load that a code is of, scanned or typed. It chooses, and never confirms anything.
struct FindLoad {
    std::string code;
};
/// Opens the question, or changes what it is about.
struct AskAtPit {
    PitQuestion question;
};
struct DropQuestion {};
/// The answer yes, given by hand: writes what the open question is about, if it is about these.
struct RecordAtPit {
    std::string load, bin;
};
struct DecidesAtPit {
    std::string operator_name;
};
/// Opens what is written of a truck that has just come, or changes it; none: closes it.
struct ArriveAtPit {
    std::optional<ArrivedTruck> truck;
};
/// The answer yes to it, given by hand.
struct RecordArrival {};
/// A lot that somebody thinks of selling; none: not any more.
struct AskLotAtPit {
    std::optional<LotAsked> lot;
};
struct SupposeAtPit {
    WhatIf what_if;
};
/// What was done last is taken back: a choice at once, records by records that say so.
struct Undo {};
/// What was taken back last is done again.
struct Redo {};
using Action = std::variant<EnterRoom, ChooseSeason, ChooseLimit, ChooseField, ShowLayer, ChooseTheme, ChooseUnit,
                            ChooseScale, ChooseLanguage, StopWork, ReadAgain, BenchSays, ReadAtBench, OnTheGround,
                            BehindTheMap, ChooseLoad, FindLoad, AskAtPit, DropQuestion, RecordAtPit, DecidesAtPit,
                            ArriveAtPit, RecordArrival, AskLotAtPit, SupposeAtPit, Undo, Redo>;

}  // namespace app::window
