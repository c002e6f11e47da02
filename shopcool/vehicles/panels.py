"""What packages that stand on vehicles add to a circuit on the page of its vehicle.

Vehicles know nothing of jobs or equipment: whoever has something to show adds itself when it starts.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from shopcool.core.actors import Actor
from shopcool.shop.units import Units
from shopcool.vehicles.models import Circuit


@dataclass(frozen=True)
class Panel:
    """A template with what it shows, by the name ``panel``."""

    template: str
    shown: object


#: Each returns its panels by circuit, with a constant number of queries however many circuits are asked for.
PANELS: list[Callable[[Actor, Sequence[Circuit], Units], Mapping[int, Panel]]] = []


def panels_of(actor: Actor, circuits: Sequence[Circuit], units: Units) -> dict[int, list[Panel]]:
    """Return everything that is added to these circuits, in the order in which it was registered."""
    found: dict[int, list[Panel]] = {circuit.pk: [] for circuit in circuits}
    for ask in PANELS:
        for circuit_id, panel in ask(actor, circuits, units).items():
            found[circuit_id].append(panel)
    return found
