#pragma once

// Part of kernel_body.h, compiled once a processor level: what a random field is drawn with, random numbers and Fourier
// transforms, side_by_side of each.

#include <cstdint>

#include "models/spatial/kernels/circle.h"
#include "models/spatial/kernels/kernel_body.h"

namespace models::kernels {

namespace {

constexpr int side = fourier_lanes;
using Lanes = Eigen::Array<double, side, 1>;
using LanesMap = Eigen::Map<Lanes>;
using ConstLanesMap = Eigen::Map<const Lanes>;

struct ComplexLanes {
    Lanes re, im;

    static ComplexLanes at(const double* from) { return {ConstLanesMap(from), ConstLanesMap(from + side)}; }
    void put(double* to) const {
        LanesMap{to} = re;
        LanesMap{to + side} = im;
    }
    ComplexLanes operator+(const ComplexLanes& o) const { return {re + o.re, im + o.im}; }
    ComplexLanes operator-(const ComplexLanes& o) const { return {re - o.re, im - o.im}; }
    ComplexLanes scaled(double by) const { return {by * re, by * im}; }
    ComplexLanes turned(double cosine, double sine) const { return {cosine * re - sine * im, sine * re + cosine * im}; }
    ComplexLanes by_minus_i() const { return {im, -re}; }
};

/// The transform of `ways` values, in place, e^-2 pi i jk/ways.
template <int ways>
void butterfly(ComplexLanes* a) {
    if constexpr (ways == 2) {
        const ComplexLanes sum = a[0] + a[1];
        a[1] = a[0] - a[1];
        a[0] = sum;
    } else if constexpr (ways == 3) {
        constexpr double sine = 0.86602540378443864676;  // of a third of a turn
        const ComplexLanes sum = a[1] + a[2], rest = a[0] - sum.scaled(0.5);
        const ComplexLanes turned = (a[1] - a[2]).scaled(sine).by_minus_i();
        a[0] = a[0] + sum;
        a[1] = rest + turned;
        a[2] = rest - turned;
    } else if constexpr (ways == 4) {
        const ComplexLanes even = a[0] + a[2], odd = a[1] + a[3];
        const ComplexLanes even_rest = a[0] - a[2], odd_rest = (a[1] - a[3]).by_minus_i();
        a[0] = even + odd;
        a[1] = even_rest + odd_rest;
        a[2] = even - odd;
        a[3] = even_rest - odd_rest;
    } else {
        constexpr double cosine1 = 0.30901699437494742410, cosine2 = -0.80901699437494742410;  // of fifths of a turn
        constexpr double sine1 = 0.95105651629515357212, sine2 = 0.58778525229247312917;
        const ComplexLanes outer = a[1] + a[4], inner = a[2] + a[3];
        const ComplexLanes outer_gap = a[1] - a[4], inner_gap = a[2] - a[3];
        const ComplexLanes one = a[0] + outer.scaled(cosine1) + inner.scaled(cosine2);
        const ComplexLanes two = a[0] + outer.scaled(cosine2) + inner.scaled(cosine1);
        const ComplexLanes one_turned = (outer_gap.scaled(sine1) + inner_gap.scaled(sine2)).by_minus_i();
        const ComplexLanes two_turned = (outer_gap.scaled(sine2) - inner_gap.scaled(sine1)).by_minus_i();
        a[0] = a[0] + outer + inner;
        a[1] = one + one_turned;
        a[2] = two + two_turned;
        a[3] = two - two_turned;
        a[4] = one - one_turned;
    }
}

/// One pass of Stockham's autosort: transforms of `length` values, `apart` of them interleaved, become `ways` times as
/// many of a `ways`-th of the length.
template <int ways>
void stockham_pass(const FourierArrays& plan, int length, int apart, const double* from, double* to) {
    constexpr long entry = 2 * side;
    const int part = length / ways, step = plan.n / length;
    for (int p = 0; p < part; ++p) {
        double cosine[ways], sine[ways];
        for (int k = 1; k < ways; ++k) {
            const long turn = static_cast<long>(p) * k * step % plan.n;
            cosine[k] = plan.cosine[turn];
            sine[k] = -plan.sine[turn];
        }
        for (int q = 0; q < apart; ++q) {
            ComplexLanes a[ways];
            for (int k = 0; k < ways; ++k)
                a[k] = ComplexLanes::at(from + entry * (q + static_cast<long>(apart) * (p + part * k)));
            butterfly<ways>(a);
            a[0].put(to + entry * (q + static_cast<long>(apart) * (ways * p)));
            for (int k = 1; k < ways; ++k) {
                a[k].turned(cosine[k], sine[k]).put(to + entry * (q + static_cast<long>(apart) * (ways * p + k)));
            }
        }
    }
}

double* fourier(const FourierArrays& plan, double* values, double* room) {
    int length = plan.n, apart = 1;
    for (int k = 0; k < plan.n_factors; ++k) {
        const int ways = plan.factors[k];
        switch (ways) {
            case 2:
                stockham_pass<2>(plan, length, apart, values, room);
                break;
            case 3:
                stockham_pass<3>(plan, length, apart, values, room);
                break;
            case 4:
                stockham_pass<4>(plan, length, apart, values, room);
                break;
            default:
                stockham_pass<5>(plan, length, apart, values, room);
                break;
        }
        length /= ways;
        apart *= ways;
        double* const done = room;
        room = values;
        values = done;
    }
    return values;
}

/// As models::NormalStream::two for `side` places at once.
void normals(const NormalArrays& stream, std::uint64_t first, std::uint64_t step, std::uint64_t lane_step, int count,
             double* out) {
    for (int k = 0; k < count; ++k, out += 2 * side) {
        // Numbers of 32 bits, each in 64: so a compiler sees what a vector of wide products can do.
        constexpr std::uint64_t low = 0xFFFFFFFFu;
        std::uint64_t c0[side], c1[side], c2[side], c3[side];
        for (int l = 0; l < side; ++l) {
            const std::uint64_t index =
                first + step * static_cast<std::uint64_t>(k) + lane_step * static_cast<std::uint64_t>(l);
            c0[l] = index & low;
            c1[l] = index >> 32;
            c2[l] = stream.number;
            c3[l] = stream.purpose;
        }
        std::uint32_t key0 = stream.key0, key1 = stream.key1;
        for (int round = 0; round < 10; ++round) {
            for (int l = 0; l < side; ++l) {
                const std::uint64_t a = 0xD2511F53u * (c0[l] & low), b = 0xCD9E8D57u * (c2[l] & low);
                c0[l] = (b >> 32) ^ c1[l] ^ key0;
                c1[l] = b & low;
                c2[l] = (a >> 32) ^ c3[l] ^ key1;
                c3[l] = a & low;
            }
            key0 += 0x9E3779B9u;
            key1 += 0xBB67AE85u;
        }
        Lanes share, turn;
        for (int l = 0; l < side; ++l) {
            // 52 bits in a double from 1 to 2: one half of the last bit off 0 and off 1.
            const std::uint64_t one = (c0[l] >> 6 << 26) | (c1[l] >> 6);
            const std::uint64_t two = (c2[l] >> 6 << 26) | (c3[l] >> 6);
            share[l] = __builtin_bit_cast(double, one | std::uint64_t{0x3FF0000000000000});
            turn[l] = __builtin_bit_cast(double, two | std::uint64_t{0x3FF0000000000000});
        }
        share = (share - 1.0) + 0x1p-53;
        turn = (turn - 1.0) + 0x1p-53;
        const Lanes radius = (-2.0 * share.log()).sqrt();
        const Lanes quarter = (4.0 * turn + 0.5).floor();
        const Lanes x = 1.57079632679489661923 * (4.0 * turn - quarter);
        Lanes cosine, sine;
        cosine_and_sine(x, cosine, sine);
        // After odd quarters of a turn cosine and sine change places; signs by halves of a turn. All of it exact.
        const Lanes halves = (0.5 * quarter).floor(), odd = quarter - 2.0 * halves;
        const Lanes later_halves = (0.5 * (quarter + 1.0)).floor();
        const Lanes sign_re = 1.0 - 2.0 * (later_halves - 2.0 * (0.5 * later_halves).floor());
        const Lanes sign_im = 1.0 - 2.0 * (halves - 2.0 * (0.5 * halves).floor());
        LanesMap{out} = radius * sign_re * ((1.0 - odd) * cosine + odd * sine);
        LanesMap{out + side} = radius * sign_im * ((1.0 - odd) * sine + odd * cosine);
    }
}

}  // namespace

}  // namespace models::kernels
