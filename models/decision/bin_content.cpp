#include "models/decision/bin_content.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string_view>
#include <unordered_map>

#include <fmt/format.h>

#include "models/decision/bins_at_times.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace bin_content_parts {

std::string tonnes(std::int64_t mass_g) {
    std::string text = fmt::format("{:.3f}", static_cast<double>(mass_g) * 1e-6);
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text += '0';
    return text + " t";
}

std::int64_t sum_g(const std::vector<GrainPortion>& portions) {
    return std::accumulate(portions.begin(), portions.end(), std::int64_t{0},
                           [](std::int64_t sum, const GrainPortion& portion) { return sum + portion.mass_g; });
}

void add_to(std::vector<GrainPortion>& portions, const GrainPortion& more) {
    if (more.mass_g == 0) return;
    const auto same = std::find_if(portions.begin(), portions.end(),
                                   [&](const GrainPortion& portion) { return portion.source == more.source; });
    if (same == portions.end()) {
        portions.push_back(more);
    } else {
        same->mass_g += more.mass_g;
    }
}

void drop_empty(BinContent& content) {
    for (Layer& layer : content.layers) std::erase_if(layer.portions, [](const auto& p) { return p.mass_g == 0; });
    std::erase_if(content.layers, [](const Layer& layer) { return layer.portions.empty(); });
}

/// How many grams of each heap make up `take` grams of all together, in proportion, whole grams, exact in sum: each
/// share rounded down, then the grams still missing go to those that lost most by rounding.
std::vector<std::int64_t> in_proportion(const std::vector<std::int64_t>& heaps, std::int64_t take) {
    const std::int64_t all = std::accumulate(heaps.begin(), heaps.end(), std::int64_t{0});
    if (take >= all) return heaps;
    std::vector<std::int64_t> shares(heaps.size());
    std::vector<double> lost(heaps.size());
    std::int64_t missing = take;
    for (std::size_t i = 0; i < heaps.size(); ++i) {
        const double exact = static_cast<double>(heaps[i]) * (static_cast<double>(take) / static_cast<double>(all));
        shares[i] = std::clamp<std::int64_t>(static_cast<std::int64_t>(std::floor(exact)), 0, heaps[i]);
        lost[i] = exact - static_cast<double>(shares[i]);
        missing -= shares[i];
    }
    std::vector<std::size_t> order(heaps.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return lost[a] > lost[b]; });
    while (missing != 0) {
        for (const std::size_t i : order) {
            if (missing > 0 && shares[i] < heaps[i]) {
                ++shares[i];
                --missing;
            } else if (missing < 0 && shares[i] > 0) {
                --shares[i];
                ++missing;
            }
        }
    }
    return shares;
}

/// Takes grams out of one layer, in proportion to what is in it.
Layer take_from_layer(Layer& layer, std::int64_t take_g) {
    std::vector<std::int64_t> heaps;
    for (const GrainPortion& portion : layer.portions) heaps.push_back(portion.mass_g);
    const std::vector<std::int64_t> shares = in_proportion(heaps, take_g);
    Layer taken;
    for (std::size_t i = 0; i < shares.size(); ++i) {
        add_to(taken.portions, {layer.portions[i].source, shares[i]});
        layer.portions[i].mass_g -= shares[i];
    }
    return taken;
}

/// Takes grams out of a bin; what comes first out is first in the answer. The bin holds at least so many.
std::vector<Layer> take_from_bin(BinContent& content, std::int64_t take_g, DrawOff rule) {
    std::vector<Layer> taken;
    if (rule == DrawOff::mixed || rule == DrawOff::unknown) {
        std::vector<std::int64_t> heaps;
        for (const Layer& layer : content.layers) heaps.push_back(layer.mass_g());
        const std::vector<std::int64_t> shares = in_proportion(heaps, take_g);
        Layer mixture;
        for (std::size_t i = 0; i < shares.size(); ++i) {
            for (const GrainPortion& portion : take_from_layer(content.layers[i], shares[i]).portions) {
                add_to(mixture.portions, portion);
            }
        }
        if (rule == DrawOff::unknown && content.layers.size() > 1) content.order_known = false;
        taken.push_back(std::move(mixture));
    } else {
        const bool from_top = rule == DrawOff::last_in;
        while (take_g > 0) {
            Layer& layer = from_top ? content.layers.back() : content.layers.front();
            const std::int64_t part = std::min(take_g, layer.mass_g());
            taken.push_back(take_from_layer(layer, part));
            take_g -= part;
            drop_empty(content);
        }
    }
    drop_empty(content);
    if (content.layers.empty()) content.order_known = true;
    return taken;
}

