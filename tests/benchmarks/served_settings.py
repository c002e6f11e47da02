"""The workshop's own settings with one page more: an empty one to compare with."""

from __future__ import annotations

from shopcool.settings import *  # noqa: F403

ROOT_URLCONF = "tests.benchmarks.empty_page"
