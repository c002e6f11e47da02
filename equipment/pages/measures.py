"""What a hose set holds and how a machine weighs, in words."""

from __future__ import annotations

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.models import Piece
from equipment.selectors import hose_measures, weighing
from shopcool.core.unit_choices import VolumeUnit
from shopcool.engineering.hose import Basis
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units

Pairs = list[tuple[str, str]]


def measure_pairs(piece: Piece, units: Units) -> Pairs:
    """Return label and value of what was measured; nothing for kinds that have no measures."""
    if piece.kind == PieceKind.HOSE_SET:
        return _hoses(piece, units)
    return _weighing(piece, units) if piece.kind == PieceKind.MACHINE else []


def _hoses(piece: Piece, units: Units) -> Pairs:
    volume = hose_measures(piece).volume
    if volume is None:
        return [(_("Holds when full"), _("nobody has measured it"))]
    # Nobody knows the inside of a hose to a tenth of a millilitre.
    digits = 0 if units.volume == VolumeUnit.MILLILITRE else None
    words = {
        "volume": units.shown(volume.volume_m3, Kind.VOLUME, digits=digits),
        "uncertainty": units.shown(volume.uncertainty_m3, Kind.VOLUME, digits=digits),
        "way": _("weighed") if volume.basis is Basis.WEIGHING else _("by bore and length"),
    }
    pairs = [(_("Holds when full"), _("%(volume)s ± %(uncertainty)s, %(way)s") % words)]
    return [*pairs, (_("Found out by"), piece.measure_source)] if piece.measure_source else pairs


def _weighing(piece: Piece, units: Units) -> Pairs:
    known = weighing(piece)
    pairs = []
    if known.tolerance_kg is not None:
        tolerance = units.shown(known.tolerance_kg, Kind.MASS)
        pairs.append((_("Charge within"), f"± {tolerance}"))
    if known.only_weighs:
        said = _("weighs only; the hoses keep their part")
    elif known.adds and piece.allows_for is not None:
        said = _("adds what %(hoses)s keeps") % {"hoses": piece.allows_for.code}
    elif known.adds:
        said = _("adds, but is set up with no known hose set")
    else:
        said = _("nobody has said")
    return [*pairs, (_("Its hoses"), said)]
