"""The pages of attachments: what belongs to a thing, one of them, its file, and taking it back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import condition, require_http_methods, require_safe

from shopcool.attachments.errors import FileRefused
from shopcool.attachments.forms import AttachForm, WithdrawForm
from shopcool.attachments.gallery import gallery_page, picture_of
from shopcool.attachments.media import MediaType
from shopcool.attachments.models import Attachment
from shopcool.attachments.parents import Parent, may_add_to, parent_for
from shopcool.attachments.policies import may_withdraw
from shopcool.attachments.preparing import Upload
from shopcool.attachments.selectors import attachment_for
from shopcool.attachments.services import attachment_add, attachment_withdraw
from shopcool.attachments.storage import file_path, thumbnail_path
from shopcool.core import clock
from shopcool.core.actors import Actor
from shopcool.core.errors import DomainError, require
from shopcool.core.forms import add_domain_error
from shopcool.people.requests import actor_of

GET_OR_POST = ["GET", "HEAD", "POST"]
# A document that is opened in the browser after all runs nothing, loads nothing and is nobody.
SANDBOX = "sandbox; default-src 'none'"


@require_http_methods(GET_OR_POST)
def of(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    """Show everything that is attached to a thing; whoever may attaches more."""
    actor = actor_of(request)
    parent = parent_for(actor, kind, key)
    if request.method == "POST":
        require(may_add_to(actor, parent))
        form = AttachForm(request.POST, request.FILES)
        kept = _attach(actor, parent, form)
        if kept:
            messages.success(request, _attached(kept))
        if not form.errors:
            return redirect(parent.gallery_url)
    else:
        form = AttachForm()
    pictures, sheet = gallery_page(actor, parent, request.GET.get("page", "1"))
    context = {"gallery": pictures, "sheet": sheet, "parent": parent, "form": form, "draft": f"{kind}-{key}"}
    return render(request, "attachments/of.html", context, status=422 if form.is_bound else 200)


def _attach(actor: Actor, parent: Parent, form: AttachForm) -> int:
    """Attach each file of a form by itself and return how many; what is refused stands beside its field."""
    if not form.is_valid():
        return 0
    kept, data = 0, form.cleaned_data
    for field, file in form.with_fields(data):
        try:
            attachment_add(
                actor=actor,
                parent=parent,
                upload=Upload.of(file),
                caption=data["caption"],
                submission_key=data["submission_key"],
                now=clock.now(),
            )
            kept += 1
        except DomainError as error:
            sentence = _("“%(name)s”: %(why)s") % {"name": file.name, "why": error.message}
            blamed = field if isinstance(error, FileRefused) else error.field
            add_domain_error(form, DomainError(sentence, code=error.code, field=blamed))
    return kept


def _attached(number: int) -> str:
    return ngettext("%(number)d file is attached.", "%(number)d files are attached.", number) % {
        "number": number
    }


@require_safe
def attachment(request: HttpRequest, public_id: str) -> HttpResponse:
    """Show a photo large, or what a document is, with who attached it and when."""
    actor = actor_of(request)
    found, parent = attachment_for(actor, public_id)
    context = {
        "picture": picture_of(actor, found),
        "parent": parent,
        "facts": [(_("Name of the file"), found.name), (_("Kind"), str(found.type.label))],
        "checksums": _checksums(found),
    }
    return render(request, "attachments/attachment.html", context)


def _checksums(found: Attachment) -> list[tuple[str, str]]:
    """Return by what the stored file is recognised, and the one that was sent if it was another."""
    stored = (_("SHA-256"), found.sha256)
    sent = (_("SHA-256 as it was sent"), found.source_sha256)
    return [stored] if found.sha256 == found.source_sha256 else [stored, sent]


@require_http_methods(GET_OR_POST)
def withdraw(request: HttpRequest, public_id: str) -> HttpResponse:
    """Ask why an attachment is taken back, then do it."""
    actor = actor_of(request)
    found, parent = attachment_for(actor, public_id)
    require(may_withdraw(actor, found))
    form = WithdrawForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            attachment_withdraw(actor=actor, attachment=found, now=clock.now(), **form.cleaned_data)
        except DomainError as error:
            add_domain_error(form, error)
        else:
            messages.success(request, _("“%(name)s” is withdrawn.") % {"name": found})
            return redirect(parent.gallery_url)
    context = {"picture": picture_of(actor, found), "parent": parent, "form": form}
    return render(request, "attachments/withdraw.html", context, status=422 if form.is_bound else 200)


@require_safe
def file(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """Hand out the stored file: a picture to look at, a document to download."""
    found, _parent = attachment_for(actor_of(request), public_id)
    return file_response(request, found)


@require_safe
def thumbnail(request: HttpRequest, public_id: str) -> HttpResponseBase:
    """Hand out the small picture."""
    found, _parent = attachment_for(actor_of(request), public_id)
    return _answer(request, thumbnail_path(public_id), MediaType.JPEG, found.thumbnail_sha256)


def file_response(request: HttpRequest, found: Attachment) -> HttpResponseBase:
    """Return the file of an attachment that the person behind the request may see."""
    path = file_path(found.public_id, found.type)
    return _answer(request, path, found.type, found.sha256, name=found.name)


def _answer(
    request: HttpRequest, path: Path, media_type: MediaType, sha256: str, *, name: str = ""
) -> HttpResponseBase:
    """Answer with a file that a browser may keep, but asks for again each time: rights may have changed."""

    @condition(etag_func=lambda _request: f'"{sha256}"')
    def answer(_request: HttpRequest) -> Any:
        try:
            opened = path.open("rb")
        except FileNotFoundError as error:
            raise Http404(_("The file is missing on the disk. Restore it from a backup.")) from error
        is_download = not media_type.is_picture
        return FileResponse(opened, as_attachment=is_download, filename=name, content_type=media_type.value)

    response: HttpResponseBase = answer(request)
    response.headers["Content-Security-Policy"] = SANDBOX
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "private, no-cache"
    return response
