"""Print the sign-ins of the demo workshop."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from jobs.demo.people import PASSWORD, PEOPLE
from shopcool.people.models import User


class Command(BaseCommand):
    """``manage.py demo_sign_ins``: nothing when this is not the demo workshop."""

    help = "Print the sign-in names of the demo workshop."

    def handle(self, *args: Any, **options: Any) -> None:
        """List who exists, with roles; the password is the same for all."""
        known = set(User.objects.values_list("username", flat=True))
        people = [person for person in PEOPLE if person.username in known]
        if not people:
            return
        self.stdout.write(f"Sign in with the password {PASSWORD} as")
        for person in people:
            roles = ", ".join(str(role.label).lower() for role in person.roles)
            remark = f" ({person.remark})" if person.remark else ""
            self.stdout.write(f"  {person.username:<8} {person.full_name}, {roles}{remark}")
