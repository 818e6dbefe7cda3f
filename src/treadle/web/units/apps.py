"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class UnitsConfig(AppConfig):
    """Named so that its tables begin with ``units_``."""

    name = "treadle.web.units"
    label = "units"
