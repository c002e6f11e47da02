"""A calendar in the format of RFC 5545. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from icalendar import Calendar, vDuration
from icalendar import Event as CalendarEvent

from jobs.calendar.events import Event

#: How often a program should ask again; what is booked today has to be seen today.
ASK_AGAIN_AFTER = timedelta(hours=1)


@dataclass(frozen=True)
class Published:
    """What a feed says about an event beside its content: its lasting name, its changes and the last one."""

    uid: UUID
    sequence: int
    modified_at: datetime


def calendar_text(name: str, entries: Iterable[tuple[Event, Published]]) -> bytes:
    """Return the calendar as text.

    Moments are written in UTC, so that no program has to know our time zone; whole days have none. Without
    a METHOD, DTSTAMP is the moment of the last change (RFC 5545, 3.8.7.2), so the same dates always give
    the same text. A visit has a beginning only: nobody knows beforehand how long a car takes.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Shopcool//Calendar 1//EN")
    calendar.add("version", "2.0")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", vDuration(ASK_AGAIN_AFTER), parameters={"VALUE": "DURATION"})
    for event, published in entries:
        calendar.add_component(_component(event, published))
    text: bytes = calendar.to_ical()
    return text


def _component(event: Event, published: Published) -> CalendarEvent:
    component = CalendarEvent()
    component.add("uid", str(published.uid))
    component.add("sequence", published.sequence)
    component.add("dtstamp", published.modified_at.astimezone(UTC))
    component.add("last-modified", published.modified_at.astimezone(UTC))
    component.add("dtstart", event.start)
    component.add("summary", event.title)
    if not isinstance(event.start, datetime):
        component.add("dtend", event.start + timedelta(days=1))
        component.add("transp", "TRANSPARENT")
    texts = {"description": event.text, "location": event.place, "url": event.url}
    for name, text in texts.items():
        if text:
            component.add(name, text)
    return component
