#include "app/drawing/figures/map_labels.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"

namespace app::drawing {

namespace {

struct LabelLine {
    std::string words;
    Weight weight = Weight::regular;
};

/// A place in a field and how far it is from the nearest edge.
struct Candidate {
    Point place;
    double room = 0.0;
};

/// Places inside the rings and the canvas, the roomiest first.
std::vector<Candidate> candidates_in(const Rings& rings, const Rect& canvas) {
    const Rect box = box_of_rings(rings);
    const double left = std::max(box.x, canvas.x), right = std::min(box.x + box.width, canvas.x + canvas.width);
    const double top = std::max(box.y, canvas.y), floor_y = std::min(box.y + box.height, canvas.y + canvas.height);
    std::vector<Candidate> candidates;
    if (right <= left || floor_y <= top) return candidates;
    const auto steps = [](double length_px) { return std::clamp(static_cast<int>(length_px / 5.0), 3, 17); };
    const int rows = steps(floor_y - top), columns = steps(right - left);
    for (int row = 0; row < rows; ++row)
        for (int column = 0; column < columns; ++column) {
            const Point p{left + (right - left) * (column + 0.5) / columns, top + (floor_y - top) * (row + 0.5) / rows};
            if (inside_rings(rings, p)) candidates.push_back({p, distance_to_rings(rings, p)});
        }
    // A field of a pixel or two may fall between the points.
    if (candidates.empty() && std::max(box.width, box.height) < 6.0)
        candidates.push_back({{0.5 * (left + right), 0.5 * (top + floor_y)}, 0.0});
    std::stable_sort(candidates.begin(), candidates.end(),
                     [](const Candidate& a, const Candidate& b) { return a.room > b.room; });
    return candidates;
}

/// Which pixels are the ground of some field, counted so that any box is looked up at once.
class FieldGround {
 public:
    FieldGround(const Painter& painter, const std::vector<FieldToName>& fields, const Rect& within)
        : within_(within),
          columns_(std::max(1, static_cast<int>(within.width / pitch_px))),
          rows_(std::max(1, static_cast<int>(within.height / pitch_px))),
          sums_(static_cast<std::size_t>((columns_ + 1) * (rows_ + 1)), 0) {
        std::vector<char> taken(static_cast<std::size_t>(columns_ * rows_), 0);
        std::vector<double> crossings;
        for (const FieldToName& field : fields) {
            let_pause(painter);
            const Rect box = box_of_rings(*field.rings);
            const int first = std::clamp(row_of(box.y), 0, rows_);
            const int last = std::clamp(row_of(box.y + box.height) + 1, 0, rows_);
            for (int row = first; row < last; ++row) {
                const double y = within.y + (row + 0.5) * pitch_px;
                crossings.clear();
                for (const auto& ring : *field.rings)
                    for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++)
                        if ((ring[i].y > y) != (ring[j].y > y))
                            crossings.push_back(ring[i].x +
                                                (ring[j].x - ring[i].x) * (y - ring[i].y) / (ring[j].y - ring[i].y));
                std::sort(crossings.begin(), crossings.end());
                for (std::size_t k = 0; k + 1 < crossings.size(); k += 2) {
                    const int from = std::max(0, column_of(crossings[k]));
                    const int to = std::min(columns_ - 1, column_of(crossings[k + 1]));
                    for (int column = from; column <= to; ++column)
                        taken[static_cast<std::size_t>(row * columns_ + column)] = 1;
                }
            }
        }
        for (int row = 0; row < rows_; ++row)
            for (int column = 0; column < columns_; ++column)
                sums_[at(row + 1, column + 1)] = taken[static_cast<std::size_t>(row * columns_ + column)] +
                                                 sums_[at(row, column + 1)] + sums_[at(row + 1, column)] -
                                                 sums_[at(row, column)];
    }

