"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class DispatchConfig(AppConfig):
    """Named so that its tables begin with ``dispatch_``."""

    name = "treadle.web.dispatch"
    label = "dispatch"

    def ready(self) -> None:
        """Show on the units' pages whether a unit may leave, and what drivers reported."""
        from treadle.web.dispatch.unit_panel import register  # noqa: PLC0415 - models load after the apps

        register()
