"""The filters of the list of jobs in the API."""

from __future__ import annotations

from datetime import UTC, datetime

import django_filters
from django import forms
from django.utils.translation import gettext as _
from django_filters.fields import IsoDateTimeField

from jobs.choices import JobStatus, ServiceKind
from jobs.models import Job


class MomentField(IsoDateTimeField):  # type: ignore[misc]
    """A moment with any offset, as UTC; the database knows fewer offsets and years than ISO 8601."""

    def to_python(self, value: str | None) -> datetime | None:
        """Return the moment, or refuse one that no workshop has seen."""
        moment: datetime | None = super().to_python(value)
        if moment is None:
            return None
        if not 1970 <= moment.year <= 2200:
            raise forms.ValidationError(_("A moment between 1970 and 2200, please."), code="moment")
        return moment.astimezone(UTC)


class MomentFilter(django_filters.IsoDateTimeFilter):  # type: ignore[misc]
    """Compare with a moment."""

    field_class = MomentField


class JobFilter(django_filters.FilterSet):  # type: ignore[misc]
    """Narrow the jobs by state, service, plate and the time they are booked for."""

    status = django_filters.ChoiceFilter(choices=JobStatus.choices)
    service = django_filters.ChoiceFilter(choices=ServiceKind.choices)
    registration = django_filters.CharFilter(
        field_name="circuit__vehicle__registration", lookup_expr="iexact"
    )
    booked_from = MomentFilter(field_name="booked_for", lookup_expr="gte")
    booked_before = MomentFilter(field_name="booked_for", lookup_expr="lt")

    class Meta:
        model = Job
        fields = ["status", "service", "registration", "booked_from", "booked_before"]
