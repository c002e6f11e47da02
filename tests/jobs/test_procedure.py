"""The procedure: which steps a job needs, in which order, and what blocks one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from equipment.choices import PieceKind
from jobs.choices import JobStatus, ServiceKind, StepKind
from jobs.procedure import Need, Outcome, StepStatus, build_procedure, next_step
from shopcool.vehicles.choices import Drive, Lubricant, Refrigerant
from tests.jobs.visit import BELT, ELECTRIC, Visit


def needs(facts):
    return {step.kind: step.need for step in build_procedure(facts)}


class TestPlan:
    def test_names_every_kind_of_step_once_and_in_the_order_of_the_work(self):
        assert [step.kind for step in build_procedure(ELECTRIC)] == list(StepKind)

    @pytest.mark.parametrize("service", list(ServiceKind))
    @pytest.mark.parametrize("drive", list(Drive))
    def test_always_begins_with_the_label_and_ends_with_the_close_out(self, service, drive):
        plan = needs(replace(ELECTRIC, service=service, drive=drive))

        assert plan[StepKind.LABEL] is Need.REQUIRED
        assert plan[StepKind.CLOSE_OUT] is Need.REQUIRED

    @pytest.mark.parametrize("drive", [Drive.BELT, Drive.ELECTRIC_LV])
    @pytest.mark.parametrize("service", list(ServiceKind))
    def test_asks_for_nothing_of_high_voltage_where_the_drive_has_none(self, drive, service):
        plan = needs(replace(ELECTRIC, drive=drive, service=service))

        assert plan[StepKind.HIGH_VOLTAGE] is Need.NOT_NEEDED
        assert plan[StepKind.INSULATION] is Need.NOT_NEEDED

    @pytest.mark.parametrize("drive", [Drive.ELECTRIC_HV, Drive.DUAL])
    def test_asks_for_precautions_and_insulation_when_a_high_voltage_circuit_is_repaired(self, drive):
        plan = needs(replace(ELECTRIC, drive=drive, service=ServiceKind.REPAIR))

        assert plan[StepKind.HIGH_VOLTAGE] is Need.REQUIRED
        assert plan[StepKind.INSULATION] is Need.REQUIRED

    def test_asks_for_the_insulation_where_other_oil_may_have_entered(self):
        plan = needs(replace(ELECTRIC, other_oil_suspected=True))

        assert plan[StepKind.INSULATION] is Need.REQUIRED

    def test_lets_an_electric_car_leave_only_with_its_insulation_measured(self):
        assert needs(ELECTRIC)[StepKind.INSULATION] is Need.REQUIRED
        assert needs(BELT)[StepKind.INSULATION] is Need.NOT_NEEDED

    def test_says_for_every_step_why(self):
        for service in ServiceKind:
            for step in build_procedure(replace(ELECTRIC, service=service)):
                assert step.why.endswith(".")


class TestOrder:
    def test_nothing_comes_before_check_in(self):
        visit = Visit(status=JobStatus.BOOKED)

        possible = [state.kind for state in visit.states if state.may_record]

        assert possible == []
        assert visit.codes(StepKind.LABEL) == {"not_checked_in"}

    def test_the_label_comes_first(self):
        visit = Visit()

        assert visit.status(StepKind.LABEL) is StepStatus.NEXT
        assert "label_missing" in visit.codes(StepKind.IDENTIFICATION)

    def test_a_label_that_does_not_agree_stops_the_work(self):
        visit = Visit().did(StepKind.LABEL, Outcome.MISMATCH, satisfied=False)

        assert visit.codes(StepKind.IDENTIFICATION) == {"label_mismatch"}

    def test_connection_waits_for_identification_and_bottle(self):
        visit = Visit().did(StepKind.LABEL)

        assert visit.codes(StepKind.CONNECTION) == {"not_identified", "bottle_not_read"}

    def test_connection_says_what_is_unknown_about_the_circuit(self):
        unknown = replace(ELECTRIC, refrigerant=Refrigerant.UNKNOWN, lubricant=Lubricant.UNKNOWN)
        visit = Visit(unknown).did(StepKind.LABEL).did(StepKind.IDENTIFICATION).did(StepKind.OIL_BOTTLE)

        assert visit.codes(StepKind.CONNECTION) == {"refrigerant_unknown", "lubricant_unknown"}

    @pytest.mark.parametrize("kind", [StepKind.RECOVERY, StepKind.EVACUATION, StepKind.CHARGE])
    def test_machine_work_needs_a_machine_on_the_vehicle_now(self, kind):
        visit = Visit().up_to_charge().disconnected("H-1")

        assert not visit.state(kind).may_record
        assert visit.connected(PieceKind.MACHINE).state(kind).may_record

    def test_readings_are_content_with_a_manifold(self):
        visit = Visit().did(StepKind.LABEL).did(StepKind.IDENTIFICATION).did(StepKind.OIL_BOTTLE)

        assert "no_gauges" in visit.codes(StepKind.READINGS_BEFORE)
        visit.connected(PieceKind.MANIFOLD)
        assert visit.codes(StepKind.READINGS_BEFORE) == set()

    def test_recovery_waits_for_the_pressure_before(self):
        visit = Visit().up_to_connection()

        assert visit.codes(StepKind.RECOVERY) == {"no_readings"}

    def test_a_circuit_without_pressure_is_not_recovered_but_evacuated(self):
        visit = Visit(BELT).up_to_connection().did(StepKind.READINGS_BEFORE, Outcome.NO_PRESSURE)

        assert visit.status(StepKind.RECOVERY) is StepStatus.NOT_NEEDED
        assert visit.status(StepKind.EVACUATION) is StepStatus.NEXT

    def test_evacuation_waits_for_the_recovery(self):
        visit = Visit().up_to_connection().did(StepKind.READINGS_BEFORE)

        assert visit.codes(StepKind.EVACUATION) == {"not_recovered"}

    def test_a_charged_circuit_is_never_evacuated(self):
        visit = Visit().up_to_charge().did(StepKind.CHARGE, Outcome.OUT_OF_TOLERANCE, satisfied=False)
        visit.did(StepKind.PARTS)

        assert visit.codes(StepKind.EVACUATION) == {"not_recovered"}

    def test_charge_waits_for_a_vacuum_that_held(self):
        visit = Visit().up_to_charge().did(StepKind.EVACUATION, Outcome.NOT_HELD, satisfied=False)

        assert visit.codes(StepKind.CHARGE) == {"vacuum_not_held"}
        assert visit.status(StepKind.EVACUATION) is StepStatus.NEXT

    @pytest.mark.parametrize("undoing", [StepKind.RECOVERY, StepKind.PARTS])
    def test_an_evacuation_counts_no_longer_after_the_circuit_was_opened(self, undoing):
        visit = Visit().up_to_charge().did(undoing)

        assert visit.codes(StepKind.CHARGE) == {"vacuum_not_held"}

    def test_an_evacuation_with_pump_oil_is_done_again_and_the_insulation_after_the_charge(self):
        visit = Visit().up_to_charge().did(StepKind.EVACUATION, Outcome.NOT_DONE, satisfied=False)

        assert next_step(visit.states).kind is StepKind.EVACUATION
        assert visit.codes(StepKind.CHARGE) == {"vacuum_not_held"}
        visit.did(StepKind.EVACUATION).did(StepKind.CHARGE)
        assert next_step(visit.states).kind is StepKind.INSULATION
        visit.did(StepKind.INSULATION)
        assert next_step(visit.states).kind is StepKind.READINGS_AFTER

    def test_charge_waits_for_the_label_charge(self):
        visit = Visit(replace(ELECTRIC, charge_kg=None)).up_to_charge()

        assert visit.codes(StepKind.CHARGE) == {"label_charge_unknown"}

    def test_charge_waits_until_the_oil_is_settled(self):
        visit = Visit().up_to_connection().did(StepKind.READINGS_BEFORE).did(StepKind.RECOVERY)
        visit.did(StepKind.EVACUATION)

        assert visit.codes(StepKind.CHARGE) == {"oil_not_settled"}

    def test_leak_check_and_readings_after_belong_to_the_last_charge(self):
        visit = Visit().up_to_disconnection().did(StepKind.CHARGE)

        assert visit.status(StepKind.READINGS_AFTER) is StepStatus.NEXT
        assert visit.status(StepKind.LEAK_CHECK) is StepStatus.READY

    def test_a_leak_can_be_searched_before_the_charge_but_the_vacuum_comes_after(self):
        visit = Visit().up_to_charge().did(StepKind.LEAK_CHECK)

        assert visit.codes(StepKind.CHARGE) == {"vacuum_not_held"}
        assert visit.status(StepKind.EVACUATION) is StepStatus.NEXT

        visit.did(StepKind.EVACUATION).did(StepKind.CHARGE).did(StepKind.READINGS_AFTER)
        assert visit.status(StepKind.EVACUATION) is StepStatus.DONE
        assert visit.status(StepKind.LEAK_CHECK) is StepStatus.NEXT

    def test_a_leak_search_that_comes_early_is_never_next(self):
        visit = Visit(replace(ELECTRIC, charge_kg=None)).up_to_charge()

        assert visit.status(StepKind.LEAK_CHECK) is StepStatus.READY

    def test_disconnection_is_possible_at_any_time_while_connected(self):
        visit = Visit().up_to_connection().did(StepKind.LABEL, Outcome.MISMATCH, satisfied=False)

        assert visit.status(StepKind.DISCONNECTION) is StepStatus.READY

    def test_a_step_that_waits_says_what_clears_it(self):
        for state in Visit().states:
            for reason in state.reasons:
                assert reason.sentence.endswith(".")
                assert reason.fix.endswith(".")


class TestHighVoltage:
    repair = replace(ELECTRIC, service=ServiceKind.REPAIR)

    def test_insulation_waits_for_the_precautions(self):
        visit = Visit(self.repair).did(StepKind.LABEL)

        assert visit.codes(StepKind.INSULATION) == {"not_de_energised"}

    def test_parts_wait_for_the_precautions(self):
        visit = Visit(self.repair).did(StepKind.LABEL).did(StepKind.IDENTIFICATION).did(StepKind.OIL_BOTTLE)
        visit.connected(PieceKind.MACHINE, PieceKind.HOSE_SET)
        visit.did(StepKind.READINGS_BEFORE).did(StepKind.RECOVERY)

        assert visit.codes(StepKind.PARTS) == {"not_de_energised"}
        visit.did(StepKind.HIGH_VOLTAGE)
        assert visit.codes(StepKind.PARTS) == set()

    def test_parts_of_a_belt_driven_circuit_need_none(self):
        visit = Visit(replace(BELT, service=ServiceKind.REPAIR)).up_to_connection()
        visit.did(StepKind.READINGS_BEFORE).did(StepKind.RECOVERY)

        assert visit.codes(StepKind.PARTS) == set()

    def test_running_readings_switch_the_vehicle_on_again(self):
        visit = Visit(self.repair).did(StepKind.LABEL).did(StepKind.HIGH_VOLTAGE).up_to_connection()
        visit.did(StepKind.READINGS_BEFORE, Outcome.RUNNING)

        assert visit.codes(StepKind.INSULATION) == {"not_de_energised"}
        visit.did(StepKind.HIGH_VOLTAGE)
        assert visit.codes(StepKind.INSULATION) == set()

    def test_precautions_that_found_voltage_prove_nothing(self):
        visit = Visit(self.repair).did(StepKind.LABEL)
        visit.did(StepKind.HIGH_VOLTAGE, Outcome.NOT_SAFE, satisfied=False)

        assert visit.codes(StepKind.INSULATION) == {"not_de_energised"}


class TestFoulGas:
    """Contaminated or unknown gas only goes into a cylinder marked for it (common practice)."""

    @pytest.fixture(params=[Outcome.FAILED, Outcome.NOT_ANALYSABLE])
    def visit(self, request):
        return Visit().did(StepKind.LABEL).did(StepKind.IDENTIFICATION, request.param)

    def test_may_be_connected_without_bottle_reading(self, visit):
        assert visit.status(StepKind.CONNECTION) is StepStatus.NEXT

    def test_is_not_recovered_without_a_marked_cylinder(self, visit):
        visit.connected(PieceKind.HOSE_SET)

        assert visit.codes(StepKind.RECOVERY) == {"no_marked_cylinder"}

    def test_is_not_recovered_while_a_machine_is_on(self, visit):
        visit.connected(PieceKind.MACHINE, marked=True)

        assert visit.codes(StepKind.RECOVERY) == {"machine_on_foul_gas"}

    def test_is_recovered_into_a_marked_cylinder(self, visit):
        visit.connected(PieceKind.HOSE_SET, PieceKind.RECOVERY_CYLINDER, marked=True)

        assert visit.status(StepKind.RECOVERY) is StepStatus.NEXT

    def test_never_leads_to_a_charge_before_the_circuit_is_proved_empty(self, visit):
        visit.connected(PieceKind.RECOVERY_CYLINDER, marked=True).did(StepKind.RECOVERY)
        visit.disconnected("H-1").connected(PieceKind.MACHINE)

        assert visit.status(StepKind.CHARGE) is StepStatus.NOT_NEEDED
        visit.did(StepKind.IDENTIFICATION, Outcome.EMPTY).did(StepKind.OIL_BOTTLE).did(StepKind.EVACUATION)
        assert visit.codes(StepKind.CHARGE) == {"oil_not_settled"}

    def test_found_after_a_charge_has_to_be_recovered_again(self):
        visit = Visit().up_to_disconnection().did(StepKind.IDENTIFICATION, Outcome.FAILED).disconnected()

        assert visit.status(StepKind.RECOVERY) is StepStatus.BLOCKED
        assert StepKind.RECOVERY in {reason.step for reason in visit.state(StepKind.CLOSE_OUT).reasons}

    def test_may_end_the_visit_after_its_recovery(self, visit):
        visit.connected(PieceKind.RECOVERY_CYLINDER, marked=True).did(StepKind.RECOVERY).disconnected()

        assert visit.status(StepKind.CLOSE_OUT) is StepStatus.NEXT


class TestClosing:
    def test_is_possible_after_all_required_steps(self):
        visit = Visit().up_to_disconnection().disconnected()

        assert visit.status(StepKind.CLOSE_OUT) is StepStatus.NEXT

    def test_is_refused_before_the_closing_purge(self):
        visit = Visit().up_to_disconnection().disconnected("H-1", "S-2")

        assert visit.codes(StepKind.CLOSE_OUT) == {"step_missing", "purge_due"}
        assert "H-1, S-2" in " ".join(reason.sentence for reason in visit.state(StepKind.CLOSE_OUT).reasons)
        assert visit.purged().status(StepKind.CLOSE_OUT) is StepStatus.NEXT

    def test_is_refused_while_a_piece_is_on_the_vehicle(self):
        visit = Visit().up_to_disconnection()

        assert "still_connected" in visit.codes(StepKind.CLOSE_OUT)

    def test_names_every_missing_step(self):
        visit = Visit().did(StepKind.LABEL)

        named = {reason.step for reason in visit.state(StepKind.CLOSE_OUT).reasons}

        missing = {state.kind for state in visit.states if state.is_open_requirement} - {StepKind.CLOSE_OUT}
        assert named == missing
        assert StepKind.CHARGE in named

    def test_an_insulation_check_touches_no_refrigerant_and_needs_no_purge(self):
        visit = Visit(replace(ELECTRIC, service=ServiceKind.INSULATION))
        visit.did(StepKind.LABEL).did(StepKind.HIGH_VOLTAGE).did(StepKind.INSULATION)

        assert visit.status(StepKind.CLOSE_OUT) is StepStatus.NEXT
        assert visit.status(StepKind.CLOSING_PURGE) is StepStatus.NOT_NEEDED

    def test_what_blocks_the_job_is_the_next_required_step(self):
        visit = Visit(replace(ELECTRIC, charge_kg=None)).up_to_charge()

        found = next_step(visit.states)

        assert found is not None
        assert found.kind is StepKind.CHARGE
        assert found.status is StepStatus.BLOCKED
