"""What a check is read in: which readings each kind of work asks for, by their names. Pure."""

from __future__ import annotations

from equipment.maintenance.choices import Work
from shopcool.engineering.quantities import Kind

#: Of a reference, before and after an adjustment, where a check is read at all.
COMPARED = ("reference", "before", "after")
READ_IN: dict[Work, Kind] = {
    Work.SCALE_CHECK: Kind.MASS,
    Work.GAUGE_CALIBRATION: Kind.PRESSURE,
    Work.TESTER_CALIBRATION: Kind.RESISTANCE,
}
#: Of a tank or cylinder at rest.
TANK = {"pressure": Kind.PRESSURE, "temperature": Kind.TEMPERATURE}
NAMES = (*COMPARED, *TANK)


def readings_asked(work: Work) -> dict[str, Kind]:
    """Return the readings that a kind of work asks for, with what they measure."""
    if work is Work.TANK_CHECK:
        return TANK
    return dict.fromkeys(COMPARED, READ_IN[work]) if work in READ_IN else {}
