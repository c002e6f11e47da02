"""The shapes and words that pages speak in: tones, residue marks, step states, hazards.

A page names a kind ("refusal", "residue", "blocked"); this module gives its drawing and its word, so that
shape and word never part. Unknown kinds raise, because a page that shows nothing would say "clean".
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from django.template.loader import render_to_string
from django.utils.functional import Promise
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

Words = Mapping[str, str | Promise]

VERDICTS: Words = {
    "good": _("Permitted"),
    "warning": _("Take care"),
    "refusal": _("Refused"),
    "unknown": _("Not known"),
    "plain": _("Note"),
}
MARKS: Words = {
    "clear": _("Clear"),
    "residue": _("Residue"),
    "unknown": _("Unknown"),
    "out_of_service": _("Out of service"),
    "dedicated": _("Dedicated"),
}
STEPS: Words = {
    "done": _("Done"),
    "now": _("Now"),
    "blocked": _("Blocked"),
    "skipped": _("Not needed"),
    "later": _("Later"),
}
NOTES: Words = {"good": _("Done"), "warning": _("Take care"), "refusal": _("Not done"), "plain": _("Note")}
EVENTS = frozenset({"plain", "connection", "purge", "good", "warning", "refusal", "unknown"})
OILS: Words = {
    "pag": "PAG",
    "poe": "POE",
    "pve": "PVE",
    "pao": "PAO",
    "mineral": _("Mineral"),
    "several": _("Several oils"),
    "clear": _("Clear"),
    "unknown": _("Unknown"),
    "out": _("Out of service"),
}
HAZARDS: Words = {
    "high_voltage": _("High voltage"),
    "pressure": _("Pressure"),
    "frost": _("Frost burns"),
    "flammable": _("Flammable gas (A2L)"),
    "asphyxiation": _("Asphyxiation"),
}
# Common practice of the trade; the maker of the vehicle and the local rules always come first.
CAUTIONS: Words = {
    "high_voltage": _(
        "Only a person qualified for high-voltage work goes on. De-energise and secure it by the vehicle "
        "maker's procedure, wait the time it names, and prove that no voltage is left."
    ),
    "pressure": _(
        "The circuit and the hoses hold pressure. Wear eye protection, open valves slowly, and never heat "
        "a charged part."
    ),
    "frost": _("Escaping refrigerant freezes skin and eyes. Wear gloves and closed goggles."),
    "flammable": _(
        "The refrigerant can burn. No flame, spark or hot surface nearby; ventilate the bay down to floor "
        "level; use only equipment approved for it."
    ),
    "asphyxiation": _(
        "Refrigerant is heavier than air and displaces it in pits and closed bays. Ventilate, and leave at "
        "once if you feel dizzy."
    ),
}


def pick(words: Words, kind: str, what: str) -> str:
    """Return ``kind`` in lower case if ``words`` knows it; raise ValueError with the known ones if not."""
    known = str(kind).lower()
    if known not in words:
        raise ValueError(f"There is no {what} {kind!r}; known are {', '.join(words)}.")
    return known


@lru_cache(maxsize=256)
def drawing(folder: str, kind: str, short: str = "") -> SafeString:
    """Return the inline SVG ``templates/components/<folder>/<kind>.svg``, drawn once for each process.

    ``short`` is the word that stands inside a mark.
    """
    return render_to_string(f"components/{folder}/{kind}.svg", {"short": short})
