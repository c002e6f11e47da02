"""``{% load components %}``: every component of the pages, gathered from its module."""

from __future__ import annotations

from django.template import Library

from shopcool.core.components import controls, flow, numbers, page, plots, states, words

register = Library()
for part in (page, controls, states, numbers, flow, plots, words):
    register.tags.update(part.register.tags)
    register.filters.update(part.register.filters)
