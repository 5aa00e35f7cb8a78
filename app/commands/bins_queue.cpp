#include "app/commands/bins_queue.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/commands/lonely_option.h"
#include "app/commands/season_options.h"
#include "app/stages/pit_stage.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/words.h"

namespace app::commands {

namespace {

using QueueJson = nlohmann::ordered_json;

/// "07-15 13:17", as its own clock said.
std::string day_and_time(const models::Stamp& stamp) {
    const std::string text = models::to_text(stamp);
    return text.substr(5, 5) + " " + text.substr(11, 5);
}

std::string waited(const std::optional<double>& hours) {
    if (!hours) return "–";
    if (*hours < 0.0) return "–";
    return *hours < 48.0 ? fmt::format("{:.1f} h", *hours) : fmt::format("{:.1f} d", *hours / 24.0);
}

std::string state_in_words(const QueuedLoad& load) {
    return models::in_words(load.state.status) + (load.state.derived ? "*" : "");
}

std::string purposes_in_words(const std::vector<models::Purpose>& purposes) {
    std::string text;
    for (std::size_t i = 0; i < purposes.size(); ++i)
        text += (i == 0 ? "" : i + 1 == purposes.size() ? " or " : ", ") + models::in_words(purposes[i]);
    return text;
}

void print_waiting(const QueueView& queue) {
    TextTable table({"load", "came", ">waits", ">t", "state", "waits for", "advice"});
    bool derived = false;
    for (const QueuedLoad& load : queue.waiting) {
        derived = derived || load.state.derived;
        table.row({load.load, load.since ? day_and_time(*load.since) : "–", waited(load.waits_h),
                   load.mass_t ? fmt::format("{:.1f}", *load.mass_t) : "–", state_in_words(load), load.waits_for,
                   load.advice});
    }
    print(table.text_hanging());
    if (derived) print("*: further than its recorded status says, by its samples and results.");
}

void print_what_to_look_at(const QueueView& queue) {
    if (!queue.stale.says.empty()) print(wrapped_text("Look: " + queue.stale.says + "."));
    for (const QueuedLoad& load : queue.waiting)
        if (!load.told.empty()) print(wrapped_text("Look: " + load.told + "."));
    if (!queue.late.empty()) {
        print("Results that came after the load was dumped:");
        TextTable table({"load", "test", "dumped", "read", "lies in", ">t", "says"});
        for (const LateResult& late : queue.late) {
            table.row({late.load, late.test, day_and_time(late.dumped), day_and_time(late.read), late.bin,
                       fmt::format("{:.1f}", late.mass_t), late.says});
        }
        print(table.text_hanging());
    }
    for (const FrozenBin& bin : queue.frozen) {
        print(wrapped_text(
            fmt::format("Bin {} is closed: {}. Nothing goes in; once it is settled it stays {} or becomes "
                        "{}, never anything better while that grain is in it.",
                        bin.bin, bin.because, models::in_words(bin.purpose), purposes_in_words(bin.may_become))));
    }
    if (!queue.other_bins.empty()) {
        print("Moves that did not follow the advice:");
        TextTable table({"move", "load", "advised", "went to", "by", "reason"});
        for (const OtherBinUsed& used : queue.other_bins)
            table.row({used.move, used.load, used.advised, used.to, used.operator_name, used.reason});
        print(table.text_hanging());
        for (const OtherBinUsed& used : queue.other_bins) {
            if (used.put_right) print(fmt::format("{}: put right since, none of it lies in {}.", used.move, used.to));
            if (!used.put_right && used.means.empty())
                print(fmt::format("{}: nothing in the records speaks against {}.", used.move, used.to));
            for (const std::string& means : used.means) print(wrapped_text(used.move + ": " + means + "."));
        }
    }
    for (const std::string& odd : queue.odd) print(wrapped_text("Look: " + odd + "."));
}

void print_queue_table(const QueueView& queue, const SeasonView& view) {
    print(fmt::format("At the pit, season {}: {}, the longest first", view.season,
                      models::counted(static_cast<long long>(queue.waiting.size()), "load waits", "loads wait")));
    print(fmt::format("Waits count to {}{}", models::to_text(queue.at),
                      queue.at_last_record ? ", the last record of grain; --at TIME takes another." : "."));
    if (!queue.waiting.empty()) print_waiting(queue);
    print_what_to_look_at(queue);
    print_probes(view);
    print("Next: bins STORE --next LOAD says more of one, --record BIN writes where it goes.");
    print(wrapped_text(spoken(caution::screening)));
}

QueueJson json_of_queue(const QueueView& queue, const SeasonView& view) {
    QueueJson out;
    out["season"] = view.season;
    out["at"] = models::to_text(queue.at);
    out["waiting"] = QueueJson::array();
    for (const QueuedLoad& load : queue.waiting) {
        out["waiting"].push_back({{"load", load.load},
                                  {"came", load.since ? QueueJson(models::to_text(*load.since)) : QueueJson(nullptr)},
                                  {"waits_h", load.waits_h ? QueueJson(*load.waits_h) : QueueJson(nullptr)},
                                  {"mass_t", load.mass_t ? QueueJson(*load.mass_t) : QueueJson(nullptr)},
                                  {"state", models::in_words(load.state.status)},
                                  {"recorded_status", models::in_words(load.written)},
                                  {"waits_for", load.waits_for},
                                  {"directed_bin", load.directed_bin},
                                  {"bin", load.bin},
                                  {"advice", load.advice},
                                  {"look", load.told}});
    }
    QueueJson kept = QueueJson::array();
    for (const StaleLoads::Kept& one : queue.stale.kept) kept.push_back({{"bin", one.bin}, {"mass_t", one.mass_t}});
    out["waiting_too_long"] = {{"loads", queue.stale.loads},
                               {"longest_h", queue.stale.longest_h},
                               {"kept", std::move(kept)},
                               {"says", queue.stale.says}};
    out["results_after_dumping"] = QueueJson::array();
    for (const LateResult& late : queue.late) {
        out["results_after_dumping"].push_back({{"load", late.load},
                                                {"test", late.test},
                                                {"dumped", models::to_text(late.dumped)},
                                                {"read", models::to_text(late.read)},
                                                {"bin", late.bin},
                                                {"mass_t", late.mass_t},
                                                {"over", late.over},
                                                {"says", late.says}});
    }
    out["frozen_bins"] = QueueJson::array();
    for (const FrozenBin& bin : queue.frozen) {
        QueueJson may = QueueJson::array();
        for (const models::Purpose purpose : bin.may_become) may.push_back(models::in_words(purpose));
        out["frozen_bins"].push_back({{"bin", bin.bin},
                                      {"purpose", models::in_words(bin.purpose)},
                                      {"may_become", std::move(may)},
                                      {"because", bin.because}});
    }
    out["other_bins_used"] = QueueJson::array();
    for (const OtherBinUsed& used : queue.other_bins) {
        out["other_bins_used"].push_back({{"move", used.move},
                                          {"load", used.load},
                                          {"advised_bin", used.advised},
                                          {"to", used.to},
                                          {"operator", used.operator_name},
                                          {"reason", used.reason},
                                          {"put_right", used.put_right},
                                          {"means", used.means}});
    }
    out["odd"] = queue.odd;
    out["probes"] = QueueJson::array();
    for (const models::ProbeNews& news : view.bins->probes) out["probes"].push_back(in_words(news));
    out["caution"] = spoken(caution::screening);
    return out;
}

}  // namespace

void QueueOptions::declare(Options& options) {
    options.flag(queue, "--queue", "the loads that wait, what each waits for, and what has to be looked at");
    options.option(at, "--at", "TIME", "with --queue: waits count to here; with --record: when it was dumped");
    options.option(directed_h, "--directed-for", "HOURS", "with --queue: a load directed longer ago is told (2)");
}

bool QueueOptions::asked() const {
    if (queue) return true;
    refuse_lonely({{directed_h.has_value(), "--directed-for"}}, "a queue of loads", "give --queue, too");
    return false;
}

void print_probes(const SeasonView& view) {
    for (const models::ProbeNews& news : view.bins->probes) print(wrapped_text("Probe: " + in_words(news) + "."));
}

void print_queue(const SeasonView& view, const QueueOptions& options, bool json) {
    QueueSettings settings;
    settings.season = view.season;
    if (options.directed_h) {
        if (!(*options.directed_h >= 0.0) || !std::isfinite(*options.directed_h)) {
            throw models::Error(fmt::format("{} hours are none", *options.directed_h), "--directed-for",
                                "give hours, 0 or more");
        }
        settings.directed_h = *options.directed_h;
    }
    if (options.at) {
        settings.at = models::parse_stamp(*options.at);
        if (!settings.at) {
            throw models::Error("\"" + *options.at + "\" is no time", "--at", "write 2026-07-16T16:40:00+02:00");
        }
    }
    const QueueView queue = queue_of_season(view.data, *view.bins, settings);
    if (json)
        print(json_of_queue(queue, view).dump(2));
    else
        print_queue_table(queue, view);
}

}  // namespace app::commands
