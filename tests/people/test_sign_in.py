"""Signing in: right, wrong, too often, and back to the page that was wanted."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from threading import Barrier

import pytest
from django.db import connection
from django.test import Client
from pytest_django import Settings

from shopcool.people.models import SignInAttempt, User
from shopcool.people.services.sign_in import FAILURES_PER_NAME, TooManySignIns, WrongSignIn, sign_in_check
from tests.people_fixtures import PASSWORD, SignedIn

TABLET = "192.0.2.10"


def fail(username: str, now: datetime, times: int = 1, address: str = TABLET) -> None:
    for _ in range(times):
        with pytest.raises(WrongSignIn, match="The name or the password is wrong"):
            sign_in_check(username=username, password="wrong", address=address, now=now)


class TestSignInCheck:
    def test_returns_the_person_however_the_name_is_written(self, technician: User, now: datetime) -> None:
        found = sign_in_check(username=" Timo ", password=PASSWORD, address=TABLET, now=now)

        assert found == technician

    def test_refuses_a_person_who_left_in_the_same_words_as_a_wrong_password(
        self, technician: User, now: datetime
    ) -> None:
        technician.is_active = False
        technician.save()

        with pytest.raises(WrongSignIn, match="The name or the password is wrong"):
            sign_in_check(username="timo", password=PASSWORD, address=TABLET, now=now)

    def test_closes_the_name_after_five_failures_and_says_how_long(
        self, technician: User, now: datetime
    ) -> None:
        fail("timo", now, times=5)

        with pytest.raises(TooManySignIns, match=r"Too many wrong sign-ins\. Try again in 10 minutes\."):
            sign_in_check(username="timo", password=PASSWORD, address=TABLET, now=now + timedelta(minutes=5))

    def test_opens_the_name_again_after_fifteen_minutes(self, technician: User, now: datetime) -> None:
        fail("timo", now, times=5)

        later = now + timedelta(minutes=15)

        assert sign_in_check(username="timo", password=PASSWORD, address=TABLET, now=later) == technician

    def test_leaves_the_other_names_open(self, technician: User, owner: User, now: datetime) -> None:
        fail("timo", now, times=5)

        assert sign_in_check(username="olga", password=PASSWORD, address=TABLET, now=now) == owner

    def test_closes_the_address_after_twenty_failures(self, owner: User, now: datetime) -> None:
        for number in range(20):
            fail(f"guess{number}", now)

        with pytest.raises(TooManySignIns, match="Try again in 15 minutes"):
            sign_in_check(username="olga", password=PASSWORD, address=TABLET, now=now)
        assert sign_in_check(username="olga", password=PASSWORD, address="192.0.2.11", now=now) == owner

    def test_counts_names_but_no_address_over_a_local_socket(self, owner: User, now: datetime) -> None:
        for number in range(20):
            with pytest.raises(WrongSignIn, match="wrong"):
                sign_in_check(username=f"guess{number}", password="x", address=None, now=now)

        assert sign_in_check(username="olga", password=PASSWORD, address=None, now=now) == owner

    def test_forgives_earlier_failures_after_a_right_password(self, technician: User, now: datetime) -> None:
        fail("timo", now, times=4)
        sign_in_check(username="timo", password=PASSWORD, address=TABLET, now=now)

        fail("timo", now, times=4)

        assert SignInAttempt.objects.filter(username="timo").count() == 4

    def test_does_not_lengthen_the_wait_by_a_refused_attempt(self, technician: User, now: datetime) -> None:
        fail("timo", now, times=5)
        with pytest.raises(TooManySignIns, match="15 minutes"):
            sign_in_check(username="timo", password="x", address=TABLET, now=now)

        assert SignInAttempt.objects.count() == 5


@pytest.mark.django_db(transaction=True)
class TestGuessesInParallel:
    def test_gain_no_more_tries_than_one_after_the_other(self, technician: User, now: datetime) -> None:
        together = Barrier(16)

        def guess(number: int) -> type[Exception] | None:
            together.wait()
            try:
                sign_in_check(username="timo", password=f"guess {number}", address=TABLET, now=now)
            except (WrongSignIn, TooManySignIns) as refused:
                return type(refused)
            finally:
                connection.close()
            return None

        with ThreadPoolExecutor(16) as tablets:
            answers = list(tablets.map(guess, range(16)))

        assert set(answers) <= {WrongSignIn, TooManySignIns}
        assert answers.count(WrongSignIn) <= FAILURES_PER_NAME


class TestSignInPage:
    def test_leads_to_the_page_that_was_wanted(self, client: Client, technician: User) -> None:
        asked = client.get("/vehicles/")
        answer = client.post(asked.headers["Location"], {"username": "timo", "password": PASSWORD})

        assert asked.headers["Location"] == "/sign-in/?next=/vehicles/"
        assert (answer.status_code, answer.headers["Location"]) == (302, "/vehicles/")

    @pytest.mark.parametrize(
        "elsewhere", ["https://example.org/", "//example.org", "javascript:alert(1)", "/\\example.org"]
    )
    def test_never_leads_to_another_site(self, client: Client, technician: User, elsewhere: str) -> None:
        answer = client.post("/sign-in/", {"username": "timo", "password": PASSWORD, "next": elsewhere})

        assert answer.status_code == 302
        assert "example" not in answer.headers["Location"]
        assert "script" not in answer.headers["Location"]

    def test_keeps_the_name_and_shows_the_reason_beside_the_password(
        self, client: Client, technician: User
    ) -> None:
        answer = client.post("/sign-in/", {"username": "timo", "password": "wrong"})

        assert answer.status_code == 422
        assert answer.context["form"].errors["password"] == ["The name or the password is wrong."]
        assert 'value="timo"' in answer.content.decode()
        assert "wrong</" not in answer.content.decode().split('type="password"')[1].split(">")[0]

    def test_says_how_long_to_wait_after_too_many_failures(self, client: Client, technician: User) -> None:
        for _ in range(5):
            client.post("/sign-in/", {"username": "timo", "password": "wrong"})

        answer = client.post("/sign-in/", {"username": "timo", "password": PASSWORD})

        assert "Try again in 15 minutes." in answer.context["form"].non_field_errors()[0]
        assert "_auth_user_id" not in client.session

    def test_takes_a_name_of_400_characters_as_a_wrong_one(self, client: Client, db: None) -> None:
        answer = client.post("/sign-in/", {"username": "x" * 400, "password": "y"})

        assert answer.status_code == 422
        assert "at most 60 characters" in answer.context["form"].errors["username"][0]

    def test_counts_the_proxys_own_address_only(
        self, client: Client, technician: User, settings: Settings
    ) -> None:
        settings.BEHIND_PROXY = True

        client.post(
            "/sign-in/",
            {"username": "timo", "password": "wrong"},
            headers={"X-Forwarded-For": "203.0.113.7, 198.51.100.4"},
        )

        assert SignInAttempt.objects.get().address == "198.51.100.4"

    def test_survives_a_proxy_that_writes_nonsense(
        self, client: Client, technician: User, settings: Settings
    ) -> None:
        settings.BEHIND_PROXY = True

        client.post(
            "/sign-in/", {"username": "timo", "password": "wrong"}, headers={"X-Forwarded-For": "unknown"}
        )

        assert SignInAttempt.objects.get().address is None


class TestSignOut:
    def test_ends_the_session(self, signed_in: SignedIn, technician: User) -> None:
        client = signed_in(technician)

        answer = client.post("/sign-out/")

        assert answer.headers["Location"] == "/sign-in/"
        assert "_auth_user_id" not in client.session

    def test_is_not_done_by_a_mere_link(self, signed_in: SignedIn, technician: User) -> None:
        client = signed_in(technician)

        assert client.get("/sign-out/").status_code == 405
        assert "_auth_user_id" in client.session


class TestChangePerson:
    def test_keeps_the_page_and_swaps_the_person(
        self, signed_in: SignedIn, technician: User, owner: User
    ) -> None:
        tablet = signed_in(technician)
        tablet.session["draft"] = "of timo"
        old_session = tablet.session.session_key

        answer = tablet.post(
            "/change-person/", {"person": owner.pk, "password": PASSWORD, "next": "/vehicles/?q=ab"}
        )

        assert answer.headers["Location"] == "/vehicles/?q=ab"
        assert tablet.session["_auth_user_id"] == str(owner.pk)
        assert tablet.session.session_key != old_session
        assert "draft" not in tablet.session

    def test_keeps_the_first_person_after_a_wrong_password(
        self, signed_in: SignedIn, technician: User, owner: User
    ) -> None:
        tablet = signed_in(technician)

        answer = tablet.post("/change-person/", {"person": owner.pk, "password": "wrong"})

        assert answer.status_code == 422
        assert tablet.session["_auth_user_id"] == str(technician.pk)

    def test_offers_the_colleagues_who_may_sign_in(
        self, signed_in: SignedIn, technician: User, owner: User, front_desk: User
    ) -> None:
        front_desk.is_active = False
        front_desk.save()

        page = signed_in(technician).get("/change-person/").content.decode()

        assert "Olga Brandt" in page
        assert "Fria Nowak" not in page

    def test_shows_no_names_to_a_stranger_or_an_outsider(
        self, client: Client, signed_in: SignedIn, outsider: User, owner: User
    ) -> None:
        assert client.get("/change-person/").status_code == 302
        assert "Olga Brandt" not in signed_in(outsider).get("/change-person/").content.decode()
