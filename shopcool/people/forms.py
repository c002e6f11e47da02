"""Forms of the pages about people: types and shapes only, the rules are in the services."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from shopcool.core.actors import Role
from shopcool.core.unit_choices import MassUnit, PressureUnit, TemperatureUnit, VolumeUnit
from shopcool.people.models import CompetenceKind, User

# A tablet would write names with a capital and "correct" them.
_PLAIN_TEXT = {"autocapitalize": "none", "spellcheck": "false"}


def _password(*, new: bool, **options: Any) -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": "new-password" if new else "current-password"})
    return forms.CharField(max_length=256, strip=False, widget=widget, **options)


def _day(**options: Any) -> forms.DateField:
    return forms.DateField(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **options)


def _email(**options: Any) -> forms.EmailField:
    return forms.EmailField(
        required=False, max_length=254, widget=forms.EmailInput(attrs={"autocomplete": "off"}), **options
    )


class SignInForm(forms.Form):
    """Who signs in."""

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        widget=forms.TextInput(attrs={**_PLAIN_TEXT, "autocomplete": "username"}),
    )
    password = _password(label=_("Password"), new=False)


class ChangePersonForm(forms.Form):
    """Which colleague takes over a shared tablet."""

    person = forms.ModelChoiceField(
        label=_("Who works now"), queryset=User.objects.none(), widget=forms.RadioSelect, empty_label=None
    )
    password = _password(label=_("Password"), new=False)


class PersonForm(forms.Form):
    """A person of the workshop."""

    full_name = forms.CharField(
        label=_("Full name"), max_length=120, help_text=_("As it stands on records and certificates.")
    )
    email = _email(label=_("E-mail"), help_text=_("The daily digest of reminders goes there."))
    roles = forms.MultipleChoiceField(
        label=_("Roles"),
        choices=Role.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("One person may have several."),
    )


class NewPersonForm(PersonForm):
    """A person who joins, with what they sign in with."""

    field_order = ["full_name", "username", "password", "email", "roles"]

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        help_text=_("Short, in small letters. It can't be changed later."),
        widget=forms.TextInput(attrs={**_PLAIN_TEXT, "autocomplete": "off"}),
    )
    password = _password(label=_("First password"), new=True)


class PasswordForm(forms.Form):
    """A new password for somebody else."""

    password = _password(label=_("New password"), new=True)


class OwnPasswordForm(PasswordForm):
    """A new password for oneself."""

    field_order = ["current_password", "password"]

    current_password = _password(label=_("Present password"), new=False)


class OwnEmailForm(forms.Form):
    """Where one's own reminders go."""

    email = _email(
        label=_("E-mail"),
        help_text=_("The daily digest of what is due goes there. Empty: reminders stand in Shopcool only."),
    )


class CompetenceForm(forms.Form):
    """A dated qualification."""

    kind = forms.ChoiceField(label=_("What it covers"), choices=CompetenceKind.choices)
    number = forms.CharField(label=_("Certificate number"), max_length=80)
    body = forms.CharField(label=_("Issued by"), max_length=120)
    issued_on = _day(label=_("Issued on"))
    valid_until = _day(
        label=_("Valid until"), required=False, help_text=_("Leave empty when the certificate has no end.")
    )


class WithdrawForm(forms.Form):
    """Why a competence no longer counts."""

    reason = forms.CharField(label=_("Reason"), max_length=300)


class UnitsForm(forms.Form):
    """The units a person prefers; the first answer follows the workshop."""

    pressure = forms.ChoiceField(label=_("Pressure"), required=False, widget=forms.RadioSelect)
    temperature = forms.ChoiceField(label=_("Temperature"), required=False, widget=forms.RadioSelect)
    mass = forms.ChoiceField(label=_("Refrigerant"), required=False, widget=forms.RadioSelect)
    volume = forms.ChoiceField(label=_("Oil"), required=False, widget=forms.RadioSelect)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        kinds = {
            "pressure": PressureUnit,
            "temperature": TemperatureUnit,
            "mass": MassUnit,
            "volume": VolumeUnit,
        }
        for name, units in kinds.items():
            field = self.fields[name]
            if isinstance(field, forms.ChoiceField):
                field.choices = [("", _("as the workshop")), *units.choices]
