"""The trace over 1,000,000 exposures, against the same recursive query in psql.

Two hundred pieces go on and off forty thousand cars and are inspected after every tenth; each car comes about
twelve times, so that residue of the last months reaches thousands of cars. Only the log is filled, by SQL,
with the chain left out.
"""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Callable, Sized

import django
from django.db import connection

from shopcool.standalone.postgresql import binaries
from tests.benchmarks import Result
from tests.benchmarks.bench_clearance import throwaway_database

PIECES, CIRCUITS, EXPOSURES = 200, 40_000, 1_000_000
ENOUGH = 5_000
FILL = """
INSERT INTO equipment_exposure (stream, sequence, recorded_at, recorded_by_name, previous_hash, hash,
    piece_id, circuit_id, kind, lubricants, refrigerants, additives, unknown, verified, job_number,
    occurred_at, note, action, rules_version)
SELECT 'filling', n, now(), 'Bench', '', '', (SELECT min(id) FROM equipment_piece) + n %% %(pieces)s,
    CASE WHEN turn < 20 THEN (SELECT min(id) FROM vehicles_circuit) + car %% %(circuits)s END,
    CASE WHEN turn = 20 THEN 'INSPECTED' WHEN turn %% 2 = 0 THEN 'CONNECTED' ELSE 'DISCONNECTED' END,
    '{}', '{}', '{}', false, false, '', now() - (%(exposures)s - n) * interval '1 minute', '',
    gen_random_uuid(), 'bench'
FROM (
    SELECT n, n / %(pieces)s %% 21 AS turn,
        hashint8(n - n / %(pieces)s %% 21 %% 2 * %(pieces)s) & 2147483647 AS car
    FROM generate_series(0, %(exposures)s - 1) AS n
) AS numbered
"""
#: Early enough for a long walk, beside which the start of psql does not count.
START = "SELECT max(occurred_at) - interval '110 days' FROM equipment_exposure"


def benchmarks() -> list[Result]:
    """Return the walk with its objects over the same statement, sent by psql and read as text."""
    django.setup()
    with throwaway_database():
        piece_id, start = _filled()
        walk, bare = _walks(piece_id, start)
        if len(walk()) < ENOUGH:
            raise AssertionError("The benchmark's log gives nothing to walk.")
        rounds = [(_seconds(walk), _seconds(bare)) for _round in range(5)]
    ratio = min(first for first, _ in rounds) / min(second for _, second in rounds)
    return [{"name": "trace over 1,000,000 exposures over the same in psql", "ratio": ratio, "limit": 1.5}]


def _filled() -> tuple[int, object]:
    from equipment.choices import PieceKind
    from equipment.models import Piece
    from shopcool.vehicles.choices import Drive
    from shopcool.vehicles.models import Circuit, Vehicle

    pieces = [Piece(code=f"X-{n}", name="Hoses", kind=PieceKind.HOSE_SET) for n in range(PIECES)]
    Piece.objects.bulk_create(pieces)
    cars = Vehicle.objects.bulk_create(
        Vehicle(registration=f"X {n}", make="Example", model="Test") for n in range(CIRCUITS)
    )
    Circuit.objects.bulk_create(Circuit(vehicle=car, drive=Drive.BELT) for car in cars)
    sizes = {"pieces": PIECES, "circuits": CIRCUITS, "exposures": EXPOSURES}
    with connection.cursor() as cursor:
        cursor.execute(FILL, sizes)
        cursor.execute("ANALYZE")
        cursor.execute(START)
        return pieces[0].pk, cursor.fetchone()[0]


def _walks(piece_id: int, start: object) -> tuple[Callable[[], Sized], Callable[[], object]]:
    from equipment.trace import LAST, QUERIES, Direction, Place, trace

    values = {"place": "P", "id": piece_id, "at": start, "sequence": 0, "last": LAST}
    with connection.cursor() as cursor:
        statement = cursor.mogrify(QUERIES[Direction.TO], values)
    parts = connection.settings_dict
    named = {
        "PGHOST": parts["HOST"],
        "PGUSER": parts["USER"],
        "PGDATABASE": parts["NAME"],
        "PGPORT": parts["PORT"],
    }
    known = {name: str(value) for name, value in named.items() if value}
    command = [str(binaries() / "psql"), "-XAtq", "-c", statement]

    def psql() -> object:
        return subprocess.run(command, env=os.environ | known, check=True, capture_output=True)

    return lambda: trace(Place.PIECE, piece_id, start, Direction.TO), psql  # type: ignore[arg-type]


def _seconds(action: Callable[[], object]) -> float:
    started = time.perf_counter()
    action()
    return time.perf_counter() - started
