"""The rules of the reminders, without a database: days and hours, stages, who is told, how long to wait."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from equipment.due import DueItem, DueKind
from equipment.reminders.days import day_expected, day_to_run, is_missing
from equipment.reminders.planning import Need, Planned, plan, steady
from equipment.reminders.recipients import Crew, recipients
from equipment.reminders.snoozing import SnoozeRefused, check_snooze
from equipment.reminders.stages import Notice, Stage, notices_reached
from equipment.services.digests import MOST_ATTEMPTS, pause_after

TODAY = date(2026, 3, 2)
OWNER, KEEPER, PRIYA = 1, 2, 3
MINUTE = timedelta(minutes=1)


def due(days: int, **values: object) -> DueItem:
    """Return a machine's certificate that is due so many days from today."""
    return DueItem(**{
        "key": "document:1", "kind": DueKind.CERTIFICATE, "what": "Certificate C-1 of M-1",
        "due_on": TODAY + timedelta(days=days), "blocks": True, "piece_id": 1, "piece_code": "M-1", **values,
    })  # type: ignore[arg-type]  # fmt: skip


def minutes_of(first: datetime, hours: int) -> list[datetime]:
    return [first + MINUTE * number for number in range(hours * 60)]


class TestReminderTime:
    # Clock changes of 2026 by Directive 2000/84/EC (01:00 UTC) and 15 U.S.C. 260a (02:00 local time).
    @pytest.mark.parametrize(
        ("zone", "at", "change", "first_moment"),
        [
            # 02:30 does not exist in spring: the day's work begins with the first minute after the gap.
            ("Europe/Berlin", "02:30", "2026-03-29", "2026-03-29T01:00+00:00"),
            ("America/New_York", "02:30", "2026-03-08", "2026-03-08T07:00+00:00"),
            # 02:30 and 01:30 come twice in autumn: the first one counts.
            ("Europe/Berlin", "02:30", "2026-10-25", "2026-10-25T00:30+00:00"),
            ("America/New_York", "01:30", "2026-11-01", "2026-11-01T05:30+00:00"),
            # An ordinary hour stays where people expect it, on the days of the change as well.
            ("Europe/Berlin", "07:00", "2026-03-29", "2026-03-29T05:00+00:00"),
            ("America/New_York", "07:00", "2026-11-01", "2026-11-01T12:00+00:00"),
        ],
    )
    def test_every_day_around_a_clock_change_begins_once(
        self, zone: str, at: str, change: str, first_moment: str
    ) -> None:
        day, reminders_at = date.fromisoformat(change), time.fromisoformat(at)
        start = datetime.combine(day, time(), ZoneInfo(zone)).astimezone(UTC) - timedelta(days=1)
        begun: dict[date, datetime] = {}

        for moment in minutes_of(start, 73):
            to_run = day_to_run(moment, zone, reminders_at)
            if to_run is not None:
                begun.setdefault(to_run, moment)

        assert begun[day] == datetime.fromisoformat(first_moment)
        assert list(begun) == [day + timedelta(days=days) for days in (-1, 0, 1)]

    def test_a_run_is_missed_an_hour_after_its_time(self) -> None:
        def expected(at: str) -> date:
            return day_expected(datetime.fromisoformat(f"2026-03-02T{at}+01:00"), "Europe/Berlin", time(7))

        assert expected("07:59") == date(2026, 3, 1)
        assert expected("08:00") == TODAY
        assert is_missing(None, TODAY)
        assert is_missing(date(2026, 3, 1), TODAY)
        assert not is_missing(TODAY, TODAY)


class TestStages:
    @pytest.mark.parametrize(
        ("days", "reached"),
        [
            (31, []),
            (30, [Notice(Stage.COMING, 30)]),
            (8, [Notice(Stage.COMING, 30)]),
            (7, [Notice(Stage.COMING, 30), Notice(Stage.COMING, 7)]),
            (0, [Notice(Stage.COMING, 30), Notice(Stage.COMING, 7), Notice(Stage.DUE)]),
            (
                -1,
                [
                    Notice(Stage.COMING, 30),
                    Notice(Stage.COMING, 7),
                    Notice(Stage.DUE),
                    Notice(Stage.OVERDUE),
                ],
            ),
        ],
    )
    def test_follow_each_other(self, days: int, reached: list[Notice]) -> None:
        assert list(notices_reached(TODAY + timedelta(days=days), TODAY, (7, 30))) == reached

    def test_need_no_notice_ahead(self) -> None:
        assert notices_reached(TODAY, TODAY, ()) == (Notice(Stage.DUE),)


