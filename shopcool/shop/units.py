"""The units that readings are told and asked in: the workshop's, or those that a person prefers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace

from django import forms

from shopcool.core.actors import PreferredUnits
from shopcool.core.fields import QuantityField
from shopcool.core.figures import Figure, retell
from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit
from shopcool.engineering.quantities import STANDARD_ATMOSPHERE_PA, Kind, format_quantity, units_of
from shopcool.shop.models import Shop
from shopcool.shop.selectors import atmosphere_pa

AS_THE_WORKSHOP = PreferredUnits()
#: Below this an absolute pressure is told as vacuum gauges show it [Pa].
VACUUM_BELOW_PA = 10_000.0
_METRIC = {"psi": "bar", "°F": "°C", "oz": "g", "lb": "g", "US fl oz": "ml", "imp fl oz": "ml"}


@dataclass(frozen=True)
class Units:
    """One unit for each kind of quantity, and the air that gauges and vacuums refer to [Pa]."""

    pressure: str = PressureUnit.BAR.value
    temperature: str = TemperatureUnit.CELSIUS.value
    mass: str = MassUnit.GRAM.value
    volume: str = VolumeUnit.MILLILITRE.value
    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA
    #: Where every figure that is told gets noted, None while nobody listens.
    told: list[Figure] | None = field(default=None, compare=False, repr=False)

    def listening(self) -> Units:
        """Return the same units with an empty list that every figure told with them is added to."""
        return replace(self, told=[])

    def preferring(self, units: PreferredUnits) -> Units:
        """Return the units of a person who prefers some of their own."""
        chosen = {name: unit for name, unit in asdict(units).items() if unit}
        return replace(self, **chosen)

    def of_kind(self, kind: Kind) -> str:
        """Return the unit in which a kind of quantity is told and asked."""
        told = {
            Kind.PRESSURE: self.pressure,
            Kind.PRESSURE_DIFFERENCE: "psi" if self.pressure == PressureUnit.PSI else "kPa",
            Kind.TEMPERATURE: self.temperature,
            Kind.TEMPERATURE_DIFFERENCE: "°F" if self.temperature == TemperatureUnit.FAHRENHEIT else "K",
            Kind.MASS: self.mass,
            Kind.VOLUME: self.volume,
            Kind.DURATION: "min",
            Kind.RESISTANCE: "MΩ",
        }
        return told.get(kind, units_of(kind)[0])

    @property
    def bulk_mass(self) -> str:
        """The unit for what cylinders and machines hold: pounds for those who read ounces."""
        return "lb" if self.mass in {MassUnit.OUNCE, MassUnit.POUND} else "kg"

    @property
    def fine_mass(self) -> str:
        """The unit for the tolerance of a scale."""
        return "g" if self.bulk_mass == "kg" else "oz"

    @property
    def vacuum(self) -> str:
        """The unit in which a service machine shows its vacuum (common practice)."""
        return "inHg" if self.pressure == PressureUnit.PSI else "mbar"

    @property
    def fine_vacuum(self) -> str:
        """The unit of a vacuum gauge that reads absolute pressure (common practice)."""
        return "micron" if self.pressure == PressureUnit.PSI else "mbar"

    @property
    def barometer(self) -> str:
        """The unit of a barometer (common practice)."""
        return "inHg" if self.pressure == PressureUnit.PSI else "mbar"

    @property
    def metric(self) -> Units:
        """The same in metric units where they are not."""
        return replace(
            self,
            pressure=_METRIC.get(self.pressure, self.pressure),
            temperature=_METRIC.get(self.temperature, self.temperature),
            mass=_METRIC.get(self.mass, self.mass),
            volume=_METRIC.get(self.volume, self.volume),
        )

    def shown(self, si: float, kind: Kind, *, basis: str = "gauge", digits: int | None = None) -> str:
        """Return an SI value in its unit, with the unit's usual decimals unless told otherwise."""
        air, unit = self.atmosphere_pa, self.of_kind(kind)
        text = format_quantity(si, kind, unit, basis=basis, atmosphere_pa=air, digits=digits)
        if self.told is not None:
            self.told.append(Figure(text, si, kind, basis, air))
        return text

    def retold(self, text: str, figures: Sequence[Figure]) -> str:
        """Return a text on record with its figures in these units, as recorded in brackets."""
        return retell(text, figures, self._figure)

    def _figure(self, figure: Figure) -> str:
        unit, air = self.of_kind(figure.kind), figure.atmosphere_pa
        if figure.kind is Kind.PRESSURE and figure.basis == "absolute" and figure.si < VACUUM_BELOW_PA:
            unit = self.fine_vacuum
        return format_quantity(figure.si, figure.kind, unit, basis=figure.basis, atmosphere_pa=air)


def units_for(shop: Shop, preferred: PreferredUnits = AS_THE_WORKSHOP) -> Units:
    """Return the units of the workshop, where the person has no preference of their own."""
    units = Units(
        pressure=shop.pressure_unit,
        temperature=shop.temperature_unit,
        mass=shop.mass_unit,
        volume=shop.volume_unit,
        atmosphere_pa=atmosphere_pa(shop),
    )
    return units.preferring(preferred)


def ask_in(form: forms.BaseForm, units: Units) -> None:
    """Let every quantity field of a form expect bare numbers in these units."""
    for asked in form.fields.values():
        if isinstance(asked, QuantityField):
            rule = replace(
                asked.rule,
                default_unit=units.of_kind(asked.rule.kind),
                atmosphere_pa=units.atmosphere_pa,
            )
            asked.use_rule(rule)
