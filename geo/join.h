#pragma once

#include <memory>
#include <string>
#include <vector>

#include "geo/work_system.h"
#include "models/records.h"

namespace geo {

/// How a sample came to its field.
enum class JoinHow {
    by_position,         ///< inside one outline (or inside a part of its field, which is more exact than the field)
    on_boundary,         ///< on the edge itself, within a few centimetres
    near_edge,           ///< outside, but no farther than a position is usually wrong: the nearest field, with a note
    overlap,             ///< inside outlines of several fields: the smallest, with a note
    by_name,             ///< named, and no position or a position that agrees
    name_over_position,  ///< named, but its position lies elsewhere: the name stands, with a note
    by_load,             ///< from a truck or a bin: what it holds is in the loads and moves
    outside,             ///< in no field; the nearest is named
    swapped,             ///< in no field, but in one when longitude and latitude are swapped: not taken
    unknown_field,       ///< names a field that is not there
    no_place,            ///< neither name nor position, or a control
};

struct SampleJoin {
    std::string sample;
    std::string field, part;  ///< empty where the sample has no field
    JoinHow how = JoinHow::no_place;
    double distance_m = 0.0;  ///< outside the outline of `field` or, with `outside`, of the nearest one; 0 inside
    /// The position lies in the field or no farther from it than the tolerance: it may stand on the field's map.
    bool position_fits = false;
    /// The position lies in the field that is named, or in any field where none is, once longitude and latitude are
    /// swapped; and not as it is.
    bool fits_when_swapped = false;
    std::string sentence;  ///< what a person should know about it; empty where all is plain
};

struct JoinOptions {
    double boundary_m = 0.05;  ///< on the edge: rounding of written coordinates (7 decimals of a degree are 1 cm)
    double near_m = 15.0;      ///< a hand-held position under a tree line is seldom worse
};

struct JoinReport {
    std::vector<SampleJoin> samples;   ///< in the order given
    std::vector<std::string> summary;  ///< "1,182 samples by position", "1 sample in no field: ..."
    long count(JoinHow how) const;
};

/// One sample after the other, by the rules of join_samples.
class SampleJoiner {
 public:
    SampleJoiner(std::vector<models::Field> fields, const WorkSystem& work, const JoinOptions& options = {});
    ~SampleJoiner();
    SampleJoin join(const models::Sample& sample) const;

 private:
    struct Held;
    std::unique_ptr<const Held> held_;
};

/// Which field, and part of it, every sample belongs to. Position first for standing crop and combine stream; by name
/// where there is no position; a name that contradicts the position stands (the label was written by someone who stood
/// there, the position may be the counter's) and is reported. Samples from trucks and bins keep to their load.
/// Nothing is dropped: a sample without a field is in the list and says why.
/// @param fields   outlines in the work system, whole fields and parts
/// @param samples  place_m is used where given, else longitude and latitude
JoinReport join_samples(const std::vector<models::Field>& fields, const std::vector<models::Sample>& samples,
                        const WorkSystem& work, const JoinOptions& options = {});

}  // namespace geo
