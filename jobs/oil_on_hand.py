"""The oil of the workshop as the steps of one job see it: read from the books when first asked for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import cached_property

from equipment.choices import PieceKind
from equipment.oil.filling import unfit_words
from equipment.oil.models import OilStore
from equipment.oil.selectors import bad_lots_in, lots_now, lots_on_record
from jobs.choices import StepKind
from jobs.models import Job, StepRecord
from jobs.steps.context import PieceChoice
from jobs.steps.oil_on_hand import HeldOil, LotChoice
from jobs.steps.values import Values
from shopcool.shop.models import Shop


class ShopOil:
    """The books beside one job. What a record that is about to be corrected took counts as put back."""

    def __init__(
        self,
        job: Job,
        pieces: Iterable[PieceChoice],
        *,
        now: datetime,
        without: StepRecord | None,
        shop: Shop,
    ) -> None:
        self._job = job
        self._shop = shop
        self._pieces = pieces
        self._now = now
        is_oil = without is not None and without.kind == StepKind.OIL
        self._put_back = Values(without.values) if without is not None and is_oil else Values()

    @cached_property
    def _injector_ids(self) -> list[int]:
        return [piece.id for piece in self._pieces if piece.kind is PieceKind.INJECTOR]

    @cached_property
    def injectors(self) -> Mapping[int, HeldOil]:
        """What each injector of the job holds."""
        bad = bad_lots_in(self._injector_ids)
        held: dict[int, HeldOil] = {}
        for store in OilStore.objects.filter(piece_id__in=self._injector_ids):
            back = self._returned("injector", store.piece_id)
            volume, mass = _with(back, float(store.volume_m3), float(store.mass_kg))
            held[store.piece_id or 0] = HeldOil(volume, mass, bad.get(store.piece_id or 0, ""))
        return held

    @cached_property
    def lots(self) -> tuple[LotChoice, ...]:
        """The lots on the shelf, by code."""
        found = []
        for one in lots_now(lots_on_record(), shop=self._shop, now=self._now):
            back = self._returned("lot", one.lot.pk)
            volume, mass = _with(back, one.volume_m3, one.mass_kg)
            why_not = "" if one.state.may_be_dispensed or back else unfit_words(one)
            lot = one.lot
            found.append(LotChoice(lot.pk, lot.code, lot.lubricant, lot.grade, volume, mass, why_not))
        return tuple(found)

    def left_unread(self, machine_id: int) -> str:
        """Return the last other job that recovered with a machine and left its oil bottle unread."""
        last = (
            StepRecord.objects.filter(
                kind=StepKind.RECOVERY, corrected_by=None, values__machine__id=machine_id
            )
            .exclude(job=self._job)
            .select_related("job")
            .order_by("-pk")
            .first()
        )
        return last.job.number if last is not None and not Values(last.values).has("oil_end") else ""

    def _returned(self, name: str, number: int | None) -> float:
        """Return what the corrected record took from an injector or a lot [m³]."""
        return self._put_back.si("amount", 0.0) if self._put_back.number(name) == number else 0.0


def _with(back_m3: float, volume_m3: float, mass_kg: float) -> tuple[float, float]:
    """Return volume and mass with an amount put back, at the density of what is there."""
    if not back_m3 or not volume_m3:
        return volume_m3 + back_m3, mass_kg
    return volume_m3 + back_m3, mass_kg * (1 + back_m3 / volume_m3)
