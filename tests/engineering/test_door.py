"""Every computation runs from the shell with units, as a table or as JSON, and refuses in a sentence."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from shopcool.engineering.__main__ import listing, main
from shopcool.engineering.door.options import options_of
from shopcool.engineering.door.registry import COMPUTATIONS, Computation
from shopcool.engineering.door.units import split_unit
from shopcool.engineering.quantities import Kind

CYCLE = "cycle --refrigerant R-1234yf --low|2.1 bar|--high|14 bar|--suction|4 °C|--liquid|45 °C|"


def arguments(command: str) -> list[str]:
    """Return the words of a command; values with spaces stand between bars."""
    words = []
    for place, part in enumerate(command.split("|")):
        words += [part] if place % 2 else part.split()
    return words


def answer(capsys: pytest.CaptureFixture[str], command: str) -> str:
    assert main(arguments(command)) == 0
    return capsys.readouterr().out


def refusal(capsys: pytest.CaptureFixture[str], command: str) -> str:
    assert main(arguments(command)) == 1
    return capsys.readouterr().err


class TestTheList:
    def test_it_names_every_computation_with_its_purpose(self, capsys: pytest.CaptureFixture[str]) -> None:
        printed = answer(capsys, "")

        for computation in COMPUTATIONS:
            assert f"{computation.name} " in printed
            assert computation.summary in printed

    def test_names_are_unique(self) -> None:
        assert len({computation.name for computation in COMPUTATIONS}) == len(COMPUTATIONS)

    @pytest.mark.parametrize("computation", COMPUTATIONS, ids=lambda computation: computation.name)
    def test_each_has_options_that_describe_themselves(
        self, computation: Computation, capsys: pytest.CaptureFixture[str]
    ) -> None:
        with pytest.raises(SystemExit):
            main([computation.name, "--help"])

        printed = capsys.readouterr().out
        assert all(f"--{option.name}" in printed for option in options_of(computation.function))
        assert all(option.description for option in options_of(computation.function))

    def test_it_starts_as_a_program(self) -> None:
        command = [sys.executable, "-m", "shopcool.engineering"]

        printed = subprocess.run(command, capture_output=True, text=True, check=True, encoding="utf-8").stdout

        assert printed.strip() == listing().strip()


class TestAnswers:
    def test_a_table_shows_units_of_the_trade(self, capsys: pytest.CaptureFixture[str]) -> None:
        printed = answer(capsys, CYCLE)

        assert "condensing temperature            56.1 °C" in printed
        assert "superheat                         4.4 K" in printed

    def test_json_holds_si_values_under_the_names_of_the_result(
        self, capsys: pytest.CaptureFixture[str]
    ) -> None:
        result = json.loads(answer(capsys, f"{CYCLE} --json"))

        assert result["condensing_temperature_k"] == pytest.approx(273.15 + 56.07, abs=0.01)
        assert result["readings"]["low_pressure_pa"] == pytest.approx(311325.0)
        assert result["method_version"] == "cycle 1"

    def test_the_air_pressure_moves_gauge_readings(self, capsys: pytest.CaptureFixture[str]) -> None:
        saturation = "saturation --refrigerant R-134a --pressure|2 bar| --json"

        low, high = (
            json.loads(answer(capsys, f"{saturation} {air}"))["pressure_pa"]
            for air in ("--altitude|1500 m", "--atmosphere|1013.25 mbar")
        )

        assert high - low == pytest.approx(16.8e3, abs=100.0)

    def test_several_values_are_given_in_a_row(self, capsys: pytest.CaptureFixture[str]) -> None:
        command = "inventory --opening|10 kg| --measured|9.3 kg| --movements|-450 g|-250 g|"

        result = json.loads(answer(capsys, command.replace("|-250", "| |-250") + " --json"))

        assert result["expected_kg"] == pytest.approx(9.3)

    @pytest.mark.parametrize(
        ("command", "shown"),
        [
            ("convert --value|20 inHg vac| --kind PRESSURE --to|bar| --basis|absolute|", "0.34 bar(a)"),
            (
                "hose --refrigerant R-134a --temperature|25 °C| --bore|4.8 mm| --length|2.4 m|",
                "52 g",
            ),
            ("cylinder --refrigerant R-134a --water-capacity|12 l| --tare|8 kg|", "80 % full at 25 °C"),
            ("vin --text 1G4AH59H45G118341", "valid"),
            ("gwp --mass|500 g| --fluid R-134a --edition AR4", "715.000 kg"),
            (
                "insulation --resistance|OL 2.2 GΩ| --nominal-voltage|500 V| --actual-voltage|526 V| "
                "--working-voltage|400 V|",
                "no_limit",
            ),
            (
                "oil-balance --rule|source page 12|part condenser 30| --parts condenser --recovered|10 ml|",
                "40 ml",
            ),
            (
                "leak-rate --rise|6 Pa| --duration|10 min| --volume|3 l| --refrigerant R-134a "
                "--temperature|20 °C| --system-pressure|6 bar abs|",
                "2115 g/year",
            ),
        ],
    )
    def test_each_door_reaches_its_computation(
        self, capsys: pytest.CaptureFixture[str], command: str, shown: str
    ) -> None:
        assert shown in answer(capsys, command.replace("page 12|part", "page 12| |part"))


class TestRefusals:
    def test_a_refusal_is_a_sentence_and_an_exit_code(self, capsys: pytest.CaptureFixture[str]) -> None:
        printed = refusal(capsys, "saturation --refrigerant R-1234yf --pressure|480 psi|")

        assert printed.startswith(
            "Refused (supercritical): 34.1 bar abs is above the critical pressure of R-1234yf"
        )

    def test_as_json_it_has_code_message_and_field(self, capsys: pytest.CaptureFixture[str]) -> None:
        printed = json.loads(refusal(capsys, "saturation --refrigerant R-134a --pressure|20 inHg| --json"))

        assert printed["refused"]["code"] == "ambiguous_basis"

    @pytest.mark.parametrize(
        ("command", "sentence"),
        [
            ("saturation --refrigerant R-134a --pressure|1,234 kPa|", "can mean 1.234 or 1234"),
            (
                "hose --refrigerant R-134a --temperature|25 °C|",
                "Give bore and length of the hose, or its weighed volume",
            ),
            (
                "insulation-trend --years 0 1 2 --resistances|1 MΩ| --next-visit 3",
                "Each visit needs a time and a reading",
            ),
            (
                "insulation --resistance OL --nominal-voltage|500 V| --actual-voltage|526 V| "
                "--working-voltage|400 V|",
                "Over range of which scale",
            ),
            (
                "carry-over --residue|2 g| --hose-volume|43 ml| --purge-volume|43 ml| --purges 1.5 "
                "--oil|120 g| --refrigerant|500 g| --mixing 1",
                "not a whole number",
            ),
        ],
    )
    def test_each_kind_of_mistake_has_its_sentence(
        self, capsys: pytest.CaptureFixture[str], command: str, sentence: str
    ) -> None:
        assert sentence in refusal(capsys, command)


@pytest.mark.parametrize(
    ("name", "stem", "kind"),
    [
        ("low_pressure_pa", "low_pressure", Kind.PRESSURE),
        ("low_uncertainty_pa", "low_uncertainty", Kind.PRESSURE_DIFFERENCE),
        ("superheat_k", "superheat", Kind.TEMPERATURE_DIFFERENCE),
        ("suction_temperature_k", "suction_temperature", Kind.TEMPERATURE),
        ("cooling_j_kg", "cooling", None),
        ("density_kg_m3", "density", None),
        ("mixing", "mixing", None),
    ],
)
def test_the_ending_of_a_name_tells_its_unit(name: str, stem: str, kind: Kind | None) -> None:
    assert split_unit(name) == (stem, kind)
