"""Computations whose inputs are lists or records, asked with plain options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from shopcool.engineering import hose as hoses
from shopcool.engineering import insulation
from shopcool.engineering.errors import Refusal
from shopcool.engineering.inventory import Inventory, Movement
from shopcool.engineering.inventory import inventory as judged_inventory
from shopcool.engineering.oil_balance import OilBalance, OilWork, parse_rule
from shopcool.engineering.oil_balance import oil_balance as balanced
from shopcool.engineering.properties import Fluid
from shopcool.engineering.quantities import Kind, Quantity, format_quantity, parse, units_of
from shopcool.engineering.vacuum_hold import LeakRange
from shopcool.engineering.vacuum_hold import leak_range as ranged_leak


@dataclass(frozen=True)
class Conversion:
    """What was typed, in SI, and in the unit asked for."""

    typed: str
    kind: Kind
    si: float
    shown: str


def convert(*, value: str, kind: Kind, to: str, basis: str = "gauge") -> Conversion:
    """Convert a reading from one unit to another.

    Parameters:
        value: number with unit, as typed: "20 inHg vac", "1.5 kV", "> 2.2 GΩ".
        kind: what is measured.
        to: unit to show it in.
        basis: for pressures shown: gauge, absolute or vacuum.

    Returns: the value in SI and as text.

    Raises the refusals of :func:`shopcool.engineering.quantities.parse`.
    """
    reading = parse(value, kind, default_unit=units_of(kind)[0])
    return Conversion(value, kind, reading.si, format_quantity(reading.si, kind, to, basis=basis))


def hose(
    *,
    refrigerant: Fluid,
    temperature_k: float,
    bore_m: float | None = None,
    length_m: float | None = None,
    volume_m3: float | None = None,
    volume_uncertainty_m3: float = 0.0,
    pressure_pa: float | None = None,
    phase: hoses.Phase = hoses.Phase.UNKNOWN,
    charge_kg: float | None = None,
) -> hoses.HoseContent:
    """Return what a service hose holds, by its geometry or by its weighed volume.

    Parameters:
        refrigerant: R-134a, R-1234yf, R-744 or R-152a.
        temperature_k: of the hose [K].
        bore_m: inner diameter [m].
        length_m: length [m].
        volume_m3: weighed volume [m³], instead of bore and length.
        volume_uncertainty_m3: expanded uncertainty (k = 2) of the weighed volume [m³].
        pressure_pa: absolute [Pa]; saturation when absent.
        phase: liquid or vapour when known.
        charge_kg: charge to be delivered [kg].

    Returns: masses [kg] with expanded uncertainty (k = 2) [kg].

    Raises ``geometry`` without bore and length or volume, and the refusals of
    :func:`shopcool.engineering.hose.hose_content`.
    """
    if volume_m3 is not None:
        volume = hoses.HoseVolume(volume_m3, volume_uncertainty_m3, hoses.Basis.WEIGHING)
    elif bore_m is not None and length_m is not None:
        volume = hoses.hose_volume(bore_m=bore_m, length_m=length_m)
    else:
        raise Refusal("geometry", "Give bore and length of the hose, or its weighed volume.", field="bore_m")
    return hoses.hose_content(
        refrigerant=refrigerant,
        volume=volume,
        temperature_k=temperature_k,
        pressure_pa=pressure_pa,
        phase=phase,
        charge_kg=charge_kg,
    )


def leak_rate(
    *,
    rise_pa: float,
    duration_s: float,
    volume_m3: float,
    refrigerant: Fluid,
    temperature_k: float,
    system_pressure_pa: float,
) -> LeakRange:
    """Return what a pressure rise under vacuum would lose in a year, as a range.

    Parameters:
        rise_pa: steady rise of the pressure [Pa].
        duration_s: over this time [s].
        volume_m3: inner volume [m³].
        refrigerant: what will be in the circuit.
        temperature_k: of the circuit [K].
        system_pressure_pa: absolute pressure of the charged circuit [Pa].

    Returns: loss per year by molecular and by viscous flow.

    Raises ``short`` without a time, and the refusals of :func:`shopcool.engineering.vacuum_hold.leak_range`.
    """
    if duration_s <= 0.0:
        raise Refusal("short", "The time of the rise must be longer than nothing.", field="duration_s")
    return ranged_leak(
        rise_pa / duration_s,
        volume_m3=volume_m3,
        refrigerant=refrigerant,
        temperature_k=temperature_k,
        system_pressure_pa=system_pressure_pa,
    )


def insulation_test(
    *,
    resistance_ohm: Quantity,
    nominal_voltage_v: float,
    actual_voltage_v: float,
    working_voltage_v: float,
    bus: insulation.Bus = insulation.Bus.DC,
    duration_s: float = 60.0,
    limit_ohm: float | None = None,
    limit_source: str = "",
) -> insulation.ComponentTest:
    """Judge one insulation measurement of a high-voltage component.

    Parameters:
        resistance_ohm: as shown [ohm]: "12 MΩ", "> 2.2 GΩ", "OL 2.2 GΩ".
        nominal_voltage_v: setting of the tester [V].
        actual_voltage_v: voltage that it really held [V].
        working_voltage_v: of the vehicle [V].
        bus: direct, alternating or coupled.
        duration_s: time under voltage [s].
        limit_ohm: of the vehicle maker [ohm].
        limit_source: where that limit is written.

    Returns: the verdict of the measurement.

    Raises the refusals of :func:`shopcool.engineering.insulation.component_test`.
    """
    return insulation.component_test(
        _insulation_reading(resistance_ohm, nominal_voltage_v, actual_voltage_v),
        working_voltage_v=working_voltage_v,
        bus=bus,
        duration_s=duration_s,
        limit_ohm=limit_ohm,
        limit_source=limit_source,
    )


def insulation_trend(
    *,
    years: Sequence[float],
    resistances_ohm: Sequence[Quantity],
    next_visit_years: float,
    limit_ohm: float | None = None,
) -> insulation.Trend:
    """Return where the insulation of a component is going from visit to visit.

    Parameters:
        years: time of each visit [years] on one clock.
        resistances_ohm: reading of each visit at the reference temperature [ohm]; "OL 2.2 GΩ" is a limit.
        next_visit_years: time of the next visit [years].
        limit_ohm: of the vehicle maker [ohm].

    Returns: yearly factor with interval, and the verdict.

    Raises ``pairs`` when times and readings differ in number, and the refusals of
    :func:`shopcool.engineering.insulation.trend`.
    """
    if len(years) != len(resistances_ohm):
        raise Refusal("pairs", "Each visit needs a time and a reading.", field="resistances_ohm")
    visits = [
        insulation.Visit(when, reading.si, over_range=reading.comparator == ">")
        for when, reading in zip(years, resistances_ohm, strict=True)
    ]
    return insulation.trend(visits, next_visit_years=next_visit_years, limit_ohm=limit_ohm)


def oil_sample(
    *,
    resistances_ohm: Sequence[Quantity],
    actual_voltages_v: Sequence[float],
    nominal_voltage_v: float = 500.0,
    mixed: bool = False,
    new_oil_ohm: Quantity | None = None,
) -> insulation.SampleTest:
    """Judge an oil sample by its insulation readings while it is stirred.

    Parameters:
        resistances_ohm: readings in the order of mixing [ohm].
        actual_voltages_v: voltage held at each reading [V].
        nominal_voltage_v: setting of the tester [V].
        mixed: whether the last reading was taken with the sample well mixed.
        new_oil_ohm: reading of new oil of the same kind [ohm].

    Returns: the verdict of the sample.

    Raises ``pairs`` when readings and voltages differ in number, and the refusals of
    :func:`shopcool.engineering.insulation.sample_test`.
    """
    if len(resistances_ohm) != len(actual_voltages_v):
        raise Refusal("pairs", "Each reading needs the voltage it was taken at.", field="actual_voltages_v")
    readings = [
        _insulation_reading(resistance, nominal_voltage_v, voltage)
        for resistance, voltage in zip(resistances_ohm, actual_voltages_v, strict=True)
    ]
    new = (
        None
        if new_oil_ohm is None
        else _insulation_reading(new_oil_ohm, nominal_voltage_v, nominal_voltage_v)
    )
    return insulation.sample_test(readings, mixed=mixed, new_oil=new)


def oil_balance(
    *,
    rule: Sequence[str],
    parts: Sequence[str],
    recovered_m3: float | None = None,
    drained_m3: Sequence[float] = (),
    sudden_loss: bool = False,
    emptied: bool = False,
) -> OilBalance:
    """Return how much oil a repaired circuit gets, by the vehicle's own rule.

    Parameters:
        rule: its statements, one text each: "source …", "part condenser 30".
        parts: replaced parts.
        recovered_m3: oil that came with the refrigerant [m³]; unknown when absent, which is not zero.
        drained_m3: amount drained from each replaced part [m³], in the order of the parts.
        sudden_loss: whether a hose burst or the charge was lost at once.
        emptied: whether the whole oil was lost or flushed.

    Returns: the signed amount to add and its terms.

    Raises the refusals of :func:`shopcool.engineering.oil_balance.parse_rule` and
    :func:`shopcool.engineering.oil_balance.oil_balance`.
    """
    return balanced(
        parse_rule("\n".join(rule)),
        OilWork(
            parts=tuple(parts),
            recovered_m3=recovered_m3,
            drained_m3=_drained(parts, drained_m3),
            sudden_loss=sudden_loss,
            emptied=emptied,
        ),
    )


def inventory(
    *,
    opening_kg: float,
    measured_kg: float,
    movements_kg: Sequence[float] = (),
    other_scale_kg: Sequence[float] = (),
    scale_accuracy_kg: float = 0.015,
    scale_resolution_kg: float = 0.001,
) -> Inventory:
    """Compare the books of a stock with its weighing.

    Parameters:
        opening_kg: stock at the start [kg].
        measured_kg: stock now by weighing [kg].
        movements_kg: weighed on the stock's own scale [kg], positive into the stock.
        other_scale_kg: weighed on other scales [kg], positive into the stock.
        scale_accuracy_kg: largest error of one weighing [kg].
        scale_resolution_kg: last digit of the scale [kg].

    Returns: expected stock, difference and its expanded uncertainty [kg].

    Raises the refusals of :func:`shopcool.engineering.inventory.inventory`.
    """
    moved = [Movement(mass) for mass in movements_kg] + [
        Movement(mass, other_scale=True) for mass in other_scale_kg
    ]
    return judged_inventory(
        opening_kg,
        measured_kg,
        moved,
        scale_accuracy_kg=scale_accuracy_kg,
        scale_resolution_kg=scale_resolution_kg,
    )


def _insulation_reading(
    resistance: Quantity, nominal_voltage_v: float, actual_voltage_v: float
) -> insulation.InsulationReading:
    if resistance.over_range and not resistance.si:
        raise Refusal("end_of_scale", "Over range of which scale? Type “OL 2.2 GΩ”.", field="resistance_ohm")
    return insulation.InsulationReading(
        resistance.si, nominal_voltage_v, actual_voltage_v, resistance.comparator or "="
    )


def _drained(parts: Sequence[str], drained_m3: Sequence[float]) -> Mapping[str, float]:
    if len(drained_m3) > len(parts):
        raise Refusal("pairs", "More drained amounts than replaced parts.", field="drained_m3")
    pairs = zip_longest(parts, drained_m3)
    return {part: amount for part, amount in pairs if amount is not None}
