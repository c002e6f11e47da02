"""What a hose set holds, and how a machine weighs: measured once, used by every job."""

from __future__ import annotations

from dataclasses import dataclass

from equipment.choices import HoseAllowance
from shopcool.engineering.hose import Basis, HoseVolume, hose_volume

#: Without the scatter of several weighings a weighed content is taken as this well known (k = 2, assumed).
WEIGHED_SHARE = 0.1


@dataclass(frozen=True)
class HoseMeasures:
    """Bore and length of one line [m] with the number of lines that stay full, or a weighed volume [m³]."""

    bore_m: float | None = None
    length_m: float | None = None
    line_count: int = 1
    content_m3: float | None = None

    @property
    def volume(self) -> HoseVolume | None:
        """What stays full, None while nobody measured it; a weighing beats the geometry."""
        if self.content_m3 is not None:
            return HoseVolume(self.content_m3, WEIGHED_SHARE * self.content_m3, Basis.WEIGHING)
        if self.bore_m is None or self.length_m is None:
            return None
        one = hose_volume(bore_m=self.bore_m, length_m=self.length_m)
        lines = self.line_count
        return HoseVolume(lines * one.volume_m3, lines * one.uncertainty_m3, one.basis)


@dataclass(frozen=True)
class Weighing:
    """A machine's tolerance [kg], whether it adds what its hoses keep, and for which hose set."""

    tolerance_kg: float | None = None
    allowance: str = ""
    allows_for: int | None = None
    allows_for_code: str = ""

    @property
    def adds(self) -> bool:
        """Whether the machine adds the content of a hose set."""
        return self.allowance == HoseAllowance.ALLOWS

    @property
    def only_weighs(self) -> bool:
        """Whether the hoses keep their part of what the machine shows."""
        return self.allowance == HoseAllowance.NONE
