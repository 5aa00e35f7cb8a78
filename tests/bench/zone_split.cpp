// How often a field is split rightly. Simulated fields of 400 x 300 m (96 t at 8 t/ha) about a limit of 1 mg/kg, 60
// single places tested, the field's mean known to 12 %; contents inside by the model's own law. The verdict on
// structure, the draws, the lines and their worth are the program's; what a division brings is then counted on the true
// contents, beside the best that somebody who knew them could do.
//   bench_zone_split [fields = 100] [results = 60]
#include "models/decision/zone_split.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/grain_of_field.h"
#include "models/contamination/within_field.h"
#include "models/decision/drive_lines.h"

namespace {

struct FieldWorld {
    std::string name;
    double share = 0.0, range_m = 1.0;
};

struct Tally {
    int fields = 0, supported = 0, split = 0, split_at_a_loss = 0, worth_splitting = 0, held = 0;
    double foretold_t = 0.0, came_t = 0.0, possible_t = 0.0;
};

models::ZoneSplitProblem problem_of(const models::DriveLines& lines, models::Mixing mixing) {
    models::ZoneSplitProblem problem;
    for (int s = 0; s < lines.swaths(); ++s) {
        problem.tonnes.push_back(lines.area_m2[static_cast<std::size_t>(s)] * 8e-4);
        problem.headers.push_back(lines.width_m[static_cast<std::size_t>(s)] / lines.header_m);
    }
    problem.least_headers = 3.0;
    problem.limit.limit_mg_per_kg = 1.0;
    problem.limit.mixing = mixing;
    return problem;
}

void one_field(const FieldWorld& world, int results, std::uint64_t seed, Tally& tally) {
    namespace con = models::contamination;
    const models::OutlineM outline = {{{{0.0, 0.0}, {400.0, 0.0}, {400.0, 300.0}, {0.0, 300.0}}, {}}};
    const models::DriveLines lines = models::drive_lines(outline, 90.0, 9.0);
    const models::GroundCells ground = models::ground_in_swaths(outline, lines, 500);
    const auto cells = models::cells_of_swaths(ground, lines);

    // The truth.
    constexpr double sd = 0.6;
    models::SpreadInField law;
    law.points.push_back({1.0, {sd, world.share, world.range_m}, {}, {}});
    const Eigen::VectorXd pattern =
        models::relative_contents(ground, law, Eigen::VectorXd::Constant(1, sd), seed).col(0);
    const double mean = std::exp(0.3 * con::counter_normal(seed, 1, 1));
    models::ZoneSplitProblem truth = problem_of(lines, models::Mixing::not_addressed);
    truth.contents_mg_per_kg.resize(1, lines.swaths());
    for (int s = 0; s < lines.swaths(); ++s) {
        double sum = 0.0, whole = 0.0;
        for (const auto& [cell, part] : cells[static_cast<std::size_t>(s)]) {
            const double share = part * ground.cells[static_cast<std::size_t>(cell)].share;
            sum += share * pattern[cell];
            whole += share;
        }
        truth.contents_mg_per_kg(0, s) = mean * sum / whole;
    }

    // What is known of it.
    constexpr double error = 0.2;
    std::vector<models::PlacedResult> placed;
    std::vector<models::PointM> places;
    for (int i = 0; i < results; ++i) {
        const auto k = static_cast<std::uint64_t>(i);
        const auto cell =
            static_cast<std::size_t>(con::counter_uniform(seed, 2, k) * static_cast<double>(ground.cells.size()));
        places.push_back(ground.cells[cell].centre);
        models::PlacedResult result;
        result.place = places.back();
        const double nugget = std::sqrt(1.0 - world.share) * sd * con::counter_normal(seed, 4, k);
        result.don_mg_per_kg = mean * pattern[static_cast<Eigen::Index>(cell)] *
                               std::exp(nugget + error * con::counter_normal(seed, 3, k));
        result.log_error_variance = error * error;
        placed.push_back(result);
    }
    models::WithinFieldSettings how;
    how.threads = 1;
    const models::WithinFieldStructure told = models::within_field_structure(placed, how);
    ++tally.fields;
    const models::ZoneSplit possible = models::best_zones(truth);
    tally.worth_splitting += possible.zones.size() > 1 ? 1 : 0;
    tally.possible_t += possible.earns;
    if (!told.supported || told.by_field.empty() || !told.by_field[0].mapped) return;
    ++tally.supported;
    models::SpreadInField spread;
    spread.points = told.by_field[0].points;
    for (const std::size_t r : told.by_field[0].results) spread.places.push_back(places[r]);
    models::FieldsTogether level;
    level.points.push_back({1.0, Eigen::VectorXd::Constant(1, std::log(mean) + 0.12 * con::counter_normal(seed, 1, 2)),
                            Eigen::MatrixXd::Constant(1, 1, 0.12 * 0.12), sd});
    const Eigen::MatrixXd draws = models::draws_of_cuts(level, ground, spread, cells, 2048, seed);
    models::ZoneSplitProblem choose = problem_of(lines, models::Mixing::not_addressed), other = choose;
    choose.contents_mg_per_kg = draws.topRows(1024);
    other.contents_mg_per_kg = draws.bottomRows(1024);
    const models::ZoneSplit split = models::best_zones(choose);
    if (split.zones.size() < 2) return;
    const models::SplitWorth worth = models::worth_of(other, split);
    if (!(worth.mean > 0.0)) return;
    const double came = models::worth_of(truth, split).mean;
    ++tally.split;
    tally.split_at_a_loss += came < 0.0 ? 1 : 0;
    tally.held += came >= worth.low90 && came <= worth.high90 ? 1 : 0;
    tally.foretold_t += worth.mean;
    tally.came_t += came;
}

}  // namespace

int main(int argc, char** argv) {
    const int fields = argc > 1 ? std::stoi(argv[1]) : 100, results = argc > 2 ? std::stoi(argv[2]) : 60;
    fmt::print("{} fields a world, {} results in each; tonnes of 96, a line costs 5\n", fields, results);
    fmt::print("{:26} {:>9} {:>6} {:>8} {:>9} {:>6} {:>6} {:>14} {:>9}\n", "structure inside", "surface", "split",
               "at loss", "foretold", "came", "held", "worth knowing", "possible");
    for (const FieldWorld& world :
         {FieldWorld{"none", 0.0, 1.0}, FieldWorld{"0.7 of it, 80 m", 0.7, 80.0},
          FieldWorld{"0.9 of it, 150 m", 0.9, 150.0}, FieldWorld{"0.9 of it, 300 m", 0.9, 300.0}}) {
        Tally tally;
        for (int f = 0; f < fields; ++f) one_field(world, results, static_cast<std::uint64_t>(f) + 1, tally);
        const auto mean = [&](double sum) { return tally.split > 0 ? sum / tally.split : 0.0; };
        fmt::print("{:26} {:>9} {:>6} {:>8} {:>9.1f} {:>6.1f} {:>6} {:>14} {:>9.1f}\n", world.name, tally.supported,
                   tally.split, tally.split_at_a_loss, mean(tally.foretold_t), mean(tally.came_t), tally.held,
                   tally.worth_splitting, tally.possible_t / tally.fields);
    }
    fmt::print(
        "surface: fields in which structure was supported; split: of these; at loss: the split lost on the true\n"
        "contents; foretold, came: worth of a split, t, on average; held: 90 % intervals that held what came;\n"
        "worth knowing: fields that the truth would split; possible: what that would bring, t a field.\n");
}
