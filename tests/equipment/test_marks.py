"""The readiness mark: which shape and words say what may still be inside."""

from __future__ import annotations

import pytest

from equipment.choices import ResidueState
from equipment.exposure import Residue
from equipment.marks import mark_of


def residue(*lubricants: str, additives: tuple[str, ...] = (), unknown: bool = False) -> Residue:
    return Residue(lubricants=frozenset(lubricants), additives=frozenset(additives), unknown=unknown)


class TestMark:
    @pytest.mark.parametrize(
        ("inside", "state", "word"),
        [
            (residue(), ResidueState.CLEAR, "Clear"),
            (residue("POE"), ResidueState.CLEAR, "Clear, traces of POE"),
            (residue("PAG"), ResidueState.RESIDUE, "Residue of PAG"),
            (residue("PAG", "POE"), ResidueState.RESIDUE, "Residue of PAG, POE"),
            (residue(additives=("DYE",)), ResidueState.RESIDUE, "Residue of leak dye"),
            (residue("POE", additives=("SEALER",)), ResidueState.RESIDUE, "Residue of POE, leak sealer"),
            (residue(unknown=True), ResidueState.UNKNOWN, "Unknown residue"),
            (residue("PAG", unknown=True), ResidueState.UNKNOWN, "Unknown, and PAG"),
        ],
    )
    def test_says_what_is_inside(self, inside: Residue, state: ResidueState, word: str) -> None:
        mark = mark_of(inside)

        assert (mark.state, mark.word) == (state, word)

    def test_is_closed_only_when_nothing_blocks_high_voltage(self) -> None:
        blocking = [residue("PAG"), residue("UNKNOWN"), residue(additives=("DYE",)), residue(unknown=True)]

        closed = {ResidueState.CLEAR, ResidueState.DEDICATED}
        assert all(one.blocks_high_voltage for one in blocking)
        assert all(mark_of(one).state not in closed for one in blocking)

    def test_of_a_dedicated_piece_is_locked_until_something_else_touches_it(self) -> None:
        kept = mark_of(residue("POE"), dedicated_to="POE")
        lost = mark_of(residue("POE", "PAG"), dedicated_to="POE")

        assert (kept.state, kept.word) == (ResidueState.DEDICATED, "Dedicated to POE, clear for it")
        assert lost.state is ResidueState.RESIDUE

    @pytest.mark.parametrize(("oil", "state"), [("POE", ResidueState.CLEAR), ("PAG", ResidueState.RESIDUE)])
    def test_of_an_injector_names_its_own_oil_as_labelled(self, oil: str, state: ResidueState) -> None:
        mark = mark_of(residue(oil), labelled_oil=oil)

        assert (mark.state, mark.word) == (state, f"{oil}, as labelled")

    def test_of_a_piece_out_of_service_says_nothing_else(self) -> None:
        mark = mark_of(residue("PAG"), in_service=False)

        assert (mark.state, mark.word) == (ResidueState.OUT_OF_SERVICE, "Out of service")