    /// Squares of the box that are some field's.
    int in(const Rect& box) const {
        const int left = std::clamp(column_of(box.x), 0, columns_);
        const int right = std::clamp(column_of(box.x + box.width) + 1, 0, columns_);
        const int top = std::clamp(row_of(box.y), 0, rows_);
        const int bottom = std::clamp(row_of(box.y + box.height) + 1, 0, rows_);
        if (right <= left || bottom <= top) return 0;
        return sums_[at(bottom, right)] - sums_[at(top, right)] - sums_[at(bottom, left)] + sums_[at(top, left)];
    }
    bool is_free(const Rect& box) const { return in(box) == 0; }

 private:
    static constexpr double pitch_px = 3.0;
    int column_of(double x) const { return static_cast<int>(std::floor((x - within_.x) / pitch_px)); }
    int row_of(double y) const { return static_cast<int>(std::floor((y - within_.y) / pitch_px)); }
    std::size_t at(int row, int column) const { return static_cast<std::size_t>(row * (columns_ + 1) + column); }

    Rect within_;
    int columns_, rows_;
    std::vector<int> sums_;
};

/// Dots and tests of all fields by the square that they lie in, so that what covers a point is found at once.
class MarkGround {
 public:
    MarkGround(const Painter& painter, const std::vector<FieldToName>& fields, const Rect& within)
        : within_(within),
          columns_(std::max(1, static_cast<int>(std::ceil(within.width / pitch_px)))),
          rows_(std::max(1, static_cast<int>(std::ceil(within.height / pitch_px)))),
          squares_(static_cast<std::size_t>(columns_ * rows_)) {
        for (const FieldToName& field : fields)
            for (const FieldToName::Mark& mark : field.marks) {
                let_pause(painter);
                if (!overlap(mark.box, within)) continue;
                const int right = column_of(mark.box.x + mark.box.width), below = row_of(mark.box.y + mark.box.height);
                for (int row = row_of(mark.box.y); row <= below; ++row)
                    for (int column = column_of(mark.box.x); column <= right; ++column)
                        squares_[static_cast<std::size_t>(row * columns_ + column)].push_back({field.rings, mark});
            }
    }

    /// What is seen at the point is a mark of another field than the one of these rings.
    bool is_of_another(Point p, const Rings* rings) const {
        std::optional<std::size_t> own, other;
        for (const MarkOfField& one : squares_[static_cast<std::size_t>(row_of(p.y) * columns_ + column_of(p.x))]) {
            if (!overlap(one.mark.box, {p.x, p.y, 1e-9, 1e-9})) continue;
            std::optional<std::size_t>& highest = one.rings == rings ? own : other;
            highest = std::max(highest.value_or(0), one.mark.order);
        }
        return other && (!own || *other > *own);
    }

 private:
    static constexpr double pitch_px = 16.0;
    struct MarkOfField {
        const Rings* rings = nullptr;
        FieldToName::Mark mark;
    };
    int column_of(double x) const {
        return std::clamp(static_cast<int>(std::floor((x - within_.x) / pitch_px)), 0, columns_ - 1);
    }
    int row_of(double y) const {
        return std::clamp(static_cast<int>(std::floor((y - within_.y) / pitch_px)), 0, rows_ - 1);
    }

