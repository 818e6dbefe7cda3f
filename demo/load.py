"""Writes the invented carrier into a data folder of its own: ``python -m demo.load --data FOLDER``.

The demo's own fleet is entered whole: every step, torque, seal and correction of history.  A larger one, for
benchmarks (``--units 2000``), has its measurements, parts, meters, couplings and releases, but not the single steps
of its jobs, nor how its rows changed before they were as they are.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import django

from demo.carrier import POOL
from demo.history import DEMO_SEED, histories
from demo.people import CARRIER, LEAD, PEOPLE, ZONE

if TYPE_CHECKING:
    from demo.records import History
    from demo.table_jobs import Workshop
    from demo.table_units import Books

_THE_MORNING_ENDS = timedelta(hours=9, minutes=10)
"""The hour of the last day at which the history ends."""


def main(arguments: list[str] | None = None) -> None:
    """Read the command line, make the database and fill it."""
    asked = _parser().parse_args(arguments)
    folder = asked.data.expanduser().resolve()
    prepare(folder)
    from treadle.web.people.models import Shop  # noqa: PLC0415 - Django is set up only now

    if Shop.objects.exists():
        sys.exit(f"{folder} holds a shop already. Name an empty folder.")
    started = time.monotonic()
    today = asked.today or last_whole_morning(datetime.now(ZoneInfo(ZONE)))
    load(
        today=today,
        seed=asked.seed,
        units=asked.units,
        password=asked.password,
        tell=lambda done: print(f"{done} units, {time.monotonic() - started:.0f} s", flush=True),
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m demo.load", description="Fill a data folder with the demo.")
    parser.add_argument("--data", type=Path, required=True, help="the folder; made if it is not there")
    parser.add_argument("--units", type=int, default=POOL, help=f"how many vehicles ({POOL} unless given)")
    parser.add_argument("--seed", type=int, default=DEMO_SEED, help="another seed gives another history")
    parser.add_argument("--today", type=date.fromisoformat, help="the day on whose morning it ends, as 2026-10-02")
    parser.add_argument("--password", default="", help="for every sign-in; without one nobody can sign in")
    return parser


def last_whole_morning(now: datetime) -> date:
    """Return the last day whose morning lies behind us, so that nothing in the history is still to come.

    >>> last_whole_morning(datetime(2026, 10, 2, 9, 0)), last_whole_morning(datetime(2026, 10, 2, 9, 10))
    (datetime.date(2026, 10, 1), datetime.date(2026, 10, 2))
    """
    return (now - _THE_MORNING_ENDS).date()


def prepare(folder: Path) -> None:
    """Make the folder and the database in it, as the server would."""
    os.environ["TREADLE_DATA"] = str(folder)
    os.environ["TREADLE_DEMO"] = "true"
    os.environ["DJANGO_SETTINGS_MODULE"] = "treadle.web.settings"
    from treadle.web.data_folder import in_source_tree, make_private  # noqa: PLC0415

    if in_source_tree(folder):
        sys.exit(f"{folder} lies in the source tree, where records do not belong. Name another folder.")
    make_private(folder)
    django.setup()
    from treadle.web.server.database import bring_up_to_date  # noqa: PLC0415 - needs Django

    bring_up_to_date()


def load(
    *,
    today: date,
    seed: int = DEMO_SEED,
    units: int = POOL,
    years: int | None = None,
    password: str = "",
    tell: Callable[[int], None] = lambda _: None,
) -> None:
    """Fill an empty database with the invented carrier; Django is set up.

    Parameters
    ----------
    today : date
        The day on whose morning the history ends.
    seed, units, years : int, optional
        As `demo.history.histories` takes them.
    password : str, optional
        For every sign-in; without one nobody can sign in.
    tell : callable, optional
        Called with the number of units entered so far, pool by pool.
    """
    from django.db import transaction  # noqa: PLC0415 - Django is set up only now

    from demo.table_jobs import open_workshop  # noqa: PLC0415
    from treadle.web.base.scope import shop_scope  # noqa: PLC0415

    books, workshop, done = None, None, 0
    for history in histories(seed=seed, today=today, units=units, years=years):
        with transaction.atomic():
            if books is None:
                books = found_the_carrier(history, password)
            with shop_scope(books.shop.pk):
                if workshop is None:
                    workshop = open_workshop(books, history.began_at, today, in_full=units <= POOL)
                enter(history, books, workshop)
        done += len(history.units)
        tell(done)


def found_the_carrier(history: History, password: str) -> Books:
    """Enter the shop and its people, with their roles and qualifications."""
    from django.contrib.auth.hashers import make_password  # noqa: PLC0415

    from demo.table_units import Books, insert, insert_with_history  # noqa: PLC0415
    from treadle.web.base.scope import shop_scope  # noqa: PLC0415
    from treadle.web.people.models import Person, Qualification, RoleHeld, Shop  # noqa: PLC0415
    from treadle.web.people.policy import first_policy  # noqa: PLC0415

    began = history.began_at
    shop = Shop(name=CARRIER, zone=ZONE, runs_in=["us"], policy=first_policy(), is_demo=True, founded_at=began)
    shop.save()
    kept = make_password(password or None)
    with shop_scope(shop.pk):
        people = {
            one.name: Person(shop=shop, sign_in=one.sign_in, name=one.name, language=one.language, password=kept)
            for one in PEOPLE
        }
        lead = people[LEAD]
        for person in people.values():
            person.save()
        insert(
            [
                RoleHeld(
                    shop_id=shop.pk,
                    person=people[one.name],
                    role=role,
                    since=began,
                    given_by=None if one.name == LEAD else lead,
                )
                for one in PEOPLE
                for role in one.roles
            ]
        )
        held = [
            Qualification(
                shop_id=shop.pk,
                person=people[one.name],
                for_what=proof.for_what,
                ground=proof.ground,
                evidence=proof.evidence,
                granted_on=(history.now - timedelta(days=proof.granted_days_ago)).date(),
                recorded_by=lead,
            )
            for one in PEOPLE
            for proof in one.qualified
        ]
        insert_with_history(held, ((row, began, lead.pk) for row in held))
    return Books(shop, people, {})


def enter(history: History, books: Books, workshop: Workshop) -> None:
    """Enter one pool: units and their past, what was measured and judged, jobs, and how each unit stands now."""
    from demo.table_jobs import enter_jobs  # noqa: PLC0415
    from demo.table_units import enter_couplings, enter_meters, enter_parts, enter_units  # noqa: PLC0415
    from demo.table_walks import enter_reports, enter_walks, judge_walks, last_walks  # noqa: PLC0415
    from treadle.web.walkaround.judge import work_out_standings  # noqa: PLC0415

    enter_units(books, history)
    enter_parts(books, history, changes=workshop.in_full)
    enter_meters(books, history.meters)
    enter_couplings(books, history.couplings)
    ids = enter_walks(books, history.walk_arounds, changes=workshop.in_full)
    wanted = {walk.id for walk in last_walks(history, daily=workshop.in_full)}
    wanted |= {job.proof for job in history.jobs if job.proof is not None}
    if workshop.in_full:  # of the daily looks only the last is kept judged: they would be the most of it
        wanted |= {walk.id for walk in history.walk_arounds if walk.occasion != "daily"}
    judged = judge_walks(books, [walk for walk in history.walk_arounds if walk.id in wanted], ids)
    enter_jobs(workshop, history, judged)
    enter_reports(books, history.reports)
    rows = [books.units[plan.number] for plan in history.units]
    work_out_standings(rows, shop=books.shop, by=books.people[LEAD], at=history.now)


if __name__ == "__main__":
    main()
