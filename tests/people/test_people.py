"""Keeping people: who may do it, which names and passwords work, and that an owner always remains."""

from __future__ import annotations

from datetime import datetime
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from shopcool.core.actors import SYSTEM, Actor, Role
from shopcool.core.errors import DomainError, NotAllowed
from shopcool.people.models import User
from shopcool.people.selectors import people_visible_to, technicians
from shopcool.people.services.people import (
    EmailImpossible,
    LastOwner,
    UsernameTaken,
    WeakPassword,
    WrongPassword,
    own_email_set,
    password_set,
    user_create,
    user_deactivate,
    user_reactivate,
    user_update,
)
from tests.people_fixtures import PASSWORD, SignedIn, person

NEWCOMER: dict[str, Any] = {
    "username": "nils",
    "full_name": "Nils Vargas",
    "roles": [Role.TECHNICIAN],
    "password": "amber-rope-ladder",
}


class TestUserCreate:
    def test_lets_a_newcomer_sign_in(self, owner: User, client: Client, now: datetime) -> None:
        user_create(actor=owner.as_actor(), now=now, **NEWCOMER)

        assert client.login(username="nils", password="amber-rope-ladder")

    @pytest.mark.parametrize("who", ["technician", "front_desk", "outsider"])
    def test_is_refused_to_anyone_but_an_owner(
        self, who: str, request: pytest.FixtureRequest, now: datetime
    ) -> None:
        user: User = request.getfixturevalue(who)

        with pytest.raises(NotAllowed, match="You may not do this"):
            user_create(actor=user.as_actor(), now=now, **NEWCOMER)
        assert not User.objects.filter(username="nils").exists()

    def test_refuses_a_name_that_is_taken_in_any_spelling(self, owner: User, now: datetime) -> None:
        with pytest.raises(UsernameTaken, match="Somebody already signs in as “olga”"):
            user_create(actor=owner.as_actor(), now=now, **{**NEWCOMER, "username": "OLGA"})

    @pytest.mark.parametrize("username", ["", "n", "nils vargas", "nils@home", ".nils", "n" * 61, "n" * 400])
    def test_refuses_a_name_that_is_hard_to_type(self, owner: User, now: datetime, username: str) -> None:
        with pytest.raises(DomainError, match="A sign-in name has 2 to 60"):
            user_create(actor=owner.as_actor(), now=now, **{**NEWCOMER, "username": username})

    @pytest.mark.parametrize(
        ("password", "sentence"),
        [("short", "at least 10 characters"), ("qwertyuiop", "This password is too common")],
    )
    def test_refuses_a_weak_password(self, owner: User, now: datetime, password: str, sentence: str) -> None:
        with pytest.raises(WeakPassword, match=sentence):
            user_create(actor=owner.as_actor(), now=now, **{**NEWCOMER, "password": password})

    def test_refuses_a_role_nobody_knows(self, owner: User, now: datetime) -> None:
        with pytest.raises(DomainError, match="There is no role PILOT"):
            user_create(actor=owner.as_actor(), now=now, **{**NEWCOMER, "roles": ["PILOT"]})


class TestUserUpdate:
    def test_gives_several_roles(self, owner: User, technician: User, now: datetime) -> None:
        roles = [Role.OWNER, Role.TECHNICIAN]

        changed = user_update(
            actor=owner.as_actor(), user_id=technician.pk, full_name="Timo L", email="", roles=roles, now=now
        )

        assert changed.as_actor() == Actor(technician.pk, "Timo L", frozenset(roles))

    def test_keeps_the_last_owner(self, owner: User, now: datetime) -> None:
        with pytest.raises(LastOwner, match="needs at least one owner who may sign in"):
            user_update(
                actor=owner.as_actor(), user_id=owner.pk, full_name="Olga", email="", roles=[], now=now
            )
        owner.refresh_from_db()
        assert owner.roles == [Role.OWNER]

    def test_is_refused_to_oneself_as_a_technician(self, technician: User, now: datetime) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            user_update(
                actor=technician.as_actor(),
                user_id=technician.pk,
                full_name="Timo",
                email="",
                roles=[Role.OWNER],
                now=now,
            )


