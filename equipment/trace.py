"""Where a residue can have gone, and where it can have come from: a walk over the exposure log.

Residue walks from a piece into each circuit that the piece touches, and from a circuit into each piece
that touches it then or later. In a piece it ends with the next verified line purge or inspection; a purge
that does not count spreads it through its loop; in a circuit it stays. Walked backward, the same steps tell
what can have reached a piece or a circuit. Sealer, which no purge removes, is not followed past a purge.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db import connection

#: After every entry of the same moment.
LAST = 2**62


class Place(StrEnum):
    """Where residue can be."""

    PIECE = "P"
    CIRCUIT = "C"


class Direction(StrEnum):
    """Which way the walk goes in time."""

    TO = "TO"
    FROM = "FROM"


@dataclass(frozen=True)
class Reached:
    """A piece or circuit that the walk came to, at the first moment going on, the last going back."""

    place: Place
    id: int
    at: datetime


# The walk meets each entry of a piece once, in order, so that its length grows with the log and not with
# the square of it. Sequence breaks ties between entries of the same moment. Only the comparisons, the order
# and the moment at which a circuit is left differ between the two directions.
WALK = """
WITH RECURSIVE reached (place, id, at, sequence) AS (
    SELECT %(place)s::text, %(id)s::bigint, %(at)s::timestamptz, %(sequence)s::bigint
  UNION
    SELECT step.place, step.id, step.at, step.sequence
    FROM reached, LATERAL (
        SELECT onward.place, onward.id, onward.at, onward.sequence
        FROM (
            SELECT e.* FROM equipment_exposure e
            WHERE reached.place = 'P' AND e.piece_id = reached.id
              AND (e.occurred_at, e.sequence) {after} (reached.at, reached.sequence)
              AND (e.kind IN ('PURGED', 'INSPECTED') OR e.circuit_id IS NOT NULL AND e.kind <> 'DISCONNECTED')
              AND NOT EXISTS (SELECT FROM equipment_exposure w WHERE w.corrects_id = e.id)
            ORDER BY e.occurred_at {order}, e.sequence {order} LIMIT 1
        ) next, LATERAL (
            SELECT 'P' AS place, next.piece_id AS id, next.occurred_at AS at, next.sequence AS sequence
          UNION ALL
            SELECT 'C', next.circuit_id, {left}, 0 WHERE next.circuit_id IS NOT NULL
          UNION ALL
            SELECT 'P', loop.piece_id, loop.occurred_at, loop.sequence
            FROM equipment_exposure loop WHERE loop.purge_id = next.purge_id
        ) onward
        WHERE next.kind <> 'INSPECTED' AND NOT next.verified
      UNION ALL
        SELECT 'C', c.circuit_id, reached.at, 0 FROM equipment_connection c
        WHERE reached.place = 'P' AND c.piece_id = reached.id AND c.connected_at <= reached.at
          AND (c.disconnected_at IS NULL OR c.disconnected_at > reached.at)
      UNION ALL
        SELECT 'P', c.piece_id, reached.at, %(last)s FROM equipment_connection c
        WHERE reached.place = 'C' AND c.circuit_id = reached.id AND c.connected_at <= reached.at
          AND (c.disconnected_at IS NULL OR c.disconnected_at > reached.at)
      UNION ALL
        SELECT 'P', e.piece_id, e.occurred_at, e.sequence FROM equipment_exposure e
        WHERE reached.place = 'C' AND e.circuit_id = reached.id AND e.kind <> 'DISCONNECTED'
          AND e.occurred_at {from} reached.at
          AND NOT EXISTS (SELECT FROM equipment_exposure w WHERE w.corrects_id = e.id)
    ) step
)
SELECT place, id, {first}(at) AS at FROM reached GROUP BY place, id ORDER BY at {order}, place, id
"""
#: Going back, all that came into the circuit until the piece was taken off may have come into the piece.
LEFT = """
coalesce((SELECT least(c.disconnected_at, reached.at) FROM equipment_connection c
          WHERE c.piece_id = next.piece_id AND c.circuit_id = next.circuit_id
            AND c.connected_at = next.occurred_at LIMIT 1), next.occurred_at)"""
WAYS = {
    Direction.TO: {"after": ">", "from": ">=", "order": "ASC", "first": "min", "left": "next.occurred_at"},
    Direction.FROM: {"after": "<", "from": "<=", "order": "DESC", "first": "max", "left": LEFT},
}
QUERIES = {direction: WALK.format(**parts) for direction, parts in WAYS.items()}


def trace(place: Place, id: int, at: datetime, direction: Direction) -> list[Reached]:
    """Return all that residue of a piece or circuit can have reached, or where it can have come from.

    What is asked about is the first of the list. One query, whatever there is to walk.
    """
    sequence = LAST if direction is Direction.FROM else 0
    with connection.cursor() as cursor:
        start: dict[str, str | int | datetime] = {"place": place, "id": id, "at": at}
        cursor.execute(QUERIES[direction], {**start, "sequence": sequence, "last": LAST})
        rows = cursor.fetchall()
    found = [Reached(Place(where), number, moment) for where, number, moment in rows]
    return sorted(found, key=lambda row: (row.place, row.id) != (place, id))
