"""What pages show of attachments: small pictures with what they show, who attached them and when."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.paginator import Page, Paginator
from django.template.defaultfilters import filesizeformat
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shopcool.attachments.models import Attachment
from shopcool.attachments.parents import Parent, may_add_to
from shopcool.attachments.policies import may_withdraw
from shopcool.attachments.selectors import attachments_of
from shopcool.core.actors import Actor

ON_THE_PARENT = 8
ON_A_PAGE = 24


@dataclass(frozen=True)
class Picture:
    """One attachment as a small picture; ``withdrawn`` says who took it back and why."""

    title: str
    size: str
    who: str
    at: datetime
    is_picture: bool
    url: str
    file_url: str
    thumbnail_url: str
    withdrawn: str = ""
    withdraw_url: str = ""


@dataclass(frozen=True)
class Gallery:
    """What is attached to one thing, newest first. ``add_url`` is empty for who may not attach anything."""

    pictures: tuple[Picture, ...]
    add_url: str
    all_url: str = ""


def gallery(actor: Actor, parent: Parent) -> Gallery:
    """Return the newest attachments of a thing, in one query."""
    rows = list(attachments_of(actor, [parent])[: ON_THE_PARENT + 1])
    shown = rows[:ON_THE_PARENT]
    address = parent_address(parent) if len(rows) > len(shown) else ""
    return Gallery(_pictures(actor, shown), _add_url(actor, parent), address)


def galleries(actor: Actor, parents: Sequence[Parent]) -> dict[str, Gallery]:
    """Return the galleries of several things of one kind by their keys, with two queries however many."""
    found: dict[str, list[Attachment]] = {parent.key: [] for parent in parents}
    if parents:
        for row in attachments_of(actor, parents):
            found[row.parent_key].append(row)
    return {
        parent.key: Gallery(_pictures(actor, found[parent.key]), _add_url(actor, parent))
        for parent in parents
    }


def gallery_page(actor: Actor, parent: Parent, number: str) -> tuple[Gallery, Page[Attachment]]:
    """Return one sheet of everything that is attached to a thing."""
    sheet = Paginator(attachments_of(actor, [parent]), ON_A_PAGE).get_page(number)
    return Gallery(_pictures(actor, sheet), _add_url(actor, parent)), sheet


def picture_of(actor: Actor, row: Attachment) -> Picture:
    """Return one attachment, loaded with its withdrawal, as the actor sees it."""
    taken_back = row.taken_back
    may_take_back = taken_back is None and may_withdraw(actor, row)
    return Picture(
        title=str(row),
        size=size_words(row),
        who=row.recorded_by_name,
        at=row.recorded_at,
        is_picture=row.type.is_picture,
        url=reverse("attachments:attachment", args=[row.public_id]),
        file_url=reverse("attachments:file", args=[row.public_id]),
        thumbnail_url=reverse("attachments:thumbnail", args=[row.public_id]),
        withdrawn=_("Withdrawn by %(who)s: %(why)s")
        % {"who": taken_back.recorded_by_name, "why": taken_back.reason}
        if taken_back
        else "",
        withdraw_url=reverse("attachments:withdraw", args=[row.public_id]) if may_take_back else "",
    )


def size_words(row: Attachment) -> str:
    """Return how large an attachment is: pages of a document or pixels of a picture, and bytes."""
    if row.pages:
        extent = ngettext("%(pages)d page", "%(pages)d pages", row.pages) % {"pages": row.pages}
    else:
        extent = f"{row.width} × {row.height}"
    return f"{extent}, {filesizeformat(row.byte_size)}"


def parent_address(parent: Parent) -> str:
    """Return the page of everything that is attached to a thing, where more is attached."""
    return reverse("attachments:of", args=[parent.kind, parent.key])


def _pictures(actor: Actor, rows: Iterable[Attachment]) -> tuple[Picture, ...]:
    return tuple(picture_of(actor, row) for row in rows)


def _add_url(actor: Actor, parent: Parent) -> str:
    return parent_address(parent) if may_add_to(actor, parent) else ""
