"""Who acts: every service is told, so that no write is ever anonymous."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """What a person does in the workshop; one person may have several roles."""

    TECHNICIAN = "TECHNICIAN", _("Technician")
    FRONT_DESK = "FRONT_DESK", _("Front desk")
    OWNER = "OWNER", _("Owner")


@dataclass(frozen=True)
class PreferredUnits:
    """The units a person reads and types in; empty means as the workshop does."""

    pressure: str = ""
    temperature: str = ""
    mass: str = ""
    volume: str = ""


@dataclass(frozen=True)
class Actor:
    """A person, or the system itself, at the moment of acting.

    ``user_id`` is None only for the system. The name is kept beside each record, so that a record can
    still be read when the person has left.
    """

    user_id: int | None
    name: str
    roles: frozenset[str] = frozenset()
    units: PreferredUnits = PreferredUnits()

    @property
    def is_owner(self) -> bool:
        """Whether the person owns or leads the workshop."""
        return Role.OWNER in self.roles

    @property
    def is_technician(self) -> bool:
        """Whether the person works on vehicles."""
        return Role.TECHNICIAN in self.roles

    @property
    def is_front_desk(self) -> bool:
        """Whether the person books vehicles in and hands them out."""
        return Role.FRONT_DESK in self.roles

    @property
    def is_system(self) -> bool:
        """Whether Shopcool itself acts, for example to follow up on a late entry."""
        return self.user_id is None


SYSTEM = Actor(user_id=None, name="Shopcool")
