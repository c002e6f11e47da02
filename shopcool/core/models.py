"""Tables of the core."""

from shopcool.core.records import StreamHead

__all__ = ["StreamHead"]
