"""Attaching a file: once, complete or not at all, and never changed unnoticed."""

from __future__ import annotations

import os
import threading
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from pytest_django import DjangoDbBlocker

from shopcool.attachments import services
from shopcool.attachments.errors import AlreadyWithdrawn, FileRefused, KeyReused, TextTooLong
from shopcool.attachments.gallery import galleries, gallery
from shopcool.attachments.models import Attachment, Withdrawal
from shopcool.attachments.parents import Parent
from shopcool.attachments.preparing import Upload
from shopcool.attachments.services import attachment_add, attachment_withdraw
from shopcool.attachments.storage import file_path, sha256_of, thumbnail_path
from shopcool.attachments.sweeping import attachments_sweep
from shopcool.core.actors import SYSTEM, Actor, Role
from shopcool.core.errors import NotAllowed
from shopcool.people.models import User
from shopcool.vehicles.models import Vehicle
from tests.attachments.files import paper, photo
from tests.people_fixtures import person

PHOTO = Upload("IMG_1.jpg", photo())


def stored(folder: Path) -> list[str]:
    """Return the names of all files of the attachments."""
    return sorted(path.name for path in folder.glob("*/*"))


@pytest.fixture
def attached(anna: Actor, car: Parent, now: datetime) -> Attachment:
    """A photo on a car."""
    return attachment_add(
        actor=anna, parent=car, upload=PHOTO, caption="Label", submission_key=uuid4(), now=now
    )


