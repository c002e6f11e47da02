"""Oil from the shelf into injectors: the same class and grade only, never below nothing, in ml and g."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import IntegrityError, connections, transaction

from equipment.choices import ExposureKind
from equipment.errors import PieceBusy, ReasonMissing
from equipment.models import Piece
from equipment.oil.errors import LotUnfit, NotEnoughOil, OilAmountImpossible, OilDiffers
from equipment.oil.filling import injector_fill
from equipment.oil.lots import oil_measured, oil_waste
from equipment.oil.models import MoveKind, OilLot, OilMove, OilStore
from equipment.oil.stores import store_of_injector, store_of_lot
from equipment.services.pieces import piece_retire
from shopcool.core.errors import Conflict
from shopcool.core.records import chain_breaks
from shopcool.engineering.quantities import Kind, Quantity, parse
from shopcool.vehicles.choices import Lubricant
from tests.equipment.workshop import Workshop


def ml(typed: str) -> Quantity:
    return parse(typed, Kind.VOLUME, default_unit="ml")


def left(held: OilLot | Piece) -> float:
    """What the books say is inside [ml]."""
    store = store_of_lot(held) if isinstance(held, OilLot) else store_of_injector(held)
    return float(store.volume_m3) * 1e6


class TestFilling:
    def test_moves_oil_in_ml_and_g_and_notes_what_the_injector_holds(self, workshop: Workshop) -> None:
        lot, injector = workshop.lot(), workshop.injector()

        move = workshop.fill(injector, lot, "2 US fl oz")

        # 2 US fl oz = 59.147 ml (NIST SP 811:2008, appendix B); 0.96 g/ml makes 56.781 g of it.
        assert float(move.volume_m3) * 1e6 == pytest.approx(59.1471, abs=1e-4)
        assert float(move.mass_kg) * 1e3 == pytest.approx(56.7812, abs=1e-3)
        assert (left(lot), left(injector)) == (pytest.approx(190.8529), pytest.approx(59.1471))
        exposure = injector.exposures.get(kind=ExposureKind.FILLED)
        assert exposure.lubricants == ["POE"]
        assert "L-1" in exposure.note
        lot.refresh_from_db()
        assert lot.opened_at == workshop.now

    @pytest.mark.parametrize(
        ("label", "message"),
        [
            ({"lubricant": Lubricant.PAG}, "labelled for PAG oil, L-1 is POE. No amount of it is acceptable"),
            ({"lubricant_grade": "POE 46"}, "labelled for the grade POE 46, L-1 is POE 68"),
            ({"lubricant_grade": ""}, "names no grade on its label"),
        ],
    )
    def test_refuses_another_class_or_grade(
        self, workshop: Workshop, label: dict[str, str], message: str
    ) -> None:
        lot, injector = workshop.lot(), workshop.injector(**label)

        with pytest.raises(OilDiffers, match=message) as refused:
            workshop.fill(injector, lot)

        assert refused.value.field == "lot"
        assert left(injector) == 0
        assert not injector.exposures.filter(kind=ExposureKind.FILLED).exists()

    def test_takes_the_same_grade_however_it_is_spelt(self, workshop: Workshop) -> None:
        workshop.fill(workshop.injector(lubricant_grade="poe68"), workshop.lot())

        assert OilMove.objects.filter(kind=MoveKind.FILLED).count() == 1

    def test_refuses_more_than_the_lot_holds(self, workshop: Workshop) -> None:
        lot, injector = workshop.lot(millilitres="50"), workshop.injector()

        with pytest.raises(NotEnoughOil, match="L-1 holds 50 ml; 51 ml can't be taken"):
            workshop.fill(injector, lot, "51")

    @pytest.mark.parametrize("nothing", ["0", "0.000001"])
    def test_refuses_an_amount_of_nothing(self, workshop: Workshop, nothing: str) -> None:
        with pytest.raises(OilAmountImpossible, match="above nothing"):
            workshop.fill(workshop.injector(), workshop.lot(), nothing)

    def test_refuses_a_container_open_for_longer_than_the_shop_allows(self, workshop: Workshop) -> None:
        lot, injector = workshop.lot(), workshop.injector()
        workshop.fill(injector, lot, "10")
        workshop.now += timedelta(days=30)
        workshop.fill(injector, lot, "10")
        workshop.now += timedelta(days=1)

        with pytest.raises(LotUnfit, match=r"open for 31 days, 30 are allowed.*draws moisture.*as waste"):
            workshop.fill(injector, lot, "10")

    def test_knows_no_limit_for_oil_that_draws_no_moisture(self, workshop: Workshop) -> None:
        lot = workshop.lot(lubricant=Lubricant.PAO, grade="PAO 68")
        injector = workshop.injector(lubricant=Lubricant.PAO, lubricant_grade="PAO 68")
        workshop.fill(injector, lot, "10")
        workshop.now += timedelta(days=300)

        workshop.fill(injector, lot, "10")

        assert left(injector) == pytest.approx(20)

    def test_refuses_while_the_injector_is_on_a_vehicle(self, workshop: Workshop) -> None:
        machine, hoses = workshop.machine(), workshop.piece("H-1")
        workshop.purge(machine, hoses)
        injector, lot = workshop.injector(), workshop.lot()
        assert workshop.connect(workshop.circuit(), machine, hoses, injector).connected

        with pytest.raises(PieceBusy, match=r"I-1 is on job J-1\. Take it off"):
            workshop.fill(injector, lot)

    def test_lets_nobody_change_the_label(self, workshop: Workshop) -> None:
        injector = workshop.injector()

        for change in ({"lubricant": "PAG"}, {"lubricant_grade": "POE 46"}, {"refrigerant": "R134A"}):
            with pytest.raises(IntegrityError, match="permanent: retire it"), transaction.atomic():
                Piece.objects.filter(pk=injector.pk).update(**change)


class TestStock:
    def test_measuring_and_weighing_book_a_difference(self, workshop: Workshop) -> None:
        lot = workshop.lot()
        grams = parse("230.4 g", Kind.MASS, default_unit="g")

        first = oil_measured(actor=workshop.technician, held=lot, found=grams, now=workshop.later())
        same = oil_measured(actor=workshop.technician, held=lot, found=ml("240"), now=workshop.later())
        more = oil_measured(actor=workshop.technician, held=lot, found=ml("245"), now=workshop.later())

        assert first is not None
        assert first.kind == MoveKind.MEASURED
        assert float(first.volume_m3) * 1e6 == pytest.approx(10)  # 230.4 g / 0.96 g/ml = 240 ml of 250 ml
        assert same is None
        assert more is not None
        assert more.target == store_of_lot(lot)
        assert left(lot) == pytest.approx(245)

    def test_waste_needs_a_reason_and_takes_everything_by_default(self, workshop: Workshop) -> None:
        lot, injector = workshop.lot(), workshop.injector()
        workshop.fill(injector, lot, "60")
        act = {"actor": workshop.technician, "held": injector, "amount": None, "now": workshop.later()}

        with pytest.raises(ReasonMissing, match="why the oil is waste"):
            oil_waste(**act, reason=" ")
        oil_waste(**act, reason="stood open over night")

        store = store_of_injector(injector)
        assert (store.volume_m3, store.mass_kg) == (Decimal(0), Decimal(0))

    def test_an_injector_that_is_retired_leaves_nothing_in_the_books(self, workshop: Workshop) -> None:
        injector = workshop.injector()
        workshop.fill(injector, workshop.lot(), "20")
        retired = {"actor": workshop.owner, "piece": injector, "reason": "worn", "now": workshop.later()}

        piece_retire(**retired)

        move = OilMove.objects.get(kind=MoveKind.WASTED)
        assert (left(injector), float(move.volume_m3)) == (0, pytest.approx(20e-6))
        assert move.note == "I-1 was retired"

    def test_no_oil_is_made_or_lost(self, workshop: Workshop) -> None:
        lot, injector = workshop.lot(), workshop.injector()
        for amount in ("33.3", "0.7 imp fl oz", "1 US fl oz"):
            workshop.fill(injector, lot, amount)
        oil_waste(
            actor=workshop.technician, held=injector, amount=ml("12.34"), reason="spilt", now=workshop.later()
        )

        assert sum(store.volume_m3 for store in OilStore.objects.all()) == 0
        assert sum(store.mass_kg for store in OilStore.objects.all()) == 0
        assert list(chain_breaks(OilMove)) == []

    def test_the_database_refuses_less_than_nothing_and_any_change_of_the_past(
        self, workshop: Workshop
    ) -> None:
        lot = workshop.lot()

        with (
            pytest.raises(IntegrityError, match="equipment_oil_stock_not_negative"),
            transaction.atomic(),
        ):
            OilStore.objects.filter(lot=lot).update(volume_m3=-1)
        with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
            OilMove.objects.update(volume_m3=1)
        with pytest.raises(IntegrityError, match="What a lot is"), transaction.atomic():
            OilLot.objects.update(grade="POE 46")


@pytest.mark.django_db(transaction=True)
def test_eight_tablets_never_take_more_than_the_lot_holds() -> None:
    workshop = Workshop()
    lot = workshop.lot(millilitres="100")
    injectors = [workshop.injector(f"I-{number}") for number in range(8)]
    barrier, moment = Barrier(8), workshop.later()

    def fill(number: int) -> str:
        try:
            barrier.wait(timeout=30)
            injector_fill(
                actor=workshop.technician,
                injector=injectors[number],
                lot=lot,
                amount=ml("30"),
                now=moment + timedelta(microseconds=number),
            )
        except NotEnoughOil:
            return "not enough"
        except Conflict as error:
            return error.code
        finally:
            connections.close_all()
        return "filled"

    with ThreadPoolExecutor(8) as pool:
        results = Counter(pool.map(fill, range(8)))

    assert results == {"filled": 3, "not enough": 5}
    assert left(lot) == pytest.approx(10)
