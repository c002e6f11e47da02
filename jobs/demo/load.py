"""Load the invented workshop into an empty database."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from equipment.services.reminders import reminders_run
from jobs.demo import attachments, codes, equipment, history, maintenance, oil, people, vehicles
from jobs.demo.story import Story
from shopcool.core.errors import Conflict
from shopcool.people.models import User
from shopcool.shop.selectors import shop_get

ZONE = ZoneInfo("Europe/Amsterdam")
OPENS_AT = 8


@transaction.atomic
def demo_load(now: datetime) -> None:
    """Create the invented workshop with its last sixty days; refuses when somebody can sign in already."""
    if User.objects.exists():
        raise Conflict("There are people in this database already; the demo is for an empty one.")
    _name_shop()
    today = _morning(now)
    opened = today - timedelta(days=60)
    actors = people.people_create(opened)
    story = Story(
        now=opened,
        people=actors,
        pieces=equipment.pieces_create(actors["ingrid"], opened),
        circuits=vehicles.circuits_create(actors["lena"], opened),
    )
    codes.table_enter(actors["ingrid"], opened)
    oil.shelf_fill(actors["ingrid"], story.later())
    history.tell(story, today)
    maintenance.tell(story, story.now)
    attachments.tell(story, story.now)
    history.todays_cars(story, today, now)
    # What a worker does each morning, so that nobody has to wait for it on the first day.
    reminders_run(now=now, worker="demo", deliver=lambda digest_id: None, early=True)


def _morning(now: datetime) -> datetime:
    """Return the opening of the present day at the workshop; it may still be ahead."""
    return now.astimezone(ZONE).replace(hour=OPENS_AT, minute=0, second=0, microsecond=0)


def _name_shop() -> None:
    shop = shop_get()
    shop.name = "Ropewalk Vehicle Climate"
    shop.address = "7 Ropewalk\nTern Quay"
    shop.time_zone = ZONE.key
    shop.altitude_m = 4.0
    shop.jurisdiction = "EU"
    shop.save()
