#include "app/drawing/figures/bin_layers.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "app/drawing/content_unit.h"
#include "app/drawing/numbers.h"
#include "app/words.h"

namespace app::drawing {

double least_name_px(const Look& look) {
    return std::max({look.least_text_px, 0.66 * look.text_px, std::min(9.0, 0.85 * look.text_px)});
}

double mass_of(const BinDrawing& bin) {
    double mass_t = 0.0;
    for (const auto& layer : bin.layers) mass_t += layer.mass_t;
    return mass_t;
}

std::vector<BinLayer> blocks_of(const BinDrawing& bin) {
    if (bin.layered || bin.layers.size() < 2) return bin.layers;
    return {{spoken(words::bin_mixed, bin.layers.size()), mass_of(bin), bin.mean_mg_per_kg, bin.low90_mg_per_kg,
             bin.high90_mg_per_kg}};
}

namespace {

double height_of_layer(const BinLayer& layer, const BinDrawing& bin, const Rect& body) {
    const double full = std::max(bin.capacity_t, mass_of(bin));
    return full > 0.0 ? body.height * layer.mass_t / full : 0.0;
}

/// Names beside the layers, as near to them as they can stand; where even the smallest have no room, the thickest
/// layers keep theirs, and that with the most DON, and the others are counted.
void spread_names(LayerStack& stack, const Rect& body, const Look& look) {
    const auto count = static_cast<double>(stack.layers.size());
    stack.name_px = std::clamp(body.height / (name_pitch * count), least_name_px(look),
                               std::max(least_name_px(look), 0.85 * look.text_px));
    const double pitch = name_pitch * stack.name_px;
    const auto room = static_cast<std::size_t>(std::max(1.0, body.height / pitch + 1e-6));
    if (stack.layers.size() > room) {
        std::vector<DrawnLayer*> first;
        for (DrawnLayer& layer : stack.layers) first.push_back(&layer);
        const auto content = [](const DrawnLayer* layer) { return layer->grain.median_mg_per_kg.value_or(-1.0); };
        const DrawnLayer* highest = *std::max_element(
            first.begin(), first.end(), [&](const auto* a, const auto* b) { return content(a) < content(b); });
        std::stable_sort(first.begin(), first.end(), [&](const DrawnLayer* a, const DrawnLayer* b) {
            if ((a == highest) != (b == highest)) return a == highest;
            return a->band.height > b->band.height;
        });
        const std::size_t named = room - 1;  // one row counts the others
        for (std::size_t i = 0; i < first.size(); ++i) first[i]->named = i < named;
        stack.unnamed = static_cast<int>(stack.layers.size() - named);
    }
    std::vector<double> wanted;
    for (const DrawnLayer& layer : stack.layers)
        if (layer.named) wanted.push_back(body.y + body.height - layer.row_y);
    const double top = body.height - (stack.unnamed > 0 ? 1.5 : 0.5) * pitch;
    const std::vector<double> places = spread_apart(wanted, pitch, 0.5 * pitch, top);
    std::size_t next = 0;
    for (DrawnLayer& layer : stack.layers)
        if (layer.named) layer.row_y = body.y + body.height - places[next++];
}

constexpr double least_letters_em = 2.0;  // of a name that is cut for its number: three letters

std::string number_of(const BinLayer& grain) {
    return grain.median_mg_per_kg ? content_text(*grain.median_mg_per_kg) : "?";
}

/// Whether a name, and the number where one stands beside it, fits into its own band: in one line, or in two without
/// breaking a word.
bool fits_inside(const Painter& painter, const DrawnLayer& layer, const LayerStack& stack, double size,
                 const Rect& body, const Look& look) {
    const double em = look.text_px, height = layer.band.height;
    const double number =
        stack.numbers ? painter.text_width(number_of(layer.grain), size, Weight::bold) + 0.5 * em : 0.0;
    const double width = body.width - number - 0.7 * em;
    if (height < 1.05 * size) return false;
    if (painter.text_width(layer.grain.load, size) <= width) return true;
    const auto lines = wrapped(painter, layer.grain.load, size, std::max(width, size));
    return lines.size() == 2 && height > 2.45 * size && lines[0] + " " + lines[1] == layer.grain.load;
}

/// The largest size in which every name fits into its own band; the least where none does.
double name_size_inside(const Painter& painter, const LayerStack& stack, const Rect& body, const Look& look) {
    const double least = least_name_px(look);
    double size = std::max(least, 0.85 * look.text_px);
    const auto all_fit = [&] {
        return std::all_of(stack.layers.begin(), stack.layers.end(), [&](const DrawnLayer& layer) {
            return fits_inside(painter, layer, stack, size, body, look);
        });
    };
    while (size > least && !all_fit()) size = std::max(least, size - 0.5);
    return size;
}

}  // namespace

bool wants_names_beside(const BinDrawing& bin, const Rect& body, const Look& look) {
    const std::vector<BinLayer> blocks = blocks_of(bin);
    return blocks.size() > 1 && std::any_of(blocks.begin(), blocks.end(), [&](const BinLayer& layer) {
               return height_of_layer(layer, bin, body) < 1.1 * least_name_px(look);
           });
}

LayerStack stack_of(const Painter& painter, const BinDrawing& bin, const BinCell& cell, const Look& look) {
    LayerStack stack;
    double floor_y = cell.body.y + cell.body.height;
    for (BinLayer& block : blocks_of(bin)) {
        const double height = height_of_layer(block, bin, cell.body);
        floor_y -= height;
        stack.layers.push_back(
            {std::move(block), {cell.body.x, floor_y, cell.body.width, height}, floor_y + 0.5 * height, true});
    }
    stack.names_beside = cell.names.width > 0.0;
    if (stack.names_beside) {
        spread_names(stack, cell.body, look);
        // A number tells more than the end of a name: it stands wherever it leaves the name's first letters room.
        stack.numbers = std::all_of(stack.layers.begin(), stack.layers.end(), [&](const DrawnLayer& layer) {
            return least_letters_em * stack.name_px + 0.4 * stack.name_px +
                       painter.text_width(number_of(layer.grain), stack.name_px, Weight::bold) <=
                   cell.names.width - name_indent_em * look.text_px;
        });
    } else {
        // Of grain that lies mixed the mean is told below the bin.
        stack.numbers = bin.layers.size() == stack.layers.size();
        stack.name_px = name_size_inside(painter, stack, cell.body, look);
        if (stack.numbers && !std::all_of(stack.layers.begin(), stack.layers.end(), [&](const DrawnLayer& layer) {
                return least_letters_em * stack.name_px + 1.2 * look.text_px +
                           painter.text_width(number_of(layer.grain), stack.name_px, Weight::bold) <=
                       cell.body.width;
            })) {
            stack.numbers = false;
            stack.name_px = name_size_inside(painter, stack, cell.body, look);
        }
    }
    return stack;
}

namespace {

void draw_name_inside(Painter& painter, const DrawnLayer& layer, const LayerStack& stack, Colour fill,
                      const Look& look) {
    const Rect& band = layer.band;
    const double em = look.text_px, size = stack.name_px;
    if (band.height < 1.05 * size) return;
    const Colour ink = readable_ink_on(fill);
    const double left = band.x + 0.35 * em, middle_y = band.y + 0.5 * band.height;
    double width = band.width - 0.7 * em;
    if (stack.numbers) {
        const std::string number = number_of(layer.grain);
        painter.text({left + width, middle_y + 0.35 * size}, number, size, ink, Align::right, Weight::bold);
        width -= painter.text_width(number, size, Weight::bold) + 0.5 * em;
    }
    const bool two =
        painter.text_width(layer.grain.load, size) > width && fits_inside(painter, layer, stack, size, band, look);
    if (two)
        paragraph(painter, left, middle_y - line_height * size, layer.grain.load, size, width, ink, Weight::regular, 2);
    else
        painter.text({left, middle_y + 0.35 * size}, shortened(painter, layer.grain.load, size, width), size, ink);
}

/// The name at the end of a line that leads to its layer.
void draw_name_beside(Painter& painter, const DrawnLayer& layer, const LayerStack& stack, const BinCell& cell,
                      const Look& look) {
    const double em = look.text_px, size = stack.name_px, thin = std::max(look.hairline_px, em / 16.0);
    const double edge = cell.names.x, x = edge + name_indent_em * em, right = edge + cell.names.width;
    const double middle_y = layer.band.y + 0.5 * layer.band.height, baseline = layer.row_y + 0.35 * size;
    painter.polyline({{edge, middle_y}, {x - 0.25 * em, layer.row_y}, {x - 0.05 * em, layer.row_y}},
                     look.theme.soft_ink, thin);
    double width = right - x;
    if (stack.numbers) {
        const std::string number = number_of(layer.grain);
        painter.text({right, baseline}, number, size, look.theme.ink, Align::right, Weight::bold);
        width -= painter.text_width(number, size, Weight::bold) + 0.4 * size;
    }
    painter.text({x, baseline}, shortened(painter, layer.grain.load, size, width), size, look.theme.ink);
}

}  // namespace

void draw_layers(Painter& painter, const BinDrawing& bin, const BinCell& cell, const ContentScale& scale,
                 const Scale& axis, const Look& look) {
    const Theme& theme = look.theme;
    const double em = look.text_px, thin = std::max(look.hairline_px, em / 16.0);
    const LayerStack stack = stack_of(painter, bin, cell, look);
    for (const DrawnLayer& layer : stack.layers) {
        const Rect& band = layer.band;
        const Colour fill =
            layer.grain.median_mg_per_kg ? scale.colour(*layer.grain.median_mg_per_kg, theme) : theme.unknown;
        painter.rect(band, fill);
        painter.polyline({{band.x, band.y}, {band.x + band.width, band.y}}, theme.paper, 1.5 * thin);
        if (!stack.names_beside)
            draw_name_inside(painter, layer, stack, fill, look);
        else if (layer.named)
            draw_name_beside(painter, layer, stack, cell, look);
        if (!layer.grain.median_mg_per_kg) continue;
        const double median = *layer.grain.median_mg_per_kg;
        const double thickness = stack.names_beside ? 0.7 * stack.name_px : std::min(0.5 * em, 0.7 * band.height);
        if (layer.named)
            draw_interval(painter, axis, layer.row_y, thickness,
                          {median, layer.grain.low90_mg_per_kg.value_or(median),
                           layer.grain.high90_mg_per_kg.value_or(median), 0.0, 0.0},
                          fill, look);
    }
    if (stack.unnamed > 0)
        painter.text({cell.names.x + name_indent_em * em, cell.body.y + 0.85 * stack.name_px},
                     shortened(painter, spoken(words::bin_unnamed_layers, stack.unnamed), stack.name_px,
                               cell.names.width - name_indent_em * em),
                     stack.name_px, theme.soft_ink);
}

void draw_would_be(Painter& painter, const BinDrawing& bin, const BinCell& cell, const ContentScale& scale,
                   const Scale& axis, const Look& look) {
    const BinLayer& load = *bin.would_be;
    const double em = look.text_px, lies_t = mass_of(bin), full = std::max(bin.capacity_t, lies_t);
    if (!(full > 0.0) || cell.body.height <= 0.0) return;
    const double floor_y = cell.body.y + cell.body.height * (1.0 - lies_t / full);
    const double height = std::max(cell.body.height * load.mass_t / full, 0.35 * em);
    const double top = std::max(cell.body.y, floor_y - height);
    const Rect band{cell.body.x, top, cell.body.width, std::max(floor_y - top, 0.35 * em)};
    const Colour fill = load.median_mg_per_kg ? scale.colour(*load.median_mg_per_kg, look.theme) : look.theme.unknown;
    const Point left_top{band.x, band.y}, right_top{band.x + band.width, band.y},
        right_floor{band.x + band.width, band.y + band.height}, left_floor{band.x, band.y + band.height};
    painter.rect(band, with_alpha(fill, 0.35));
    painter.polyline({left_top, right_top, right_floor, left_floor}, look.theme.accent,
                     std::max(2.0 * look.hairline_px, em / 7.0), true, true);
    // Its name inside, beside where those of the layers stand there, or above; a plate keeps what lies behind from
    // being read with it.
    const bool beside = cell.names.width > 0.0;
    const double size = std::max(least_name_px(look), 0.85 * em), x = beside ? cell.names.x + 0.15 * em : band.x;
    const double room = (beside ? cell.names.width : cell.body.width) - 0.4 * em;
    const std::string name = shortened(painter, load.load, size, room, Weight::bold);
    const bool within = beside || band.height > 1.3 * size;
    double baseline = within                              ? band.y + 0.5 * band.height + 0.35 * size
                      : band.y - 1.3 * size > cell.body.y ? band.y - 0.35 * size
                                                          : band.y + band.height + 1.05 * size;
    if (beside) {  // above the names of the layers, where these reach higher than their layers
        const LayerStack stack = stack_of(painter, bin, cell, look);
        for (const DrawnLayer& layer : stack.layers)
            if (layer.named) baseline = std::min(baseline, layer.row_y - 0.55 * stack.name_px - 0.3 * size);
        baseline = std::max(baseline, cell.body.y + 0.9 * size);
    }
    if (beside || !within)
        painter.rect({x, baseline - size, painter.text_width(name, size, Weight::bold) + 0.5 * em, 1.3 * size},
                     with_alpha(look.theme.paper, 0.85));
    painter.text({x + 0.25 * em, baseline}, name, size, look.theme.ink, Align::left, Weight::bold);
    if (!load.median_mg_per_kg) return;
    const double median = *load.median_mg_per_kg;
    draw_interval(painter, axis, band.y + 0.5 * band.height, 0.5 * em,
                  {median, load.low90_mg_per_kg.value_or(median), load.high90_mg_per_kg.value_or(median), 0.0, 0.0},
                  fill, look);
}

const BinLayer* layer_under(const LayerStack& stack, const BinCell& cell, Point px) {
    const bool over_body = px.x < cell.body.x + cell.body.width;
    for (const DrawnLayer& layer : stack.layers) {
        const double half =
            stack.names_beside && !over_body ? 0.5 * name_pitch * stack.name_px : 0.5 * layer.band.height;
        const double y = stack.names_beside && !over_body ? layer.row_y : layer.band.y + half;
        if (std::abs(px.y - y) <= half) return &layer.grain;
    }
    return nullptr;
}

}  // namespace app::drawing
