"""Putting a purge loop together: which machine, which pieces, in which order, and what stands against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import QueryDict
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.marks import Mark
from equipment.models import Piece
from equipment.pages.cards import label_words, piece_mark
from equipment.readiness import PieceFacts
from equipment.selectors import piece_facts, purges_due, wetted_visible_to
from shopcool.core.actors import Actor
from shopcool.vehicles.choices import Additive, Refrigerant

#: The order of the loop from the low line to the high line.
LOOP_ORDER = (PieceKind.HOSE_SET, PieceKind.MANIFOLD, PieceKind.SIGHT_GLASS, PieceKind.ADAPTER)


@dataclass(frozen=True)
class Selection:
    """What was tapped so far, and the job that the purge belongs to."""

    machine_id: int | None = None
    piece_ids: tuple[int, ...] = ()
    job_number: str = ""

    @property
    def key(self) -> str:
        """A name for a draft of this purge on the tablet."""
        return "-".join(str(part) for part in (self.job_number, self.machine_id or "", *self.piece_ids))


@dataclass(frozen=True)
class LoopTile:
    """One piece to tap, with its mark; ``why_not`` says why it can't stand in this loop."""

    id: int
    code: str
    name: str
    kind: str
    state: Mark
    chosen: bool
    why_not: str = ""
    remark: str = ""

    @property
    def mark(self) -> str:
        """The drawing of the mark."""
        return self.state.kind

    @property
    def word(self) -> str:
        """The word beside the mark."""
        return self.state.word

    @property
    def oil(self) -> str:
        """The oil class inside the mark."""
        return self.state.oil


@dataclass(frozen=True)
class LoopPage:
    """Everything to tap, and the loop as it stands."""

    selection: Selection
    machines: tuple[LoopTile, ...]
    pieces: tuple[LoopTile, ...]
    left_out: tuple[LoopTile, ...]
    machine: LoopTile | None
    loop: tuple[LoopTile, ...]
    hazards: tuple[str, ...]

    @property
    def drawn_machine(self) -> dict[str, str]:
        """The machine as the drawing names it, by its code alone."""
        return {"name": self.machine.code if self.machine else ""}


def selection_from(data: QueryDict) -> Selection:
    """Return what an address or a form names; anything that is not a number of a piece is left out."""
    machine = _numbers(data.getlist("machine"))
    return Selection(
        machine_id=machine[0] if machine else None,
        piece_ids=_numbers(data.getlist("pieces")),
        job_number=data.get("job", "")[:20],
    )


def _numbers(texts: Sequence[str]) -> tuple[int, ...]:
    parts = [part.strip() for text in texts for part in text.split(",")]
    return tuple(int(part) for part in parts if part.isdecimal() and len(part) < 19)


def loop_page(*, actor: Actor, selection: Selection, suggest: bool) -> LoopPage:
    """Return the pieces of the workshop as tiles; ``suggest`` adds what the job needs, and a sole machine."""
    facts = piece_facts(list(wetted_visible_to(actor)))
    chosen = _suggested(selection, facts) if suggest else selection
    machine = next((one for one in facts if one.id == chosen.machine_id), None)
    machines = tuple(_tile(one, chosen, None) for one in facts if one.kind is PieceKind.MACHINE)
    others = [one for one in facts if one.kind is not PieceKind.MACHINE]
    purgeable = sorted((one for one in others if one.kind in LOOP_ORDER), key=_place)
    pieces = tuple(_tile(one, chosen, machine) for one in purgeable)
    return LoopPage(
        selection=chosen,
        machines=machines,
        pieces=pieces,
        left_out=tuple(_tile(one, chosen, machine) for one in others if one.kind not in LOOP_ORDER),
        machine=next((tile for tile in machines if tile.chosen), None),
        loop=tuple(tile for tile in pieces if tile.chosen),
        hazards=_hazards(facts),
    )


def _hazards(facts: Sequence[PieceFacts]) -> tuple[str, ...]:
    """Return what to be warned of; flammable gas as soon as any machine holds it, whichever is tapped."""
    gases = {Refrigerant(one.refrigerant) for one in facts if one.kind is PieceKind.MACHINE}
    flammable = ("flammable",) if any(gas.is_flammable for gas in gases) else ()
    return ("pressure", "frost", *flammable, "asphyxiation")


def _place(piece: PieceFacts) -> tuple[int, str]:
    return LOOP_ORDER.index(piece.kind), piece.code


def _suggested(selection: Selection, facts: Sequence[PieceFacts]) -> Selection:
    machines = [one.id for one in facts if one.kind is PieceKind.MACHINE]
    machine_id, piece_ids = selection.machine_id, selection.piece_ids
    if selection.job_number and not piece_ids and machine_id is None:
        due: list[Piece] = purges_due(selection.job_number)
        piece_ids = tuple(piece.pk for piece in due if piece.pk not in machines)
        machine_id = next((piece.pk for piece in due if piece.pk in machines), None)
    named = [piece_id for piece_id in piece_ids if piece_id in machines]
    piece_ids = tuple(piece_id for piece_id in piece_ids if piece_id not in named)
    machine_id = machine_id or next(iter(named), None) or _only_machine(facts, piece_ids)
    return Selection(machine_id, piece_ids, selection.job_number)


def _only_machine(facts: Sequence[PieceFacts], piece_ids: Sequence[int]) -> int | None:
    """Return the one machine that fits the gas of the pieces, None when a person has to choose."""
    gases = {one.refrigerant for one in facts if one.id in piece_ids and one.refrigerant}
    fitting = [
        one.id
        for one in facts
        if one.kind is PieceKind.MACHINE and one.in_service and gases <= {one.refrigerant}
    ]
    return fitting[0] if len(fitting) == 1 else None


def _tile(piece: PieceFacts, selection: Selection, machine: PieceFacts | None) -> LoopTile:
    why_not = _why_not(piece, machine)
    chosen = (
        piece.id == selection.machine_id
        if piece.kind is PieceKind.MACHINE
        else (piece.id in selection.piece_ids)
    )
    return LoopTile(
        id=piece.id,
        code=piece.code,
        name=f"{piece.code} {piece.name}",
        kind=", ".join(part for part in (str(piece.kind.label), label_words(piece)) if part),
        state=piece_mark(piece),
        chosen=chosen and not why_not,
        why_not=why_not,
        remark=_remark(piece),
    )


def _why_not(piece: PieceFacts, machine: PieceFacts | None) -> str:
    if piece.kind is PieceKind.INJECTOR:
        return _("An injector holds oil. It is never purged, only labelled and kept apart.")
    if not piece.kind.can_be_purged:
        return _("It is filled from the machine and can't stand in a purge loop.")
    if machine and piece.refrigerant and piece.refrigerant != machine.refrigerant:
        return _("For %(gas)s; %(machine)s works with %(machine_gas)s.") % {
            "gas": Refrigerant(piece.refrigerant).label,
            "machine": machine.code,
            "machine_gas": Refrigerant(machine.refrigerant).label,
        }
    return ""


def _remark(piece: PieceFacts) -> str:
    if piece.busy_on:
        return _("On job %(job)s now: disconnect it first.") % {"job": piece.busy_on}
    if Additive.SEALER in piece.residue.additives:
        return _("Leak sealer stays: no purge removes it.")
    return ""
