"""What the oil step says about the injectors: which one to take, and of each other why not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from equipment.policies import may_connect
from jobs.choices import StepKind
from jobs.injectors import InjectorOffer, Standing, injectors_for, proposed
from jobs.models import Job
from jobs.pages.clearance import ReasonShown, Row
from jobs.pages.pieces import name_of, piece_mark, piece_url
from jobs.pages.steps import StepShown
from jobs.pages.ways import Way, step_url
from jobs.situation import Situation
from shopcool.core.actors import Actor
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units


@dataclass(frozen=True)
class InjectorPanel:
    """The injector to take with the way to it, and a row for each of the others."""

    tone: str
    word: str
    sentence: str
    way: Way | None
    others: tuple[Row, ...]


def injector_panel(step: StepShown | None, actor: Actor, situation: Situation) -> InjectorPanel | None:
    """Return the panel where oil is about to be added, None elsewhere and in a workshop without injectors."""
    if step is None or step.kind is not StepKind.OIL or step.form is None or not step.may_record:
        return None
    offers = injectors_for(actor=actor, situation=situation)
    if not offers:
        return None
    first, units = proposed(offers), situation.context.units
    others = tuple(_row(one, units) for one in offers if one is not first)
    if first is None:
        sentence = _("No injector of this workshop fits this circuit.")
        return InjectorPanel("refusal", _("None fits"), sentence, None, others)
    tone = "good" if first.standing is Standing.ON_CAR else "warning"
    way = _way(first, situation.job) if may_connect(actor) else None
    return InjectorPanel(tone, _word(first), _sentence(first, units), way, others)


def _word(offer: InjectorOffer) -> str:
    return {
        Standing.ON_CAR: _("Take this one"),
        Standing.CONNECT_FIRST: _("Connect it first"),
        Standing.FILL_FIRST: _("Fill it first"),
        Standing.NOT: _("Not for this car"),
    }[offer.standing]


def _sentence(offer: InjectorOffer, units: Units) -> str:
    words = {"injector": _label(offer), "held": units.shown(offer.holds_m3, Kind.VOLUME)}
    if offer.standing is Standing.ON_CAR:
        return _("%(injector)s is on the car and holds %(held)s.") % words
    if offer.standing is Standing.CONNECT_FIRST:
        return _("%(injector)s fits and holds %(held)s; it is not on the car yet.") % words
    return _("%(injector)s fits, but holds nothing by the books.") % words


def _label(offer: InjectorOffer) -> str:
    facts = offer.facts
    return f"{facts.code} {facts.lubricant_grade or facts.lubricant}"


def _way(offer: InjectorOffer, job: Job) -> Way | None:
    if offer.standing is Standing.CONNECT_FIRST:
        query = urlencode({"pieces": offer.facts.id})
        label = _("Connect %(piece)s") % {"piece": offer.facts.code}
        return Way(label, f"{step_url(job.number, StepKind.CONNECTION)}?{query}")
    if offer.standing is Standing.FILL_FIRST:
        label = _("Fill %(piece)s") % {"piece": offer.facts.code}
        return Way(label, reverse("equipment:fill", args=[offer.facts.code]))
    return None


def _row(offer: InjectorOffer, units: Units) -> Row:
    mark = piece_mark(offer.facts)
    is_refused = offer.standing is Standing.NOT
    sentences: Sequence[str] = offer.why_not or (_sentence(offer, units),)
    return Row(
        name=name_of(offer.facts),
        tone="refusal" if is_refused else "good",
        reasons=tuple(ReasonShown("refusal" if is_refused else "good", one, "", "") for one in sentences),
        url=piece_url(offer.facts.code),
        mark=mark.kind,
        oil=mark.oil,
        mark_word=mark.word,
        word=_("Not for this car") if is_refused else _("Fits, too"),
    )
