"""The table of wall displays: screens that show the readiness board without anybody signed in."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class WallDisplay(models.Model):
    """A screen that may show the board, and nothing else, by a secret address.

    Only a digest of the secret is kept: who reads the database can't open the address. A closed display
    stays, so that it is known who let it look and until when.
    """

    name = models.CharField(_("where it hangs"), max_length=80)
    secret_digest = models.CharField(max_length=64, unique=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="equipment_wall_closed_by_somebody",
                condition=Q(closed_at__isnull=True, closed_by__isnull=True)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return self.name
