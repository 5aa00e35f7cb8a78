#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "app/bench/bench_choices.h"
#include "geo/import.h"
#include "models/assay/budget.h"
#include "models/assay/control_chart.h"
#include "models/assay/control_check.h"
#include "models/assay/control_due.h"
#include "models/assay/kit_lot.h"
#include "models/assay/strip_clock.h"
#include "models/assay/strip_reading.h"
#include "models/records.h"

namespace app {

/// Where a line comes from. A scanner acts as a keyboard; whoever can tell the two apart says so.
enum class LineFrom { keys, scanner };
/// A line that is whole so soon after its first letter is one of the scanner. Ours: nobody types a word and Enter in
/// it.
inline constexpr std::chrono::milliseconds faster_than_a_person{150};
struct BenchLine {
    std::string text;
    LineFrom from = LineFrom::keys;
};

/// A result as the bench shows it.
struct BenchResult {
    std::string test, sample, grain;
    models::Stamp time;
    std::string reads;     ///< "0.42", "< 0.3", "void"
    std::string interval;  ///< 90 %, of grain: "0.20 to 0.81"; empty: none
    std::vector<std::string> flags;
    bool in_doubt = false;  ///< a control of its run reads outside what it accepts or breaks a rule of its chart
    bool failed = false;    ///< it is such a control itself
    std::optional<models::BudgetParts> parts = {};  ///< of grain: where the uncertainty comes from
    std::string best_step = {};                     ///< what would narrow it most; empty: not known
};

/// What the bench knows of the store.
struct BenchFacts {
    std::vector<models::Sample> samples;  ///< by name
    std::vector<models::KitLot> kit_lots;
    std::vector<models::ControlMaterial> controls;
    std::vector<models::Test> tests;            ///< as they count
    std::vector<models::StartedStrip> running;  ///< by their start
    std::set<std::string> names;                ///< every name that a strip or test ever had
    models::ControlSchedule control_schedule;
    std::vector<BenchResult> last;              ///< the newest first
    std::vector<models::FailedControl> failed;  ///< of strips, by time
    std::vector<models::ControlChart> charts;   ///< of strips, two readings and more
    BenchChoices choices;
    std::map<std::string, std::pair<std::string, std::string>> load_grain;  ///< by sample: its load, and what it is
    std::map<std::string, std::string> grain;         ///< by sample: of its load, or the crop of its field
    std::map<std::string, models::GrainThere> there;  ///< by sample
};

/// A record that the answer to a line asks for: a row of a kind, or its withdrawal.
using BenchWrite = geo::RowToWrite;

/// What a line brings about.
struct BenchAnswer {
    std::vector<std::string> says;    ///< sentences, each a line of its own
    std::string question;             ///< what has to be answered now; empty: nothing
    bool refused = false;             ///< nothing was done; `says` tells why and what to do
    std::vector<BenchWrite> writes;   ///< to be made in this order, then told: written(), or not_written()
    bool show = false, help = false;  ///< the bench as it is now, or its words, were asked for
    bool leave = false;
};

/// A strip that is running, as it stands at a moment.
struct RunningView {
    models::StartedStrip strip;
    models::ReadingWindow window;
    models::StripClock clock;
    bool in_hand = false;
};
struct BenchView {
    std::map<std::string, std::string>
        kept;  ///< columns of tests that are kept from test to test: kit_lot, operator ...
    std::vector<RunningView> running;
    std::vector<BenchResult> last;
    models::ControlDue control;
    std::vector<std::string> controls;         ///< names of the controls there are
    std::vector<models::ControlChart> charts;  ///< of the kit lot in use
    std::vector<std::string> doubts;           ///< of today and of the last results: whose control failed, once a run
    BenchChoices choices;                      ///< what a test can begin with
    std::optional<std::string> question;       ///< what waits for an answer
    bool asks_yes_or_no = false;               ///< and that it is a yes or a no
};

/// The bench: one test after another, several strips side by side. A pure machine: lines and the time go in, sentences
/// and records to be made come out; it reads no clock, no terminal and no store, so that a window and a terminal have
/// the same bench.
///   - The code of a sample starts the clock of a strip; while one of it is running, the same code takes that strip in
///     hand and starts nothing. A sample that has a result gets another strip only when that is asked for.
///   - A result goes to the strip in hand, is told with all that read_strip (models/assay/strip_reading.h) says of it,
///     and is recorded after "yes". A line of the scanner is a code and nothing else: it never confirms. What begins
///     with a word of the bench is no code: it came too fast to be typed.
///   - A content that was read before the least time of its kit lot, by the strip's own clock, is not taken: it is
///   void,
///     or "after 6:20" says how long it ran. A void strip and signals, which are void then by themselves, are.
///   - Whatever else comes between the result and its "yes" (a look at the bench does not) drops the result, and says
///     so; the strip still runs.
///   - What a strip ran is from its start to the line of its result, on UTC, or as the line says ("after 6:20"). Where
///     that is longer than its clock, the clock was started too late: the strip's start is corrected with that reason
///     before the result is recorded, and the chain of records has both. A start before the sample was taken, or its
///     truck came, is told as a doubt.
///   - Operator, kit lot, grain and what else a test carries are kept until they are changed. A kit lot is one of the
///     store. A grain that nobody said is that of the sample's load, or the crop of its field. One that is not that of
///     the sample's load starts the strip without a grain, and takes no result.
class Bench {
 public:
    explicit Bench(BenchFacts facts) : facts_(std::move(facts)) {}

