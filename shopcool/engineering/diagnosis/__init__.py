"""Diagnosis: what may be wrong, with evidence for and against, and what to measure next."""

from shopcool.engineering.diagnosis.causes import NAMES, Cause, Fact, Sign
from shopcool.engineering.diagnosis.gate import (
    CompressorGate,
    Grade,
    Window,
    WindowGrades,
    compressor_gate,
    grade_window,
)
from shopcool.engineering.diagnosis.observations import (
    Conditions,
    Drive,
    Measured,
    Metering,
    Mode,
    Observations,
    Port,
)
from shopcool.engineering.diagnosis.ranking import Diagnosis, Evidence, RankedCause, diagnose
from shopcool.engineering.diagnosis.separators import NextMeasurement

__all__ = [
    "NAMES",
    "Cause",
    "CompressorGate",
    "Conditions",
    "Diagnosis",
    "Drive",
    "Evidence",
    "Fact",
    "Grade",
    "Measured",
    "Metering",
    "Mode",
    "NextMeasurement",
    "Observations",
    "Port",
    "RankedCause",
    "Sign",
    "Window",
    "WindowGrades",
    "compressor_gate",
    "diagnose",
    "grade_window",
]
