"""Keeping customers."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.vehicles.data import CustomerData
from shopcool.vehicles.models import Customer
from shopcool.vehicles.policies import may_keep_vehicles


@transaction.atomic
def customer_create(*, actor: Actor, data: CustomerData, now: datetime) -> Customer:
    """Return a new customer; raises NotAllowed, and DomainError without a name."""
    require(may_keep_vehicles(actor))
    return Customer.objects.create(name=_name(data), phone=data.phone.strip(), email=data.email.strip())


@transaction.atomic
def customer_keep(*, actor: Actor, data: CustomerData, now: datetime) -> Customer:
    """Return the customer of that name, with phone and e-mail as given now, or a new one.

    Somebody of the same name whose phone is another one is another customer.
    """
    require(may_keep_vehicles(actor))
    phone, email = data.phone.strip(), data.email.strip()
    same_name = Customer.objects.select_for_update().filter(name__iexact=_name(data)).order_by("pk")
    known = next((one for one in same_name if one.phone == phone or not one.phone or not phone), None)
    if known is None:
        return customer_create(actor=actor, data=data, now=now)
    known.phone, known.email = phone or known.phone, email or known.email
    known.save(update_fields=["phone", "email"])
    return known


def _name(data: CustomerData) -> str:
    name = " ".join(data.name.split())
    if not name:
        raise DomainError(_("A customer has a name."), code="customer_name", field="customer_name")
    return name
