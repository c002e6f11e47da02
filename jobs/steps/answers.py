"""What a step's rules say about its values: findings, derived outputs, and whether it counts as done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from jobs.procedure import Outcome
from shopcool.core.figures import Figure
from shopcool.core.plots import Plot
from shopcool.engineering.quantities import Kind, format_quantity

COMMON_PRACTICE = "common practice"
SHOP_POLICY = "shop policy"


class Tone(StrEnum):
    """How a finding is meant."""

    GOOD = "GOOD"
    NOTE = "NOTE"
    WARNING = "WARNING"
    REFUSAL = "REFUSAL"


@dataclass(frozen=True)
class Finding:
    """One remark on the values: stable code, sentence, the limit it compares with, and its source."""

    code: str
    tone: Tone
    sentence: str
    limit: str = ""
    source: str = ""

    def as_record(self) -> dict[str, str]:
        """Return the finding as JSON carries it."""
        return {
            "code": self.code,
            "tone": self.tone.value,
            "sentence": self.sentence,
            "limit": self.limit,
            "source": self.source,
        }


@dataclass(frozen=True)
class Output:
    """A derived value: SI number where there is one (None: not known, which is never 0), and its text.

    ``kind`` and ``basis`` let it be told in other units later; without a kind the text says all there is.
    """

    name: str
    label: str
    si: float | None
    text: str
    kind: Kind | None = None
    basis: str = ""

    def as_record(self) -> dict[str, object]:
        """Return the output as JSON carries it."""
        plain = {"name": self.name, "label": self.label, "si": self.si, "text": self.text}
        return {**plain, "kind": self.kind.value if self.kind else "", "basis": self.basis}


@dataclass(frozen=True)
class Answer:
    """How the step ended. ``satisfied`` means that it counts as done; a measured refusal does not."""

    outcome: Outcome
    satisfied: bool = True
    findings: tuple[Finding, ...] = ()
    outputs: tuple[Output, ...] = ()
    plots: tuple[Plot, ...] = ()
    #: What the numbers in the findings mean; empty in the oldest records, which stay as they were written.
    figures: tuple[Figure, ...] = ()

    @property
    def codes(self) -> frozenset[str]:
        """The codes of all findings."""
        return frozenset(finding.code for finding in self.findings)

    def of_tone(self, tone: Tone) -> tuple[Finding, ...]:
        """Return the findings that are meant in one way."""
        return tuple(finding for finding in self.findings if finding.tone is tone)

    def output(self, name: str) -> Output | None:
        """Return a derived value by its name."""
        return next((output for output in self.outputs if output.name == name), None)

    def as_record(self) -> dict[str, object]:
        """Return the answer as JSON carries it."""
        return {
            "outcome": self.outcome.value,
            "satisfied": self.satisfied,
            "findings": [finding.as_record() for finding in self.findings],
            "outputs": [output.as_record() for output in self.outputs],
            "plots": [plot.as_record() for plot in self.plots],
            "figures": [figure.as_record() for figure in self.figures],
        }

    @classmethod
    def from_record(cls, record: Mapping[str, Any]) -> Answer:
        """Return a stored answer."""
        return cls(
            outcome=Outcome(record["outcome"]),
            satisfied=record["satisfied"],
            findings=tuple(
                Finding(item["code"], Tone(item["tone"]), item["sentence"], item["limit"], item["source"])
                for item in record["findings"]
            ),
            outputs=tuple(_output(item) for item in record["outputs"]),
            plots=tuple(Plot.from_record(item) for item in record.get("plots", ())),
            figures=tuple(Figure.from_record(item) for item in record.get("figures", ())),
        )


def _output(item: Mapping[str, Any]) -> Output:
    """Return a stored output; the oldest ones name no kind."""
    kind = item.get("kind")
    return Output(
        item["name"],
        item["label"],
        _number(item["si"]),
        item["text"],
        Kind(kind) if kind else None,
        item.get("basis", ""),
    )


def percent(share: float, digits: int = 0) -> str:
    """Return a share [-] as people read it."""
    return format_quantity(share, Kind.FRACTION, "%", digits=digits)


def good(code: str, sentence: str, limit: str = "", source: str = "") -> Finding:
    """Return a finding that something is as it should be."""
    return Finding(code, Tone.GOOD, sentence, limit, source)


def note(code: str, sentence: str, limit: str = "", source: str = "") -> Finding:
    """Return a finding that only informs."""
    return Finding(code, Tone.NOTE, sentence, limit, source)


def warning(code: str, sentence: str, limit: str = "", source: str = "") -> Finding:
    """Return a finding that a person must weigh."""
    return Finding(code, Tone.WARNING, sentence, limit, source)


def refusal(code: str, sentence: str, limit: str = "", source: str = "") -> Finding:
    """Return a finding that stops the work."""
    return Finding(code, Tone.REFUSAL, sentence, limit, source)


def _number(value: object) -> float | None:
    return None if value is None else float(str(value))
