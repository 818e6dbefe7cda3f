"""The days of the simulation: mornings with couplings, walk-arounds and jobs, then the road, evenings with reports."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from random import Random
from typing import Protocol
from uuid import UUID
from zoneinfo import ZoneInfo

from demo import start
from demo.carrier import UnitPlan
from demo.meters import Meter
from demo.people import DRIVERS, INSPECTOR_OF_THE_SHOP, LEAD, TECHNICIANS, ZONE
from demo.records import DriverReport, History, Job, ReCheck, Task, WalkAround
from demo.reports import report_of
from demo.shop import Bench, Fitted, Thresholds, Wanted, wanted
from demo.walks import Vehicle, Walk, fraction
from demo.wear import applied_stroke, free_stroke, read_stroke, wear_to
from demo.yard import Yard

SERVICE_DAYS = (60, 88)
"""Between services. (chosen; the product's own default is to count readings as seen for 90 days)"""
WALKED_TOGETHER_AFTER = 30
"""A trailer seen within so many days is left out when its tractor is walked. (chosen)"""
RECEIVED_AFTER = 120
"""A trailer not seen for so many days is received anew. (chosen)"""
ANNUAL_AHEAD = 25
"""A service that falls so many days before an annual inspection is made the annual. (chosen)"""
A_REPORT_EVERY_DAYS = 170
"""Days of one power unit between two reports of its driver. (chosen)"""
FIRST_RUN = (56, 95)
"""Miles of the first run after work on a wheel end, so that it is back for its re-check. [mi] (found: within the first
50 to 100 miles)"""
NORMAL = Thresholds()


class Arranged(Protocol):
    """What arranges certain days; see `demo.ending`."""

    def morning(self, day: int) -> None:
        """Do what is arranged for a morning."""

    def miles(self, number: str, day: int, drawn: int) -> int:
        """Return the miles of a power unit on a day, as drawn or as arranged."""


class Simulation:
    """One pool of vehicles over its days; day 0 is the first, `last` is today."""

    def __init__(
        self, *, pool: int, plans: tuple[UnitPlan, ...], began: date, today: date, rng: Random, daily_every: int
    ) -> None:
        self.pool, self.rng, self.daily_every = pool, rng, daily_every
        self.zone, self.began = ZoneInfo(ZONE), began
        self.last = (today - began).days
        self.plans = {plan.number: plan for plan in plans}
        self.power = [plan for plan in plans if plan.is_power_unit]
        self.tractors = [plan for plan in plans if plan.kind == "tractor"]
        self.yard = Yard(self.plans, rng, self.moment)
        self.fitted = Fitted()
        self.vehicles: dict[str, Vehicle] = {}
        self.meters: dict[str, Meter] = {}
        for plan in plans:
            self.vehicles[plan.number] = start.vehicle(plan, rng)
            for part in start.parts(self.vehicles[plan.number], self.moment(0, 0, 30), rng):
                self.fitted.fit(part)
            if plan.meter:
                self.meters[plan.number] = Meter(
                    plan.number, plan.meter, plan.measure, plan.shown, self.moment(0, 1, 0)
                )
        self.miles = dict.fromkeys(self.plans, 0)
        self.next_service = {number: rng.randint(1, 70) for number in self.plans}
        self.next_annual = {number: rng.randint(1, 360) for number in self.plans}
        self.next_daily = {plan.number: rng.randint(1, daily_every) for plan in self.power}
        self.seen_on: dict[str, int] = {}
        self.healthy: set[str] = set()
        """Units to which nothing new happens and whose readings are never misread: their last days are arranged."""
        self.left_alone: dict[str, tuple[tuple[int, str], ...]] = {}
        """Ends that are steered, so that nobody works on them."""
        self.walks: list[WalkAround] = []
        self.jobs: dict[str, Job] = {}
        self.at_work: list[tuple[int, str]] = []
        """Days of work with the jobs to do then."""
        self.rechecks: list[ReCheck] = []
        self.waiting: dict[str, list[tuple[ReCheck, int, bool]]] = {}
        """Re-checks by unit, with the unit's miles at release and whether new linings are in it."""
        self.reports: list[DriverReport] = []

    # -- time

    def moment(self, day: int, hour: int, minute: int) -> datetime:
        """Return a moment of a day of the history."""
        on = self.began + timedelta(days=day)
        return datetime(on.year, on.month, on.day, hour, minute, tzinfo=self.zone)

    def weekday(self, day: int) -> int:
        """Return the day of the week, Monday 0."""
        return (self.began.weekday() + day) % 7

    def workday(self, day: int) -> int:
        """Return this day, or the Monday after a weekend."""
        return day + max(7 - self.weekday(day), 0) if self.weekday(day) > 4 else day

    def new_id(self) -> UUID:
        """Return the id of a record."""
        return UUID(int=self.rng.getrandbits(128), version=4)

    # -- all days

    def run(self, ending: Arranged | None = None) -> History:
        """Go through all days and return what came of them."""
        for day in range(self.last):
            self._morning(day, ending)
            self._on_the_road(day, ending)
        self._morning(self.last, ending)
        meters = [segment for meter in self.meters.values() for segment in meter.segments()]
        return History(
            pool=self.pool,
            began_at=self.moment(0, 0, 0),
            now=self.moment(self.last, 9, 10),
            units=tuple(self.plans.values()),
            parts=self.fitted.all(),
            meters=tuple(meters),
            couplings=(*self.yard.couplings, *self.yard.open_now()),
            walk_arounds=tuple(sorted(self.walks, key=lambda walk: walk.begun_at)),
            jobs=tuple(self.jobs.values()),
            re_checks=(*self.rechecks, *(one for waiting in self.waiting.values() for one, _, _ in waiting)),
            reports=tuple(self.reports),
            coupled_now=tuple((tractor, *train) for tractor, train in self.yard.trains.items() if train),
        )

    def _morning(self, day: int, ending: Arranged | None) -> None:
        if ending is not None:
            ending.morning(day)
        if self.weekday(day) < 6:
            self.yard.change(self.tractors, day)
        if day == self.last:
            return
        self._dailies(day)
        for when, number in [one for one in self.at_work if one[0] == day]:
            self.at_work.remove((when, number))
            self.work(number, day)
        if self.weekday(day) < 5:
            self._services(day)
        self._meters_that_fail(day)

    def _on_the_road(self, day: int, ending: Arranged | None) -> None:
        weekday, rng = self.weekday(day), self.rng
        if weekday == 6:
            return
        for plan in self.power:
            number = plan.number
            if self.yard.is_parked(number, day):
                continue
            train = self.yard.train(number)
            drawn = int(plan.miles_a_week / (5.5 if weekday < 5 else 11) * rng.uniform(0.72, 1.28))
            if any(one in self.waiting for one in (number, *train)):
                drawn = rng.randint(*FIRST_RUN)
            gone = drawn if ending is None else ending.miles(number, day, drawn)
            if not gone:
                continue
            for one in (number, *train):
                self.miles[one] += gone
            for one in (number, *train):
                if one in self.waiting:
                    self._recheck(one, day, plan.driver)
            if rng.random() < 1 / A_REPORT_EVERY_DAYS:
                self._report(plan, day)

    # -- walk-arounds

    def _services(self, day: int) -> None:
        for number, due in list(self.next_service.items()):
            if (
                (due > day and self.next_annual[number] > day)
                or self.yard.is_parked(number, day)
                or self.yard.is_away(number, day)
            ):
                continue
            tractor = self.yard.pulled_by(number)
            if self.next_annual[number] <= day + ANNUAL_AHEAD:
                self.walk([number], day, "periodic")
                self.next_annual[number] = day + self.rng.randint(340, 362)
            elif tractor is not None and day - self.seen_on.get(number, day) < RECEIVED_AFTER:
                if self.next_service[tractor] <= day + 10:
                    self.next_service[number] = max(self.next_service[tractor], day + 1)  # walked with its tractor
                else:
                    self.walk([number], day, "service")
            elif not self.plans[number].is_power_unit and day - self.seen_on.get(number, day) >= RECEIVED_AFTER:
                self.walk([number], day, "received")
            else:
                train = self.yard.train(number)
                long_ago = [one for one in train if day - self.seen_on.get(one, -999) >= WALKED_TOGETHER_AFTER]
                self.walk([number, *(train if long_ago else ())], day, "service")

    def walk(
        self,
        numbers: list[str],
        day: int,
        occasion: str,
        *,
        then_work: bool = True,
        hour: int | None = None,
    ) -> WalkAround:
        """Walk units round, in one combination if they are several; open the jobs this asks for."""
        by, second = self._two()
        by = INSPECTOR_OF_THE_SHOP if occasion == "periodic" else by
        second = LEAD if second == by else second
        at = self.moment(day, self.rng.randint(5, 10) if hour is None else hour, self.rng.randrange(30, 60, 5))
        walk = self._walk(numbers, day, occasion, at=at, by=(by, second))
        walk.look_and_measure()
        if occasion == "received":
            walk.tags()
        if not walk.shop_air:
            walk.leak("applied")
        walk.strokes()
        if occasion == "periodic":
            if walk.shop_air:
                walk.leak("applied")
            else:
                walk.build_up()
                walk.warning()
            walk.leak("released")
            walk.springs_set()
        record = self._keep(walk, numbers)
        for number in numbers:
            self.seen_on[number] = day
            self.next_service[number] = day + self.rng.randint(*SERVICE_DAYS)
            if then_work:
                self._work_if_wanted(number, record, day)
        return record

    def _work_if_wanted(self, number: str, walk: WalkAround, day: int) -> None:
        """Open a job for what a walk-around found on a unit that has none open."""
        found = self.wanted(number, walk, NORMAL, leave_alone=self.left_alone.get(number, ()))
        if found.tasks and number not in {self.jobs[job].unit for _, job in self.at_work}:
            self.propose(number, found, walk, day, walk.by)

    def _walk(self, numbers: list[str], day: int, occasion: str, *, at: datetime, by: tuple[str, str]) -> Walk:
        for number in numbers:
            self.worn(number, day)
        alone = not self.plans[numbers[0]].is_power_unit
        vehicles = [self.vehicles[number] for number in numbers]
        careful = self.healthy.issuperset(numbers)
        return Walk(occasion, vehicles, at, *by, self.rng, day, shop_air=alone, careful=careful)

    def _keep(self, walk: Walk, numbers: list[str], *, job: str = "", is_part: bool = False) -> WalkAround:
        meters = {}
        for number in numbers:
            meter = self.meters.get(number)
            text = meter.read(self.miles[number], walk.at, walk.by) if meter else ""
            if text:
                meters[number] = text
        file = walk.file(walk.taken(meters), coupled=True)
        record = WalkAround(self.new_id(), walk.at, walk.finished(), walk.by, file, job, is_part)
        self.walks.append(record)
        return record

    def worn(self, number: str, day: int) -> None:
        """Wear every end of a unit on to the miles it has gone."""
        for end in self.vehicles[number].ends.values():
            wear_to(end, self.miles[number], day, self.rng, may_fail=number not in self.healthy)

    def wanted(
        self, number: str, walk: WalkAround, thresholds: Thresholds, *, leave_alone: tuple[tuple[int, str], ...] = ()
    ) -> Wanted:
        """Return the work that a walk-around asks for on a unit."""
        return wanted(self.vehicles[number], walk.file["readings"], thresholds, leave_alone=leave_alone)

    def stroke(self, number: str, axle: int, side: str, day: int) -> float:
        """Return the applied stroke of an end at 95 psi, in inches."""
        return applied_stroke(self.vehicles[number].ends[axle, side], 95.0, day)

    def _dailies(self, day: int) -> None:
        """Let drivers look round before they go, on one day in so many, and note it."""
        for plan in self.power:
            number = plan.number
            if self.next_daily[number] > day or self.weekday(day) > 4 or self.yard.is_parked(number, day):
                continue
            self.next_daily[number] = day + self.rng.randint(self.daily_every // 2, self.daily_every * 3 // 2)
            numbers = [number, *self.yard.train(number)]
            at = self.moment(day, 5, self.rng.randrange(24, 30))
            walk = self._walk(numbers, day, "daily", at=at, by=(plan.driver, plan.driver))
            walk.look_only()
            walk.leak("applied")
            walk.warning()
            record = self._keep(walk, numbers)
            for one in numbers:
                if one not in self.healthy:
                    self._work_if_wanted(one, record, day)

    def _two(self) -> tuple[str, str]:
        first, second = self.rng.sample(TECHNICIANS, 2)
        return first, second

    # -- jobs

    def propose(self, number: str, found: Wanted, walk: WalkAround, day: int, by: str, *, on: int | None = None) -> Job:
        """Open a job for what was found, and set the day of work; a unit that must not go stands until then."""
        later = 1 if found.must else self.rng.randint(2, 6)
        when = self.workday(day + later) if on is None else on
        if found.must:
            self._stand(number, day, when)
        job = Job(
            number=f"J-{self.pool * 10_000 + len(self.jobs) + 1}",
            unit=number,
            tasks=found.tasks,
            from_walk_around=walk.id,
            proposed_at=walk.finished_at + timedelta(minutes=20),
            proposed_by=by,
            hands=self._two()[: 1 if len(found.tasks) == 1 else 2],
            bay=self.rng.choice(("Bay 1", "Bay 2")),
            state="proposed",
        )
        self.jobs[job.number] = job
        if when < self.last:
            self.at_work.append((when, job.number))
        return job

    def _stand(self, number: str, day: int, until: int) -> None:
        """Take a unit off the road until the day after its work, and let go what it pulls or is pulled by."""
        self.yard.free(number, self.moment(day, 12, 45) if until > day else self.moment(day, 7, 5))
        self.yard.park(number, until + 1)

    def work(self, job_number: str, day: int) -> None:
        """Do a job: change the parts, prove it, release it, set its re-check."""
        job = self.jobs[job_number]
        number = job.unit
        if self.yard.is_away(number, day) or self._is_far(number):
            self.at_work.append((self.workday(day + 1), job_number))
            return
        if not self.yard.is_parked(number, day):
            self._stand(number, day, day)
        self.worn(number, day)
        vehicle, at = self.vehicles[number], self.moment(day, 11, 30)
        meter = self.meters.get(number)
        text = meter.text(self.miles[number]) if meter else ""
        newer = day > self.last / 2 and self.rng.random() < 0.4
        job = replace(job, tasks=tuple(self._as_found(task, vehicle, day) for task in job.tasks))
        bench = Bench(vehicle, self.fitted, at, text, job.number, self.rng, newer)
        for task in job.tasks:
            bench.do(task)
        proof = self._prove(job, day)
        released = proof.finished_at + timedelta(minutes=25)
        self.jobs[job_number] = start.released(
            job, accepted=self.moment(day, 6, 40), begun=self.moment(day, 7, 30), released=released, proof=proof.id
        )
        self._set_recheck(job, released, day)

    def _as_found(self, task: Task, vehicle: Vehicle, day: int) -> Task:
        """Measure what is to be found out before anything is changed: the strokes as found, free and once more."""
        if task.procedure != "find_overstroke_cause":
            return task
        end = vehicle.ends[task.axle, task.sides[0]]
        stroke = read_stroke(applied_stroke(end, 95.0, day), self.rng)
        again = max(stroke - self.rng.choice((0, 0, 1)), 2)
        free = round(free_stroke(end, day) * 16)
        return replace(task, found=tuple(fraction(one, 16) for one in (stroke, free, again)))

    def _is_far(self, number: str) -> bool:
        """Whether a unit is kept from work: what it is coupled to is arranged."""
        return any(number in (tractor, *train) for tractor, train in self.yard.kept.items() if train)

    def _prove(self, job: Job, day: int) -> WalkAround:
        ends = sorted({(task.axle, side) for task in job.tasks for side in task.sides})
        second = LEAD if len(job.hands) == 1 else job.hands[1]
        walk = self._walk([job.unit], day, "after_work", at=self.moment(day, 14, 10), by=(job.hands[0], second))
        walk.look_and_measure(ends)
        walk.open_wheels(ends)
        walk.leak("applied")
        walk.strokes(ends)
        walk.parking()
        walk.touched = [{"unit": job.unit, "axle": axle, "side": side} for axle, side in ends]
        return self._keep(walk, [job.unit], job=job.number)

    def _set_recheck(self, job: Job, released: datetime, day: int) -> None:
        ends = job.wheels_off
        if not ends:
            return
        meter, miles = self.meters.get(job.unit), self.miles[job.unit]
        strokes = any(task.procedure == "scam_reline" for task in job.tasks)
        scale = 1.609344 if meter is not None and meter.measure == "km" else 1.0
        shown = None if meter is None or meter.is_off or meter.stands_at is not None else meter.shown(miles)
        measure = "" if meter is None else meter.measure
        recheck = ReCheck(
            job=job.number,
            unit=job.unit,
            ends=ends,
            strokes=strokes,
            set_at=released,
            due_from="" if shown is None else f"{shown + round(50 * scale)} {measure}",
            due_by="" if shown is None else f"{shown + round(100 * scale)} {measure}",
            due_on=(self.began + timedelta(days=day + 14)).isoformat(),
        )
        self.waiting.setdefault(job.unit, []).append((recheck, miles, strokes))

    def _recheck(self, number: str, day: int, driver: str) -> None:
        """Do the re-checks of a unit that is back from its first run."""
        kept = []
        for recheck, since, strokes in self.waiting.pop(number):
            if self.miles[number] - since < 50:
                kept.append((recheck, since, strokes))
                continue
            by, second = self._two()
            at = self.moment(day, 16, self.rng.randrange(0, 50, 5))
            walk_id = None
            if strokes:
                walk = self._walk([number], day, "service", at=at, by=(by, second))
                walk.strokes(recheck.ends)
                walk_id = self._keep(walk, [number], is_part=True).id
            meter = self.meters.get(number)
            outside = not strokes and self.rng.random() < 0.3
            self.rechecks.append(
                start.rechecked(
                    recheck,
                    at=at,
                    by=driver if outside else by,
                    outside=outside and self.rng.random() < 0.5,
                    meter=meter.text(self.miles[number]) if meter else "",
                    moved=self.rng.choice((0, 0, 0, 0, 1, 2)),
                    walk=walk_id,
                )
            )
        if kept:
            self.waiting[number] = kept

    # -- meters and reports

    def _meters_that_fail(self, day: int) -> None:
        """Let one odometer be replaced, and one hub odometer stop and be replaced months later."""
        for number, meter in self.meters.items():
            plan = self.plans[number]
            if (
                day >= self.last * 2 // 5
                and plan.shown == start.ODOMETER_REPLACED
                and not meter.ended
                and number not in self.waiting
            ):
                at = self.moment(day, 11, 55)
                meter.end(self.miles[number], at, "replaced")
                meter.begin(self.miles[number], at, 3)
            if plan.shown != start.HUB_STOPS:
                continue
            if day == self.last // 2:
                meter.stands_at = self.miles[number]
            elif day == self.last // 2 + 75:
                meter.end(self.miles[number], self.moment(day, 11, 55), "stopped")
            elif day == self.last // 2 + 190:
                meter.begin(self.miles[number], self.moment(day, 11, 55), 0)

    def _report(self, plan: UnitPlan, day: int) -> None:
        meter = self.meters[plan.number]
        at = self.moment(day, 18, self.rng.randrange(0, 50, 5))
        driver = plan.driver if self.rng.random() < 0.8 else self.rng.choice(DRIVERS)
        text = meter.read(self.miles[plan.number], at, driver)
        self.reports.append(
            report_of(
                self.rng,
                self.new_id(),
                plan.number,
                at=at,
                by=driver,
                meter=text,
                answered=self.moment(day + 1, 6, 30),
                answered_by=self._two()[0],
            )
        )
