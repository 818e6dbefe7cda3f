"""The simulated history of the invented carrier: day by day, from a seed, the same for the same seed, byte for byte.

    for history in histories(seed=7, today=date(2026, 10, 2)):
        ...

A pool is a set of vehicles that share tractors and trailers; the demo is one pool, a benchmark is many, made one at a
time.  The steps of a day are in `demo.days`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from random import Random

from demo.carrier import POOL, fleet_of
from demo.days import Simulation
from demo.ending import Ending
from demo.records import History

DEMO_YEARS, BENCHMARK_YEARS = 3, 5
DEMO_SEED = 7


def histories(*, seed: int = DEMO_SEED, today: date, units: int = POOL, years: int | None = None) -> Iterator[History]:
    """Give the history of each pool, one at a time.

    Parameters
    ----------
    seed : int
        The seed; the same seed, day, units and years give the same history.
    today : date
        The day on whose morning the history ends.
    units : int, optional
        How many vehicles; the demo's own fleet if left out, whose last days are arranged to show every outcome.
    years : int, optional
        How many years; 3 for the demo's own fleet and 5 for a larger one, if left out.

    Yields
    ------
    History
        A pool of vehicles.
    """
    is_demo = units <= POOL
    length = years if years is not None else (DEMO_YEARS if is_demo else BENCHMARK_YEARS)
    began = today - timedelta(days=round(length * 365.25))
    for pool in range(-(-units // POOL)):
        size = min(POOL, units - pool * POOL)
        simulation = Simulation(
            pool=pool,
            plans=fleet_of(pool, size),
            began=began,
            today=today,
            rng=Random(f"{seed}/{pool}"),  # noqa: S311 - it draws wear, not secrets
            daily_every=18 if is_demo else 75,
        )
        ending = Ending(simulation) if pool == 0 and size == POOL and length >= 1 else None
        yield simulation.run(ending)