class TestAdd:
    def test_keeps_file_and_record(self, attached: Attachment, anna: Actor, now: datetime) -> None:
        row = Attachment.objects.get()

        assert (row.name, row.caption, row.media_type) == ("IMG_1.jpg", "Label", "image/jpeg")
        assert (row.recorded_by_id, row.recorded_at) == (anna.user_id, now)
        assert (row.width, row.height, row.pages) == (64, 48, None)
        path = file_path(row.public_id, row.type)
        assert (path.stat().st_size, sha256_of(path)) == (row.byte_size, row.sha256)
        assert sha256_of(thumbnail_path(row.public_id)) == row.thumbnail_sha256
        assert path.stat().st_mode & 0o077 == path.parent.stat().st_mode & 0o077 == 0

    def test_twice_with_the_same_key_attaches_once(
        self, anna: Actor, car: Parent, now: datetime, file_folder: Path
    ) -> None:
        key = uuid4()
        first, again = (
            attachment_add(actor=anna, parent=car, upload=PHOTO, submission_key=key, now=now)
            for _press in range(2)
        )
        other = attachment_add(
            actor=anna, parent=car, upload=Upload("b.pdf", paper()), submission_key=key, now=now
        )

        assert first == again != other
        assert len(stored(file_folder)) == 4

    def test_of_the_same_form_to_something_else_is_refused(
        self, anna: Actor, attached: Attachment, now: datetime
    ) -> None:
        elsewhere = Parent("vehicle", "0", "another", "/")

        with pytest.raises(KeyReused, match="sent already, for something else"):
            attachment_add(
                actor=anna, parent=elsewhere, upload=PHOTO, submission_key=attached.submission_key, now=now
            )

    def test_needs_the_right_to_and_a_person(
        self, outsider: User, car: Parent, now: datetime, file_folder: Path
    ) -> None:
        for actor in (outsider.as_actor(), SYSTEM):
            with pytest.raises(NotAllowed):
                attachment_add(actor=actor, parent=car, upload=PHOTO, submission_key=uuid4(), now=now)
        with pytest.raises(NotAllowed):
            attachment_add(
                actor=person("kim", "Kim", Role.OWNER).as_actor(), parent=Parent("moon", "1", "", "/"),
                upload=PHOTO, submission_key=uuid4(), now=now,
            )  # fmt: skip
        assert stored(file_folder) == []

    def test_refuses_a_caption_that_is_too_long(self, anna: Actor, car: Parent, now: datetime) -> None:
        with pytest.raises(TextTooLong, match="at most 200 characters"):
            attachment_add(
                actor=anna, parent=car, upload=PHOTO, submission_key=uuid4(), now=now, caption="x" * 201
            )

    def test_that_is_refused_or_rolled_back_leaves_no_file(
        self,
        anna: Actor,
        car: Parent,
        now: datetime,
        file_folder: Path,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        with pytest.raises(FileRefused, match="Only photos"):
            attachment_add(
                actor=anna, parent=car, upload=Upload("a.gif", b"GIF89a"), submission_key=uuid4(), now=now
            )
        seen = []

        def fails(*_arguments: object, **_named: object) -> None:
            seen.extend(stored(file_folder))
            raise IntegrityError("the row can't be written")

        monkeypatch.setattr(services, "append", fails)
        with pytest.raises(IntegrityError, match="can't be written"):
            attachment_add(actor=anna, parent=car, upload=PHOTO, submission_key=uuid4(), now=now)

        assert len(seen) == 2
        assert stored(file_folder) == []
        assert not Attachment.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_once_attach_once(
    anna: Actor, car: Parent, now: datetime, file_folder: Path, django_db_blocker: DjangoDbBlocker
) -> None:
    key, start, found = uuid4(), threading.Barrier(3), []

    def press() -> None:
        start.wait()
        row = attachment_add(actor=anna, parent=car, upload=PHOTO, submission_key=key, now=now)
        found.append(row.pk)
        connection.close()

    presses = [threading.Thread(target=press) for _press in range(3)]
    for one in presses:
        one.start()
    for one in presses:
        one.join()

    assert len(found) == 3
    assert len(set(found)) == 1
    assert len(stored(file_folder)) == 2


class TestWithdraw:
    def test_hides_it_from_everybody_but_the_owner_and_keeps_the_file(
        self, attached: Attachment, anna: Actor, owner: User, car: Parent, now: datetime
    ) -> None:
        attachment_withdraw(actor=anna, attachment=attached, reason=" Wrong  car ", now=now)

        assert gallery(anna, car).pictures == ()
        (shown,) = gallery(owner.as_actor(), car).pictures
        assert shown.withdrawn == "Withdrawn by Timo Lindqvist: Wrong car"
        assert sha256_of(file_path(attached.public_id, attached.type)) == attached.sha256

    def test_twice_records_it_once_and_another_reason_is_told_who_was_faster(
        self, attached: Attachment, anna: Actor, owner: User, now: datetime
    ) -> None:
        first, again = (
            attachment_withdraw(actor=anna, attachment=attached, reason="Wrong car", now=now)
            for _ in range(2)
        )

        assert first == again
        with pytest.raises(AlreadyWithdrawn, match="Timo Lindqvist withdrew it before"):
            attachment_withdraw(actor=owner.as_actor(), attachment=attached, reason="Blurred", now=now)

    def test_needs_a_reason_and_who_attached_it_or_an_owner(
        self, attached: Attachment, anna: Actor, colleague: User, owner: User, now: datetime
    ) -> None:
        with pytest.raises(TextTooLong, match="Say why"):
            attachment_withdraw(actor=anna, attachment=attached, reason="  ", now=now)
        with pytest.raises(NotAllowed):
            attachment_withdraw(actor=colleague.as_actor(), attachment=attached, reason="Mine", now=now)
        attachment_withdraw(actor=owner.as_actor(), attachment=attached, reason="Blurred", now=now)
        assert Withdrawal.objects.get().recorded_by_name == "Olga Brandt"


class TestRecord:
    @pytest.mark.parametrize("table", ["attachments_attachment", "attachments_withdrawal"])
    def test_is_never_changed_or_deleted(
        self, attached: Attachment, anna: Actor, now: datetime, table: str
    ) -> None:
        attachment_withdraw(actor=anna, attachment=attached, reason="Wrong car", now=now)
        statements = (f"UPDATE {table} SET recorded_by_name = 'Nobody'", f"DELETE FROM {table}")
        for statement in statements:
            with (
                pytest.raises(IntegrityError, match="never changed or deleted"),
                transaction.atomic(),
                connection.cursor() as cursor,
            ):
                cursor.execute(statement)

    def test_is_verified_together_with_its_files(self, attached: Attachment) -> None:
        out = StringIO()
        call_command("verify_records", stdout=out)
        assert "attached files: ok" in out.getvalue()

        path = file_path(attached.public_id, attached.type)
        path.write_bytes(path.read_bytes()[:-1] + b"\0")
        thumbnail_path(attached.public_id).unlink()

        with pytest.raises(CommandError) as found:
            call_command("verify_records", stdout=out)
        assert f"file of attachment {attached.public_id} (IMG_1.jpg) was changed" in str(found.value)
        assert f"thumbnail of attachment {attached.public_id} (IMG_1.jpg) is missing" in str(found.value)


def test_sweep_removes_what_no_record_knows_after_a_day(
    attached: Attachment, file_folder: Path, now: datetime
) -> None:
    orphan = file_folder / "ab" / f"ab{'0' * 30}.jpg"
    torn = file_path(attached.public_id, attached.type).with_name(f"{attached.public_id}.jpg.1f.part")
    fresh = file_folder / "ab" / f"ab{'1' * 30}.jpg"
    orphan.parent.mkdir(exist_ok=True)
    for path, age in ((orphan, 25), (torn, 25), (fresh, 1)):
        path.write_bytes(b"left behind")
        then = (now - timedelta(hours=age)).timestamp()
        os.utime(path, (then, then))
    for public_file in file_folder.glob(f"*/{attached.public_id}*"):
        old = (now - timedelta(days=30)).timestamp()
        os.utime(public_file, (old, old))

    assert set(attachments_sweep(now=now)) == {orphan, torn}
    assert fresh.name in stored(file_folder)
    assert len(stored(file_folder)) == 3


def test_galleries_of_many_things_cost_two_queries(
    anna: Actor, now: datetime, django_assert_num_queries: object
) -> None:
    parents = []
    for number in range(3):
        vehicle = Vehicle.objects.create(registration=f"TQ {number}", make="Example", model="Test")
        parent = Parent("vehicle", str(vehicle.pk), "", "/")
        attachment_add(actor=anna, parent=parent, upload=PHOTO, submission_key=uuid4(), now=now)
        parents.append(parent)

    with django_assert_num_queries(2):  # type: ignore[operator]
        found = galleries(anna, parents)

    assert [len(found[parent.key].pictures) for parent in parents] == [1, 1, 1]
