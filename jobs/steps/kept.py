"""What the hoses keep of a charge: from the pages of the connected pieces, else from what was typed."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.steps.answers import COMMON_PRACTICE, Finding, note, percent, warning
from jobs.steps.context import PieceChoice, StepContext
from jobs.steps.hoses import (
    BY_MACHINE,
    NOT_KNOWN,
    full_of_liquid,
    typed_content,
    typed_kept_kg,
)
from jobs.steps.values import Values
from shopcool.engineering.hose import Basis, HoseContent, hose_volume
from shopcool.engineering.quantities import Kind

#: Below this label charge the content of the hoses must be known [kg].
SMALL_CHARGE_KG = 0.5
#: A line as many machines have, to show what is at stake where nobody measured [m] (common practice).
USUAL_BORE_M, USUAL_LENGTH_M = 5e-3, 2.4


@dataclass(frozen=True)
class Kept:
    """What the hoses keep [kg] and why; an empty ``doubt`` says that it is known."""

    kg: float
    findings: tuple[Finding, ...] = ()
    doubt: str = ""


def kept_on_record(machine: PieceChoice | None, context: StepContext) -> Kept | None:
    """Return what the hoses keep by the pages of machine and hoses, None where these don't settle it."""
    sets = context.hose_sets
    if machine is None or not sets:
        return None
    if machine.weighing.adds and [one.id for one in sets] == [machine.weighing.allows_for]:
        return Kept(0.0, (_added(machine, sets[0], context),))
    contents = [content_of(one, context) for one in sets]
    known = [content for content in contents if content is not None]
    if not machine.weighing.only_weighs or len(known) < len(contents):
        return None
    finding = note("hoses_on_record", _keeps(sets, known, machine, context), source=_source(known))
    return Kept(sum(content.liquid_kg for content in known), (finding,))


def kept_of(values: Values, context: StepContext) -> Kept:
    """Return what the hoses keep of this charge; what was typed goes before the pages of the pieces."""
    machine, said = context.piece(values.number("machine")), values.text("hoses")
    if not said:
        return kept_on_record(machine, context) or Kept(0.0, doubt=_("Say what the hoses keep."))
    if said == NOT_KNOWN:
        sentence = _("The content of the hoses is not known: the circuit holds less than was charged.")
        return _doubtful("hoses_not_known", sentence, context)
    void = _contradiction(machine, context) if said == BY_MACHINE else ""
    if void:
        return _doubtful("setting_void", void, context)
    gas = context.case.facts.refrigerant
    content = typed_content(values, gas)
    return Kept(typed_kept_kg(values, gas), (_computed(content, context),) if content else ())


def content_of(piece: PieceChoice, context: StepContext) -> HoseContent | None:
    """Return what a hose set holds full of this circuit's liquid, None while nobody measured it."""
    volume = piece.hoses.volume
    return full_of_liquid(volume, context.case.facts.refrigerant) if volume else None


def _doubtful(code: str, sentence: str, context: StepContext) -> Kept:
    doubt = f"{sentence} {_at_stake(context)}".strip()
    return Kept(0.0, (warning(code, doubt, source=COMMON_PRACTICE),), doubt)


def _contradiction(machine: PieceChoice | None, context: StepContext) -> str:
    """Return why the machine does not add for these hoses, empty when its page does not say so."""
    if machine is None:
        return ""
    if machine.weighing.only_weighs:
        return _("By its page %(machine)s only weighs and adds nothing for hoses.") % {
            "machine": machine.code
        }
    sets = context.hose_sets
    if not machine.weighing.adds or not sets:
        return ""
    words = {
        "machine": machine.code,
        "own": machine.weighing.allows_for_code or _("no known hose set"),
        "hoses": ", ".join(one.code for one in sets),
    }
    if [one.id for one in sets] == [machine.weighing.allows_for]:
        return ""
    sentence = _(
        "%(machine)s is set up with %(own)s, and %(hoses)s is on the car: changing a hose voids the setting."
    )
    return sentence % words


def _at_stake(context: StepContext) -> str:
    """Return how much of the label charge the hoses may keep, in numbers."""
    label = context.case.facts.charge_kg
    contents = [(one.code, content_of(one, context)) for one in context.hose_sets]
    known = [(code, content.liquid_kg) for code, content in contents if content is not None]
    sentence = _("Full of liquid, %(pieces)s holds %(mass)s")
    words = {"pieces": ", ".join(code for code, _kg in known)}
    if not known:
        usual = full_of_liquid(
            hose_volume(bore_m=USUAL_BORE_M, length_m=USUAL_LENGTH_M), context.case.facts.refrigerant
        )
        if usual is None:
            return ""
        known = [("", usual.liquid_kg)]
        sentence = _("Nobody has measured these hoses; one line of 2.4 m and 5 mm holds %(mass)s of liquid")
    mass = sum(kg for _code, kg in known)
    share = _(", %(share)s of the label charge.") % {"share": percent(mass / label)} if label else "."
    return sentence % {**words, "mass": context.shown(mass, Kind.MASS)} + share


def _added(machine: PieceChoice, hoses: PieceChoice, context: StepContext) -> Finding:
    content = content_of(hoses, context)
    words = {"machine": machine.code, "hoses": hoses.code}
    sentence = _("%(machine)s adds what %(hoses)s keeps: what it shows is in the circuit.") % words
    if content is not None:
        kept = {"mass": context.shown(content.liquid_kg, Kind.MASS)}
        sentence += " " + _("Full of liquid these hoses hold %(mass)s.") % kept
    return note("hoses_by_machine", sentence, source=_("page of %(machine)s") % words)


def _keeps(
    sets: tuple[PieceChoice, ...], contents: list[HoseContent], machine: PieceChoice, context: StepContext
) -> str:
    words = {
        "machine": machine.code,
        "hoses": ", ".join(one.code for one in sets),
        "mass": context.shown(sum(one.liquid_kg for one in contents), Kind.MASS),
        "uncertainty": context.shown(sum(one.liquid_uncertainty_kg for one in contents), Kind.MASS),
    }
    return (
        _("%(hoses)s keeps %(mass)s ± %(uncertainty)s of liquid at 25 °C; %(machine)s only weighs.") % words
    )


def _source(contents: list[HoseContent]) -> str:
    weighed = all(content.volume.basis is Basis.WEIGHING for content in contents)
    return _("weighed content on the page of the hoses") if weighed else contents[0].source


def _computed(content: HoseContent, context: StepContext) -> Finding:
    sentence = _(
        "Hoses full of liquid at 25 °C keep %(liquid)s ± %(uncertainty)s; "
        "emptied to vapour they keep %(vapour)s."
    )
    words = {
        "liquid": context.shown(content.liquid_kg, Kind.MASS),
        "uncertainty": context.shown(content.liquid_uncertainty_kg, Kind.MASS),
        "vapour": context.shown(content.vapour_kg, Kind.MASS),
    }
    return note("hoses_computed", sentence % words, source=content.source)
