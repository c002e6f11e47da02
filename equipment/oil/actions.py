"""What a person can do with a lot, or with what an injector holds: one entry per action.

A new action is one entry here and one form; its button, its form page and its address follow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from equipment.models import Piece
from equipment.oil.bad import oil_lot_found_bad
from equipment.oil.forms import BadForm, LevelForm, MeasureForm, OpenForm, VialForm, WasteForm
from equipment.oil.grades import LotState
from equipment.oil.lots import oil_lot_level_set, oil_lot_open, oil_measured, oil_waste
from equipment.oil.models import OilLot
from equipment.oil.selectors import LotNow
from equipment.oil.vials import oil_lot_test
from shopcool.core.actors import Actor
from shopcool.core.quantities import stored_quantity
from shopcool.engineering.quantities import Kind

Words = str | Promise


@dataclass(frozen=True)
class OilAct:
    """Who does what to which lot or injector when, with the form that was filled in."""

    actor: Actor
    held: OilLot | Piece
    form: forms.Form
    now: datetime

    @property
    def lot(self) -> OilLot:
        """The lot, for the actions that only lots have."""
        return cast(OilLot, self.held)


@dataclass(frozen=True)
class OilAction:
    """One thing that a person can do; ``perform`` may return None when nothing had to be booked."""

    slug: str
    label: Words
    title: Words
    lead: Words
    done: Words
    form: type[forms.Form]
    perform: Callable[[OilAct], object]
    tone: str = "primary"
    for_injectors: bool = False
    states: frozenset[LotState] = frozenset(LotState)
    #: What the form shows at first of a lot or injector.
    present: Callable[[OilLot | Piece], dict[str, object]] = lambda held: {}

    def is_offered(self, lot: LotNow) -> bool:
        """Whether the page of a lot shows it."""
        return lot.state in self.states


def _open(act: OilAct) -> object:
    opened_at = act.form.cleaned_data["occurred_at"] or act.now
    return oil_lot_open(actor=act.actor, lot=act.lot, opened_at=opened_at, now=act.now)


def _measure(act: OilAct) -> object:
    typed = act.form.cleaned_data
    found = typed["amount"] if typed["amount"] is not None else typed["weighed"]
    return oil_measured(
        actor=act.actor,
        held=act.held,
        found=found,
        now=act.now,
        note=typed["note"],
        submission_key=typed["submission_key"],
    )


def _waste(act: OilAct) -> object:
    typed = act.form.cleaned_data
    return oil_waste(
        actor=act.actor,
        held=act.held,
        amount=typed["amount"],
        reason=typed["note"],
        now=act.now,
        submission_key=typed["submission_key"],
    )


def _vial(act: OilAct) -> object:
    form = cast(VialForm, act.form)
    return oil_lot_test(
        actor=act.actor,
        lot=act.lot,
        readings=form.readings(),
        occurred_at=form.cleaned_data["occurred_at"],
        now=act.now,
        note=form.cleaned_data["note"],
        submission_key=form.cleaned_data["submission_key"],
    )


def _bad(act: OilAct) -> object:
    return oil_lot_found_bad(actor=act.actor, lot=act.lot, reason=act.form.cleaned_data["note"], now=act.now)


def _level(act: OilAct) -> object:
    return oil_lot_level_set(actor=act.actor, lot=act.lot, low=act.form.cleaned_data["low"], now=act.now)


def _present_level(held: OilLot | Piece) -> dict[str, object]:
    return {"low": stored_quantity(cast(OilLot, held).low_typed, Kind.VOLUME)}


_NOT_EMPTY = frozenset(LotState) - {LotState.EMPTY}
ACTIONS: tuple[OilAction, ...] = (
    OilAction(
        slug="open",
        label=_("Opened"),
        title=_("When was %(held)s opened?"),
        lead=_("From then on the days count. Filling from a sealed container opens it, too."),
        done=_("%(held)s counts as open."),
        form=OpenForm,
        perform=_open,
        states=frozenset({LotState.SEALED}),
    ),
    OilAction(
        slug="measure",
        label=_("Measure what is left"),
        title=_("What is left in %(held)s?"),
        lead=_("What measuring or weighing finds beyond the books is booked as a difference."),
        done=_("The books agree with what is in %(held)s."),
        form=MeasureForm,
        perform=_measure,
        for_injectors=True,
    ),
    OilAction(
        slug="waste",
        label=_("Take out as waste"),
        title=_("Oil from %(held)s into the waste"),
        lead=_("Old, spilt or left over: oil that came out of a container never goes back into one."),
        done=_("The waste from %(held)s is booked."),
        form=WasteForm,
        perform=_waste,
        for_injectors=True,
        states=_NOT_EMPTY,
    ),
    OilAction(
        slug="vial",
        label=_("Vial test"),
        title=_("Insulation of a vial from %(held)s"),
        lead=_("Shows whether the new oil still insulates. It says nothing about any compressor."),
        done=_("The vial test of %(held)s is on record."),
        form=VialForm,
        perform=_vial,
        states=frozenset(LotState) - {LotState.BAD},
    ),
    OilAction(
        slug="level",
        label=_("Order level"),
        title=_("When is oil like %(held)s ordered again?"),
        lead=_("The level of the newest container of a class and grade counts, whatever the others say."),
        done=_("The level holds from now on."),
        form=LevelForm,
        perform=_level,
        present=_present_level,
    ),
    OilAction(
        slug="bad",
        label=_("Found bad"),
        title=_("Is %(held)s bad?"),
        lead=_(
            "Nobody can use it any more, the injectors that received it count as unknown, and each vehicle "
            "that received it gets an incident."
        ),
        done=_("%(held)s is out of use. Follow up the incidents."),
        form=BadForm,
        perform=_bad,
        tone="danger",
        states=frozenset(LotState) - {LotState.BAD},
    ),
)
BY_SLUG = {action.slug: action for action in ACTIONS}
