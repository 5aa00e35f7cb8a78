#include "app/drawing/chart.h"

#include <algorithm>
#include <cmath>

namespace app::drawing {

namespace {

// Of a line of text, in sizes of it: how high capitals stand over the baseline and how deep descenders hang.
constexpr double capitals = 0.74;
constexpr double descenders = 0.22;

bool starts_letter(char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0) != 0x80;
}

/// The longest beginning of `words` that is no wider, cut between letters; one letter at least.
std::size_t fitting_length(const Painter& painter, std::string_view words, double size, double width, Weight weight) {
    std::vector<std::size_t> ends;
    for (std::size_t i = 1; i <= words.size(); ++i)
        if (i == words.size() || starts_letter(words[i])) ends.push_back(i);
    if (ends.empty()) return 0;
    std::size_t low = 0, high = ends.size();  // ends[low] is taken, ends[high] is too much
    while (high - low > 1) {
        const std::size_t mid = (low + high) / 2;
        (painter.text_width(words.substr(0, ends[mid]), size, weight) <= width ? low : high) = mid;
    }
    return ends[low];
}

void wrap_one_paragraph(const Painter& painter, std::string_view words, double size, double width, Weight weight,
                        std::vector<std::string>& lines) {
    std::string line;
    std::size_t at = 0;
    while (at < words.size()) {
        const std::size_t from = words.find_first_not_of(' ', at);
        if (from == std::string_view::npos) break;
        std::size_t to = std::min(words.find(' ', from), words.size());
        // A percent sign stays with its number.
        if (words.substr(to).starts_with(" %")) to = std::min(words.find(' ', to + 1), words.size());
        std::string_view word = words.substr(from, to - from);
        at = to;
        const std::string longer = line.empty() ? std::string(word) : line + ' ' + std::string(word);
        if (painter.text_width(longer, size, weight) <= width) {
            line = longer;
            continue;
        }
        if (!line.empty()) lines.push_back(std::move(line));
        while (painter.text_width(word, size, weight) > width) {
            const std::size_t length = fitting_length(painter, word, size, width, weight);
            if (length == word.size()) break;
            lines.emplace_back(word.substr(0, length));
            word.remove_prefix(length);
        }
        line = std::string(word);
    }
    lines.push_back(std::move(line));
}

/// Asks about every square of the picture that the box touches, until an answer is no.
template <typename Ask>
bool squares_under(const Rect& box, double square_px, const Ask& ask) {
    const auto number = [square_px](double at) {
        return static_cast<std::int64_t>(std::floor(std::clamp(at / square_px, -1e6, 1e6)));
    };
    for (std::int64_t row = number(box.y); row <= number(box.y + box.height); ++row)
        for (std::int64_t column = number(box.x); column <= number(box.x + box.width); ++column)
            if (!ask((row << 32) + column)) return false;
    return true;
}

}  // namespace

Rect inset(const Rect& area, double margin) {
    return {area.x + margin, area.y + margin, std::max(0.0, area.width - 2.0 * margin),
            std::max(0.0, area.height - 2.0 * margin)};
}

double kept_between(double value, double low, double high) {
    return std::max(low, std::min(value, high));
}

