"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class BayConfig(AppConfig):
    """Named so that its tables begin with ``bay_``."""

    name = "treadle.web.bay"
    label = "bay"

    def ready(self) -> None:
        """Show jobs and re-checks on the units' pages."""
        from treadle.web.bay.unit_panel import register  # noqa: PLC0415 - models load after the apps

        register()
