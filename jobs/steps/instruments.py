"""Instruments and gloves that a step may name: registered ones are chosen, others are typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.steps.fields import OTHER_INSTRUMENT, FieldKind, FieldSpec, ShownIf, Text

OTHER_WORDS = gettext_lazy("Another one, not registered")


@dataclass(frozen=True)
class InstrumentChoice:
    """A registered instrument; ``why_not`` says why it must not be used, empty when it may.

    ``glove_class`` and ``good_until`` are those of gloves.
    """

    id: int
    code: str
    name: str
    kind: PieceKind
    why_not: str = ""
    glove_class: str = ""
    good_until: date | None = None

    @property
    def words(self) -> str:
        """The instrument as a list of choices names it."""
        name = f"{self.code} {self.name}"
        return _("%(name)s: not fit for use") % {"name": name} if self.why_not else name

    def as_record(self) -> dict[str, object]:
        """Return the instrument as a record keeps it, with what held for it then."""
        gloves = {"glove_class": self.glove_class} if self.glove_class else {}
        until = {"good_until": self.good_until.isoformat()} if self.good_until else {}
        return {"id": self.id, "code": self.code, "name": self.name, **gloves, **until}


def instrument_options(spec: FieldSpec, instruments: Sequence[InstrumentChoice]) -> list[tuple[str, Text]]:
    """Return what a field offers: the registered instruments, and one for all others."""
    kinds = spec.pieces.kinds if spec.pieces else frozenset()
    found = [(str(one.id), one.words) for one in instruments if one.kind in kinds]
    return [*found, (OTHER_INSTRUMENT, OTHER_WORDS)]


def without_instruments(
    fields: Sequence[FieldSpec], registered: frozenset[PieceKind]
) -> tuple[FieldSpec, ...]:
    """Return the fields where nothing of a kind is registered: what was chosen is typed there, as ever."""
    left_out: dict[str, ShownIf | None] = {}
    kept = []
    for spec in fields:
        if spec.kind is FieldKind.INSTRUMENT and spec.pieces and not spec.pieces.kinds & registered:
            left_out[spec.name] = spec.shown_if
        elif spec.shown_if and spec.shown_if.field in left_out:
            kept.append(replace(spec, shown_if=left_out[spec.shown_if.field]))
        else:
            kept.append(spec)
    return tuple(kept)
