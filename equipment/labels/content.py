"""What stands on the label of a piece: only what never changes, since a label can't be edited.

What a piece last touched is not on it: that is asked by reading the code before each use.
"""

from __future__ import annotations

from io import BytesIO

import segno
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.models import Piece
from shopcool.core.documents import Label, Sign
from shopcool.vehicles.choices import Lubricant, Refrigerant


def label_of(piece: Piece, address: str) -> Label:
    """Return the label of a piece; ``address`` is where its code leads."""
    kind = PieceKind(piece.kind)
    return Label(
        name=piece.code,
        title=piece.name,
        kind=str(kind.label),
        loud=_loud(piece) or (str(kind.label),),
        quiet=_quiet(piece, kind),
        signs=tuple(_signs(piece)),
        notice=_notice(kind),
        code=code_drawing(address),
        code_words=_("Code of %(piece)s: %(address)s") % {"piece": piece.code, "address": address},
    )


def code_drawing(address: str) -> str:
    """Return the QR code (ISO/IEC 18004) of an address as SVG.

    With a quarter of it worn away or dirty it can still be read (level Q), as far as the paper allows.
    """
    drawing = BytesIO()
    segno.make_qr(address, error="q", boost_error=False).save(drawing, kind="svg", border=4, xmldecl=False)
    return drawing.getvalue().decode()


def _loud(piece: Piece) -> tuple[str, ...]:
    """Return the refrigerant and the oil of the permanent label, in that order."""
    if piece.is_marked_for_contaminated:
        return (_("Contaminated gas"),)
    gas = str(Refrigerant(piece.refrigerant).label) if piece.refrigerant else ""
    oil = _permanent_oil(piece)
    if not gas:
        return (_("Tool"), str(oil.label)) if oil else ()
    return (gas, str(oil.label)) if oil else (gas,)


def _permanent_oil(piece: Piece) -> Lubricant | None:
    oil = piece.lubricant or piece.dedicated_to
    return Lubricant(oil) if oil else None


def _quiet(piece: Piece, kind: PieceKind) -> str:
    words = [str(kind.label)] if _loud(piece) else []
    if piece.lubricant_grade:
        words.append(piece.lubricant_grade)
    if piece.serial_number:
        words.append(_("No. %(number)s") % {"number": piece.serial_number})
    return " · ".join(words)


def _signs(piece: Piece) -> list[Sign]:
    """Return the shapes that say what the piece is for; the oil alone decides it, and it is permanent."""
    oil = _permanent_oil(piece)
    if oil is None:
        return []
    if oil.may_enter_high_voltage:
        signs = [Sign("high-voltage", _("For high-voltage circuits"))]
    else:
        signs = [Sign("never-high-voltage", _("Never on high-voltage circuits"))]
    return [*signs, Sign("lock", _("%(oil)s only") % {"oil": oil.label})]


def _notice(kind: PieceKind) -> str:
    if kind.is_wetted:
        return _("Colour is not identification. Scan before each use.")
    return _("Colour is not identification. Scan for its proofs.")
