"""The card of one piece: its mark, what it last touched, who has it, what clears it, what runs out next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F
from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.choices import ExposureKind, ResidueState
from equipment.marks import Mark, mark_of
from equipment.models import Connection, Exposure
from equipment.pages.words import due_words, gas_words
from equipment.readiness import Decision, PieceFacts, Reason, Severity
from equipment.uses import Prospect, Use
from shopcool.vehicles.choices import Lubricant

#: The reasons that a line purge takes away.
PURGE_LIFTS = frozenset(
    {"conductive_residue", "unknown_residue", "dye_residue", "refrigerant_residue", "other_oil_residue"}
)
CONTACTS = (ExposureKind.CONNECTED, ExposureKind.CONTACT_DECLARED, ExposureKind.FILLED)


@dataclass(frozen=True)
class ShownReason:
    """Why a piece may not, or only with care, be used for something, with the way out."""

    sentence: str
    fix: str
    fix_url: str
    source: str
    tone: str


@dataclass(frozen=True)
class BoardPiece:
    """One piece on the board: what a card shows, and every reason for where it stands."""

    id: int
    url: str
    code: str
    own_name: str
    kind: str
    state: Mark
    high_voltage: bool
    dedicated_to: str
    last_contact: str
    holder: str
    holder_url: str
    clears: str
    why: tuple[str, ...]
    way_out: str
    due: str
    due_tone: str
    tone: str = ""
    word: str = ""
    reasons: tuple[ShownReason, ...] = ()

    @property
    def name(self) -> str:
        """Code and name together."""
        return f"{self.code} {self.own_name}"

    @property
    def mark(self) -> str:
        """The drawing of the mark."""
        return self.state.kind

    @property
    def mark_word(self) -> str:
        """The word beside the mark."""
        return self.state.word

    @property
    def oil(self) -> str:
        """The oil class inside the mark."""
        return self.state.oil


def connections_now(piece_ids: Sequence[int]) -> dict[int, Connection]:
    """Return the connection of each piece that is on a vehicle."""
    rows = Connection.objects.filter(piece_id__in=piece_ids, disconnected_at__isnull=True)
    return {row.piece_id: row for row in rows.select_related("circuit__vehicle")}


def last_contacts(piece_ids: Sequence[int]) -> dict[int, Exposure]:
    """Return the last thing each piece touched.

    The state names the moment, so that the index finds the row however long the log has grown.
    """
    rows = (
        Exposure.objects.filter(piece_id__in=piece_ids, kind__in=CONTACTS, corrected_by__isnull=True)
        .filter(occurred_at=F("piece__state__last_contact_at"))
        .select_related("circuit__vehicle")
        .order_by("piece_id", "sequence")
    )
    return {row.piece_id: row for row in rows}


def board_piece(facts: PieceFacts, outlook: Prospect, today: date) -> BoardPiece:
    """Return the card of a piece, without what only the log and the connections know."""
    due, due_tone = due_words(facts, today)
    return BoardPiece(
        id=facts.id,
        url=reverse("equipment:piece", args=[facts.code]),
        code=facts.code,
        own_name=facts.name,
        kind=", ".join(part for part in (str(facts.kind.label), label_words(facts)) if part),
        state=piece_mark(facts),
        high_voltage=outlook.use is Use.HIGH_VOLTAGE,
        dedicated_to=str(Lubricant(facts.dedicated_to).label) if facts.dedicated_to else "",
        last_contact="",
        holder="",
        holder_url="",
        clears=clears_words(outlook),
        why=why_words(outlook),
        way_out=outlook.nearest.refusals[0].fix if outlook.use is Use.NOT_NOW else "",
        due=due,
        due_tone=due_tone,
    )


def tone_of(decision: Decision) -> str:
    """Return the tone of a decision: refusal, warning or good."""
    return "refusal" if decision.refusals else "warning" if decision.warnings else "good"


def shown_reasons(decision: Decision, purge_url: str = "") -> tuple[ShownReason, ...]:
    """Return every reason of a decision; where a purge is the way out it leads to ``purge_url``."""
    return tuple(
        ShownReason(
            sentence=reason.sentence,
            fix=reason.fix,
            fix_url=purge_url if reason.code in PURGE_LIFTS else "",
            source=reason.source,
            tone="refusal" if reason.severity is Severity.REFUSAL else "warning",
        )
        for reason in decision.reasons
    )


def purge_address(facts: PieceFacts) -> str:
    """Return where a purge of this piece is entered."""
    return f"{reverse('equipment:purge')}?pieces={facts.id}"


def piece_mark(facts: PieceFacts) -> Mark:
    """Return the readiness mark of a piece; what is not wetted has no residue to show."""
    if not facts.kind.is_wetted and facts.in_service:
        return Mark(ResidueState.CLEAR, _("In service"))
    return mark_of(
        facts.residue,
        in_service=facts.in_service,
        dedicated_to=facts.dedicated_to,
        labelled_oil=facts.lubricant,
    )


def label_words(facts: PieceFacts) -> str:
    """Return what is written on a piece: its gas and oil, or the gas a tool last carried."""
    if facts.refrigerant:
        oil = str(Lubricant(facts.lubricant).label) if facts.lubricant else ""
        return " ".join(part for part in (gas_words([facts.refrigerant]), oil) if part)
    if facts.residue.refrigerants:
        return _("last with %(gas)s") % {"gas": gas_words(facts.residue.refrigerants)}
    return ""


def clears_words(outlook: Prospect) -> str:
    """Return what a line purge would make a piece ready for, empty when it would not change anything."""
    if outlook.use in {Use.HIGH_VOLTAGE, Use.OFF_VEHICLES, Use.NOT_NOW}:
        return ""
    if Use.HIGH_VOLTAGE in outlook.purge_opens:
        return _("a line purge, then also high-voltage jobs")
    if outlook.use is Use.AFTER_PURGE:
        return _("a line purge, then belt jobs")
    return ""


def why_words(outlook: Prospect) -> tuple[str, ...]:
    """Return the sentences that say why a piece stands no higher on the board."""
    if outlook.use is Use.NOT_NOW:
        return tuple(reason.sentence for reason in outlook.nearest.refusals if reason.code != "busy")
    if outlook.use is Use.BELT and Use.HIGH_VOLTAGE not in outlook.purge_opens:
        warnings = (reason.sentence for reason in outlook.belt.warnings)
        against = lasting(outlook.high_voltage)[0].sentence
        return (*warnings, _("Not for high voltage: %(why)s") % {"why": against})
    return ()


def lasting(decision: Decision) -> list[Reason]:
    """Return the refusals that residue alone does not explain, or all of them when there are no others."""
    others = [reason for reason in decision.refusals if reason.code not in PURGE_LIFTS]
    return others or list(decision.refusals)
