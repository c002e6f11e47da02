"""Where a residue can have gone and come from, told from the log."""

from __future__ import annotations

from datetime import timedelta

import pytest

from equipment.choices import PieceKind
from equipment.models import Piece, Purge
from equipment.purging import PurgeReadings
from equipment.services.exposures import contact_declare, exposure_withdraw
from equipment.trace import Direction, Place, trace
from shopcool.people.models import User
from shopcool.vehicles.choices import Drive, Lubricant
from shopcool.vehicles.models import Circuit
from tests.equipment.page_text import words_of
from tests.equipment.workshop import Workshop
from tests.people_fixtures import SignedIn

BELT = (Drive.BELT, Lubricant.PAG)
STOPPED = PurgeReadings(circulated_kg=None, duration_s=None, final_vacuum_pa=None, completed=False)


def visit(workshop: Workshop, circuit: Circuit, *pieces: Piece, job: str) -> None:
    workshop.connect(circuit, *pieces, job=job)
    workshop.disconnect(job)


def names(workshop: Workshop, start: Piece | Circuit, direction: Direction, hours: float = 0) -> list[str]:
    """Return what the walk came to, pieces by code and cars by plate, as of so many hours after now."""
    place = Place.PIECE if isinstance(start, Piece) else Place.CIRCUIT
    found = trace(place, start.pk, workshop.now + timedelta(hours=hours), direction)
    codes = dict(Piece.objects.values_list("pk", "code"))
    plates = dict(Circuit.objects.values_list("pk", "vehicle__registration"))
    return [codes[row.id] if row.place is Place.PIECE else plates[row.id] for row in found]


