"""What an insulation test asks for."""

from __future__ import annotations

from django.utils.translation import gettext_lazy

from equipment.choices import PieceKind
from jobs.steps.fields import (
    FieldSpec,
    Text,
    choice,
    duration,
    instrument,
    long_text,
    quantity,
    temperature,
    text,
    yes_no,
)
from shopcool.engineering.quantities import Kind

COMPONENT, OIL_SAMPLE = "COMPONENT", "OIL_SAMPLE"


def _resistance(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    return quantity(name, label, Kind.RESISTANCE, unit="MΩ", help=help)


def _test_voltage(name: str, label: Text, *, help: Text = "") -> FieldSpec:
    return quantity(
        name,
        label,
        Kind.VOLTAGE,
        unit="V",
        limits=(1.0, 5000.0),
        sentence=gettext_lazy("Insulation testers work below 5000 V: check number and unit."),
        help=help,
    )


FIELDS = (
    choice(
        "test",
        gettext_lazy("Tested"),
        (
            (COMPONENT, gettext_lazy("the compressor, terminals to case")),
            (OIL_SAMPLE, gettext_lazy("an oil sample in a vial")),
        ),
    ),
    instrument("tester", gettext_lazy("Insulation tester"), PieceKind.INSULATION_TESTER),
    _resistance(
        "resistance",
        gettext_lazy("Insulation resistance"),
        help=gettext_lazy("As the tester shows it: “12.5”, “> 2.2 GΩ”, or “OL” beyond its range."),
    ),
    text(
        "between",
        gettext_lazy("Measured between"),
        help=gettext_lazy(
            "Only where the vehicle maker says: the test voltage can destroy electronics inside the "
            "compressor."
        ),
    ).when("test", COMPONENT),
    long_text(
        "disconnected",
        gettext_lazy("What was disconnected"),
        help=gettext_lazy("Plugs, monitors, capacitors."),
    ).when("test", COMPONENT),
    yes_no(
        "mixed",
        gettext_lazy("Sample well mixed for this reading"),
        help=gettext_lazy("Water settles out of oil: stir or shake it."),
    ).when("test", OIL_SAMPLE),
    _resistance("unmixed", gettext_lazy("Reading before mixing")).when("test", OIL_SAMPLE).optional(),
    _resistance(
        "new_oil",
        gettext_lazy("Reading of new oil of the same kind"),
        help=gettext_lazy("Same tester, same vial, same electrodes."),
    )
    .when("test", OIL_SAMPLE)
    .optional(),
    _test_voltage("nominal_voltage", gettext_lazy("Tester set to")),
    _test_voltage("actual_voltage", gettext_lazy("Voltage under the reading")).optional(),
    _test_voltage(
        "open_voltage",
        gettext_lazy("Voltage of the tester without a load"),
        help=gettext_lazy("Leave empty to take what it is set to."),
    ).optional(),
    duration("applied", gettext_lazy("Applied for"), unit="s"),
    temperature("temperature", gettext_lazy("Temperature of the part")).optional(),
    yes_no("followed", gettext_lazy("Also read after 30 seconds and after one minute"))
    .when("test", COMPONENT)
    .optional(),
    _resistance("after_30_s", gettext_lazy("After 30 seconds")).when("followed", "yes"),
    _resistance("after_60_s", gettext_lazy("After one minute")).when("followed", "yes"),
    _resistance("after_600_s", gettext_lazy("After ten minutes")).when("followed", "yes").optional(),
    choice(
        "surface",
        gettext_lazy("Plugs and surface"),
        (("DRY", gettext_lazy("dry and clean")), ("WET", gettext_lazy("wet or dirty"))),
    ).when("test", COMPONENT),
    _resistance(
        "limit",
        gettext_lazy("Least value by the vehicle maker"),
        help=gettext_lazy("Leave empty if you do not have it: then there is no verdict."),
    )
    .when("test", COMPONENT)
    .optional(),
    text("limit_source", gettext_lazy("Where that value stands")).when("test", COMPONENT).optional(),
)
