"""What is due until a day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from equipment.choices import DocumentKind, PieceKind
from equipment.due import DueItem, DueKind
from equipment.due_selectors import due_items
from equipment.models import Piece, PieceDocument
from equipment.services.pieces import piece_retire
from shopcool.core import clock
from shopcool.people.models import Competence, CompetenceKind, User
from tests.api.test_reading import client_of
from tests.equipment.workshop import Workshop

pytestmark = pytest.mark.django_db
TODAY = date(2026, 3, 2)


def document(piece: Piece, valid_until: date | None, **values: object) -> PieceDocument:
    """Return a certificate of the piece for R-1234yf, high voltage included."""
    return PieceDocument.objects.create(**{
        "piece": piece, "kind": DocumentKind.CERTIFICATE, "number": "C-1", "body": "Board",
        "issued_on": date(2025, 1, 1), "valid_until": valid_until, "refrigerants": ["R1234YF"],
        "covers_high_voltage": True, **values,
    })  # fmt: skip


def due(days: int = 30) -> list[DueItem]:
    return due_items(today=TODAY, until=TODAY + timedelta(days=days))


class TestDocuments:
    def test_a_certificate_is_due_on_its_last_day_and_overdue_the_day_after(self, workshop: Workshop) -> None:
        machine = workshop.piece("M-9", PieceKind.MACHINE, refrigerant="R1234YF")
        paper = document(machine, TODAY)

        (item,) = due(0)

        assert (item.key, item.kind, item.what) == (
            f"document:{paper.pk}", DueKind.CERTIFICATE, "Certificate C-1 of M-9",
        )  # fmt: skip
        assert (item.piece_id, item.piece_code, item.blocks) == (machine.pk, "M-9", True)
        assert not item.is_overdue(TODAY)
        assert item.is_overdue(TODAY + timedelta(days=1))

    def test_what_runs_out_later_than_asked_is_not_due_yet(self, workshop: Workshop) -> None:
        document(workshop.piece("H-9"), TODAY + timedelta(days=31))

        assert due(30) == []
        assert [item.blocks for item in due(31)] == [False]

    @pytest.mark.parametrize(
        ("later", "still_due"),
        [
            ({}, 0),
            ({"valid_until": None}, 0),
            ({"kind": DocumentKind.SCALE_CALIBRATION}, 1),
            ({"refrigerants": ["R134A"]}, 1),
            ({"refrigerants": ["R134A", "R1234YF"]}, 0),
            ({"covers_high_voltage": False}, 1),
        ],
    )
    def test_only_a_later_proof_that_covers_as_much_replaces_it(
        self, workshop: Workshop, later: dict[str, object], still_due: int
    ) -> None:
        machine = workshop.piece("M-9", PieceKind.MACHINE, refrigerant="R1234YF")
        document(machine, TODAY)
        document(machine, **{"valid_until": TODAY + timedelta(days=365), "number": "C-2", **later})  # type: ignore[arg-type]

        assert len(due()) == still_due

    def test_of_two_that_end_together_one_is_due(self, workshop: Workshop) -> None:
        piece = workshop.piece("H-9")
        first, second = document(piece, TODAY), document(piece, TODAY)

        assert [item.key for item in due()] == [f"document:{second.pk}"]
        assert first.pk < second.pk

    def test_a_retired_piece_is_never_due(self, workshop: Workshop) -> None:
        piece = workshop.piece("H-9")
        document(piece, TODAY)
        piece_retire(actor=workshop.owner, piece=piece, reason="worn", now=workshop.later())

        assert due() == []


class TestCompetences:
    def give(self, user_id: int | None, valid_until: date, **values: object) -> Competence:
        Competence.objects.filter(
            user_id=user_id, kind=CompetenceKind.HIGH_VOLTAGE, valid_until=None
        ).delete()
        return Competence.objects.create(**{
            "user_id": user_id, "kind": CompetenceKind.HIGH_VOLTAGE, "number": f"HV-{valid_until}",
            "body": "Board", "issued_on": date(2024, 1, 1), "valid_until": valid_until, **values,
        })  # fmt: skip

    def test_names_the_person_who_has_to_renew(self, workshop: Workshop) -> None:
        user_id = workshop.technician.user_id
        given = self.give(user_id, TODAY)

        (item,) = due()

        assert (item.key, item.kind) == (f"competence:{given.pk}", DueKind.COMPETENCE)
        assert item.what == f"High-voltage work HV-{TODAY} of Tilda"
        assert (item.user_id, item.person, item.piece_id) == (user_id, "Tilda", None)

    def test_a_later_one_replaces_it_but_a_withdrawn_one_does_not(self, workshop: Workshop) -> None:
        user_id, later = workshop.technician.user_id, TODAY + timedelta(days=365)
        self.give(user_id, TODAY)
        withdrawn = {"withdrawn_at": workshop.now, "withdrawn_reason": "wrong person"}

        renewed = self.give(user_id, later, **withdrawn)
        assert len(due()) == 1

        self.give(user_id, renewed.valid_until, number="HV-good")  # type: ignore[arg-type]
        assert due() == []

    def test_someone_who_has_left_is_never_due(self, workshop: Workshop) -> None:
        self.give(workshop.technician.user_id, TODAY)
        User.objects.filter(pk=workshop.technician.user_id).update(is_active=False)

        assert due() == []


class TestApi:
    def test_tells_what_is_due_within_so_many_days_and_of_a_kind(
        self, workshop: Workshop, front_desk: User, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(clock, "now", lambda: workshop.now)
        document(workshop.piece("H-9"), TODAY - timedelta(days=1))
        document(workshop.piece("H-8"), TODAY + timedelta(days=9))
        client = client_of(front_desk)

        (soon,) = client.get("/api/v1/due/", {"days": 8}).json()["results"]

        assert (soon["what"], soon["due_on"]) == ("Certificate C-1 of H-9", "2026-03-01")
        assert (soon["piece"], soon["lot"], soon["person"], soon["is_overdue"]) == ("H-9", "", None, True)
        assert client.get("/api/v1/due/").json()["count"] == 2
        assert client.get("/api/v1/due/", {"kind": "OIL"}).json()["count"] == 0

    def test_refuses_days_that_are_none_and_tells_strangers_nothing(
        self, workshop: Workshop, outsider: User, front_desk: User, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(clock, "now", lambda: workshop.now)
        document(workshop.piece("H-9"), TODAY)

        assert "days" in client_of(front_desk).get("/api/v1/due/", {"days": "soon"}).json()["fields"]
        assert client_of(outsider).get("/api/v1/due/").json()["count"] == 0
        assert client_of(None).get("/api/v1/due/").status_code == 401


def test_the_most_urgent_comes_first_with_as_many_queries_as_for_one(
    workshop: Workshop, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for days in (5, -3, 0):
        document(workshop.piece(f"H-{days + 10}"), TODAY + timedelta(days=days))

    with django_assert_num_queries(4):
        found = due()

    assert [item.due_on - TODAY for item in found] == [timedelta(days=days) for days in (-3, 0, 5)]
