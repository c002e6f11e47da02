"""The board of a very large workshop: 10,000 pieces with 100,000 maintenance records.

A display asks again every half minute and nearly always gets the short answer, so that one counts most. The
rows are written straight into a throwaway database by SQL, with the chain left out.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import django
from django.db import connection
from django.http import HttpRequest, HttpResponse

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


def benchmarks() -> list[Result]:
    """Return the whole board and the display's short answer, each against the least that could answer."""
    django.setup()
    with throwaway_database():
        _fill()
        board, wall = _ratio(*_board()), _ratio(*_wall(), times=20)
    return [
        {"name": "board of 10,000 pieces over reading them", "ratio": board, "limit": 3.0},
        {"name": "wall unchanged over a view that counts the pieces", "ratio": wall, "limit": 2.0},
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
        cursor.execute("ANALYZE")


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
    """Return the answer that nothing changed, and a view that counts the pieces."""
    from equipment.models import Piece
    from equipment.pages.wall import wall_version
    from equipment.views.walls import wall_answer
    from shopcool.core import clock
    from shopcool.shop.selectors import shop_get

    shop, asked = shop_get(), HttpRequest()
    asked.method = "GET"
    asked.META["HTTP_IF_NONE_MATCH"] = wall_version(shop, clock.now())
    if wall_answer(asked, shop).status_code != 304:
        raise AssertionError("The display was not told that nothing changed.")
    return lambda: wall_answer(asked, shop), lambda: HttpResponse(str(Piece.objects.count()))


def _ratio(action: Action, against: Action, *, times: int = 1, rounds: int = 6) -> float:
    """Return the shortest wall time of an action over that of another, in turns; the database works, too."""
    measured = [(_mean(action, times), _mean(against, times)) for _ in range(rounds)]
    return min(first for first, _ in measured) / min(second for _, second in measured)


def _mean(action: Action, times: int) -> float:
    started = time.perf_counter()
    for _ in range(times):
        action()
    return (time.perf_counter() - started) / times
