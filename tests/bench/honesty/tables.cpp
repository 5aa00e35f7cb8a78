#include "tests/bench/honesty/tables.h"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <stdexcept>
#include <tuple>

#include <fmt/format.h>

#include "tests/bench/honesty/estimate.h"
#include "tests/bench/honesty/worlds.h"

namespace honesty {

namespace {

using Key = std::tuple<std::string, int, std::string>;  // world, tests, placement

/// What a figure should be; nothing where no goal is set.
struct Goal {
    double least = -1e9, most = 1e9;
};

class Report {
 public:
    explicit Report(const std::vector<Record>& records) {
        for (const Record& r : records) by_cell_[{r.world, r.tests, r.placement}][r.seed] = &r;
    }

    void print() {
        if (const std::vector<Key> cells = keys(true); !cells.empty()) {
            say_seasons(cells.front());
            print_coverage(cells);
            print_scores(cells);
            print_losses(cells);
            print_doubts(cells);
            print_thirds("90 % intervals hold, by thirds of", "held90", cells, held90);
            print_thirds("pinball / exact, by thirds of", "pinball_over_exact", cells, pinball_over_exact);
            print_thirds("loss / exact, by thirds of", "loss_over_exact", cells, loss_over_exact);
        }
        if (const std::vector<Key> worlds = keys(false); !worlds.empty()) {
            print_worlds(worlds);
            print_notes(worlds);
        }
    }
    std::vector<Figure> figures;

 private:
    std::vector<Key> keys(bool assumed) const {
        std::vector<Key> found;
        for (const auto& [key, seasons] : by_cell_)
            if ((std::get<0>(key) == "assumed") == assumed) found.push_back(key);
        if (assumed) return found;
        std::map<std::string, int> place;
        for (const OffWorld& world : off_worlds()) place.insert({world.name, static_cast<int>(place.size())});
        std::stable_sort(found.begin(), found.end(),
                         [&](const Key& a, const Key& b) { return place[std::get<0>(a)] < place[std::get<0>(b)]; });
        return found;
    }

    static std::string name_of(const Key& key) { return Cell{std::get<1>(key), std::get<2>(key)}.name(); }

    const Record* find(const Key& key, std::uint64_t seed) const {
        const auto cell = by_cell_.find(key);
        if (cell == by_cell_.end()) return nullptr;
        const auto season = cell->second.find(seed);
        return season == cell->second.end() ? nullptr : season->second;
    }

    /// Seasons of a cell that have what the figure is compared with.
    Seasons seasons_of(const Key& key, bool exact = false, bool no_tests = false) const {
        Seasons seasons;
        for (const auto& [seed, record] : by_cell_.at(key)) {
            const Season season{record, find({"assumed", 0, ""}, seed),
                                find({"assumed", std::get<1>(key), std::get<2>(key)}, seed)};
            if ((exact && !record->exact) || (no_tests && season.no_tests == nullptr)) continue;
            seasons.push_back(season);
        }
        return seasons;
    }

    Estimate figure(const Key& key, const char* statistic, const std::string& group, const Seasons& seasons,
                    const Statistic& f) {
        const Estimate e = estimate(seasons, f);
        figures.push_back({std::get<0>(key), name_of(key), statistic, group, e.value, e.low95, e.high95, e.seasons});
        return e;
    }

    static std::string number(double x, int digits) {
        return std::isfinite(x) ? fmt::format("{:.{}f}", x, digits) : "-";
    }

    static std::string without_end(const std::string& line) { return line.substr(0, line.find_last_not_of(' ') + 1); }

    /// "0.912 [0.895, 0.930]", with a star where the figure is outside its goal.
    static std::string words(const Estimate& e, int digits, const Goal& goal = {}) {
        if (!std::isfinite(e.value)) return "-";
        const bool outside = e.value < goal.least || e.value > goal.most;
        return fmt::format("{}{} [{}, {}]", number(e.value, digits), outside ? "*" : "", number(e.low95, digits),
                           number(e.high95, digits));
    }

    void say_seasons(const Key& key) const {
        const auto& seasons = by_cell_.at(key);
        fmt::print(
            "simulated seasons: {} (seeds {} to {}) of 60 fields, two past ones with 20 tests each; limit {} mg/kg\n"
            "[from, to]: 95 %, by resampling whole seasons, what is compared together. *: outside the goal\n"
            "exact: the same model under the season's true parameters; no tests: without any test of the season\n",
            seasons.size(), seasons.begin()->first, seasons.rbegin()->first, limit_mg_per_kg);
    }

