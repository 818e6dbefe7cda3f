"""One of each of the shop's papers, of an invented shop, and readers of what a PDF says."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone
from functools import cached_property
from typing import Any

import pypdf
import pytest

from treadle.procedures import Facts, shipped, steps_for
from treadle.reports import (
    dash_tag,
    defect_report,
    dispatch_release,
    job_card,
    recheck_slip,
    release_record,
)
from treadle.reports.parts import Recheck, Seal, Shop, measured_rows, reasons_of
from treadle.reports.typesetting import Sheet

MOUNTAIN = timezone(timedelta(hours=-6))
AT = datetime(2026, 10, 2, 7, 40, tzinfo=MOUNTAIN)
SHOP = Shop("Larkspur Bench Haulage, shop", ("2 Kiln Road, Larkspur Bench", "telephone 555 0142"))
TORQUE = (
    "450 lbf·ft to 500 lbf·ft on M22 x 1.5, two drops of oil between nut and flange (wheel maker's paper 4021, page 7)"
)
SLASH = "\N{FRACTION SLASH}"


@dataclass(frozen=True)
class Paper:
    """What a PDF holds."""

    content: bytes

    @cached_property
    def reader(self) -> pypdf.PdfReader:
        return pypdf.PdfReader(io.BytesIO(self.content))

    @cached_property
    def pages(self) -> list[str]:
        return [squeezed(page.extract_text()) for page in self.reader.pages]

    @cached_property
    def text(self) -> str:
        """All of it without spaces and breaks, which the setting in columns adds and takes."""
        return "".join(self.pages)

    def says(self, text: str) -> bool:
        return squeezed(text) in self.text

    @cached_property
    def alternatives(self) -> list[str]:
        """What stands for each picture."""
        return _alternatives(self.reader.trailer["/Root"]["/StructTreeRoot"])


def squeezed(text: str) -> str:
    text = re.sub(r"(\d+)/(\d+) in\b", rf"\1{SLASH}\2 in", text)
    return re.sub(r"[\s\u00a0\u200b]", "", text)


def _alternatives(element: Any) -> list[str]:
    element = element.get_object()
    if isinstance(element, pypdf.generic.ArrayObject):
        return [found for child in element for found in _alternatives(child)]
    if not isinstance(element, pypdf.generic.DictionaryObject):
        return []
    found = [str(element["/Alt"])] if "/Alt" in element else []
    return found + (_alternatives(element["/K"]) if "/K" in element else [])


@pytest.fixture(scope="session")
def read_paper() -> Callable[[bytes], Paper]:
    return Paper


@pytest.fixture(scope="session")
def squeeze() -> Callable[[str], str]:
    return squeezed


@pytest.fixture
def proved(judge: Callable[..., Any], clean_walk_around: Callable[..., dict[str, Any]]) -> Any:
    """A walk-around after work on which everything is good, judged."""
    return judge(clean_walk_around("after_work"))


@pytest.fixture
def why(demo: Any) -> Callable[[str], tuple[Any, ...]]:
    """What is not good of the demo, as reasons in a language."""
    return lambda language="en": reasons_of(demo.assessment.findings, language)


@pytest.fixture
def held(why: Callable[[str], tuple[Any, ...]]) -> Callable[..., dash_tag.DashTag]:
    """A tag of a unit that is held; what is given changes it."""

    def made(outcome: str | None = "hold", language: str = "en", **changes: Any) -> dash_tag.DashTag:
        state = {"since": AT, "ordered_by": "M. Aldana", "why": why(language), **changes}
        return tag_of(dash_tag.Held(outcome=outcome, **state))

    return made


@pytest.fixture
def released() -> Callable[..., dash_tag.DashTag]:
    """A tag of a unit that was released."""
    return lambda outcome="good", **changes: tag_of(
        dash_tag.Released(outcome=outcome, by="M. Aldana", at=AT, combination=("K-12", "T-7"), **changes)
    )


def tag_of(state: dash_tag.Held | dash_tag.Released) -> dash_tag.DashTag:
    return dash_tag.DashTag(
        shop=SHOP,
        unit="K-12",
        described="3-axle tractor, built March 2019",
        state=state,
        made_at=AT + timedelta(minutes=5),
        url="https://shop.example/units/K-12/",
    )


@pytest.fixture
def release(proved: Any) -> Callable[..., release_record.ReleaseRecord]:
    """The release of a job; what is given changes it."""

    def made(language: str = "en", **changes: Any) -> release_record.ReleaseRecord:
        fields = {
            "shop": SHOP,
            "unit": "K-12",
            "described": "2-axle truck, built March 2019",
            "job": "J-0412",
            "opened_at": AT - timedelta(days=1),
            "released_at": AT,
            "released_by": "M. Aldana",
            "meter": "412,350 mi",
            "tasks": ("Reline axle 2, both ends", "Replace the drum, axle 2 left"),
            "measured": measured_rows(*proved, language),
            "steps": (
                release_record.StepDone(number=1, says="Drum off with the lifter.", by="R. Quill", at=AT),
                release_record.StepDone(
                    number=2,
                    says="Springs seated.",
                    by="R. Quill",
                    at=AT,
                    where="axle 2 left",
                    hold=("Every spring fully home at both ends.",),
                    second="J. Amsel",
                ),
            ),
            "torque": (torque_done(),),
            "parts": (
                release_record.PartFitted(where="axle 2 left", name="Lining set", lot="LX-2291", quantity="1"),
                release_record.PartFitted(where="axle 2 right", name="Lining set", quantity="1"),
            ),
            "people": (
                release_record.Hand(name="R. Quill", did="reline", qualifications=("1 year of brake work, 2021",)),
                release_record.Hand(name="J. Amsel", did="second person"),
            ),
            "recheck": Recheck(distance="50 to 100 miles", low="412,400 mi", high="412,450 mi"),
            "seal": Seal(record="0123456789abcdef" * 4, head="fedcba9876543210" * 4, number=412),
            "url": "https://shop.example/jobs/J-0412/",
        }
        return release_record.ReleaseRecord(**{**fields, **changes})

    return made


def torque_done(calibration_due: date | None = date(2027, 1, 15)) -> release_record.TorqueDone:
    return release_record.TorqueDone(
        where="axle 2 left",
        says=TORQUE,
        wrench="W-3",
        calibration_due=calibration_due,
        value="475 lbf·ft",
        stages=("50 lbf·ft", "475 lbf·ft"),
        by="R. Quill",
        at=AT,
    )


@pytest.fixture
def tightened() -> Callable[..., release_record.TorqueDone]:
    """Nuts as they were tightened, by a wrench whose calibration is due on a day."""
    return torque_done


@pytest.fixture
def dispatch(why: Callable[[str], tuple[Any, ...]]) -> Callable[..., dispatch_release.DispatchRelease]:
    """A dispatch release; what is given changes it."""

    def made(language: str = "en", **changes: Any) -> dispatch_release.DispatchRelease:
        rests = tuple(
            dispatch_release.Rest(what=what, by="R. Quill", at=AT - timedelta(days=days), distance=distance)
            for what, days, distance in (("strokes", 1, "212 mi"), ("linings", 12, "2,310 mi"), ("leak-down", 0, ""))
        )
        units = tuple(
            dispatch_release.UnitReleased(
                number=number, described=kind, outcome=outcome, rests_on=rests, notes=why(language)[-1:]
            )
            for number, kind, outcome in (("K-12", "tractor", "watch"), ("T-7", "trailer", "good"))
        )
        fields = {
            "shop": SHOP,
            "units": units,
            "outcome": "watch",
            "count": "0 of 10 brakes defective.",
            "at": AT,
            "by": "M. Aldana",
            "url": "https://shop.example/dispatch/88/",
        }
        return dispatch_release.DispatchRelease(**{**fields, **changes})

    return made


@pytest.fixture
def slip() -> Callable[..., recheck_slip.RecheckSlip]:
    """A re-check slip; what is given changes it."""

    def made(**changes: Any) -> recheck_slip.RecheckSlip:
        fields = {
            "shop": SHOP,
            "unit": "K-12",
            "described": "3-axle tractor",
            "job": "J-0412",
            "released_at": AT,
            "meter": "412,350 mi",
            "recheck": Recheck(
                distance="50 to 100 miles",
                low="412,400 mi",
                high="412,450 mi",
                on=date(2026, 10, 9),
                source="Vehicle maker's maintenance manual, wheel nut checking",
            ),
            "wheels": (
                recheck_slip.Wheel(where="axle 2 left", studs=10, torque=TORQUE),
                recheck_slip.Wheel(where="axle 2 right"),
            ),
            "strokes": (
                recheck_slip.Stroke(
                    where="axle 2 left", last="1 3/8 in", limit="2 in, not more", rule="49 CFR 393.47(e)"
                ),
            ),
            "url": "https://shop.example/recheck/J-0412/",
        }
        return recheck_slip.RecheckSlip(**{**fields, **changes})

    return made


@pytest.fixture
def reported() -> Callable[..., defect_report.DefectReport]:
    """A driver's report; what is given changes it."""

    def made(**changes: Any) -> defect_report.DefectReport:
        fields = {
            "shop": SHOP,
            "units": ("K-12", "T-7"),
            "driver": "L. Marrow",
            "at": AT,
            "defects": (
                defect_report.Defect(item="service_brakes", says="Pulls to the left.", unit="K-12"),
                defect_report.Defect(item="lights", says="Left marker lamp out.", unit="T-7"),
            ),
            "none_found": False,
            "answers": (
                defect_report.Answer(defect=0, outcome="repaired", says="Hose changed.", by="R. Quill", at=AT),
            ),
            "url": "https://shop.example/reports/31/",
            "meter": "412,350 mi",
        }
        return defect_report.DefectReport(**{**fields, **changes})

    return made


