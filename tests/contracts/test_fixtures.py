"""The fixtures that all tests share do what they say."""

from __future__ import annotations

import os

import pytest
from hypothesis import settings

from treadle.fleet.file_model import WalkAroundFile
from treadle.rules.load import shipped

OCCASIONS = ("daily", "service", "received", "roadside", "periodic", "after_work")


@pytest.mark.parametrize("occasion", OCCASIONS)
def test_a_clean_walk_around_is_a_file_of_its_occasion(occasion, clean_walk_around):
    assert WalkAroundFile.model_validate(clean_walk_around(occasion)).occasion == occasion


def test_each_clean_walk_around_is_a_new_one(clean_walk_around):
    first = clean_walk_around()
    first["readings"][0]["value"] = "9 in"
    first["units"][0]["axles"][0]["chamber"]["type"] = "9"
    first["units"][0]["axles"][0]["role"] = "lift"
    first["taken"]["by"] = "nobody"
    second = clean_walk_around()
    assert (second["readings"][0]["value"], second["taken"]["by"]) == ("1 in", "R. Quill")
    assert (second["units"][0]["axles"][0]["chamber"]["type"], second["units"][0]["axles"][0]["role"]) == (
        "20",
        "steer",
    )


def test_the_clean_walk_around_is_one_of_a_service(clean, clean_walk_around):
    assert clean == clean_walk_around("service")


def test_the_shared_rules_and_words_are_those_shipped(rules, vocabulary):
    assert rules is shipped()
    assert vocabulary.jurisdictions == rules.jurisdictions
    assert set(vocabulary.conditions) == set(rules.conditions)


def test_examples_repeat_in_ci_and_never_fail_for_being_slow():
    assert settings.get_profile("ci").derandomize
    assert not settings.get_profile("local").derandomize
    assert {settings.get_profile(name).deadline for name in ("ci", "local")} == {None}
    assert settings.get_current_profile_name() == ("ci" if os.environ.get("CI") else "local")
