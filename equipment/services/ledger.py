"""Move refrigerant between accounts: nothing is lost, nothing is mixed, no stock goes below nothing."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.ledger import Account, AccountKind, Content, LedgerEntry
from equipment.maintenance.choices import Work
from equipment.maintenance.models import MaintenancePlan
from equipment.models import Piece
from equipment.policies import may_move_refrigerant
from shopcool.core.actors import Actor
from shopcool.core.errors import Conflict, DomainError, require
from shopcool.core.records import append
from shopcool.vehicles.models import Circuit

TENTH_OF_A_GRAM = Decimal("0.0001")
LARGEST_MOVE_KG = 1_000.0
_KIND_OF_PIECE = {
    PieceKind.RECOVERY_CYLINDER: AccountKind.CYLINDER,
    PieceKind.MACHINE: AccountKind.MACHINE_TANK,
}


class NotEnough(Conflict):
    """The stock holds less than was asked for."""

    code = "not_enough"


class ContentDiffers(DomainError):
    """Two contents must never be mixed."""

    code = "content_differs"


class AirInside(Conflict):
    """A check found air or another gas in the tank: its content only leaves the workshop."""

    code = "air_inside"


class MassImpossible(DomainError):
    """A mass that can't be moved."""

    code = "mass"


def account_of_piece(piece: Piece) -> Account:
    """Return the account of a cylinder or of a machine's tank; raises DomainError for other pieces."""
    kind = _KIND_OF_PIECE.get(PieceKind(piece.kind))
    if kind is None:
        raise DomainError(_("%(piece)s holds no refrigerant.") % {"piece": piece.code}, field="piece")
    return Account.objects.get_or_create(piece=piece, defaults={"kind": kind})[0]


def account_of_circuit(circuit: Circuit) -> Account:
    """Return the account of a vehicle's circuit."""
    return Account.objects.get_or_create(circuit=circuit, defaults={"kind": AccountKind.VEHICLE})[0]


def account_of_kind(kind: AccountKind) -> Account:
    """Return the one account of suppliers, reclaimers, or of what is not accounted for."""
    return Account.objects.get_or_create(kind=kind, piece=None, circuit=None)[0]


@transaction.atomic
def refrigerant_move(
    *,
    actor: Actor,
    source: Account,
    target: Account,
    content: Content,
    mass_kg: float,
    now: datetime,
    job_number: str = "",
    note: str = "",
) -> LedgerEntry:
    """Move a mass [kg] from one account to another and return the entry.

    Raises NotAllowed, MassImpossible, ContentDiffers when it would be mixed or come out of something else,
    AirInside when a check found air in one of the two, and NotEnough when the source holds less.
    """
    require(may_move_refrigerant(actor))
    mass = _checked_mass(mass_kg)
    locked = {
        account.pk: account
        for account in Account.objects.select_for_update(of=("self",))
        .select_related("piece")
        .filter(pk__in=[source.pk, target.pk])
        .order_by("pk")
    }
    source, target = locked[source.pk], locked[target.pk]
    _refuse_air(source, target)
    _refuse_other_content(source, content, needs_content=True)
    _refuse_other_content(target, content, needs_content=False)
    _take(source, mass)
    _give(target, mass, content)
    entry = LedgerEntry(
        source=source,
        target=target,
        content=content,
        mass_kg=mass,
        job_number=job_number,
        occurred_at=now,
        note=note,
    )
    return append(entry, stream="ledger", actor=actor, now=now)


@transaction.atomic
def stock_weighed(*, actor: Actor, account: Account, mass_kg: float, now: datetime) -> LedgerEntry | None:
    """Book what a weighing of a stock [kg] found beyond its balance as a difference; None when it agrees."""
    account = Account.objects.select_for_update(of=("self",)).get(pk=account.pk)
    difference = Decimal(str(mass_kg)).quantize(TENTH_OF_A_GRAM) - account.balance_kg
    if not difference:
        return None
    unaccounted = account_of_kind(AccountKind.UNACCOUNTED)
    source, target = (unaccounted, account) if difference > 0 else (account, unaccounted)
    return refrigerant_move(
        actor=actor,
        source=source,
        target=target,
        content=Content(account.content),
        mass_kg=float(abs(difference)),
        now=now,
        note=_("Difference found by weighing"),
    )


def _checked_mass(mass_kg: float) -> Decimal:
    if not 0 < mass_kg <= LARGEST_MOVE_KG:
        raise MassImpossible(_("A mass above zero and up to 1000 kg, please."), field="mass")
    mass = Decimal(str(mass_kg)).quantize(TENTH_OF_A_GRAM)
    if not mass:
        raise MassImpossible(_("Less than a tenth of a gram can't be booked."), field="mass")
    return mass


def _refuse_other_content(account: Account, content: Content, *, needs_content: bool) -> None:
    if not AccountKind(account.kind).holds_stock:
        return
    if account.balance_kg and account.content != content:
        raise ContentDiffers(
            _("%(name)s holds %(held)s; %(content)s must not be mixed with it.")
            % {"name": _name(account), "held": Content(account.content).label, "content": content.label},
            field="content",
        )
    piece = account.piece
    if piece is None or needs_content:
        return
    if piece.is_marked_for_contaminated != (content is Content.CONTAMINATED):
        raise ContentDiffers(
            _("Contaminated gas goes into a cylinder marked for it, and nothing else does: %(name)s.")
            % {"name": _name(account)},
            field="content",
        )
    if piece.refrigerant and piece.refrigerant != content:
        raise ContentDiffers(
            _("%(name)s is labelled for another refrigerant than %(content)s.")
            % {"name": _name(account), "content": content.label},
            field="content",
        )


def _refuse_air(source: Account, target: Account) -> None:
    """Keep what a check found foul where it is, except for sending it away and booking a weighing."""
    if {source.kind, target.kind} & {AccountKind.RECLAIMER, AccountKind.UNACCOUNTED}:
        return
    pieces = [account.piece_id for account in (source, target) if account.piece_id]
    failed = MaintenancePlan.objects.filter(
        piece_id__in=pieces, work=Work.TANK_CHECK, failed_on__isnull=False, ended_at__isnull=True
    )
    for plan in failed.select_related("piece")[:1]:
        sentence = _(
            "Air or another gas is in %(name)s, by its last check: nothing is taken from it or added to it "
            "but to send it away. Put it right and record the check that it then passes."
        )
        raise AirInside(sentence % {"name": plan.piece.code})


def _take(source: Account, mass: Decimal) -> None:
    if AccountKind(source.kind).holds_stock and source.balance_kg < mass:
        raise NotEnough(
            _("%(name)s holds %(held)s kg; %(mass)s kg can't be taken from it.")
            % {"name": _name(source), "held": f"{source.balance_kg:.3f}", "mass": f"{mass:.3f}"},
            field="mass",
        )
    source.balance_kg -= mass
    source.save(update_fields=["balance_kg"])


def _give(target: Account, mass: Decimal, content: Content) -> None:
    target.balance_kg += mass
    if AccountKind(target.kind).holds_stock:
        target.content = content
    target.save(update_fields=["balance_kg", "content"])


def _name(account: Account) -> str:
    return account.piece.code if account.piece is not None else str(account.get_kind_display())
