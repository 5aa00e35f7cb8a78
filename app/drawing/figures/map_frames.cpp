#include "app/drawing/figures/map_frames.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "app/drawing/numbers.h"
#include "app/far_apart.h"
#include "app/words.h"
#include "models/spoken.h"

namespace app::drawing {

namespace {

constexpr double dots_under_em = 1.6, seen_from_em = 6.0, far_apart_share = 0.3, least_side_em = 15.0;
constexpr double gutter_em = 0.5, least_gain = 0.15;
constexpr int deepest = 3;  // cuts below one another: eight frames at most

models::BoxM frame_box_of(const std::vector<models::BoxM>& boxes, const std::vector<std::size_t>& fields) {
    models::BoxM all = boxes[fields.front()];
    for (const std::size_t f : fields)
        all = {std::min(all.x_min_m, boxes[f].x_min_m), std::min(all.y_min_m, boxes[f].y_min_m),
               std::max(all.x_max_m, boxes[f].x_max_m), std::max(all.y_max_m, boxes[f].y_max_m)};
    return all;
}

double frame_middle_x(const models::BoxM& box) {
    return 0.5 * (box.x_min_m + box.x_max_m);
}
double frame_middle_y(const models::BoxM& box) {
    return 0.5 * (box.y_min_m + box.y_max_m);
}

/// Fields, and the two groups that they fall into where those lie far apart.
struct FarGroups {
    std::vector<std::size_t> fields;
    models::BoxM box;
    std::vector<FarGroups> parts;  ///< two or none
};

class FrameCutter {
 public:
    FrameCutter(const MapFigure& figure, const Look& look) : em_(look.text_px) {
        for (const MapField& field : figure.fields) {
            boxes_.push_back(field.outline_m.empty() ? models::BoxM{} : models::bounding_box(field.outline_m));
            sizes_m_.push_back(field.outline_m.empty() ? 0.0 : std::sqrt(models::area_m2(field.outline_m)));
        }
    }

    std::vector<MapFrame> cut(const Rect& canvas, std::vector<std::size_t> fields) const {
        FarGroups whole{std::move(fields), {}, {}};
        whole.box = frame_box_of(boxes_, whole.fields);
        if (median_size_m(whole.fields) >= dots_under_em * em_ * scale_of(whole.box, canvas))
            return {{canvas, whole.box, std::move(whole.fields)}};
        part(whole, deepest);
        const double frame_price = least_gain * static_cast<double>(whole.fields.size());
        return best_layout(whole, canvas, frame_price).frames;
    }

 private:
    struct Layout {
        double seen = 0.0;  ///< sum of the logarithms of the fields' sizes in pixels, less the price of the frames
        std::vector<MapFrame> frames;
    };

    double scale_of(const models::BoxM& box, const Rect& canvas) const {
        return fitted(box, {canvas.x, canvas.y, canvas.width, canvas.height - 2.6 * em_}, 0.9 * em_).metres_per_px;
    }

    double median_size_m(const std::vector<std::size_t>& fields) const {
        std::vector<double> sizes;
        for (const std::size_t f : fields) sizes.push_back(sizes_m_[f]);
        const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
        std::nth_element(sizes.begin(), middle, sizes.end());
        return *middle;
    }

    void part(FarGroups& group, int cuts) const {
        if (cuts == 0) return;
        std::vector<models::BoxM> boxes;
        for (const std::size_t f : group.fields) boxes.push_back(boxes_[f]);
        const TwoGroups two = parted_at_widest_gap(boxes);
        if (two.second.empty() || two.gap_m < far_apart_share * std::hypot(group.box.width_m(), group.box.height_m()))
            return;
        for (const auto* side : {&two.first, &two.second}) {
            FarGroups part_of;
            for (const std::size_t i : *side) part_of.fields.push_back(group.fields[i]);
            part_of.box = frame_box_of(boxes_, part_of.fields);
            part(part_of, cuts - 1);
            group.parts.push_back(std::move(part_of));
        }
    }

