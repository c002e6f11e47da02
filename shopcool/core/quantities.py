"""The edge of quantities: one way from what was typed to SI, shared by pages and API."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils.translation import gettext as _

from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import (
    STANDARD_ATMOSPHERE_PA,
    Kind,
    Quantity,
    format_quantity,
    from_unit,
    parse,
    to_unit,
    units_of,
)

LONGEST_STORED = 40


@dataclass(frozen=True)
class QuantityRule:
    """What one field expects: the unit of a bare number, and the limits of the SI value.

    Pressures: ``default_basis`` is gauge, absolute or vacuum, limits are absolute [Pa], and
    ``atmosphere_pa`` is the air pressure at the workshop [Pa].
    """

    kind: Kind
    default_unit: str
    default_basis: str = "gauge"
    minimum: float | None = None
    maximum: float | None = None
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA

    def read(self, text: str, *, unit: str = "", basis: str = "") -> Quantity:
        """Return the reading that the text means; raises Refusal, with the limits when it is beyond them."""
        try:
            return parse(
                text,
                self.kind,
                default_unit=unit or self.default_unit,
                default_basis=basis or self.default_basis,
                atmosphere_pa=self.atmosphere_pa,
                minimum=self.minimum,
                maximum=self.maximum,
            )
        except Refusal as refusal:
            if refusal.code != "out_of_range" or self.minimum is None or self.maximum is None:
                raise
            raise self._beyond_limits(text, refusal) from refusal

    def in_unit(self, unit: str) -> QuantityRule:
        """Return the same rule for another unit of a bare number."""
        return replace(self, default_unit=unit)

    def _beyond_limits(self, text: str, refusal: Refusal) -> Refusal:
        lowest, highest = (self._shown(limit) for limit in (self.minimum, self.maximum))
        sentence = _("“%(typed)s” is not plausible: %(lowest)s to %(highest)s. Check number and unit.") % {
            "typed": text.strip(),
            "lowest": lowest,
            "highest": highest,
        }
        return Refusal(refusal.code, sentence, field=refusal.field, details=refusal.details)

    def _shown(self, limit: float | None) -> str:
        return format_quantity(
            limit or 0.0,
            self.kind,
            self.default_unit,
            basis=self.default_basis,
            atmosphere_pa=self.atmosphere_pa,
        )


def exact_quantity(si: float, kind: Kind, unit: str) -> Quantity:
    """Return an SI value as the shortest number in a unit that means exactly the same; pressures absolute.

    A form that shows it can be saved as often as one likes and changes nothing.
    """
    basis = "absolute" if kind is Kind.PRESSURE else ""
    number = to_unit(si, unit, kind, basis=basis)
    nearby = (number, math.nextafter(number, math.inf), math.nextafter(number, -math.inf))
    texts = (f"{Decimal(f'{one:.{digits}g}'):f}" for digits in range(1, 18) for one in nearby)
    means_it = (text for text in texts if from_unit(float(text), unit, kind, basis=basis) == si)
    return Quantity(kind, si, next(means_it, repr(number)), unit, basis)


def stored_text(quantity: Quantity | None) -> str:
    """Return what was typed, with its unit even when the field gave it, empty for no quantity.

    The text alone then means the same for ever, whatever unit the shop prefers later. Raises ``too_long``.
    """
    if quantity is None:
        return ""
    typed = " ".join(quantity.typed.split())
    text = f"{typed} {quantity.unit}" if typed[-1:].isdecimal() else typed
    if len(text) > LONGEST_STORED:
        raise Refusal("too_long", _("The text is too long for one reading."))
    return text


def stored_quantity(text: str, kind: Kind) -> Quantity | None:
    """Return the reading that :func:`stored_text` wrote, None for an empty text."""
    return parse(text, kind, default_unit=units_of(kind)[0]) if text else None
