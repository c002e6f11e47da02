"""Figures in sentences: what is on record is told again in the units of whoever reads it."""

from __future__ import annotations

import pytest

from shopcool.core.figures import Figure, figures_in
from shopcool.engineering.quantities import Kind
from shopcool.shop.units import Units

AMERICAN = Units("psi", "°F", "oz", "US fl oz")
MASSES = {"m": (0.015, Kind.MASS), "n": (0.115, Kind.MASS)}
WARM = {"t": (273.15, Kind.TEMPERATURE), "d": (5.0, Kind.TEMPERATURE_DIFFERENCE)}


def told_in(units: Units, make: str, **si: tuple[float, Kind]) -> tuple[str, tuple[Figure, ...]]:
    """Return a sentence made in some units, and what its figures mean."""
    listening = units.listening()
    sentence = make.format(**{name: listening.shown(value, kind) for name, (value, kind) in si.items()})
    return sentence, figures_in(listening.told or (), [sentence])


@pytest.mark.parametrize(
    ("make", "si", "metric", "american"),
    [
        # 1 psi is 6894.757 Pa, 1 oz 28.34952 g, 1 US fl oz 29.57353 ml (NIST SP 811:2008, appendix B);
        # gauge pressures above 101 325 Pa.
        ("At {p}.", {"p": (401_325.0, Kind.PRESSURE)}, "At 3.00 bar(g).", "At 43.5 psi(g) (3.00 bar(g))."),
        ("± {m} of {n}", MASSES, "± 15 g of 115 g", "± 0.53 oz (15 g) of 4.06 oz (115 g)"),
        ("{t}, {d} more", WARM, "0.0 °C, 5.0 K more", "32.0 °F (0.0 °C), 9.0 °F (5.0 K) more"),
        ("{v}", {"v": (120e-6, Kind.VOLUME)}, "120 ml", "4.06 US fl oz (120 ml)"),
        ("{w} long", {"w": (600.0, Kind.DURATION)}, "10.0 min long", "10.0 min long"),
    ],
)
def test_stand_in_the_reader_s_units_with_the_recorded_ones_in_brackets(
    make: str, si: dict[str, tuple[float, Kind]], metric: str, american: str
) -> None:
    sentence, figures = told_in(Units(), make, **si)

    assert (sentence, Units().retold(sentence, figures)) == (metric, metric)
    assert AMERICAN.retold(sentence, figures) == american


def test_survive_the_database() -> None:
    sentence, figures = told_in(AMERICAN, "At {p}.", p=(401_325.0, Kind.PRESSURE))

    stored = [Figure.from_record(figure.as_record()) for figure in figures]

    assert Units().retold(sentence, stored) == "At 3.00 bar(g) (43.5 psi(g))."


def test_keep_the_air_pressure_under_which_a_gauge_was_read() -> None:
    sentence, figures = told_in(Units(atmosphere_pa=80_000.0), "{p}", p=(280_000.0, Kind.PRESSURE))

    assert sentence == "2.00 bar(g)"
    assert AMERICAN.retold(sentence, figures) == "29.0 psi(g) (2.00 bar(g))"


def test_with_two_meanings_stay_as_they_were_written() -> None:
    """9 °F can be a temperature or a difference: 5 K and -12.8 °C are no guess to make."""
    nine = {"t": (260.372, Kind.TEMPERATURE), "d": (5.0, Kind.TEMPERATURE_DIFFERENCE)}
    sentence, figures = told_in(AMERICAN, "{t} and {d}", **nine)

    assert sentence == Units().retold(sentence, figures) == "9.0 °F and 9.0 °F"


def test_are_not_found_inside_longer_numbers() -> None:
    _sentence, figures = told_in(Units(), "{m}", m=(0.005, Kind.MASS))

    assert AMERICAN.retold("115 g, 1.5 g, 5 gauges, 5 g", figures) == "115 g, 1.5 g, 5 gauges, 0.18 oz (5 g)"
