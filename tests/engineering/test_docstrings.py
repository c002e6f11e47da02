"""The units in the documentation of a function are those that its names promise."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator

import pytest

import shopcool.engineering

# By the ending of a parameter's name: the spellings of its unit between brackets.
UNITS: dict[str, tuple[str, ...]] = {
    "_j_kg_k": ("J/(kg K)",),
    "_j_kg": ("J/kg",),
    "_kg_m3": ("kg/m³",),
    "_kg_l": ("kg/l",),
    "_pa_m3_s": ("Pa m³/s", "Pa·m³/s"),
    "_pa_s": ("Pa/s",),
    "_pa": ("Pa",),
    "_kg": ("kg",),
    "_m3": ("m³",),
    "_ohm": ("ohm", "Ω"),
    "_years": ("year", "years"),
    "_ml": ("ml",),
    "_k": ("K",),
    "_m": ("m",),
    "_s": ("s",),
    "_v": ("V",),
    "_a": ("A",),
}
BRACKETS = re.compile(r"\[([^\]]+)\]")
DESCRIBED = re.compile(r"^\s{8}(\w+): ((?:.+)(?:\n\s{12}.+)*)", re.MULTILINE)


def modules() -> Iterator[str]:
    for found in pkgutil.walk_packages(shopcool.engineering.__path__, "shopcool.engineering."):
        if not found.name.endswith("__main__"):
            yield found.name


def public_functions() -> Iterator[tuple[str, Callable[..., object]]]:
    for name in modules():
        module = importlib.import_module(name)
        for function_name, function in inspect.getmembers(module, inspect.isfunction):
            if not function_name.startswith("_") and function.__module__ == name:
                yield f"{name.removeprefix('shopcool.engineering.')}.{function_name}", function


def unit_of(parameter: str) -> tuple[str, ...]:
    return next((units for ending, units in UNITS.items() if parameter.endswith(ending)), ())


FUNCTIONS = dict(public_functions())


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_public_function_says_what_it_does(name: str) -> None:
    text = inspect.getdoc(FUNCTIONS[name]) or ""

    assert text.splitlines()[0].rstrip().endswith((".", "``.", ":")), f"{name} has no sentence of its own"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_the_unit_of_every_parameter_stands_in_brackets(name: str) -> None:
    function = FUNCTIONS[name]
    shown = set(BRACKETS.findall(function.__doc__ or ""))
    shown = {part.strip() for text in shown for part in text.split(",")}

    for parameter in inspect.signature(function).parameters:
        units = unit_of(parameter)
        assert not units or shown.intersection(units), f"{name}: {parameter} needs one of {units} in brackets"


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_described_parameter_exists_and_has_no_other_unit(name: str) -> None:
    function = FUNCTIONS[name]
    parameters = inspect.signature(function).parameters
    text = (function.__doc__ or "").partition("Parameters:")[2].partition("Returns:")[0]

    for parameter, description in DESCRIBED.findall(text):
        assert parameter in parameters, f"{name} describes {parameter}, which it does not have"
        brackets, units = BRACKETS.findall(description), unit_of(parameter)
        assert not (brackets and units) or set(brackets) & set(units), (
            f"{name}: {parameter} is not in {brackets}"
        )
