"""How the REST API reads what is sent: JSON, and nothing nested so deeply that it could harm the server."""

from __future__ import annotations

from collections.abc import Mapping
from typing import IO, Any

from django.utils.translation import gettext as _
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser

#: The doors ask for lists of objects of values; deeper ones come from broken programs.
DEEPEST = 32


class FlatJSONParser(JSONParser):
    """JSON of an ordinary depth; deeper text is refused as text that is no JSON is."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Return what was sent; raises ParseError."""
        try:
            found = super().parse(stream, media_type, parser_context)
        except RecursionError as error:
            raise ParseError(_("This is nested too deeply.")) from error
        if _is_deeper(found, DEEPEST):
            raise ParseError(_("This is nested too deeply."))
        return found


def _is_deeper(found: Any, levels: int) -> bool:
    """Whether lists and objects lie in each other deeper than a number of levels."""
    layer = [found]
    for _level in range(levels + 1):
        layer = [inner for one in layer for inner in _inside(one)]
    return bool(layer)


def _inside(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, list) else []
