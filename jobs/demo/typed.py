"""What the technicians of the story type, step by step. The numbers are invented but hang together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from jobs.choices import StepKind

Raw = dict[str, Any]


@dataclass(frozen=True)
class Figures:
    """The numbers of one visit, as typed."""

    complaint: str
    recovered: str
    charged: str
    low: str = "2,1 bar"
    high: str = "13.8 bar"
    ambient: str = "22 °C"
    oil_end: str = "6 ml"


def before_connection(figures: Figures, machine_id: int) -> dict[StepKind, Raw]:
    """Return the steps before anything touches the circuit."""
    return {
        StepKind.LABEL: {"label": "READ", "complaint": figures.complaint},
        StepKind.IDENTIFICATION: {
            "result": "ANALYSED",
            "purity": "99.6",
            "hydrocarbon": "0",
            "air": "0,5",
            "identifier": "Identifier 1",
            "filter": "CLEAN",
        },
        StepKind.OIL_BOTTLE: {"machine": str(machine_id), "emptied": "yes"},
    }


def on_the_car(figures: Figures, machine_id: int) -> dict[StepKind, Raw]:
    """Return the steps with the machine on the car."""
    machine = str(machine_id)
    return {
        StepKind.READINGS_BEFORE: {
            "state": "STATIC",
            "low": "4,9 bar",
            "high": "4,9 bar",
            "ambient": figures.ambient,
        },
        StepKind.RECOVERY: {
            "into": "MACHINE",
            "machine": machine,
            "mass": figures.recovered,
            "ambient": figures.ambient,
            "duration": "18",
            "pressure_returned": "no",
            "oil_end": figures.oil_end,
        },
        StepKind.EVACUATION: {
            "machine": machine,
            "pumped": "25",
            "valve_closed_first": "yes",
            "gauge": "ELECTRONIC",
            "start": "0.9 mbar",
            "held": "10",
            "end": "1.2 mbar",
        },
        StepKind.OIL: {"added": "no", "why_none": "hardly any came out"},
        StepKind.CHARGE: {"machine": machine, "mass": figures.charged, "hoses": "BY_MACHINE"},
        StepKind.READINGS_AFTER: {
            "state": "RUNNING",
            "low": figures.low,
            "high": figures.high,
            "ambient": figures.ambient,
            "vent": "7 °C",
        },
        StepKind.LEAK_CHECK: {"method": "ELECTRONIC", "smallest": "4 g/year", "result": "NONE_FOUND"},
    }


def injected(injector_id: int, amount: str) -> Raw:
    """Return the oil that came out, put back through an injector."""
    return {"added": "yes", "way": "INJECTOR", "injector": str(injector_id), "amount": amount}


def precautions(now: datetime) -> Raw:
    """Return the high-voltage precautions, with gloves tested two months ago."""
    return {
        "isolated": "yes",
        "waited": "10 min",
        "proved_before": "yes",
        "measured_at": "compressor plug",
        "voltage": "0.4 V",
        "proved_after": "yes",
        "glove_class": "0",
        "gloves_tested_on": (now - timedelta(days=60)).date().isoformat(),
        "gloves_checked": "yes",
    }


def insulation(nominal: str, actual: str, reading: str) -> Raw:
    """Return one insulation test of a compressor."""
    return {
        "test": "COMPONENT",
        "resistance": reading,
        "between": "HV+ and housing",
        "disconnected": "compressor plug",
        "nominal_voltage": nominal,
        "actual_voltage": actual,
        "applied": "60 s",
        "temperature": "21 °C",
        "surface": "DRY",
    }