    Rect within_;
    int columns_, rows_;
    std::vector<std::vector<MarkOfField>> squares_;
};

std::string number_of(const MapField& field, const MapFigure& figure) {
    switch (figure.shows) {
        case MapShows::content:
            return field.median_mg_per_kg ? content_text(*field.median_mg_per_kg) : "";
        case MapShows::exceedance:
            return field.exceedance ? short_percent_text(*field.exceedance) : "";
        case MapShows::ranking:
            return field.rank ? fmt::format("{}.", *field.rank) : "";
    }
    return "";
}

/// The more a reader has to see the field, the higher; 0 without a number.
double urgency_of(const MapField& field, const MapFigure& figure) {
    switch (figure.shows) {
        case MapShows::content:
            return field.median_mg_per_kg.value_or(0.0);
        case MapShows::exceedance:
            return field.exceedance.value_or(0.0);
        case MapShows::ranking:
            return field.rank ? 1.0 / *field.rank : 0.0;
    }
    return 0.0;
}

double gap_between(const Rect& plate, Point p) {
    const double dx = std::max({plate.x - p.x, 0.0, p.x - plate.x - plate.width});
    const double dy = std::max({plate.y - p.y, 0.0, p.y - plate.y - plate.height});
    return std::hypot(dx, dy);
}

double gap_between(const Rect& a, const Rect& b) {
    const double dx = std::max({a.x - b.x - b.width, b.x - a.x - a.width, 0.0});
    const double dy = std::max({a.y - b.y - b.height, b.y - a.y - a.height, 0.0});
    return std::hypot(dx, dy);
}

/// By the corners of the rings and the middles of their sides, which is near enough for words.
double gap_between(const Rect& plate, const Rings& rings) {
    double gap = 1e300;
    for (const auto& ring : rings)
        for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
            gap = std::min(gap, gap_between(plate, ring[i]));
            gap =
                std::min(gap, gap_between(plate, Point{0.5 * (ring[i].x + ring[j].x), 0.5 * (ring[i].y + ring[j].y)}));
        }
    return gap;
}

Point nearest_on(const Rect& plate, Point p) {
    return {std::clamp(p.x, plate.x, plate.x + plate.width), std::clamp(p.y, plate.y, plate.y + plate.height)};
}

/// Name and number of one field, and the places that they may take.
class FieldName {
 public:
    FieldName(Painter& painter, const std::vector<FieldToName>& all, const MarkGround& marks, const FieldToName& named,
              const MapFigure& figure, const Rect& within, const Look& look, LabelPlaces& places)
        : painter_(painter), all_(all), marks_(marks), named_(named), within_(within), look_(look), places_(places) {
        if (!named.field->label.empty()) lines_.push_back({named.field->label, Weight::regular});
        if (const std::string number = number_of(*named.field, figure); !number.empty())
            lines_.push_back({number, Weight::bold});
        candidates_ = candidates_in(*named.rings, within);
    }

    bool has_words() const { return !lines_.empty(); }
    bool in_sight() const { return !candidates_.empty(); }
    MapKeyLine key_line() const { return {0, lines_.front().words, lines_.size() > 1 ? lines_.back().words : ""}; }

    /// @param least_share  the smallest size, in sizes of running text
    bool write_inside(double least_share = 0.62) {
        const Rect box = box_of_rings(*named_.rings);
        for (const double share : {0.9, 0.8, 0.7, 0.62, 0.55}) {
            const double size = share * look_.text_px;
            if (share < least_share || size < look_.least_text_px) return false;
            const Rect words = plate_at({0.0, 0.0}, size);
            if (box.width < words.width + 2.0 * named_.rim || box.height < words.height + 2.0 * named_.rim) continue;
            const double half_diagonal = 0.5 * std::hypot(words.width, words.height) + named_.rim;
            for (const auto& candidate : candidates_) {
                if (candidate.room < 0.5 * words.height + named_.rim) break;
                const Rect plate{candidate.place.x + words.x, candidate.place.y + words.y, words.width, words.height};
                if (!holds(within_, plate) || !places_.is_free(plate)) continue;
                if (candidate.room < half_diagonal && !box_inside(*named_.rings, inset(plate, -named_.rim))) continue;
                write(plate, size, with_alpha(named_.fill, 0.78), readable_ink_on(named_.fill));
                return true;
            }
        }
        return false;
    }

    /// The number under which a key lists the field.
    bool write_number(int number) {
        const std::vector<LabelLine> name = std::exchange(lines_, {{std::to_string(number), Weight::regular}});
        const bool written = write_inside(0.55);
        lines_ = name;
        return written;
    }

