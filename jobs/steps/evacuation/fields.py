"""What an evacuation asks for."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.steps.fields import (
    Scale,
    barometer,
    choice,
    circuit_volume,
    duration,
    instrument,
    long_text,
    piece,
    quantity,
    temperature,
    vacuum,
    yes_no,
)
from shopcool.engineering.quantities import Kind

NEEDLE, ELECTRONIC, FOLLOWED = "NEEDLE", "ELECTRONIC", "FOLLOWED"
LONGEST_CURVE = 40_000

FIELDS = (
    piece("machine", gettext_lazy("Machine"), PieceKind.MACHINE),
    duration("pumped", gettext_lazy("Pump ran for")),
    yes_no(
        "valve_closed_first",
        gettext_lazy("Valve closed each time before the pump stopped"),
        help=gettext_lazy("“No” if it stood open even once, as when the power went: pump oil is drawn in."),
    ),
    choice(
        "gauge",
        gettext_lazy("Vacuum read on"),
        (
            (NEEDLE, gettext_lazy("a needle gauge")),
            (ELECTRONIC, gettext_lazy("an electronic vacuum gauge")),
            (FOLLOWED, gettext_lazy("an electronic vacuum gauge, followed over time")),
        ),
    ),
    instrument("gauge_used", gettext_lazy("Vacuum gauge"), PieceKind.VACUUM_GAUGE).when(
        "gauge", ELECTRONIC, FOLLOWED
    ),
    barometer(
        "barometer",
        gettext_lazy("Air pressure by a barometer here"),
        help=gettext_lazy(
            "Leave empty to go by the workshop's altitude. A weather report's is reduced to sea level: don't "
            "take that."
        ),
    ),
    vacuum(
        "start",
        gettext_lazy("When the pump was shut off"),
        help=gettext_lazy("“750 micron”, “3 mbar” or “28 inHg vac”."),
    ).when("gauge", NEEDLE, ELECTRONIC),
    duration("held", gettext_lazy("Held for")).when("gauge", NEEDLE, ELECTRONIC),
    vacuum("end", gettext_lazy("At the end of the hold")).when("gauge", NEEDLE, ELECTRONIC),
    replace(
        long_text(
            "curve",
            gettext_lazy("Readings over time"),
            help=gettext_lazy(
                "Time and absolute pressure, one pair a line, eight or more: “0:30 750 micron”. Bare numbers "
                "are minutes and mbar, unless the first line names the units: “s micron”."
            ),
        ),
        maximum_length=LONGEST_CURVE,
    ).when("gauge", FOLLOWED),
    quantity(
        "gauge_step",
        gettext_lazy("Smallest step of the gauge"),
        Kind.PRESSURE_DIFFERENCE,
        unit="micron",
        limits=(1e-4, 20_000.0),
        sentence=gettext_lazy("Vacuum gauges step by less than 200 mbar: check number and unit."),
    ).when("gauge", FOLLOWED),
    temperature(
        "coldest", gettext_lazy("Coldest part of the circuit"), help=gettext_lazy("Leave empty for 20 °C.")
    )
    .when("gauge", FOLLOWED)
    .optional(),
    circuit_volume().when("gauge", FOLLOWED).optional(),
    replace(
        quantity(
            "allowed_rise",
            gettext_lazy("Rise that the vehicle maker allows"),
            Kind.PRESSURE_DIFFERENCE,
            limits=(0.0, 20_000.0),
            sentence=gettext_lazy("A rise above 200 mbar is no vacuum hold: check number and unit."),
            help=gettext_lazy("Leave empty to use 1 inHg."),
        ),
        scale=Scale.VACUUM_GAUGE,
    ).optional(),
)