    void print_coverage(const std::vector<Key>& cells) {
        fmt::print("\n{:15} {:24} {:21} {:23} {}\n", "tests, placed", "90 % hold", "50 % hold", "exact's 90 % hold",
                   "high / low");
        for (const Key& key : cells) {
            const Goal goal = std::get<1>(key) == 0 ? Goal{0.82, 0.97} : Goal{0.88, 0.92};
            fmt::print("{:15} {:24} {:21} {:23} {}\n", name_of(key),
                       words(figure(key, "held90", "all", seasons_of(key), held90), 3, goal),
                       words(figure(key, "held50", "all", seasons_of(key), held50), 3),
                       words(figure(key, "exact_held90", "all", seasons_of(key, true), exact_held90), 3),
                       number(figure(key, "factor90", "all", seasons_of(key), factor90).value, 2));
        }
        fmt::print(
            "goal: 0.88 to 0.92; without tests 0.82 to 0.97. high / low: of the 90 % interval, geometric mean\n");
    }

    void print_scores(const std::vector<Key>& cells) {
        fmt::print("\n{:15} {:24} {:7} {:21} {}\n", "tests, placed", "reliability", "exact's", "pinball / exact",
                   "pinball less exact");
        for (const Key& key : cells) {
            const int tests = std::get<1>(key);
            const Goal reliable{-1.0, tests >= 10 ? 0.002 : 1e9};
            const Goal sharp{-1.0, tests >= 10 ? 1.10 : tests >= 5 ? 1.12 : 1e9};
            const Seasons with_exact = seasons_of(key, true);
            fmt::print("{:15} {:24} {:7} {:21} {}\n", name_of(key),
                       words(figure(key, "reliability", "all", seasons_of(key), reliability), 4, reliable),
                       number(figure(key, "exact_reliability", "all", with_exact, exact_reliability).value, 4),
                       words(figure(key, "pinball_over_exact", "all", with_exact, pinball_over_exact), 3, sharp),
                       words(figure(key, "pinball_less_exact", "all", with_exact, pinball_less_exact), 4));
        }
        fmt::print("goal: reliability under 0.002 from 10 tests; pinball at most 1.10 of exact, 1.12 at 5 tests\n");
    }

    void print_losses(const std::vector<Key>& cells) {
        fmt::print("\n{:15} {:6} {:6} {:21} {:24} {}\n", "tests, placed", "Brier", "loss/t", "loss / exact",
                   "less exact", "less no tests");
        for (const Key& key : cells) {
            const int tests = std::get<1>(key);
            const Goal close{-1.0, tests >= 10 ? 1.12 : 1e9}, useful{-1e9, tests >= 10 ? 0.0 : 1e9};
            const Seasons with_exact = seasons_of(key, true), with_none = seasons_of(key, false, true);
            std::string less_no_tests = "-";
            if (tests > 0)
                less_no_tests =
                    words(figure(key, "loss_less_no_tests", "all", with_none, loss_less_no_tests), 4, useful);
            fmt::print("{:15} {:6} {:6} {:21} {:24} {}\n", name_of(key),
                       number(figure(key, "brier", "all", seasons_of(key), brier).value, 4),
                       number(figure(key, "loss", "all", seasons_of(key), loss).value, 4),
                       words(figure(key, "loss_over_exact", "all", with_exact, loss_over_exact), 3, close),
                       words(figure(key, "loss_less_exact", "all", with_exact, loss_less_exact), 4), less_no_tests);
        }
        fmt::print(
            "goal from 10 tests: at most 1.12 of exact, and never above no tests (a tonne over the limit that is\n"
            "taken costs {:.0f}, one under it that is turned away 1)\n",
            wrong_acceptance);
    }

