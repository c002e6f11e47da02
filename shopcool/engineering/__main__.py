"""Run a computation from the shell: ``python -m shopcool.engineering cycle --refrigerant R-134a …``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from shopcool.engineering.door.display import as_json, as_table, plain
from shopcool.engineering.door.options import Option, options_of
from shopcool.engineering.door.registry import COMPUTATIONS, Computation
from shopcool.engineering.errors import Refusal
from shopcool.engineering.quantities import (
    STANDARD_ATMOSPHERE_PA,
    Kind,
    atmosphere_from_altitude_pa,
    parse,
)

REFUSED = 1
AIR_PRESSURE = "atmosphere_pa"
EPILOG = (
    "Type values with units: 2.1 bar, 30 psi, 20 inHg vac, 14.7 psia, 45 °C, 450 g, 4.8 mm, 30 min. A "
    "pressure is a gauge reading unless it says abs or vac. A value that begins with a minus is typed as "
    "--option=-3."
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code: 0 for an answer, 1 for a refusal."""
    parser, options = _parser()
    given = parser.parse_args(arguments)
    if given.computation is None:
        print(listing())
        return 0
    computation = next(one for one in COMPUTATIONS if one.name == given.computation)
    try:
        result = computation.function(**_arguments(given, options[computation.name]))
    except Refusal as refused:
        print(_refusal_text(refused, given.json), file=sys.stderr)
        return REFUSED
    print(as_json(result) if given.json else as_table(result))
    return 0


def listing() -> str:
    """Return the names and purposes of all computations."""
    width = max(len(computation.name) for computation in COMPUTATIONS)
    lines = [f"{computation.name:<{width}}  {computation.summary}" for computation in COMPUTATIONS]
    return "\n".join([*lines, "", "One of these with --help shows its options."])


def _parser() -> tuple[argparse.ArgumentParser, dict[str, tuple[Option, ...]]]:
    parser = argparse.ArgumentParser(
        prog="python -m shopcool.engineering", description="Computations of the workshop."
    )
    commands = parser.add_subparsers(dest="computation", metavar="computation")
    options = {}
    for computation in COMPUTATIONS:
        options[computation.name] = options_of(computation.function)
        _add_command(commands, computation, options[computation.name])
    return parser, options


def _add_command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    computation: Computation,
    options: tuple[Option, ...],
) -> None:
    command = commands.add_parser(
        computation.name,
        help=computation.summary,
        description=computation.summary,
        epilog=EPILOG,
        allow_abbrev=False,
    )
    short = {long: brief for brief, long in computation.short}
    for option in options:
        _add_option(command, option, short.get(option.name))
    if AIR_PRESSURE not in {option.parameter for option in options}:
        command.add_argument("--atmosphere", help="air pressure that gauge readings refer to, e.g. 950 mbar")
    command.add_argument("--altitude", help="height above sea level instead of the air pressure, e.g. 1500 m")
    command.add_argument("--json", action="store_true", help="print SI values as JSON")


def _add_option(command: argparse.ArgumentParser, option: Option, brief: str | None) -> None:
    flags = [f"--{option.name}", *([f"--{brief}"] if brief else [])]
    description = option.description.replace("%", "%%")
    if option.flag:
        command.add_argument(*flags, dest=option.parameter, action="store_true", help=description)
        return
    command.add_argument(
        *flags,
        dest=option.parameter,
        required=option.required and option.parameter != AIR_PRESSURE,
        metavar=None if option.choices else option.name.rpartition("-")[2].upper(),
        nargs="+" if option.several else None,
        choices=option.choices or None,
        help=description,
    )


def _arguments(given: argparse.Namespace, options: tuple[Option, ...]) -> dict[str, object]:
    """Return the arguments of the function from the texts that were typed."""
    air_pa = _air_pressure_pa(given)
    arguments: dict[str, object] = {}
    for option in options:
        texts = getattr(given, option.parameter)
        if option.parameter == AIR_PRESSURE:
            arguments[option.parameter] = air_pa
        elif option.flag:
            arguments[option.parameter] = bool(texts)
        elif texts is not None:
            many = texts if option.several else [texts]
            values = tuple(option.read(text, air_pa) for text in many)
            arguments[option.parameter] = values if option.several else values[0]
    return arguments


def _air_pressure_pa(given: argparse.Namespace) -> float:
    typed = vars(given).get("atmosphere") or vars(given).get(AIR_PRESSURE)
    if given.altitude:
        return atmosphere_from_altitude_pa(parse(given.altitude, Kind.LENGTH, default_unit="m").si)
    if typed:
        return parse(typed, Kind.PRESSURE, default_unit="mbar", default_basis="absolute").si
    return STANDARD_ATMOSPHERE_PA


def _refusal_text(refused: Refusal, json: bool) -> str:
    if not json:
        return f"Refused ({refused.code}): {refused.message}"
    return as_json(
        {"refused": plain({"code": refused.code, "message": refused.message, "field": refused.field})}
    )


if __name__ == "__main__":
    sys.exit(main())
