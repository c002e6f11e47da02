"""Rules about a service machine: certificate, calibration, oil and dye injection."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.utils.translation import gettext as _

from equipment.choices import DocumentKind, PieceKind
from equipment.readiness.facts import ClearanceRequest, DocumentFacts, PieceFacts
from equipment.readiness.reasons import HIGH_VOLTAGE_EQUIPMENT, RECYCLING_STANDARD, Reason, refuse, words
from shopcool.vehicles.choices import Lubricant, Refrigerant


def _certificate(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.kind is not PieceKind.MACHINE:
        return
    certificates = [item for item in piece.documents if item.kind is DocumentKind.CERTIFICATE]
    covering = [item for item in certificates if request.circuit.refrigerant in item.refrigerants]
    current = [item for item in covering if item.in_date(request.today)]
    if request.circuit.refrigerant is not Refrigerant.UNKNOWN and not current:
        yield refuse(
            "certificate_out_of_date" if covering else "certificate_missing",
            _("No certificate of %(piece)s for %(gas)s is in date.")
            % {"piece": piece.code, "gas": request.circuit.refrigerant.label},
            _("Take a certified machine, or have the owner enter the renewed certificate."),
            RECYCLING_STANDARD,
            piece,
        )
    if request.is_high_voltage and not any(item.covers_high_voltage for item in current):
        yield refuse(
            "certificate_without_high_voltage",
            _("%(piece)s is not certified for high-voltage compressors.") % {"piece": piece.code},
            _("Take a machine whose certificate covers high-voltage compressors."),
            HIGH_VOLTAGE_EQUIPMENT,
            piece,
        )
    yield from _certified_oil(request, piece, current)


def _certified_oil(
    request: ClearanceRequest, piece: PieceFacts, current: list[DocumentFacts]
) -> Iterator[Reason]:
    """Refuse a machine whose certificates name oils, but not this one; one that names none says nothing."""
    named = {oil for item in current for oil in item.lubricants}
    own = request.circuit.lubricant
    if not request.is_high_voltage or own is Lubricant.UNKNOWN or not named or own.value in named:
        return
    yield refuse(
        "certificate_for_other_oil",
        _("The certificate of %(piece)s covers %(oils)s, the circuit holds %(oil)s.")
        % {"piece": piece.code, "oils": words(named), "oil": own.label},
        _("Take a machine whose certificate covers this oil."),
        HIGH_VOLTAGE_EQUIPMENT,
        piece,
    )


def _calibration(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.kind is not PieceKind.MACHINE:
        return
    names = {
        DocumentKind.SCALE_CALIBRATION: _("scale"),
        DocumentKind.GAUGE_CALIBRATION: _("gauges"),
    }
    for kind, name in names.items():
        proofs = [item for item in piece.documents if item.kind is kind]
        if not any(item.in_date(request.today) for item in proofs):
            yield refuse(
                f"{kind.value.lower()}_out_of_date",
                _("No calibration of the %(what)s of %(piece)s is in date.")
                % {"what": name, "piece": piece.code},
                _("Check it against a reference and have the owner enter the calibration."),
                "SAE J2788 sections 9.1 and 10.2: the scale is checked as its maker recommends",
                piece,
            )


def _no_injection(request: ClearanceRequest, piece: PieceFacts) -> Iterator[Reason]:
    if piece.kind is not PieceKind.MACHINE or not request.is_high_voltage:
        return
    if piece.can_inject_dye is not False:
        yield refuse(
            "machine_injects_dye",
            _("%(piece)s can inject dye, or nobody has said that it can't.") % {"piece": piece.code},
            _("Take a machine without dye injection: dye often carries PAG or solvent."),
            HIGH_VOLTAGE_EQUIPMENT,
            piece,
        )
    if piece.can_inject_oil is not False:
        yield refuse(
            "machine_injects_oil",
            _("%(piece)s can inject oil, or nobody has said that it can't.") % {"piece": piece.code},
            _("Take a machine without oil injection and use a labelled injector."),
            HIGH_VOLTAGE_EQUIPMENT,
            piece,
        )


MACHINE_RULES: tuple[Callable[[ClearanceRequest, PieceFacts], Iterator[Reason]], ...] = (
    _certificate,
    _calibration,
    _no_injection,
)
