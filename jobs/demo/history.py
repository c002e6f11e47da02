"""Sixty days at the invented workshop: residue, a late entry, an incident, an override, and today's cars."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from equipment.exposure import Residue
from equipment.incidents import Incident
from equipment.services.exposures import contact_declare, pump_oil_suspect
from equipment.services.incidents import incident_close
from jobs.choices import ServiceKind, StepKind
from jobs.demo import typed
from jobs.demo.oil import injectors_fill
from jobs.demo.story import Story
from jobs.demo.typed import Figures
from jobs.models import Job
from shopcool.vehicles.choices import Lubricant

PAG = Residue(lubricants=frozenset({Lubricant.PAG.value}))


def tell(story: Story, today: datetime) -> None:
    """Tell the sixty days before ``today``, the opening of the present day at the workshop."""
    _first_weeks(story, today)
    _pump_and_electric_cars(story, today)
    _late_entry(story, today)
    _override(story, today)
    _yesterday(story, today)


def _first_weeks(story: Story, today: datetime) -> None:
    story.go_to(today - timedelta(days=58))
    story.purge("M-2", "H-2", "H-3", "G-1")
    story.purge("M-3", "H-1", "F-1")
    visit(story, "belt", ["M-1", "H-1"], Figures("weak cooling in traffic", "430 g", "520 g"))
    story.go_to(today - timedelta(days=51))
    visit(story, "hybrid", ["M-2", "H-2", "G-1"], Figures("two-year service", "0,455 kg", "0,480 kg"))
    story.go_to(today - timedelta(days=44))
    visit(story, "electric", ["M-2", "H-3"], Figures("cools late", "15.9 oz", "550 g"), actor="tomasz")
    story.go_to(today - timedelta(days=37))
    visit(story, "dual", ["M-3", "H-1"], Figures("noise at the compressor", "441 g", "490 g"))


def _pump_and_electric_cars(story: Story, today: datetime) -> None:
    story.go_to(today - timedelta(days=29))
    pump_oil_suspect(
        actor=story.people["priya"],
        piece_id=story.pieces["H-2"].pk,
        occurred_at=story.now,
        now=story.now,
        note="Power cut while evacuating, valve was open",
    )
    story.purge("M-2", "H-2", "G-1", actor="priya")
    story.go_to(today - timedelta(days=20))
    figures = Figures("first service", "742 g", "760 g", low="2.3 bar", high="14.6 bar")
    visit(story, "electric_800", ["M-2", "H-2"], figures)


def _late_entry(story: Story, today: datetime) -> None:
    """Nobody had noted that the hoses were lent out; the entry comes four days after the electric car."""
    story.go_to(today - timedelta(days=16))
    contact_declare(
        actor=story.people["tomasz"],
        piece_id=story.pieces["H-2"].pk,
        occurred_at=today - timedelta(days=21),
        now=story.now,
        residue=PAG,
        note="Lent to bay 3 for a belt-driven van with PAG, not noted that day",
    )
    story.purge("M-2", "H-2", actor="tomasz")
    story.go_to(today - timedelta(days=13))
    job = story.check_in(
        story.book("electric_800", ServiceKind.INSULATION, "recalled: oil may be mixed", bay="2")
    )
    story.step(job, StepKind.LABEL, {"label": "READ", "complaint": "recalled after a late entry"})
    _measure_insulation(story, job, "anneke", "310 MΩ")
    story.close(job)


def _measure_insulation(story: Story, job: Job, actor: str, reading: str = "> 550 MΩ") -> None:
    nominal, actual = ("1000 V", "1020 V") if job.circuit.working_voltage_v == 800 else ("500 V", "526 V")
    story.step(job, StepKind.HIGH_VOLTAGE, typed.precautions(story.now), actor)
    story.step(job, StepKind.INSULATION, typed.insulation(nominal, actual, reading), actor)


def _override(story: Story, today: datetime) -> None:
    story.go_to(today - timedelta(days=9))
    job = story.check_in(story.book("dual", ServiceKind.INSPECTION, "to be scrapped, gas must come out"))
    figures = Figures("to be scrapped", "0", "0")
    pieces = ["M-3", "H-1", "F-1"]
    story.purge("M-3", "H-1")
    contact_declare(
        actor=story.people["ingrid"],
        piece_id=story.pieces["F-1"].pk,
        occurred_at=story.now,
        now=story.now,
        residue=PAG,
        note="Used to check a belt-driven car in the yard",
    )
    for kind, raw in typed.before_connection(figures, story.pieces["M-3"].pk).items():
        story.step(job, kind, raw, actor="ingrid")
    story.connect(job, pieces, actor="ingrid")
    reason = "The car is going to be scrapped, its owner signed"
    story.connect(job, pieces, actor="ingrid", override_reason=reason)
    story.step(
        job,
        StepKind.READINGS_BEFORE,
        {"state": "STATIC", "low": "71 psi", "high": "71 psi", "ambient": "20 °C"},
        actor="ingrid",
    )
    _measure_insulation(story, job, "ingrid")
    story.disconnect(job, actor="ingrid")
    story.purge("M-3", "H-1", "F-1", actor="ingrid", job=job)
    story.close(job, actor="ingrid")
    incident_close(
        actor=story.people["ingrid"],
        incident=Incident.objects.get(job_number=job.number),
        resolution="Car was scrapped on the same day, papers in the file",
        circuit_is_clean=False,
        now=story.later(),
    )


def _yesterday(story: Story, today: datetime) -> None:
    """The hybrid has a belt and PAG oil; its closing purge was left for the morning."""
    story.go_to(today - timedelta(days=1))
    injectors_fill(story.people["anneke"], story.pieces, story.later())
    visit(
        story,
        "hybrid",
        ["M-2", "H-2", "G-1"],
        Figures("loses gas again", "0,402 kg", "0,480 kg"),
        actor="priya",
        finish=False,
        injector="I-3",
    )


def todays_cars(story: Story, today: datetime, now: datetime) -> None:
    """Book what is on today and tomorrow; the electric car stands in the bay already."""
    story.go_to(min(today, now) - timedelta(minutes=40))
    electric = story.book(
        "electric",
        ServiceKind.AC_SERVICE,
        "Cools weakly after a stone hit the condenser",
        bay="1",
        at=today,
    )
    story.check_in(electric)
    story.book(
        "electric_800",
        ServiceKind.AC_SERVICE,
        "Yearly check",
        bay="2",
        technician="tomasz",
        at=today + timedelta(hours=3),
    )
    story.book("unknown", ServiceKind.INSPECTION, "Label is missing", bay="3", at=today + timedelta(hours=5))
    tomorrow = today + timedelta(days=1)
    story.book("belt", ServiceKind.REPAIR, "Condenser leaks", technician="priya", at=tomorrow)


def visit(
    story: Story,
    car: str,
    codes: Sequence[str],
    figures: Figures,
    *,
    actor: str = "anneke",
    finish: bool = True,
    injector: str = "",
) -> Job:
    """Carry a whole service through, up to the closed record unless it is left unfinished."""
    job = story.check_in(
        story.book(car, ServiceKind.AC_SERVICE, figures.complaint, bay="1", technician=actor)
    )
    machine = story.pieces[codes[0]].pk
    for kind, raw in typed.before_connection(figures, machine).items():
        story.step(job, kind, raw, actor)
    on_the_car = [*codes, injector] if injector else codes
    if not story.connect(job, on_the_car, actor).connected:
        raise RuntimeError(f"The story expected {codes} to be cleared for {car}.")
    steps = typed.on_the_car(figures, machine)
    if injector:
        steps[StepKind.OIL] = typed.injected(story.pieces[injector].pk, figures.oil_end)
    for kind, raw in steps.items():
        story.step(job, kind, raw, actor)
    if story.circuits[car].is_high_voltage:
        _measure_insulation(story, job, actor)
    story.disconnect(job, actor)
    if finish:
        story.purge(codes[0], *codes[1:], actor=actor, job=job)
        story.close(job, actor)
    return job
