"""How much pieces are used: refrigerant recovered, jobs, hours by the meter."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.db.models import F
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from equipment.errors import WorkImpossible
from equipment.maintenance.models import MaintenancePlan, PieceUse
from equipment.maintenance.policies import may_record_maintenance
from equipment.models import Connection, Piece
from shopcool.core.actors import Actor
from shopcool.core.errors import require
from shopcool.core.records import append


@transaction.atomic
def piece_used(
    *,
    actor: Actor,
    piece_id: int,
    occurred_at: datetime,
    now: datetime,
    mass_kg: float = 0.0,
    hours: float = 0.0,
    meter_hours: float | None = None,
    job_number: str = "",
    note: str = "",
) -> PieceUse:
    """Count refrigerant recovered [kg] and hours run [h] with a piece.

    A correction is a new row with the difference, at the time of what it corrects.
    """
    use = append(
        PieceUse(
            piece_id=piece_id, mass_kg=mass_kg, hours=hours, meter_hours=meter_hours,
            job_number=job_number, occurred_at=occurred_at, note=note,
        ),
        stream=f"use:piece:{piece_id}", actor=actor, now=now,
    )  # fmt: skip
    open_plans = MaintenancePlan.objects.filter(piece_id=piece_id, ended_at__isnull=True)
    open_plans.filter(counts_from__lt=occurred_at).update(
        used_kg=F("used_kg") + mass_kg, used_hours=F("used_hours") + hours
    )
    return use


def job_count(piece_ids: Iterable[int], job_number: str, connected_at: datetime) -> None:
    """Count a job for the pieces that come on a vehicle, once however often they do so on the same job.

    Called before their connections are written.
    """
    wanted = set(piece_ids)
    before = Connection.objects.filter(job_number=job_number, piece_id__in=wanted)
    fresh = wanted - set(before.values_list("piece_id", flat=True))
    open_plans = MaintenancePlan.objects.filter(piece_id__in=fresh, ended_at__isnull=True)
    open_plans.filter(counts_from__lt=connected_at).update(used_jobs=F("used_jobs") + 1)


@transaction.atomic
def meter_read(
    *, actor: Actor, piece: Piece, meter_hours: float, now: datetime, is_replaced: bool = False
) -> PieceUse:
    """Record what the hour meter of a piece shows [h]; the hours since its last reading count.

    With ``is_replaced`` the meter is a new one, so that counting begins again at its reading. Raises
    NotAllowed, and WorkImpossible when the meter would have run backwards.
    """
    require(may_record_maintenance(actor))
    Piece.objects.select_for_update(no_key=True).get(pk=piece.pk)
    last = (
        PieceUse.objects.filter(piece=piece, meter_hours__isnull=False)
        .order_by("-occurred_at", "-sequence")
        .first()
    )
    hours = 0.0
    if last is not None and last.meter_hours is not None and not is_replaced:
        hours = meter_hours - last.meter_hours
        if hours < 0:
            raise WorkImpossible(
                _("The meter showed %(hours)g h on %(day)s. If it was replaced, say so.")
                % {"hours": last.meter_hours, "day": date_format(last.occurred_at, "j M Y")},
                field="meter",
            )
    return piece_used(
        actor=actor, piece_id=piece.pk, occurred_at=now, now=now, hours=hours, meter_hours=meter_hours
    )