bool overlap(const Rect& a, const Rect& b) {
    return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

bool holds(const Rect& outer, const Rect& inner) {
    constexpr double slack = 1e-6;
    return inner.x >= outer.x - slack && inner.y >= outer.y - slack &&
           inner.x + inner.width <= outer.x + outer.width + slack &&
           inner.y + inner.height <= outer.y + outer.height + slack;
}

Point middle(const Rect& area) {
    return {area.x + 0.5 * area.width, area.y + 0.5 * area.height};
}

Rect text_box(const Painter& painter, Point baseline, std::string_view words, double size, Align align, Weight weight) {
    const double width = painter.text_width(words, size, weight);
    const double share = align == Align::left ? 0.0 : align == Align::centre ? 0.5 : 1.0;
    return {baseline.x - share * width, baseline.y - capitals * size, width, (capitals + descenders) * size};
}

std::vector<std::string> wrapped(const Painter& painter, std::string_view words, double size, double width,
                                 Weight weight) {
    std::vector<std::string> lines;
    for (std::size_t at = 0; at <= words.size() && !words.empty();) {
        const std::size_t end = std::min(words.find('\n', at), words.size());
        wrap_one_paragraph(painter, words.substr(at, end - at), size, width, weight, lines);
        at = end + 1;
    }
    return lines;
}

std::string shortened(const Painter& painter, std::string_view words, double size, double width, Weight weight) {
    constexpr std::string_view dots = "…";
    if (painter.text_width(words, size, weight) <= width) return std::string(words);
    const double room = width - painter.text_width(dots, size, weight);
    if (room <= 0.0) return "";
    std::string kept(words.substr(0, fitting_length(painter, words, size, room, weight)));
    if (painter.text_width(kept, size, weight) > room) return "";
    while (!kept.empty() && (kept.back() == ' ' || kept.back() == ',')) kept.pop_back();
    return kept + std::string(dots);
}

double paragraph(Painter& painter, double x, double top, std::string_view words, double size, double width, Colour ink,
                 Weight weight, int lines) {
    auto all = wrapped(painter, words, size, width, weight);
    if (static_cast<int>(all.size()) > lines) {
        // What is left over is put on the last line, which is then cut where it would be too wide.
        const auto kept = static_cast<std::size_t>(std::max(lines, 0));
        std::string last;
        for (std::size_t i = kept > 0 ? kept - 1 : 0; i < all.size(); ++i) last += (last.empty() ? "" : " ") + all[i];
        all.resize(kept);
        if (kept > 0) all.back() = shortened(painter, last, size, width, weight);
    }
    for (const auto& line : all) {
        painter.text({x, top + 0.98 * size}, line, size, ink, Align::left, weight);
        top += line_height * size;
    }
    return top;
}

std::vector<double> spread_apart(const std::vector<double>& wanted, double gap, double low, double high) {
    const auto count = static_cast<double>(wanted.size());
    if (wanted.size() > 1) gap = std::min(gap, std::max(0.0, high - low) / (count - 1.0));
    // With the gaps taken out the places have only to stay in order: runs that do not are pooled to their mean.
    struct Run {
        double sum;
        double members;
        double mean() const { return sum / members; }
    };
    std::vector<Run> runs;
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        runs.push_back({wanted[i] - gap * static_cast<double>(i), 1.0});
        while (runs.size() > 1 && runs[runs.size() - 2].mean() >= runs.back().mean()) {
            const Run last = runs.back();
            runs.pop_back();
            runs.back().sum += last.sum;
            runs.back().members += last.members;
        }
    }
    std::vector<double> places;
    for (const Run& run : runs) {
        const double place = kept_between(run.mean(), low, high - gap * (count - 1.0));
        for (double member = 0.0; member < run.members; member += 1.0)
            places.push_back(place + gap * static_cast<double>(places.size()));
    }
    return places;
}

bool LabelPlaces::is_free(const Rect& box) const {
    return squares_under(box, square_px, [&](std::int64_t square) {
        const auto found = taken_.find(square);
        return found == taken_.end() || std::none_of(found->second.begin(), found->second.end(),
                                                     [&](const Rect& other) { return overlap(box, other); });
    });
}

void LabelPlaces::reserve(const Rect& box) {
    squares_under(box, square_px, [&](std::int64_t square) {
        taken_[square].push_back(box);
        return true;
    });
}

bool LabelPlaces::claim(const Rect& box) {
    if (!is_free(box)) return false;
    reserve(box);
    return true;
}

FrameRoom frame_room(const Painter& painter, const std::vector<Tick>& left_ticks, const Look& look) {
    const double size = 0.9 * look.text_px;
    double widest = 0.0;
    for (const auto& tick : left_ticks) widest = std::max(widest, painter.text_width(tick.label, size));
    return {widest + 0.9 * look.text_px + line_height * look.text_px, 1.7 * size + line_height * look.text_px};
}

void draw_frame(Painter& painter, const Rect& plot, const Axis& bottom, const Axis& left, const Look& look) {
    const Theme& theme = look.theme;
    const double size = 0.9 * look.text_px, thin = std::max(look.hairline_px, look.text_px / 16.0),
                 tick_px = 0.35 * look.text_px;
    const double floor_y = plot.y + plot.height, right_x = plot.x + plot.width;
    LabelPlaces places;
    for (const auto& tick : bottom.ticks) {
        const double x = bottom.scale.px(tick.value);
        if (x < plot.x - 0.5 || x > right_x + 0.5) continue;
        const bool labelled = !tick.label.empty();
        if (labelled) painter.polyline({{x, plot.y}, {x, floor_y}}, with_alpha(theme.line, 0.6), thin);
        painter.polyline({{x, floor_y}, {x, floor_y + (labelled ? tick_px : 0.5 * tick_px)}}, theme.soft_ink, thin);
        if (!labelled) continue;
        const Point baseline{x, floor_y + tick_px + 1.05 * size};
        Rect box = text_box(painter, baseline, tick.label, size, Align::centre, Weight::regular);
        box.x -= 0.3 * size;
        box.width += 0.6 * size;
        if (places.claim(box)) painter.text(baseline, tick.label, size, theme.soft_ink, Align::centre);
    }
    double widest = 0.0;
    for (const auto& tick : left.ticks) {
        const double y = left.scale.px(tick.value);
        if (y < plot.y - 0.5 || y > floor_y + 0.5) continue;
        const bool labelled = !tick.label.empty();
        if (labelled) painter.polyline({{plot.x, y}, {right_x, y}}, with_alpha(theme.line, 0.6), thin);
        painter.polyline({{plot.x, y}, {plot.x - (labelled ? tick_px : 0.5 * tick_px), y}}, theme.soft_ink, thin);
        if (!labelled) continue;
        const Point baseline{plot.x - tick_px - 0.25 * size, y + 0.35 * size};
        if (!places.claim(text_box(painter, baseline, tick.label, size, Align::right, Weight::regular))) continue;
        painter.text(baseline, tick.label, size, theme.soft_ink, Align::right);
        widest = std::max(widest, painter.text_width(tick.label, size));
    }
    painter.outline(plot, theme.soft_ink, thin);
    painter.text({plot.x + 0.5 * plot.width, floor_y + tick_px + 1.2 * size + line_height * look.text_px},
                 shortened(painter, bottom.title, look.text_px, plot.width), look.text_px, theme.ink, Align::centre);
    painter.vertical_text({plot.x - tick_px - 0.7 * size - widest, plot.y + 0.5 * plot.height},
                          shortened(painter, left.title, look.text_px, plot.height), look.text_px, theme.ink);
}

