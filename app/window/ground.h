#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "app/drawing/figures/evidence_figure.h"
#include "app/drawing/figures/rank_figure.h"
#include "app/drawing/figures/transect_figure.h"
#include "app/figures_of_ground.h"
#include "app/job.h"
#include "app/stages/results_stage.h"
#include "app/stages/split_stage.h"
#include "app/stages/transect_stage.h"
#include "app/stages/walk_stage.h"
#include "models/decision/test_order.h"

namespace app::window {

struct Answer;
struct Session;

/// What is looked at beside the map or in its place.
enum class GroundPanel { map_alone, evidence, transect, zones };

// What a user may ask of the ground; each is an Action in an OnTheGround.
struct ShowPanel {
    GroundPanel panel;
};
struct LayTransect {
    TransectLine line;
};
/// What the number of a field rests on.
struct ExplainField {
    std::string field;
};
/// How many tests can be made: the order of fields is that of so many.
struct PlaceTests {
    int tests;
};
/// The walk of the chosen field in place of its hours, or its hours again.
struct ShowWalk {
    bool shown;
};
/// Writes the walk that is shown beside the store.
struct SaveWalk {};
/// Writes the walks of all fields that are worth a test.
struct SaveWalks {};
/// Somebody steps through the seasons: those beside the one that is shown are worked out ahead.
struct LookAhead {};
using GroundStep =
    std::variant<ShowPanel, LayTransect, ExplainField, PlaceTests, ShowWalk, SaveWalk, SaveWalks, LookAhead>;

/// What the map rests on and what its tests say, of one answer.
struct GroundFacts {
    drawing::EvidenceFigure evidence;
    std::vector<ResultInBrief> results;
    std::vector<std::size_t> tests_on_map;  ///< indices into SeasonData::tests, in the order of the map's marks
};
/// The order of so many tests.
struct PlacedTests {
    int tests = 0;
    models::TestOrder order;
    drawing::RankFigure rank;
};
struct ZonesOfField {
    std::string field;  ///< chosen one
    SplitsOfSeason splits;
};
struct WalkOfField {
    std::string field;
    FieldWalks walks;  ///< one, or none where `problem` says why
    std::string problem;
};
struct ExplainedField {
    std::string field;
    models::Explanation says;
    std::optional<ReadingsApart> apart;  ///< two readings of one sample that cannot both be right
    std::string problem;
};

/// What the rooms of contamination and of the order of tests show besides the answer. All of it is worked out beside
/// the window from the answer it belongs to, and goes when another answer comes.
struct Ground {
    GroundPanel panel = GroundPanel::map_alone;
    std::optional<TransectLine> line;
    int tests = 10;
    bool shows_walk = false;

    std::shared_ptr<const Answer> of;
    std::shared_ptr<const GroundFacts> facts;
    std::string facts_problem;
    std::map<std::string, std::shared_ptr<const ExplainedField>> explained;  ///< by field
    std::string to_explain;
    std::shared_ptr<const drawing::TransectFigure> transect;
    std::string transect_problem;
    std::shared_ptr<const ZonesOfField> zones;
    std::string zones_problem, zones_problem_of;  ///< and of which field
    std::shared_ptr<const PlacedTests> placed;
    std::string placed_problem;
    std::shared_ptr<const WalkOfField> walk;
    std::string walk_saved;     ///< where to, or why not
    std::string walk_saved_of;  ///< the field that was chosen then: with another one it is said no more

    std::unique_ptr<Job<GroundFacts>> gathering;
    std::unique_ptr<Job<ExplainedField>> explaining;
    std::unique_ptr<Job<ZonesOfField>> dividing;
    std::unique_ptr<Job<PlacedTests>> placing;
    std::unique_ptr<Job<WalkOfField>> laying;
    std::unique_ptr<Job<std::string>> saving;
};

/// What --show names, before anything is drawn.
/// @throws models::Error  no such word
void show_at_start(Session& session, const std::string& word);
/// The only way in which a Ground changes.
void take_step(Session& session, const GroundStep& step);
/// Takes what finished work has to give and begins what is looked at and not known; true where something changed.
bool collect_ground(Session& session);
bool ground_works(const Ground& ground);
/// Asks all work that somebody waits for to stop.
void stop_ground(Ground& ground);

/// The order that the room of the order of tests shows: of so many tests as can be made, once it is known.
struct OrderShown {
    const models::TestOrder* order = nullptr;
    const drawing::RankFigure* rank = nullptr;
    int tests = 0;
};
OrderShown order_shown(const Session& session);
/// How many fields of the order that is shown have a test worth making.
int walks_worth_it(const Session& session);
/// The folder that walks are written into: beside the store.
std::string walk_folder(const Session& session);

}  // namespace app::window
