#include "geo/join.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <optional>

#include <fmt/format.h>
#include <geos_c.h>

#include "models/counted.h"
#include "models/error.h"

namespace geo {

namespace {

using models::Field;
using models::PointM;
using models::Sample;
using models::Side;

/// Finds the outlines near a place without looking at all of them: the sort-tile-recursive tree of GEOS over their
/// boxes (Leutenegger, Lopez & Edgington 1997, ICDE).
class OutlineIndex {
 public:
    explicit OutlineIndex(const std::vector<Field>& fields)
        : fields_(fields),
          context_(GEOS_init_r()),
          tree_(GEOSSTRtree_create_r(context_.get(), 10), DestroyTree{context_.get()}) {
        items_.reserve(fields.size());
        for (std::size_t i = 0; i < fields.size(); ++i) {
            if (fields[i].outline_m.empty()) continue;
            items_.push_back({i, nullptr});
            GEOSSTRtree_insert_r(context_.get(), tree_.get(), box(models::bounding_box(fields[i].outline_m)).get(),
                                 &items_.back());
        }
    }

    /// Those whose box comes within `margin_m` of the place, in the order of the fields.
    std::vector<std::size_t> around(const PointM& place, double margin_m) const {
        std::vector<std::size_t> found;
        if (items_.empty()) return found;
        const auto window =
            box({place.x_m - margin_m, place.y_m - margin_m, place.x_m + margin_m, place.y_m + margin_m});
        GEOSSTRtree_query_r(
            context_.get(), tree_.get(), window.get(),
            [](void* item, void* out) {
                static_cast<std::vector<std::size_t>*>(out)->push_back(static_cast<const Item*>(item)->field);
            },
            &found);
        std::sort(found.begin(), found.end());
        return found;
    }

    std::optional<std::size_t> nearest(const PointM& place) const {
        if (items_.empty()) return std::nullopt;
        const Item asked{0, &place};
        const auto here = box({place.x_m, place.y_m, place.x_m, place.y_m});
        const void* item = GEOSSTRtree_nearest_generic_r(
            context_.get(), tree_.get(), &asked, here.get(),
            [](const void* a, const void* b, double* distance, void* fields) {
                const auto* one = static_cast<const Item*>(a);
                const auto* other = static_cast<const Item*>(b);
                if (one->place == nullptr) std::swap(one, other);
                *distance = models::distance_to_edge_m(
                    (*static_cast<const std::vector<Field>*>(fields))[other->field].outline_m, *one->place);
                return 1;
            },
            const_cast<std::vector<Field>*>(&fields_));
        if (item == nullptr) return std::nullopt;
        return static_cast<const Item*>(item)->field;
    }

 private:
    struct Item {
        std::size_t field;
        const PointM* place;  ///< of the place asked for; null for an outline
    };
    struct FinishContext {
        void operator()(GEOSContextHandle_HS* context) const { GEOS_finish_r(context); }
    };
    struct DestroyTree {
        GEOSContextHandle_t context;
        void operator()(GEOSSTRtree* tree) const { GEOSSTRtree_destroy_r(context, tree); }
    };
    struct DestroyGeometry {
        GEOSContextHandle_t context;
        void operator()(GEOSGeometry* geometry) const { GEOSGeom_destroy_r(context, geometry); }
    };
    using Box = std::unique_ptr<GEOSGeometry, DestroyGeometry>;

    Box box(const models::BoxM& bounds) const {
        return Box(
            GEOSGeom_createRectangle_r(context_.get(), bounds.x_min_m, bounds.y_min_m, bounds.x_max_m, bounds.y_max_m),
            DestroyGeometry{context_.get()});
    }

    const std::vector<Field>& fields_;
    std::unique_ptr<GEOSContextHandle_HS, FinishContext> context_;
    std::unique_ptr<GEOSSTRtree, DestroyTree> tree_;
    std::vector<Item> items_;
};

std::string metres_text(double distance_m) {
    return distance_m < 1000.0 ? fmt::format("{:.0f} m", distance_m) : fmt::format("{:.1f} km", distance_m / 1000.0);
}

class Joiner {
 public:
    Joiner(const std::vector<Field>& fields, const WorkSystem& work, const JoinOptions& options)
        : fields_(fields), work_(work), options_(options), index_(fields) {
        for (std::size_t i = 0; i < fields.size(); ++i) {
            by_name_[fields[i].field].push_back(i);
            if (names_.empty() || names_.back() != fields[i].field) names_.push_back(fields[i].field);
        }
    }

