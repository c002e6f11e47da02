"""How words are set on a page."""

from __future__ import annotations

import re

from django.template import Library
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString

register = Library()

_NAME = re.compile(r"\bR-\d+[a-z]*\b")


@register.filter
def unbroken(text: object) -> SafeString:
    """Return a text whose names of refrigerants stay whole: never "R-" with "134a" in the next line.

    One span holds it all: in a row of parts, a text in pieces would lose the spaces between them.
    """
    escaped = conditional_escape(text if isinstance(text, SafeString) else str(text))
    whole = _NAME.sub(r'<span class="nowrap">\g<0></span>', escaped)
    return SafeString(whole if whole == escaped else f"<span>{whole}</span>")
