"""The record of a job lists what is attached to it and to its steps, and shows the photos small."""

from __future__ import annotations

from io import BytesIO
from uuid import uuid4

from pypdf import PdfReader

from jobs.attachments import job_parent, step_parent
from jobs.models import StepRecord
from shopcool.attachments.models import Attachment
from shopcool.attachments.parents import Parent
from shopcool.attachments.preparing import Upload
from shopcool.attachments.services import attachment_add, attachment_withdraw
from shopcool.core.documents import Photo, typeset
from tests.attachments.files import paper, photo
from tests.jobs.bay import Bay
from tests.jobs.reports.visit_told import document_of, section


def attach(bay: Bay, parent: Parent, name: str, content: bytes, caption: str = "") -> Attachment:
    upload, now = Upload(name, content), bay.workshop.later()
    return attachment_add(
        actor=bay.technician, parent=parent, upload=upload, submission_key=uuid4(), now=now, caption=caption
    )


def test_lists_every_file_that_stands_and_shows_the_photos(closed_bay: Bay) -> None:
    job = job_parent(closed_bay.job)
    label = attach(closed_bay, job, "IMG_1.jpg", photo(960, 720), "Label")
    record = StepRecord.objects.filter(job=closed_bay.job).latest("pk")
    slip = attach(closed_bay, step_parent(record, closed_bay.job), "slip.pdf", paper())
    wrong = attach(closed_bay, job, "wrong.jpg", photo())
    attachment_withdraw(
        actor=closed_bay.technician, attachment=wrong, reason="Other car", now=closed_bay.workshop.later()
    )

    document = document_of(closed_bay)
    part = section(document, "Photos and documents")

    (table,) = part.tables
    assert [(row[0], row[1].splitlines()[0], row[3]) for row in table.rows] == [
        ("Label", "IMG_1.jpg", f"{label.sha256[:16]}…"),
        ("–", "slip.pdf", f"{slip.sha256[:16]}…"),
    ]
    assert table.rows[0][2].splitlines()[1] == "Tilda"
    (small,) = part.photos
    assert isinstance(small, Photo)
    assert (small.told, small.width, small.height) == ("Label", 480, 360)
    printed = PdfReader(BytesIO(typeset(document, made_at=closed_bay.workshop.now)))
    (image,) = [image for page in printed.pages for image in page.images]
    assert image.image is not None
    red, _green, blue = image.image.convert("RGB").getpixel((20, 180))  # type: ignore[misc]
    assert red > 150 > blue


def test_says_nothing_where_nothing_is_attached(closed_bay: Bay) -> None:
    assert "Photos and documents" not in [part.title for part in document_of(closed_bay).sections]
