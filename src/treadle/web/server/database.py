"""The database at start: brought up to date, never one of a newer Treadle, never the demo's in a real shop."""

from __future__ import annotations

from pathlib import Path

from django.core.management import call_command
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor

from treadle.web.people.models import Role, RoleHeld, Shop
from treadle.web.server.refusal import CannotServe


def bring_up_to_date() -> None:
    """Make the tables, or change them to what this version needs.

    Raises
    ------
    CannotServe
        The database cannot be reached, or was last used by a newer Treadle.
    """
    try:
        executor = MigrationExecutor(connection)
    except OperationalError as refused:
        raise CannotServe("serve.no_database", reason=str(refused).strip()) from refused
    known = executor.loader.disk_migrations
    ours = {app for app, _ in known}
    newer = sorted(name for app, name in executor.loader.applied_migrations if app in ours and (app, name) not in known)
    if newer:
        raise CannotServe("serve.newer_database", migration=newer[-1])
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", interactive=False, verbosity=0)


def check_demo(*, demo: bool, folder: Path) -> None:
    """Keep the demo's sign-ins, which everybody knows, apart from a real shop.

    Raises
    ------
    CannotServe
        A demo's database outside the demo, or a real shop's inside it.
    """
    is_demo = set(Shop.objects.values_list("is_demo", flat=True).distinct())
    if not demo and True in is_demo:
        raise CannotServe("serve.demo_database", folder=folder)
    if demo and False in is_demo:
        raise CannotServe("serve.real_database", folder=folder)


def has_lead() -> bool:
    """Whether anybody is lead here, in any shop of this database."""
    return bool(RoleHeld.across_shops.filter(role=Role.LEAD, until=None).exists())
