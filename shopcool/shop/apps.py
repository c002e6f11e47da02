"""The workshop itself."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """The shop's name, place, units and policies."""

    name = "shopcool.shop"
    label = "shop"
