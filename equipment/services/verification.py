"""Recompute what the equipment's records say: the projection of each piece against its log."""

from __future__ import annotations

from collections.abc import Iterator

from django.db import transaction

from equipment.exposure import fold
from equipment.models import PieceState
from equipment.selectors import events_of


def stale_states() -> Iterator[PieceState]:
    """Yield every piece whose stored condition differs from what its log says."""
    for state in PieceState.objects.select_related("piece").order_by("piece_id"):
        if state.condition() != fold(events_of(state.piece_id)):
            yield state


@transaction.atomic
def states_rebuild() -> int:
    """Fold every log again, write the conditions, and return how many were wrong."""
    wrong = list(stale_states())
    for state in wrong:
        locked = PieceState.objects.select_for_update().get(pk=state.pk)
        locked.take(fold(events_of(locked.piece_id)))
        locked.save()
    return len(wrong)
