"""A job with everything its rules look at, loaded with the same few queries for one job or for many."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import F

from equipment.choices import PieceKind, Verdict
from equipment.exposure import Residue
from equipment.models import Connection, Piece
from equipment.readiness import VisitFacts
from equipment.selectors import circuit_facts, due_for_purge, today_at
from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.codes_on_file import CodesOnFile
from jobs.instruments_on_hand import RegisteredInstruments
from jobs.models import Job, StepRecord
from jobs.oil_on_hand import ShopOil
from jobs.past import EarlierVisits
from jobs.pieces_on_hand import Machines, PiecesOnHand
from jobs.procedure import (
    Case,
    Outcome,
    ProcedureFacts,
    Progress,
    StepDone,
    StepState,
    case_of,
    state_of,
    step_states,
)
from jobs.steps.answers import Answer
from jobs.steps.context import Earlier, PieceChoice, SearchRule, ShopPolicy, StepContext
from jobs.steps.fields import FieldKind
from jobs.steps.high_voltage import gloves_in_date
from jobs.steps.identification import is_about
from jobs.steps.registry import step_of
from jobs.steps.values import Values
from shopcool.core.actors import PreferredUnits
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get
from shopcool.shop.units import AS_THE_WORKSHOP, units_for
from shopcool.vehicles.choices import Drive, Lubricant, Metering, Refrigerant
from shopcool.vehicles.models import Circuit


@dataclass(frozen=True)
class Situation:
    """A job at one moment. ``records`` are all of its step records, ``standing`` those not corrected."""

    job: Job
    case: Case
    states: tuple[StepState, ...]
    context: StepContext
    records: tuple[StepRecord, ...]
    standing: tuple[StepRecord, ...]
    connections: tuple[Connection, ...]
    purges_due: tuple[Piece, ...]

    def state(self, kind: StepKind) -> StepState:
        """Return where one step stands."""
        return state_of(kind, self.states)

    def seen(self, kind: StepKind) -> int:
        """Return how many records of a kind there are; a form carries it to notice somebody faster."""
        return sum(1 for record in self.records if record.kind == kind)

    @property
    def visit(self) -> VisitFacts:
        """What the job has established before a connection, as the clearance wants to know it."""
        precautions = self.context.latest(StepKind.HIGH_VOLTAGE)
        label = self.context.latest(StepKind.LABEL)
        return VisitFacts(
            job_number=self.job.number,
            identification=self.case.identification,
            oil_bottle_read=self.case.has(StepKind.OIL_BOTTLE),
            needs_high_voltage_work=self.case.needs_high_voltage_work,
            gloves_in_date=gloves_in_date(
                precautions, self.context.today, self.context.policy.glove_test_months
            )
            if precautions
            else None,
            additives=frozenset(label.many("additives")) if label else frozenset(),
        )


def situation_of(
    job: Job,
    *,
    now: datetime,
    without: StepRecord | None = None,
    units: PreferredUnits = AS_THE_WORKSHOP,
    shop: Shop | None = None,
) -> Situation:
    """Return a job at one moment, told in a person's units.

    ``without`` leaves out a record that is about to be corrected. ``shop`` is the workshop where it was read
    already.
    """
    shop = shop or shop_get()
    situation = situations_of([job], now=now, without=without, shop=shop)[0]
    context = replace(
        situation.context,
        history=EarlierVisits(job, before=job.checked_in_at or now),
        instruments=_instruments(without, situation.context.today, shop),
        codes=CodesOnFile(job.circuit.vehicle),
        oil=ShopOil(job, situation.context.pieces, now=now, without=without, shop=shop),
        units=situation.context.units.preferring(units),
    )
    return replace(situation, context=context)


def _instruments(without: StepRecord | None, today: date, shop: Shop) -> RegisteredInstruments:
    """Return the instruments on the day of the work; those that a record names may stay in its correction."""
    if without is None:
        return RegisteredInstruments(today)
    specs = step_of(without.kind).fields
    chosen = [without.values.get(spec.name) for spec in specs if spec.kind is FieldKind.INSTRUMENT]
    named = [one["id"] for one in chosen if one]
    return RegisteredInstruments(today_at(shop, without.occurred_at), named=named)


def situations_of(
    jobs: Sequence[Job],
    *,
    now: datetime,
    without: StepRecord | None = None,
    shop: Shop | None = None,
) -> list[Situation]:
    """Return many jobs at one moment with as many queries as one; circuits should be loaded with the jobs."""
    shop = shop or shop_get()
    records: dict[int, list[StepRecord]] = defaultdict(list)
    for record in StepRecord.objects.filter(job__in=jobs).order_by("job_id", "sequence"):
        records[record.job_id].append(record)
    connections: dict[str, list[Connection]] = defaultdict(list)
    for connection in _connections(jobs):
        connections[connection.job_number].append(connection)
    machines = Machines()
    return [
        _situation(job, shop, records[job.pk], connections[job.number], machines, now, without)
        for job in jobs
    ]


def _aboard(connections: Iterable[Connection], without: StepRecord | None) -> list[Connection]:
    """Return what is on the vehicle now, or was at the step whose record is about to be corrected."""
    if without is None:
        return [row for row in connections if row.disconnected_at is None]
    return [
        row
        for row in connections
        if row.connected_at <= without.recorded_at
        and (row.disconnected_at is None or row.disconnected_at > without.occurred_at)
    ]


def procedure_facts(job: Job) -> ProcedureFacts:
    """Return what decides which steps a job needs."""
    return facts_of(ServiceKind(job.service), job.circuit)


def facts_of(service: ServiceKind, circuit: Circuit) -> ProcedureFacts:
    """Return what decides which steps a service of a circuit needs."""
    return ProcedureFacts(
        service=service,
        refrigerant=Refrigerant(circuit.refrigerant),
        lubricant=Lubricant(circuit.lubricant),
        drive=Drive(circuit.drive),
        charge_kg=circuit.charge_kg,
        other_oil_suspected=bool(circuit.suspected_lubricants),
    )


def position_of(record: StepRecord, by_id: dict[int, StepRecord]) -> int:
    """Return the place of the record in its job: that of the first one it corrects, if it corrects one."""
    while record.corrects_id is not None:
        record = by_id[record.corrects_id]
    return record.sequence


def _connections(jobs: Sequence[Job]) -> list[Connection]:
    """Return the connections of jobs, oldest first.

    They are sorted here, since Django looks at each of the many joined columns when a query is ordered.
    """
    rows = Connection.objects.filter(job_number__in=[job.number for job in jobs])
    rows = rows.select_related("piece__state").annotate(verdict=F("clearance__verdict"))
    return sorted(rows, key=lambda row: (row.connected_at, row.pk))


def _situation(
    job: Job,
    shop: Shop,
    records: list[StepRecord],
    connections: list[Connection],
    machines: Iterable[Piece],
    now: datetime,
    without: StepRecord | None,
) -> Situation:
    corrected = {record.corrects_id for record in records}
    left_out = without.pk if without else None
    by_id = {record.pk: record for record in records}
    standing = [record for record in records if record.pk not in corrected and record.pk != left_out]
    facts = procedure_facts(job)
    expected = facts.refrigerant if job.is_open else None
    earlier = tuple(_earlier(record, position_of(record, by_id), expected) for record in standing)
    due = tuple(due_for_purge(connections))
    aboard = _aboard(connections, without)
    progress = _progress(job, earlier, connections, aboard, due)
    case = case_of(facts, progress)
    return Situation(
        job=job,
        case=case,
        states=step_states(case),
        context=_context(job.circuit, shop, case, earlier, PiecesOnHand(connections, aboard, machines), now),
        records=tuple(records),
        standing=tuple(standing),
        connections=tuple(connections),
        purges_due=due,
    )


def _earlier(record: StepRecord, position: int, expected: Refrigerant | None) -> Earlier:
    """Return a record as the rules see it; an identification of another gas than expected now is none."""
    kind, answer = StepKind(record.kind), Answer.from_record(record.answer)
    if kind is StepKind.IDENTIFICATION and expected is not None and not is_about(answer, expected):
        answer = replace(answer, outcome=Outcome.NOT_DONE, satisfied=False)
    return Earlier(kind, position, answer.outcome, Values(record.values), answer)


def _progress(
    job: Job,
    earlier: tuple[Earlier, ...],
    connections: list[Connection],
    aboard: list[Connection],
    due: tuple[Piece, ...],
) -> Progress:
    return Progress(
        status=JobStatus(job.status),
        records=tuple(
            StepDone(
                known.kind, known.position, known.outcome, known.answer is None or known.answer.satisfied
            )
            for known in earlier
        ),
        connected=frozenset(PieceKind(row.piece.kind) for row in aboard),
        contaminated_cylinder_on=any(row.piece.is_marked_for_contaminated for row in aboard),
        was_connected=bool(connections),
        purges_due=tuple(piece.code for piece in due),
        tainted=tuple(row.piece.code for row in aboard if _is_tainted(job, row)),
    )


def _is_tainted(job: Job, connection: Connection) -> bool:
    """Whether a piece holds something unsafe that neither this circuit nor an owner's override gave it."""
    verdict: str = connection.verdict  # type: ignore[attr-defined]
    if not job.circuit.is_high_voltage or verdict != Verdict.PERMITTED:
        return False
    own = circuit_facts(job.circuit).residue
    found = connection.piece.state.condition().residue
    foreign = Residue(
        lubricants=found.lubricants - own.lubricants,
        additives=found.additives,
        unknown=found.unknown and not own.unknown,
    )
    return foreign.blocks_high_voltage