    SampleJoin join(const Sample& sample) const {
        SampleJoin joined;
        joined.sample = sample.sample;
        const bool stays_where_taken =
            sample.stage == models::Stage::standing || sample.stage == models::Stage::combine;
        const bool has_position =
            stays_where_taken && (sample.place_m || (sample.longitude_deg && sample.latitude_deg));
        if (sample.stage == models::Stage::control) return joined;
        if (!sample.field.empty()) {
            by_name(sample, has_position, joined);
        } else if (!stays_where_taken) {
            joined.how = JoinHow::by_load;
        } else if (has_position) {
            by_position(sample, joined);
        } else {
            joined.sentence = fmt::format("sample \"{}\" has neither a field nor a position", sample.sample);
        }
        return joined;
    }

 private:
    std::string called(std::size_t i) const {
        return fields_[i].part.empty() ? fmt::format("field \"{}\"", fields_[i].field)
                                       : fmt::format("field \"{}\", part \"{}\"", fields_[i].field, fields_[i].part);
    }

    std::optional<PointM> in_work_system(double longitude_deg, double latitude_deg) const {
        if (!(std::abs(longitude_deg) <= 180.0) || !(std::abs(latitude_deg) <= 90.0)) return std::nullopt;
        try {
            return work_.from_degrees(longitude_deg, latitude_deg);
        } catch (const models::Error&) {
            return std::nullopt;  // the far side of the earth
        }
    }

    std::optional<PointM> place_of(const Sample& sample) const {
        if (sample.place_m) return sample.place_m;
        return in_work_system(*sample.longitude_deg, *sample.latitude_deg);
    }

    /// An outline that holds a place or has it on its edge.
    struct Holding {
        std::size_t outline;
        bool on_edge;
    };
    std::vector<Holding> holding(const PointM& place) const {
        std::vector<Holding> found;
        for (const std::size_t i : index_.around(place, options_.boundary_m)) {
            const Side side = models::side_of(fields_[i].outline_m, place, options_.boundary_m);
            if (side != Side::outside) found.push_back({i, side == Side::boundary});
        }
        return found;
    }

    /// The field that the position would name if its numbers stood the other way round.
    std::optional<std::size_t> when_swapped(const Sample& sample) const {
        if (!sample.longitude_deg || !sample.latitude_deg) return std::nullopt;
        const auto place = in_work_system(*sample.latitude_deg, *sample.longitude_deg);
        if (!place) return std::nullopt;
        const std::vector<Holding> found = holding(*place);
        if (found.empty()) return std::nullopt;
        return found.front().outline;
    }

    /// The smallest part of the field that holds the place; empty: in no part of it.
    std::string part_at(const std::string& field, const std::vector<Holding>& held) const {
        const Field* smallest = nullptr;
        for (const auto& [i, on_edge] : held) {
            if (fields_[i].field != field || fields_[i].part.empty()) continue;
            if (smallest == nullptr || fields_[i].area_ha < smallest->area_ha) smallest = &fields_[i];
        }
        return smallest == nullptr ? "" : smallest->part;
    }

    void take_named_part(const Sample& sample, SampleJoin& joined) const {
        const auto& entries = by_name_.at(sample.field);
        const bool there =
            std::any_of(entries.begin(), entries.end(), [&](std::size_t i) { return fields_[i].part == sample.part; });
        if (there) {
            joined.part = sample.part;
        } else if (!sample.part.empty()) {
            joined.sentence = fmt::format("sample \"{}\": field \"{}\" has no part \"{}\"; taken for the whole field",
                                          sample.sample, sample.field, sample.part);
        }
    }

