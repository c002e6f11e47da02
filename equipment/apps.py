"""The wetted equipment of the workshop."""

from django.apps import AppConfig


class EquipmentConfig(AppConfig):
    """Pieces, exposures, line purges, clearances and connections."""

    name = "equipment"
    label = "equipment"

    def ready(self) -> None:
        """Ask to be told when the data of a circuit change, since pieces may be on it; take attachments."""
        from equipment.attachments import KINDS
        from equipment.services.relabelling import circuit_changed
        from shopcool.attachments.parents import register
        from shopcool.vehicles.services.circuits import WATCHERS

        WATCHERS.append(circuit_changed)
        for kind in KINDS:
            register(kind)
