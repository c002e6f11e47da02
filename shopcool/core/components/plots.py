"""The drawing of a plot: points, line, band and level as SVG."""

from __future__ import annotations

from django.template import Library

from shopcool.core.plots import Plot, drawn

register = Library()


@register.inclusion_tag("components/plot.html")
def plot(chart: Plot) -> dict[str, object]:
    """Show measured points with their fitted curve; its words stand beside it on the page."""
    return {"drawing": drawn(chart), "plot": chart}