class TestEmail:
    @pytest.mark.parametrize("address", ["timo@", "timo at shop.example", "a@b", "t" * 400 + "@shop.example"])
    def test_that_no_server_could_deliver_to_is_refused_by_every_door(
        self, owner: User, technician: User, now: datetime, address: str
    ) -> None:
        boss, self_ = owner.as_actor(), technician.as_actor()

        with pytest.raises(EmailImpossible, match="an e-mail address like"):
            user_create(actor=boss, now=now, email=address, **NEWCOMER)
        with pytest.raises(EmailImpossible, match="an e-mail address like"):
            user_update(actor=boss, user_id=technician.pk, full_name="T", email=address, roles=[], now=now)
        with pytest.raises(EmailImpossible, match="an e-mail address like"):
            own_email_set(actor=self_, user_id=technician.pk, email=address, now=now)

    def test_is_set_on_one_s_own_page_and_keeps_what_was_mistyped(
        self, technician: User, signed_in: SignedIn
    ) -> None:
        tablet = signed_in(technician)

        wrong = tablet.post("/me/email/", {"email": "timo@shop"})
        right = tablet.post("/me/email/", {"email": " timo@shop.example "})

        assert (wrong.status_code, right.status_code) == (422, 302)
        assert 'value="timo@shop"' in wrong.content.decode()
        assert "timo@shop.example" in tablet.get("/me/", follow=True).content.decode()

    def test_of_a_colleague_is_nobody_s_business(
        self, owner: User, technician: User, outsider: User, signed_in: SignedIn, now: datetime
    ) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            own_email_set(actor=owner.as_actor(), user_id=technician.pk, email="", now=now)
        assert signed_in(outsider).get("/me/email/").status_code == 403


class TestUserDeactivate:
    def test_ends_the_sessions_at_once(
        self, owner: User, technician: User, signed_in: SignedIn, now: datetime
    ) -> None:
        tablet = signed_in(technician)
        assert tablet.get("/me/").headers["Location"] == f"/people/{technician.pk}/"

        user_deactivate(actor=owner.as_actor(), user_id=technician.pk, now=now)

        assert tablet.get("/me/").headers["Location"].startswith("/sign-in/")

    def test_counts_only_owners_who_may_sign_in(self, owner: User, now: datetime) -> None:
        partner = person("petra", "Petra Roth", Role.OWNER)
        user_deactivate(actor=owner.as_actor(), user_id=partner.pk, now=now)

        with pytest.raises(LastOwner, match="Make somebody else owner first"):
            user_deactivate(actor=owner.as_actor(), user_id=owner.pk, now=now)

    def test_can_be_taken_back(self, owner: User, technician: User, client: Client, now: datetime) -> None:
        user_deactivate(actor=owner.as_actor(), user_id=technician.pk, now=now)

        user_reactivate(actor=owner.as_actor(), user_id=technician.pk, now=now)

        assert client.login(username="timo", password=PASSWORD)

    @pytest.mark.parametrize("who", ["technician", "front_desk", "outsider"])
    def test_is_refused_to_anyone_but_an_owner(
        self, who: str, owner: User, request: pytest.FixtureRequest, now: datetime
    ) -> None:
        user: User = request.getfixturevalue(who)

        for service in (user_deactivate, user_reactivate):
            with pytest.raises(NotAllowed, match="You may not do this"):
                service(actor=user.as_actor(), user_id=owner.pk, now=now)


class TestPasswordSet:
    NEW = "copper-window-sill"

    def test_needs_the_present_one_from_oneself(self, technician: User, now: datetime) -> None:
        with pytest.raises(WrongPassword, match="not your present password"):
            password_set(
                actor=technician.as_actor(),
                user_id=technician.pk,
                password=self.NEW,
                current_password="guess",
                now=now,
            )

    def test_is_refused_for_somebody_else(self, technician: User, owner: User, now: datetime) -> None:
        with pytest.raises(NotAllowed, match="You may not do this"):
            password_set(actor=technician.as_actor(), user_id=owner.pk, password=self.NEW, now=now)

    def test_ends_the_other_sessions_of_the_person(
        self, owner: User, technician: User, signed_in: SignedIn, now: datetime
    ) -> None:
        tablet = signed_in(technician)

        password_set(actor=owner.as_actor(), user_id=technician.pk, password=self.NEW, now=now)

        assert tablet.get("/me/").headers["Location"].startswith("/sign-in/")

    def test_keeps_the_session_in_which_one_changes_ones_own(
        self, technician: User, signed_in: SignedIn
    ) -> None:
        tablet = signed_in(technician)

        answer = tablet.post(
            f"/people/{technician.pk}/password/", {"current_password": PASSWORD, "password": self.NEW}
        )

        assert answer.status_code == 302
        assert tablet.get("/me/").status_code == 302
        technician.refresh_from_db()
        assert technician.check_password(self.NEW)


class TestVisibility:
    def test_an_owner_sees_everybody(self, owner: User, technician: User, outsider: User) -> None:
        assert set(people_visible_to(owner.as_actor())) == {owner, technician, outsider}

    def test_a_colleague_sees_who_may_sign_in(self, technician: User, owner: User) -> None:
        gone = person("gone", "Gone Away", Role.TECHNICIAN)
        gone.is_active = False
        gone.save()

        assert set(people_visible_to(technician.as_actor())) == {technician, owner}

    def test_an_outsider_sees_only_themselves(self, outsider: User, owner: User) -> None:
        assert list(people_visible_to(outsider.as_actor())) == [outsider]

    def test_jobs_can_be_given_to_technicians_who_may_sign_in(
        self, technician: User, colleague: User, owner: User
    ) -> None:
        colleague.is_active = False
        colleague.save()

        assert list(technicians()) == [technician]


