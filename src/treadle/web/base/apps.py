"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class BaseConfig(AppConfig):
    """Named so that its tables begin with ``base_``."""

    name = "treadle.web.base"
    label = "base"
