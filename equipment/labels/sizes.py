"""The papers that labels come on, named by the size of one label."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shopcool.core.documents import Sheet

A4 = (210.0, 297.0)
US_LETTER = (215.9, 279.4)
INCH = 25.4


@dataclass(frozen=True)
class LabelSize:
    """A paper that can be bought: its code in addresses, its name, its measures."""

    code: str
    name: str | Promise
    sheet: Sheet


def _single(width: float, height: float) -> Sheet:
    return Sheet(width, height, width, height, inset_x=2.0, inset_y=2.0)


#: Usual sizes of label paper (common practice); each block of labels stands in the middle of its sheet.
SIZES = {
    size.code: size
    for size in (
        LabelSize(
            "a4-24",
            _("A4, 3 × 8 labels of 70 × 36 mm"),
            Sheet(*A4, 70.0, 36.0, columns=3, rows=8, inset_x=4.5, inset_y=3.0),
        ),
        LabelSize(
            "a4-14",
            _("A4, 2 × 7 labels of 99.1 × 38.1 mm"),
            Sheet(*A4, 99.1, 38.1, columns=2, rows=7, gap=2.5, inset_x=3.0, inset_y=2.5),
        ),
        LabelSize(
            "letter-30",
            _("US Letter, 3 × 10 labels of 2.625 × 1 in"),
            Sheet(*US_LETTER, 2.625 * INCH, INCH, columns=3, rows=10, gap=INCH / 8),
        ),
        LabelSize("single-100", _("One label of 100 × 62 mm"), _single(100.0, 62.0)),
        LabelSize("single-50", _("One label of 50 × 30 mm"), _single(50.0, 30.0)),
    )
}
