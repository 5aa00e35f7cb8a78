#pragma once

#include <map>
#include <string>
#include <vector>

#include "app/stages/contamination_stage.h"
#include "app/stages/grain_fit.h"
#include "models/decision/bin_probe.h"

namespace app {

/// What a probe of a bin says of the fields that its grain came from, for whoever looks at a field and not at a bin.
/// The model's draws of these fields, of their loads and of what else lay there count by what the probe read
/// (models::draws_after_probes): a probe above what its loads held raises each of their fields, the one with more of
/// the grain further, and the one of which less is known. The model itself, and with it every
/// other field, stays as it is: so map and bins speak of one fit.
class ProbedFields {
 public:
    ProbedFields() = default;
    /// @param view  with its model
    ProbedFields(const SeasonData& data, const ContaminationView& view, const ContaminationSettings& settings);

    /// The probes that count for this field-season of the model, in the order in which they were taken.
    const std::vector<std::string>& probes_of(std::size_t field_season) const;
    /// The model's content of it with the probes that count for it; as the model says it where none does.
    models::Content content(const models::ContaminationModel& model, std::size_t field_season) const;
    /// P(mean content over c mg/kg), likewise.
    double exceedance(const models::ContaminationModel& model, std::size_t field_season, double c_mg_per_kg) const;
    /// What its number rests on, the probes last.
    models::Explanation explain(const models::ContaminationModel& model, std::size_t field_season) const;
    bool any() const { return !fields_.empty(); }
    /// What each made of its bin and for which fields it counts, or why it does not; sentences without their full stop.
    const std::vector<std::string>& notes() const { return notes_; }

 private:
    void weigh(const SeasonData& data, const ContaminationView& view, const ContaminationSettings& settings);

    struct Field {
        std::vector<std::string> probes;
        Eigen::VectorXd sorted_mg_per_kg;  ///< draws as they count
    };
    std::map<std::size_t, Field> fields_;
    std::vector<std::string> notes_;
};

}  // namespace app
