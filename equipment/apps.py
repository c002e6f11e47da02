"""The wetted equipment of the workshop."""

from django.apps import AppConfig


class EquipmentConfig(AppConfig):
    """Pieces, exposures, line purges, clearances and connections."""

    name = "equipment"
    label = "equipment"
