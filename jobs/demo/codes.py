"""What the invented workshop has copied from the tables of invented vehicle makers."""

from __future__ import annotations

from datetime import datetime

from shopcool.core.actors import Actor
from shopcool.vehicles.choices import CodeArea
from shopcool.vehicles.services.codes import CodeData, code_enter

LINES = (
    ("", "Insulation of the high-voltage system has fallen", CodeArea.NO_PLACE),
    ("2A1", "Insulation low while the air conditioning compressor runs", CodeArea.CIRCUIT),
    ("2A4", "Insulation low behind the front relays", CodeArea.AREA),
    ("2B0", "Insulation low inside the battery", CodeArea.ELSEWHERE),
)


def table_enter(owner: Actor, now: datetime) -> None:
    """Enter the table of one model."""
    for detail, meaning, area in LINES:
        source = "Aster City, workshop manual, page 812"
        code_enter(
            actor=owner, data=CodeData("Aster", "City", "P0AA6", detail, meaning, area, source), now=now
        )