    bool write_outside(const FieldGround& ground) {
        const double em = look_.text_px;
        const double reach =
            std::clamp(0.25 * std::min(within_.width, within_.height), 3.0 * em, farthest_label_em * em);
        const std::optional<Point> found = anchor_in_field();
        if (!found) return false;
        const Point anchor = *found;
        const Rect box = box_of_rings(*named_.rings);
        for (const double share : {0.8, 0.66}) {
            const double size = std::max(look_.least_text_px, share * em);
            const Rect words = plate_at({0.0, 0.0}, size);
            struct Free {
                Rect plate;
                double gap = 0.0;
            };
            std::vector<Free> free;
            const double left = std::max(box.x - reach, within_.x), top = std::max(box.y - reach, within_.y);
            const double right = std::min(box.x + box.width + reach, within_.x + within_.width) - words.width;
            const double bottom = std::min(box.y + box.height + reach, within_.y + within_.height) - words.height;
            for (double y = top; y <= bottom; y += 0.4 * em)
                for (double x = left; x <= right; x += 0.4 * em) {
                    const Rect plate{x, y, words.width, words.height};
                    if (!ground.is_free(inset(plate, -0.25 * em)) || !places_.is_free(inset(plate, -0.15 * em)))
                        continue;
                    free.push_back({plate, gap_between(plate, box)});
                }
            std::stable_sort(free.begin(), free.end(), [](const Free& a, const Free& b) { return a.gap < b.gap; });
            if (free.size() > 400) free.resize(400);
            for (Free& place : free) place.gap = gap_between(place.plate, *named_.rings);
            const Free* best = nullptr;
            double least_cost = 1e300;
            for (const Free& place : free) {
                if (place.gap > std::min(reach, least_cost)) continue;
                const auto over = leader_over_ground(place.plate, anchor, ground);
                if (!over) continue;
                const double cost = place.gap + 2.0 * *over;
                if (cost >= least_cost) continue;
                least_cost = cost;
                best = &place;
            }
            if (best == nullptr) continue;
            lead(best->plate, anchor, best->gap);
            write(best->plate, size, with_alpha(look_.theme.paper, 0.9), look_.theme.ink);
            return true;
        }
        return false;
    }

 private:
    static constexpr double farthest_label_em = 11.0;

    Rect plate_at(Point middle_of_words, double size) const {
        double width = 0.0;
        for (const auto& line : lines_) width = std::max(width, painter_.text_width(line.words, size, line.weight));
        const double height = 1.15 * size * static_cast<double>(lines_.size());
        return {middle_of_words.x - 0.5 * width - 0.2 * size, middle_of_words.y - 0.5 * height - 0.05 * size,
                width + 0.4 * size, height + 0.1 * size};
    }

    void write(const Rect& plate, double size, Colour paper, Colour ink) {
        places_.reserve(plate);
        painter_.rect(plate, paper);
        double y = plate.y + 0.93 * size;
        for (const auto& line : lines_) {
            painter_.text({plate.x + 0.5 * plate.width, y}, line.words, size, ink, Align::centre, line.weight);
            y += 1.15 * size;
        }
    }

    /// Where a line ends in the field: the roomiest place that no mark covers, else one of its own marks, or a place,
    /// that is seen; none where the marks of others cover all of it.
    std::optional<Point> anchor_in_field() const {
        for (const Candidate& candidate : candidates_) {
            const Point p = candidate.place;
            if (places_.is_free({p.x - 2.0, p.y - 2.0, 4.0, 4.0})) return p;
        }
        for (auto mark = named_.marks.rbegin(); mark != named_.marks.rend(); ++mark) {
            if (!marks_.is_of_another(middle(mark->box), named_.rings)) return middle(mark->box);
        }
        for (const Candidate& candidate : candidates_) {
            if (!marks_.is_of_another(candidate.place, named_.rings)) return candidate.place;
        }
        return std::nullopt;
    }

