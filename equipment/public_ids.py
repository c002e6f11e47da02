"""The name of a piece in the code on its label: random, and the same for as long as the piece exists."""

from __future__ import annotations

import secrets

#: Without letters and digits that look alike when somebody types them from a worn label.
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
LENGTH = 10


def new_public_id() -> str:
    """Return a random name; with 31 letters in 10 places no two pieces will ever share one."""
    return "".join(secrets.choice(LETTERS) for _place in range(LENGTH))
