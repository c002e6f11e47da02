"""The injectors of the workshop beside one job: which may put oil into its circuit, and why not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.oil.grades import same_grade
from equipment.oil.selectors import bad_lots_in, held_by
from equipment.readiness import PieceFacts, piece_decision
from equipment.selectors import circuit_facts, piece_facts, wetted_visible_to
from jobs.situation import Situation
from shopcool.core.actors import Actor
from shopcool.vehicles.models import Circuit


class Standing(IntEnum):
    """How an injector stands to the oil step of a job, the best first."""

    ON_CAR = 1
    CONNECT_FIRST = 2
    FILL_FIRST = 3
    NOT = 4


@dataclass(frozen=True)
class InjectorOffer:
    """An injector with what it holds by the books [m³] and every reason against it.

    ``why_not`` is empty unless it stands against its use; an injector that is only empty can be filled.
    """

    facts: PieceFacts
    standing: Standing
    holds_m3: float
    why_not: tuple[str, ...] = ()
    is_on_car: bool = False


def injectors_for(*, actor: Actor, situation: Situation) -> tuple[InjectorOffer, ...]:
    """Return every injector that is in use, the one to take first, with a constant number of queries."""
    job = situation.job
    pieces = list(wetted_visible_to(actor).filter(kind=PieceKind.INJECTOR).select_related(None))
    ids = [piece.pk for piece in pieces]
    held, bad = held_by(ids), bad_lots_in(ids)
    live = {row.piece_id for row in situation.connections if row.disconnected_at is None}
    found = [
        _offer(
            facts,
            holds_m3=held.get(facts.id, 0.0),
            is_on_car=facts.id in live,
            why_not=tuple(_reasons(facts, bad.get(facts.id, ""), job.circuit, situation)),
        )
        for facts in piece_facts(pieces, job_number=job.number)
    ]
    return tuple(sorted(found, key=lambda one: (one.standing, -one.holds_m3, one.facts.code)))


def proposed(offers: Sequence[InjectorOffer]) -> InjectorOffer | None:
    """Return the injector to take, None when none fits."""
    return next((one for one in offers if one.standing is not Standing.NOT), None)


def _offer(facts: PieceFacts, *, holds_m3: float, is_on_car: bool, why_not: tuple[str, ...]) -> InjectorOffer:
    if why_not:
        standing = Standing.NOT
    elif holds_m3 <= 0.0:
        standing = Standing.FILL_FIRST
    else:
        standing = Standing.ON_CAR if is_on_car else Standing.CONNECT_FIRST
    return InjectorOffer(facts, standing, holds_m3, why_not, is_on_car)


def _reasons(facts: PieceFacts, bad_lot: str, circuit: Circuit, situation: Situation) -> Iterator[str]:
    """Yield what stands against an injector: what the clearance would refuse, a bad lot, another grade."""
    decision = piece_decision(circuit_facts(circuit), facts, situation.context.today)
    yield from (reason.sentence for reason in decision.refusals)
    if bad_lot:
        yield _("It has held oil of lot %(lot)s, which was found bad.") % {"lot": bad_lot}
    grade = circuit.lubricant_grade
    if facts.lubricant == circuit.lubricant and grade and not same_grade(facts.lubricant_grade, grade):
        words = {"label": facts.lubricant_grade or _("no grade"), "grade": grade}
        yield _("It is labelled %(label)s, the circuit asks for %(grade)s: grades don't mix.") % words
