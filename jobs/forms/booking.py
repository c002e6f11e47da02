"""Quick booking: a known vehicle, or a new one with just what the customer knows."""

from __future__ import annotations

from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from jobs.choices import ServiceKind
from jobs.services.booking import Booking
from shopcool.people.models import User
from shopcool.people.selectors import technicians
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from shopcool.vehicles.data import CircuitData, CustomerData, VehicleData
from shopcool.vehicles.forms import oil_rule_field


class BookingForm(forms.Form):
    """When a vehicle comes, for what, and who will work on it."""

    submission_key = forms.UUIDField(widget=forms.HiddenInput, required=False)
    service = forms.ChoiceField(
        label=_("What it comes for"), choices=ServiceKind.choices, widget=forms.RadioSelect
    )
    complaint = forms.CharField(
        label=_("What the customer says"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    affects_driving = forms.BooleanField(
        label=_("Driving is affected, too"),
        required=False,
        help_text=_(
            "A warning lamp, no electric driving, less assist: where the A/C also cools the battery."
        ),
    )
    booked_for = forms.DateTimeField(
        label=_("Day and time"),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        input_formats=["%Y-%m-%dT%H:%M"],
    )
    bay = forms.CharField(label=_("Bay"), max_length=30, required=False)
    technician: Any = forms.ModelChoiceField(
        label=_("Technician"), queryset=User.objects.none(), required=False, empty_label=_("Nobody yet")
    )

    def __init__(self, data: QueryDict | None = None, *, initial: dict[str, Any] | None = None) -> None:
        super().__init__(data, initial={"submission_key": str(uuid4()), **(initial or {})})
        self.fields["technician"].queryset = technicians()  # type: ignore[attr-defined]

    @property
    def booking(self) -> Booking:
        """The visit as the services take it."""
        typed = self.cleaned_data
        return Booking(
            service=ServiceKind(typed["service"]),
            booked_for=typed["booked_for"],
            complaint=typed["complaint"],
            affects_driving=typed["affects_driving"],
            bay=typed["bay"],
            technician_id=typed["technician"].pk if typed["technician"] else None,
        )

    @property
    def key(self) -> UUID | None:
        """The key of this filled-in form."""
        key: UUID | None = self.cleaned_data.get("submission_key")
        return key


class NewVehicleForm(BookingForm):
    """The same, with the little that is known of a new vehicle; its label is read in the workshop."""

    registration = forms.CharField(
        label=_("Registration"), max_length=20, widget=forms.TextInput(attrs={"autocapitalize": "characters"})
    )
    make = forms.CharField(label=_("Make"), max_length=60)
    model = forms.CharField(label=_("Model"), max_length=60)
    customer_name = forms.CharField(label=_("Customer"), max_length=160, required=False)
    customer_phone = forms.CharField(label=_("Phone"), max_length=60, required=False)
    drive = forms.ChoiceField(
        label=_("Compressor drive"),
        choices=Drive.choices,
        widget=forms.RadioSelect,
        help_text=_("What turns the compressor; the word hybrid does not say it."),
    )
    refrigerant = forms.ChoiceField(
        label=_("Refrigerant"), choices=Refrigerant.choices, initial=Refrigerant.UNKNOWN
    )
    lubricant = forms.ChoiceField(label=_("Oil"), choices=Lubricant.choices, initial=Lubricant.UNKNOWN)
    oil_rule = oil_rule_field()
    same_registration = forms.BooleanField(
        label=_("Another vehicle had this plate before"), required=False, widget=forms.HiddenInput
    )

    @property
    def vehicle(self) -> VehicleData:
        """The vehicle as the services take it."""
        typed = self.cleaned_data
        name, phone = typed["customer_name"], typed["customer_phone"]
        return VehicleData(
            registration=typed["registration"],
            make=typed["make"],
            model=typed["model"],
            customer=CustomerData(name, phone) if name or phone else None,
            same_registration=typed["same_registration"],
        )

    @property
    def circuit(self) -> CircuitData:
        """What is known of its circuit."""
        typed = self.cleaned_data
        return CircuitData(
            drive=typed["drive"],
            refrigerant=typed["refrigerant"],
            lubricant=typed["lubricant"],
            oil_rule=typed["oil_rule"],
        )

    def ask_about_plate(self) -> None:
        """Show the question whether the plate went to another vehicle."""
        self.fields["same_registration"].widget = forms.CheckboxInput()
