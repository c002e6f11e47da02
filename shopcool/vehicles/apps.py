"""Vehicles, their owners and their refrigerant circuits."""

from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    """Customers, vehicles and circuits."""

    name = "shopcool.vehicles"
    label = "vehicles"

    def ready(self) -> None:
        """Take attachments to vehicles."""
        from shopcool.attachments.parents import register
        from shopcool.vehicles.attachments import VEHICLES

        register(VEHICLES)
