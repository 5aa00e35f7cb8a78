#include "geo/tables/words.h"

#include "models/words.h"

namespace geo::words {

namespace {

/// One list a kind of word, made once.
template <typename Enum>
const List& kept(List list) {
    static const List words = std::move(list);
    return words;
}

}  // namespace

template <>
const List& of<models::Crop>() {
    return kept<models::Crop>({"wheat", "durum", "barley", "oats", "maize", "rye", "triticale"});
}
template <>
const List& of<models::WheatType>() {
    return kept<models::WheatType>({"winter", "spring"});
}
template <>
const List& of<models::Resistance>() {
    return kept<models::Resistance>({"VS", "S", "MS", "MR"});
}
template <>
const List& of<models::Residue>() {
    return kept<models::Residue>({"none", "some", "heavy"});
}
template <>
const List& of<models::FieldStatus>() {
    return kept<models::FieldStatus>({"standing", "cut", "delivered"});
}
template <>
const List& of<models::FloweringSource>() {
    return kept<models::FloweringSource>({"observed", "estimated"});
}
template <>
const List& of<models::Stage>() {
    return kept<models::Stage>({"standing", "combine", "truck", "bin", "control"});
}
template <>
const List& of<models::SampleKind>() {
    return kept<models::SampleKind>({"point", "composite"});
}
template <>
const List& of<models::ChosenBecause>() {
    return kept<models::ChosenBecause>({"random", "plan", "risk", "looked_bad", "asked", "unknown"});
}
template <>
const List& of<models::Method>() {
    return kept<models::Method>({"strip", "laboratory"});
}
template <>
const List& of<models::Basis>() {
    return kept<models::Basis>({"as_is", "dry", "pct12"});
}
template <>
const List& of<models::LoadStatus>() {
    return kept<models::LoadStatus>({"arrived", "probed", "awaiting", "directed", "dumped", "turned_away"});
}
template <>
const List& of<models::Purpose>() {
    return kept<models::Purpose>({"food", "feed", "hold", "other"});
}
template <>
const List& of<models::DrawOff>() {
    return kept<models::DrawOff>({"first_in", "last_in", "mixed", "unknown"});
}
template <>
const List& of<models::MoveKind>() {
    return kept<models::MoveKind>({"dumped", "turned", "withdrawn", "rejected", "corrected"});
}
template <>
const List& of<models::Comparison>() {
    return kept<models::Comparison>({"over", "at_or_over"});
}
template <>
const List& of<models::LimitKind>() {
    return kept<models::LimitKind>({"maximum", "guidance", "advisory", "contract"});
}
template <>
const List& of<models::Mixing>() {
    return kept<models::Mixing>({"forbidden", "not_addressed", "allowed"});
}
template <>
const List& of<models::Reading>() {
    return kept<models::Reading>({"value", "below", "above", "void"});
}
template <>
const List& of<models::RepeatWhen>() {
    return kept<models::RepeatWhen>({"never", "suspected", "always"});
}
template <>
const List& of<models::RepeatOf>() {
    return kept<models::RepeatOf>({"analysis", "portion", "sample"});
}

}  // namespace geo::words
