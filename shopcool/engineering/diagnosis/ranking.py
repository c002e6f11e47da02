"""Diagnosis: ranked causes with the evidence for and against each, and what to measure next.

A judgement by rules over temperature differences, not a validated classifier: no single number decides, and
pressures alone never lead to the advice to add or take refrigerant.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shopcool.engineering.diagnosis.causes import (
    HIGH,
    LOW,
    NAMES,
    NORMAL,
    PATTERNS,
    Cause,
    Expectation,
    Fact,
    Sign,
    sign_weight,
)
from shopcool.engineering.diagnosis.guards import check_conditions, condition_notices
from shopcool.engineering.diagnosis.observations import (
    Conditions,
    Measured,
    Mode,
    Observations,
    Port,
    check_observations,
    facts_of,
    levels_of,
    limits_of,
)
from shopcool.engineering.diagnosis.separators import NextMeasurement, next_measurement
from shopcool.engineering.errors import Refusal
from shopcool.engineering.results import Notice

METHOD_VERSION = "diagnosis 1"
SOURCE = (
    "Sign patterns agreeing with a technicians' scenario list for charge, airflow, restriction and valve "
    "faults; other rows and most limits are textbook judgement"
)
FEWEST_FACTS = 2
#: Facts that say something about a circuit at rest too.
AT_REST = frozenset({Fact.STATIC_EXCESS, Fact.CHARGE_SHARE})
#: A port at the accumulator sits upstream of a restriction in the suction path and misses the low side of it.
LOW_SIDE = frozenset({Fact.EVAPORATING, Fact.SUPERHEAT})
RESTRICTIONS = frozenset({Cause.METERING_STARVED, Cause.ICE_AT_METERING, Cause.RESTRICTION})


@dataclass(frozen=True)
class Evidence:
    """One piece of evidence: what it rests on, a sentence, and its weight (positive speaks for).

    ``limit`` is the bound that a fact broke, in the unit of the fact [K, Pa, -], with where it comes from.
    """

    about: Fact | Sign
    sentence: str
    weight: float
    limit: float | None = None
    source: str = ""


@dataclass(frozen=True)
class RankedCause:
    """A cause with its score from -1 to 1 and the evidence; ``withheld`` until a condition is met."""

    cause: Cause
    name: str
    score: float
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]
    withheld: str = ""


@dataclass(frozen=True)
class Diagnosis:
    """All causes, the likeliest first, with the measurement that separates the leaders."""

    observations: Observations
    conditions: Conditions
    causes: tuple[RankedCause, ...]
    next_measurement: NextMeasurement
    warnings: tuple[Notice, ...]
    source: str = SOURCE
    method_version: str = METHOD_VERSION


def diagnose(seen: Observations, conditions: Conditions) -> Diagnosis:
    """Return the causes of poor cooling in order of how well they explain the readings.

    Parameters:
        seen: readings and signs; absent ones are not used.
        conditions: mode, drive, metering, port, ambient and switches of the test.

    Returns: every cause with its evidence, and the next measurement.

    Raises ``mode``, ``cold``, ``not_steady``, ``conditions``, ``no_facts``, ``not_a_number``, ``reading``,
    ``uncertainty``, ``temperature``.

    Source: technicians' scenario list and textbook judgement; limits carry their own source.
    """
    check_observations(seen)
    check_conditions(conditions)
    facts = _usable(facts_of(seen, conditions), seen, conditions)
    if len(facts) < FEWEST_FACTS and not seen.signs:
        raise Refusal("no_facts", "Too little was measured: take both pressures and line temperatures.")
    ranked = [_rank(cause, facts, seen.signs, conditions) for cause in Cause]
    ranked.sort(key=lambda entry: (bool(entry.withheld), -entry.score))
    return Diagnosis(
        observations=seen,
        conditions=conditions,
        causes=tuple(ranked),
        next_measurement=next_measurement([entry.cause for entry in ranked], facts, seen.signs),
        warnings=tuple(condition_notices(seen, conditions)),
    )


def _usable(
    facts: Mapping[Fact, Measured], seen: Observations, conditions: Conditions
) -> dict[Fact, Measured]:
    """Return the facts that mean something in these conditions."""
    if seen.signs.get(Sign.PRESSURES_EQUAL):
        return {fact: measured for fact, measured in facts.items() if fact in AT_REST}
    skipped = {Fact.VENT} if conditions.mode is Mode.BATTERY_COOLING else set()
    return {fact: measured for fact, measured in facts.items() if fact not in skipped}


def _rank(
    cause: Cause, facts: Mapping[Fact, Measured], signs: Mapping[Sign, bool], conditions: Conditions
) -> RankedCause:
    evidence = [_fact_evidence(cause, fact, measured, conditions) for fact, measured in facts.items()]
    evidence += [_sign_evidence(cause, sign, present) for sign, present in signs.items()]
    told = [piece for piece in evidence if piece.weight]
    total = math.fsum(piece.weight for piece in told)
    return RankedCause(
        cause=cause,
        name=NAMES[cause],
        score=math.tanh(total / 4.0),
        evidence_for=tuple(piece for piece in told if piece.weight > 0),
        evidence_against=tuple(piece for piece in told if piece.weight < 0),
        withheld=_withheld(cause, conditions),
    )


def _fact_evidence(cause: Cause, fact: Fact, measured: Measured, conditions: Conditions) -> Evidence:
    limits = limits_of(fact, conditions.metering)
    levels = levels_of(measured, limits)
    expected = _expected(cause, fact, conditions.port)
    share = math.fsum(levels[level] for level in expected.levels)
    seen_level = max(levels, key=lambda level: levels[level])
    bound = {LOW: limits.low, NORMAL: None, HIGH: limits.high}[seen_level]
    return Evidence(
        about=fact,
        sentence=f"{WORDS[fact]} {seen_level}",
        weight=expected.weight * (2.0 * share - 1.0),
        limit=bound,
        source="" if bound is None else limits.source,
    )


def _expected(cause: Cause, fact: Fact, port: Port) -> Expectation:
    expected = PATTERNS[cause][fact]
    if port is Port.AT_ACCUMULATOR and fact in LOW_SIDE and cause in RESTRICTIONS:
        return Expectation((LOW, NORMAL, HIGH), 0.0)
    return expected


def _sign_evidence(cause: Cause, sign: Sign, present: bool) -> Evidence:
    seen, not_seen = SIGN_WORDS[sign]
    return Evidence(sign, seen if present else not_seen, sign_weight(sign, present, cause))


def _withheld(cause: Cause, conditions: Conditions) -> str:
    if cause is not Cause.WEAK_COMPRESSOR or not conditions.drive.is_controlled:
        return ""
    if conditions.reduced_load_repeat:
        return ""
    return (
        "Not judged yet: a controlled compressor may miss its target at high load. Note its control "
        "signal and "
        "repeat with the blower at about 40 %."
    )


WORDS: Mapping[Fact, str] = {
    Fact.APPROACH: "condensing above ambient temperature:",
    Fact.SUPERHEAT: "superheat:",
    Fact.SUBCOOLING: "subcooling:",
    Fact.EVAPORATING: "evaporating temperature:",
    Fact.VENT: "vent air above evaporating temperature:",
    Fact.RATIO: "pressure ratio:",
    Fact.STATIC_EXCESS: "static pressure against saturation:",
    Fact.CHARGE_SHARE: "weighed charge against label:",
}
#: How a sign is told when it is there, and when it was looked for in vain.
SIGN_WORDS: Mapping[Sign, tuple[str, str]] = {
    Sign.PRESSURES_EQUAL: ("both pressures equal while commanded to run", "pressures differ while running"),
    Sign.LOW_SIDE_IN_VACUUM: ("low side steadily in vacuum", "low side not in vacuum"),
    Sign.LOW_SIDE_SWINGS: ("low side swings between vacuum and ordinary", "low side does not swing"),
    Sign.WETTING_HELPS: (
        "pressures become ordinary when the condenser is wetted",
        "wetting the condenser changes little",
    ),
    Sign.LIQUID_LINE_STEP: (
        "temperature step or frost along the liquid line",
        "no temperature step along the liquid line",
    ),
    Sign.CONDENSER_FAN_PROVEN: (
        "condenser fan proved by speed or current",
        "condenser fan too slow or standing",
    ),
    Sign.HEATER_PIPES_HOT: ("heater pipes hot on full cold", "heater pipes not hot on full cold"),
    Sign.OTHER_GAS_IDENTIFIED: (
        "identifier found air, another or a mixed refrigerant",
        "identifier found neither air nor another refrigerant",
    ),
    Sign.RATIO_RISES_WITH_SPEED: (
        "pressure ratio rises with speed",
        "pressure ratio does not rise with speed",
    ),
}
