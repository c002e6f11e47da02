"""What files are attached to: each package registers its own things, this one knows none of them.

Deny by default: a kind that nobody registered has no attachments, and who may not see a thing is answered
as if it did not exist.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.http import Http404
from django.utils.translation import gettext as _

from shopcool.core.actors import Actor

#: The longest name of a kind and of a thing of that kind.
LONGEST_KIND = 20
LONGEST_KEY = 40


@dataclass(frozen=True)
class Parent:
    """A thing of the workshop: ``key`` is its public name, which never changes.

    ``url`` is its page, or its place on the page of something larger.
    """

    kind: str
    key: str
    name: str
    url: str

    @property
    def gallery_url(self) -> str:
        """Where its attachments are shown: beside it on a larger page, else in a card of its own page."""
        return self.url if "#" in self.url else f"{self.url}#attachments"


@dataclass(frozen=True)
class ParentKind:
    """A kind of thing. ``find`` returns None for whoever may not see the thing, and for none at all."""

    kind: str
    find: Callable[[Actor, str], Parent | None]
    may_add: Callable[[Actor], bool]


_KINDS: dict[str, ParentKind] = {}


def register(kind: ParentKind) -> None:
    """Let things of a kind have attachments; called once, when its package is ready.

    Raises ValueError when the kind is taken or its name is too long.
    """
    if kind.kind in _KINDS or len(kind.kind) > LONGEST_KIND:
        raise ValueError(f"The kind {kind.kind!r} is taken or longer than {LONGEST_KIND} letters.")
    _KINDS[kind.kind] = kind


def parent_for(actor: Actor, kind: str, key: str) -> Parent:
    """Return a thing that the actor may see; raises Http404 otherwise."""
    known = _KINDS.get(kind)
    sensible = len(key) <= LONGEST_KEY and key.isprintable()
    found = known.find(actor, key) if known and sensible else None
    if found is None:
        raise Http404(_("There is nothing here, or it is not yours to see."))
    return found


def may_add_to(actor: Actor, parent: Parent) -> bool:
    """Whether the actor, who may see the thing, may also attach something to it."""
    known = _KINDS.get(parent.kind)
    return known is not None and known.may_add(actor)


def row_number(key: str) -> int:
    """Return the number that a key is, 0 for any other text: no row has it."""
    return int(key) if key.isascii() and key.isdecimal() and len(key) <= 18 else 0