    /// A risk that says less than half of what is published is rightly doubted; every other doubt has no cause.
    static bool weak_risk(const Season& season) {
        return season.record->slope < 0.5 * models::ContaminationPriors{}.slope_mean;
    }
    static double doubted_without_cause(const Seasons& seasons) {
        double n = 0.0;
        const std::string risk = models::name_of(models::Assumption::risk_effect);
        for (const Season& season : seasons)
            n += std::any_of(season.record->doubted.begin(), season.record->doubted.end(),
                             [&](const std::string& name) { return name != risk || !weak_risk(season); });
        return n / static_cast<double>(seasons.size());
    }
    static double risk_doubted(const Seasons& seasons) {
        return share(seasons, {models::name_of(models::Assumption::risk_effect)}, &Record::doubted);
    }

    void print_doubts(const std::vector<Key>& cells) {
        fmt::print("\n{:15} {:24} {}\n", "tests, placed", "doubted without cause", "weak risk doubted");
        for (const Key& key : cells) {
            const Seasons all = seasons_of(key);
            Seasons weak;
            std::copy_if(all.begin(), all.end(), std::back_inserter(weak), weak_risk);
            fmt::print("{:15} {:24} {}\n", name_of(key),
                       words(figure(key, "doubted_without_cause", "all", all, doubted_without_cause), 3),
                       weak.empty() ? "-" : words(figure(key, "weak_risk_doubted", "all", weak, risk_doubted), 3));
        }
        fmt::print(
            "shares of seasons. A slope under half of the published one is a weak risk, and doubting it has a cause;\n"
            "all else is assumed as it is\n");
    }

    void print_thirds(const char* title, const char* statistic, const std::vector<Key>& cells, const Statistic& f) {
        const std::vector<std::pair<const char*, double Record::*>> by{{"season sd", &Record::season_sd},
                                                                       {"field sd", &Record::field_sd},
                                                                       {"region sd", &Record::region_sd},
                                                                       {"range", &Record::range_km},
                                                                       {"slope", &Record::slope}};
        std::string heading = fmt::format("{:15}", "tests, placed");
        for (const auto& [name, parameter] : by) heading += fmt::format("  {:14}", name);
        fmt::print("\n{}\n{}\n", title, without_end(heading));
        for (const Key& key : cells) {
            std::string line = fmt::format("{:15}", name_of(key));
            for (const auto& [name, parameter] : by) {
                const std::vector<Seasons> parts = thirds(seasons_of(key, true), parameter);
                static constexpr const char* which[]{"lowest", "middle", "highest"};
                for (std::size_t i = 0; i < 3; ++i) {
                    const Estimate e = figure(key, statistic, fmt::format("{}, {} third", name, which[i]), parts[i], f);
                    line += fmt::format("{}{:4}", i == 0 ? "  " : " ", number(e.value, e.value < 9.995 ? 2 : 1));
                }
            }
            fmt::print("{}\n", without_end(line));
        }
    }

    /// Share of seasons in which one of these assumptions is named; of any at all where the list is empty.
    static double share(const Seasons& seasons, const std::vector<std::string>& of,
                        const std::vector<std::string> Record::*named) {
        double n = 0.0;
        for (const Season& season : seasons) {
            const std::vector<std::string>& names = season.record->*named;
            n += std::any_of(names.begin(), names.end(), [&](const std::string& name) {
                return of.empty() || std::find(of.begin(), of.end(), name) != of.end();
            });
        }
        return n / static_cast<double>(seasons.size());
    }

    /// What the world breaks, by name.
    static std::vector<std::string> broken_by(const std::string& world) {
        std::vector<std::string> names;
        for (const OffWorld& off : off_worlds())
            if (off.name == world)
                for (const models::Assumption what : off.breaks) names.push_back(models::name_of(what));
        return names;
    }

    /// "0.35/0.02": of the world, of the same seasons of the assumed one.
    std::string beside_assumed(const Key& key, const char* statistic, const Seasons& compared,
                               const std::vector<std::string> Record::*named, const std::vector<std::string>& of) {
        Seasons assumed = compared;
        for (Season& season : assumed) season.record = season.assumed;
        const auto shown = [&](const char* group, const Seasons& seasons) {
            return number(
                figure(key, statistic, group, seasons, [&](const Seasons& s) { return share(s, of, named); }).value, 2);
        };
        return shown("all", compared) + "/" + shown("the assumed world", assumed);
    }

