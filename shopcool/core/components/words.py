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
    """Return a text whose names of refrigerants stay whole: never "R-" with "134a" in the next line."""
    escaped = conditional_escape(text if isinstance(text, SafeString) else str(text))
    return SafeString(_NAME.sub(r'<span class="nowrap">\g<0></span>', escaped))
