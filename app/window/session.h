#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/drawing/figures/map_figure.h"
#include "app/drawing/figures/map_frames.h"
#include "app/figure_of_review.h"
#include "app/figures_of_season.h"
#include "app/job.h"
#include "app/stages/field_history.h"
#include "app/stages/limits_stage.h"
#include "app/window/actions.h"
#include "app/window/backdrop_panel.h"
#include "app/window/bench_panel.h"
#include "app/window/ground.h"
#include "app/window/history.h"
#include "app/window/last_state.h"
#include "app/window/pit_panel.h"
#include "app/window/window.h"
#include "app/workflow.h"

namespace app::window {

/// One season worked out: numbers, and the figures made of them.
struct Answer {
    SeasonView view;
    std::string limit;        ///< as it was asked for
    std::string language;     ///< of the words in the figures
    std::string last_record;  ///< SHA-256 of the store's last record, from which it was worked out
    drawing::MapFigure content_map, exceedance_map;
    /// Groups of fields so far from one another that each is looked at by itself; one or none: all are seen together.
    std::vector<drawing::MapFrame> groups;
    /// The supported surfaces of the maps, already coloured: as they are seen on paper and on a dark screen.
    struct Coloured {
        drawing::Image on_light, on_dark;
    } content_surface, exceedance_surface;
    drawing::RankFigure rank;
    drawing::BinsFigure bins;
    /// The one whose records these point into, where only the words were made again.
    std::shared_ptr<const Answer> worked_out;
};

/// Sizes and times of the store's files: where they are as they were, nothing was recorded.
struct StoreStamp {
    std::vector<std::int64_t> numbers;
    bool operator==(const StoreStamp&) const = default;
};

/// The hours around the flowering of one field.
struct FieldHours {
    std::string field;
    drawing::HoursFigure figure;
};

/// What past seasons teach, held against a limit.
struct SeasonsTaught {
    std::string limit, last_record;  ///< as in Answer
    drawing::ReviewFigure figure;
    std::vector<SeasonOfStrips> strips;  ///< what testing took and what became of the fields, a season each
    ForecastReview forecasts;            ///< what was foretold against what came
};
/// One field over the years.
struct FieldYears {
    std::string field;
    std::shared_ptr<const Answer> from;  ///< by whose contents
    double limit_mg_per_kg = 1.0;
    FieldHistory history;
};

/// What the window shows. Long work runs beside it; the last answer stays until the next one is there.
struct Session {
    std::filesystem::path store;
    std::vector<int> seasons;
    LimitsToChoose limits;
    std::function<void()> wake;  ///< from any thread: there is something new to draw

    Room room = Room::contamination;
    int season = 0;
    std::string limit;
    std::string field;                      ///< chosen one; empty: none
    models::InterpolationSettings weather;  ///< how stations become a field's weather
    drawing::MapShows layer = drawing::MapShows::content;
    drawing::ThemeName theme = drawing::ThemeName::light;
    drawing::ContentUnit unit = drawing::ContentUnit::mg_per_kg;
    std::optional<double> text_scale;  ///< none: what the screen asks for
    std::string language = "en";       ///< of every word of the catalogue (app/language.h)
    History history;                   ///< of this sitting

    /// What another limit leaves as it is; shared with the work beside the window.
    std::shared_ptr<SeasonMemory> memory = std::make_shared<SeasonMemory>();
    std::shared_ptr<const Answer> answer;
    std::shared_ptr<const FieldHours> hours;
    std::unique_ptr<Job<Answer>> working;
    std::unique_ptr<Job<FieldHours>> fetching_hours;
    std::shared_ptr<const SeasonsTaught> taught;
    std::shared_ptr<const FieldYears> years;
    std::unique_ptr<Job<SeasonsTaught>> teaching;
    std::unique_ptr<Job<FieldYears>> reading_years;
    std::string taught_problem;
    std::string problem;  ///< of the last work, beside which it is shown

    std::function<models::Stamp()> clock = machine_time;
    std::unique_ptr<BenchPanel> bench;   ///< none: nobody has been there
    std::string bench_problem;           ///< why it cannot be opened
    std::optional<ReadAtBench> to_read;  ///< the sample with which somebody came to the bench from the pit
    PitPanel pit;
    // Of the bench when the window was last closed, taken up again when it opens.
    std::string strip_in_hand, day_at_bench;
    std::map<std::string, std::string> kept_at_bench;

    BackdropPanel backdrop;
    Ground ground;  ///< what the map and the order of tests show besides the answer
    /// Answers to this limit and others that were given since the store last changed, the latest last: another season
    /// is there at once. Once somebody steps through the seasons the others are worked out ahead, one after another.
    std::vector<std::shared_ptr<const Answer>> kept;
    bool looks_ahead = false;
    std::unique_ptr<Job<Answer>> ahead;

    /// Work that nobody waits for any more: asked to stop, and joined once it has. The window would stand still for it.
    std::vector<std::unique_ptr<AnyJob>> leaving;

    StoreStamp looked_at;         ///< the store's files when they were last looked at
    bool store_changed = false;   ///< something was recorded that the answer does not know
    bool by_others = false;       ///< and the last of it not by this window
    std::string record_seen;      ///< SHA-256 of the store's last record when its files were last looked at
    std::size_t writes_read = 0;  ///< of History::writes(), what the answer knows or will know when it is worked out
};

/// Opens the store and starts the first work.
/// @param last  what is not said in the settings is as it was when the window was last closed, where it is still there
/// @throws models::Error  the store cannot be opened, an unknown room, season, limit, field, theme, unit or
///         language
std::unique_ptr<Session> open_session(const WindowSettings& settings, std::function<void()> wake,
                                      const std::optional<LastState>& last = {});

/// Does it; a choice that changes something goes into the history of the sitting.
void apply(Session& session, const Action& action);

/// As the tabs and the list of themes name them.
const char* name_of_room(Room room);
const char* name_of_theme(drawing::ThemeName theme);

/// Takes what finished work has to give; true where something changed. Once a frame.
bool collect(Session& session);
/// Whether something was recorded since the answer was worked out; about once a second, it costs two looks at a file.
/// A changed store is read again by itself once it has been quiet from one look to the next, nothing is being worked
/// out and `may_read`: nobody is choosing or typing. True where something changed on the screen.
bool look_at_store(Session& session, bool may_read);
/// Whether a clock is on the screen that is to be seen running.
bool clock_runs(const Session& session);
/// Whether this window wrote something that is not being read again: only at the bench, until it is left.
bool own_records_wait(const Session& session);
/// Waits until nothing is running any more.
void finish_work(Session& session);

/// Asks work to stop that is wanted no more, without waiting for it.
void let_go(Session& session, std::unique_ptr<AnyJob> job);

/// One of the store's limits; null: the id is a number.
const models::Limit* limit_of_store(const Session& session, const std::string& id);
/// The number of a limit of the store, and of one that was typed, in the unit that is shown.
std::string limit_number_text(double limit_mg_per_kg);
std::string limit_number_text(const std::string& typed_mg_per_kg);
/// "limit eu-2024 (1 mg/kg)", "limit 1.5 mg/kg", in the unit that is shown.
std::string limit_in_words(const Session& session, const std::string& id);
/// What is shown while another season or limit is being worked out: "Still season 2026, limit 1 mg/kg: working out
/// season 2024". Empty where the numbers are those that were asked for.
std::string still_shown(const Session& session);

/// Whether a season has been worked out for the limit that is asked for.
bool is_kept(const Session& session, int season);

/// The row of the chosen field in the answer; null where there is none.
const FieldView* chosen_field(const Session& session);

}  // namespace app::window
