"""Printing labels."""

from __future__ import annotations

from collections.abc import Sequence

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from equipment.forms.labels import LabelsForm
from equipment.labels import label_of
from equipment.links import scan_url
from equipment.models import Piece
from equipment.pages.labels import MOST_LABELS, labels_page
from equipment.policies import may_print_labels
from equipment.views.doors import GET_OR_POST, colleague, posted, status_of
from shopcool.core import clock
from shopcool.core.documents import typeset_labels


@require_http_methods(GET_OR_POST)
def labels(request: HttpRequest) -> HttpResponse:
    """Show the pieces to tick and the papers; hand out the PDF."""
    actor, sent = colleague(request, may_print_labels), posted(request)
    base = settings.PUBLIC_URL or request.build_absolute_uri("/")
    page = labels_page(actor=actor, narrowed=request.GET, sent=sent or request.GET, base=base)
    form = LabelsForm(sent)
    if form.is_valid():
        pieces = page.chosen(everything=form.cleaned_data["everything"])
        if 0 < len(pieces) <= MOST_LABELS:
            return _pdf(form, pieces, base)
        form.add_error(None, _too_many() if pieces else _("Tick the pieces that need a label."))
    context = {"page": page, "form": form, "title": _("Labels")}
    return render(request, "equipment/labels.html", context, status=status_of(form))


def _too_many() -> str:
    return _("More than %(most)d labels at once: narrow the list first.") % {"most": MOST_LABELS}


def _pdf(form: LabelsForm, pieces: Sequence[Piece], base: str) -> HttpResponse:
    title = ngettext("Label of one piece", "Labels of %(count)d pieces", len(pieces)) % {"count": len(pieces)}
    pdf = typeset_labels(
        form.paper.sheet,
        [label_of(piece, f"{base.rstrip('/')}{scan_url(piece.public_id)}") for piece in pieces],
        title=title,
        start=form.cleaned_data["start"],
        language=(get_language() or "en").split("-")[0],
        made_at=clock.now(),
    )
    headers = {"Content-Disposition": 'attachment; filename="labels.pdf"', "Cache-Control": "no-store"}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
