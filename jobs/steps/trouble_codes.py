"""Trouble codes as typed: five characters of the open standard, with the maker's sub-codes behind them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from shopcool.vehicles.choices import ISOLATION_CODE, CodeArea

#: System letter, digit and three hexadecimal digits as SAE J2012 and ISO 15031-6 write them; sub-codes of two
#: or three characters with at least one digit, so that no word is taken for one.
_CODE = re.compile(
    r"\b(?P<code>[PCBU][0-3][0-9A-F]{3})\b(?P<subs>(?:[\s\-–/,:]+(?=[0-9A-F]*\d)[0-9A-F]{2,3}\b)*)",
    re.IGNORECASE,
)
_SUB = re.compile(r"[0-9A-F]{2,3}", re.IGNORECASE)


@dataclass(frozen=True)
class TroubleCode:
    """One code with one sub-code, which is empty when none was noted."""

    code: str
    sub_code: str = ""

    def __str__(self) -> str:
        return f"{self.code}-{self.sub_code}" if self.sub_code else self.code

    @property
    def is_isolation(self) -> bool:
        """Whether the code tells of fallen insulation of the high-voltage system."""
        return self.code == ISOLATION_CODE


@dataclass(frozen=True)
class KnownCode:
    """A line of the vehicle maker's table; ``sub_code`` is empty for what it says about the code alone."""

    code: str
    sub_code: str
    meaning: str
    area: CodeArea
    source: str


def trouble_codes(typed: str) -> tuple[TroubleCode, ...]:
    """Return the codes in a text, each sub-code on its own; what is no code is left out.

    ``P0AA6-526``, ``P0AA6 526`` and ``P0AA6/526`` are the same.
    """
    found: dict[TroubleCode, None] = {}
    for match in _CODE.finditer(typed):
        code = match["code"].upper()
        for sub_code in _SUB.findall(match["subs"]) or [""]:
            found[TroubleCode(code, sub_code.upper())] = None
    return tuple(found)
