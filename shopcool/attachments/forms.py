"""What the pages ask for when a file is attached or taken back."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from shopcool.attachments.limits import MOST_FILES
from shopcool.attachments.models import LONGEST_CAPTION, LONGEST_REASON


class FilesInput(forms.FileInput):
    """Several files at once."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """The files that came with a form; what is inside each is looked at later."""

    widget = FilesInput

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile[Any]]:
        """Return the files, none when nothing was chosen."""
        return [super(FilesField, self).clean(file, initial) for file in data or []]


class AttachForm(forms.Form):
    """A photo taken now, files that exist already, and what they show."""

    taken = FilesField(
        label=_("Take a photo"),
        required=False,
        allow_empty_file=True,
        widget=FilesInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    chosen = FilesField(
        label=_("Choose photos or PDFs"),
        required=False,
        allow_empty_file=True,
        widget=FilesInput(attrs={"accept": "image/jpeg,image/png,image/webp,application/pdf"}),
        help_text=_("JPEG, PNG, WebP or PDF, several at once. Place and camera are removed from photos."),
    )
    caption = forms.CharField(label=_("What they show"), max_length=LONGEST_CAPTION, required=False)
    submission_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def clean(self) -> dict[str, Any]:
        """Want at least one file and not too many."""
        data = super().clean() or {}
        number = len(self.with_fields(data))
        if not number and not self.errors:
            self.add_error("chosen", ValidationError(_("Take a photo or choose a file."), code="required"))
        if number > MOST_FILES:
            sentence = _("At most %(limit)d files at once, please.") % {"limit": MOST_FILES}
            self.add_error("chosen", ValidationError(sentence, code="too_many"))
        return data

    @staticmethod
    def with_fields(data: dict[str, Any]) -> list[tuple[str, UploadedFile[Any]]]:
        """Return the files with the field that each came from."""
        return [(field, file) for field in ("taken", "chosen") for file in data.get(field, [])]


class WithdrawForm(forms.Form):
    """Why an attachment is taken back."""

    reason = forms.CharField(
        label=_("Why"), max_length=LONGEST_REASON, widget=forms.Textarea(attrs={"rows": 3})
    )
