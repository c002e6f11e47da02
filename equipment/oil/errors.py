"""The named refusals of the oil."""

from __future__ import annotations

from shopcool.core.errors import Conflict, DomainError


class NotEnoughOil(Conflict):
    """The lot or the injector holds less than was asked for."""

    code = "not_enough_oil"


class LotUnfit(Conflict):
    """Oil of this lot must not be dispensed: bad, open for too long, empty, or a test speaks against it."""

    code = "lot_unfit"


class OilDiffers(DomainError):
    """The lot is of another class or grade than the label of the injector."""

    code = "oil_differs"


class OilAmountImpossible(DomainError):
    """An amount of oil that can't be moved."""

    code = "oil_amount"


class LotInvalid(DomainError):
    """A lot that can't be described like this."""

    code = "lot_invalid"
