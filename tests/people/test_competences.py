"""Competences: dated, from a body, withdrawn and never deleted."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.selectors import person_facts
from shopcool.core.errors import DomainError, NotAllowed
from shopcool.people.models import Competence, CompetenceKind, User
from shopcool.people.selectors import competence_kinds_in_date, people_with_competences, person_rows
from shopcool.people.services.competences import (
    AlreadyWithdrawn,
    CompetenceKnown,
    competence_add,
    competence_withdraw,
)
from tests.people_fixtures import SignedIn

PAPER: dict[str, Any] = {
    "kind": CompetenceKind.HIGH_VOLTAGE,
    "number": "HV-2026/118",
    "body": "Chamber of Trade",
    "issued_on": date(2026, 2, 1),
    "valid_until": date(2027, 1, 31),
}


class TestCompetenceAdd:
    def test_counts_from_its_first_to_its_last_day(self, owner: User, colleague: User, now: datetime) -> None:
        competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **PAPER)

        def kinds(day: date) -> frozenset[CompetenceKind]:
            return competence_kinds_in_date(user_ids=[colleague.pk], on=day)[colleague.pk]

        assert kinds(date(2026, 1, 31)) == frozenset()
        assert kinds(date(2026, 2, 1)) == {CompetenceKind.HIGH_VOLTAGE}
        assert kinds(date(2027, 1, 31)) == {CompetenceKind.HIGH_VOLTAGE}
        assert kinds(date(2027, 2, 1)) == frozenset()

    def test_without_an_end_counts_for_ever(self, owner: User, colleague: User, now: datetime) -> None:
        competence_add(
            actor=owner.as_actor(), user_id=colleague.pk, now=now, **{**PAPER, "valid_until": None}
        )

        found = competence_kinds_in_date(user_ids=[colleague.pk], on=date(2060, 1, 1))

        assert found == {colleague.pk: {CompetenceKind.HIGH_VOLTAGE}}

    def test_refuses_an_end_before_its_issue(self, owner: User, colleague: User, now: datetime) -> None:
        wrong = {**PAPER, "valid_until": date(2026, 1, 31)}

        with pytest.raises(DomainError, match="can't end before it was issued"):
            competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **wrong)

    def test_refuses_the_same_certificate_twice(self, owner: User, colleague: User, now: datetime) -> None:
        competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **PAPER)

        with pytest.raises(CompetenceKnown, match="HV-2026/118 of Clara Osei is on record already"):
            competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **PAPER)

    @pytest.mark.parametrize("who", ["technician", "front_desk", "outsider"])
    def test_is_refused_to_anyone_but_an_owner(
        self, who: str, request: pytest.FixtureRequest, now: datetime
    ) -> None:
        user: User = request.getfixturevalue(who)
        held = user.competences.count()

        with pytest.raises(NotAllowed, match="You may not do this"):
            competence_add(actor=user.as_actor(), user_id=user.pk, now=now, **PAPER)
        assert user.competences.count() == held


class TestCompetenceWithdraw:
    def withdraw(
        self, actor: User, competence: Competence, now: datetime, reason: str = "Typed wrong"
    ) -> None:
        competence_withdraw(actor=actor.as_actor(), competence_id=competence.pk, reason=reason, now=now)

    def test_stops_counting_and_stays_on_record(self, owner: User, technician: User, now: datetime) -> None:
        paper = technician.competences.get(kind=CompetenceKind.HIGH_VOLTAGE)

        self.withdraw(owner, paper, now)

        kinds = competence_kinds_in_date(user_ids=[technician.pk], on=now.date())
        assert kinds == {technician.pk: {CompetenceKind.REFRIGERANT}}
        paper.refresh_from_db()
        assert (paper.withdrawn_reason, paper.withdrawn_by) == ("Typed wrong", owner)

    def test_makes_room_for_the_same_number_typed_right(
        self, owner: User, colleague: User, now: datetime
    ) -> None:
        paper = competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **PAPER)
        self.withdraw(owner, paper, now)

        again = competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **PAPER)

        assert again.pk != paper.pk

    def test_needs_a_reason(self, owner: User, technician: User, now: datetime) -> None:
        with pytest.raises(DomainError, match="Say why the competence is withdrawn"):
            self.withdraw(owner, technician.competences.all()[0], now, reason="  ")

    def test_happens_once(self, owner: User, technician: User, now: datetime) -> None:
        paper = technician.competences.all()[0]
        self.withdraw(owner, paper, now)

        with pytest.raises(AlreadyWithdrawn, match="was withdrawn before"):
            self.withdraw(owner, paper, now)

    def test_is_refused_to_the_person_themselves(self, technician: User, now: datetime) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            self.withdraw(technician, technician.competences.all()[0], now)


class TestPersonRows:
    def test_names_what_a_technician_lacks_on_a_day(self, owner: User, colleague: User) -> None:
        (row,) = person_rows(people_with_competences(owner.as_actor()).filter(pk=colleague.pk), date.today())

        assert row.missing == ["Refrigerant handling", "High-voltage work"]

    def test_warns_before_a_certificate_ends(self, owner: User, colleague: User, now: datetime) -> None:
        competence_add(actor=owner.as_actor(), user_id=colleague.pk, now=now, **PAPER)
        people = people_with_competences(owner.as_actor()).filter(pk=colleague.pk)

        def competence(day: date) -> Any:
            return person_rows(people.all(), day)[0].competences[0]

        assert not competence(PAPER["valid_until"] - timedelta(days=61)).expires_soon
        assert competence(PAPER["valid_until"] - timedelta(days=60)).expires_soon
        assert competence(PAPER["valid_until"]).is_in_date
        assert competence(PAPER["valid_until"] + timedelta(days=1)).is_expired


class TestPages:
    def test_an_owner_adds_and_withdraws(self, owner: User, colleague: User, signed_in: SignedIn) -> None:
        client = signed_in(owner)
        sent = {**PAPER, "issued_on": "2024-02-01", "valid_until": ""}

        added = client.post(f"/people/{colleague.pk}/competences/new/", sent)
        paper = colleague.competences.get()
        withdrawn = client.post(
            f"/people/competences/{paper.pk}/withdraw/", {"reason": "Revoked by the chamber"}
        )

        page = client.get(f"/people/{colleague.pk}/").content.decode()
        assert (added.status_code, withdrawn.status_code) == (302, 302)
        assert "Revoked by the chamber" in page
        assert f"{timezone.localdate():%Y}" in page

    def test_a_certificate_sent_twice_is_on_record_once(
        self, owner: User, colleague: User, signed_in: SignedIn
    ) -> None:
        client = signed_in(owner)
        sent = {**PAPER, "issued_on": "2024-02-01", "valid_until": ""}

        answers = [client.post(f"/people/{colleague.pk}/competences/new/", sent) for _ in range(2)]

        assert [answer.status_code for answer in answers] == [302, 422]
        assert colleague.competences.count() == 1

    @pytest.mark.parametrize(("who", "status"), [("technician", 403), ("outsider", 404)])
    def test_withdrawing_is_the_owners(
        self, who: str, status: int, technician: User, request: pytest.FixtureRequest, signed_in: SignedIn
    ) -> None:
        paper = technician.competences.all()[0]
        client = signed_in(request.getfixturevalue(who))

        answer = client.post(f"/people/competences/{paper.pk}/withdraw/", {"reason": "I like to"})

        paper.refresh_from_db()
        assert (answer.status_code, paper.withdrawn_at) == (status, None)


class TestWhatTheEquipmentKnows:
    def test_a_withdrawn_competence_no_longer_opens_high_voltage_work(
        self, owner: User, technician: User, now: datetime
    ) -> None:
        paper = technician.competences.get(kind=CompetenceKind.HIGH_VOLTAGE)
        assert person_facts(technician.as_actor(), now.date()).high_voltage_competence

        competence_withdraw(actor=owner.as_actor(), competence_id=paper.pk, reason="Revoked", now=now)

        facts = person_facts(technician.as_actor(), now.date())
        assert (facts.refrigerant_competence, facts.high_voltage_competence) == (True, False)
