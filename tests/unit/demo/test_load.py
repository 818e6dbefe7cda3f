"""The demo in the database: written through the tables of the app, judged by the judge, sealed, and whole."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction

from demo import load as loading
from demo.history import histories
from demo.people import LEAD, PEOPLE, ZONE
from treadle.assess import vocabulary
from treadle.fleet.read import records_from
from treadle.rules.load import shipped
from treadle.web.base.models import InsertOnly, Seal, ShopRow
from treadle.web.base.scope import shop_scope
from treadle.web.base.seal import broken_links
from treadle.web.bay.models import Job, JobRelease, ReCheck
from treadle.web.bay.steps import states_of
from treadle.web.people.models import Person, Shop
from treadle.web.units.couple import combination_of
from treadle.web.units.models import Coupling, FittedPart, MeterReading, Unit
from treadle.web.walkaround.judge import judge_file
from treadle.web.walkaround.models import DriverReport, Judged, Reading, Standing, WalkAround
from treadle.web.walkaround.to_core import as_file

TODAY = date(2026, 10, 2)
YEARS = 1


@pytest.fixture(scope="module")
def demo_shop(django_db_setup, django_db_blocker):
    """The demo, loaded once for all tests of this file, and taken back after them."""
    with django_db_blocker.unblock(), transaction.atomic():
        loading.load(today=TODAY, years=YEARS, password="a-word-of-the-tests")
        shop = Shop.objects.get()
        with shop_scope(shop.pk):
            yield shop
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def history():
    (one,) = histories(today=TODAY, years=YEARS)
    return one


def test_all_of_the_history_is_entered(demo_shop, history):
    assert Unit.objects.count() == len(history.units)
    assert FittedPart.objects.count() == len(history.parts)
    assert Coupling.objects.count() == len(history.couplings)
    assert WalkAround.objects.count() == len(history.walk_arounds)
    assert Reading.objects.count() == sum(len(walk.file["readings"]) for walk in history.walk_arounds)
    assert MeterReading.objects.count() == sum(len(segment.readings) for segment in history.meters)
    assert Job.objects.count() == len(history.jobs)
    assert ReCheck.objects.count() == len(history.re_checks)
    assert DriverReport.objects.count() == len(history.reports)


def test_it_is_marked_as_a_demo_and_nothing_in_it_is_still_to_come(demo_shop, history):
    assert demo_shop.is_demo
    assert not Reading.objects.filter(taken_at__gt=history.now).exists()
    assert not Judged.objects.filter(entered_at__gt=history.now).exists()


def test_every_row_belongs_to_the_shop_and_carries_who_entered_it(demo_shop):
    tables = [
        one
        for root in (ShopRow, InsertOnly)
        for one in root.__subclasses__()
        if not one._meta.abstract and one.across_shops.exists()
    ]
    assert len(tables) > 15
    for table in tables:
        assert set(table.across_shops.values_list("shop", flat=True)) == {demo_shop.pk}, table
    assert set(Reading.objects.values_list("entered_zone", flat=True)) == {ZONE}
    names = {person.name for person in PEOPLE}
    assert set(Reading.objects.values_list("entered_by__name", flat=True)) <= names


def test_the_last_morning_stands_in_the_lists(demo_shop):
    stands = dict(Standing.objects.values_list("unit__number", "outcome"))
    wanted = {"K-12": "fix", "K-5": "hold", "T-3": "hold", "K-14": "watch", "T-11": "unseen", "T-14": "unseen"}
    wanted |= dict.fromkeys(("K-8", "K-11", "B-1", "S-4", "T-1", "T-2"), "good")
    assert {number: stands[number] for number in wanted} == wanted
    assert len(stands) == Unit.objects.count()


def test_combinations_stand_coupled(demo_shop):
    doubles = combination_of(Unit.objects.get(number="K-9"))
    assert [unit.number for unit in doubles] == ["K-9", "T-15", "D-1", "T-16"]


def test_each_unit_has_its_last_occasion_judged_with_the_file_it_was_made_from(demo_shop):
    for unit in Unit.objects.all():
        judged = Judged.objects.filter(units=unit).order_by("-entered_at").first()
        assert judged is not None, unit.number
        assert judged.result["treadle"] == "assessment/1"
        assert judged.outcome == judged.result["outcome"]
        again = judge_file(judged.inputs, demo_shop, at=judged.walk_around.finished_at)[1]
        assert again.outcome == judged.outcome


def test_the_rows_give_back_the_file_that_was_judged(demo_shop):
    known = vocabulary(shipped())
    compared = 0
    for judged in Judged.objects.filter(occasion="service").select_related("walk_around")[:15]:
        file = as_file(judged.walk_around)
        one, other = records_from(file, known), records_from(judged.inputs, known)
        assert one.units == other.units
        assert set(one.readings) == set(other.readings)
        compared += 1
    assert compared == 15


def test_every_released_job_has_all_its_steps_and_parts_on_record(demo_shop):
    jobs = list(Job.objects.filter(state="released"))
    assert len(jobs) > 15
    for job in jobs:
        states = states_of(job)
        assert states
        assert [state.step.id for state in states if not state.done] == [], job.number


def test_every_release_is_sealed_and_the_chain_holds(demo_shop):
    released = Job.objects.filter(state="released").count()
    assert JobRelease.objects.count() == Seal.objects.count() == released
    assert broken_links(Seal.objects.all()) == []
    assert set(JobRelease.objects.values_list("judged__outcome", flat=True)) <= {"watch", "good"}
    assert set(JobRelease.objects.values_list("entered_by__name", flat=True)) == {LEAD}


def test_the_job_under_way_has_come_part_of_the_way(demo_shop):
    (job,) = Job.objects.filter(state="under_way")
    done = [state.done for state in states_of(job)]
    assert job.unit.number == "K-3"
    assert done[0]
    assert not done[-1]
    assert done == sorted(done, reverse=True)


def test_one_re_check_and_one_report_wait(demo_shop):
    assert "T-9" in ReCheck.objects.filter(done_at=None).values_list("unit__number", flat=True)
    assert list(DriverReport.objects.filter(answers=None).values_list("unit__number", flat=True)) == ["K-9"]


def test_what_changes_has_its_history(demo_shop):
    taken_off = FittedPart.objects.exclude(removed_at=None)
    assert taken_off.exists()
    for part in taken_off[:20]:
        last, first = part.history.order_by("-history_date")
        assert (first.history_type, first.removed_at) == ("+", None)
        assert (last.history_type, last.removed_at) == ("~", part.removed_at)


def test_people_sign_in_with_the_word_given_and_hold_their_roles(demo_shop):
    for one in PEOPLE:
        person = Person.across_shops.get_by_natural_key(one.sign_in)
        assert person.roles == set(one.roles)
        assert person.check_password("a-word-of-the-tests")
        for proof in one.qualified:
            assert person.qualified(proof.for_what, TODAY) is not None


@pytest.mark.django_db
def test_without_a_word_nobody_can_sign_in_and_a_larger_fleet_has_seals_but_no_steps():
    loading.load(today=TODAY, units=40, years=1, password="")
    shop = Shop.objects.get()
    with shop_scope(shop.pk):
        assert Unit.objects.count() == 40
        assert not any(person.has_usable_password() for person in Person.objects.all())
        assert Seal.objects.count() == Job.objects.filter(state="released").count() > 0
        assert broken_links(Seal.objects.all()) == []
        assert Standing.objects.count() == 40
        assert states_of(Job.objects.filter(state="released").first())[0].row is None


def test_the_last_day_is_one_whose_morning_is_over():
    zone = ZoneInfo(ZONE)
    nine = datetime(2026, 10, 2, 9, 9, tzinfo=zone)
    assert loading.last_whole_morning(nine) == date(2026, 10, 1)
    assert loading.last_whole_morning(nine + timedelta(minutes=1)) == TODAY


def test_a_folder_in_the_source_tree_is_refused():
    with pytest.raises(SystemExit) as refused:
        loading.prepare(loading.Path(loading.__file__).parent / "data")
    assert "source tree" in str(refused.value)
