"""Board, due list and reminders of a very large workshop: 10,000 pieces with 100,000 maintenance records.

A display asks again every half minute and nearly always gets the short answer, so that one counts most; the
daily reminders look every five minutes whether anything is done. Each piece has a plan, and one in fourteen
is due within the month or overdue. The rows are written straight into a throwaway database by SQL, with the
chain left out.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import django
from django.db import connection
from django.http import HttpRequest, HttpResponse

from shopcool.core.actors import Actor
from tests.benchmarks import Result
from tests.benchmarks.bench_clearance import throwaway_database

Action = Callable[[], object]

PIECES, RECORDS = 10_000, 100_000
FILL = """
INSERT INTO equipment_maintenancerecord (stream, sequence, recorded_at, recorded_by_name, previous_hash, hash,
    piece_id, work, title, done_on, counts_from, done_by, outcome, readings, findings, used, parts, note,
    submission_key, correction_reason)
SELECT 'filling', n, now(), 'Bench', '', '', (SELECT min(id) FROM equipment_piece) + n %% %(pieces)s,
    'LEAK_CHECK', '', current_date, now(), 'Bench', 'PASSED', '{}', '[]', '{}', '', '', gen_random_uuid(), ''
FROM generate_series(1, %(records)s) AS n
"""

PLANS = """
INSERT INTO equipment_maintenanceplan (piece_id, work, title, every_months, source, source_note, when_overdue,
    starts_on, revision, created_at, created_by_id, ended_reason, counts_from, used_hours, used_kg, used_jobs,
    due_on)
SELECT id, 'LEAK_CHECK', '', 12, 'SHOP_POLICY', '', CASE WHEN id %% 2 = 0 THEN 'WARN' ELSE 'NOT_READY' END,
    current_date, 1, now(), %(owner)s, '', now(), 0, 0, 0, current_date - 10 + (id * 37 %% 540)::integer
FROM equipment_piece
"""


def benchmarks() -> list[Result]:
    """Return board, short answer, due list and reminders, each against the least that could answer."""
    django.setup()
    with throwaway_database():
        _fill()
        board, wall = _ratio(*_board()), _ratio(*_wall(), times=20)
        due, reminders = _ratio(*_due_list()), _ratio(*_reminders())
    return [
        {"name": "board of 10,000 pieces over reading them", "ratio": board, "limit": 3.0},
        {"name": "wall unchanged over a view that counts pieces and plans", "ratio": wall, "limit": 2.0},
        {"name": "due list of 10,000 pieces over reading their plans", "ratio": due, "limit": 2.0},
        {"name": "reminders looked after over reading what is due", "ratio": reminders, "limit": 3.0},
    ]


def _fill() -> None:
    from equipment.choices import PieceKind
    from equipment.models import Piece, PieceState
    from shopcool.vehicles.choices import Lubricant

    new = [Piece(code=f"X-{n}", name=f"Hoses {n}", kind=PieceKind.HOSE_SET) for n in range(PIECES)]
    Piece.objects.bulk_create(new)
    PieceState.objects.bulk_create(
        PieceState(
            piece=piece,
            lubricants=[Lubricant.PAG] if n % 2 else [],
            unknown=n % 5 == 0,
            in_service=n % 7 > 0,
            sequence=1,
        )
        for n, piece in enumerate(new)
    )
    with connection.cursor() as cursor:
        cursor.execute(FILL, {"pieces": PIECES, "records": RECORDS})
        cursor.execute(PLANS, {"owner": _owner().user_id})
        cursor.execute("ANALYZE")


def _owner() -> Actor:
    """Return the owner, who reads the due list and whom the reminders are for."""
    from shopcool.core.actors import Role
    from shopcool.people.models import User

    owner = User.objects.filter(roles__contains=[Role.OWNER]).first()
    return (owner or User.objects.create_user("bench", full_name="Bench", roles=[Role.OWNER])).as_actor()


def _due_list() -> tuple[Action, Action]:
    """Return the making of the due list, and the reading of the plans that are due."""
    from equipment.due_selectors import plans_due
    from equipment.pages.due_list import MONTH, due_list
    from shopcool.core import clock

    owner, today = _owner(), clock.now().date()
    return lambda: due_list(owner, today), lambda: list(plans_due(today + MONTH))


def _reminders() -> tuple[Action, Action]:
    """Return the run that finds the day written, as most do, and the reading of what is due."""
    from equipment.due_selectors import due_items
    from equipment.pages.due_list import MONTH
    from equipment.services.reminders import reminders_run
    from shopcool.core import clock

    now, nobody = clock.now(), list[int]()
    reminders_run(now=now, worker="bench", deliver=nobody.append, early=True)
    today = now.date()
    return (
        lambda: reminders_run(now=now, worker="bench", deliver=nobody.append, early=True),
        lambda: due_items(today=today, until=today + MONTH),
    )


def _board() -> tuple[Action, Action]:
    """Return the making of the board, and the reading of its pieces as the rules see them."""
    from equipment.models import Piece
    from equipment.pages.wall import wall_page
    from equipment.selectors import piece_facts
    from shopcool.core import clock
    from shopcool.shop.selectors import shop_get

    shop, now = shop_get(), clock.now()
    pieces = Piece.objects.select_related("state")
    return lambda: wall_page(shop=shop, now=now, version=""), lambda: piece_facts(list(pieces))


def _wall() -> tuple[Action, Action]:
    """Return the answer that nothing changed, and a view that counts the pieces and their plans."""
    from equipment.pages.wall import wall_version
    from equipment.views.walls import wall_answer
    from shopcool.core import clock
    from shopcool.shop.selectors import shop_get

    shop, asked = shop_get(), HttpRequest()
    asked.method = "GET"
    asked.META["HTTP_IF_NONE_MATCH"] = wall_version(shop, clock.now())
    if wall_answer(asked, shop).status_code != 304:
        raise AssertionError("The display was not told that nothing changed.")
    return lambda: wall_answer(asked, shop), _counts


def _counts() -> HttpResponse:
    from equipment.maintenance.models import MaintenancePlan
    from equipment.models import Piece

    return HttpResponse(f"{Piece.objects.count()} {MaintenancePlan.objects.count()}")


def _ratio(action: Action, against: Action, *, times: int = 1, rounds: int = 6) -> float:
    """Return the shortest wall time of an action over that of another, in turns; the database works, too."""
    measured = [(_mean(action, times), _mean(against, times)) for _ in range(rounds)]
    return min(first for first, _ in measured) / min(second for _, second in measured)


def _mean(action: Action, times: int) -> float:
    started = time.perf_counter()
    for _ in range(times):
        action()
    return (time.perf_counter() - started) / times