Layer mixed(const std::vector<Layer>& layers) {
    Layer mixture;
    std::unordered_map<std::string_view, std::size_t> place;  // of hundreds of loads each is looked for once
    place.reserve(layers.size());
    mixture.portions.reserve(layers.size());
    for (const Layer& layer : layers) {
        for (const GrainPortion& portion : layer.portions) {
            if (portion.mass_g == 0) continue;
            const auto [found, fresh] = place.try_emplace(portion.source, mixture.portions.size());
            if (fresh)
                mixture.portions.push_back(portion);
            else
                mixture.portions[found->second].mass_g += portion.mass_g;
        }
    }
    return mixture;
}

enum class Place { load, bin, out, unknown };

constexpr std::int64_t weighing_slack_g = 50'000;  // told in the header

/// The ledger while the moves are played.
class MovePlayer {
 public:
    MovePlayer(const std::vector<Bin>& bins, const std::vector<Load>& loads, bool tells_moves) : tells_(tells_moves) {
        for (const Bin& bin : bins) {
            if (!bins_.emplace(bin.bin, OfBin{&bin, ledger_.bins.size()}).second) {
                throw Error("the bin is listed twice", "bin " + bin.bin, "list each bin once");
            }
            if (!(bin.opening_mass_t >= 0.0) || !std::isfinite(bin.opening_mass_t)) {
                throw Error(fmt::format("an opening mass of {} t cannot lie in it", bin.opening_mass_t),
                            "bin " + bin.bin, "write 0 or more");
            }
            BinContent content;
            content.bin = bin.bin;
            if (const std::int64_t opening_g = grams_of(bin.opening_mass_t); opening_g > 0) {
                content.layers.push_back({{{opening_source(bin.bin), opening_g}}});
                ledger_.entered_g[opening_source(bin.bin)] += opening_g;
            }
            ledger_.bins.push_back(std::move(content));
        }
        loads_.reserve(loads.size());
        for (const Load& load : loads) {
            if (!loads_.emplace(load.load, OfLoad{&load}).second) {
                throw Error("the load is listed twice", "load " + load.load, "list each load once");
            }
            if (bins_.contains(load.load)) {
                throw Error("a load and a bin have the same name, so a move to it has no meaning", load.load,
                            "rename one of them");
            }
        }
    }

    void play(const Move& move) {
        const Place from = place_of(move, move.from);
        const Place to = place_of(move, move.to);
        if (!(move.mass_t > 0.0) || !std::isfinite(move.mass_t) || grams_of(move.mass_t) == 0) {
            throw Error(fmt::format("a mass of {} t cannot be moved", move.mass_t), where(move),
                        "write the mass that was moved, above 0");
        }
        const std::int64_t mass_g = grams_of(move.mass_t);
        std::vector<GrainPortion> met;
        if (tells_ && to == Place::bin) met = content_of(move.to).by_source();
        go(move, from, to, mass_g);
        if (tells_) ledger_.done.push_back({move.move, std::move(carried_), std::move(met)});
        carried_.clear();
    }

    void set_aside(const Move& move, const Error& why) {
        ledger_.impossible.push_back({move.move, why.what_happened(), why.how_to_mend()});
    }

    BinLedger ledger() && {
        for (const auto& [name, load] : loads_)
            if (load.entered) ledger_.entered_g[std::string(name)] += *load.entered;
        return std::move(ledger_);
    }
    /// What lies in a bin by the moves so far.
    const BinContent& now(std::size_t bin) const { return ledger_.bins[bin]; }

 private:
    struct OfBin {
        const Bin* bin = nullptr;
        std::size_t place = 0;  ///< among the bins
    };
    struct OfLoad {
        const Load* load = nullptr;
        std::int64_t used_g = 0;
        std::optional<std::int64_t> entered = std::nullopt;  ///< grams; nullopt: nothing of it was ever moved
    };

    void go(const Move& move, Place from, Place to, std::int64_t mass_g) {
        if (from == Place::load && to == Place::bin) return load_into_bin(move, mass_g);
        if (from == Place::load && to == Place::out) return load_turned_away(move, mass_g);
        if (from == Place::bin && to == Place::bin) return bin_into_bin(move, mass_g);
        if (from == Place::bin && to == Place::out) return bin_out(move, mass_g);
        if (from == Place::out && to == Place::bin) return back_into_bin(move, mass_g);
        refuse_ends(move);
    }

    static std::string where(const Move& move) { return "move " + move.move; }

    [[noreturn]] static void refuse_ends(const Move& move) {
        throw Error(phrase("grain cannot go from {} to {} in a move of this kind", move.from, move.to), where(move),
                    phrase("a load goes into a bin or out, a bin into a bin or out; only rejected and corrected moves "
                           "come from out"));
    }

