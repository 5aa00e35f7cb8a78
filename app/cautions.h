#pragma once

#include "app/language.h"

/// Sentences that stand beside every number that somebody might act on: in the program, in pictures and on pages.
namespace app::caution {

inline constexpr Word screening = word(
    "Screening result, not a certificate. Confirm in an accredited laboratory before grain is condemned or released "
    "near a limit. Local law, the contract and licensed advice stand above this program.");
inline constexpr Word only_don =
    word("Tested for DON only: it says nothing about zearalenone, T-2/HT-2, ochratoxin or ergot.");
inline constexpr Word risk_is_not_don = word(
    "Disease risk is the chance of a field severity of 10 % or more. It is not a chance of exceeding a DON limit.");
inline constexpr Word index_is_no_chance =
    word("The index orders fields by how well the weather suited head blight. It is no chance of anything.");
inline constexpr Word content_is_unconfirmed = word(
    "The content is what an equation whose numbers nobody confirmed makes of the days around heading. It clears no "
    "grain, and the program itself does not use it.");
inline constexpr Word risk_is_no_advice_to_spray =
    word("It is no advice to spray or not to: that belongs to the product's label and a licensed adviser.");
inline constexpr Word no_thinning = word(
    "Grain over a limit is never brought under it by grain below it; each load is cleared for itself before it enters "
    "a "
    "bin.");
inline constexpr Word wet_on_hold = word("Wet grain on hold spoils: dry it, or decide soon.");
inline constexpr Word feed = word(
    "Whether grain may be fed belongs to a veterinarian or nutritionist: pigs and breeding stock are most sensitive, "
    "screenings and straw may hold more than the grain, treated seed is never food or feed.");
inline constexpr Word at_work = word(
    "Grinder dust and mouldy grain: protect your breathing, and clean the mill after a high sample. Bins that are "
    "confined or fumigated: never alone, with machines locked out. Do not climb on truck tops without a hold.");

}  // namespace app::caution
