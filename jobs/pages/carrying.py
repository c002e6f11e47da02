"""The carry-over estimate in the words of the clearance panel."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from jobs.carrying import Carrying
from jobs.steps.answers import percent
from shopcool.engineering.carry_over import LimitCheck


@dataclass(frozen=True)
class CarryWords:
    """The estimate in a sentence, what would lower it, what it assumes, and where it comes from."""

    tone: str
    sentence: str
    advice: str
    assumptions: str
    source: str


def carry_words(carrying: Carrying) -> CarryWords:
    """Return an estimate in words; one that passes a limit warns, and none of them permits anything."""
    above = any(not check.met for check in carrying.worst.checks)
    parts = [_amount(carrying), *(_check(check) for check in carrying.worst.checks)]
    advice = _("Purge again before the connection, or take pieces that never met PAG.")
    return CarryWords(
        tone="warning" if above else "unknown",
        sentence=" ".join(parts),
        advice=advice if above else "",
        assumptions=_assumptions(carrying),
        source=carrying.worst.source,
    )


def _assumptions(carrying: Carrying) -> str:
    assumed = carrying.assumed
    sentence = _(
        "Assumed: %(left)s g of oil in each drained piece of %(volume)s, all of it carried over, a "
        "purge reaching %(poor)s to 100 %% of it. An estimate until a rinsed hose is weighed; it permits "
        "nothing."
    )
    return sentence % {
        "left": f"{assumed.oil_kg * 1e3:g}",
        "volume": _volumes(carrying),
        "poor": f"{assumed.mixing * 100:.0f}",
    }


def _volumes(carrying: Carrying) -> str:
    """Return the volume of each piece, as measured or as assumed."""
    assumed = f"{carrying.assumed.volume_m3 * 1e6:g} ml"
    measured = [
        _("%(volume)s ml (%(code)s, measured)") % {"volume": f"{one.volume_m3 * 1e6:.0f}", "code": one.code}
        for one in carrying.pieces
        if one.volume_m3 is not None
    ]
    if len(measured) == len(carrying.pieces):
        return ", ".join(measured)
    return ", ".join([*measured, assumed])


def _amount(carrying: Carrying) -> str:
    codes = ", ".join(
        ngettext(
            "%(code)s (%(number)d purge since)", "%(code)s (%(number)d purges since)", len(piece.purges_m3)
        )
        % {"code": piece.code, "number": len(piece.purges_m3)}
        for piece in carrying.pieces
    )
    low, high = (_grams(found.residue_after_kg) for found in (carrying.best, carrying.worst))
    words = {"low": low, "high": high, "codes": codes}
    if low == high:
        return _("%(high)s g of PAG could still come along from %(codes)s.") % words
    return _("%(low)s to %(high)s g of PAG could still come along from %(codes)s.") % words


def _check(check: LimitCheck) -> str:
    words = {
        "share": percent(check.share, 2),
        "name": check.limit.name[:1].upper() + check.limit.name[1:],
        "limit": percent(check.limit.share, 1),
        "certainty": check.limit.certainty.value,
    }
    if check.met:
        return _("%(name)s: at most %(share)s, within %(limit)s (%(certainty)s).") % words
    return _("%(name)s: up to %(share)s, above %(limit)s (%(certainty)s).") % words


def _grams(kilograms: float) -> str:
    return f"{kilograms * 1e3:.2g}"
