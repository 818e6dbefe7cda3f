"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """Named so that its tables begin with ``records_``."""

    name = "treadle.web.records"
    label = "records"
