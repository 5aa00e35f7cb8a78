#pragma once

#include <string>
#include <vector>

#include "app/workflow.h"
#include "models/decision/sampling_walk.h"

namespace app {

struct WalkSettings {
    int fields = 10;  ///< the first so many of the order
    models::WalkShape shape = models::WalkShape::spread;
    int stops = 20;
    double headland_m = 12.0;
    std::vector<models::OutlineM> keep_out;
    /// Cut at each stop and pooled into one sample: 10 is common practice, no source.
    int heads_a_stop = 10;
};

/// How to take the sample of one field.
struct FieldWalk {
    int rank = 0;
    std::string field, part, name;  ///< name: ground_name
    std::string sample;             ///< a code that no sample of the store has yet: "2026-C06-1"
    const models::Field* outline = nullptr;
    std::vector<models::OutlineM> keep_out;  ///< of its ground: parts that are booked apart, and what was asked for
    models::SamplingWalk walk;
    std::string why;  ///< the field has that place in the order; empty: it has none
};

struct FieldWalks {
    std::vector<FieldWalk> walks;  ///< by rank
    std::vector<std::string> notes;
};

/// Walks for the first fields of the order that still stand, for one composite sample each. Ground of a field that is
/// booked apart as a part with its own outline is kept out of the field's walk.
/// @throws models::Error  as sampling_walk; no order; none of these fields has an outline
FieldWalks walks_of_order(const SeasonView& view, const WalkSettings& settings);
/// The walk of one field, wherever it stands in the order, under the sample that `walks_of_order` would give it if it
/// came first. Of the settings `fields` does not count.
/// @throws models::Error  as sampling_walk; no such field, one without an outline, or one that is cut
FieldWalks walk_of_field(const SeasonView& view, const std::string& name, const WalkSettings& settings);

}  // namespace app
