"""When a line purge counts: pure rules about its readings and its loop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass

from django.utils.translation import gettext as _

from equipment.exposure import Residue
from shopcool.core.figures import Figure
from shopcool.engineering.quantities import Kind, format_quantity
from shopcool.shop.limits import LEAST_PURGE_KG, SHORTEST_PURGE_S, WEAKEST_VACUUM_PA
from shopcool.vehicles.choices import Additive


@dataclass(frozen=True)
class PurgeMethod:
    """What a purge must show to be verified.

    ``minimum_circulated_kg`` [kg] of refrigerant through the loop, for at least ``minimum_duration_s`` [s],
    ended by a vacuum of at most ``maximum_final_vacuum_pa`` [Pa absolute].
    """

    name: str
    minimum_circulated_kg: float
    minimum_duration_s: float
    maximum_final_vacuum_pa: float
    source: str

    def as_record(self) -> dict[str, object]:
        """Return the method as JSON carries it."""
        return asdict(self)


#: The least that counts anywhere; a shop may ask for more, and the machine's maker comes first.
LINE_PURGE = PurgeMethod(
    name="line purge",
    minimum_circulated_kg=LEAST_PURGE_KG,
    minimum_duration_s=SHORTEST_PURGE_S,
    maximum_final_vacuum_pa=WEAKEST_VACUUM_PA,
    source="shop policy; the procedure of the machine's maker comes first",
)


@dataclass(frozen=True)
class PurgeReadings:
    """What was read at the machine: mass [kg], duration [s], final vacuum [Pa absolute]. None: not read."""

    circulated_kg: float | None
    duration_s: float | None
    final_vacuum_pa: float | None
    completed: bool


@dataclass(frozen=True)
class PurgeFinding:
    """Why a purge does not count."""

    code: str
    sentence: str
    limit: Figure | None = None

    def as_record(self) -> dict[str, object]:
        """Return the finding as JSON carries it."""
        figures = [self.limit.as_record()] if self.limit else []
        return {"code": self.code, "sentence": self.sentence, "figures": figures}


def judge_purge(
    method: PurgeMethod, readings: PurgeReadings, machine_residue: Residue
) -> tuple[PurgeFinding, ...]:
    """Return every reason why the purge does not clear its loop; an empty result verifies it."""
    return tuple(_findings(method, readings, machine_residue))


def _findings(
    method: PurgeMethod, readings: PurgeReadings, machine_residue: Residue
) -> Iterator[PurgeFinding]:
    if not readings.completed:
        yield PurgeFinding("not_completed", _("The purge did not run to its end."))
    if readings.circulated_kg is None:
        yield PurgeFinding("mass_not_read", _("The refrigerant mass circulated was not read."))
    elif readings.circulated_kg < method.minimum_circulated_kg:
        yield _beyond(
            "too_little_mass",
            _("Too little refrigerant went through the loop; at least %(limit)s is needed."),
            _figure(method.minimum_circulated_kg, Kind.MASS, "g"),
        )
    if readings.duration_s is None:
        yield PurgeFinding("duration_not_read", _("The duration was not read."))
    elif readings.duration_s < method.minimum_duration_s:
        yield _beyond(
            "too_short",
            _("The purge was too short; at least %(limit)s is needed."),
            _figure(method.minimum_duration_s, Kind.DURATION, "min"),
        )
    if readings.final_vacuum_pa is None:
        yield PurgeFinding("vacuum_not_read", _("The final vacuum was not read."))
    elif readings.final_vacuum_pa > method.maximum_final_vacuum_pa:
        yield _beyond(
            "vacuum_too_weak",
            _("The final vacuum is too weak; %(limit)s absolute or less is needed."),
            _figure(method.maximum_final_vacuum_pa, Kind.PRESSURE, "mbar", basis="absolute"),
        )
    if Additive.SEALER in machine_residue.additives:
        yield PurgeFinding(
            "sealer_in_machine",
            _("The machine itself was in contact with leak sealer, which no purge removes."),
        )


def _beyond(code: str, sentence: str, limit: Figure) -> PurgeFinding:
    return PurgeFinding(code, sentence % {"limit": limit.text}, limit)


def _figure(si: float, kind: Kind, unit: str, *, basis: str = "") -> Figure:
    return Figure(format_quantity(si, kind, unit, basis=basis), si, kind, basis)