    void by_name(const Sample& sample, bool has_position, SampleJoin& joined) const {
        const auto known = by_name_.find(sample.field);
        if (known == by_name_.end()) {
            joined.how = JoinHow::unknown_field;
            const std::string near = models::nearest_name(sample.field, names_);
            joined.sentence =
                fmt::format("sample \"{}\" names field \"{}\", which is not there{}", sample.sample, sample.field,
                            near.empty() ? "" : fmt::format("; did you mean \"{}\"?", near));
            return;
        }
        joined.field = sample.field;
        joined.how = JoinHow::by_name;
        take_named_part(sample, joined);
        if (!has_position) return;

        const std::optional<PointM> place = place_of(sample);
        const std::vector<Holding> held = place ? holding(*place) : std::vector<Holding>{};
        if (std::any_of(held.begin(), held.end(),
                        [&](const Holding& h) { return fields_[h.outline].field == sample.field; })) {
            joined.position_fits = true;
            if (sample.part.empty()) joined.part = part_at(sample.field, held);
            return;
        }
        double distance_m = std::numeric_limits<double>::infinity();
        for (const std::size_t i : known->second) {
            if (place) distance_m = std::min(distance_m, models::distance_to_edge_m(fields_[i].outline_m, *place));
        }
        joined.distance_m = place ? distance_m : 0.0;
        if (distance_m <= options_.near_m) {
            joined.position_fits = true;
            if (distance_m > options_.boundary_m && joined.sentence.empty() && !held.empty()) {
                joined.sentence = fmt::format(
                    "sample \"{}\" is named field \"{}\" and lies {} beyond its edge, in {}; the name stands",
                    sample.sample, sample.field, metres_text(distance_m), called(held.front().outline));
            }
            return;
        }
        joined.how = JoinHow::name_over_position;
        std::string where = "in no field";
        if (!held.empty()) {
            where = "in " + called(held.front().outline);
        } else if (const auto swapped = when_swapped(sample); swapped && fields_[*swapped].field == sample.field) {
            where = "in it only when longitude and latitude are swapped";
            joined.fits_when_swapped = true;
        }
        joined.sentence = fmt::format(
            "sample \"{}\" is named field \"{}\", but its position lies {}{}; the name stands, the "
            "position is not used",
            sample.sample, sample.field,
            place ? metres_text(distance_m) + " from it, " : std::string("nowhere on earth, "), where);
    }

    void by_position(const Sample& sample, SampleJoin& joined) const {
        const std::optional<PointM> place = place_of(sample);
        if (!place) {
            not_found(sample, std::nullopt, joined);
            return;
        }
        std::vector<Holding> held = holding(*place);
        if (held.empty()) {
            not_found(sample, place, joined);
            return;
        }
        // Properly inside comes before on the edge of a neighbour, then the smaller field.
        std::stable_sort(held.begin(), held.end(), [&](const Holding& a, const Holding& b) {
            if (a.on_edge != b.on_edge) return b.on_edge;
            return whole_area_ha(a.outline) < whole_area_ha(b.outline);
        });
        joined.field = fields_[held.front().outline].field;
        joined.part = part_at(joined.field, held);
        joined.position_fits = true;
        const bool edge = std::all_of(held.begin(), held.end(), [&](const Holding& h) {
            return fields_[h.outline].field != joined.field || h.on_edge;
        });
        joined.how = edge ? JoinHow::on_boundary : JoinHow::by_position;
        for (const auto& [i, on_edge] : held) {
            if (fields_[i].field == joined.field) continue;
            if (edge) {
                joined.sentence = fmt::format(
                    "sample \"{}\" lies on the edge of fields \"{}\" and \"{}\"; taken for the smaller, \"{}\"",
                    sample.sample, joined.field, fields_[i].field, joined.field);
                break;
            }
            if (on_edge) continue;
            joined.how = JoinHow::overlap;
            joined.sentence = fmt::format(
                "sample \"{}\" lies in the outlines of fields \"{}\" and \"{}\", which overlap; taken for "
                "the smaller, \"{}\"",
                sample.sample, joined.field, fields_[i].field, joined.field);
            break;
        }
    }

