"""What a piece can be used for now, and what a line purge would add."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from equipment.choices import DocumentKind, PieceKind
from equipment.exposure import Residue
from equipment.readiness import DocumentFacts, MaintenanceFacts, PieceFacts
from equipment.uses import Use, prospect, purge_clears_for, typical_circuit
from shopcool.vehicles.choices import Drive

TODAY = date(2026, 3, 2)
CLEAR = Residue(refrigerants=frozenset({"R1234YF"}))
PAG = replace(CLEAR, lubricants=frozenset({"PAG"}))
UNKNOWN = Residue(unknown=True)
FAILED = MaintenanceFacts("Air in the tank", "Shop policy", not_ready=True, failed_on=TODAY)


def piece(kind: PieceKind = PieceKind.HOSE_SET, residue: Residue = CLEAR, **values: Any) -> PieceFacts:
    return PieceFacts(id=1, code="H-1", name="Hoses", kind=kind, residue=residue, **values)


def machine(residue: Residue = CLEAR, **values: Any) -> PieceFacts:
    gas = frozenset({"R1234YF"})
    documents = tuple(DocumentFacts(kind, "1", gas, covers_high_voltage=True) for kind in DocumentKind)
    facts = {
        "refrigerant": "R1234YF",
        "can_inject_oil": False,
        "can_inject_dye": False,
        "documents": documents,
    }
    return piece(PieceKind.MACHINE, residue, **{**facts, **values})


class TestUse:
    @pytest.mark.parametrize(
        ("facts", "use"),
        [
            (piece(), Use.HIGH_VOLTAGE),
            (piece(residue=PAG), Use.BELT),
            (piece(residue=UNKNOWN), Use.AFTER_PURGE),
            (piece(dedicated_to="POE"), Use.HIGH_VOLTAGE),
            (piece(residue=UNKNOWN, dedicated_to="POE"), Use.AFTER_PURGE),
            (piece(in_service=False), Use.NOT_NOW),
            (piece(busy_on="J-1"), Use.NOT_NOW),
            (piece(PieceKind.OIL_BOTTLE), Use.OFF_VEHICLES),
            (piece(PieceKind.RECOVERY_CYLINDER), Use.OFF_VEHICLES),
            (piece(PieceKind.RECOVERY_CYLINDER, UNKNOWN, in_service=False), Use.NOT_NOW),
            (piece(PieceKind.RECOVERY_CYLINDER, maintenance=(FAILED,)), Use.NOT_NOW),
            (machine(), Use.HIGH_VOLTAGE),
            (machine(can_inject_dye=True), Use.BELT),
            (machine(documents=()), Use.NOT_NOW),
            (piece(PieceKind.INJECTOR, refrigerant="R1234YF", lubricant="POE"), Use.HIGH_VOLTAGE),
            (piece(PieceKind.INJECTOR, PAG, refrigerant="R1234YF", lubricant="PAG"), Use.BELT),
        ],
        ids=lambda value: value.value if isinstance(value, Use) else value.kind.value,
    )
    def test_follows_the_clearance_rules_for_a_typical_circuit(self, facts: PieceFacts, use: Use) -> None:
        assert prospect(facts, TODAY).use is use

    def test_of_a_tool_that_carried_two_gases_waits_for_a_purge(self) -> None:
        two_gases = Residue(refrigerants=frozenset({"R134A", "R1234YF"}))

        outlook = prospect(piece(PieceKind.MANIFOLD, two_gases), TODAY)

        assert outlook.use is Use.AFTER_PURGE
        assert "refrigerant_residue" in outlook.belt.codes

    def test_of_a_piece_with_sealer_stays_barred_from_high_voltage_after_any_purge(self) -> None:
        sealed = replace(CLEAR, additives=frozenset({"SEALER"}))

        outlook = prospect(piece(residue=sealed), TODAY)

        assert outlook.use is Use.BELT
        assert Use.HIGH_VOLTAGE not in outlook.purge_opens


class TestPurge:
    def test_opens_high_voltage_for_a_hose_set_but_only_belts_for_a_machine_with_dye(self) -> None:
        assert prospect(piece(residue=PAG), TODAY).purge_opens == {Use.HIGH_VOLTAGE, Use.BELT}
        assert prospect(machine(PAG, can_inject_dye=True), TODAY).purge_opens == {Use.BELT}

    def test_never_clears_an_injector(self) -> None:
        injector = piece(PieceKind.INJECTOR, UNKNOWN, refrigerant="R1234YF", lubricant="POE")

        assert prospect(injector, TODAY).purge_opens == frozenset()

    def test_does_not_help_where_something_else_refuses(self) -> None:
        hoses = piece(residue=PAG)
        circuit = typical_circuit(hoses, Drive.ELECTRIC_HV)

        assert purge_clears_for(circuit, hoses, TODAY)
        assert not purge_clears_for(circuit, replace(hoses, busy_on="J-1"), TODAY)
        assert not purge_clears_for(circuit, replace(hoses, refrigerant="R134A"), TODAY)
