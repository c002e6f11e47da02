"""Attachments on pages of packages that stand below: their views can't read them, so their template asks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import template

from shopcool.attachments.competences import competence_parent
from shopcool.attachments.gallery import Gallery, galleries
from shopcool.people.requests import actor_of
from shopcool.people.selectors import CompetenceRow

register = template.Library()


@register.simple_tag(takes_context=True)
def with_attachments(
    context: dict[str, Any], rows: Sequence[CompetenceRow]
) -> list[tuple[CompetenceRow, Gallery]]:
    """Return each certificate with what is attached to it, all in one query."""
    parents = [competence_parent(row.competence) for row in rows]
    attached = galleries(actor_of(context["request"]), parents)
    return [(row, attached[parent.key]) for row, parent in zip(rows, parents, strict=True)]
