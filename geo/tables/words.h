#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/error.h"
#include "models/records.h"

/// The trade words of the tables, each list in the order of its enum in models/records.h.
namespace geo::words {

using List = std::vector<std::string>;

template <typename Enum>
const List& of();

template <>
const List& of<models::Crop>();
template <>
const List& of<models::WheatType>();
template <>
const List& of<models::Resistance>();
template <>
const List& of<models::Residue>();
template <>
const List& of<models::FieldStatus>();
template <>
const List& of<models::FloweringSource>();
template <>
const List& of<models::Stage>();
template <>
const List& of<models::SampleKind>();
template <>
const List& of<models::ChosenBecause>();
template <>
const List& of<models::Method>();
template <>
const List& of<models::Basis>();
template <>
const List& of<models::LoadStatus>();
template <>
const List& of<models::Purpose>();
template <>
const List& of<models::DrawOff>();
template <>
const List& of<models::MoveKind>();
template <>
const List& of<models::Comparison>();
template <>
const List& of<models::LimitKind>();
template <>
const List& of<models::Mixing>();
template <>
const List& of<models::Reading>();
template <>
const List& of<models::RepeatWhen>();
template <>
const List& of<models::RepeatOf>();

template <typename Enum>
const std::string& word(Enum value) {
    return of<Enum>().at(static_cast<std::size_t>(value));
}

/// nullopt for the empty word. @throws models::Error  where the word is not in the list
template <typename Enum>
std::optional<Enum> meant_by(std::string_view word) {
    if (word.empty()) return std::nullopt;
    const List& list = of<Enum>();
    for (std::size_t i = 0; i < list.size(); ++i) {
        if (list[i] == word) return static_cast<Enum>(i);
    }
    throw models::Error("\"" + std::string(word) + "\" is no known word");
}

}  // namespace geo::words
