"""A clearance must not slow down with the age of the workshop: 1,000 against 1,000,000 exposures.

The rows are written straight into a throwaway database by SQL, with the chain left out: only their number
matters. Times are wall times, since most of the work is the database's; the shortest of many counts.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import django
from django.db import connection
from django.http import HttpRequest, JsonResponse
from django.test.utils import CaptureQueriesContext

from tests.benchmarks import Result

PIECES = 8
FEW, MANY = 1_000, 1_000_000
FILL = """
INSERT INTO equipment_exposure (stream, sequence, recorded_at, recorded_by_name, previous_hash, hash,
    piece_id,
    kind, lubricants, refrigerants, additives, unknown, verified, job_number, occurred_at, note, action,
    rules_version)
SELECT 'filling', n, now(), 'Bench', '', '', (SELECT min(id) FROM equipment_piece) + n %% %(pieces)s,
    'RETURNED', '{}', '{}', '{}', false, false, '', now() - interval '1 day' - n * interval '1 second', '',
    gen_random_uuid(), 'bench'
FROM generate_series(%(first)s, %(last)s) AS n
"""


def benchmarks() -> list[Result]:
    """Return the clearance of eight pieces against a bare view, and its growth with the log."""
    django.setup()
    with throwaway_database():
        ask, bare = _views()
        _fill(1, FEW)
        few = _best_seconds(ask)
        _fill(FEW + 1, MANY)
        many, nothing = _best_seconds(ask), _best_seconds(bare)
    return [
        {"name": "clearance, 1,000,000 over 1,000 exposures", "ratio": many / few, "limit": 1.2},
        {"name": "clearance over a bare view with as many queries", "ratio": many / nothing, "limit": 2.0},
    ]


@contextmanager
def throwaway_database() -> Iterator[None]:
    """Make the tables in a database of its own and drop it afterwards."""
    name = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        yield
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)


def _views() -> tuple[Callable[[], object], Callable[[], object]]:
    from equipment.models import Piece
    from equipment.readiness import Identification, VisitFacts
    from equipment.services.connecting import clearance_check
    from tests.equipment.workshop import Workshop

    workshop = Workshop()
    pieces = [workshop.machine("M-1"), *(workshop.piece(f"H-{number}") for number in range(1, PIECES))]
    circuit, ids = workshop.circuit(), [piece.pk for piece in pieces]
    visit = VisitFacts("J-1", Identification.PASSED, oil_bottle_read=True)

    def clearance_view(request: HttpRequest) -> JsonResponse:
        decision = clearance_check(
            actor=workshop.technician, circuit=circuit, piece_ids=ids, visit=visit, now=workshop.now
        )
        return JsonResponse({"reasons": [reason.as_record() for reason in decision.reasons]})

    with CaptureQueriesContext(connection) as queries:
        clearance_view(HttpRequest())

    def bare_view(request: HttpRequest) -> JsonResponse:
        found = [list(Piece.objects.filter(pk__in=ids)) for _ in range(len(queries))]
        return JsonResponse({"found": len(found)})

    return lambda: clearance_view(HttpRequest()), lambda: bare_view(HttpRequest())


def _fill(first: int, last: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute(FILL, {"pieces": PIECES, "first": first, "last": last})
        cursor.execute("ANALYZE equipment_exposure")


def _best_seconds(action: Callable[[], object], *, times: int = 20, rounds: int = 15) -> float:
    return min(_mean_seconds(action, times) for _ in range(rounds))


def _mean_seconds(action: Callable[[], object], times: int) -> float:
    started = time.perf_counter()
    for _ in range(times):
        action()
    return (time.perf_counter() - started) / times
