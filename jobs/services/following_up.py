"""What a recorded step does to the equipment: foul gas in its cylinder, pump oil or foul gas in the hoses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.ledger import Account, Content
from equipment.maintenance.use import piece_used
from equipment.models import Connection, Piece
from equipment.oil.errors import LotUnfit, NotEnoughOil
from equipment.oil.filling import Addition, additions_book
from equipment.services.exposures import pump_oil_suspect, residue_declare_unknown
from equipment.services.ledger import account_of_circuit, account_of_piece, refrigerant_move
from jobs.choices import StepKind
from jobs.errors import ValuesInvalid
from jobs.models import StepRecord
from jobs.procedure import Outcome
from jobs.situation import Situation
from jobs.steps.recovered import recovered_kg
from jobs.steps.values import Values
from shopcool.core.actors import Actor
from shopcool.core.quantities import stored_text

#: Less is a rounding, not a movement [kg].
LEAST_KG = 0.0001
_FOUL = frozenset({Outcome.FAILED, Outcome.NOT_ANALYSABLE})


@dataclass(frozen=True)
class Recorded:
    """A step that was just recorded, and the record it corrects, if any."""

    situation: Situation
    record: StepRecord
    corrected: StepRecord | None
    actor: Actor
    now: datetime

    @property
    def values(self) -> Values:
        """What was recorded now."""
        return Values(self.record.values)

    @property
    def values_before(self) -> Values | None:
        """What stood before the correction; None when nothing is corrected."""
        return Values(self.corrected.values) if self.corrected else None

    @property
    def outcome_before(self) -> Outcome | None:
        """How the corrected record ended; None when nothing is corrected."""
        return Outcome(self.corrected.answer["outcome"]) if self.corrected else None

    def connected(self) -> Iterator[Connection]:
        """Yield what is on the vehicle now."""
        return (row for row in self.situation.connections if row.disconnected_at is None)


def follow_up(recorded: Recorded) -> None:
    """Carry what a step, or its correction, did to the equipment."""
    rule = _RULES.get(StepKind(recorded.record.kind))
    if rule is not None:
        rule(recorded)


def _identification(recorded: Recorded) -> None:
    """Gas that turns out contaminated or unknown has been in everything that is on the vehicle."""
    if Outcome(recorded.record.answer["outcome"]) not in _FOUL or recorded.outcome_before in _FOUL:
        return
    for connection in recorded.connected():
        residue_declare_unknown(
            actor=recorded.actor,
            piece_id=connection.piece_id,
            occurred_at=recorded.now,
            now=recorded.now,
            note=_("The gas of job %(job)s turned out contaminated or unknown while this was connected.")
            % {"job": recorded.situation.job.number},
        )


def _evacuation(recorded: Recorded) -> None:
    """A pump that stopped with an open valve may have let its oil into the lines."""
    before = recorded.values_before
    if not recorded.values.no("valve_closed_first") or (before and before.no("valve_closed_first")):
        return
    for connection in recorded.connected():
        if PieceKind(connection.piece.kind).can_be_purged:
            pump_oil_suspect(
                actor=recorded.actor,
                piece_id=connection.piece_id,
                occurred_at=recorded.record.occurred_at,
                now=recorded.now,
                note=_("Pump stopped with an open valve on job %(job)s.")
                % {"job": recorded.situation.job.number},
            )


def _recovery(recorded: Recorded) -> None:
    """Foul gas is booked into its cylinder, other gas counted; a correction brings the difference."""
    for cylinder_id, mass_kg in _difference(recorded, "MARKED_CYLINDER", "cylinder").items():
        _book(recorded, cylinder_id, mass_kg)
    for machine_id, mass_kg in _difference(recorded, "MACHINE", "machine").items():
        _count(recorded, machine_id, mass_kg)


def _difference(recorded: Recorded, into: str, name: str) -> dict[int, float]:
    """Return by how much [kg] a recovery, or its correction, filled each piece of one kind."""
    before = _taken_by(recorded.values_before, into, name) if recorded.values_before else {}
    after = _taken_by(recorded.values, into, name)
    return {
        piece_id: after.get(piece_id, 0.0) - before.get(piece_id, 0.0)
        for piece_id in sorted(before.keys() | after.keys())
    }


def _taken_by(values: Values, into: str, name: str) -> dict[int, float]:
    if values.text("into") != into:
        return {}
    return {int(values.number(name) or 0): recovered_kg(values)}


def _count(recorded: Recorded, machine_id: int, mass_kg: float) -> None:
    """Count what went through the filter-drier of a machine; its maintenance may go by mass."""
    if abs(mass_kg) >= LEAST_KG:
        piece_used(
            actor=recorded.actor,
            piece_id=machine_id,
            mass_kg=mass_kg,
            occurred_at=recorded.record.occurred_at,
            now=recorded.now,
            job_number=recorded.situation.job.number,
        )


def _book(recorded: Recorded, cylinder_id: int, mass_kg: float) -> None:
    vehicle = account_of_circuit(recorded.situation.job.circuit)
    cylinder = account_of_piece(Piece.objects.get(pk=cylinder_id))
    if mass_kg >= LEAST_KG:
        _move(recorded, vehicle, cylinder, mass_kg)
    elif mass_kg <= -LEAST_KG:
        _move(recorded, cylinder, vehicle, -mass_kg)


def _move(recorded: Recorded, source: Account, target: Account, mass_kg: float) -> None:
    refrigerant_move(
        actor=recorded.actor,
        source=source,
        target=target,
        content=Content.CONTAMINATED,
        mass_kg=mass_kg,
        now=recorded.now,
        job_number=recorded.situation.job.number,
    )


def _oil(recorded: Recorded) -> None:
    """Added oil leaves its injector or its lot; a correction books the difference."""
    try:
        additions_book(
            actor=recorded.actor,
            circuit=recorded.situation.job.circuit,
            before=_addition(recorded.values_before) if recorded.corrected else None,
            after=_addition(recorded.values),
            is_correction=recorded.corrected is not None,
            job_number=recorded.situation.job.number,
            now=recorded.now,
        )
    except (NotEnoughOil, LotUnfit) as error:
        # Somebody was faster: the rules of the step saw the books of a moment ago.
        field = "amount" if error.field == "amount" else "injector"
        raise ValuesInvalid({field: [error.message]}) from error


def _addition(values: Values | None) -> Addition | None:
    if values is None or not values.yes("added"):
        return None
    amount = values.quantity("amount")
    return Addition(
        volume_m3=values.needed("amount"),
        injector_id=values.number("injector"),
        lot_id=values.number("lot"),
        typed=stored_text(amount),
    )


_RULES = {
    StepKind.IDENTIFICATION: _identification,
    StepKind.EVACUATION: _evacuation,
    StepKind.RECOVERY: _recovery,
    StepKind.OIL: _oil,
}
