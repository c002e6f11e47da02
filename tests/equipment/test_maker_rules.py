"""What the vehicle maker asks for, and what a machine's certificate says about oil, bind the clearance."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from equipment.choices import DocumentKind, PieceKind
from equipment.exposure import Residue
from equipment.readiness import (
    CircuitFacts,
    ClearanceRequest,
    Decision,
    DocumentFacts,
    PersonFacts,
    PieceFacts,
    VisitFacts,
    piece_decision,
)
from equipment.readiness.requests import request_as_record, request_from_record
from shopcool.vehicles.choices import Additive, Drive, Lubricant, Refrigerant

TODAY = date(2026, 3, 2)
MANUAL = "workshop manual, group 87, page 4"
BELT = CircuitFacts("SC 001", Refrigerant.R1234YF, Lubricant.PAG, Drive.BELT)
ELECTRIC = replace(BELT, lubricant=Lubricant.POE, drive=Drive.ELECTRIC_HV)
HOSES = PieceFacts(1, "H-1", "Hoses", PieceKind.HOSE_SET, Residue())
PAPERS = tuple(
    DocumentFacts(kind, "1", frozenset({Refrigerant.R1234YF}), covers_high_voltage=True)
    for kind in DocumentKind
)
MACHINE = PieceFacts(
    2, "M-1", "Machine", PieceKind.MACHINE, Residue(), can_inject_dye=False, can_inject_oil=False,
    documents=PAPERS,
)  # fmt: skip


def ask(circuit: CircuitFacts, piece: PieceFacts) -> Decision:
    return piece_decision(circuit, piece, TODAY)


class TestDedicatedHoses:
    circuit = replace(ELECTRIC, dedicated_hoses=True, maker_source=MANUAL)

    def test_are_refused_when_they_may_touch_other_oil(self) -> None:
        (refusal,) = ask(self.circuit, HOSES).refusals

        assert (refusal.code, refusal.source) == ("hoses_not_dedicated", MANUAL)
        assert "hoses that only touch POE" in refusal.sentence

    def test_are_permitted_when_dedicated_to_its_oil(self) -> None:
        assert ask(self.circuit, replace(HOSES, dedicated_to=Lubricant.POE)).permitted

    def test_are_not_asked_of_other_cars_or_other_pieces(self) -> None:
        assert ask(ELECTRIC, HOSES).permitted
        assert ask(self.circuit, replace(HOSES, kind=PieceKind.SIGHT_GLASS)).permitted


class TestNoDye:
    circuit = replace(BELT, no_dye=True, maker_source=MANUAL)
    dyed = replace(HOSES, residue=Residue(additives=frozenset({Additive.DYE})))

    def test_refuses_a_piece_that_met_dye_on_a_belt_car_too(self) -> None:
        assert {reason.code for reason in ask(self.circuit, self.dyed).refusals} == {"dye_residue"}
        assert ask(BELT, self.dyed).permitted

    @pytest.mark.parametrize("can_inject", [True, None])
    def test_warns_of_a_machine_that_can_inject_it(self, can_inject: bool | None) -> None:
        decision = ask(self.circuit, replace(MACHINE, can_inject_dye=can_inject))

        assert decision.permitted
        assert "dye_injection_off" in decision.codes


class TestCertificateThatNamesOils:
    def _machine(self, *oils: Lubricant) -> PieceFacts:
        return replace(MACHINE, documents=tuple(replace(one, lubricants=frozenset(oils)) for one in PAPERS))

    def test_refuses_an_electric_car_with_another_oil(self) -> None:
        decision = ask(ELECTRIC, self._machine(Lubricant.PVE))

        assert "certificate_for_other_oil" in decision.codes
        assert not decision.permitted

    def test_permits_its_own_oil_and_says_nothing_when_it_names_none(self) -> None:
        assert ask(ELECTRIC, self._machine(Lubricant.POE)).permitted
        assert ask(ELECTRIC, self._machine()).permitted


class TestRecordedRequest:
    def test_keeps_what_the_maker_asked_for(self) -> None:
        circuit = replace(ELECTRIC, no_dye=True, dedicated_hoses=True, maker_source=MANUAL)
        paper = replace(PAPERS[0], lubricants=frozenset({Lubricant.POE.value}))
        person, visit = PersonFacts("T", True, True), VisitFacts("J-1")
        request = ClearanceRequest(circuit, (replace(MACHINE, documents=(paper,)),), person, visit, TODAY)

        assert request_from_record(request_as_record(request)) == request

    def test_of_before_these_rules_is_still_readable(self) -> None:
        person, visit = PersonFacts("T", True, True), VisitFacts("J-1")
        record = request_as_record(ClearanceRequest(ELECTRIC, (MACHINE,), person, visit, TODAY))
        for name in ("no_dye", "dedicated_hoses", "maker_source"):
            del record["circuit"][name]
        del record["pieces"][0]["documents"][0]["lubricants"]

        assert not request_from_record(record).circuit.dedicated_hoses
