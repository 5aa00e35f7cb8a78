#include "models/spatial/place_order.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <queue>
#include <utility>

#include <nanoflann.hpp>

#include "models/spatial/nearest_few.h"
#include "models/spatial/parallel.h"

namespace models {

namespace {

/// The tree's own bounds are rounded: a little farther is looked at than asked for, and then compared exactly.
constexpr double a_little_farther = 1.0 + 1e-9;

/// The first `count` places as the k-d tree wants to see them.
struct PlaceCloud {
    const Eigen::VectorXd& x;
    const Eigen::VectorXd& y;
    std::size_t count;

    std::size_t kdtree_get_point_count() const { return count; }
    double kdtree_get_pt(std::size_t number, std::size_t axis) const {
        const auto i = static_cast<Eigen::Index>(number);
        return axis == 0 ? x[i] : y[i];
    }
    template <typename Box>
    bool kdtree_get_bbox(Box&) const {
        return false;
    }
};
using PlaceTree =
    nanoflann::KDTreeSingleIndexAdaptor<nanoflann::L2_Simple_Adaptor<double, PlaceCloud>, PlaceCloud, 2, std::uint32_t>;

template <typename Found>
void search_places(const PlaceTree& tree, double x, double y, Found& found) {
    const double centre[2] = {x, y};
    tree.findNeighbors(found, centre, nanoflann::SearchParams());
}

/// A place waiting for its turn; the one farthest from those chosen comes first.
struct Waiting {
    double squared_distance;
    int number;
    friend bool operator<(const Waiting& a, const Waiting& b) {
        return a.squared_distance < b.squared_distance ||
               (a.squared_distance == b.squared_distance && a.number > b.number);
    }
};

/// Tells the places around a newly chosen one that it is nearer to them than any before.
struct TellNearer {
    using DistanceType = double;
    double reach;
    std::vector<double>& nearest;
    std::priority_queue<Waiting>& queue;

    bool full() const { return true; }
    double worstDist() const { return reach; }
    bool addPoint(double squared_distance, std::uint32_t number) {
        if (squared_distance < nearest[number]) {
            nearest[number] = squared_distance;
            queue.push({squared_distance, static_cast<int>(number)});
        }
        return true;
    }
};

/// Offers the places with a number below `before`.
struct OfferEarlier {
    using DistanceType = double;
    std::uint32_t before;
    NearestFew& few;

    bool full() const { return few.full(); }
    double worstDist() const {
        return full() ? few.farthest_squared() * a_little_farther + std::numeric_limits<double>::min()
                      : std::numeric_limits<double>::max();
    }
    bool addPoint(double squared_distance, std::uint32_t number) {
        if (number < before) few.offer({squared_distance, static_cast<Eigen::Index>(number)});
        return true;
    }
};

}  // namespace

std::vector<int> max_min_order(const Eigen::VectorXd& x, const Eigen::VectorXd& y, const Progress& progress) {
    const auto n = static_cast<std::size_t>(x.size());
    std::vector<int> order;
    if (n == 0) return order;
    order.reserve(n);
    const PlaceCloud cloud{x, y, n};
    const PlaceTree tree(2, cloud);
    Eigen::Index first = 0;
    ((x.array() - x.mean()).square() + (y.array() - y.mean()).square()).minCoeff(&first);
    std::vector<double> nearest(n, std::numeric_limits<double>::infinity());
    std::vector<bool> chosen(n, false);
    std::priority_queue<Waiting> queue;
    queue.push({nearest[static_cast<std::size_t>(first)], static_cast<int>(first)});
    while (!queue.empty()) {
        const Waiting next = queue.top();
        queue.pop();
        const auto number = static_cast<std::size_t>(next.number);
        if (chosen[number] || next.squared_distance != nearest[number]) continue;
        if (order.size() % 256 == 0) {
            progress.step("ordering the places", static_cast<double>(order.size()) / static_cast<double>(n));
        }
        chosen[number] = true;
        order.push_back(next.number);
        const double reach = std::min(next.squared_distance * a_little_farther, std::numeric_limits<double>::max());
        nearest[number] = 0.0;
        TellNearer told{reach, nearest, queue};
        search_places(tree, x[next.number], y[next.number], told);
    }
    // What coincides with a place before it was told of a distance of 0 and has had its turn at the end of the queue.
    return order;
}

std::vector<int> nearest_before(const Eigen::VectorXd& x, const Eigen::VectorXd& y, int count, int threads,
                                const Progress& progress) {
    const auto n = static_cast<std::size_t>(x.size()), wanted = static_cast<std::size_t>(std::max(0, count));
    std::vector<int> found(n * wanted, -1);
    if (wanted == 0) return found;
    constexpr std::size_t places_a_block = 128;
    // Trees of the first 64, 128, 256 ... places, so that at least half of what a search meets counts.
    for (std::size_t begin = 0, end = std::min<std::size_t>(n, 64); begin < n;
         begin = end, end = std::min(n, 2 * end)) {
        const PlaceCloud cloud{x, y, end};
        const PlaceTree tree(2, cloud);
        const Progress part([&](std::string_view what, double share) {
            const double done = static_cast<double>(begin) + share * static_cast<double>(end - begin);
            progress.step(what, done / static_cast<double>(n));
            return true;
        });
        parallel_blocks(
            static_cast<long long>((end - begin + places_a_block - 1) / places_a_block), threads,
            [&](long long block) {
                NearestFew few;
                const std::size_t from = begin + static_cast<std::size_t>(block) * places_a_block;
                for (std::size_t i = from; i < std::min(end, from + places_a_block); ++i) {
                    few.start(wanted);
                    OfferEarlier search{static_cast<std::uint32_t>(i), few};
                    search_places(tree, x[static_cast<Eigen::Index>(i)], y[static_cast<Eigen::Index>(i)], search);
                    std::size_t at = i * wanted;
                    for (const NearestFew::Entry& entry : few.sorted()) found[at++] = static_cast<int>(entry.second);
                }
            },
            part, "finding neighbours");
    }
    return found;
}

double shortest_distance(const Eigen::VectorXd& x, const Eigen::VectorXd& y) {
    double shortest = std::numeric_limits<double>::infinity();
    if (x.size() == 0) return shortest;
    // Sweep along the longer side: whoever lies farther along than the shortest distance cannot be nearer.
    const bool eastward = x.maxCoeff() - x.minCoeff() >= y.maxCoeff() - y.minCoeff();
    const Eigen::VectorXd& along = eastward ? x : y;
    std::vector<Eigen::Index> sorted(static_cast<std::size_t>(x.size()));
    std::iota(sorted.begin(), sorted.end(), Eigen::Index{0});
    std::sort(sorted.begin(), sorted.end(), [&](Eigen::Index a, Eigen::Index b) { return along[a] < along[b]; });
    for (std::size_t k = 1; k < sorted.size(); ++k) {
        for (std::size_t other = k; other-- > 0;) {
            const Eigen::Index i = sorted[k], j = sorted[other];
            if (along[i] - along[j] >= shortest) break;
            const double distance = std::hypot(x[i] - x[j], y[i] - y[j]);
            if (distance > 0.0) shortest = std::min(shortest, distance);
        }
    }
    return shortest;
}

}  // namespace models
