"""Two shops with people of every role and one of each thing an address may name; helpers, made through the services.

A new kind of address needs an entry in `SAMPLES`: by the name in the address, alone, after its app or after its route,
what of a shop stands for it.  The tests of every route say so when one is missing.  An operation of the API that looks
at what it is sent before it looks for what its address names needs an entry in `SENT` too.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from io import BytesIO
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image
from web import line

from treadle.web.base.scope import shop_scope
from treadle.web.bay import jobs, release, steps
from treadle.web.bay.fitting import OTHERS
from treadle.web.bay.models import Bay, Job, ReCheck, ReCheckRecord, Tool
from treadle.web.dispatch import board
from treadle.web.dispatch.driver import report
from treadle.web.dispatch.models import DispatchRelease
from treadle.web.people.models import ConfirmedLimit, Person, Qualification, Role, RoleHeld, Shop
from treadle.web.people.policy import first_policy, limits_to_confirm
from treadle.web.units.documents import add_document
from treadle.web.units.models import Document, Unit
from treadle.web.units.register import FirstMeter, register
from treadle.web.walkaround import enter, judge
from treadle.web.walkaround.models import DriverReport, Photo, SetAside, WalkAround
from treadle.web.walkaround.pictures import keep_photo

ROLES = tuple(Role.values)
_PAPER = b"%PDF-1.4\n%%EOF\n"


@dataclass
class World:
    """A shop and what is in it."""

    shop: Shop
    people: dict[str, Person]
    unit: Unit
    document: Document
    qualification: Qualification
    confirmation: ConfirmedLimit
    walking: WalkAround
    """A daily walk-around of the driver, under way: everybody who may see any sees it."""
    walked: WalkAround
    photo: Photo
    set_aside: SetAside
    job: Job
    """A reline under way."""
    released: Job
    re_check: ReCheck
    checked: ReCheckRecord
    tool: Tool
    bay: Bay
    report: DriverReport
    dispatched: DispatchRelease


def shop(name: str = "Saltgrass Haulage", *, zone: str = "America/Denver") -> Shop:
    """Found a shop without anybody in it."""
    return Shop.objects.create(name=name, zone=zone, runs_in=["us"], policy=first_policy())


def person(*roles: str, at: Shop, language: str = "en", password: str = "", sign_in: str = "", **more: Any) -> Person:
    """Engage somebody with these roles; without a password nobody can sign in as them."""
    name = sign_in or f"{'-'.join(roles) or 'nobody'}-{uuid.uuid4().hex[:8]}"
    made = Person(shop=at, sign_in=name, name=name.replace("-", " ").title(), language=language, **more)
    made.set_password(password or None)
    made.save()
    with shop_scope(at.pk):
        for role in roles:
            RoleHeld(person=made, role=role).save()
    return made


def unit(number: str = "K-12", *, by: Person, layout: str = "tractor_3_drum", meter: str | None = "412000") -> Unit:
    """Register a unit with the shop that is in scope."""
    return register(
        number=number,
        layout=layout,
        built="2019-03",
        runs_in=["us"],
        by=by,
        at=timezone.now() - timedelta(days=400),
        meter=FirstMeter(meter) if meter else None,
    )


def crew_of(at: Shop) -> dict[str, Person]:
    """Engage one person of each role, and a second lead so that the first may go."""
    person(Role.LEAD, at=at)
    return {role: person(role, at=at) for role in ROLES}


def world(name: str, number: str) -> World:
    """Make a shop with its crew and one of each thing."""
    at = shop(name)
    people = crew_of(at)
    lead, technician = people[Role.LEAD], people[Role.TECHNICIAN]
    with shop_scope(at.pk):
        made = unit(number, by=lead)
        qualification = Qualification(
            person=technician,
            for_what=Qualification.ForWhat.BRAKES,
            ground=Qualification.Ground.YEAR,
            evidence="Two years of brake work in this shop, signed by the owner.",
            granted_on=date(2024, 3, 1),
            recorded_by=lead,
        )
        qualification.save()
        confirmation = ConfirmedLimit(rule=a_limit_from_memory(at), edition="of 2026", by=lead, on=date(2026, 3, 12))
        confirmation.save()
        document = add_document(made, BytesIO(_PAPER), size=len(_PAPER), what="registration", by=lead)
        driver = people[Role.DRIVER]
        walked = walk_around(made, by=driver)
        photo, _ = keep_photo(
            uuid.uuid4(), walked, made, picture(), axle=2, side="left", at=timezone.now(), zone=at.zone, by=driver
        )
        judge.finish(walked, shop=at, by=driver, at=timezone.now())
        walking = walk_around(made, by=driver)
        aside = enter.set_aside(
            {"id": str(uuid.uuid4())}, sent_by=technician, now=timezone.now(), reason="conflict", details={}
        )
        work = _work(at, number, lead=lead, technician=technician)
        told = driver_report(made, by=driver)
        line.walk(line.tractor(lead, f"{number}-4"), technician, at)
        gone = board.let_go(
            [Unit.objects.get(number=f"{number}-4")], shop=at, by=lead, at=line.NOW + timedelta(hours=1)
        )
    return World(
        at, people, made, document, qualification, confirmation, walking, walked, photo, aside, *work, told, gone
    )


def driver_report(unit: Unit, *, by: Person) -> DriverReport:
    """Report a defect with a picture of it."""
    return report(
        uuid.uuid4(), unit, by=by, at=timezone.now(), item="service_brakes", said="It pulls left.", photo=picture()
    )


def _work(
    at: Shop, number: str, *, lead: Person, technician: Person
) -> tuple[Job, Job, ReCheck, ReCheckRecord, Tool, Bay]:
    """A reline under way, one released with the re-check that follows from it, a tool and a bay."""
    line.qualified(lead)
    tool, bay = line.wrench(), Bay(name="Bay 1")
    bay.save()
    vehicle = line.tractor(lead, f"{number}-2")
    released = line.reline_job(vehicle, lead)
    jobs.accept(released, by=lead, at=line.NOW, does=[technician], bay=bay)
    jobs.begin_work(released, by=technician)
    line.fit_what_is_due(released, technician, line.NOW)
    line.measure_after_work(released, technician, at, line.NOW + timedelta(hours=3))
    for state in steps.states_of(released):
        line.write_down(released, state, technician, lead, at=line.NOW, tool=tool.number)
    release.release(released, by=lead, at=line.NOW + timedelta(hours=4))
    re_check = ReCheck.objects.get(job=released)
    checked = ReCheckRecord(re_check=re_check, done_at=line.NOW, done_by="O. Teague", entered_by=lead)
    checked.photo.save("wheel.jpg", ContentFile(picture()), save=False)
    checked.save()
    under_way = line.reline_job(line.tractor(lead, f"{number}-3"), lead)
    jobs.accept(under_way, by=lead, at=line.NOW, does=[technician], bay=bay)
    jobs.begin_work(under_way, by=technician)
    return under_way, released, re_check, checked, tool, bay


def walk_around(unit: Unit, *, by: Person) -> WalkAround:
    """Begin a daily walk-around."""
    begun = enter.begin(
        uuid.uuid4(), occasion="daily", unit=unit, at=timezone.now(), zone=by.shop.zone, by=by, alone=True
    )
    return begun.row


def picture() -> bytes:
    """A small picture, as a camera would send one."""
    drawn = BytesIO()
    Image.new("RGB", (8, 8), "white").save(drawn, "JPEG")
    return drawn.getvalue()


def a_limit_from_memory(at: Shop) -> str:
    """Return the id of a rule whose figure is known from memory where the shop's units run."""
    return limits_to_confirm(at, date(2026, 10, 2))[0].rule.id


