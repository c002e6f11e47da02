"""The readiness mark of a piece: which shape and which words say what may still be inside. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from equipment.choices import ResidueState
from equipment.exposure import Residue
from equipment.readiness.reasons import words
from shopcool.vehicles.choices import Additive, Lubricant


@dataclass(frozen=True)
class Mark:
    """What the mark of a piece shows; ``oil`` is the class in words, empty when nothing is to be named."""

    state: ResidueState
    word: str
    oil: str = ""

    @property
    def kind(self) -> str:
        """The name of the drawing."""
        return self.state.value.lower()


def mark_of(
    residue: Residue, *, in_service: bool = True, dedicated_to: str = "", labelled_oil: str = ""
) -> Mark:
    """Return the mark for a residue; ``labelled_oil`` is the permanent label of an injector."""
    if not in_service:
        return Mark(ResidueState.OUT_OF_SERVICE, _("Out of service"))
    what = residue_words(residue)
    if residue.unknown:
        word = _("Unknown, and %(what)s") % {"what": what} if what else _("Unknown residue")
        return Mark(ResidueState.UNKNOWN, word, what)
    if dedicated_to and _holds_only(residue, dedicated_to):
        oil = str(Lubricant(dedicated_to).label)
        return Mark(ResidueState.DEDICATED, _("Dedicated to %(oil)s, clear for it") % {"oil": oil}, oil)
    state = ResidueState.RESIDUE if residue.blocks_high_voltage else ResidueState.CLEAR
    if labelled_oil and residue.lubricants and _holds_only(residue, labelled_oil):
        return Mark(state, _("%(oil)s, as labelled") % {"oil": what}, what)
    return Mark(state, _word(state, what), what)


def _word(state: ResidueState, what: str) -> str:
    if state is ResidueState.RESIDUE:
        return _("Residue of %(what)s") % {"what": what}
    return _("Clear, traces of %(what)s") % {"what": what} if what else _("Clear")


def _holds_only(residue: Residue, lubricant: str) -> bool:
    return residue.lubricants <= {lubricant} and not residue.additives


def residue_words(residue: Residue) -> str:
    """Return the oils and additives of a residue as a list of words, empty when there are none."""
    additives = [str(Additive(additive).label).lower() for additive in sorted(residue.additives)]
    return ", ".join([*([words(residue.lubricants)] if residue.lubricants else []), *additives])