    Place place_of(const Move& move, const std::string& name) const {
        if (name == "out") return Place::out;
        if (bins_.contains(name)) return Place::bin;
        if (loads_.contains(name)) return Place::load;
        std::vector<std::string> known{"out"};
        for (const auto& [bin, entry] : bins_) known.emplace_back(bin);
        std::sort(known.begin() + 1, known.end());
        const auto of_loads = static_cast<std::ptrdiff_t>(known.size());
        for (const auto& [load, entry] : loads_) known.emplace_back(load);
        std::sort(known.begin() + of_loads, known.end());
        const std::string nearest = nearest_name(name, known);
        throw Error(phrase("\"{}\" is no bin, no load and not \"out\"", name), where(move),
                    nearest.empty() ? phrase("add the bin or the load first") : phrase("did you mean {}?", nearest));
    }

    BinContent& content_of(const std::string& bin) { return ledger_.bins[bins_.at(bin).place]; }
    DrawOff rule_of(const std::string& bin) const { return bins_.at(bin).bin->draw_off; }

    /// A load gives what it weighs and no more. @returns what it gives
    std::int64_t use_of_load(const Move& move, std::int64_t mass_g, bool all_of_it_again) {
        OfLoad& load = loads_.at(move.from);
        const std::int64_t used = all_of_it_again ? 0 : load.used_g;
        if (load.load->net_t) {
            const std::int64_t net_g = grams_of(*load.load->net_t), left_g = net_g - used;
            if (left_g <= 0 || mass_g > left_g + weighing_slack_g) {
                const std::string there = all_of_it_again ? "" : where_it_went(move.from);
                throw Error(phrase("{} are to leave load {}, which has {} left of its {}{}", tonnes(mass_g), move.from,
                                   tonnes(std::max<std::int64_t>(left_g, 0)), tonnes(net_g),
                                   there.empty() ? "" : " (" + there + ")"),
                            where(move), phrase("correct the mass moved or the weight of the load"));
            }
            mass_g = std::min(mass_g, left_g);
        }
        if (all_of_it_again) take_back_load(move, load);
        load.used_g += mass_g;
        load.entered = load.entered.value_or(0) + mass_g;
        carried_ = {{move.from, mass_g}};
        return mass_g;
    }

    std::string where_it_went(const std::string& load) const {
        const std::string words = ledger_.where_is_in_words(load);
        const std::size_t colon = words.find(": ");
        return colon == std::string::npos ? words : words.substr(colon + 2);
    }

    /// What the bin gives of what it is asked for.
    std::int64_t from_bin(const Move& move, std::int64_t mass_g) {
        const std::int64_t there = content_of(move.from).mass_g();
        if (there == 0 || mass_g > there + weighing_slack_g) {
            throw Error(phrase("{} are to leave bin {}, in which {} lie", tonnes(mass_g), move.from,
                               there == 0 ? std::string("0.0 t") : tonnes(there)),
                        where(move),
                        phrase("correct the mass, or record first what is missing as a corrected move from out to {}",
                               move.from));
        }
        return std::min(mass_g, there);
    }

    void load_into_bin(const Move& move, std::int64_t mass_g) {
        const bool corrected = move.kind == MoveKind::corrected;
        if (!corrected && move.kind != MoveKind::dumped && move.kind != MoveKind::rejected) refuse_ends(move);
        if (corrected) must_not_be_gone(move);
        mass_g = use_of_load(move, mass_g, corrected);
        content_of(move.to).layers.push_back({{{move.from, mass_g}}});
    }

    void must_not_be_gone(const Move& move) const {
        for (const OutboundLot& lot : ledger_.outbound) {
            for (const GrainPortion& portion : lot.portions) {
                if (portion.source == move.from && portion.mass_g > 0) {
                    throw Error(phrase("load {} cannot be taken back from where it was recorded: {} of it went "
                                       "out with move {}",
                                       move.from, tonnes(portion.mass_g), lot.move),
                                where(move), phrase("correct that move first"));
                }
            }
        }
    }

    void take_back_load(const Move& move, OfLoad& load) {
        for (BinContent& content : ledger_.bins) {
            for (Layer& layer : content.layers) {
                for (GrainPortion& portion : layer.portions) {
                    if (portion.source == move.from) portion.mass_g = 0;
                }
            }
            drop_empty(content);
        }
        load.used_g = 0;
        load.entered = 0;
    }

