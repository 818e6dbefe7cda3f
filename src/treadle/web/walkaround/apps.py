"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class WalkAroundConfig(AppConfig):
    """Named so that its tables begin with ``walkaround_``."""

    name = "treadle.web.walkaround"
    label = "walkaround"

    def ready(self) -> None:
        """Tell the units' pages how units stand, and how one walks round them."""
        from treadle.web.units.outlook import provide  # noqa: PLC0415 - models load after the apps
        from treadle.web.walkaround.outlook import Standings  # noqa: PLC0415 - models load after the apps
        from treadle.web.walkaround.unit_action import register  # noqa: PLC0415 - models load after the apps

        provide(Standings())
        register()
