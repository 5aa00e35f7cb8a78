#pragma once

// Part of kernel_body.h, compiled once a processor level: pairs of points, class by class of distance.

#include "models/spatial/kernels/kernel_body.h"

namespace models::kernels {

namespace {

namespace pairs_at_once {

using Packet = Eigen::internal::packet_traits<double>::type;
constexpr int lanes = Eigen::internal::packet_traits<double>::size;
constexpr int most_masked_classes = 4;
constexpr double infinity = __builtin_huge_val();

/// One point against the points of a block: squared distance (infinite beyond the last), distance, and difference.
struct Row {
    alignas(64) double squared[points_a_pair_block], dx[points_a_pair_block], dy[points_a_pair_block],
        distance[points_a_pair_block], difference[points_a_pair_block], within[points_a_pair_block];
};

void fill(const PairArrays& pairs, int i, int first, int count, Row& row) {
    using namespace Eigen::internal;
    const Packet x = pset1<Packet>(pairs.x[i]), y = pset1<Packet>(pairs.y[i]), value = pset1<Packet>(pairs.value[i]);
    const Packet half = pset1<Packet>(0.5), none = pset1<Packet>(infinity);
    const Packet number = plset<Packet>(0.0), numbers = pset1<Packet>(static_cast<double>(count));
    const Packet error = pset1<Packet>(pairs.error == nullptr ? 0.0 : pairs.error[i]);
    for (int k = 0; k < count; k += lanes) {
        const Packet dx = psub(x, ploadu<Packet>(pairs.x + first + k));
        const Packet dy = psub(y, ploadu<Packet>(pairs.y + first + k));
        const Packet squared = padd(pmul(dx, dx), pmul(dy, dy));
        const Packet inside = pcmp_lt(padd(number, pset1<Packet>(static_cast<double>(k))), numbers);
        Packet difference = psub(value, ploadu<Packet>(pairs.value + first + k));
        if (pairs.robust) {
            difference = psqrt(pabs(difference));
        } else {
            difference = pmul(half, pmul(difference, difference));
            if (pairs.error != nullptr) {
                difference = psub(difference, pmul(half, padd(error, ploadu<Packet>(pairs.error + first + k))));
            }
        }
        pstoreu(row.squared + k, pselect(inside, squared, none));
        pstoreu(row.distance + k, psqrt(squared));
        pstoreu(row.difference + k, difference);
        if (pairs.n_directions > 0) {
            pstoreu(row.dx + k, dx);
            pstoreu(row.dy + k, dy);
        }
    }
}

/// Squared distances of the pairs that lie in a direction, the others infinite; pairs at one place lie in all.
void keep_direction(const PairArrays& pairs, int direction, int count, Row& row) {
    using namespace Eigen::internal;
    const Packet east = pset1<Packet>(pairs.directions[2 * direction]);
    const Packet north = pset1<Packet>(pairs.directions[2 * direction + 1]);
    const Packet least = pset1<Packet>(pairs.least_cosine), none = pset1<Packet>(infinity), zero = pset1<Packet>(0.0);
    for (int k = 0; k < count; k += lanes) {
        const Packet distance = ploadu<Packet>(row.distance + k);
        const Packet along = padd(pmul(ploadu<Packet>(row.dx + k), east), pmul(ploadu<Packet>(row.dy + k), north));
        const Packet within = por(pcmp_le(least, pabs(pdiv(along, distance))), pcmp_eq(distance, zero));
        pstoreu(row.within + k, pselect(within, ploadu<Packet>(row.squared + k), none));
    }
}

/// Adds the pairs whose squared distance is over `above` and up to `limit` to the three sums of a class.
void add_class(const double* squared, const Row& row, int count, double above, double limit, double* sum) {
    using namespace Eigen::internal;
    const Packet lower = pset1<Packet>(above), upper = pset1<Packet>(limit), one = pset1<Packet>(1.0);
    Packet distance = pset1<Packet>(0.0), difference = distance, number = distance;
    for (int k = 0; k < count; k += lanes) {
        const Packet s = ploadu<Packet>(squared + k);
        const Packet within = pand(pcmp_lt(lower, s), pcmp_le(s, upper));
        distance = padd(distance, pand(within, ploadu<Packet>(row.distance + k)));
        difference = padd(difference, pand(within, ploadu<Packet>(row.difference + k)));
        number = padd(number, pand(within, one));
    }
    sum[0] += predux(distance);
    sum[1] += predux(difference);
    sum[2] += predux(number);
}

/// The same where all pairs, a whole number of packets, are known to belong to the class.
void add_whole_class(const Row& row, int count, double* sum) {
    using namespace Eigen::internal;
    Packet distance = pset1<Packet>(0.0), difference = distance;
    for (int k = 0; k < count; k += lanes) {
        distance = padd(distance, ploadu<Packet>(row.distance + k));
        difference = padd(difference, ploadu<Packet>(row.difference + k));
    }
    sum[0] += predux(distance);
    sum[1] += predux(difference);
    sum[2] += count;
}

/// Adds pairs of many classes one by one.
void add_each(const PairArrays& pairs, const double* squared, const Row& row, int count, int low, int high,
              double* sums) {
    const int last = high < pairs.classes ? high : pairs.classes - 1;
    for (int k = 0; k < count; ++k) {
        if (!(squared[k] <= pairs.limits[last])) continue;
        int first = low, beyond = last;
        if (pairs.classes_a_metre > 0.0) {
            const double guess = row.distance[k] * pairs.classes_a_metre;
            first = guess >= last ? last : guess <= low ? low : static_cast<int>(guess);
            while (first < last && squared[k] > pairs.limits[first]) ++first;
            while (first > low && squared[k] <= pairs.limits[first - 1]) --first;
        } else {
            while (first < beyond) {
                const int middle = (first + beyond) / 2;
                if (squared[k] <= pairs.limits[middle]) {
                    beyond = middle;
                } else {
                    first = middle + 1;
                }
            }
        }
        sums[3 * first] += row.distance[k];
        sums[3 * first + 1] += row.difference[k];
        sums[3 * first + 2] += 1.0;
    }
}

double least_gap(double low, double high, double other_low, double other_high) {
    return other_low > high ? other_low - high : low > other_high ? low - other_high : 0.0;
}

double larger(double a, double b) {
    return a > b ? a : b;
}

}  // namespace pairs_at_once

void pair_sums(const PairArrays& pairs, int block, double* sums) {
    namespace own = pairs_at_once;
    // What rounding may add to or take off the distance of a box.
    constexpr double a_little_more = 1.0 + 1e-12, a_little_less = 1.0 - 1e-12;
    const int begin = block * points_a_pair_block;
    const int end = begin + points_a_pair_block < pairs.n ? begin + points_a_pair_block : pairs.n;
    const double farthest = pairs.limits[pairs.classes - 1];
    const double* box = pairs.boxes + 4 * block;
    own::Row row;
    int low = 0, high = 0;
    for (int other = 0; other <= block; ++other) {
        const double* to = pairs.boxes + 4 * other;
        const double gap_x = own::least_gap(box[0], box[1], to[0], to[1]);
        const double gap_y = own::least_gap(box[2], box[3], to[2], to[3]);
        if ((gap_x * gap_x + gap_y * gap_y) * a_little_less > farthest) continue;
        const int first = other * points_a_pair_block;
        for (int i = begin; i < end; ++i) {
            const int count = other == block ? i - first : points_a_pair_block;
            if (count == 0) continue;
            const double x = pairs.x[i], y = pairs.y[i];
            const double near_x = own::least_gap(x, x, to[0], to[1]), near_y = own::least_gap(y, y, to[2], to[3]);
            const double far_x = own::larger(x - to[0], to[1] - x), far_y = own::larger(y - to[2], to[3] - y);
            const double least = (near_x * near_x + near_y * near_y) * a_little_less;
            const double most = (far_x * far_x + far_y * far_y) * a_little_more;
            if (least > farthest) continue;
            while (least > pairs.limits[low]) ++low;
            while (low > 0 && least <= pairs.limits[low - 1]) --low;
            while (high < pairs.classes && most > pairs.limits[high]) ++high;
            while (high > 0 && most <= pairs.limits[high - 1]) --high;
            own::fill(pairs, i, first, count, row);
            if (pairs.n_directions == 0 && low == high && count == points_a_pair_block) {
                own::add_whole_class(row, count, sums + 3 * low);
                continue;
            }
            const int directions = pairs.n_directions == 0 ? 1 : pairs.n_directions;
            for (int direction = 0; direction < directions; ++direction) {
                const double* squared = row.squared;
                if (pairs.n_directions > 0) {
                    own::keep_direction(pairs, direction, count, row);
                    squared = row.within;
                }
                double* to_sums = sums + static_cast<long>(3) * pairs.classes * direction;
                if (high - low >= own::most_masked_classes) {
                    own::add_each(pairs, squared, row, count, low, high, to_sums);
                    continue;
                }
                for (int k = low; k <= high && k < pairs.classes; ++k) {
                    own::add_class(squared, row, count, k == 0 ? -1.0 : pairs.limits[k - 1], pairs.limits[k],
                                   to_sums + 3 * k);
                }
            }
        }
    }
}

}  // namespace

}  // namespace models::kernels
