"""Plans to begin with for each kind of piece: offered when a piece is registered, never imposed.

Intervals are common practice unless a standard is named; the maker's manual comes first.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from equipment.choices import PieceKind
from equipment.maintenance.choices import IntervalSource, WhenOverdue, Work
from equipment.maintenance.plans import PlanDescription
from equipment.maintenance.rules import GLOVE_SOURCE, Interval

PRACTICE, STANDARD = IntervalSource.COMMON_PRACTICE, IntervalSource.STANDARD
YEARLY = Interval(months=12)


@dataclass(frozen=True)
class Suggestion:
    """A plan that pieces of a kind usually have."""

    work: Work
    interval: Interval
    words: str | Promise
    source: IntervalSource = PRACTICE
    source_note: str = ""
    when_overdue: WhenOverdue = WhenOverdue.NOT_READY

    @property
    def source_words(self) -> str:
        """Who says so."""
        return self.source_note or str(self.source.label).lower()

    def description(self) -> PlanDescription:
        """Return the plan as an owner would enter it."""
        return PlanDescription(
            work=self.work,
            interval=self.interval,
            source=self.source,
            source_note=self.source_note,
            when_overdue=self.when_overdue,
        )


_LEAKS = Suggestion(Work.LEAK_CHECK, Interval(months=6), _("every 6 months"))
_GAUGES = Suggestion(Work.GAUGE_CALIBRATION, YEARLY, _("every 12 months"))
_TESTER = Suggestion(Work.TESTER_CALIBRATION, YEARLY, _("every 12 months"))
_SCALE = Suggestion(Work.SCALE_CHECK, Interval(months=1), _("every month, with a reference mass"))
_AIR = Suggestion(Work.TANK_CHECK, Interval(months=1), _("every month, after a night of rest"))

#: The filter mass is the usual 68 kg (150 lb), from memory: SAE J2788 leaves it to the maker.
SUGGESTIONS: dict[PieceKind, tuple[Suggestion, ...]] = {
    PieceKind.MACHINE: (
        Suggestion(
            Work.FILTER_DRIER, Interval(months=24, kg=68.0), _("after 68 kg or 24 months, whichever is first")
        ),
        Suggestion(
            Work.PUMP_OIL,
            Interval(months=12, hours=50.0),
            _("after 50 h or 12 months, whichever is first"),
            when_overdue=WhenOverdue.WARN,
        ),
        _SCALE,
        _AIR,
        _LEAKS,
    ),
    PieceKind.HOSE_SET: (_LEAKS,),
    PieceKind.MANIFOLD: (_GAUGES, _LEAKS),
    PieceKind.SIGHT_GLASS: (
        Suggestion(
            Work.SIGHT_GLASS_FILTER,
            Interval(months=6, jobs=50),
            _("after 50 jobs or 6 months, whichever is first"),
        ),
    ),
    PieceKind.RECOVERY_CYLINDER: (
        Suggestion(
            Work.REQUALIFICATION,
            Interval(months=60),
            _("every 5 years"),
            STANDARD,
            "49 CFR 180.209 table 1; SAE J2788 section 7.3.3",
        ),
        _AIR,
    ),
    PieceKind.IDENTIFIER: (Suggestion(Work.IDENTIFIER_FILTER, Interval(months=6), _("every 6 months")),),
    PieceKind.LEAK_DETECTOR: (Suggestion(Work.DETECTOR_CHECK, Interval(months=1), _("every month")),),
    PieceKind.INSULATION_TESTER: (_TESTER,),
    PieceKind.VOLTAGE_TESTER: (_TESTER,),
    PieceKind.VACUUM_GAUGE: (_GAUGES,),
    PieceKind.SCALE: (_SCALE,),
    PieceKind.REFERENCE_MASS: (Suggestion(Work.MASS_CALIBRATION, Interval(months=24), _("every 24 months")),),
    PieceKind.GLOVES: (
        Suggestion(
            Work.GLOVE_TEST,
            Interval(months=6),
            _("6 months after issue, 12 months in store"),
            STANDARD,
            GLOVE_SOURCE,
        ),
    ),
}


def suggestions_for(kind: PieceKind, *, holds_foul_gas: bool = False) -> tuple[Suggestion, ...]:
    """Return the plans that pieces of a kind usually have; some kinds need none.

    What is marked for foul gas is not looked into for air: nobody knows which pressure its content has.
    """
    usual = SUGGESTIONS.get(kind, ())
    return tuple(one for one in usual if not (holds_foul_gas and one.work is Work.TANK_CHECK))
