#include "demo-data/parcels.h"

#include <algorithm>
#include <cmath>

namespace demo {

namespace {

Corner corner_between(const Corner& a, const Corner& b, double share) {
    return {a.u_m + (b.u_m - a.u_m) * share, a.v_m + (b.v_m - a.v_m) * share, a.margin_m};
}

double side_length(const Corner& a, const Corner& b) {
    return std::hypot(b.u_m - a.u_m, b.v_m - a.v_m);
}

}  // namespace

double area_m2(const Parcel& parcel) {
    double twice = 0.0;
    for (std::size_t i = 0; i < parcel.size(); ++i) {
        const Corner &a = parcel[i], &b = parcel[(i + 1) % parcel.size()];
        twice += a.u_m * b.v_m - b.u_m * a.v_m;
    }
    return 0.5 * twice;
}

Corner centre_of(const Parcel& parcel) {
    double twice = 0.0, u = 0.0, v = 0.0;
    for (std::size_t i = 0; i < parcel.size(); ++i) {
        const Corner &a = parcel[i], &b = parcel[(i + 1) % parcel.size()];
        const double cross = a.u_m * b.v_m - b.u_m * a.v_m;
        twice += cross;
        u += (a.u_m + b.u_m) * cross;
        v += (a.v_m + b.v_m) * cross;
    }
    return {u / (3.0 * twice), v / (3.0 * twice), 0.0};
}

CutParcel cut_along(const Parcel& parcel, const Corner& through, double angle_rad, double margin_m) {
    const double du = std::cos(angle_rad), dv = std::sin(angle_rad);
    const auto height = [&](const Corner& c) { return du * (c.v_m - through.v_m) - dv * (c.u_m - through.u_m); };
    CutParcel cut;
    int crossings = 0;
    for (std::size_t i = 0; i < parcel.size(); ++i) {
        const Corner &a = parcel[i], &b = parcel[(i + 1) % parcel.size()];
        const double ha = height(a), hb = height(b);
        (ha >= 0.0 ? cut.left : cut.right).push_back(a);
        cut.whole.push_back(a);
        if ((ha >= 0.0) == (hb >= 0.0)) continue;
        ++crossings;
        const Corner end = corner_between(a, b, ha / (ha - hb));
        cut.whole.push_back(end);
        // Where the ring leaves a side, its next stretch runs along the cut.
        Corner along = end;
        along.margin_m = margin_m;
        cut.left.push_back(ha >= 0.0 ? along : end);
        cut.right.push_back(ha >= 0.0 ? end : along);
    }
    cut.cuts = crossings == 2;
    return cut;
}

Parcel without_margins(const Parcel& parcel) {
    Parcel inner;
    const std::size_t n = parcel.size();
    for (std::size_t i = 0; i < n; ++i) {
        const Corner &before = parcel[(i + n - 1) % n], &here = parcel[i], &after = parcel[(i + 1) % n];
        const double la = side_length(before, here), lb = side_length(here, after);
        const double au = (here.u_m - before.u_m) / la, av = (here.v_m - before.v_m) / la;
        const double bu = (after.u_m - here.u_m) / lb, bv = (after.v_m - here.v_m) / lb;
        const double cross = au * bv - av * bu;
        const double ma = before.margin_m, mb = here.margin_m;
        Corner moved = here;
        if (std::abs(cross) < 0.05) {  // nearly straight on: keep to the wider strip
            const double wide = std::max(ma, mb);
            moved.u_m -= wide * av;
            moved.v_m += wide * au;
        } else {  // where the two sides meet once each is moved inwards by its own margin
            moved.u_m += (ma * bu - mb * au) / cross;
            moved.v_m += (ma * bv - mb * av) / cross;
        }
        inner.push_back(moved);
    }
    return inner;
}

Parcel without_corner(const Parcel& parcel, std::size_t corner, double share_before, double share_after) {
    const std::size_t n = parcel.size();
    const Corner &before = parcel[(corner + n - 1) % n], &here = parcel[corner], &after = parcel[(corner + 1) % n];
    const Corner p = corner_between(here, before, share_before);
    const Corner q = corner_between(here, after, share_after);
    Parcel rest;
    for (std::size_t i = 0; i < n; ++i) {
        if (i != corner) {
            rest.push_back(parcel[i]);
            continue;
        }
        rest.push_back(p);
        rest.push_back({p.u_m + q.u_m - here.u_m, p.v_m + q.v_m - here.v_m, here.margin_m});
        rest.push_back(q);
    }
    return rest;
}

Parcel with_bite(const Parcel& parcel, std::size_t side, double from_share, double to_share, double depth_m) {
    const Corner &a = parcel[side], &b = parcel[(side + 1) % parcel.size()];
    const double length = side_length(a, b);
    const double inward_u = -(b.v_m - a.v_m) / length * depth_m, inward_v = (b.u_m - a.u_m) / length * depth_m;
    const Corner p = corner_between(a, b, from_share), q = corner_between(a, b, to_share);
    const Corner deep_p = corner_between(p, q, 0.12), deep_q = corner_between(p, q, 0.86);
    Parcel bitten;
    for (std::size_t i = 0; i < parcel.size(); ++i) {
        bitten.push_back(parcel[i]);
        if (i != side) continue;
        bitten.push_back(p);
        bitten.push_back({deep_p.u_m + inward_u, deep_p.v_m + inward_v, a.margin_m});
        bitten.push_back({deep_q.u_m + 0.8 * inward_u, deep_q.v_m + 0.8 * inward_v, a.margin_m});
        bitten.push_back(q);
    }
    return bitten;
}

Parcel with_blunt_corner(const Parcel& parcel, std::size_t corner, double length_m) {
    const std::size_t n = parcel.size();
    const Corner &before = parcel[(corner + n - 1) % n], &here = parcel[corner], &after = parcel[(corner + 1) % n];
    const double la = side_length(before, here), lb = side_length(here, after);
    if (la < 4.0 * length_m || lb < 4.0 * length_m) return parcel;
    Parcel blunt;
    for (std::size_t i = 0; i < n; ++i) {
        if (i != corner) {
            blunt.push_back(parcel[i]);
            continue;
        }
        blunt.push_back(corner_between(here, before, length_m / la));
        blunt.push_back(corner_between(here, after, 0.7 * length_m / lb));
    }
    return blunt;
}

Lie lie_of(const Parcel& parcel) {
    Lie best;
    double narrowest = 0.0;
    for (std::size_t i = 0; i < parcel.size(); ++i) {  // the smallest box that lies along a side
        const Corner &a = parcel[i], &b = parcel[(i + 1) % parcel.size()];
        const double length = side_length(a, b);
        if (length < 1.0) continue;
        const double du = (b.u_m - a.u_m) / length, dv = (b.v_m - a.v_m) / length;
        double low_s = 1e300, high_s = -1e300, low_t = 1e300, high_t = -1e300;
        for (const Corner& c : parcel) {
            const double s = c.u_m * du + c.v_m * dv, t = c.v_m * du - c.u_m * dv;
            low_s = std::min(low_s, s), high_s = std::max(high_s, s);
            low_t = std::min(low_t, t), high_t = std::max(high_t, t);
        }
        const double along = high_s - low_s, across = high_t - low_t;
        if (narrowest > 0.0 && along * across >= narrowest) continue;
        narrowest = along * across;
        const double angle = std::atan2(dv, du);
        best = along >= across ? Lie{angle, along / 2, across / 2} : Lie{angle + std::acos(0.0), across / 2, along / 2};
    }
    return best;
}

}  // namespace demo