class TestForward:
    def test_goes_through_a_car_into_what_touches_it_later_and_on(self, workshop: Workshop) -> None:
        first, second, third = (workshop.piece(f"H-{number}") for number in (1, 2, 3))
        shared, last = workshop.circuit(*BELT), workshop.circuit(*BELT)
        start = workshop.now
        visit(workshop, shared, first, job="J-1")
        visit(workshop, shared, second, job="J-2")
        visit(workshop, last, second, job="J-3")
        visit(workshop, workshop.circuit(*BELT), third, job="J-4")

        workshop.now = start
        assert names(workshop, first, Direction.TO) == ["H-1", "SC 001", "H-2", "SC 002"]

    def test_ends_in_a_piece_with_a_purge_that_counts(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        start = workshop.later()
        visit(workshop, workshop.circuit(*BELT), hoses, job="J-1")
        workshop.purge(machine, hoses)
        visit(workshop, workshop.circuit(*BELT), hoses, job="J-2")

        workshop.now = start
        assert names(workshop, hoses, Direction.TO) == ["H-1", "SC 001"]

    def test_goes_through_the_loop_of_a_purge_that_does_not_count(self, workshop: Workshop) -> None:
        machine, dirty, clean = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        start = workshop.later()
        workshop.purge(machine, dirty, clean, readings=STOPPED)
        visit(workshop, workshop.circuit(*BELT), clean, job="J-1")

        assert not Purge.objects.get().verified
        workshop.now = start
        assert set(names(workshop, dirty, Direction.TO)) == {"H-1", "H-2", "M-1", "SC 001"}

    def test_begins_on_the_car_that_the_piece_is_on_at_that_moment(self, workshop: Workshop) -> None:
        hoses, glass = workshop.piece("H-1"), workshop.piece("G-1", PieceKind.SIGHT_GLASS)
        workshop.connect(workshop.circuit(*BELT), hoses, glass, job="J-1")

        assert names(workshop, hoses, Direction.TO) == ["H-1", "SC 001", "G-1"] or names(
            workshop, hoses, Direction.TO
        ) == ["H-1", "G-1", "SC 001"]

    def test_leaves_an_entry_away_that_was_withdrawn(self, workshop: Workshop) -> None:
        hoses, circuit = workshop.piece("H-1"), workshop.circuit(*BELT)
        start = workshop.later()
        wrong = contact_declare(
            actor=workshop.owner, piece_id=hoses.pk, occurred_at=workshop.later(), now=workshop.now,
            circuit=circuit, note="Mixed up",
        ).exposure  # fmt: skip
        at = workshop.now
        workshop.now = start
        assert names(workshop, hoses, Direction.TO) == ["H-1", "SC 001"]

        exposure_withdraw(
            actor=workshop.owner, exposure=wrong, reason="Other hoses", now=at + timedelta(minutes=5)
        )

        assert names(workshop, hoses, Direction.TO) == ["H-1"]


class TestBackward:
    def test_names_the_cars_since_the_last_purge_that_counts_and_what_was_on_them_before(
        self, workshop: Workshop
    ) -> None:
        machine, hoses, other = workshop.machine(), workshop.piece("H-1"), workshop.piece("H-2")
        earlier, car = workshop.circuit(*BELT), workshop.circuit(*BELT)
        visit(workshop, earlier, hoses, job="J-1")
        visit(workshop, car, other, job="J-2")
        workshop.purge(machine, hoses)
        visit(workshop, car, hoses, job="J-3")

        assert names(workshop, hoses, Direction.FROM) == ["H-1", "SC 002", "H-2"]

    def test_does_not_name_what_came_onto_the_car_only_later(self, workshop: Workshop) -> None:
        hoses, later, car = workshop.piece("H-1"), workshop.piece("H-2"), workshop.circuit(*BELT)
        visit(workshop, car, hoses, job="J-1")
        workshop.later()
        visit(workshop, car, later, job="J-2")

        assert names(workshop, hoses, Direction.FROM) == ["H-1", "SC 001"]
        assert names(workshop, car, Direction.FROM) == ["SC 001", "H-2", "H-1"]


class TestBothWays:
    def test_what_one_way_reaches_the_other_way_comes_from(self, workshop: Workshop) -> None:
        """If residue of one can have reached another, then going back from there must lead to the first."""
        machine = workshop.machine()
        pieces = [machine, *(workshop.piece(f"H-{number}") for number in range(1, 5))]
        cars = [workshop.circuit(*BELT) for _number in range(4)]
        start = workshop.later()
        for step, (piece, car) in enumerate(
            [(1, 0), (2, 0), (3, 1), (2, 1), (4, 2), (1, 3), (3, 3), (4, 3), (2, 2)]
        ):
            visit(workshop, cars[car], pieces[piece], job=f"J-{step}")
            if step in {3, 6}:
                workshop.purge(machine, pieces[2])
        end = workshop.later()

        for piece in pieces[1:]:
            for row in trace(Place.PIECE, piece.pk, start, Direction.TO):
                back = trace(row.place, row.id, end, Direction.FROM)
                reached_again = (Place.PIECE, piece.pk) in {(found.place, found.id) for found in back}
                was_purged = row.place is Place.PIECE and row.id == pieces[2].pk
                assert reached_again or was_purged


class TestPage:
    def test_shows_cars_and_pieces_with_the_moment(
        self, workshop_clock: Workshop, technician: User, outsider: User, signed_in: SignedIn
    ) -> None:
        hoses, other, car = (
            workshop_clock.piece("H-1"),
            workshop_clock.piece("H-2"),
            workshop_clock.circuit(*BELT),
        )
        visit(workshop_clock, car, hoses, job="J-1")
        visit(workshop_clock, car, other, job="J-2")
        browser = signed_in(technician)

        onward = words_of(browser.get("/equipment/H-1/trace/", {"at": "2026-03-02T08:00"}))
        back = words_of(browser.get("/equipment/H-2/trace/", {"direction": "FROM"}))
        of_car = words_of(browser.get(f"/equipment/circuits/{car.pk}/trace/", {"direction": "FROM"}))

        assert "1 car and 1 piece" in onward
        assert "SC 001" in onward
        assert "H-2" in onward
        assert "H-1" in back
        assert "H-1" in of_car
        assert signed_in(outsider).get("/equipment/H-1/trace/").status_code == 404
        assert signed_in(outsider).get(f"/equipment/circuits/{car.pk}/trace/").status_code == 404

    def test_of_nothing_says_that_it_can_have_gone_nowhere(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn
    ) -> None:
        workshop_clock.piece("H-1")
        workshop_clock.piece("T-1", PieceKind.INSULATION_TESTER)
        browser = signed_in(technician)

        assert "It can have gone nowhere" in words_of(browser.get("/equipment/H-1/trace/"))
        assert "Nothing can have come into it" in words_of(
            browser.get("/equipment/H-1/trace/", {"direction": "FROM"})
        )
        assert "residue" not in words_of(browser.get("/equipment/T-1/"))
        assert "residue" not in words_of(browser.get("/equipment/T-1/history/"))

    @pytest.mark.parametrize(
        ("name", "value"), [("at", "yesterday"), ("at", "9999-12-31T23:59"), ("direction", "UP")]
    )
    def test_refuses_a_question_without_an_answer(
        self, workshop_clock: Workshop, technician: User, signed_in: SignedIn, name: str, value: str
    ) -> None:
        workshop_clock.piece("H-1")

        assert signed_in(technician).get("/equipment/H-1/trace/", {name: value}).status_code == 422
