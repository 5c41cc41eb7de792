"""The cautions that belong beside bottles under pressure, in one place so that every answer says the same.

They are the usual cautions (from memory and common practice), never a promise about a bottle.
"""

MOST_VOLUMES = 3.0
"""Carbonation above which no amount is given for ordinary bottles, volumes."""
MOST_VOLUMES_STRONGER = 4.0
"""The same where the bottles' maker rates them for more (soft-drink bottles; second-hand), volumes."""
MOST_STORAGE_C = 30.0
"""Warmth above which bottles should not stand, C."""

BOTTLE_CAUTIONS = (
    "Use only undamaged bottles made for carbonated drinks: old, scratched or thin glass bursts early.",
    "Bottle only beer whose gravity has been steady at its final value.",
    f"Keep the bottles below {MOST_STORAGE_C:g} C, out of the sun, covered and away from children.",
    "Wear eye protection when you handle full bottles.",
)

OVER_PRESSURED_CRATE = (
    "If bottles gush, bulge or have burst: do not move or open them warm. Cover the crate with thick "
    "blankets and keep people away.",
    "Make the place cold from outside, best near 2 C, and leave them a full day: cold lowers the pressure.",
    "Only then handle them, one at a time, with face shield, thick gloves and long sleeves: wrap each in a "
    "towel, point it away from everyone and let the gas off slowly at the cap.",
    "If they cannot be chilled where they stand, ask for help rather than carry them.",
)
