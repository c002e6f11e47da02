"""The sheet for the customer: what was done, and when to come again and why, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext as _

from equipment.choices import IncidentStatus
from jobs.choices import JobStatus, StepKind
from jobs.procedure import Outcome
from jobs.reports.gathering import Gathered
from jobs.reports.words import day_words, labelled
from jobs.selectors import RecordRow
from jobs.steps.display import retold
from jobs.steps.insulation.fields import COMPONENT
from jobs.steps.recovered import recovered_kg
from shopcool.core.documents import Fact, Group, Remark, Section, Tone
from shopcool.engineering.quantities import Kind


def customer_section(gathered: Gathered) -> Section | None:
    """Return what the customer takes along, None while the job is not closed."""
    if gathered.job.status != JobStatus.CLOSED:
        return None
    vehicle = gathered.job.circuit.vehicle
    text = _(
        "What was done to the air conditioning of %(plate)s, in plain words. Every measurement stands on the "
        "pages before."
    )
    groups = (
        Group(_("What was done"), tuple(_done(gathered)), wide=True),
        Group(_("When to come again"), tuple(_again(gathered)), wide=True),
    )
    return Section(
        _("For the customer"),
        text % {"plate": vehicle.registration},
        groups=groups,
        remarks=tuple(_advice(gathered)),
        own_sheet=True,
    )


def _done(gathered: Gathered) -> Iterator[Fact]:
    yield from _refrigerant(gathered)
    yield from _parts_and_oil(gathered)
    yield _vacuum(gathered)
    yield _leaks(gathered)
    if gathered.situation.case.facts.is_high_voltage:
        yield _insulation(gathered)
    yield from _air(gathered)


def _refrigerant(gathered: Gathered) -> Iterator[Fact]:
    circuit, units = gathered.job.circuit, gathered.units
    name = circuit.get_refrigerant_display()
    label = gathered.situation.case.facts.charge_kg
    wanted = (
        "" if label is None else _("the label asks for %(mass)s") % {"mass": units.shown(label, Kind.MASS)}
    )
    taken_out = sum(recovered_kg(row.values) for row in gathered.standing(StepKind.RECOVERY))
    for kind, title, mass in (
        (StepKind.RECOVERY, _("Refrigerant taken out"), taken_out),
        (StepKind.CHARGE, _("Refrigerant in it now"), gathered.situation.context.charged_before_kg),
    ):
        if gathered.standing(kind):
            told = _("%(mass)s of %(name)s") % {"mass": units.shown(mass, Kind.MASS), "name": name}
            yield Fact(title, told, wanted if kind is StepKind.CHARGE else "")


def _parts_and_oil(gathered: Gathered) -> Iterator[Fact]:
    for row in gathered.standing(StepKind.PARTS):
        yield Fact(_("New parts"), row.values.text("parts"))
    for row in gathered.standing(StepKind.OIL):
        amount = retold(row.answer, gathered.units).output("amount")
        if amount is not None:
            yield Fact(_("Oil added"), amount.text)


def _vacuum(gathered: Gathered) -> Fact:
    label, rows = _("Vacuum before filling"), gathered.standing(StepKind.EVACUATION)
    if not rows:
        return Fact(label, _("not part of this visit"), known=False)
    held = rows[-1].answer.outcome is Outcome.HELD
    return Fact(label, _("it held: no gross leak") if held else _("it did not hold"))


def _leaks(gathered: Gathered) -> Fact:
    label, rows = _("Search for leaks"), gathered.standing(StepKind.LEAK_CHECK)
    if not rows:
        return Fact(label, _("not part of this visit"), known=False)
    values, outcome = rows[-1].values, rows[-1].answer.outcome
    if outcome is Outcome.NO_LEAK_FOUND:
        return Fact(label, _("none found"), labelled(_("smallest that shows"), values.text("smallest")))
    if outcome is Outcome.LEAK_FOUND:
        return Fact(label, _("a leak was found"), values.text("where"))
    return Fact(label, _("without a clear result"), known=False)


def _insulation(gathered: Gathered) -> Fact:
    label = _("Insulation of the compressor")
    rows = [row for row in gathered.standing(StepKind.INSULATION) if row.values.text("test") == COMPONENT]
    if not rows:
        return Fact(label, _("not measured on this visit"), known=False)
    return Fact(label, _resistance(rows[-1]), _compared(rows[-1]))


def _resistance(row: RecordRow) -> str:
    measured = row.answer.output("resistance")
    return measured.text if measured else ""


def _compared(row: RecordRow) -> str:
    outcome = row.answer.outcome
    if outcome is Outcome.PASSED:
        return _("above the vehicle maker's limit")
    if outcome is Outcome.FAILED:
        return _("not in order")
    if row.values.has("limit"):
        return _("the test could not be compared with the vehicle maker's limit")
    return _("no limit of the vehicle maker was at hand to compare it with")


def _air(gathered: Gathered) -> Iterator[Fact]:
    after = gathered.situation.context.latest(StepKind.READINGS_AFTER)
    if after is not None and after.has("vent") and after.has("ambient"):
        vent, outside = (
            gathered.units.shown(after.needed(name), Kind.TEMPERATURE) for name in ("vent", "ambient")
        )
        yield Fact(_("Air from the vents"), vent, _("at %(outside)s outside") % {"outside": outside})


def _again(gathered: Gathered) -> Iterator[Fact]:
    day = gathered.job.next_service_on
    yield Fact(_("Next service"), day_words(day) if day else _("not agreed"), known=day is not None)
    for row in gathered.standing(StepKind.CLOSE_OUT)[-1:]:
        answer = retold(row.answer, gathered.units)
        for code in ("next_service", "later_than_proposed"):
            found = next((finding for finding in answer.findings if finding.code == code), None)
            if found is not None:
                yield Fact(_("Why then"), found.sentence)
        if row.values.has("remarks"):
            yield Fact(_("Remarks"), row.values.text("remarks"))


def _advice(gathered: Gathered) -> Iterator[Remark]:
    if any(row.status == IncidentStatus.OPEN for row in gathered.incidents):
        sentence = _("The workshop still follows something up about this visit: ask what it means for you.")
        yield _caution(sentence)
    if gathered.situation.case.facts.is_high_voltage:
        sentence = _(
            "The compressor runs on high voltage, with its windings in the oil. Other oil, dye or sealer can "
            "destroy it. Let only qualified people open or fill this circuit."
        )
        yield _caution(sentence)
    yield _caution(
        _(
            "Never top up from a can: only a scale tells how much is inside, and a sealer can ruin the "
            "compressor and the machines of every workshop."
        )
    )
    sentence = _("This sheet is no certificate. The vehicle maker's data and local rules come first.")
    yield Remark(Tone.NOTE, "", sentence)


def _caution(sentence: str) -> Remark:
    return Remark(Tone.WARNING, _("Caution"), sentence)
