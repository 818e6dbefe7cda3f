"""The last days of the demo, arranged so that every outcome stands in the yard on the morning it ends.

What is arranged is physical: wear and adjusters are steered over weeks to where they should be, walk-arounds find it,
and the judge says what it is.

====== ======================== ==============================================================================
unit   with                     on the last morning
====== ======================== ==============================================================================
K-12   T-7                      one brake past its stroke limit, one lining under 1/4 in: fix
K-5    T-3                      two of ten brakes 1/4 in or more past their limits: held by the 20 % count
K-14                            a stroke near its limit: watch
K-3                             a lining at its limit, its reline under way in the bay
T-9    K-11                     relined two days ago, 34 miles gone: waits for its re-check
K-9    T-15, D-1, T-16          a driver's report of this morning, not answered yet; doubles with a dolly
T-11, T-14, X-41                at customers' for months: their readings are too old
K-8, K-11, B-1, S-4, T-1, T-2   looked after and measured lately: good
====== ======================== ==============================================================================
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from demo.people import LEAD
from demo.records import DriverReport, Task
from demo.shop import STRICT, Thresholds, Wanted
from demo.walks import SIDES
from demo.wear import Aim
from demo.yard import FOR_EVER

if TYPE_CHECKING:
    from demo.days import Simulation

TO_LINING = (("K-12", 3, "right", 7 / 32, 1), ("K-3", 2, "left", 8 / 32, 3), ("T-9", 1, "left", 9 / 32, 6))
"""Unit, axle, side, thickness to reach, days before the end."""
TO_STROKE = (
    ("K-12", 2, "left", 2.125, 1),
    ("K-5", 3, "right", 2.3125, 1),
    ("T-3", 1, "left", 2.3125, 1),
    ("K-14", 2, "right", 2.4375, 4),
)
"""Unit, axle, side, stroke to reach, days before the end."""
STEER_LININGS, STEER_STROKES = 215, 62
"""Days before the end at which steering begins."""
LOOKED_AFTER = {
    230: ("K-12", "K-3", "T-9"),
    100: ("K-8", "K-11", "B-1", "S-4", "T-1", "T-2"),
    66: ("K-12", "T-7", "K-5", "T-3", "K-14", "K-3", "T-9"),
}
"""Days before the end on which units are gone over, so that nothing else is left to find."""
LEFT_AWAY = {250: "T-11", 190: "T-14", 110: "X-41"}
RECEIVED = {128: "X-41"}
KEPT = {
    21: (("K-12", ("T-7",)), ("K-5", ("T-3",))),
    15: (("K-8", ("T-1",)),),
    10: (("K-9", ("T-15", "D-1", "T-16")),),
    3: (("K-3", ()),),
    1: (("K-11", ("T-9",)),),
}
"""Days before the end from which tractors keep what they pull."""
LAST_WALKS = {
    48: (("K-8",), ("K-11",), ("B-1",), ("S-4",), ("T-1",), ("T-2",)),
    9: (("K-11",),),
    8: (("T-2",), ("K-9", "T-15", "D-1", "T-16")),
    7: (("S-4",),),
    6: (("B-1",), ("T-9",)),
    5: (("K-8", "T-1"),),
    4: (("K-14",),),
    3: (("K-3",),),
    1: (("K-12", "T-7"), ("K-5", "T-3")),
}
MILES_SINCE_RELEASE = 34
"""What T-9 has gone since its reline. [mi]"""


class Ending:
    """Arranges the last days of a simulation of the demo's own fleet."""

    def __init__(self, simulation: Simulation) -> None:
        self.simulation = simulation
        self.arranged = {number for numbers in LOOKED_AFTER.values() for number in numbers}

    def morning(self, day: int) -> None:
        """Do what is arranged for a morning."""
        left = self.simulation.last - day
        if left in LEFT_AWAY:
            self._leave(LEFT_AWAY[left], day)
        if left in RECEIVED:
            self._fetch(RECEIVED[left], day)
        for tractor, train in KEPT.get(left, ()):
            self._keep(tractor, train, day)
        if left in LOOKED_AFTER:
            for number in LOOKED_AFTER[left]:
                self._look_after(number, day, left)
        if left == STEER_LININGS:
            self._steer_linings(day)
        if left == STEER_STROKES:
            self._steer_strokes(day)
        for numbers in LAST_WALKS.get(left, ()):
            self._last_walk(numbers, day, left)
        if left == 0:
            self._this_morning(day)

    def miles(self, number: str, day: int, drawn: int) -> int:
        """Return the miles of a power unit on a day, as drawn or as arranged."""
        if number == "K-11" and self.simulation.last - day == 1:
            return MILES_SINCE_RELEASE
        return drawn

    # -- how it is arranged

    def _leave(self, number: str, day: int) -> None:
        simulation = self.simulation
        simulation.yard.free(number, simulation.moment(day, 4, 40))
        simulation.yard.away[number] = FOR_EVER
        simulation.at_work = [one for one in simulation.at_work if simulation.jobs[one[1]].unit != number]

    def _fetch(self, number: str, day: int) -> None:
        simulation = self.simulation
        simulation.yard.free(number, simulation.moment(day, 4, 40))
        simulation.yard.away[number] = day
        simulation.walk([number], day, "received", then_work=False)

    def _keep(self, tractor: str, train: tuple[str, ...], day: int) -> None:
        simulation = self.simulation
        at = simulation.moment(day, 4, 45)
        for number in (tractor, *train):
            simulation.yard.free(number, at)
            simulation.yard.away[number] = day
        simulation.yard.kept[tractor] = train
        if train:
            simulation.yard.couple(tractor, train, simulation.moment(day, 5, 10))

    def _look_after(self, number: str, day: int, left: int) -> None:
        """Go over a unit today and mend, within days, whatever could grow; then leave it to its arranged ends."""
        simulation = self.simulation
        simulation.yard.free(number, simulation.moment(day, 4, 50))
        simulation.yard.away[number] = day
        simulation.at_work = [one for one in simulation.at_work if simulation.jobs[one[1]].unit != number]
        aimed = tuple((axle, side) for unit, axle, _, _, _ in TO_LINING for side in SIDES if unit == number)
        early = left > STEER_LININGS
        simulation.healthy.add(number)
        walk = simulation.walk([number], day, "service", then_work=False)
        if early:
            simulation.left_alone[number] = aimed
        else:
            simulation.next_service[number] = simulation.next_annual[number] = FOR_EVER
        thresholds = Thresholds(reline_at=17, any_condition=True) if early else STRICT
        found = simulation.wanted(number, walk, thresholds, leave_alone=() if early else aimed)
        failing = [
            Task("adjuster_replacement", axle, (side,), "applied_stroke")
            for (axle, side), end in simulation.vehicles[number].ends.items()
            if end.lets_go
        ]
        tasks = (*(one for one in failing if one not in found.tasks), *found.tasks)
        if tasks:
            work = Wanted(tasks, must=True)
            job = simulation.propose(number, work, walk, day, LEAD, on=day + 1)
            simulation.jobs[job.number] = replace(job, hands=job.hands[:1])

    def _steer_linings(self, day: int) -> None:
        for number, axle, side, goal, before in TO_LINING:
            self.simulation.worn(number, day)
            end = self.simulation.vehicles[number].ends[axle, side]
            end.lining_aim = Aim(day, self.simulation.last - before, end.thinnest, goal)

    def _steer_strokes(self, day: int) -> None:
        for number, axle, side, goal, before in TO_STROKE:
            self.simulation.worn(number, day)
            end = self.simulation.vehicles[number].ends[axle, side]
            now = self.simulation.stroke(number, axle, side, day)
            end.stroke_aim = Aim(day, self.simulation.last - before, now, goal)

    def _last_walk(self, numbers: tuple[str, ...], day: int, left: int) -> None:
        simulation = self.simulation
        if not simulation.plans[numbers[0]].is_power_unit:
            simulation.yard.free(numbers[0], simulation.moment(day, 4, 50))
        for number in numbers:
            simulation.yard.away[number] = min(simulation.yard.away.get(number, 0), day)
        walk = simulation.walk(list(numbers), day, "service", then_work=False, hour=5 if left == 1 else None)
        for number in numbers:
            simulation.next_service[number] = simulation.next_annual[number] = FOR_EVER
        if numbers == ("T-9",):
            found = Wanted((Task("scam_reline", 1, SIDES, "lining"),), must=True)
            simulation.propose("T-9", found, walk, day, walk.by, on=simulation.last - 2)
        elif numbers == ("K-3",):
            found = Wanted((Task("scam_reline", 2, SIDES, "lining"),), must=False)
            simulation.propose("K-3", found, walk, day, walk.by, on=simulation.last)
        elif left == 1:
            for number in numbers:
                simulation.yard.park(number, FOR_EVER)

    def _this_morning(self, day: int) -> None:
        """Begin K-3's reline, and let K-9's driver report."""
        simulation = self.simulation
        simulation.yard.free("K-3", simulation.moment(day, 4, 55))
        for number, job in simulation.jobs.items():
            if job.unit == "K-3" and job.released_at is None:
                simulation.jobs[number] = replace(
                    job,
                    state="under_way",
                    accepted_at=simulation.moment(day - 1, 16, 10),
                    begun_at=simulation.moment(day, 7, 30),
                )
        meter = simulation.meters["K-9"]
        at, driver = simulation.moment(day, 6, 10), simulation.plans["K-9"].driver
        simulation.reports.append(
            DriverReport(
                id=simulation.new_id(),
                unit="K-9",
                at=at,
                by=driver,
                where="Tarn Ferry yard",
                meter=meter.read(simulation.miles["K-9"], at, driver),
                said="Low hiss at the right side of the first trailer with the pedal down; gone when I let up.",
            )
        )
