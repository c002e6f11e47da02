"""How far an owner may move the policies that rules read: a line purge only becomes stricter."""

from __future__ import annotations

#: The least that a line purge must show, whatever a shop decides [kg, s, Pa absolute].
LEAST_PURGE_KG, MOST_PURGE_KG = 0.3, 20.0
SHORTEST_PURGE_S, LONGEST_PURGE_S = 180.0, 14_400.0
WEAKEST_VACUUM_PA, DEEPEST_VACUUM_PA = 10_000.0, 20.0
#: 29 CFR 1910.137 table I-5: insulating gloves are tested every six months.
OLDEST_GLOVE_TEST_MONTHS = 6
#: Insulation readings further apart than this are not compared [K].
WIDEST_LIKE_K, NARROWEST_LIKE_K = 10.0, 1.0
#: What the carry-over estimate may assume: oil left in a drained piece [kg], its volume [m³], share reached.
LEAST_OIL_KG, MOST_OIL_KG = 1e-4, 0.05
#: 60 ml exactly as the form reads it, so that it is shown as 60 and not to its last bit.
USUAL_PIECE_M3 = 60 * 1e-6
SMALLEST_PIECE_M3, LARGEST_PIECE_M3 = 5e-6, 1e-3
WORST_MIXING, BEST_MIXING = 0.05, 1.0
#: An open container of oil that draws moisture from the air [days]; its usual level to order again [m³].
SHORTEST_OPEN_DAYS, LONGEST_OPEN_DAYS = 1, 365
LEAST_LOW_M3, MOST_LOW_M3 = 1e-6, 0.25

BOUNDS = {
    "purge_minimum_kg": (LEAST_PURGE_KG, MOST_PURGE_KG),
    "purge_minimum_s": (SHORTEST_PURGE_S, LONGEST_PURGE_S),
    "purge_maximum_vacuum_pa": (DEEPEST_VACUUM_PA, WEAKEST_VACUUM_PA),
    "glove_test_months": (1, OLDEST_GLOVE_TEST_MONTHS),
    "insulation_like_k": (NARROWEST_LIKE_K, WIDEST_LIKE_K),
    "carry_oil_kg": (LEAST_OIL_KG, MOST_OIL_KG),
    "carry_volume_m3": (SMALLEST_PIECE_M3, LARGEST_PIECE_M3),
    "carry_mixing": (WORST_MIXING, BEST_MIXING),
    "oil_open_days": (SHORTEST_OPEN_DAYS, LONGEST_OPEN_DAYS),
    "oil_low_m3": (LEAST_LOW_M3, MOST_LOW_M3),
}
