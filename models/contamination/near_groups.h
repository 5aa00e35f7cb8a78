#pragma once

#include <vector>

#include "models/geometry.h"

namespace models::contamination {

/// Something that is not taken apart: a field, or several that results join (parts of one load).
struct PlacedUnit {
    PointM at_m;
    int fields = 1;
};

/// Units in groups of near ones, of at most so many fields each (a unit that has more is a group of its own): the
/// ground is cut in two across its longer side, in the middle by fields (at a third where three groups must come of it,
/// and so on), and each piece again. Independent groups in place of all correlations: what lies across a border counts
/// only by what all fields share. The laws of the groups are those of the whole, so that their product is a composite
/// likelihood whose maximum is not biased; what is lost is what fields near a border would have learnt of one another.
/// Sources: Varin, Reid & Firth (2011), Stat Sinica 21, 5-42; Caragea & Smith (2007), J Multivariate Anal 98, 1417-1440
/// (small blocks) and Stein (2013), J Comput Graph Stat 22, 866-885 (blocks beside tapers), both cited from memory.
/// @param units  in an order that does not depend on that of the input: it breaks ties
/// @return  the group of each unit, from 0 on
std::vector<int> groups_of_near(const std::vector<PlacedUnit>& units, int most_fields);

}  // namespace models::contamination
