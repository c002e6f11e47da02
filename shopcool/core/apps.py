"""What every app of Shopcool shares."""

from django.apps import AppConfig


class CoreConfig(AppConfig):
    """Errors, actors, chained records, loaders and the edges for quantities."""

    name = "shopcool.core"
    label = "core"
