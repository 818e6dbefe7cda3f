"""The database at start: up to date, not of a newer version, and the demo apart from real shops."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from treadle.web.people.models import Shop
from treadle.web.server.database import bring_up_to_date, check_demo, has_lead
from treadle.web.server.refusal import CannotServe
from treadle.words import LANGUAGES


@pytest.fixture
def demo_shop(shop):
    shop.is_demo = True
    shop.save()
    return shop


def refusal(**how):
    with pytest.raises(CannotServe) as refused:
        check_demo(**how)
    return refused.value


@pytest.mark.usefixtures("demo_shop")
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_demo_is_not_served_as_a_shop(language, tmp_path):
    refused = refusal(demo=False, folder=tmp_path)
    assert refused.code == "serve.demo_database"
    assert str(tmp_path) in refused.said(language)
    assert check_demo(demo=True, folder=tmp_path) is None


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_real_shop_is_not_opened_as_the_demo(language, tmp_path):
    refused = refusal(demo=True, folder=tmp_path)
    assert refused.code == "serve.real_database"
    assert str(tmp_path) in refused.said(language)
    assert check_demo(demo=False, folder=tmp_path) is None


@pytest.mark.usefixtures("demo_shop", "other_shop")
def test_a_real_shop_beside_the_demo_is_served_as_neither(tmp_path):
    assert refusal(demo=False, folder=tmp_path).code == "serve.demo_database"
    assert refusal(demo=True, folder=tmp_path).code == "serve.real_database"


@pytest.mark.django_db
def test_an_empty_database_is_served_as_a_shop_and_as_the_demo(tmp_path):
    assert Shop.objects.count() == 0
    assert check_demo(demo=False, folder=tmp_path) is None
    assert check_demo(demo=True, folder=tmp_path) is None


def test_a_shop_has_a_lead_once_somebody_is_one(person):
    assert not has_lead()
    person("technician", "owner")
    assert not has_lead()
    person("lead")
    assert has_lead()


@pytest.mark.django_db
@pytest.mark.parametrize("language", LANGUAGES)
def test_records_of_a_newer_version_are_refused(language):
    MigrationRecorder(connection).record_applied("units", "9999_of_years_to_come")
    with pytest.raises(CannotServe) as refused:
        bring_up_to_date()
    assert refused.value.code == "serve.newer_database"
    assert "9999_of_years_to_come" in refused.value.said(language)


@pytest.mark.django_db
def test_what_is_up_to_date_is_left_alone(django_assert_num_queries):
    with django_assert_num_queries(2):  # is there a table of changes, and which were made
        bring_up_to_date()


@pytest.mark.django_db
def test_no_model_differs_from_what_its_changes_make():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