    /// How far the line to a plate runs over the ground of other fields; nullopt where it would cross a label, a mark
    /// or another line.
    std::optional<double> leader_over_ground(const Rect& plate, Point anchor, const FieldGround& ground) const {
        const Point from = nearest_on(plate, anchor);
        const double length = std::hypot(anchor.x - from.x, anchor.y - from.y), step = 3.0;
        double over = 0.0;
        for (double s = step; s < length; s += step) {
            const Point p{from.x + (anchor.x - from.x) * s / length, from.y + (anchor.y - from.y) * s / length};
            if (marks_.is_of_another(p, named_.rings)) return std::nullopt;
            if (inside_rings(*named_.rings, p) ||
                std::hypot(anchor.x - p.x, anchor.y - p.y) < 1.5 * speck_reach(look_) + step)
                continue;
            const Rect spot{p.x - 1.5, p.y - 1.5, 3.0, 3.0};
            if (!places_.is_free(spot)) return std::nullopt;
            if (ground.in(spot) > 0) over += step;
        }
        return over;
    }

    /// A thin line into the field, unless the words stand so near that they can be no other's.
    void lead(const Rect& plate, Point anchor, double gap) {
        const double em = look_.text_px;
        if (gap < 0.8 * em && std::none_of(all_.begin(), all_.end(), [&](const FieldToName& other) {
                return other.rings != named_.rings && gap_between(plate, box_of_rings(*other.rings)) < gap + 0.9 * em &&
                       gap_between(plate, *other.rings) < gap + 0.9 * em;
            }))
            return;
        const Point from = nearest_on(plate, anchor);
        const double thin = std::max(look_.hairline_px, em / 15.0);
        painter_.polyline({from, anchor}, with_alpha(look_.theme.paper, 0.85), 3.0 * thin);
        painter_.polyline({from, anchor}, with_alpha(look_.theme.ink, 0.9), thin);
        painter_.disc(anchor, 1.7 * thin, look_.theme.paper);
        painter_.disc(anchor, 1.2 * thin, look_.theme.ink);
        const double length = std::hypot(anchor.x - from.x, anchor.y - from.y);
        for (double s = 0.0; s <= length; s += 3.0) {
            const double share = length > 0.0 ? s / length : 0.0;
            places_.reserve(
                {from.x + (anchor.x - from.x) * share - 1.5, from.y + (anchor.y - from.y) * share - 1.5, 3.0, 3.0});
        }
    }

    Painter& painter_;
    const std::vector<FieldToName>& all_;
    const MarkGround& marks_;
    const FieldToName& named_;
    const Rect& within_;
    const Look& look_;
    LabelPlaces& places_;
    std::vector<LabelLine> lines_;
    std::vector<Candidate> candidates_;
};

}  // namespace

namespace {
constexpr std::size_t most_sought_outside = 150;  // the most urgent first
}

std::vector<MapKeyLine> draw_field_names(Painter& painter, std::vector<FieldToName> fields, const MapFigure& figure,
                                         const Rect& within, std::optional<int> numbers_from, const Look& look,
                                         LabelPlaces& places) {
    const FieldGround ground(painter, fields, within);
    const MarkGround marks(painter, fields, within);
    std::stable_sort(fields.begin(), fields.end(), [&](const FieldToName& a, const FieldToName& b) {
        const auto order = [&](const FieldToName& f) { return std::pair{f.chosen, urgency_of(*f.field, figure)}; };
        return order(a) > order(b);
    });
    // What fits into its own field is written first: it takes no place from any other.
    std::vector<FieldName> outside, left_out;
    for (const FieldToName& field : fields) {
        FieldName name(painter, fields, marks, field, figure, within, look, places);
        if (!name.has_words() || !name.in_sight()) continue;
        if (field.mapped || !name.write_inside()) outside.push_back(std::move(name));
    }
    // Each of them is looked for all around its field. On a map of thousands there is no room for most, and all the
    // time would be spent on finding that out.
    std::size_t sought = 0;
    for (FieldName& name : outside) {
        const bool beside = sought++ < most_sought_outside && name.write_outside(ground);
        if (!beside && !name.write_inside(0.55)) left_out.push_back(std::move(name));
    }
    std::vector<MapKeyLine> key;
    int last = numbers_from.value_or(1) - 1;
    for (FieldName& name : left_out) {
        MapKeyLine line = name.key_line();
        if (numbers_from && name.write_number(last + 1)) line.number = ++last;
        key.push_back(std::move(line));
    }
    return key;
}

}  // namespace app::drawing
