"""The version of the board: a short text that changes whenever what the board shows may have changed."""

from __future__ import annotations

from datetime import date
from hashlib import sha256

from django.db import connection
from django.utils.translation import get_language

from equipment.readiness import RULES_VERSION
from shopcool.shop.models import Shop

#: What the board is made of, read in one statement so that all of it is of the same moment; no change leaves
#: all of these as they were. Every registration, contact, connection, disconnection, purge and retirement
#: writes an exposure, and each of those raises the sequence of its piece's state. Documents, uses and
#: maintenance are only ever added; a plan counts its revisions and is ended.
WATCHED = """
SELECT (SELECT sum(sequence) FROM equipment_piecestate),
       (SELECT max(id) FROM equipment_piecedocument),
       (SELECT max(id) FROM equipment_maintenancerecord),
       (SELECT max(id) FROM equipment_pieceuse),
       (SELECT concat(max(id), ' ', sum(revision), ' ', count(ended_at)) FROM equipment_maintenanceplan)
"""


def board_version(*, shop: Shop, today: date) -> str:
    """Return the version of the board on a day, with one query, as an HTTP entity tag in its quotes."""
    with connection.cursor() as cursor:
        cursor.execute(WATCHED)
        watched = cursor.fetchone()
    parts = [today, shop.time_zone, shop.name, get_language(), RULES_VERSION, *watched]
    return f'"{sha256("|".join(map(str, parts)).encode()).hexdigest()[:32]}"'