    void learn(BenchFacts facts);
    /// Operator and kit lot of the strip that was started last go on being used, after the bench was closed.
    void take_up();
    BenchAnswer take(const BenchLine& line, const models::Stamp& now);

    /// The records that were asked for are made, and `facts` has them; or they were refused.
    std::vector<std::string> written(BenchFacts facts, const models::Stamp& now);
    void not_written();

    BenchView view(const models::Stamp& now) const;
    /// Strips that came into or ran out of their time since the last time this was asked.
    std::vector<std::string> announcements(const models::Stamp& now);
    /// Until the next of those; nullopt where none will come.
    std::optional<std::chrono::seconds> until_next(const models::Stamp& now) const;

    // The same without a dialogue.
    BenchAnswer keep(const std::string& word, const std::string& value, const models::Stamp& now);
    BenchAnswer start(const std::string& code, bool again, const models::Stamp& now);
    BenchAnswer result(const std::string& code, const std::string& text, const models::Stamp& now);
    BenchAnswer confirm();

 private:
    struct Asked {  ///< a new sample, question by question
        std::string sample, column, question;
        std::vector<std::pair<std::string, std::string>> values;
    };
    struct Pending {  ///< a result that waits for its "yes"
        std::string sample, test;
        std::vector<BenchWrite> writes;  ///< the test last
    };
    enum class Made { nothing, strip, test, sample, withdrawal };

    BenchAnswer take_words(const std::string& text, const models::Stamp& now);
    BenchAnswer code(const std::string& code, const models::Stamp& now);
    BenchAnswer unknown(const std::string& code) const;
    BenchAnswer unknown_lot(const std::string& lot) const;
    BenchAnswer too_fast(const std::string& text);
    BenchAnswer new_sample(const std::vector<std::string>& words);
    BenchAnswer ask_on();
    BenchAnswer answer_asked(const std::string& text);
    BenchAnswer mistake(const std::string& reason);
    BenchAnswer hold(const models::StartedStrip& strip, const models::Stamp& now);
    void drop_pending(BenchAnswer& answer);

    const models::Sample* sample_named(const std::string& name) const;
    /// Why its strip was hardly started then; empty where it may have been.
    std::string start_in_doubt(const std::string& sample, const models::Stamp& started) const;
    const models::KitLot* lot_named(const std::string& name) const;
    const models::StartedStrip* running_named(const std::string& name) const;
    std::vector<const models::StartedStrip*> running_of(const std::string& sample) const;
    bool is_code(const std::string& text) const;
    std::string described(const std::string& sample) const;
    std::string kept(const char* column) const;
    std::string new_name(const models::Stamp& now) const;
    std::string open_question() const;
    bool is_control(const std::string& name) const;
    std::vector<std::string> lot_names() const;
    /// Of its start, unless the store does not know that lot, or the sample's load is other grain: then what is kept.
    std::string lot_of(const models::StartedStrip& strip) const;
    std::string grain_of(const models::StartedStrip& strip) const;
    /// What is kept, else what the store knows of the sample, where the kit lot is made for it.
    std::string grain_for(const std::string& sample, const std::string& kit_lot) const;
    /// "the load is wheat (W26-33)", where that is not the grain that is said; else empty.
    std::string another_grain(const std::string& sample, const std::string& grain) const;
    models::ReadingWindow window_of(const models::StartedStrip& strip) const;
    std::optional<double> kept_number(const char* column) const;
    models::ReadingWindow window_in_use() const;
    std::string about_reading_time() const;
    /// @param sample  whose strip is spoken of; empty: of no certain one
    std::vector<std::string> about_kit_lot(const models::Stamp& now, const std::string& sample = "") const;
    std::string about_temperature() const;
    models::ControlDue control_due(const models::Stamp& now) const;
    /// That a control is due: once, until it is not any more or another kit lot is in use.
    std::vector<std::string> control_news(const models::Stamp& now);
    /// @param by  of the run of this test of a control alone, and then what is wrong with it in full
    std::vector<std::string> doubts(const models::Stamp& now, const std::string& by = "") const;

    BenchFacts facts_;
    std::map<std::string, std::string> kept_;
    std::string in_hand_;  ///< a running strip
    std::optional<Pending> pending_;
    std::optional<Asked> asked_;
    Made made_ = Made::nothing;
    std::string made_name_;
    std::vector<std::string> made_says_;
    std::vector<std::string> told_flags_;             ///< of the result that was told last
    std::optional<std::string> told_due_;             ///< for which kit lot a control was told to be due
    std::map<std::string, models::ClockState> seen_;  ///< by strip
};

/// The words that the bench understands, as a page.
std::string bench_help();        ///< with how a wrong result is mended at a terminal
std::string bench_words_page();  ///< the words alone: two columns, of which the first is of 21 letters

}  // namespace app