SAMPLES: dict[str, Callable[[World], Any]] = {
    "person": lambda world: world.people[Role.TECHNICIAN].pk,
    "held": lambda world: RoleHeld.objects.get(person=world.people[Role.TECHNICIAN], until=None).pk,
    "qualification": lambda world: world.qualification.pk,
    "confirmation": lambda world: world.confirmation.pk,
    "people:take_back.person": lambda world: person(at=world.shop, is_active=False).pk,
    "rule": lambda world: a_limit_from_memory(world.shop),
    "number": lambda world: world.unit.number,
    "units:document.pk": lambda world: world.document.pk,
    "walkaround.pk": lambda world: world.walking.pk,
    "walkaround:one.pk": lambda world: world.walked.pk,
    "walkaround:report.pk": lambda world: world.walked.pk,
    "walkaround:photo.pk": lambda world: world.photo.pk,
    "walkaround:settle.pk": lambda world: world.set_aside.pk,
    "job": lambda world: world.job.number,
    "bay:record.job": lambda world: world.released.number,
    "task": lambda world: 1,
    "step": lambda world: steps.states_of(world.job)[0].step.id,
    "bay:part.slot": lambda world: OTHERS[0],
    "bay.pk": lambda world: world.re_check.pk,
    "bay:close_bay.pk": lambda world: world.bay.pk,
    "bay:tool.pk": lambda world: world.tool.pk,
    "bay:retire.pk": lambda world: world.tool.pk,
    "bay:photo.pk": lambda world: world.checked.pk,
    "dispatch.pk": lambda world: world.dispatched.pk,
    "driver.pk": lambda world: world.report.pk,
    "walk_around": lambda world: world.walking.pk,
    "api:limits.unit": lambda world: world.unit.number,
    "kind": lambda world: "json",
    "axle": lambda world: 2,
    "side": lambda world: "left",
    "slot": lambda world: "lining",
}
"""What stands for a name in an address: by route and name, by app and name, or by the name alone."""
OF_NO_SHOP = frozenset({"rule", "axle", "side", "slot", "kind", "task", "step"})
"""Names that mean the same in every shop."""
SENT: dict[str, dict[str, Any]] = {
    "api:note": {"at": "2026-10-02T07:40:00-06:00"},
    "api:limits": {"occasion": "daily"},
}
"""What goes with a request to the API, by route: the query of one that reads, the body of one that writes."""


def sample(route: str, name: str, of: World) -> Any:
    """Return what stands for a name in a route's address.

    Raises
    ------
    LookupError
        Nobody said yet what does.
    """
    app = route.partition(":")[0]
    make = SAMPLES.get(f"{route}.{name}") or SAMPLES.get(f"{app}.{name}") or SAMPLES.get(name)
    if make is None:
        raise LookupError(
            f"say in SAMPLES of tests/web/factories.py what stands for <{name}> in the address of {route}"
        )
    with shop_scope(of.shop.pk):
        return make(of)
