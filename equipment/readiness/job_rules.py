"""Rules about the visit as a whole: label, identification, bottle, competence."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.utils.translation import gettext as _

from equipment.choices import PieceKind
from equipment.readiness.facts import ClearanceRequest, Identification
from equipment.readiness.reasons import (
    BEFORE_RECOVERY,
    COMMON_PRACTICE,
    SHOP_POLICY,
    TECHNICIAN_RULE,
    Reason,
    refuse,
    warn,
    words,
)
from shopcool.vehicles.choices import Additive, Lubricant, Refrigerant


def _some_piece(request: ClearanceRequest) -> Iterator[Reason]:
    if not request.pieces:
        yield refuse(
            "no_piece",
            _("No piece was chosen."),
            _("Choose the pieces that will touch the circuit."),
            COMMON_PRACTICE,
        )


def _label_known(request: ClearanceRequest) -> Iterator[Reason]:
    if request.is_contaminated_recovery:
        return
    if request.circuit.refrigerant is Refrigerant.UNKNOWN:
        yield refuse(
            "circuit_refrigerant_unknown",
            _("The refrigerant of this circuit is not known."),
            _("Read the underhood label and enter it on the vehicle's page."),
            COMMON_PRACTICE,
        )
    if request.circuit.lubricant is Lubricant.UNKNOWN:
        yield refuse(
            "circuit_lubricant_unknown",
            _("The oil class of this circuit is not known."),
            _("Read the label or the vehicle maker's data and enter it on the vehicle's page."),
            COMMON_PRACTICE,
        )


def _identified(request: ClearanceRequest) -> Iterator[Reason]:
    sentences = {
        Identification.NOT_DONE: _("The refrigerant in the vehicle has not been identified on this job."),
        Identification.FAILED: _("The identifier found contaminated or different refrigerant."),
        Identification.NOT_ANALYSABLE: _("The refrigerant could not be analysed."),
    }
    if request.visit.identification is Identification.PASSED:
        return
    if request.is_contaminated_recovery:
        return
    yield refuse(
        f"identification_{request.visit.identification.value.lower()}",
        sentences[request.visit.identification],
        _("Identify the refrigerant first. Fittings, labels and pressure are not proof.")
        if request.visit.identification is Identification.NOT_DONE
        else _("Only recover it into a cylinder marked for contaminated refrigerant."),
        BEFORE_RECOVERY,
    )


def _bottle_read(request: ClearanceRequest) -> Iterator[Reason]:
    if any(piece.kind is PieceKind.MACHINE for piece in request.pieces) and not request.visit.oil_bottle_read:
        yield refuse(
            "oil_bottle_not_read",
            _("The recovered-oil bottle has not been read: this oil could be the last vehicle's."),
            _("Empty the bottle or note its reading."),
            "SAE J2788 section 7.6: separated oil is measured",
        )


def _additives(request: ClearanceRequest) -> Iterator[Reason]:
    for additive in sorted(request.visit.additives):
        if additive == Additive.SEALER and (clean := _without_sealer(request)):
            yield refuse(
                "circuit_sealer",
                _("Leak sealer is in this circuit: it hardens inside %(pieces)s, and no purge removes it.")
                % {"pieces": ", ".join(clean)},
                _("Connect only pieces that are kept for such circuits, or a cylinder marked for them."),
                COMMON_PRACTICE,
            )
            continue
        yield warn(
            f"circuit_{additive.lower()}",
            _("%(what)s is in this circuit: every piece takes it along.")
            % {"what": Additive(additive).label},
            _("Expect a line purge to be needed; dye can be flushed out, sealer can't."),
            COMMON_PRACTICE,
        )


def _without_sealer(request: ClearanceRequest) -> list[str]:
    """Return the codes of the pieces that leak sealer would spoil."""
    return [
        piece.code
        for piece in request.pieces
        if Additive.SEALER not in piece.residue.additives and not piece.is_marked_for_contaminated
    ]


def _competent(request: ClearanceRequest) -> Iterator[Reason]:
    if not request.person.refrigerant_competence:
        yield refuse(
            "refrigerant_competence",
            _("%(name)s has no refrigerant-handling competence in date.") % {"name": request.person.name},
            _("Let a qualified colleague connect, or have the owner enter the certificate."),
            TECHNICIAN_RULE,
        )
    if not request.is_high_voltage or not request.visit.needs_high_voltage_work:
        return
    if not request.person.high_voltage_competence:
        yield refuse(
            "high_voltage_competence",
            _("%(name)s has no high-voltage competence in date, and this job works on high-voltage parts.")
            % {"name": request.person.name},
            _("Let a colleague qualified for high voltage do this work."),
            SHOP_POLICY,
        )
    if request.visit.gloves_in_date is False:
        yield refuse(
            "gloves_out_of_date",
            _("The insulating gloves have no test in date."),
            _("Take gloves with a test in date."),
            "29 CFR 1910.137 table I-5: 6 months after first issue",
        )


def _suspect_circuit(request: ClearanceRequest) -> Iterator[Reason]:
    if request.circuit.suspected_lubricants:
        yield warn(
            "circuit_suspected",
            _("Other oil may have entered this circuit earlier: %(oils)s.")
            % {"oils": words(request.circuit.suspected_lubricants)},
            _("Expect the pieces to need a line purge afterwards, and measure the insulation."),
            COMMON_PRACTICE,
        )


JOB_RULES: tuple[Callable[[ClearanceRequest], Iterator[Reason]], ...] = (
    _some_piece,
    _label_known,
    _identified,
    _bottle_read,
    _competent,
    _additives,
    _suspect_circuit,
)
