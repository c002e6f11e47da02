"""The people of the workshop."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """Users, their roles and their competences."""

    name = "shopcool.people"
    label = "people"