    void print_worlds(const std::vector<Key>& worlds) {
        fmt::print("\nworlds that the model does not assume\n{:13} {:15} {:22} {:24} {:5} {:10} {:10} {:10} {}\n",
                   "world", "tests, placed", "90 % hold", "less the assumed world", "50 %", "warned", "doubted",
                   "any doubt", "seasons");
        for (const Key& key : worlds) {
            Seasons seasons = seasons_of(key), compared;
            for (const Season& season : seasons)
                if (season.assumed != nullptr) compared.push_back(season);
            const auto less_assumed = [](const Seasons& of) {
                Seasons assumed = of;
                for (Season& season : assumed) season.record = season.assumed;
                return held90(of) - held90(assumed);
            };
            figure(key, "brier", "all", seasons, brier);
            const std::vector<std::string> broken = broken_by(std::get<0>(key));
            fmt::print("{:13} {:15} {:22} {:24} {:5} {:10} {:10} {:10} {}\n", std::get<0>(key), name_of(key),
                       words(figure(key, "held90", "all", seasons, held90), 3, {0.80, 1e9}),
                       words(figure(key, "held90_less_assumed", "all", compared, less_assumed), 3),
                       number(figure(key, "held50", "all", seasons, held50).value, 3),
                       beside_assumed(key, "warned", compared, &Record::warned, broken),
                       beside_assumed(key, "doubted", compared, &Record::doubted, broken),
                       beside_assumed(key, "any_doubt", compared, &Record::doubted, {}), seasons.size());
            const double with_don = held90_with_don(seasons);
            if (with_don == held90(seasons)) continue;
            figure(key, "held90_with_don", "all", seasons, held90_with_don);
            fmt::print("{:13} of the fields with DON {:.3f}; of all, everything under {} mg/kg taken as that, {:.3f}\n",
                       "", with_don, least_told_mg_per_kg,
                       figure(key, "held90_as_told", "all", seasons, held90_as_told).value);
        }
        fmt::print(
            "goal: above 0.80, and a warning. Shares of seasons, and of the same seasons of the assumed world (false\n"
            "alarms): warned, a line under the table speaks of what this world breaks, as doubted or as what no "
            "result\n"
            "would show; doubted, the results or the records say that it is broken; any doubt, of anything\n");
        std::set<std::string> named;
        for (const Key& key : worlds) named.insert(std::get<0>(key));
        for (const OffWorld& world : off_worlds())
            if (named.count(world.name) > 0) fmt::print("  {:13} {}\n", world.name, world.says);
    }

    /// What is told, and in how many seasons, beside the same seasons of the assumed world.
    void print_notes(const std::vector<Key>& worlds) const {
        fmt::print("\nwhat is told, figures as #: share of seasons, and of the same seasons of the assumed world\n");
        for (const Key& key : worlds) {
            std::map<std::string, std::pair<int, int>> kinds;
            int n = 0;
            for (const Season& season : seasons_of(key)) {
                if (season.assumed == nullptr) continue;
                ++n;
                for (const std::string& note : season.record->notes) ++kinds[note].first;
                for (const std::string& note : season.assumed->notes) ++kinds[note].second;
            }
            for (const auto& [note, seasons] : kinds)
                fmt::print("{:13} {:4.2f} {:4.2f}  {}\n", std::get<0>(key), static_cast<double>(seasons.first) / n,
                           static_cast<double>(seasons.second) / n,
                           note.size() > 72 ? note.substr(0, 69) + "..." : note);
        }
    }

    std::map<Key, std::map<std::uint64_t, const Record*>> by_cell_;
};

std::string quoted(const std::string& text) {
    return text.find(',') == std::string::npos ? text : '"' + text + '"';
}

std::string plain(double x) {
    return std::isfinite(x) ? fmt::format("{:.6g}", x) : "";
}

}  // namespace

std::vector<Figure> print_tables(const std::vector<Record>& records) {
    Report report(records);
    report.print();
    return report.figures;
}

void write_csv(const std::string& file, const std::vector<Figure>& figures) {
    std::ofstream out(file);
    out << "world,cell,statistic,group,value,low95,high95,seasons\n";
    for (const Figure& f : figures)
        out << fmt::format("{},{},{},{},{},{},{},{}\n", f.world, f.cell, f.statistic, quoted(f.group), plain(f.value),
                           plain(f.low95), plain(f.high95), f.seasons);
    out.close();
    if (!out) throw std::runtime_error(fmt::format("{} cannot be written", file));
}

}  // namespace honesty