@pytest.fixture
def card(demo: Any, why: Callable[[str], tuple[Any, ...]]) -> Callable[..., job_card.JobCard]:
    """A job card for a reline of the trailer's second axle; what is given changes it."""

    def made(language: str = "en", **changes: Any) -> job_card.JobCard:
        unit = next(unit for unit in demo.walk_around.units if unit.number == "T-7")
        procedure = shipped()["scam_reline"]
        facts = Facts(studs=10, duals=True, mounting="hub_piloted_m22", suspension="air", drum_fit="outboard")
        task = job_card.CardTask(
            title=procedure.title.says(language),
            where="axle 2",
            because=why(language),
            steps=steps_for(procedure, unit, 2, facts=facts),
            cautions=tuple(caution.says(language) for caution in procedure.cautions),
        )
        fields = {
            "shop": SHOP,
            "job": "J-0412",
            "made_at": AT,
            "unit": unit,
            "described": "2-axle trailer",
            "assessment": demo.assessment,
            "tasks": (task,),
            "parts": (
                job_card.CardPart(name="lining set", where="axle 2", quantity="2", rule="one for each end"),
                job_card.CardPart(name="brake drum", where="axle 2 left", quantity="1", certain=False),
            ),
            "tools": ("drum lifter", "calibrated torque wrench"),
            "cautions": (),
            "ends": frozenset({(2, "left"), (2, "right")}),
            "url": "https://shop.example/jobs/J-0412/",
            "hands": ("R. Quill", "J. Amsel"),
            "bay": "2",
        }
        return job_card.JobCard(**{**fields, **changes})

    return made


@pytest.fixture
def sheets(request: pytest.FixtureRequest) -> Callable[[str, str], Sheet]:
    """Any of the papers by its name, in a language, ready to be set."""

    def record(fixture: str, *given: Any, **changes: Any) -> Any:
        return request.getfixturevalue(fixture)(*given, **changes)

    made: dict[str, Callable[[str], Sheet]] = {
        "hold": lambda language: dash_tag.sheet(record("held", "hold", language), language),
        "fix, half": lambda language: dash_tag.sheet(record("held", "fix", language), language, size="half"),
        "waiting": lambda language: dash_tag.sheet(record("held", None, language, why=()), language),
        "released": lambda language: dash_tag.sheet(record("released"), language),
        "release": lambda language: release_record.sheet(record("release", language), language),
        "dispatch": lambda language: dispatch_release.sheet(record("dispatch", language), language),
        "slip": lambda language: recheck_slip.sheet(record("slip"), language),
        "report": lambda language: defect_report.sheet(record("reported"), language),
        "none found": lambda language: defect_report.sheet(
            record("reported", defects=(), none_found=True, answers=()), language
        ),
        "card": lambda language: job_card.sheet(record("card", language), language),
    }
    return lambda name, language: made[name](language)
