"""The oil of a circuit over its visits: what came out, what went in, and what is left by estimate."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from jobs.choices import StepKind
from jobs.models import StepRecord
from jobs.steps.oil_bottle import start_reading_m3
from jobs.steps.oil_total import OilTotal, held_after, oil_total, visit_oil
from jobs.steps.values import Values
from shopcool.vehicles.models import Circuit

COUNTED = (StepKind.OIL_BOTTLE, StepKind.RECOVERY, StepKind.PARTS, StepKind.OIL)


@dataclass(frozen=True)
class OilEvent:
    """One record that took oil out or put it in.

    ``change_m3`` is what it changed [m³], None when nobody measured it; ``left_m3`` what the circuit holds
    after the whole visit, told by the last event of it and None for the others or while unknown.
    """

    record: StepRecord
    kind: StepKind
    values: Values
    change_m3: float | None
    left_m3: float | None = None

    @property
    def at(self) -> datetime:
        """When it happened."""
        return self.record.occurred_at


@dataclass(frozen=True)
class CircuitOil:
    """The estimate with everything that it counts, oldest event first."""

    total: OilTotal
    events: tuple[OilEvent, ...]


def oil_of_circuits(circuits: Sequence[Circuit]) -> dict[int, CircuitOil]:
    """Return the oil of each circuit with one query; what a visit did before it was cancelled counts, too."""
    rows = StepRecord.objects.filter(job__circuit__in=circuits, kind__in=COUNTED, corrected_by=None)
    found: dict[int, list[StepRecord]] = defaultdict(list)
    for row in rows.select_related("job").order_by("occurred_at", "pk"):
        found[row.job.circuit_id].append(row)
    return {circuit.pk: _oil_of(circuit, found[circuit.pk]) for circuit in circuits}


def _oil_of(circuit: Circuit, rows: Sequence[StepRecord]) -> CircuitOil:
    told = [(row.job.number, StepKind(row.kind), Values(row.values)) for row in rows]
    by_job: dict[str, list[StepRecord]] = {}
    for row in rows:
        by_job.setdefault(row.job.number, []).append(row)
    held, events = circuit.oil_m3, list[OilEvent]()
    for number, visit in by_job.items():
        held = held_after(
            held, visit_oil(number, [(StepKind(row.kind), Values(row.values)) for row in visit])
        )
        events += _events(visit, held)
    return CircuitOil(oil_total(circuit.oil_m3, told), tuple(events))


def _events(rows: Iterable[StepRecord], left_m3: float | None) -> list[OilEvent]:
    """Return the events of one visit; a bottle is only what the recovery after it is measured from."""
    found: list[OilEvent] = []
    reading: float | None = None
    for row in rows:
        kind, values = StepKind(row.kind), Values(row.values)
        if kind is StepKind.OIL_BOTTLE:
            reading = start_reading_m3(values)
            continue
        change = _change(kind, values, reading)
        if kind is StepKind.RECOVERY and change is not None:
            reading = values.needed("oil_end")
        found.append(OilEvent(row, kind, values, change))
    if found:
        last = found[-1]
        found[-1] = OilEvent(last.record, last.kind, last.values, last.change_m3, left_m3)
    return found


def _change(kind: StepKind, values: Values, reading_m3: float | None) -> float | None:
    if kind is StepKind.OIL:
        return values.si("amount", 0.0)
    if kind is StepKind.PARTS:
        drained = values.si("drained_oil")
        return None if drained is None else -drained
    end = values.si("oil_end")
    return None if end is None or reading_m3 is None else reading_m3 - end
