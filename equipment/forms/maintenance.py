"""Forms of maintenance: plans, work that was done, the hour meter, gloves given out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any, cast
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from equipment.choices import PieceKind
from equipment.forms.fields import DayField, WordsField
from equipment.maintenance.choices import IntervalSource, WhenOverdue, Work, WorkOutcome
from equipment.maintenance.models import MaintenancePlan, MaintenanceRecord
from equipment.maintenance.plans import PlanDescription
from equipment.maintenance.readings import COMPARED, NAMES, READ_IN, TANK
from equipment.maintenance.rules import CHARGE_TOLERANCE_KG, GLOVE_SOURCE, Interval
from equipment.maintenance.work import WorkDone
from equipment.models import Piece
from shopcool.core.fields import QuantityField
from shopcool.core.quantities import exact_quantity
from shopcool.engineering.quantities import Kind, Quantity, format_quantity
from shopcool.shop.units import Units

#: Which work each kind of piece can need; everything else is "other work".
WORK_OF: dict[PieceKind, tuple[Work, ...]] = {
    PieceKind.MACHINE: (
        Work.FILTER_DRIER, Work.PUMP_OIL, Work.SCALE_CHECK, Work.TANK_CHECK, Work.LEAK_CHECK,
        Work.GAUGE_CALIBRATION,
    ),
    PieceKind.HOSE_SET: (Work.LEAK_CHECK,),
    PieceKind.MANIFOLD: (Work.LEAK_CHECK, Work.GAUGE_CALIBRATION),
    PieceKind.ADAPTER: (Work.LEAK_CHECK,),
    PieceKind.SIGHT_GLASS: (Work.SIGHT_GLASS_FILTER, Work.LEAK_CHECK),
    PieceKind.RECOVERY_CYLINDER: (Work.REQUALIFICATION, Work.TANK_CHECK),
    PieceKind.IDENTIFIER: (Work.IDENTIFIER_FILTER, Work.TESTER_CALIBRATION),
    PieceKind.LEAK_DETECTOR: (Work.DETECTOR_CHECK,),
    PieceKind.INSULATION_TESTER: (Work.TESTER_CALIBRATION,),
    PieceKind.VOLTAGE_TESTER: (Work.TESTER_CALIBRATION,),
    PieceKind.VACUUM_GAUGE: (Work.GAUGE_CALIBRATION,),
    PieceKind.SCALE: (Work.SCALE_CHECK,),
    PieceKind.REFERENCE_MASS: (Work.MASS_CALIBRATION,),
    PieceKind.GLOVES: (Work.GLOVE_TEST,),
}  # fmt: skip


def _count(label: Any, *, maximum: int, help_text: Any = "") -> forms.IntegerField:
    return forms.IntegerField(
        label=label, required=False, min_value=1, max_value=maximum, help_text=help_text, localize=True
    )


def _say_optional(form: forms.Form, words: Any) -> None:
    """Put words of our own beside the fields that may stay empty."""
    for field in form.fields.values():
        if not field.required:
            field.note = words  # type: ignore[attr-defined]


class PlanForm(forms.Form):
    """What a piece needs and how often; limits that stay empty do not count."""

    work = forms.ChoiceField(label=_("What is done"), widget=forms.RadioSelect)
    title = forms.CharField(
        label=_("What exactly"), max_length=120, required=False, help_text=_("Needed for other work.")
    )
    months = _count(_("Every so many months"), maximum=240)
    days = _count(_("Every so many days"), maximum=3650)
    hours = QuantityField(
        kind=Kind.DURATION, default_unit="h", units=("h",), minimum=360.0, maximum=3.6e8, required=False,
        label=_("After so many hours run"), help_text=_("By the hour meter, read now and then."),
    )  # fmt: skip
    mass = QuantityField(
        kind=Kind.MASS, default_unit="kg", units=("kg", "lb"), minimum=0.1, maximum=10_000.0, required=False,
        label=_("After so much refrigerant recovered"), help_text=_("Line purges count as well."),
    )  # fmt: skip
    jobs = _count(_("After so many jobs"), maximum=100_000)
    tolerance = QuantityField(
        kind=Kind.MASS, default_unit="g", units=("g", "oz"), minimum=0.0001, maximum=1.0, required=False,
        label=_("Tolerance of the scale"),
        help_text=_("Leave empty for the one of the machine, else 15 g (SAE J2788 section 9.1)."),
    )  # fmt: skip
    source = forms.ChoiceField(
        label=_("Who says so"), choices=IntervalSource.choices, widget=forms.RadioSelect
    )
    source_note = forms.CharField(
        label=_("Where it stands"),
        max_length=200,
        required=False,
        help_text=_("Manual and page, or standard."),
    )
    when_overdue = forms.ChoiceField(
        label=_("When it is overdue"),
        choices=WhenOverdue.choices,
        widget=forms.RadioSelect,
        initial=WhenOverdue.NOT_READY,
        help_text=_("Leave it at not ready where safety or accuracy depends on it."),
    )
    starts_on = DayField(
        label=_("Last done on"), help_text=_("The first interval runs from this day. Today, if not known.")
    )
    revision = forms.IntegerField(widget=forms.HiddenInput, initial=1)

    def __init__(
        self, *arguments: Any, piece: Piece, units: Units, plan: MaintenancePlan | None = None, **options: Any
    ) -> None:
        super().__init__(*arguments, **options)
        for name, unit in (("mass", units.bulk_mass), ("tolerance", units.fine_mass)):
            field = cast(QuantityField, self.fields[name])
            field.use_rule(field.rule.in_unit(unit))
        offered = (*WORK_OF.get(PieceKind(piece.kind), ()), Work.OTHER)
        self.fields["work"].choices = [(work.value, work.label) for work in offered]  # type: ignore[attr-defined]
        if Work.SCALE_CHECK not in offered:
            del self.fields["tolerance"]
        if piece.kind == PieceKind.GLOVES:
            self.fields["months"].help_text = _("At most 6; 12 while in store (%(source)s).") % {
                "source": GLOVE_SOURCE
            }
        if plan is not None:
            self.plan = plan
            del self.fields["work"]
        _say_optional(self, _("where it applies"))

    def description(self) -> PlanDescription:
        """Return what was filled in, for the service."""
        values = self.cleaned_data
        hours, mass, tolerance = values["hours"], values["mass"], values.get("tolerance")
        return PlanDescription(
            work=Work(values["work"] if "work" in self.fields else self.plan.work),
            interval=Interval(
                months=values["months"],
                days=values["days"],
                hours=hours.si / 3600.0 if hours else None,
                kg=mass.si if mass else None,
                jobs=values["jobs"],
            ),
            source=IntervalSource(values["source"]),
            when_overdue=WhenOverdue(values["when_overdue"]),
            starts_on=values["starts_on"],
            title=values["title"],
            source_note=values["source_note"],
            tolerance_kg=tolerance.si if tolerance else None,
        )


def plan_values(plan: MaintenancePlan, units: Units) -> dict[str, Any]:
    """Return a plan as its form shows it: saved unchanged, each amount means exactly the same."""
    hours = None if plan.every_hours is None else plan.every_hours * 3600.0
    return {
        "title": plan.title,
        "months": plan.every_months,
        "days": plan.every_days,
        "hours": exact_quantity(hours, Kind.DURATION, "h") if hours else None,
        "mass": exact_quantity(plan.every_kg, Kind.MASS, units.bulk_mass) if plan.every_kg else None,
        "jobs": plan.every_jobs,
        "tolerance": exact_quantity(plan.tolerance_kg, Kind.MASS, units.fine_mass)
        if plan.tolerance_kg
        else None,
        "source": plan.source,
        "source_note": plan.source_note,
        "when_overdue": plan.when_overdue,
        "starts_on": plan.starts_on,
        "revision": plan.revision,
    }


class EndForm(forms.Form):
    """Why a plan ends."""

    reason = WordsField(label=_("Why does the piece no longer need this?"), max_length=300)


class WorkForm(forms.Form):
    """Work that was done by a plan, with the questions that this work raises."""

    done_on = DayField(label=_("Done on"))
    reference_piece = forms.ModelChoiceField(
        label=_("Reference mass"), queryset=Piece.objects.none(), required=False, widget=forms.RadioSelect,
        empty_label=_("Another one, described in the note"), blank=True,
    )  # fmt: skip
    reference = QuantityField(kind=Kind.MASS, default_unit="kg", label=_("Reference"))
    before = QuantityField(kind=Kind.MASS, default_unit="kg", label=_("Reading before"))
    after = QuantityField(
        kind=Kind.MASS, default_unit="kg", required=False, label=_("Reading after an adjustment"),
        help_text=_("Leave empty if nothing was adjusted."),
    )  # fmt: skip
    pressure = QuantityField(kind=Kind.PRESSURE, default_unit="bar", label=_("Pressure of the tank"))
    temperature = QuantityField(
        kind=Kind.TEMPERATURE, default_unit="°C", label=_("Temperature of its metal"),
        help_text=_("Near the liquid, after hours without work, out of the sun."),
    )  # fmt: skip
    outcome = forms.ChoiceField(label=_("How did it end?"), widget=forms.RadioSelect)
    meter = QuantityField(
        kind=Kind.DURATION, default_unit="h", units=("h",), minimum=0.0, maximum=3.6e9, required=False,
        label=_("Hour meter now"),
    )  # fmt: skip
    parts = forms.CharField(label=_("Parts used"), max_length=300, required=False)
    note = WordsField(
        label=_("Note"), required=False, help_text=_("What was found, and which certificate or label.")
    )
    done_by = forms.CharField(
        label=_("Done by"),
        max_length=150,
        required=False,
        help_text=_("Only if it was somebody else, like a test house."),
    )
    submission_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def __init__(
        self, *arguments: Any, plan: MaintenancePlan, units: Units, today: date, **options: Any
    ) -> None:
        super().__init__(*arguments, **options)
        self.plan = plan
        work = Work(plan.work)
        self.fields["done_on"].initial = today
        self._ask_readings(work, units)
        self._ask_tank(work, units)
        if plan.every_hours is None:
            del self.fields["meter"]
        _say_optional(self, _("if there is something to say"))
        if work.is_judged:
            del self.fields["outcome"]
        else:
            outcomes = [WorkOutcome.PASSED, WorkOutcome.FAILED]
            offered = outcomes if work.is_check else [WorkOutcome.NOT_JUDGED, WorkOutcome.FAILED]
            self.fields["outcome"].choices = [(one.value, one.label) for one in offered]  # type: ignore[attr-defined]

    def _ask_readings(self, work: Work, units: Units) -> None:
        kind = READ_IN.get(work)
        masses = Piece.objects.filter(kind=PieceKind.REFERENCE_MASS, retired_at__isnull=True).order_by("code")
        self.fields["reference_piece"].queryset = masses  # type: ignore[attr-defined]
        if work is not Work.SCALE_CHECK or not masses:
            del self.fields["reference_piece"]
        for name in COMPARED:
            if kind is None:
                del self.fields[name]
                continue
            unit = units.bulk_mass if kind is Kind.MASS else units.of_kind(kind)
            field = QuantityField(
                kind=kind, default_unit=unit, required=work is Work.SCALE_CHECK and name != "after",
                label=self.fields[name].label, help_text=self.fields[name].help_text,
                minimum=0.0, maximum=1e15 if kind is not Kind.MASS else 1_000.0,
            )  # fmt: skip
            field.use_rule(replace(field.rule, atmosphere_pa=units.atmosphere_pa))
            self.fields[name] = field

    def _ask_tank(self, work: Work, units: Units) -> None:
        for name, kind in TANK.items():
            if work is not Work.TANK_CHECK:
                del self.fields[name]
                continue
            field = cast(QuantityField, self.fields[name])
            unit, atmosphere_pa = units.of_kind(kind), units.atmosphere_pa
            field.use_rule(replace(field.rule, default_unit=unit, atmosphere_pa=atmosphere_pa))

    @property
    def draft_name(self) -> str:
        """The name of what is typed so far, as the tablet keeps it."""
        return f"work-{self.plan.pk}"

    def work(self) -> WorkDone:
        """Return what was filled in, for the service."""
        values = self.cleaned_data
        read: dict[str, Quantity | None] = {name: values.get(name) for name in NAMES}
        outcome = values.get("outcome")
        return WorkDone(
            done_on=values["done_on"],
            outcome=WorkOutcome(outcome) if outcome else None,
            done_by=values["done_by"],
            readings={name: quantity for name, quantity in read.items() if quantity is not None},
            reference=values.get("reference_piece"),
            parts=values["parts"],
            meter_hours=values["meter"].si / 3600.0 if values.get("meter") else None,
            note=values["note"],
        )


class WorkCorrectionForm(WorkForm):
    """The same questions, with the reason that stays beside the correction."""

    reason = WordsField(label=_("Why is the record corrected?"), max_length=300)
    field_order = ("reason", "done_on")

    @property
    def draft_name(self) -> str:
        """Nothing is kept of a correction: it begins from the record."""
        return ""

    def __init__(self, *arguments: Any, record: MaintenanceRecord, **options: Any) -> None:
        initial = {
            "outcome": record.outcome,
            "parts": record.parts,
            "note": record.note,
            "done_by": record.done_by,
            "reference_piece": record.reference_id,
        }
        super().__init__(*arguments, initial=initial, **options)
        self.fields["done_on"].initial = record.done_on
        self.fields.pop("meter", None)
        for name in NAMES:
            if name in self.fields and name in record.readings:
                self.fields[name].initial = Quantity.from_record(record.readings[name])


class MeterForm(forms.Form):
    """What the hour meter of a machine shows."""

    meter = QuantityField(
        kind=Kind.DURATION, default_unit="h", units=("h",), minimum=0.0, maximum=3.6e9, label=_("Hour meter")
    )
    is_replaced = forms.BooleanField(label=_("The meter is a new one"), required=False)


class IssueForm(forms.Form):
    """The day on which gloves were first given out."""

    issued_on = DayField(label=_("First issued on"))


def tolerance_words(plan: MaintenancePlan) -> str:
    """Return how far the scale of a plan may be off."""
    tolerance = plan.tolerance_kg or plan.piece.scale_tolerance_kg or CHARGE_TOLERANCE_KG
    return format_quantity(tolerance, Kind.MASS, "g")
