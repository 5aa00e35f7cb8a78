#pragma once

#include <cstddef>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "models/decision/bin_value.h"
#include "models/decision/mip_solver.h"
#include "models/decision/placing.h"

namespace models {

/// A plan as the solver is asked for it: the rows and columns that plan_choice.h writes out, and the way between a plan
/// and their values. Aims by number: 0 loads with a place, 1 tonnes with a place, 2 value, or without prices tonnes in
/// food bins, 3 in feed bins, 4 in other bins. Masses in tonnes, value in the user's money.
class PlanMip {
 public:
    PlanMip(const BinPlanProblem& problem, const PlacingProblem& placing);

    const MipProblem& problem() const { return mip_; }
    bool empty() const { return ways_.empty(); }  ///< nothing may go anywhere

    void ask_for(int aim);
    void ask_for_few_pieces();
    void keep(int aim, double reached);                 ///< from now on no answer has less of it
    void keep_value_of(const std::vector<Sent>& sent);  ///< in the solver's own form of the value
    /// Rows for the draws in which the mean of a bin is worst over. False: they all are there already.
    bool add_draws(std::size_t bin, const std::vector<Sent>& sent);
    void rule_out(const std::vector<Sent>& sent, std::size_t bin);  ///< just this in that bin

    std::vector<Sent> sent_of(const std::vector<double>& values) const;
    /// The columns that stand for a plan, the draws and spoilt tonnes that follow from it among them.
    std::vector<double> values_of(const std::vector<Sent>& sent) const;

 private:
    using Terms = std::vector<std::pair<int, double>>;
    struct Way {
        std::size_t grain = 0, bin = 0;
        int share = 0;  ///< column of x
        int used = 0;   ///< column of u; the same where the grain is one load
    };
    struct Spoilt {
        std::size_t bin = 0;
        std::vector<std::size_t> grain;  ///< over together
        int column = 0;                  ///< tonnes of the bin in those draws
    };

    void build();
    void add_money();
    double add_spoiling(std::size_t b, double price, double loss);
    Terms tonnes_in(std::size_t b) const;
    double mass_of(const Way& way) const;
    std::vector<double> objective_of(int aim) const;

    const BinPlanProblem& problem_;
    const PlacingProblem& placing_;
    bool money_ = false;
    MipProblem mip_;
    std::vector<Way> ways_;
    std::vector<std::vector<std::size_t>> ways_of_bin_;
    std::map<std::size_t, std::map<std::string, int>> tag_columns_;
    std::vector<std::set<Eigen::Index>> draws_in_;
    std::vector<std::vector<std::pair<Eigen::Index, int>>> over_columns_;
    Terms money_terms_;
    std::vector<Spoilt> spoilt_;
    std::vector<std::pair<int, int>> beyond_;  ///< column of the tonnes beyond a contract, and the contract
};

}  // namespace models
