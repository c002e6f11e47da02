"""Rules that every template keeps."""

from __future__ import annotations

import re
from pathlib import Path

from django.conf import settings
from django.test import Client
from django.urls import reverse

TEMPLATES = Path(settings.BASE_DIR) / "templates"
INCLUDED = re.compile(r'{% include "([^"]+)"([^%]*)%}')
POSTED = re.compile(r'<form[^>]*method="post"[^>]*>(.*?)</form>', re.DOTALL)
TOKEN = "{% csrf_token %}"


def included(path: Path) -> list[tuple[Path, bool]]:
    """Return the templates that a template includes, and whether each is left with nothing but its inputs."""
    found = INCLUDED.findall(path.read_text(encoding="utf-8"))
    return [(TEMPLATES / name, " only " in rest) for name, rest in found]


def sends_a_form(path: Path) -> bool:
    """Whether a template, or one that it passes the page's token on to, asks for the token."""
    if TOKEN in path.read_text(encoding="utf-8"):
        return True
    return any(sends_a_form(one) for one, isolated in included(path) if not isolated)


def test_every_form_that_is_sent_gets_the_token_of_its_page():
    starved = [
        f"{path.relative_to(TEMPLATES)} includes {one.relative_to(TEMPLATES)}"
        for path in TEMPLATES.rglob("*.html")
        for one, isolated in included(path)
        if isolated and sends_a_form(one)
    ]

    assert starved == []


def test_every_form_that_is_posted_has_a_token():
    bare = [
        str(path.relative_to(TEMPLATES))
        for path in TEMPLATES.rglob("*.html")
        for form in POSTED.findall(path.read_text(encoding="utf-8"))
        if TOKEN not in form
    ]

    assert set(bare) == {"styleguide.html"}, "the style guide's forms are never sent"


def test_a_form_without_the_token_is_refused_in_words():
    browser = Client(enforce_csrf_checks=True)

    answer = browser.post(reverse("people:sign_in"), {"username": "ingrid"})

    assert answer.status_code == 403
    assert "This page had grown too old to send." in answer.content.decode()
