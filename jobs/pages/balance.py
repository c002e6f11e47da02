"""The balance of a charge as a drawing: label and tolerance, what is inside, weighed in, left in hoses."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.steps.charge import tolerance_of
from jobs.steps.context import StepContext
from jobs.steps.kept import kept_of
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

#: Where the bars stand on the sheet [px].
WIDTH, BARS_FROM, BARS_TO, ROW, BAR, HEADROOM = 640.0, 236.0, 530.0, 40.0, 24.0, 12.0


@dataclass(frozen=True)
class Part:
    """A piece of a bar [px]; ``is_solid`` says that it is, or will be, in the circuit."""

    x: float
    width: float
    is_solid: bool


@dataclass(frozen=True)
class BalanceRow:
    """One mass with its words, its bar and the place of both [px]."""

    label: str
    mass: str
    y: float
    baseline: float
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Balance:
    """The drawing. ``label_at`` is where the label charge ends; the band around it is its tolerance [px]."""

    rows: tuple[BalanceRow, ...]
    label_at: float
    band_from: float
    band_width: float
    told: str

    width = WIDTH
    left = BARS_FROM
    text_end = BARS_FROM - 12.0
    mass_end = WIDTH - 8.0
    bar = BAR

    @property
    def height(self) -> float:
        """The height of the sheet [px]."""
        return HEADROOM + ROW * len(self.rows)


def balance_of(values: Values, context: StepContext) -> Balance | None:
    """Return the balance of a charge that is being typed, of what is to be weighed in while it is not yet.

    None where the label charge or the content of the hoses is not known.
    """
    label, kept = context.case.facts.charge_kg, kept_of(values, context)
    if label is None or kept.doubt:
        return None
    before, charged = context.charged_before_kg, values.si("mass")
    told = _("Weighed in") if charged is not None else _("To be weighed in")
    weighed = label - before + kept.kg if charged is None else charged
    inside = max(weighed - kept.kg, 0.0)
    rows = [(_("On the label"), (label, 0.0))]
    rows += [(_("In the circuit before"), (before, 0.0))] if before else []
    rows.append((told, (inside, kept.kg)))
    rows += [(_("Of it in the hoses"), (0.0, kept.kg))] if kept.kg else []
    rows.append((_("In the circuit afterwards"), (before + inside, 0.0)))
    return _drawn(rows, label, tolerance_of(values, context), context)


def _drawn(
    rows: list[tuple[str, tuple[float, float]]], label: float, tolerance: float, context: StepContext
) -> Balance:
    """Return the rows to one scale; each has a mass inside the circuit and one outside [kg]."""
    most = max(label + tolerance, *(inside + outside for _words, (inside, outside) in rows))
    scale = (BARS_TO - BARS_FROM) / most
    masses = [context.shown(inside + outside, Kind.MASS) for _words, (inside, outside) in rows]
    told = ", ".join(f"{words} {mass}" for (words, _parts), mass in zip(rows, masses, strict=True))
    limits = {"rows": told, "tolerance": context.shown(tolerance, Kind.MASS)}
    return Balance(
        rows=tuple(
            _row(place, words, mass, parts, scale)
            for place, ((words, parts), mass) in enumerate(zip(rows, masses, strict=True))
        ),
        label_at=BARS_FROM + label * scale,
        band_from=BARS_FROM + (label - tolerance) * scale,
        band_width=2 * tolerance * scale,
        told=_("%(rows)s; the label allows ± %(tolerance)s.") % limits,
    )


def _row(place: int, words: str, mass: str, parts: tuple[float, float], scale: float) -> BalanceRow:
    top = HEADROOM + ROW * place
    inside, outside = (part * scale for part in parts)
    drawn = (Part(BARS_FROM, inside, True), Part(BARS_FROM + inside, outside, False))
    return BalanceRow(words, mass, top, top + 18.0, tuple(part for part in drawn if part.width > 0))
