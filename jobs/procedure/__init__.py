"""The procedure of a job: which steps it needs, where each stands, and why one has to wait.

Pure functions of facts: no clock, no database, no settings.
"""

from __future__ import annotations

from jobs.procedure.blockers import Blocker
from jobs.procedure.case import Case
from jobs.procedure.facts import Outcome, ProcedureFacts, Progress, StepDone
from jobs.procedure.plan import Need, PlannedStep, build_procedure
from jobs.procedure.states import DERIVED, StepState, StepStatus, next_step, state_of, step_states

RULES_VERSION = "procedure-2"

__all__ = [
    "DERIVED",
    "RULES_VERSION",
    "Blocker",
    "Case",
    "Need",
    "Outcome",
    "PlannedStep",
    "ProcedureFacts",
    "Progress",
    "StepDone",
    "StepState",
    "StepStatus",
    "build_procedure",
    "case_of",
    "next_step",
    "state_of",
    "step_states",
]


def case_of(facts: ProcedureFacts, progress: Progress) -> Case:
    """Return a job at one moment, ready for questions."""
    return Case(facts, {step.kind: step for step in build_procedure(facts)}, progress)
