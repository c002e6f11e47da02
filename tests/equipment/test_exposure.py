"""The fold of exposures into a residue: pure, whatever order the entries were written in."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.choices import ExposureKind
from equipment.exposure import BEFORE_ANYTHING, Condition, ExposureEvent, Residue, evolve, fold
from shopcool.vehicles.choices import Additive, Lubricant, Refrigerant

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
PAG = Residue(lubricants=frozenset({Lubricant.PAG.value}))
DYE = Residue(additives=frozenset({Additive.DYE.value}))
SEALER = Residue(additives=frozenset({Additive.SEALER.value}))
GAS = Residue(refrigerants=frozenset({Refrigerant.R1234YF.value}))


def event(kind: ExposureKind, minute: int, **values: object) -> ExposureEvent:
    """An exposure some minutes after the start; its sequence follows its minute unless given."""
    values.setdefault("sequence", minute)
    return ExposureEvent(kind=kind, occurred_at=START + timedelta(minutes=minute), **values)  # type: ignore[arg-type]


PURGE = event(ExposureKind.PURGED, 10, verified=True, residue=GAS)

residues = st.builds(
    Residue,
    lubricants=st.frozensets(st.sampled_from(Lubricant.values), max_size=2),
    refrigerants=st.frozensets(st.sampled_from(Refrigerant.values), max_size=2),
    additives=st.frozensets(st.sampled_from(Additive.values), max_size=2),
    unknown=st.booleans(),
)
histories = st.lists(
    st.tuples(st.sampled_from(list(ExposureKind)), st.integers(0, 8), residues, st.booleans()),
    max_size=12,
).map(
    lambda rows: [
        ExposureEvent(kind, START + timedelta(minutes=minute), number, residue, verified)
        for number, (kind, minute, residue, verified) in enumerate(rows, start=1)
    ]
)


class TestNewPiece:
    def test_is_unknown_before_and_after_it_is_taken_in(self) -> None:
        assert fold([]).residue.unknown
        assert fold([event(ExposureKind.REGISTERED, 0)]).residue == Residue(unknown=True)


class TestVerifiedPurge:
    def test_leaves_only_its_own_gas(self) -> None:
        condition = fold([event(ExposureKind.CONNECTED, 1, residue=PAG.joined(DYE)), PURGE])

        assert condition.residue == GAS
        assert condition.last_purge_at == PURGE.occurred_at

    def test_does_not_remove_sealer(self) -> None:
        condition = fold([event(ExposureKind.CONTACT_DECLARED, 1, residue=SEALER), PURGE])

        assert condition.residue.additives == {Additive.SEALER}
        assert condition.residue.blocks_high_voltage

    def test_that_does_not_count_clears_nothing_and_spreads_the_loop(self) -> None:
        clean = [event(ExposureKind.REGISTERED, 0), event(ExposureKind.PURGED, 1, verified=True)]
        spoiled = event(ExposureKind.PURGED, 5, verified=False, residue=PAG)

        assert fold([*clean, spoiled]).residue.lubricants == {Lubricant.PAG}


class TestLateEntry:
    def test_before_a_purge_changes_nothing_and_after_it_contaminates(self) -> None:
        late = event(ExposureKind.CONTACT_DECLARED, 5, residue=PAG, sequence=99)
        later = event(ExposureKind.CONTACT_DECLARED, 15, residue=PAG, sequence=99)

        assert fold([PURGE, late]).residue == GAS
        assert fold([PURGE, later]).residue.lubricants == {Lubricant.PAG}


class TestWithdrawnEntry:
    def test_counts_no_longer(self) -> None:
        wrong = event(ExposureKind.CONTACT_DECLARED, 12, residue=PAG, sequence=12)
        withdrawal = event(ExposureKind.VOIDED, 12, sequence=13, corrects=12)

        assert fold([PURGE, wrong]).residue.lubricants == {Lubricant.PAG}
        assert fold([PURGE, wrong, withdrawal]).residue == GAS


class TestResidue:
    @pytest.mark.parametrize(
        ("residue", "blocks"),
        [
            (PAG, True),
            (DYE, True),
            (SEALER, True),
            (Residue(unknown=True), True),
            (Residue(lubricants=frozenset({Lubricant.POE.value})), False),
            (Residue(lubricants=frozenset({Lubricant.PVE.value})), False),
            (GAS, False),
        ],
    )
    def test_blocks_high_voltage_when_conductive_unknown_or_with_additive(
        self, residue: Residue, blocks: bool
    ) -> None:
        # PAG conducts and dye is often carried in PAG or solvent: common practice of the trade.
        assert residue.blocks_high_voltage is blocks


class TestFold:
    @given(histories, st.randoms())
    def test_does_not_depend_on_the_order_of_writing(
        self, history: list[ExposureEvent], random: Random
    ) -> None:
        shuffled = list(history)
        random.shuffle(shuffled)

        assert fold(shuffled) == fold(history)

    @given(histories)
    def test_of_a_prefix_goes_on_event_by_event(self, history: list[ExposureEvent]) -> None:
        ordered = sorted(history, key=lambda item: (item.occurred_at, item.sequence))

        for length in range(len(ordered)):
            assert evolve(fold(ordered[:length]), ordered[length]) == fold(ordered[: length + 1])

    @given(histories, residues)
    def test_keeps_every_contact_until_a_purge_or_an_inspection(
        self, history: list[ExposureEvent], residue: Residue
    ) -> None:
        clearing = {ExposureKind.PURGED, ExposureKind.INSPECTED}
        contact = ExposureEvent(ExposureKind.CONNECTED, START, 0, residue)
        kept = [item for item in history if item.kind not in clearing]

        after = fold([contact, *kept]).residue

        assert after.joined(residue) == after

    @pytest.mark.parametrize("kind", list(ExposureKind))
    def test_knows_every_kind_from_every_condition(self, kind: ExposureKind) -> None:
        dirty = replace(BEFORE_ANYTHING, residue=PAG, in_service=False)

        for condition in (BEFORE_ANYTHING, dirty):
            assert isinstance(evolve(condition, event(kind, 1)), Condition)
