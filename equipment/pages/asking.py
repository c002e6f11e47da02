"""The car that the board is asked about: the circuit of one on file, or a kind of car described in words."""

from __future__ import annotations

from django.utils.translation import gettext as _

from equipment.forms.board import KindOfCarForm
from equipment.pages.board import Asked
from equipment.selectors import circuit_facts
from shopcool.vehicles.models import Circuit


def asked_circuit(circuit: Circuit) -> Asked:
    """Return the question about the circuit of a car on file; ``circuit.vehicle`` must be loaded."""
    words = (
        circuit.get_drive_display(),
        circuit.get_refrigerant_display(),
        circuit.get_lubricant_display(),
    )
    return Asked(
        facts=circuit_facts(circuit),
        title=str(circuit.vehicle),
        note=circuit.name,
        words=words,
        query=(("circuit", str(circuit.pk)),),
    )


def asked_kind_of_car(form: KindOfCarForm) -> Asked:
    """Return the question about any car of the kind that a valid form describes."""
    values = form.cleaned_data
    voltage = values["working_voltage"]
    return Asked(
        facts=form.circuit(),
        title=_("Any car of this kind"),
        note=_("its own label has the last word"),
        words=tuple(form.words()),
        query=(
            ("drive", values["drive"]),
            ("refrigerant", values["refrigerant"]),
            ("lubricant", values["lubricant"]),
            *((("working_voltage", voltage.typed),) if voltage else ()),
        ),
    )
