"""A person at a tablet: opens pages of a job, reads them, fills their forms in and sends them."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from jobs.choices import StepKind
from jobs.models import Job
from jobs.pages.ways import step_url
from shopcool.people.models import User


class _Form(HTMLParser):
    """Collects what a browser would send with the form of an address."""

    def __init__(self, action: str) -> None:
        super().__init__()
        self.action = action
        self.inside = False
        self.values: dict[str, Any] = {}
        self.names: set[str] = set()
        self._area = ""
        self._select = ""

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attributes}
        if tag == "form":
            self.inside = given.get("action", "") == self.action
        if not self.inside:
            return
        name = given.get("name", "")
        if tag == "textarea":
            self._area = name
            self.values[name] = ""
        elif tag == "select":
            self._select = name
        elif tag == "option" and ("selected" in given or self._select not in self.values):
            self.values[self._select] = given.get("value", "")
        elif tag == "input" and name:
            self._input(name, given)
        self.names |= {name} - {""}

    def _input(self, name: str, given: dict[str, str]) -> None:
        kind = given.get("type", "text")
        if kind not in {"radio", "checkbox"}:
            self.values[name] = given.get("value", "")
        elif "checked" in given and kind == "checkbox":
            self.values.setdefault(name, []).append(given.get("value", "on"))
        elif "checked" in given:
            self.values[name] = given.get("value", "on")

    def handle_data(self, data: str) -> None:
        if self._area:
            self.values[self._area] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = False
        elif tag == "textarea":
            self.values[self._area] = self.values[self._area].removeprefix("\n")
            self._area = ""


def words(response: HttpResponse) -> str:
    """Return what a person reads on a page."""
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", response.content.decode(), flags=re.DOTALL)
    text = re.sub(r'<span class="nowrap">(.*?)</span>', r"\1", text)
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)).strip())


def part(response: HttpResponse, id_: str) -> str:
    """Return the element of a page with an id, up to the next one that closes it."""
    html = response.content.decode()
    start = html.index(f'id="{id_}"')
    start = html.rindex("<", 0, start)
    depth = 0
    for match in re.finditer(r"<(/?)div\b", html[start:]):
        depth += -1 if match.group(1) else 1
        if depth == 0:
            return html[start : start + match.start()] + "</div>"
    raise AssertionError(f"{id_} does not close")


class Tablet:
    """The browser of one person."""

    def __init__(self, user: User) -> None:
        self.user = user
        self.client = Client()
        self.client.force_login(user)

    def open(self, address: str, status: int = 200) -> HttpResponse:
        """Open an address that must answer with a status."""
        response = self.client.get(address)
        assert response.status_code == status, response.content.decode()[:2000]
        return response

    def job(self, job: Job) -> HttpResponse:
        """Open the page of a job."""
        return self.open(reverse("jobs:job", args=[job.number]))

    def form(self, page: HttpResponse, action: str) -> dict[str, Any]:
        """Return what the form of an address would send as it stands on a page."""
        reader = _Form(action)
        reader.feed(page.content.decode())
        assert reader.names, f"the page has no form for {action!r}"
        return reader.values

    def send(self, address: str, values: dict[str, Any], **headers: str) -> HttpResponse:
        """Send a form."""
        return self.client.post(address, values, headers=headers or None)

    def record(self, job: Job, kind: StepKind, values: dict[str, Any]) -> HttpResponse:
        """Fill in the form of a step as its page offers it, and send it."""
        address = step_url(job.number, kind)
        page = self.open(address)
        return self.send(address, self.form(page, address) | values)


def links(page: HttpResponse) -> list[str]:
    """Return where the links of a page lead."""
    return [unescape(found) for found in re.findall(r'<a\b[^>]*\bhref="([^"]+)"', page.content.decode())]
