"""Many tablets at once: real threads on a real database."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.db import connections

from equipment.errors import PieceBusy
from equipment.models import Connection, Exposure
from equipment.readiness import Identification, VisitFacts
from equipment.services.connecting import pieces_connect
from shopcool.core.errors import Conflict
from shopcool.core.records import chain_breaks
from shopcool.vehicles.choices import Drive, Lubricant
from tests.equipment.workshop import Workshop

TABLETS = 32


@pytest.mark.django_db(transaction=True)
def test_one_of_32_tablets_gets_the_piece_and_the_others_are_told_who_has_it() -> None:
    workshop = Workshop()
    hoses = workshop.piece("H-1")
    circuits = [workshop.circuit(Drive.BELT, Lubricant.PAG) for _ in range(TABLETS)]
    barrier = Barrier(TABLETS)
    moment = workshop.later()

    def connect(number: int) -> str:
        try:
            barrier.wait(timeout=30)
            pieces_connect(
                actor=workshop.technician,
                circuit=circuits[number],
                piece_ids=[hoses.pk],
                visit=VisitFacts(f"J-{number}", Identification.PASSED, oil_bottle_read=True),
                now=moment + timedelta(microseconds=number),
            )
        except PieceBusy as error:
            return error.message
        except Conflict:
            return "overtaken"
        finally:
            connections.close_all()
        return "connected"

    with ThreadPoolExecutor(TABLETS) as pool:
        results = Counter(pool.map(connect, range(TABLETS)))

    assert results.pop("connected") == 1
    assert results.total() == TABLETS - 1
    results.pop("overtaken", None)
    assert len(results) <= 1
    assert all(message.startswith("H-1 is on job J-") for message in results)
    assert Connection.objects.filter(disconnected_at__isnull=True).count() == 1
    assert list(chain_breaks(Exposure)) == []