    void load_turned_away(const Move& move, std::int64_t mass_g) {
        if (move.kind == MoveKind::turned || move.kind == MoveKind::corrected) refuse_ends(move);
        mass_g = use_of_load(move, mass_g, false);
        ledger_.outbound.push_back(
            {move.move, move.from, move.time, {{move.from, mass_g}}, move.kind == MoveKind::rejected});
    }

    void bin_into_bin(const Move& move, std::int64_t mass_g) {
        if (move.from == move.to && move.kind != MoveKind::turned) {
            throw Error(phrase("grain is moved from bin {} into itself", move.from), where(move),
                        phrase("name the other bin, or call the move turned"));
        }
        mass_g = from_bin(move, mass_g);
        BinContent& from = content_of(move.from);
        const bool order_known = from.order_known;
        const DrawOff rule = move.kind == MoveKind::corrected ? DrawOff::last_in : rule_of(move.from);
        std::vector<Layer> taken = take_from_bin(from, mass_g, rule);
        carried_ = mixed(taken).portions;
        BinContent& to = content_of(move.to);
        if (move.kind == MoveKind::turned) {
            to.layers.push_back(mixed(taken));
        } else {
            // Grain that came last into the first bin by mistake arrives in the order in which it had come.
            if (move.kind == MoveKind::corrected) std::reverse(taken.begin(), taken.end());
            to.layers.insert(to.layers.end(), taken.begin(), taken.end());
        }
        to.order_known = to.order_known && order_known && from.order_known;
    }

    void bin_out(const Move& move, std::int64_t mass_g) {
        if (move.kind == MoveKind::turned) refuse_ends(move);
        mass_g = from_bin(move, mass_g);
        const DrawOff rule = move.kind == MoveKind::corrected ? DrawOff::mixed : rule_of(move.from);
        const std::vector<Layer> taken = take_from_bin(content_of(move.from), mass_g, rule);
        carried_ = mixed(taken).portions;
        ledger_.outbound.push_back({move.move, move.from, move.time, carried_, move.kind == MoveKind::rejected});
        if (move.kind != MoveKind::corrected) sent_.push_back(ledger_.outbound.size() - 1);
    }

    void back_into_bin(const Move& move, std::int64_t mass_g) {
        if (move.kind == MoveKind::corrected) {
            content_of(move.to).layers.push_back({{{found_source(move.to), mass_g}}});
            ledger_.entered_g[found_source(move.to)] += mass_g;
            carried_ = {{found_source(move.to), mass_g}};
            return;
        }
        if (move.kind != MoveKind::rejected) refuse_ends(move);
        if (sent_.empty()) {
            throw Error(phrase("a lot comes back, but none was sent out"), where(move),
                        phrase("record first what left"));
        }
        OutboundLot& lot = ledger_.outbound[sent_.back()];
        Layer content{lot.portions};
        if (mass_g > content.mass_g()) {
            throw Error(phrase("{} come back, but {} of the latest lot sent out (move {}) are still away",
                               tonnes(mass_g), tonnes(content.mass_g()), lot.move),
                        where(move), phrase("correct the mass that came back"));
        }
        Layer back = take_from_layer(content, mass_g);
        carried_ = back.portions;
        content_of(move.to).layers.push_back(std::move(back));
        std::erase_if(content.portions, [](const GrainPortion& portion) { return portion.mass_g == 0; });
        lot.portions = content.portions;
        lot.rejected = true;
        if (lot.portions.empty()) sent_.pop_back();
    }

    bool tells_;
    BinLedger ledger_;
    std::unordered_map<std::string_view, OfBin> bins_;
    std::unordered_map<std::string_view, OfLoad> loads_;
    std::vector<GrainPortion> carried_;  ///< by the move that is being played
    std::vector<std::size_t> sent_;      ///< outbound lots that may come back, the latest last
};

std::vector<const Move*> in_time(const std::vector<Move>& moves) {
    std::vector<const Move*> ordered;
    for (const Move& move : moves) ordered.push_back(&move);
    std::stable_sort(ordered.begin(), ordered.end(),
                     [](const Move* a, const Move* b) { return a->time.utc < b->time.utc; });
    return ordered;
}

}  // namespace bin_content_parts

std::int64_t grams_of(double mass_t) {
    return static_cast<std::int64_t>(std::llround(mass_t * 1e6));
}
std::string opening_source(const std::string& bin) {
    return "opening of " + bin;
}
std::string found_source(const std::string& bin) {
    return "found in " + bin;
}

std::int64_t Layer::mass_g() const {
    return bin_content_parts::sum_g(portions);
}

std::int64_t BinContent::mass_g() const {
    std::int64_t sum = 0;
    for (const Layer& layer : layers) sum += layer.mass_g();
    return sum;
}

