"""Create the first owner of the workshop, who then adds everybody else on the pages."""

from __future__ import annotations

import os
from getpass import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shopcool.core import clock
from shopcool.core.actors import SYSTEM, Role
from shopcool.core.errors import DomainError
from shopcool.people.services.people import user_create


class Command(BaseCommand):
    """Create a person with the role owner."""

    help = (
        "Create a person with the role owner. The password is asked for, or read from the environment "
        "variable SHOPCOOL_OWNER_PASSWORD."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the sign-in name and the full name."""
        parser.add_argument("username", help="the sign-in name")
        parser.add_argument("full_name", help="the full name, as it stands on records")

    def handle(self, *args: Any, **options: Any) -> None:
        """Create the person, or say why not."""
        password = os.environ.get("SHOPCOOL_OWNER_PASSWORD") or getpass("Password: ")
        try:
            user = user_create(
                actor=SYSTEM,
                username=options["username"],
                full_name=options["full_name"],
                roles=[Role.OWNER],
                password=password,
                now=clock.now(),
            )
        except DomainError as error:
            raise CommandError(error.message) from error
        self.stdout.write(f"{user} is an owner and signs in as {user.username}.")
