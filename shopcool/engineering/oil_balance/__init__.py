"""Oil balance: how much oil a repaired circuit gets, by the vehicle's own rule."""

from shopcool.engineering.oil_balance.balance import OilBalance, OilWork, Term, Verdict, oil_balance
from shopcool.engineering.oil_balance.rule import (
    COMPRESSOR,
    Allowance,
    OilRule,
    Step,
    parse_rule,
    rule_text,
)

__all__ = [
    "COMPRESSOR",
    "Allowance",
    "OilBalance",
    "OilRule",
    "OilWork",
    "Step",
    "Term",
    "Verdict",
    "oil_balance",
    "parse_rule",
    "rule_text",
]
