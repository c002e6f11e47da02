"""What proves that a piece may go on a car: certificate with number and date, dedication."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from equipment.choices import DocumentKind, PieceKind
from equipment.readiness import DocumentFacts, PieceFacts
from equipment.readiness.reasons import words
from shopcool.vehicles.choices import Lubricant
from shopcool.vehicles.models import Circuit


def proofs_of(piece: PieceFacts, circuit: Circuit) -> list[str]:
    """Return a sentence for each proof of a piece on this circuit."""
    found = []
    if piece.kind is PieceKind.MACHINE:
        found += [_certificate(item) for item in _covering(piece, circuit)[:1]]
    if piece.dedicated_to and piece.dedicated_to == circuit.lubricant:
        oil = {"oil": Lubricant(piece.dedicated_to).label}
        found.append(_("Dedicated to %(oil)s: it touches no other oil.") % oil)
    return found


def _covering(piece: PieceFacts, circuit: Circuit) -> list[DocumentFacts]:
    """Return the certificates for this gas, the longest valid first."""
    certificates = [item for item in piece.documents if item.kind is DocumentKind.CERTIFICATE]
    covering = [item for item in certificates if circuit.refrigerant in item.refrigerants]
    return sorted(covering, key=lambda item: item.valid_until or date.max, reverse=True)


def _certificate(document: DocumentFacts) -> str:
    covers = [
        _("high-voltage compressors") if document.covers_high_voltage else "",
        _("%(oils)s oil") % {"oils": words(document.lubricants)} if document.lubricants else "",
    ]
    told = {
        "number": document.number,
        "covers": ", ".join(word for word in covers if word) or _("this refrigerant"),
        "until": date_format(document.valid_until, "SHORT_DATE_FORMAT")
        if document.valid_until
        else _("no end"),
    }
    return _("Certificate %(number)s covers %(covers)s; valid until: %(until)s.") % told
