"""No number inside a result is NaN, whatever was asked."""

from __future__ import annotations

import dataclasses
import math

from hypothesis import strategies as st

#: Any float a caller could pass, with plenty of ordinary ones among them.
ANY_FLOAT = st.one_of(st.floats(), st.floats(0.0, 1.0), st.floats(0.0, 1e4), st.floats(200.0, 400.0))


def assert_sound(result: object) -> None:
    """Fail when a NaN or an infinity is anywhere inside a result."""
    if isinstance(result, float):
        assert math.isfinite(result)
    elif dataclasses.is_dataclass(result):
        for field in dataclasses.fields(result):
            assert_sound(getattr(result, field.name))
    elif isinstance(result, dict):
        assert_sound(tuple(result.values()))
    elif isinstance(result, tuple | list):
        for part in result:
            assert_sound(part)
