"""The Records: a unit's file holds what was done to it, in order, with its people; a broken seal cannot be missed."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from web.line import NOW, qualified, tractor, walk

from treadle.web.base.models import Seal
from treadle.web.base.seal import digest_of
from treadle.web.dispatch import board
from treadle.web.records.timeline import KINDS, file_of
from treadle.web.walkaround.judge import work_out_standing


@pytest.fixture
def lead(person, in_shop):
    return qualified(person("lead", "technician", sign_in="m-oduya"))


@pytest.fixture
def unit(lead, shop):
    """A tractor walked round, refused once for a stroke past its limit, walked again and let go."""
    made = tractor(lead)
    walk(made, lead, shop, strokes={("K-12", 2, "left"): "2 1/8 in"})
    with pytest.raises(board.DispatchRefused):
        board.let_go([made], shop=shop, by=lead, at=NOW + timedelta(hours=1))
    walk(made, lead, shop, at=NOW + timedelta(hours=2))
    board.let_go([made], shop=shop, by=lead, at=NOW + timedelta(hours=3))
    work_out_standing(made, shop=shop, by=lead, at=NOW + timedelta(hours=3))
    return made


def test_the_file_of_a_unit_is_in_order_with_the_latest_first(unit):
    entries = file_of(unit, "en")
    assert [entry.at for entry in entries] == sorted((entry.at for entry in entries), reverse=True)
    inspections = [entry for entry in entries if entry.kind == "inspection"]
    assert [entry.outcome for entry in inspections] == ["good", "fix"] or inspections[0].outcome == "watch"
    assert {entry.by for entry in inspections} == {"M Oduya"}


def test_a_refusal_and_a_sealed_release_are_in_the_file(unit):
    entries = file_of(unit, "en", kinds=("hold", "dispatch"))
    assert [entry.kind for entry in entries][-1] in ("dispatch", "hold")
    assert {entry.kind for entry in entries} == {"hold", "dispatch"}
    assert [bool(entry.seal) for entry in entries if entry.kind == "dispatch"] == [True]


def test_a_file_is_narrowed_by_kind_and_by_day(unit):
    assert {entry.kind for entry in file_of(unit, "es", kinds=("part",))} == {"part"}
    tomorrow = (NOW + timedelta(days=1)).date()
    assert file_of(unit, "en", kinds=("inspection", "part"), since=tomorrow) == []


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("kind", ["", *KINDS])
def test_every_part_of_a_file_opens(kind, language, unit, browser_of):
    page = browser_of("inspector", language=language).get("/records/units/K-12/", {"kind": kind})
    assert page.status_code == 200
    assert "K-12" in page.content.decode()


def test_a_unit_of_another_shop_has_no_file_here(unit, other_shop, browser_of):
    assert browser_of("lead", at=other_shop).get("/records/units/K-12/").status_code == 404


def test_a_technician_and_a_dispatcher_do_not_read_the_records(unit, browser_of):
    for role in ("technician", "dispatcher", "driver"):
        assert browser_of(role).get("/records/").status_code == 403


def test_the_records_say_that_the_seals_hold_and_name_one_that_was_changed(unit, browser_of):
    browser = browser_of("owner")
    assert "All 1 sealed records hold" in browser.get("/records/").content.decode()
    first = Seal.objects.get()
    Seal.objects.filter(pk=first.pk).update(text=first.text.replace("K-12", "K-13"))
    page = browser.get("/records/").content.decode()
    assert "Sealed records were changed" in page
    assert "its text is not what was sealed" in page


def test_the_seals_can_be_taken_along_and_hashed_again(unit, browser_of):
    answer = browser_of("inspector").get("/records/seals.json")
    kept = json.loads(answer.content)
    assert (kept["treadle"], len(kept["links"])) == ("seals/1", 1)
    link = kept["links"][0]
    assert digest_of(number=link["number"], previous=link["previous"], text=link["text"]) == link["digest"]


def test_an_empty_shop_teaches_what_comes_first(browser_of):
    page = browser_of("lead").get("/records/").content.decode()
    assert "A file begins when a unit is registered" in page
