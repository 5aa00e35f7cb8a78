#pragma once

/// Sentences that stand beside every number that somebody might act on: in the program, in pictures and on pages.
namespace app::caution {

inline constexpr const char* screening =
    "Screening result, not a certificate. Confirm in an accredited laboratory before grain is condemned or released "
    "near a limit. Local law, the contract and licensed advice stand above this program.";
inline constexpr const char* only_don =
    "Tested for DON only: it says nothing about zearalenone, T-2/HT-2, ochratoxin or ergot.";
inline constexpr const char* risk_is_not_don =
    "Disease risk is the chance of a field severity of 10 % or more. It is not a chance of exceeding a DON limit.";
inline constexpr const char* index_is_no_chance =
    "The index orders fields by how well the weather suited head blight. It is no chance of anything.";
inline constexpr const char* content_is_unconfirmed =
    "The content is what an equation whose numbers nobody confirmed makes of the days around heading. It clears no "
    "grain, and the program itself does not use it.";
inline constexpr const char* risk_is_no_advice_to_spray =
    "It is no advice to spray or not to: that belongs to the product's label and a licensed adviser.";
inline constexpr const char* no_thinning =
    "Grain over a limit is never brought under it by grain below it; each load is cleared for itself before it enters "
    "a "
    "bin.";
inline constexpr const char* wet_on_hold = "Wet grain on hold spoils: dry it, or decide soon.";
inline constexpr const char* feed =
    "Whether grain may be fed belongs to a veterinarian or nutritionist: pigs and breeding stock are most sensitive, "
    "screenings and straw may hold more than the grain, treated seed is never food or feed.";
inline constexpr const char* at_work =
    "Grinder dust and mouldy grain: protect your breathing, and clean the mill after a high sample. Bins that are "
    "confined or fumigated: never alone, with machines locked out. Do not climb on truck tops without a hold.";

}  // namespace app::caution
