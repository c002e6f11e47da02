"""Kinds of pieces, exposures, documents and verdicts, each with its words."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _


class PieceKind(models.TextChoices):
    """Everything that refrigerant or its oil touches, and the instruments and protection of the work."""

    MACHINE = "MACHINE", _("Service machine")
    HOSE_SET = "HOSE_SET", _("Hose set")
    SIGHT_GLASS = "SIGHT_GLASS", _("Sight glass")
    MANIFOLD = "MANIFOLD", _("Manifold")
    ADAPTER = "ADAPTER", _("Adapter")
    INJECTOR = "INJECTOR", _("Oil injector")
    RECOVERY_CYLINDER = "RECOVERY_CYLINDER", _("Recovery cylinder")
    OIL_BOTTLE = "OIL_BOTTLE", _("Recovered-oil bottle")
    IDENTIFIER = "IDENTIFIER", _("Refrigerant identifier")
    LEAK_DETECTOR = "LEAK_DETECTOR", _("Leak detector")
    INSULATION_TESTER = "INSULATION_TESTER", _("Insulation tester")
    VOLTAGE_TESTER = "VOLTAGE_TESTER", _("Voltage tester")
    VACUUM_GAUGE = "VACUUM_GAUGE", _("Vacuum gauge")
    SCALE = "SCALE", _("Scale")
    REFERENCE_MASS = "REFERENCE_MASS", _("Reference mass")
    GLOVES = "GLOVES", _("Insulating gloves")

    @property
    def is_wetted(self) -> bool:
        """Whether refrigerant or its oil passes through the piece, so that it can carry residue on."""
        return self not in INSTRUMENTS

    @property
    def connects_to_vehicles(self) -> bool:
        """Whether the piece is put on a vehicle's circuit itself."""
        return self.is_wetted and self not in {PieceKind.RECOVERY_CYLINDER, PieceKind.OIL_BOTTLE}

    @property
    def can_be_purged(self) -> bool:
        """Whether a line purge through a machine can clear the piece."""
        return self in {
            PieceKind.MACHINE,
            PieceKind.HOSE_SET,
            PieceKind.SIGHT_GLASS,
            PieceKind.MANIFOLD,
            PieceKind.ADAPTER,
        }


class HoseAllowance(models.TextChoices):
    """Whether a machine adds what its hoses keep to the charge that is asked for."""

    ALLOWS = "ALLOWS", _("It adds what its hoses keep")
    NONE = "NONE", _("It weighs only; the hoses keep their part")


#: Instruments and protection: what they touch, they don't carry to the next vehicle.
INSTRUMENTS = (
    PieceKind.IDENTIFIER,
    PieceKind.LEAK_DETECTOR,
    PieceKind.INSULATION_TESTER,
    PieceKind.VOLTAGE_TESTER,
    PieceKind.VACUUM_GAUGE,
    PieceKind.SCALE,
    PieceKind.REFERENCE_MASS,
    PieceKind.GLOVES,
)


class GloveClass(models.TextChoices):
    """Classes of insulating gloves (29 CFR 1910.137 table I-4)."""

    CLASS_00 = "00", "00"
    CLASS_0 = "0", "0"
    CLASS_1 = "1", "1"


class ExposureKind(models.TextChoices):
    """One event in the life of a piece."""

    REGISTERED = "REGISTERED", _("Taken into the workshop")
    CONNECTED = "CONNECTED", _("Connected")
    DISCONNECTED = "DISCONNECTED", _("Disconnected")
    CONTACT_DECLARED = "CONTACT_DECLARED", _("Contact declared")
    PURGED = "PURGED", _("Line purge")
    PUMP_OIL_SUSPECTED = "PUMP_OIL_SUSPECTED", _("Vacuum pump oil suspected")
    RESIDUE_UNKNOWN = "RESIDUE_UNKNOWN", _("Came back with unknown residue")
    INSPECTED = "INSPECTED", _("Inspected")
    FILLED = "FILLED", _("Filled with oil")
    OUT_OF_SERVICE = "OUT_OF_SERVICE", _("Put out of service")
    RETURNED = "RETURNED", _("Returned to service")
    VOIDED = "VOIDED", _("Entry withdrawn")

    @property
    def can_be_withdrawn(self) -> bool:
        """Whether an entry can turn out wrong; the others are facts that Shopcool took part in."""
        return self not in {
            ExposureKind.REGISTERED,
            ExposureKind.CONNECTED,
            ExposureKind.DISCONNECTED,
            ExposureKind.PURGED,
            ExposureKind.VOIDED,
        }

    @property
    def tells_of_residue(self) -> bool:
        """Whether a person says by it what is inside a piece, so that refrigerant must pass through that."""
        return self in {
            ExposureKind.CONTACT_DECLARED,
            ExposureKind.PUMP_OIL_SUSPECTED,
            ExposureKind.RESIDUE_UNKNOWN,
            ExposureKind.INSPECTED,
        }


class DocumentKind(models.TextChoices):
    """A dated proof that belongs to a piece."""

    CERTIFICATE = "CERTIFICATE", _("Certificate")
    SCALE_CALIBRATION = "SCALE_CALIBRATION", _("Scale calibration")
    GAUGE_CALIBRATION = "GAUGE_CALIBRATION", _("Gauge calibration")
    CALIBRATION = "CALIBRATION", _("Calibration")


class Verdict(models.TextChoices):
    """What a clearance says."""

    PERMITTED = "PERMITTED", _("May be connected")
    REFUSED = "REFUSED", _("Must not be connected")
    OVERRIDDEN = "OVERRIDDEN", _("Connected on the owner's responsibility")


class ResidueState(models.TextChoices):
    """What the readiness mark of a piece shows."""

    CLEAR = "CLEAR", _("Nothing conductive, nothing unknown")
    RESIDUE = "RESIDUE", _("Residue")
    UNKNOWN = "UNKNOWN", _("Unknown residue")
    OUT_OF_SERVICE = "OUT_OF_SERVICE", _("Out of service")
    DEDICATED = "DEDICATED", _("Dedicated, and clear for it")


class IncidentKind(models.TextChoices):
    """Why an incident was raised."""

    LATE_ENTRY = "LATE_ENTRY", _("A late entry would have refused an earlier connection")
    OVERRIDE = "OVERRIDE", _("Harmful residue was connected on the owner's responsibility")
    LABEL_CHANGED = "LABEL_CHANGED", _("The label data changed while pieces were connected")
    BAD_OIL = "BAD_OIL", _("The vehicle received oil of a lot that was found bad")


class IncidentStatus(models.TextChoices):
    """Where an incident stands."""

    OPEN = "OPEN", _("Open")
    CLOSED = "CLOSED", _("Closed")
