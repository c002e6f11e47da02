"""Refrigerant is conserved: it moves between two accounts, is never mixed, no stock goes below nothing."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import IntegrityError, connections, transaction

from equipment.choices import PieceKind
from equipment.ledger import Account, AccountKind, Content, LedgerEntry
from equipment.services.ledger import (
    ContentDiffers,
    MassImpossible,
    NotEnough,
    account_of_circuit,
    account_of_kind,
    account_of_piece,
    refrigerant_move,
    stock_weighed,
)
from shopcool.core.actors import Actor
from shopcool.core.errors import NotAllowed
from shopcool.core.records import chain_breaks
from shopcool.vehicles.choices import Refrigerant
from tests.equipment.workshop import Workshop


class Stock:
    """A cylinder with one kilogram in it, a marked one, and a car."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop
        cylinder = workshop.piece("C-1", PieceKind.RECOVERY_CYLINDER, refrigerant=Refrigerant.R134A)
        marked = workshop.piece("C-9", PieceKind.RECOVERY_CYLINDER, is_marked_for_contaminated=True)
        self.cylinder, self.marked = account_of_piece(cylinder), account_of_piece(marked)
        self.car = account_of_circuit(workshop.circuit())
        self.supplier = account_of_kind(AccountKind.SUPPLIER)
        self.move(self.supplier, self.cylinder, 1.0)

    def move(
        self, source: Account, target: Account, mass_kg: float, content: Content = Content.R134A
    ) -> LedgerEntry:
        return refrigerant_move(
            actor=self.workshop.technician,
            source=source,
            target=target,
            content=content,
            mass_kg=mass_kg,
            now=self.workshop.now,
        )

    def total(self) -> Decimal:
        return sum((account.balance_kg for account in Account.objects.all()), Decimal(0))


@pytest.fixture
def stock(workshop: Workshop) -> Stock:
    return Stock(workshop)


class TestMove:
    def test_keeps_the_sum_of_all_accounts(self, stock: Stock) -> None:
        stock.move(stock.cylinder, stock.car, 0.55)

        stock.cylinder.refresh_from_db()
        assert stock.cylinder.balance_kg == Decimal("0.45")
        assert stock.total() == 0

    def test_takes_no_more_than_there_is(self, stock: Stock) -> None:
        with pytest.raises(NotEnough, match=r"C-1 holds 1\.000 kg; 1\.100 kg can't be taken"):
            stock.move(stock.cylinder, stock.car, 1.1)

    @pytest.mark.parametrize("mass", [0.0, -0.1, 1001.0, float("nan"), float("inf")])
    def test_refuses_an_impossible_mass(self, stock: Stock, mass: float) -> None:
        with pytest.raises(MassImpossible, match="above zero and up to 1000 kg"):
            stock.move(stock.cylinder, stock.car, mass)

    def test_never_mixes(self, stock: Stock) -> None:
        stock.move(stock.car, stock.marked, 0.3, Content.CONTAMINATED)

        with pytest.raises(ContentDiffers, match="C-1 holds R-134a; R-1234yf must not be mixed"):
            stock.move(stock.supplier, stock.cylinder, 0.1, Content.R1234YF)
        with pytest.raises(ContentDiffers, match="C-9 holds Contaminated gas; R-134a must not be mixed"):
            stock.move(stock.car, stock.marked, 0.1)
        stock.move(stock.cylinder, stock.car, 1.0)
        with pytest.raises(ContentDiffers, match="into a cylinder marked for it"):
            stock.move(stock.car, stock.cylinder, 0.1, Content.CONTAMINATED)
        with pytest.raises(ContentDiffers, match="C-1 is labelled for another refrigerant"):
            stock.move(stock.supplier, stock.cylinder, 0.1, Content.R1234YF)

    def test_is_for_those_who_work_on_vehicles(self, stock: Stock) -> None:
        outsider = Actor(user_id=stock.workshop.technician.user_id, name="Nobody")

        with pytest.raises(NotAllowed, match="You may not do this"):
            refrigerant_move(
                actor=outsider,
                source=stock.cylinder,
                target=stock.car,
                content=Content.R134A,
                mass_kg=0.1,
                now=stock.workshop.now,
            )


class TestWeighing:
    def test_books_the_difference_and_never_overwrites(self, stock: Stock) -> None:
        entry = stock_weighed(
            actor=stock.workshop.technician, account=stock.cylinder, mass_kg=0.985, now=stock.workshop.now
        )

        assert entry is not None
        assert entry.mass_kg == Decimal("0.0150")
        assert entry.target == account_of_kind(AccountKind.UNACCOUNTED)
        assert stock.total() == 0

    def test_that_agrees_books_nothing(self, stock: Stock) -> None:
        entry = stock_weighed(
            actor=stock.workshop.technician, account=stock.cylinder, mass_kg=1.0, now=stock.workshop.now
        )

        assert entry is None


class TestLedger:
    def test_only_grows_and_its_chain_holds(self, stock: Stock) -> None:
        stock.move(stock.cylinder, stock.car, 0.2)

        with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
            LedgerEntry.objects.update(mass_kg=5)
        assert list(chain_breaks(LedgerEntry)) == []

    def test_database_refuses_a_stock_below_nothing(self, stock: Stock) -> None:
        with pytest.raises(IntegrityError, match="stock_not_negative"), transaction.atomic():
            Account.objects.filter(pk=stock.cylinder.pk).update(balance_kg=-1)


@pytest.mark.django_db(transaction=True)
def test_two_bays_charging_from_one_kilogram_at_once_take_it_once() -> None:
    stock = Stock(Workshop())
    other = account_of_circuit(stock.workshop.circuit())
    barrier = Barrier(2)

    def charge(order: tuple[Account, float]) -> str:
        target, mass = order
        try:
            barrier.wait(timeout=30)
            stock.move(stock.cylinder, target, mass)
        except NotEnough:
            return "not enough"
        finally:
            connections.close_all()
        return "charged"

    with ThreadPoolExecutor(2) as pool:
        results = sorted(pool.map(charge, [(stock.car, 0.55), (other, 0.60)]))

    stock.cylinder.refresh_from_db()
    assert results == ["charged", "not enough"]
    assert stock.cylinder.balance_kg in {Decimal("0.45"), Decimal("0.40")}
    assert stock.total() == 0