    void not_found(const Sample& sample, const std::optional<PointM>& place, SampleJoin& joined) const {
        const auto nearest = place ? index_.nearest(*place) : std::nullopt;
        if (nearest) joined.distance_m = models::distance_to_edge_m(fields_[*nearest].outline_m, *place);
        if (nearest && joined.distance_m <= options_.near_m) {
            joined.how = JoinHow::near_edge;
            joined.field = fields_[*nearest].field;
            joined.part = fields_[*nearest].part;
            joined.position_fits = true;
            joined.sentence = fmt::format("sample \"{}\" lies {} outside of {}; taken for it", sample.sample,
                                          metres_text(std::max(1.0, joined.distance_m)), called(*nearest));
            return;
        }
        if (const auto swapped = when_swapped(sample)) {
            joined.how = JoinHow::swapped;
            joined.fits_when_swapped = true;
            joined.sentence = fmt::format(
                "sample \"{}\" lies in no field, but in {} when longitude and latitude are swapped; "
                "correct it",
                sample.sample, called(*swapped));
            return;
        }
        joined.how = JoinHow::outside;
        joined.sentence = nearest ? fmt::format("sample \"{}\" lies in no field; the nearest, {}, is {} away",
                                                sample.sample, called(*nearest), metres_text(joined.distance_m))
                                  : fmt::format("sample \"{}\" lies in no field", sample.sample);
    }

    /// Of the field, also where the outline in hand is one of its parts.
    double whole_area_ha(std::size_t i) const {
        double area_ha = 0.0;
        for (const std::size_t k : by_name_.at(fields_[i].field)) area_ha = std::max(area_ha, fields_[k].area_ha);
        return area_ha;
    }

    const std::vector<Field>& fields_;
    const WorkSystem& work_;
    JoinOptions options_;
    OutlineIndex index_;
    std::map<std::string, std::vector<std::size_t>> by_name_;
    std::vector<std::string> names_;
};

}  // namespace

long JoinReport::count(JoinHow how) const {
    return std::count_if(samples.begin(), samples.end(), [&](const SampleJoin& joined) { return joined.how == how; });
}

struct SampleJoiner::Held {
    std::vector<Field> fields;
    WorkSystem work;
    Joiner joiner;
    Held(std::vector<Field> given, const WorkSystem& system, const JoinOptions& options)
        : fields(std::move(given)), work(system), joiner(fields, work, options) {}
};
SampleJoiner::SampleJoiner(std::vector<Field> fields, const WorkSystem& work, const JoinOptions& options)
    : held_(std::make_unique<const Held>(std::move(fields), work, options)) {}
SampleJoiner::~SampleJoiner() = default;
SampleJoin SampleJoiner::join(const Sample& sample) const {
    return held_->joiner.join(sample);
}

JoinReport join_samples(const std::vector<models::Field>& fields, const std::vector<models::Sample>& samples,
                        const WorkSystem& work, const JoinOptions& options) {
    JoinReport report;
    const Joiner joiner(fields, work, options);
    report.samples.reserve(samples.size());
    for (const Sample& sample : samples) report.samples.push_back(joiner.join(sample));

    const std::array<std::pair<JoinHow, const char*>, 10> words{{
        {JoinHow::by_position, "joined to a field by position"},
        {JoinHow::on_boundary, "on the edge of a field"},
        {JoinHow::near_edge, "just outside of a field and taken for it"},
        {JoinHow::overlap, "where outlines overlap, taken for the smaller field"},
        {JoinHow::by_name, "joined to a field by name"},
        {JoinHow::name_over_position, "by name although the position lies elsewhere"},
        {JoinHow::by_load, "from trucks and bins, joined by their loads"},
        {JoinHow::outside, "in no field"},
        {JoinHow::swapped, "in no field unless longitude and latitude are swapped"},
        {JoinHow::unknown_field, "of a field that is not there"},
    }};
    for (const auto& [how, text] : words) {
        const long count = report.count(how);
        if (count > 0) report.summary.push_back(models::counted(count, "sample") + " " + text);
    }
    return report;
}

}  // namespace geo
