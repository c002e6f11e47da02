"""The drawing of a hold: readings, the fitted curve, and the curves that the readings allow as well."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.context import StepContext
from shopcool.core.plots import Level, Mark, Plot
from shopcool.engineering.quantities import Kind, to_unit
from shopcool.engineering.vacuum_hold import VacuumHold

MOST_MARKS = 120
CORNERS = 60


def hold_plot(hold: VacuumHold, context: StepContext) -> Plot:
    """Return the drawing of a hold, in the unit of the reader's vacuum gauge."""
    unit = context.units.fine_vacuum
    times, pressures = hold.readings.times_s, hold.readings.pressures_pa
    stride = -(-len(times) // MOST_MARKS)
    moments = [hold.readings.duration_s * corner / CORNERS for corner in range(CORNERS + 1)]
    fit = hold.fit

    def at(pressure_pa: float) -> float:
        return to_unit(pressure_pa, unit, Kind.PRESSURE, basis="absolute")

    def spread(moment: float) -> tuple[float, float, float]:
        curves = [curve.pressure_pa(moment) for curve in (fit.best, fit.lowest, fit.highest)]
        return moment / 60, at(min(curves)), at(max(curves))

    return Plot(
        title=_("Vacuum over the hold: readings, fitted curve, and the band that agrees with them"),
        x_label=_("Time [min]"),
        y_label=_("Absolute pressure [%(unit)s]") % {"unit": unit},
        marks=tuple(
            Mark((time - times[0]) / 60, at(pressure))
            for time, pressure in list(zip(times, pressures, strict=True))[::stride]
        ),
        line=tuple((moment / 60, at(fit.best.pressure_pa(moment))) for moment in moments),
        band=tuple(spread(moment) for moment in moments),
        level=_water(hold, unit, at(hold.water_limit_pa)),
    )


def _water(hold: VacuumHold, unit: str, limit: float) -> Level | None:
    """Return the boiling line of water when it lies near enough to be drawn without flattening the rise."""
    if hold.water_limit_pa > 2.0 * max(hold.readings.pressures_pa):
        return None
    return Level(limit, _("water boils below this"))