def _context(
    circuit: Circuit,
    shop: Shop,
    case: Case,
    earlier: tuple[Earlier, ...],
    pieces: Iterable[PieceChoice],
    now: datetime,
) -> StepContext:
    return StepContext(
        case=case,
        today=today_at(shop, now),
        tolerance_kg=circuit.tolerance_kg,
        oil_m3=circuit.oil_m3,
        lubricant_grade=circuit.lubricant_grade,
        oil_rule=circuit.oil_rule,
        working_voltage_v=circuit.working_voltage_v,
        metering=Metering(circuit.metering),
        maker_wait_minutes=circuit.high_voltage_wait_minutes,
        search=SearchRule(circuit.search_pressure_pa, circuit.search_temperature_k, circuit.maker_source),
        policy=_policy(shop),
        units=units_for(shop),
        pieces=pieces,
        earlier=earlier,
    )


def _policy(shop: Shop) -> ShopPolicy:
    return ShopPolicy(
        minimum_purity=shop.minimum_purity,
        maximum_hydrocarbon=shop.maximum_hydrocarbon,
        maximum_air=shop.maximum_air,
        gloves_required=shop.glove_check_required,
        wait_minutes=shop.high_voltage_wait_minutes,
        next_service_months=shop.next_service_months,
        glove_test_months=shop.glove_test_months,
        insulation_like_k=shop.insulation_like_k,
    )
