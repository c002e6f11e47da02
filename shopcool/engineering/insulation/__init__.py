"""Insulation: floors, the tester, one test of a component, an oil sample, temperature, ratios, trend."""

from shopcool.engineering.insulation.component import ComponentTest, component_test
from shopcool.engineering.insulation.component import Verdict as ComponentVerdict
from shopcool.engineering.insulation.floors import Bus, Floor, floor
from shopcool.engineering.insulation.ratios import InsulationClass, Ratios, ratios
from shopcool.engineering.insulation.reading import InsulationReading
from shopcool.engineering.insulation.sample import SampleTest, sample_test
from shopcool.engineering.insulation.sample import Verdict as SampleVerdict
from shopcool.engineering.insulation.temperature import AtReference, at_reference
from shopcool.engineering.insulation.tester import Tester, loaded_tester
from shopcool.engineering.insulation.trend import Trend, Visit, trend
from shopcool.engineering.insulation.trend import Verdict as TrendVerdict

__all__ = [
    "AtReference",
    "Bus",
    "ComponentTest",
    "ComponentVerdict",
    "Floor",
    "InsulationClass",
    "InsulationReading",
    "Ratios",
    "SampleTest",
    "SampleVerdict",
    "Tester",
    "Trend",
    "TrendVerdict",
    "Visit",
    "at_reference",
    "component_test",
    "floor",
    "loaded_tester",
    "ratios",
    "sample_test",
    "trend",
]
