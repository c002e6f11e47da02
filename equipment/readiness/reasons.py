"""Why a clearance refuses or warns: stable code, sentence, fix and source."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from equipment.readiness.facts import PieceFacts
from shopcool.vehicles.choices import Lubricant

RULES_VERSION = "clearance-3"

# Where a rule comes from, as shown beside each reason.
COMMON_PRACTICE = "common practice"
SHOP_POLICY = "shop policy"
RECYCLING_STANDARD = "SAE J2788 and J2843: certified equipment for the refrigerant (40 CFR 82.36)"
RESIDUAL_OIL = "SAE J2788 section 8.9.5 (2007 text): residual oil in the charge is limited"
HIGH_VOLTAGE_EQUIPMENT = "SAE J2788 and J2843, later editions: no oil or dye injection (from memory)"
TECHNICIAN_RULE = "40 CFR 82.34(a) in the US; Regulation (EU) 2024/573, articles 4 and 10, in the EU"
BEFORE_RECOVERY = "SAE J2099: recycled gas is identified before it is taken (secondary source)"


class Severity(StrEnum):
    """Whether a reason refuses or warns."""

    REFUSAL = "REFUSAL"
    WARNING = "WARNING"


@dataclass(frozen=True)
class Reason:
    """Why a clearance refuses or warns. ``piece_id`` is None when the reason concerns the whole job."""

    code: str
    severity: Severity
    sentence: str
    fix: str
    source: str
    piece_id: int | None = None
    piece_code: str = ""

    def as_record(self) -> dict[str, object]:
        """Return the reason as JSON carries it."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "sentence": self.sentence,
            "fix": self.fix,
            "source": self.source,
            "piece_id": self.piece_id,
            "piece_code": self.piece_code,
        }


@dataclass(frozen=True)
class Decision:
    """The verdict with all its reasons."""

    reasons: tuple[Reason, ...] = field(default_factory=tuple)
    rules_version: str = RULES_VERSION

    @property
    def permitted(self) -> bool:
        """Whether nothing refuses."""
        return not self.refusals

    @property
    def refusals(self) -> tuple[Reason, ...]:
        """The reasons that refuse."""
        return tuple(reason for reason in self.reasons if reason.severity is Severity.REFUSAL)

    @property
    def warnings(self) -> tuple[Reason, ...]:
        """The reasons that only warn."""
        return tuple(reason for reason in self.reasons if reason.severity is Severity.WARNING)

    def of_piece(self, piece_id: int) -> tuple[Reason, ...]:
        """Return the reasons that concern one piece."""
        return tuple(reason for reason in self.reasons if reason.piece_id == piece_id)

    @property
    def codes(self) -> frozenset[str]:
        """The codes of all reasons."""
        return frozenset(reason.code for reason in self.reasons)


def refuse(code: str, sentence: str, fix: str, source: str, piece: PieceFacts | None = None) -> Reason:
    return _reason(Severity.REFUSAL, code, sentence, fix, source, piece)


def warn(code: str, sentence: str, fix: str, source: str, piece: PieceFacts | None = None) -> Reason:
    return _reason(Severity.WARNING, code, sentence, fix, source, piece)


def _reason(
    severity: Severity, code: str, sentence: str, fix: str, source: str, piece: PieceFacts | None
) -> Reason:
    return Reason(
        code=code,
        severity=severity,
        sentence=sentence,
        fix=fix,
        source=source,
        piece_id=piece.id if piece else None,
        piece_code=piece.code if piece else "",
    )


def words(lubricants: Iterable[str]) -> str:
    """Return lubricant classes as a list of words."""
    return ", ".join(str(Lubricant(lubricant).label) for lubricant in sorted(lubricants))
