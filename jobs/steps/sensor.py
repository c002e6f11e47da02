"""The vehicle's own sensor beside the gauge on the hose: absolute and gauge of one pressure agree."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.steps.answers import COMMON_PRACTICE, Finding, good, warning
from jobs.steps.context import StepContext
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind

#: Twice the standard uncertainty of a gauge of class 1.6 and 35 bar span together with a sensor of 1 %.
AGREE_PA = 75_000.0


def sensor_findings(values: Values, context: StepContext) -> list[Finding]:
    """Return whether sensor and gauge show the same pressure; nothing without a sensor's reading."""
    shown = values.si("sensor")
    if shown is None:
        return []
    gauge = values.needed("high")
    words = {
        "sensor": context.shown(shown, Kind.PRESSURE, basis="absolute"),
        "gauge": context.shown(gauge, Kind.PRESSURE),
    }
    limit = f"± {context.shown(AGREE_PA, Kind.PRESSURE_DIFFERENCE)}"
    if abs(shown - gauge) <= AGREE_PA:
        sentence = _("Sensor %(sensor)s and gauge %(gauge)s are the same pressure: no fault in either.")
        return [good("sensor_agrees", sentence % words, limit, COMMON_PRACTICE)]
    if abs(abs(shown - gauge) - context.atmosphere_pa) <= AGREE_PA:
        sentence = _(
            "Sensor %(sensor)s and gauge %(gauge)s are one atmosphere apart: one of them was taken for gauge "
            "instead of absolute. Check that first."
        )
        return [warning("sensor_basis", sentence % words, limit, COMMON_PRACTICE)]
    sentence = _("Sensor %(sensor)s and gauge %(gauge)s disagree: check port, valve core and sensor.")
    return [warning("sensor_differs", sentence % words, limit, COMMON_PRACTICE)]
