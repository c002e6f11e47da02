"""Changing the workshop's settings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import available_timezones

from django.db import transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import atmosphere_from_altitude_pa, checked_atmosphere_pa
from shopcool.people.selectors import colleagues_active
from shopcool.shop.limits import (
    BOUNDS,
    LEAST_PURGE_KG,
    OLDEST_GLOVE_TEST_MONTHS,
    SHORTEST_PURGE_S,
    USUAL_PIECE_M3,
    WEAKEST_VACUUM_PA,
    WIDEST_LIKE_K,
)
from shopcool.shop.models import Jurisdiction, Shop
from shopcool.shop.policies import may_change_shop
from shopcool.shop.selectors import shop_get

LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M = -430.0, 5500.0
LOWEST_BAROMETER_PA, HIGHEST_BAROMETER_PA = 50_000.0, 110_000.0
LONGEST_WAIT_MINUTES = 240
LONGEST_SERVICE_MONTHS = 120
SMALLEST_PURITY = 0.5
MOST_REMINDERS_AHEAD, LONGEST_AHEAD_DAYS = 5, 365


@dataclass(frozen=True)
class Settings:
    """The workshop's settings: altitude [m], barometer [Pa absolute], fractions 0 to 1, else SI."""

    name: str
    address: str
    time_zone: str
    altitude_m: float
    barometer_pa: float | None
    pressure_unit: str
    temperature_unit: str
    mass_unit: str
    volume_unit: str
    jurisdiction: str
    high_voltage_wait_minutes: int
    glove_check_required: bool
    minimum_purity: float
    maximum_hydrocarbon: float
    maximum_air: float
    next_service_months: int
    reminders_at: time
    reminder_days: tuple[int, ...]
    equipment_keeper_id: int | None
    glove_test_months: int = OLDEST_GLOVE_TEST_MONTHS
    insulation_like_k: float = WIDEST_LIKE_K
    purge_minimum_kg: float = LEAST_PURGE_KG
    purge_minimum_s: float = SHORTEST_PURGE_S
    purge_maximum_vacuum_pa: float = WEAKEST_VACUUM_PA
    purge_note: str = ""
    carry_oil_kg: float = 2e-3
    carry_volume_m3: float = USUAL_PIECE_M3
    carry_mixing: float = 0.3
    oil_open_days: int = 30
    oil_low_m3: float | None = None


@transaction.atomic
def shop_update(*, actor: Actor, settings: Settings, now: datetime) -> Shop:
    """Return the workshop with its new settings.

    Raises NotAllowed, and DomainError for a value out of its limits.
    """
    require(may_change_shop(actor))
    _check_identity(settings)
    _check_choices(settings)
    _check_policies(settings)
    _check_reminders(settings)
    _check_place(settings)
    shop = Shop.objects.select_for_update().get(pk=shop_get().pk)
    for name in Settings.__dataclass_fields__:
        setattr(shop, name, getattr(settings, name))
    shop.reminder_days = sorted(set(settings.reminder_days), reverse=True)
    shop.name = " ".join(settings.name.split())
    shop.save()
    return shop


def _check_identity(settings: Settings) -> None:
    if not 1 <= len(" ".join(settings.name.split())) <= 120:
        raise DomainError(_("The workshop has a name of 1 to 120 characters."), code="name", field="name")
    if settings.time_zone not in available_timezones():
        sentence = _("“%(zone)s” is no time zone.") % {"zone": settings.time_zone}
        raise DomainError(sentence, code="time_zone", field="time_zone")


def _check_place(settings: Settings) -> None:
    field = "altitude"
    try:
        atmosphere_from_altitude_pa(settings.altitude_m)
        field = "barometer"
        if settings.barometer_pa is not None:
            checked_atmosphere_pa(settings.barometer_pa)
    except Refusal as refusal:
        raise DomainError(refusal.message, code=refusal.code, field=field) from refusal


def _check_choices(settings: Settings) -> None:
    known = {
        "pressure_unit": PressureUnit,
        "temperature_unit": TemperatureUnit,
        "mass_unit": MassUnit,
        "volume_unit": VolumeUnit,
        "jurisdiction": Jurisdiction,
    }
    for field, choices in known.items():
        value = getattr(settings, field)
        if value not in choices.values:
            sentence = _("“%(value)s” is not known here.") % {"value": value}
            raise DomainError(sentence, code="choice", field=field)


def _check_policies(settings: Settings) -> None:
    limits = {
        "high_voltage_wait_minutes": (0, LONGEST_WAIT_MINUTES),
        "next_service_months": (1, LONGEST_SERVICE_MONTHS),
        "minimum_purity": (SMALLEST_PURITY, 1.0),
        "maximum_hydrocarbon": (0.0, 1.0 - SMALLEST_PURITY),
        "maximum_air": (0.0, 1.0 - SMALLEST_PURITY),
        **BOUNDS,
    }
    for field, (lowest, highest) in limits.items():
        value = getattr(settings, field)
        if value is not None and not lowest <= value <= highest:
            sentence = _("Between %(lowest)s and %(highest)s, please.")
            shown = {"lowest": f"{lowest:g}", "highest": f"{highest:g}"}
            raise DomainError(sentence % shown, code="out_of_range", field=field)
    stricter = (settings.purge_minimum_kg, settings.purge_minimum_s, settings.purge_maximum_vacuum_pa) != (
        LEAST_PURGE_KG,
        SHORTEST_PURGE_S,
        WEAKEST_VACUUM_PA,
    )
    if stricter and not settings.purge_note.strip():
        sentence = _("Say why a purge must show more: it stands on every purge from then on.")
        raise DomainError(sentence, code="purge_note", field="purge_note")


def _check_reminders(settings: Settings) -> None:
    days = set(settings.reminder_days)
    if len(days) > MOST_REMINDERS_AHEAD or not all(1 <= day <= LONGEST_AHEAD_DAYS for day in days):
        sentence = _("Up to %(most)d numbers of days between 1 and %(longest)d, for example 30, 7.")
        shown = {"most": MOST_REMINDERS_AHEAD, "longest": LONGEST_AHEAD_DAYS}
        raise DomainError(sentence % shown, code="out_of_range", field="reminder_days")
    keeper = settings.equipment_keeper_id
    if keeper is not None and not colleagues_active().filter(pk=keeper).exists():
        sentence = _("Choose somebody who works here and may sign in.")
        raise DomainError(sentence, code="keeper", field="equipment_keeper")
