"""The REST doors of attachments do what the pages do, by the same services."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from pytest_django.fixtures import Settings
from rest_framework.test import APIClient

from shopcool.attachments.models import Attachment
from shopcool.people.models import User
from shopcool.vehicles.models import Vehicle
from tests.attachments.files import paper, photo


@pytest.fixture
def door(db: None, settings: Settings, tmp_path: Path) -> str:
    """The address of what is attached to a vehicle."""
    settings.MEDIA_ROOT = tmp_path / "files"
    vehicle = Vehicle.objects.create(registration="TQ 100", make="Example", model="Test")
    return f"/api/v1/attachments/of/vehicle/{vehicle.pk}/"


def asking(user: User) -> APIClient:
    client = APIClient()
    client.force_authenticate(user)
    return client


def sent(content: bytes, name: str = "a.pdf", **values: object) -> dict[str, Any]:
    return {"file": SimpleUploadedFile(name, content), **values}


def test_attach_list_read_and_take_back(door: str, technician: User, owner: User) -> None:
    client, key = asking(technician), uuid4()

    made = client.post(door, sent(paper(2), caption="Work order", submission_key=key))
    again = client.post(door, sent(paper(2), caption="Work order", submission_key=key))

    assert (made.status_code, again.status_code) == (201, 201)
    assert made.data["public_id"] == again.data["public_id"]
    assert (made.data["media_type"], made.data["pages"], made.data["withdrawal"]) == (
        "application/pdf",
        2,
        None,
    )
    one = f"/api/v1/attachments/{made.data['public_id']}/"
    assert client.get(one).data == client.get(door).data["results"][0]
    content = client.get(f"{one}content/")
    assert b"".join(content.streaming_content) == paper(2)
    assert client.post(f"{one}withdrawal/", {"reason": "Wrong car"}, format="json").status_code == 201
    assert client.get(one).status_code == 404
    assert client.get(door).data["count"] == 0
    assert asking(owner).get(one).data["withdrawal"]["reason"] == "Wrong car"


@pytest.mark.parametrize(
    ("values", "status", "field"),
    [
        (sent(b"GIF89a"), 400, "file"),
        (sent(b""), 400, "file"),
        ({}, 400, "file"),
        ({"file": "no file"}, 400, "file"),
        (sent(photo(), caption="x" * 201), 400, "caption"),
        (sent(photo(), caption="a\x00"), 400, "caption"),
        (sent(photo(), submission_key="x"), 400, "submission_key"),
    ],
)
def test_a_refusal_blames_its_field(
    door: str, technician: User, values: dict[str, Any], status: int, field: str
) -> None:
    answer = asking(technician).post(door, values)

    assert answer.status_code == status
    assert list(answer.data["fields"]) == [field]
    assert not Attachment.objects.exists()


def test_outsiders_find_nothing_and_strangers_are_asked_who_they_are(door: str, outsider: User) -> None:
    assert APIClient().post(door, sent(photo())).status_code == 401
    assert asking(outsider).get(door).status_code == 404
    assert asking(outsider).post(door, sent(photo())).status_code == 404


def test_a_request_that_is_too_large_is_turned_away(door: str, owner: User, settings: Settings) -> None:
    settings.ATTACHMENT_MEGABYTES = 0.001

    answer = asking(owner).post(door, sent(bytes(1_100_000)))

    assert answer.status_code == 413
    assert answer.json()["code"] == "file_refused"
