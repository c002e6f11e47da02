"""What a leak check asks for: a search with detector, trace gas, foam or dye, or a hold under nitrogen."""

from __future__ import annotations

from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.steps.fields import (
    choice,
    circuit_volume,
    duration,
    instrument,
    pressure,
    quantity,
    temperature,
    text,
)
from shopcool.engineering.quantities import Kind

ELECTRONIC, TRACE_GAS, FOAM, DYE, HOLD = "ELECTRONIC", "TRACE_GAS", "FOAM", "DYE", "HOLD"
SEARCHES = (ELECTRONIC, TRACE_GAS, FOAM, DYE)
FOUND, NONE_FOUND = "FOUND", "NONE_FOUND"
NITROGEN, WITH_HYDROGEN = "NITROGEN", "WITH_HYDROGEN"

_SEARCH_FIELDS = (
    instrument("detector", gettext_lazy("Leak detector"), PieceKind.LEAK_DETECTOR).when(
        "method", ELECTRONIC, TRACE_GAS
    ),
    text("smallest", gettext_lazy("Smallest leak it shows"), help=gettext_lazy("As its maker states it."))
    .when("method", *SEARCHES)
    .optional(),
    pressure(
        "searched_at",
        gettext_lazy("Pressure in the circuit meanwhile"),
        help=gettext_lazy("At rest. Some leaks only open under more pressure."),
    )
    .when("method", *SEARCHES)
    .optional(),
    temperature("searched_in", gettext_lazy("Air temperature meanwhile"))
    .when("method", *SEARCHES)
    .optional(),
    choice(
        "result",
        gettext_lazy("Result"),
        ((NONE_FOUND, gettext_lazy("no leak found")), (FOUND, gettext_lazy("leak found"))),
    ).when("method", *SEARCHES),
    text("where", gettext_lazy("Where")).when("result", FOUND),
)

_HOLD_FIELDS = (
    choice(
        "gas",
        gettext_lazy("Held with"),
        (
            (NITROGEN, gettext_lazy("dry nitrogen")),
            (WITH_HYDROGEN, gettext_lazy("nitrogen with 5 % hydrogen")),
        ),
        help=gettext_lazy(
            "Only through a regulator and a relief device. Never oxygen, never shop air: with oil or "
            "refrigerant they can explode."
        ),
    ).when("method", HOLD),
    pressure(
        "highest",
        gettext_lazy("Highest test pressure by the vehicle maker"),
        help=gettext_lazy("Of the weakest part that is under pressure, as a rule on the low side."),
    )
    .when("method", HOLD)
    .optional(),
    text("maker_document", gettext_lazy("Where that pressure stands")).when("method", HOLD).optional(),
    pressure("hold_start", gettext_lazy("Pressure at the start")).when("method", HOLD),
    temperature(
        "hold_start_temperature",
        gettext_lazy("Temperature at the start"),
        help=gettext_lazy("On the metal, engine cold, no sun, a quarter of an hour after filling."),
    ).when("method", HOLD),
    duration("hold_time", gettext_lazy("Held for")).when("method", HOLD),
    pressure("hold_end", gettext_lazy("Pressure at the end")).when("method", HOLD),
    temperature("hold_end_temperature", gettext_lazy("Temperature at the end")).when("method", HOLD),
    quantity(
        "gauge_step",
        gettext_lazy("Smallest step that the gauge can be read to"),
        Kind.PRESSURE_DIFFERENCE,
        limits=(1.0, 500_000.0),
        sentence=gettext_lazy("A gauge steps by less than 5 bar: check number and unit."),
        help=gettext_lazy("Leave empty to assume 10 kPa, which is 0.1 bar or 1.5 psi."),
    )
    .when("method", HOLD)
    .optional(),
    circuit_volume().when("method", HOLD).optional(),
)

FIELDS = (
    choice(
        "method",
        gettext_lazy("Searched with"),
        (
            (ELECTRONIC, gettext_lazy("electronic leak detector")),
            (TRACE_GAS, gettext_lazy("nitrogen and hydrogen trace gas")),
            (FOAM, gettext_lazy("foam")),
            (DYE, gettext_lazy("dye that was in the circuit")),
            (HOLD, gettext_lazy("nitrogen under pressure, held over time")),
        ),
    ),
    *_SEARCH_FIELDS,
    *_HOLD_FIELDS,
)
