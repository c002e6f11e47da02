"""Where added oil comes from: an injector, a lot on the shelf, or a container that nobody booked."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from equipment.oil.grades import same_grade
from equipment.oil.words import oil_words
from jobs.errors import ValuesInvalid
from jobs.steps.answers import COMMON_PRACTICE, Finding, good, warning
from jobs.steps.context import StepContext
from jobs.steps.oil_on_hand import HeldOil, LotChoice
from jobs.steps.values import Values
from shopcool.engineering.quantities import Kind
from shopcool.vehicles.choices import Lubricant

NOTHING = HeldOil(0.0, 0.0)


@dataclass(frozen=True)
class OilSource:
    """The oil that a step adds: class and grade, the field to blame, and what the books say is there.

    ``held`` is None for a container that is not on the shelf.
    """

    name: str
    field: str
    lubricant: str
    grade: str
    held: HeldOil | None = None

    @property
    def density_kg_m3(self) -> float | None:
        """The density of the oil [kg/m³], None when nobody knows it."""
        return self.held.mass_kg / self.held.volume_m3 if self.held and self.held.volume_m3 else None


def source_of(values: Values, context: StepContext) -> OilSource:
    """Return where the oil of a step comes from; raises ValuesInvalid when lot and container differ."""
    injector = context.piece(values.number("injector"))
    if injector is not None:
        held = context.oil.injectors.get(injector.id, NOTHING)
        return OilSource(injector.code, "injector", injector.lubricant, injector.lubricant_grade, held)
    lot = next((one for one in context.oil.lots if one.id == values.number("lot")), None)
    if lot is None:
        return OilSource("", "oil", values.text("oil"), values.text("grade"))
    _refuse_other_container(values, lot)
    return OilSource(lot.code, "lot", lot.lubricant, lot.grade, HeldOil(lot.volume_m3, lot.mass_kg))


def _refuse_other_container(values: Values, lot: LotChoice) -> None:
    if lot.lubricant == values.text("oil") and same_grade(lot.grade, values.text("grade")):
        return
    sentence = _("%(lot)s is %(oil)s by the books, not what the container says.")
    words = {"lot": lot.code, "oil": oil_words(Lubricant(lot.lubricant), lot.grade)}
    raise ValuesInvalid({"lot": [sentence % words]})


def source_findings(source: OilSource, context: StepContext) -> list[Finding]:
    """Return what agrees; raises ValuesInvalid for another class, however small the amount, or a bad lot."""
    own = context.case.facts.lubricant
    if source.lubricant != own:
        sentence = _("The circuit needs %(own)s oil, this is %(used)s. No amount of it is acceptable.")
        words = {"own": own.label, "used": Lubricant(source.lubricant).label}
        raise ValuesInvalid({source.field: [sentence % words]})
    if source.held is not None and source.held.bad_lot:
        sentence = _("%(piece)s has held oil of lot %(lot)s, which was found bad. Take another injector.")
        words = {"piece": source.name, "lot": source.held.bad_lot}
        raise ValuesInvalid({source.field: [sentence % words]})
    found = [
        good("oil_agrees", _("%(oil)s, as the circuit needs.") % {"oil": own.label}, source=COMMON_PRACTICE)
    ]
    grade = context.lubricant_grade
    if grade and not same_grade(source.grade, grade):
        sentence = _("The label asks for the grade %(grade)s. Grades of one class are not interchangeable.")
        found.append(warning("other_grade", sentence % {"grade": grade}, source=COMMON_PRACTICE))
    if source.held is None:
        sentence = _("No lot is named: if this oil is found bad one day, nobody will find this vehicle.")
        found.append(warning("lot_not_named", sentence))
    return found


def refuse_more_than_held(source: OilSource, amount_m3: float, context: StepContext) -> None:
    """Raise ValuesInvalid beside the amount when the books say that less is there."""
    held = source.held
    if held is None or amount_m3 <= held.volume_m3 + 1e-9:
        return
    if held.volume_m3 <= 0:
        sentence = _("%(name)s holds nothing by the books: fill it from a lot, or measure what is inside.")
        raise ValuesInvalid({"amount": [sentence % {"name": source.name}]})
    sentence = _("%(name)s holds %(held)s by the books, less than this. Fill it, or measure what is inside.")
    words = {"name": source.name, "held": context.shown(held.volume_m3, Kind.VOLUME)}
    raise ValuesInvalid({"amount": [sentence % words]})
