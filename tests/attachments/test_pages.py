"""The pages of attachments: who gets in, what is shown, and what a refusal says beside its field."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils.html import escape
from pytest_django.fixtures import Settings

from shopcool.attachments.models import Attachment
from shopcool.attachments.parents import Parent
from shopcool.attachments.preparing import Upload
from shopcool.attachments.services import attachment_add
from shopcool.attachments.storage import file_path
from shopcool.core.actors import Actor
from shopcool.people.models import User
from tests.attachments.files import paper, photo
from tests.people_fixtures import SignedIn, certified

LOOKS = ("attachment", "file", "thumbnail")
People = tuple[User, User, User, User]


@pytest.fixture
def people(outsider: User, front_desk: User, technician: User, owner: User) -> People:
    """Outsider, front desk, technician and owner."""
    return outsider, front_desk, technician, owner


def statuses(people: People, signed_in: SignedIn, address: str) -> list[int]:
    """Return how an address answers each of the people."""
    answers = [signed_in(user).get(address) for user in people]
    for answer in answers:
        if answer.streaming:
            b"".join(answer.streaming_content)  # type: ignore[arg-type]
    return [answer.status_code for answer in answers]


def put(actor: Actor, parent: Parent, now: datetime, content: bytes, name: str = "IMG.jpg") -> Attachment:
    return attachment_add(
        actor=actor, parent=parent, upload=Upload(name, content), submission_key=uuid4(), now=now
    )


def send(browser: Client, parent: Parent, *files: tuple[str, bytes], **values: object) -> HttpResponse:
    chosen = [SimpleUploadedFile(name, content) for name, content in files]
    data = {"submission_key": uuid4(), "chosen": chosen, "caption": "", **values}
    return browser.post(reverse("attachments:of", args=[parent.kind, parent.key]), data)  # type: ignore[return-value]


class TestRights:
    def test_to_see_and_to_attach_follow_what_it_belongs_to(
        self, people: People, signed_in: SignedIn, car: Parent, anna: Actor, now: datetime
    ) -> None:
        row = put(anna, car, now, photo())
        pages = [
            reverse("attachments:of", args=["vehicle", car.key]),
            *(reverse(f"attachments:{name}", args=[row.public_id]) for name in LOOKS),
        ]

        for page in pages:
            assert statuses(people, signed_in, page) == [404, 200, 200, 200], page
        assert [send(signed_in(user), car, ("a.jpg", photo())).status_code for user in people] == [
            404, 302, 302, 302
        ]  # fmt: skip

    def test_of_a_certificate_are_its_person_s_to_see_and_the_owner_s_to_change(
        self, people: People, signed_in: SignedIn
    ) -> None:
        _outsider, _front_desk, technician, _owner = people
        held = technician.competences.first()
        assert held is not None
        parent = Parent("competence", str(held.pk), "", "/")
        page = reverse("attachments:of", args=[parent.kind, parent.key])

        assert statuses(people, signed_in, page) == [404, 404, 200, 200]
        sent = [send(signed_in(user), parent, ("a.pdf", paper())).status_code for user in people]
        assert sent == [404, 404, 403, 302]

    def test_to_withdraw_are_of_who_attached_it_and_the_owner(
        self, people: People, signed_in: SignedIn, car: Parent, anna: Actor, now: datetime
    ) -> None:
        outsider, front_desk, technician, owner = people
        row = put(anna, car, now, photo())
        page = reverse("attachments:withdraw", args=[row.public_id])
        file = reverse("attachments:file", args=[row.public_id])

        assert signed_in(outsider).post(page, {"reason": "x"}).status_code == 404
        assert signed_in(front_desk).post(page, {"reason": "x"}).status_code == 403
        assert signed_in(technician).post(page, {"reason": ""}).status_code == 422
        assert signed_in(technician).post(page, {"reason": "Wrong car"}).status_code == 302
        # From now on only the owner sees it.
        assert statuses(people, signed_in, file) == [404, 404, 404, 200]
        shown = signed_in(owner).get(reverse("attachments:attachment", args=[row.public_id]))
        assert "Withdrawn by Timo Lindqvist: Wrong car" in shown.content.decode()

    @pytest.mark.parametrize(
        "address",
        [
            "/attachments/of/moon/1/", "/attachments/of/vehicle/99999/", "/attachments/of/vehicle/x/",
            "/attachments/of/vehicle/٣/",
            f"/attachments/of/vehicle/{'9' * 60}/", "/attachments/nothing/file/",
        ],
    )  # fmt: skip
    def test_end_where_nothing_is(self, signed_in: SignedIn, owner: User, address: str) -> None:
        assert signed_in(owner).get(address).status_code == 404

    def test_need_a_form_of_our_own(self, car: Parent, technician: User) -> None:
        browser = Client(enforce_csrf_checks=True)
        browser.force_login(technician)

        assert send(browser, car, ("a.jpg", photo())).status_code == 403
        assert not Attachment.objects.exists()


class TestAttaching:
    def test_several_files_leads_back_to_where_they_belong(
        self, signed_in: SignedIn, technician: User, car: Parent
    ) -> None:
        taken = SimpleUploadedFile("cam.jpg", photo(32, 32))

        answer = send(
            signed_in(technician), car, ("a.jpg", photo()), ("b.pdf", paper()), taken=taken, caption="Label"
        )

        assert answer["Location"] == f"{car.url}#attachments"
        assert sorted(Attachment.objects.values_list("name", "caption")) == [
            ("a.jpg", "Label"), ("b.pdf", "Label"), ("cam.jpg", "Label"),
        ]  # fmt: skip

    def test_keeps_what_is_good_and_says_why_the_rest_is_not(
        self, signed_in: SignedIn, technician: User, car: Parent
    ) -> None:
        answer = send(
            signed_in(technician), car,
            ("a.jpg", photo()), ("<b>.gif", b"GIF89a"), ("c.jpg", b""), ("d.pdf", paper(password="x")),
            caption="Label",
        )  # fmt: skip

        text = answer.content.decode()
        assert answer.status_code == 422
        assert escape("“<b>.gif”: Only photos (JPEG, PNG, WebP) and PDFs can be attached") in text
        assert "“c.jpg”: The file is empty." in text
        assert "“d.pdf”: The PDF wants a password." in text
        assert "1 file is attached." in text
        assert 'value="Label"' in text
        assert Attachment.objects.get().name == "a.jpg"

    @pytest.mark.parametrize(
        ("number", "values", "sentence"),
        [
            (0, {}, "Take a photo or choose a file."),
            (11, {}, "At most 10 files at once, please."),
            (1, {"caption": "x" * 400}, "at most 200 characters"),
            (1, {"caption": "a\x00b"}, "Null characters are not allowed."),
            (1, {"submission_key": "no key"}, "Enter a valid UUID."),
        ],
    )
    def test_is_refused_beside_its_field(
        self,
        signed_in: SignedIn,
        technician: User,
        car: Parent,
        number: int,
        values: dict[str, str],
        sentence: str,
    ) -> None:
        answer = send(signed_in(technician), car, *[("a.jpg", photo())] * number, **values)

        assert answer.status_code == 422
        assert sentence in answer.content.decode()
        assert not Attachment.objects.exists()

    def test_of_more_than_anybody_sends_is_turned_away_unread(
        self, signed_in: SignedIn, technician: User, car: Parent, settings: Settings
    ) -> None:
        settings.ATTACHMENT_MEGABYTES = 0.001

        answer = send(signed_in(technician), car, ("a.jpg", bytes(1_100_000)))

        assert answer.status_code == 413
        assert "Together the files are larger than 1 MB" in answer.content.decode()


class TestFile:
    def test_of_a_photo_is_shown_and_runs_nothing(
        self, signed_in: SignedIn, technician: User, car: Parent, anna: Actor, now: datetime
    ) -> None:
        row = put(anna, car, now, photo())
        address, browser = reverse("attachments:file", args=[row.public_id]), signed_in(technician)

        answer = browser.get(address)

        assert b"".join(answer.streaming_content) == file_path(row.public_id, row.type).read_bytes()  # type: ignore[arg-type]
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["Content-Disposition"].startswith("inline")
        assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["Cache-Control"] == "private, no-cache"
        assert browser.get(address, headers={"If-None-Match": answer["ETag"]}).status_code == 304

    def test_of_a_pdf_is_a_download_under_its_own_name(
        self, signed_in: SignedIn, technician: User, car: Parent, anna: Actor, now: datetime
    ) -> None:
        row = put(anna, car, now, paper(), 'Prüf"ung\r\nX: 1.pdf')

        answer = signed_in(technician).get(reverse("attachments:file", args=[row.public_id]))

        assert answer["Content-Type"] == "application/pdf"
        assert answer["Content-Disposition"] == "attachment; filename*=utf-8''Pr%C3%BCf%22ungX%3A%201.pdf"
        assert b"".join(answer.streaming_content) == paper()  # type: ignore[arg-type]

    def test_that_is_missing_on_the_disk_is_said_to_be(
        self, signed_in: SignedIn, technician: User, car: Parent, anna: Actor, now: datetime
    ) -> None:
        row = put(anna, car, now, photo())
        file_path(row.public_id, row.type).unlink()

        answer = signed_in(technician).get(reverse("attachments:file", args=[row.public_id]))

        assert answer.status_code == 404


def test_names_and_captions_are_shown_as_text(
    signed_in: SignedIn, technician: User, car: Parent, anna: Actor, now: datetime
) -> None:
    row = attachment_add(
        actor=anna, parent=car, upload=Upload("<img>.jpg", photo()), caption="<script>x</script>",
        submission_key=uuid4(), now=now,
    )  # fmt: skip
    browser = signed_in(technician)

    for page in (car.url, reverse("attachments:attachment", args=[row.public_id])):
        text = browser.get(page).content.decode()
        assert "&lt;script&gt;x&lt;/script&gt;" in text
        assert "<script>x" not in text


def test_certificates_show_what_is_attached(
    signed_in: SignedIn, owner: User, technician: User, now: datetime
) -> None:
    held = certified(technician).competences.first()
    assert held is not None
    row = put(owner.as_actor(), Parent("competence", str(held.pk), "", "/"), now, paper(), "card.pdf")

    text = signed_in(technician).get(reverse("people:person_detail", args=[technician.pk])).content.decode()

    assert reverse("attachments:attachment", args=[row.public_id]) in text
    assert reverse("attachments:of", args=["competence", held.pk]) not in text