    /// A field that is seen well gains nothing by more room; one that is less than a pixel is none.
    Layout in_one_frame(const FarGroups& group, const Rect& canvas) const {
        const double scale = scale_of(group.box, canvas);
        Layout layout;
        for (const std::size_t f : group.fields)
            layout.seen += std::log(std::clamp(sizes_m_[f] / scale, 1.0, seen_from_em * em_));
        layout.frames.push_back({canvas, group.box, group.fields});
        return layout;
    }

    /// One frame, or the canvas in two wherever that shows the fields larger by more than what a frame costs.
    Layout best_layout(const FarGroups& group, const Rect& canvas, double frame_price) const {
        Layout best = in_one_frame(group, canvas);
        if (group.parts.empty()) return best;
        const double gutter = gutter_em * em_, least = least_side_em * em_;
        for (const bool beside : {false, true}) {
            const models::BoxM &a = group.parts[0].box, &b = group.parts[1].box;
            const bool turned = beside ? frame_middle_x(b) < frame_middle_x(a) : frame_middle_y(b) > frame_middle_y(a);
            for (const double share : {0.25, 0.375, 0.5, 0.625, 0.75}) {
                Rect one = canvas, other = canvas;
                if (beside) {
                    one.width = share * (canvas.width - gutter);
                    other.x += one.width + gutter;
                    other.width -= one.width + gutter;
                } else {
                    one.height = share * (canvas.height - gutter);
                    other.y += one.height + gutter;
                    other.height -= one.height + gutter;
                }
                if (std::min({one.width, one.height, other.width, other.height}) < least) continue;
                Layout front = best_layout(group.parts[turned ? 1 : 0], one, frame_price);
                Layout back = best_layout(group.parts[turned ? 0 : 1], other, frame_price);
                front.seen += back.seen - frame_price;
                if (front.seen <= best.seen) continue;
                for (MapFrame& frame : back.frames) front.frames.push_back(std::move(frame));
                best = std::move(front);
            }
        }
        return best;
    }

    double em_;
    std::vector<models::BoxM> boxes_;
    std::vector<double> sizes_m_;
};

}  // namespace

std::vector<MapFrame> map_frames(const MapFigure& figure, const Rect& canvas, const Look& look) {
    std::vector<std::size_t> fields;
    for (std::size_t f = 0; f < figure.fields.size(); ++f) {
        if (!figure.fields[f].outline_m.empty()) fields.push_back(f);
    }
    if (fields.empty()) return {};
    return FrameCutter(figure, look).cut(canvas, std::move(fields));
}

MapFigure figure_of_frame(const MapFigure& figure, const MapFrame& frame) {
    constexpr double beside_m = 200.0;  // a sample may lie a little beside its field
    MapFigure one = figure;
    std::vector<char> here(one.fields.size(), 0);
    for (const std::size_t f : frame.fields) here[f] = 1;
    for (std::size_t f = 0; f < one.fields.size(); ++f) {
        if (!here[f]) one.fields[f].outline_m.clear();
    }
    std::erase_if(one.tests, [&](const MapTest& test) {
        return test.place_m.x_m < frame.box.x_min_m - beside_m || test.place_m.x_m > frame.box.x_max_m + beside_m ||
               test.place_m.y_m < frame.box.y_min_m - beside_m || test.place_m.y_m > frame.box.y_max_m + beside_m;
    });
    return one;
}

std::string frame_words(const std::vector<MapFrame>& frames, std::size_t number) {
    const std::string letter(1, static_cast<char>('A' + number)), first(1, 'A');
    if (number == 0) return first;
    const models::BoxM &from = frames.front().box, &here = frames[number].box;
    const double east_m = frame_middle_x(here) - frame_middle_x(from);
    const double north_m = frame_middle_y(here) - frame_middle_y(from);
    const double turns = std::atan2(east_m, north_m) / (2.0 * std::numbers::pi);  // clockwise from north
    const auto eighth = static_cast<std::size_t>(std::lround((turns + 1.0) * 8.0)) % 8;
    const double km = std::hypot(east_m, north_m) / 1000.0;
    return spoken(words::map_frame_lies, letter, models::said(fmt::format("{:.{}f}", km, km < 9.95 ? 1 : 0)),
                  spoken(words::directions[eighth]), first);
}

}  // namespace app::drawing
