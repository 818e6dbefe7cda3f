"""The app as Django knows it."""

from __future__ import annotations

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    """Named so that its tables begin with ``people_``."""

    name = "treadle.web.people"
    label = "people"