void draw_empty(Painter& painter, const Rect& area, std::string_view sentence, const Look& look) {
    const double size = 1.1 * look.text_px, width = std::min(area.width - 2.0 * look.text_px, 36.0 * look.text_px);
    const auto lines = wrapped(painter, sentence, size, std::max(width, 4.0 * look.text_px));
    double y = area.y + 0.5 * (area.height - line_height * size * static_cast<double>(lines.size())) + size;
    for (const auto& line : lines) {
        painter.text({area.x + 0.5 * area.width, y}, line, size, look.theme.soft_ink, Align::centre);
        y += line_height * size;
    }
}

std::vector<std::vector<Point>> hatch_lines(const std::vector<std::vector<Point>>& rings, double spacing) {
    std::vector<std::vector<Point>> lines;
    if (!(spacing > 0.0)) return lines;
    // Along a line x + y = c only x counts. An edge crosses it where c lies between the sums of its ends; counting the
    // lower end in and the upper out gives an even number of crossings.
    double least = 1e300, most = -1e300;
    for (const auto& ring : rings)
        for (const auto& p : ring) {
            least = std::min(least, p.x + p.y);
            most = std::max(most, p.x + p.y);
        }
    const double step = spacing * std::sqrt(2.0);
    const double first = std::ceil(least / step) * step;
    if (!(most - least < 1e5 * step)) return lines;
    std::vector<double> crossings;
    for (double c = first; c <= most; c += step) {
        crossings.clear();
        for (const auto& ring : rings) {
            for (std::size_t i = 0; i < ring.size(); ++i) {
                const Point &a = ring[i], &b = ring[(i + 1) % ring.size()];
                const double from = a.x + a.y, to = b.x + b.y;
                if ((from <= c) == (to <= c)) continue;
                crossings.push_back(a.x + (b.x - a.x) * (c - from) / (to - from));
            }
        }
        std::sort(crossings.begin(), crossings.end());
        for (std::size_t i = 0; i + 1 < crossings.size(); i += 2)
            lines.push_back({{crossings[i], c - crossings[i]}, {crossings[i + 1], c - crossings[i + 1]}});
    }
    return lines;
}

void hatch(Painter& painter, const std::vector<std::vector<Point>>& rings, double spacing, Colour line, double width) {
    for (const auto& piece : hatch_lines(rings, spacing)) painter.polyline(piece, line, width);
}

void draw_interval(Painter& painter, const Scale& scale, double y, double thickness, const Interval& interval,
                   Colour fill, const Look& look) {
    const double left = std::min(scale.from_px, scale.to_px), right = std::max(scale.from_px, scale.to_px);
    const auto px = [&](double value) {
        return scale.logarithmic && value <= 0.0 ? scale.from_px : kept_between(scale.px(value), left, right);
    };
    const double from = px(interval.low90), to = px(interval.high90);
    const double thin = std::max(1.5 * look.hairline_px, 0.22 * thickness);
    painter.rect({std::min(from, to), y - 0.5 * thin, std::abs(to - from), thin}, look.theme.soft_ink);
    if (interval.high50 > 0.0) {
        const double a = px(interval.low50), b = px(interval.high50);
        painter.rect({std::min(a, b), y - 0.3 * thickness, std::abs(b - a), 0.6 * thickness}, look.theme.soft_ink);
    }
    const double radius = 0.5 * thickness;
    painter.disc({px(interval.median), y}, radius + std::max(look.hairline_px, 0.12 * thickness), look.theme.ink);
    painter.disc({px(interval.median), y}, radius, fill);
}

}  // namespace app::drawing