class TestPages:
    @pytest.mark.parametrize(
        ("who", "status"), [("owner", 200), ("technician", 403), ("front_desk", 403), ("outsider", 403)]
    )
    @pytest.mark.parametrize("page", ["/people/", "/people/new/"])
    def test_the_list_is_the_owners(
        self, who: str, status: int, page: str, request: pytest.FixtureRequest, signed_in: SignedIn
    ) -> None:
        assert signed_in(request.getfixturevalue(who)).get(page).status_code == status

    @pytest.mark.parametrize(
        ("who", "status"), [("owner", 200), ("technician", 200), ("front_desk", 403), ("outsider", 404)]
    )
    def test_a_persons_page_is_theirs_and_the_owners(
        self, who: str, status: int, technician: User, request: pytest.FixtureRequest, signed_in: SignedIn
    ) -> None:
        client = signed_in(request.getfixturevalue(who))

        assert client.get(f"/people/{technician.pk}/").status_code == status

    @pytest.mark.parametrize(("who", "status"), [("owner", 200), ("technician", 403), ("outsider", 404)])
    @pytest.mark.parametrize("page", ["edit", "deactivate", "password", "competences/new"])
    def test_what_changes_a_person_is_the_owners(
        self,
        who: str,
        status: int,
        page: str,
        front_desk: User,
        request: pytest.FixtureRequest,
        signed_in: SignedIn,
    ) -> None:
        client = signed_in(request.getfixturevalue(who))

        assert client.get(f"/people/{front_desk.pk}/{page}/").status_code == status

    def test_a_stranger_is_asked_to_sign_in(self, client: Client, technician: User) -> None:
        answer = client.get(f"/people/{technician.pk}/")

        assert answer.headers["Location"] == f"/sign-in/?next=/people/{technician.pk}/"

    def test_a_newcomer_is_added_once_even_when_sent_twice(self, owner: User, signed_in: SignedIn) -> None:
        client = signed_in(owner)
        sent = {**NEWCOMER, "roles": ["TECHNICIAN"], "email": ""}

        first, second = client.post("/people/new/", sent), client.post("/people/new/", sent)

        assert (first.status_code, second.status_code) == (302, 422)
        assert "already signs in as “nils”" in second.context["form"].errors["username"][0]
        assert User.objects.filter(username="nils").count() == 1

    def test_a_name_of_400_characters_is_refused_and_kept(self, owner: User, signed_in: SignedIn) -> None:
        answer = signed_in(owner).post("/people/new/", {**NEWCOMER, "full_name": "é" * 400})

        assert "at most 120 characters" in answer.context["form"].errors["full_name"][0]
        assert "é" * 400 in answer.content.decode()

    def test_a_longest_name_wraps_on_the_list(self, owner: User, signed_in: SignedIn) -> None:
        person("long", "W" * 120, Role.TECHNICIAN)

        assert "W" * 120 in signed_in(owner).get("/people/").content.decode()

    def test_the_last_owner_is_told_why_not(self, owner: User, signed_in: SignedIn) -> None:
        answer = signed_in(owner).post(f"/people/{owner.pk}/deactivate/", follow=True)

        assert "needs at least one owner who may sign in" in answer.content.decode()

    def test_the_list_asks_the_database_no_more_for_more_people(
        self, owner: User, signed_in: SignedIn, django_assert_num_queries: Any
    ) -> None:
        client = signed_in(owner)
        client.get("/people/")
        for number in range(12):
            person(f"extra{number}", f"Extra {number}", Role.TECHNICIAN)

        # session, user, shop, reminders, people, competences
        with django_assert_num_queries(6):
            client.get("/people/")


class TestOwnerCreate:
    def test_makes_the_first_owner(self, db: None, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("SHOPCOOL_OWNER_PASSWORD", "amber-rope-ladder")
        said = StringIO()

        call_command("owner_create", "olga", "Olga Brandt", stdout=said)

        assert said.getvalue() == "Olga Brandt is an owner and signs in as olga.\n"
        assert User.objects.get().as_actor().is_owner

    def test_says_why_not(self, owner: User, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("SHOPCOOL_OWNER_PASSWORD", "amber-rope-ladder")

        with pytest.raises(CommandError, match="Somebody already signs in as “olga”"):
            call_command("owner_create", "olga", "Olga Brandt")

    def test_the_system_may_create_people(self, db: None, now: datetime) -> None:
        assert user_create(actor=SYSTEM, now=now, **NEWCOMER).username == "nils"
