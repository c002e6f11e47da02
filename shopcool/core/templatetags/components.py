"""``{% load components %}``: every component of the pages, gathered from its module."""

from __future__ import annotations

from django.template import Library

from shopcool.core.components import controls, flow, numbers, page, plots, states

register = Library()
for part in (page, controls, states, numbers, flow, plots):
    register.tags.update(part.register.tags)