class TestRecipients:
    CREW = Crew(active=frozenset({OWNER, KEEPER, PRIYA}), owners=frozenset({OWNER}))
    KEPT = Crew(active=frozenset({OWNER, KEEPER, PRIYA}), owners=frozenset({OWNER}), keeper=KEEPER)
    COMPETENCE = due(0, kind=DueKind.COMPETENCE, piece_id=None, piece_code="", user_id=PRIYA)

    @pytest.mark.parametrize(
        ("item", "stage", "crew", "told"),
        [
            (due(0), Stage.COMING, CREW, {OWNER}),
            (due(0), Stage.COMING, KEPT, {KEEPER}),
            (due(0), Stage.DUE, KEPT, {KEEPER}),
            (due(0), Stage.OVERDUE, KEPT, {KEEPER, OWNER}),
            (COMPETENCE, Stage.COMING, KEPT, {PRIYA}),
            (COMPETENCE, Stage.OVERDUE, KEPT, {PRIYA, OWNER}),
            # A keeper who has left is none.
            (due(0), Stage.DUE, Crew(frozenset({OWNER}), frozenset({OWNER}), keeper=KEEPER), {OWNER}),
        ],
    )
    def test_are_first_the_one_concerned_then_the_owners(
        self, item: DueItem, stage: Stage, crew: Crew, told: set[int]
    ) -> None:
        assert recipients(item, stage, crew) == told


class TestPlan:
    CREW = TestRecipients.KEPT

    def planned(self, item: DueItem, *written: Planned, resting: int | None = None) -> list[Planned]:
        return plan(
            [item], today=TODAY, days_ahead=(30, 7), crew=self.CREW,
            written={(each.need, each.notice) for each in written},
            resting=set() if resting is None else {Need(item.key, item.due_on, resting)},
        )  # fmt: skip

    def test_tells_only_the_newest_after_days_of_silence(self) -> None:
        planned = self.planned(due(-4))

        newest = [(each.notice.stage, each.recipient_id) for each in planned if each.is_newest]
        assert newest == [(Stage.OVERDUE, KEEPER), (Stage.OVERDUE, OWNER)]
        skipped = [each.notice for each in planned if not each.is_newest]
        assert skipped == [Notice(Stage.COMING, 30), Notice(Stage.COMING, 7), Notice(Stage.DUE)]

    def test_writes_nothing_a_second_time(self) -> None:
        first = self.planned(due(7))

        assert len(first) == 2
        assert self.planned(due(7), *first) == []

    def test_leaves_alone_who_put_it_aside_but_not_the_owners(self) -> None:
        planned = self.planned(due(-1), resting=KEEPER)

        assert {(each.notice, each.recipient_id) for each in planned} == {(Notice(Stage.OVERDUE), OWNER)}

    def test_a_new_due_day_is_a_new_need(self) -> None:
        moved = due(5)

        assert len(self.planned(moved, *self.planned(due(6)))) == 2

    def test_what_is_due_at_once_was_due_all_along(self) -> None:
        since = {"plan:1": TODAY - timedelta(days=3), "plan:2": TODAY + timedelta(days=9)}
        hours, moved, new = due(0, key="plan:1"), due(5, key="plan:2"), due(0, key="plan:3")

        items = steady([hours, moved, new], today=TODAY, open_since=since)

        assert [(item.due_on - TODAY).days for item in items] == [-3, 5, 0]


class TestSnoozing:
    @pytest.mark.parametrize(
        ("due_in", "blocks", "until", "sentence"),
        [
            (0, True, 1, "until it is done, the work it belongs to is refused"),
            (-3, True, 1, "until it is done"),
            (9, True, 10, "Until 2026-03-11 at the latest"),
            (200, True, 91, "Until 2026-05-31 at the latest"),
            (-3, False, 91, "Until 2026-05-31 at the latest"),
            (5, False, 0, "Choose a day after today"),
        ],
    )
    def test_has_an_end(self, due_in: int, blocks: bool, until: int, sentence: str) -> None:
        with pytest.raises(SnoozeRefused, match=sentence):
            check_snooze(
                due_on=TODAY + timedelta(days=due_in), blocks=blocks, today=TODAY,
                until=TODAY + timedelta(days=until), reason="parts are ordered",
            )  # fmt: skip

    @pytest.mark.parametrize(("due_in", "blocks", "until"), [(9, True, 9), (-3, False, 90), (9, False, 30)])
    def test_may_last_until_then(self, due_in: int, blocks: bool, until: int) -> None:
        due_on, last = TODAY + timedelta(days=due_in), TODAY + timedelta(days=until)

        check_snooze(due_on=due_on, blocks=blocks, today=TODAY, until=last, reason="parts are ordered")

    def test_needs_a_reason(self) -> None:
        tomorrow = TODAY + timedelta(days=1)

        with pytest.raises(SnoozeRefused, match="in a few words why"):
            check_snooze(due_on=tomorrow, blocks=False, today=TODAY, until=tomorrow, reason=" - ")


def test_an_email_that_fails_is_tried_for_half_a_day() -> None:
    pauses = [pause_after(attempts) for attempts in range(MOST_ATTEMPTS)]

    assert pauses[:3] == [timedelta(), timedelta(minutes=5), timedelta(minutes=10)]
    assert timedelta(hours=12) <= sum(pauses, timedelta()) <= timedelta(hours=14)
