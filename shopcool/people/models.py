"""Users, competences and sign-in attempts."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.utils.translation import gettext_lazy as _

from shopcool.core.actors import Actor, PreferredUnits, Role
from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit


class UserManager(BaseUserManager["User"]):
    """Create users with a hashed password."""

    def create_user(self, username: str, password: str | None = None, **fields: Any) -> User:
        """Return a new person who may sign in with the password, or not at all without one."""
        user = self.model(username=username.strip().lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user


class User(AbstractBaseUser):
    """A person of the workshop."""

    username = models.CharField(_("sign-in name"), max_length=60, unique=True)
    full_name = models.CharField(_("full name"), max_length=120)
    email = models.EmailField(_("e-mail"), blank=True)
    roles = ArrayField(models.CharField(max_length=20, choices=Role.choices), default=list)
    is_active = models.BooleanField(_("may sign in"), default=True)
    created_at = models.DateTimeField(auto_now_add=True)
    #: Empty: as the workshop prefers.
    pressure_unit = models.CharField(_("pressure"), max_length=10, choices=PressureUnit.choices, blank=True)
    temperature_unit = models.CharField(
        _("temperature"), max_length=4, choices=TemperatureUnit.choices, blank=True
    )
    mass_unit = models.CharField(_("refrigerant"), max_length=4, choices=MassUnit.choices, blank=True)
    volume_unit = models.CharField(_("oil"), max_length=10, choices=VolumeUnit.choices, blank=True)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["full_name"]

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="people_user_known_roles", condition=models.Q(roles__contained_by=list(Role.values))
            )
        ]

    def __str__(self) -> str:
        return self.full_name or self.username

    def as_actor(self) -> Actor:
        """Return the person as the services know them."""
        return Actor(self.pk, str(self), frozenset(self.roles), self.preferred_units)

    @property
    def preferred_units(self) -> PreferredUnits:
        """The units that the person reads and types in."""
        return PreferredUnits(self.pressure_unit, self.temperature_unit, self.mass_unit, self.volume_unit)

    @property
    def role_labels(self) -> list[str]:
        """The person's roles in words, in the order of the list of roles."""
        return [str(role.label) for role in Role if role in self.roles]


class CompetenceKind(models.TextChoices):
    """What a person has proved to master."""

    REFRIGERANT = "REFRIGERANT", _("Refrigerant handling")
    HIGH_VOLTAGE = "HIGH_VOLTAGE", _("High-voltage work")


class Competence(models.Model):
    """A person's dated qualification. It is never deleted; a wrong or revoked one is withdrawn."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="competences")
    kind = models.CharField(max_length=20, choices=CompetenceKind.choices)
    number = models.CharField(_("certificate number"), max_length=80)
    body = models.CharField(_("issued by"), max_length=120)
    issued_on = models.DateField(_("issued on"))
    valid_until = models.DateField(_("valid until"), null=True, blank=True)
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(User, null=True, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(User, null=True, on_delete=models.PROTECT, related_name="+")
    withdrawn_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="people_competence_dates",
                condition=models.Q(valid_until__isnull=True)
                | models.Q(valid_until__gte=models.F("issued_on")),
            ),
            models.UniqueConstraint(
                fields=["user", "kind", "number"],
                name="people_competence_once",
                condition=models.Q(withdrawn_at__isnull=True),
            ),
            models.CheckConstraint(
                name="people_competence_withdrawn_has_reason",
                condition=models.Q(withdrawn_at__isnull=True) | ~models.Q(withdrawn_reason=""),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"


class CalendarAddress(models.Model):
    """The secret address under which a calendar program reads a person's dates without signing in.

    Only a digest of the secret is kept: who reads the database can't open the address.
    """

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="calendar_address")
    secret_digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    #: When a program last asked, to the hour; a person sees by it whether the address is in use.
    read_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"calendar of {self.user_id}"


class SignInAttempt(models.Model):
    """A failed sign-in; too many in a short time close the door for a while."""

    username = models.CharField(max_length=60)
    address = models.GenericIPAddressField(null=True)
    attempted_at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(fields=["username", "attempted_at"], name="people_attempt_username"),
            models.Index(fields=["address", "attempted_at"], name="people_attempt_address"),
        ]

    def __str__(self) -> str:
        return f"{self.username} {self.attempted_at:%Y-%m-%d %H:%M}"
