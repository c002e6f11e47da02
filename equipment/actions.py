"""What a person can do with a piece: one entry per action, from its button to its one domain call.

A new action is one entry here and one form; the page of the piece, the form page and the address follow.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import cast
from uuid import UUID

from django import forms
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from equipment.choices import PieceKind
from equipment.forms.actions import (
    CameBackForm,
    ContactForm,
    InspectionForm,
    OutOfServiceForm,
    PumpOilForm,
    RetireForm,
    ReturnForm,
)
from equipment.forms.maintenance import IssueForm, MeterForm
from equipment.forms.measures import HoseForm, WeighingForm, hose_initial, weighing_initial
from equipment.forms.pieces import DocumentForm
from equipment.maintenance.models import PieceUse
from equipment.maintenance.plans import gloves_issue
from equipment.maintenance.policies import may_plan_maintenance, may_record_maintenance
from equipment.maintenance.use import meter_read
from equipment.models import Exposure, Piece, PieceDocument
from equipment.policies import (
    may_inspect,
    may_manage_equipment,
    may_put_out_of_service,
    may_record_exposure,
    may_return_to_service,
)
from equipment.services.exposures import (
    Recorded,
    contact_declare,
    piece_inspect,
    piece_put_out_of_service,
    piece_return_to_service,
    pump_oil_suspect,
    residue_declare_unknown,
)
from equipment.services.measures import hoses_measure, machine_weighing_set
from equipment.services.pieces import document_add, piece_retire
from shopcool.core.actors import Actor

Words = str | Promise


@dataclass(frozen=True)
class Act:
    """Who does what to which piece when, with the form that was filled in."""

    actor: Actor
    piece: Piece
    form: forms.Form
    now: datetime

    @property
    def occurred_at(self) -> datetime:
        """When it happened: as typed, else now."""
        return self.form.cleaned_data.get("occurred_at") or self.now

    @property
    def submission_key(self) -> UUID | None:
        """The key that the form was given once, so that a second press writes nothing."""
        return self.form.cleaned_data.get("submission_key")

    @property
    def note(self) -> str:
        """What the person wrote."""
        return str(self.form.cleaned_data.get("note", ""))


@dataclass(frozen=True)
class PieceAction:
    """One thing that a person can do with a piece."""

    slug: str
    label: Words
    title: Words
    lead: Words
    done: Words
    policy: Callable[[Actor], bool]
    form: type[forms.Form]
    perform: Callable[[Act], Exposure | Piece | PieceDocument | PieceUse]
    tone: str = "primary"
    in_service: bool | None = None
    kind: PieceKind | None = None
    initial: Callable[[Piece], dict[str, object]] = lambda piece: {}
    suits: Callable[[Piece], bool] = lambda piece: True

    def is_offered(self, actor: Actor, piece: Piece) -> bool:
        """Whether the page of the piece shows it to this person; ``piece.state`` must be loaded."""
        if piece.retired_at is not None or not self.policy(actor):
            return False
        if not self.suits(piece):
            return False
        if self.kind is not None and piece.kind != self.kind:
            return False
        return self.in_service in {None, piece.state.in_service}


def _declare_contact(act: Act) -> Exposure:
    return contact_declare(
        actor=act.actor,
        piece_id=act.piece.pk,
        occurred_at=act.occurred_at,
        now=act.now,
        circuit=act.form.cleaned_data.get("circuit"),
        residue=act.form.cleaned_data["residue"],
        note=act.note,
        submission_key=act.submission_key,
    ).exposure


def _plain(service: Callable[..., Recorded]) -> Callable[[Act], Exposure]:
    def perform(act: Act) -> Exposure:
        return service(
            actor=act.actor,
            piece_id=act.piece.pk,
            occurred_at=act.occurred_at,
            now=act.now,
            note=act.note,
            submission_key=act.submission_key,
        ).exposure

    return perform


def _inspect(act: Act) -> Exposure:
    return piece_inspect(
        actor=act.actor,
        piece_id=act.piece.pk,
        residue=act.form.cleaned_data["residue"],
        occurred_at=act.occurred_at,
        now=act.now,
        note=act.note,
        submission_key=act.submission_key,
    ).exposure


def _with_reason(service: Callable[..., Recorded]) -> Callable[[Act], Exposure]:
    def perform(act: Act) -> Exposure:
        return service(
            actor=act.actor,
            piece_id=act.piece.pk,
            reason=act.note,
            now=act.now,
            submission_key=act.submission_key,
        ).exposure

    return perform


def _add_document(act: Act) -> PieceDocument:
    form = cast(DocumentForm, act.form)
    return document_add(actor=act.actor, piece=act.piece, description=form.description(), now=act.now)


def _measure(act: Act) -> Piece:
    form = cast(HoseForm, act.form)
    return hoses_measure(actor=act.actor, piece=act.piece, measured=form.measured())


def _set_weighing(act: Act) -> Piece:
    form = cast(WeighingForm, act.form)
    return machine_weighing_set(actor=act.actor, piece=act.piece, weighs=form.weighs())


def _retire(act: Act) -> Piece:
    reason = act.form.cleaned_data["reason"]
    return piece_retire(actor=act.actor, piece=act.piece, reason=reason, now=act.now)


def _read_meter(act: Act) -> PieceUse:
    meter, is_replaced = act.form.cleaned_data["meter"], act.form.cleaned_data["is_replaced"]
    return meter_read(
        actor=act.actor,
        piece=act.piece,
        meter_hours=meter.si / 3600.0,
        is_replaced=is_replaced,
        now=act.now,
    )


def _issue(act: Act) -> Piece:
    issued_on = act.form.cleaned_data["issued_on"]
    return gloves_issue(actor=act.actor, piece=act.piece, issued_on=issued_on, now=act.now)


def _is_wetted(piece: Piece) -> bool:
    return piece.is_wetted


def _lies_in_store(piece: Piece) -> bool:
    return piece.kind == PieceKind.GLOVES and piece.issued_on is None


ACTIONS: tuple[PieceAction, ...] = (
    PieceAction(
        slug="contact",
        label=_("Declare a contact"),
        title=_("What did %(piece)s touch?"),
        lead=_("For contacts that no connection in Shopcool shows, now or earlier."),
        done=_("The contact of %(piece)s is on record."),
        policy=may_record_exposure,
        form=ContactForm,
        perform=_declare_contact,
        suits=_is_wetted,
    ),
    PieceAction(
        slug="pump-oil",
        label=_("Pump oil suspected"),
        title=_("Vacuum-pump oil in %(piece)s?"),
        lead=_(
            "When the pump stopped with a valve open, or lost power while evacuating, its oil may have crept "
            "into the lines. Nobody knows then what is inside."
        ),
        done=_("Vacuum-pump oil in %(piece)s is on record as suspected."),
        policy=may_record_exposure,
        form=PumpOilForm,
        perform=_plain(pump_oil_suspect),
        suits=_is_wetted,
    ),
    PieceAction(
        slug="came-back",
        label=_("Came back from elsewhere"),
        title=_("%(piece)s came back"),
        lead=_("Lent, repaired or borrowed: what it touched there is unknown until a verified purge."),
        done=_("%(piece)s counts as unknown until it is purged."),
        policy=may_record_exposure,
        form=CameBackForm,
        perform=_plain(residue_declare_unknown),
        suits=_is_wetted,
    ),
    PieceAction(
        slug="inspect",
        label=_("Record an inspection"),
        title=_("Inspection of %(piece)s"),
        lead=_("A documented inspection says what is inside. It replaces everything known before."),
        done=_("The inspection of %(piece)s is on record."),
        policy=may_inspect,
        form=InspectionForm,
        perform=_inspect,
        suits=_is_wetted,
    ),
    PieceAction(
        slug="meter",
        label=_("Read the hour meter"),
        title=_("Hour meter of %(piece)s"),
        lead=_("Maintenance that goes by hours run counts from one reading to the next."),
        done=_("The hour meter of %(piece)s is on record."),
        policy=may_record_maintenance,
        form=MeterForm,
        perform=_read_meter,
        kind=PieceKind.MACHINE,
    ),
    PieceAction(
        slug="issue",
        label=_("Give them out"),
        title=_("First issue of %(piece)s"),
        lead=_("From this day on they are tested every six months (29 CFR 1910.137 table I-5)."),
        done=_("The issue of %(piece)s is on record."),
        policy=may_plan_maintenance,
        form=IssueForm,
        perform=_issue,
        suits=_lies_in_store,
    ),
    PieceAction(
        slug="document",
        label=_("Add a document"),
        title=_("Certificate or calibration of %(piece)s"),
        lead=_("Copy it from the paper. What it does not cover, it does not prove."),
        done=_("The document of %(piece)s is on record."),
        policy=may_manage_equipment,
        form=DocumentForm,
        perform=_add_document,
    ),
    PieceAction(
        slug="hoses",
        label=_("Enter what it holds"),
        title=_("What %(piece)s holds"),
        lead=_("The charge step then counts what stays in the hoses, and nobody has to type it again."),
        done=_("What %(piece)s holds is on record."),
        policy=may_manage_equipment,
        form=HoseForm,
        perform=_measure,
        kind=PieceKind.HOSE_SET,
        initial=hose_initial,
    ),
    PieceAction(
        slug="weighing",
        label=_("Enter how it weighs"),
        title=_("How %(piece)s weighs"),
        lead=_("A machine that adds for its hoses does so for one hose set only."),
        done=_("How %(piece)s weighs is on record."),
        policy=may_manage_equipment,
        form=WeighingForm,
        perform=_set_weighing,
        kind=PieceKind.MACHINE,
        initial=weighing_initial,
    ),
    PieceAction(
        slug="out-of-service",
        label=_("Put out of service"),
        title=_("Put %(piece)s out of service"),
        lead=_("Nobody may connect it until the owner returns it. Whoever sees a danger may do this."),
        done=_("%(piece)s is out of service."),
        policy=may_put_out_of_service,
        form=OutOfServiceForm,
        perform=_with_reason(piece_put_out_of_service),
        tone="danger",
        in_service=True,
    ),
    PieceAction(
        slug="return",
        label=_("Return to service"),
        title=_("Return %(piece)s to service"),
        lead=_("What is inside it stays as it was."),
        done=_("%(piece)s is back in service."),
        policy=may_return_to_service,
        form=ReturnForm,
        perform=_with_reason(piece_return_to_service),
        in_service=False,
    ),
    PieceAction(
        slug="retire",
        label=_("Retire for good"),
        title=_("Retire %(piece)s for good"),
        lead=_(
            "It leaves the workshop and can’t come back. Its log stays readable. Oil that an injector still "
            "holds is booked as waste."
        ),
        done=_("%(piece)s is retired."),
        policy=may_manage_equipment,
        form=RetireForm,
        perform=_retire,
        tone="danger",
    ),
)

ACTIONS_BY_SLUG = {action.slug: action for action in ACTIONS}


@dataclass(frozen=True)
class OfferedAction:
    """An action as a button on the page of a piece."""

    label: Words
    url: str
    tone: str


def actions_offered(actor: Actor, piece: Piece) -> tuple[OfferedAction, ...]:
    """Return what the person can do with the piece now, in the order of the page."""
    return tuple(
        OfferedAction(
            label=action.label,
            url=reverse(f"equipment:{action.slug}", args=[piece.code]),
            tone="danger" if action.tone == "danger" else "",
        )
        for action in ACTIONS
        if action.is_offered(actor, piece)
    )
