"""Why a step may not be done yet, and what clears it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.utils.functional import Promise, lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from jobs.choices import StepKind
from jobs.procedure.case import Case
from jobs.procedure.facts import Outcome
from shopcool.vehicles.choices import Lubricant, Refrigerant


@dataclass(frozen=True)
class Blocker:
    """One reason why a step has to wait. ``step`` names the step that clears it, where one does.

    Its words are put together for whoever reads them: of most blockers only the number matters.
    """

    code: str
    said: Promise | str
    cure: Promise | str
    step: StepKind | None = None

    @property
    def sentence(self) -> str:
        """What stands in the way."""
        return str(self.said)

    @property
    def fix(self) -> str:
        """What clears it."""
        return str(self.cure)


Rule = Callable[[Case], Iterator[Blocker]]

#: A label that turns out wrong must not keep pieces on the vehicle.
_WITHOUT_LABEL = frozenset(
    {StepKind.LABEL, StepKind.DISCONNECTION, StepKind.CLOSING_PURGE, StepKind.CLOSE_OUT}
)


def blockers(kind: StepKind, case: Case) -> tuple[Blocker, ...]:
    """Return every reason why the step may not be done now."""
    if not case.is_in_the_workshop:
        return tuple(_check_in(case))
    found = [] if kind in _WITHOUT_LABEL else list(_label(case))
    for rule in _RULES[kind]:
        found.extend(rule(case))
    return tuple(found)


def _check_in(case: Case) -> Iterator[Blocker]:
    yield Blocker(
        "not_checked_in",
        _("The vehicle is not in the workshop, or the job is closed."),
        _("Check the vehicle in first."),
    )


def _label(case: Case) -> Iterator[Blocker]:
    if case.outcome(StepKind.LABEL) is Outcome.MISMATCH:
        yield Blocker(
            "label_mismatch",
            _("The label does not agree with the data of this vehicle."),
            _("Correct the data on the vehicle's page, then record the label again."),
            StepKind.LABEL,
        )
    elif not case.has(StepKind.LABEL):
        yield _first(StepKind.LABEL, "label_missing", _("Label and complaint have not been recorded."))


def _first(step: StepKind, code: str, sentence: Promise) -> Blocker:
    return Blocker(code, sentence, _do_first(step), step)


def _do_first_now(step: StepKind) -> str:
    return gettext("Do this step first: %(step)s.") % {"step": step.label}


_do_first = lazy(_do_first_now, str)


def _de_energised(case: Case) -> Iterator[Blocker]:
    if not case.facts.is_high_voltage or case.is_de_energised:
        return
    if case.has(StepKind.HIGH_VOLTAGE):
        sentence = _("The vehicle was switched on for readings after the absence of voltage was proved.")
    else:
        sentence = _("The absence of high voltage has not been proved.")
    yield _first(StepKind.HIGH_VOLTAGE, "not_de_energised", sentence)


def _identified(case: Case) -> Iterator[Blocker]:
    if case.has(StepKind.IDENTIFICATION):
        return
    if case.last(StepKind.IDENTIFICATION) is None:
        sentence = _("The refrigerant in the vehicle has not been identified on this job.")
    else:
        sentence = _("The gas was not identified as the refrigerant that the vehicle's data names now.")
    yield _first(StepKind.IDENTIFICATION, "not_identified", sentence)


def _bottle_read(case: Case) -> Iterator[Blocker]:
    if not case.is_foul and not case.has(StepKind.OIL_BOTTLE):
        sentence = _("The recovered-oil bottle has not been read: this oil could be the last vehicle's.")
        yield _first(StepKind.OIL_BOTTLE, "bottle_not_read", sentence)


def _circuit_known(case: Case) -> Iterator[Blocker]:
    if case.is_foul:
        return
    fix = _("Read the label or the vehicle maker's data and enter it on the vehicle's page.")
    if case.facts.refrigerant is Refrigerant.UNKNOWN:
        yield Blocker("refrigerant_unknown", _("The refrigerant of this circuit is not known."), fix)
    if case.facts.lubricant is Lubricant.UNKNOWN:
        yield Blocker("lubricant_unknown", _("The oil class of this circuit is not known."), fix)


def _charge_known(case: Case) -> Iterator[Blocker]:
    if case.facts.charge_kg is None:
        yield Blocker(
            "label_charge_unknown",
            _("The label charge of this circuit is not known, so nothing says how much belongs in."),
            _("Enter the charge from the label or the vehicle maker's data on the vehicle's page."),
        )


def _gauges_on(case: Case) -> Iterator[Blocker]:
    if not case.gauges_are_on:
        sentence = _("Nothing with gauges is on the vehicle.")
        yield _first(StepKind.CONNECTION, "no_gauges", sentence)


def _machine_on(case: Case) -> Iterator[Blocker]:
    if not case.machine_is_on:
        sentence = _("No service machine is on the vehicle.")
        yield _first(StepKind.CONNECTION, "no_machine", sentence)


def _clean_pieces(case: Case) -> Iterator[Blocker]:
    if case.progress.tainted:
        yield Blocker(
            "piece_tainted",
            _("Something unsafe for high voltage may have entered: %(pieces)s.")
            % {"pieces": ", ".join(case.progress.tainted)},
            _("Disconnect, run a line purge, and connect again with a new clearance."),
            StepKind.DISCONNECTION,
        )


def _clean_gas(case: Case) -> Iterator[Blocker]:
    if case.is_foul:
        yield Blocker(
            "gas_is_foul",
            _("The refrigerant is contaminated or could not be analysed."),
            _("Recover it into a cylinder marked for it. When the circuit is empty, identify again."),
            StepKind.IDENTIFICATION if case.is_empty else StepKind.RECOVERY,
        )


def _recovery_path(case: Case) -> Iterator[Blocker]:
    yield from _identified(case)
    if case.is_foul:
        yield from _foul_path(case)
        return
    yield from _machine_on(case)
    if not case.has(StepKind.READINGS_BEFORE):
        sentence = _("The pressure before recovery has not been read: an open circuit would feed only air.")
        yield _first(StepKind.READINGS_BEFORE, "no_readings", sentence)


def _foul_path(case: Case) -> Iterator[Blocker]:
    if case.machine_is_on:
        yield Blocker(
            "machine_on_foul_gas",
            _("A service machine is on a vehicle with contaminated or unknown gas."),
            _("Disconnect it: this gas must not enter a machine."),
            StepKind.DISCONNECTION,
        )
    elif not case.progress.contaminated_cylinder_on:
        yield Blocker(
            "no_marked_cylinder",
            _("No cylinder marked for contaminated refrigerant is connected."),
            _("Connect a marked recovery cylinder; it is the only way for this gas."),
            StepKind.CONNECTION,
        )


def _holds_gas(case: Case) -> Iterator[Blocker]:
    if case.is_empty and case.last(StepKind.RECOVERY) is None:
        yield Blocker(
            "nothing_to_recover",
            _("The circuit has no pressure: recovery would pull air into the machine's tank."),
            _("Search the leak with nitrogen or trace gas first, then evacuate."),
            StepKind.EVACUATION,
        )


def _not_recovered_yet(case: Case) -> Iterator[Blocker]:
    if case.is_empty and case.last(StepKind.READINGS_BEFORE) is None:
        yield Blocker(
            "already_empty",
            _("The circuit holds no refrigerant any more."),
            _("Go on with the evacuation."),
            StepKind.EVACUATION,
        )


def _emptied(case: Case) -> Iterator[Blocker]:
    if case.is_empty:
        return
    if case.is_charged or case.last(StepKind.CHARGE) is not None:
        sentence = _("The circuit has been charged since the last recovery.")
    else:
        sentence = _("The refrigerant has not been recovered.")
    yield _first(StepKind.RECOVERY, "not_recovered", sentence)


def _vacuum_held(case: Case) -> Iterator[Blocker]:
    if case.vacuum_holds:
        return
    outcome = case.outcome(StepKind.EVACUATION)
    if outcome is None:
        sentence = _("The circuit has not been evacuated.")
    elif outcome is Outcome.NOT_DONE:
        sentence = _("The last evacuation does not count: pump oil may have entered.")
    elif outcome is not Outcome.HELD:
        sentence = _("The last vacuum did not hold.")
    else:
        sentence = _("The circuit was recovered or opened after the last evacuation.")
    yield _first(StepKind.EVACUATION, "vacuum_not_held", sentence)


def _oil_settled(case: Case) -> Iterator[Blocker]:
    if case.plan[StepKind.OIL].required and not case.has(StepKind.OIL):
        sentence = _("Nobody has said which oil went in, or that none did.")
        yield _first(StepKind.OIL, "oil_not_settled", sentence)


def _charged(case: Case) -> Iterator[Blocker]:
    if not case.is_charged:
        sentence = _("The circuit has not been charged to its label.")
        yield _first(StepKind.CHARGE, "not_charged", sentence)


def _something_on(case: Case) -> Iterator[Blocker]:
    if not case.progress.connected:
        sentence = _("No piece is on the vehicle.")
        yield _first(StepKind.CONNECTION, "nothing_connected", sentence)


def _all_off(case: Case) -> Iterator[Blocker]:
    if not case.progress.was_connected:
        yield from _something_on(case)
    elif case.progress.connected:
        sentence = _("Pieces are still on the vehicle.")
        yield _first(StepKind.DISCONNECTION, "still_connected", sentence)


_RULES: dict[StepKind, tuple[Rule, ...]] = {
    StepKind.LABEL: (),
    StepKind.HIGH_VOLTAGE: (),
    StepKind.IDENTIFICATION: (),
    StepKind.OIL_BOTTLE: (),
    StepKind.CONNECTION: (_identified, _bottle_read, _circuit_known),
    StepKind.READINGS_BEFORE: (_gauges_on, _not_recovered_yet),
    StepKind.INSULATION: (_de_energised,),
    StepKind.RECOVERY: (_recovery_path, _holds_gas),
    StepKind.PARTS: (_de_energised, _emptied),
    StepKind.EVACUATION: (_machine_on, _clean_gas, _clean_pieces, _emptied),
    StepKind.OIL: (_clean_gas, _emptied),
    StepKind.CHARGE: (_machine_on, _clean_gas, _clean_pieces, _charge_known, _vacuum_held, _oil_settled),
    StepKind.READINGS_AFTER: (_gauges_on, _charged),
    StepKind.LEAK_CHECK: (),
    StepKind.DISCONNECTION: (_something_on,),
    StepKind.CLOSING_PURGE: (_all_off,),
    StepKind.CLOSE_OUT: (),
}
