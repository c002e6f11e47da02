"""The units a person prefers, quantity by quantity."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor, PreferredUnits
from shopcool.core.errors import DomainError, require
from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit
from shopcool.people.models import User
from shopcool.people.policies import may_choose_units

_KNOWN = {
    "pressure": PressureUnit,
    "temperature": TemperatureUnit,
    "mass": MassUnit,
    "volume": VolumeUnit,
}


class UnitUnknown(DomainError):
    """The unit is none of those a person may prefer."""

    code = "unit_unknown"


@transaction.atomic
def units_choose(*, actor: Actor, user_id: int, units: PreferredUnits, now: datetime) -> User:
    """Return the person with the units they prefer; an empty one means as the workshop does.

    Nothing on record changes: it keeps what was typed. Raises NotAllowed and UnitUnknown.
    """
    require(may_choose_units(actor, user_id))
    user = User.objects.select_for_update().get(pk=user_id)
    for quantity, known in _KNOWN.items():
        unit = getattr(units, quantity)
        if unit and unit not in known.values:
            raise UnitUnknown(_("“%(unit)s” is not known here.") % {"unit": unit}, field=quantity)
        setattr(user, f"{quantity}_unit", unit)
    user.save(update_fields=[f"{quantity}_unit" for quantity in _KNOWN])
    return user