std::vector<GrainPortion> BinContent::by_source() const {
    return bin_content_parts::mixed(layers).portions;
}

const BinContent& BinLedger::bin(const std::string& name) const {
    for (const BinContent& content : bins) {
        if (content.bin == name) return content;
    }
    std::vector<std::string> known;
    for (const BinContent& content : bins) known.push_back(content.bin);
    const std::string nearest = nearest_name(name, known);
    throw Error(fmt::format("there is no bin \"{}\"", name), "",
                nearest.empty() ? "" : "did you mean " + nearest + "?");
}

std::vector<std::pair<std::string, double>> BinLedger::where_is(const std::string& source) const {
    std::vector<std::pair<std::string, double>> places;
    for (const BinContent& content : bins) {
        GrainPortion there;
        for (const Layer& layer : content.layers)
            for (const GrainPortion& portion : layer.portions)
                if (portion.source == source) there.mass_g += portion.mass_g;
        if (there.mass_g != 0) places.emplace_back(content.bin, there.mass_t());
    }
    std::stable_sort(places.begin(), places.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
    return places;
}

std::string BinLedger::where_is_in_words(const std::string& load) const {
    std::vector<std::string> parts;
    for (const auto& [bin, mass_t] : where_is(load)) {
        parts.push_back(phrase("{} of it lie in bin {}", bin_content_parts::tonnes(grams_of(mass_t)), bin));
    }
    for (const OutboundLot& lot : outbound) {
        for (const GrainPortion& portion : lot.portions) {
            if (portion.source != load) continue;
            parts.push_back(lot.from == load ? phrase("{} of it were turned away with move {}",
                                                      bin_content_parts::tonnes(portion.mass_g), lot.move)
                                             : phrase("{} of it left bin {} with move {}",
                                                      bin_content_parts::tonnes(portion.mass_g), lot.from, lot.move));
        }
    }
    if (parts.empty()) return "";
    return phrase("load {} has been moved: {}", load, fmt::format("{}", fmt::join(parts, ", ")));
}

BinLedger ledger_of_moves(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                          const std::vector<Move>& moves) {
    bin_content_parts::MovePlayer player(bins, loads, true);
    for (const Move* move : bin_content_parts::in_time(moves)) player.play(*move);
    return std::move(player).ledger();
}

BinLedger ledger_of_possible_moves(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                                   const std::vector<Move>& moves) {
    return ledger_of_possible_moves(bins, loads, moves, TellMoves::yes);
}

BinLedger ledger_of_possible_moves(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                                   const std::vector<Move>& moves, TellMoves tell) {
    bin_content_parts::MovePlayer player(bins, loads, tell == TellMoves::yes);
    for (const Move* move : bin_content_parts::in_time(moves)) {
        try {
            player.play(*move);
        } catch (const Error& why) {  // thrown before anything was moved
            player.set_aside(*move, why);
        }
    }
    return std::move(player).ledger();
}

std::vector<BinContent> contents_at(const std::vector<Bin>& bins, const std::vector<Load>& loads,
                                    const std::vector<Move>& moves, const std::vector<BinAtTime>& asked) {
    std::vector<std::size_t> in_order(asked.size());
    std::iota(in_order.begin(), in_order.end(), std::size_t{0});
    std::stable_sort(in_order.begin(), in_order.end(),
                     [&](std::size_t a, std::size_t b) { return asked[a].utc < asked[b].utc; });
    std::vector<BinContent> contents(asked.size());
    if (asked.empty()) return contents;
    bin_content_parts::MovePlayer player(bins, loads, false);
    const std::vector<const Move*> ordered = bin_content_parts::in_time(moves);
    auto move = ordered.begin();
    for (const std::size_t k : in_order) {
        for (; move != ordered.end() && (*move)->time.utc <= asked[k].utc; ++move) {
            try {
                player.play(**move);
            } catch (const Error& why) {
                player.set_aside(**move, why);
            }
        }
        contents[k] = player.now(asked[k].bin);
    }
    return contents;
}

std::vector<Layer> draw_off(BinContent& content, std::int64_t mass_g, DrawOff rule) {
    if (mass_g < 0 || mass_g > content.mass_g()) {
        throw Error(fmt::format("{} cannot be drawn off, for {} lie in it", bin_content_parts::tonnes(mass_g),
                                bin_content_parts::tonnes(content.mass_g())),
                    "bin " + content.bin, "draw off no more than lies there");
    }
    return mass_g == 0 ? std::vector<Layer>{} : bin_content_parts::take_from_bin(content, mass_g, rule);
}

}  // namespace models
