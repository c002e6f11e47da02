"""Vehicles, their owners and their refrigerant circuits."""

from django.apps import AppConfig


class VehiclesConfig(AppConfig):
    """Customers, vehicles and circuits."""

    name = "shopcool.vehicles"
    label = "vehicles"
