"""What a shop settles: itself, its policy held against the law, and the limits somebody of it has confirmed."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone
from web.factories import a_limit_from_memory
from web.factories import person as engage

from treadle.assess import read_confirmed
from treadle.rules.load import shipped
from treadle.web.people.models import ConfirmedLimit, Role
from treadle.web.people.policy import checked_policy, first_policy, limits_to_confirm, policy_as_entered
from treadle.web.walkaround.to_core import confirmed_by

BACKEND = "django.contrib.auth.backends.ModelBackend"
DAY = date(2026, 10, 2)
SHOP = {
    "name": "Saltgrass Haulage",
    "zone": "America/Boise",
    "runs_in": ["us", "ca-qc"],
    "measure": "mm",
    "paper": "a4",
    "language_of_shop": "es",
}
POLICY = {
    "near_stroke": "3/16",
    "near_lining": "2 mm",
    "near_drum": "0.030 in",
    "age_days": "60",
    "age_miles": "20000",
    "keeps_in": ["service", "periodic"],
}


@pytest.fixture
def lead(shop):
    return engage(Role.LEAD, at=shop)


@pytest.fixture
def office(lead):
    client = Client()
    client.force_login(lead, backend=BACKEND)
    return client


# -- settings


def test_the_settings_of_the_shop_are_kept_with_what_they_were_before(office, shop):
    assert office.post("/shop/", SHOP).status_code == 302
    shop.refresh_from_db()
    assert (shop.zone, shop.runs_in, shop.measure, shop.paper) == ("America/Boise", ["us", "ca-qc"], "mm", "a4")
    assert shop.language == "es"
    assert shop.history.first().zone == "America/Boise"


def test_a_shop_without_a_place_its_units_run_in_is_refused(office, shop):
    answer = office.post("/shop/", SHOP | {"runs_in": []})
    assert answer.status_code == 400
    assert 'value="Saltgrass Haulage"' in answer.content.decode()


# -- policy


def test_a_shop_begins_with_the_bands_and_ages_of_the_design():
    """Stroke within 1/8 in, lining within 1/16 in, drum within 0.020 in; 90 days or 25,000 miles: design, section 3."""
    first = first_policy()
    assert first["near"] == {"stroke": "1/8 in", "lining": "1/16 in", "drum": "0.020 in"}
    assert first["age"] == {"days": 90, "miles": 25000}
    assert all(first["unseen_blocks"].values())


def test_a_policy_is_kept_as_the_judge_reads_it(office, shop):
    assert office.post("/shop/policy/", POLICY).status_code == 302
    shop.refresh_from_db()
    assert shop.policy["near"] == {"stroke": "3/16 in", "lining": "2 mm", "drum": "0.030 in"}
    read = checked_policy(shop.policy, shop, DAY)
    assert (read.age_days, read.age_miles) == (60, 20000)
    assert str(read.near_band("applied_stroke")) == "3/16 in"
    assert read.unseen_blocks["service"] is True
    assert read.unseen_blocks["daily"] is False


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"near_stroke": "a little"}, "near_stroke"),
        ({"near_lining": "5 psi"}, "near_lining"),
        ({"age_days": "0"}, "age_days"),
        ({"age_miles": "-1"}, "age_miles"),
        ({"keeps_in": ["sometimes"]}, "keeps_in"),
    ],
)
def test_a_policy_that_cannot_be_read_is_not_kept(office, shop, changed, field):
    before = shop.policy
    answer = office.post("/shop/policy/", POLICY | changed)
    assert answer.status_code == 400
    assert field in answer.context["form"].errors
    assert 'value="0.030 in"' in answer.content.decode()
    shop.refresh_from_db()
    assert shop.policy == before


OWN = {"quantity": "lining", "comparator": "breach_if_less_than", "value": "3/8 in", "then": "watch"}


def test_the_shops_own_tighter_limits_stay_when_the_form_is_saved(office, shop):
    shop.policy = first_policy() | {"rules": [OWN]}
    shop.save()
    assert "tighter limits (1) stay" in office.get("/shop/policy/").content.decode()
    office.post("/shop/policy/", POLICY)
    shop.refresh_from_db()
    assert shop.policy["rules"] == [OWN]


def test_a_limit_looser_than_the_law_is_refused_by_name(office, shop):
    """A drum brake lining of less than 1/4 in is a defect (49 CFR 393.47(d)(2), found); 1/8 in is looser."""
    looser = OWN | {"value": "1/8 in", "applies": {"role": "drive", "brake": "air_drum"}}
    shop.policy = first_policy() | {"rules": [looser]}
    shop.save()
    answer = office.post("/shop/policy/", POLICY)
    assert answer.status_code == 400
    assert "393.47" in str(answer.context["form"].non_field_errors())


def test_a_policy_written_before_a_field_existed_is_complete_on_the_form(shop):
    shop.policy = {"treadle": "policy/1", "age": {"days": 45}}
    complete = policy_as_entered(shop)
    assert complete["age"] == {"days": 45, "miles": 25000}
    assert complete["near"] == first_policy()["near"]


# -- confirmed limits


@pytest.mark.usefixtures("in_shop")
def test_the_list_has_every_limit_from_memory_where_the_units_run_and_no_other(shop):
    listed = {one.rule.id for one in limits_to_confirm(shop, DAY)}
    weak = {
        rule.id
        for rule in shipped().rules.values()
        if (value := rule.in_force(DAY)) and "memory" in {value.basis, *(row.basis for row in value.rows)}
    }
    assert listed == {rule for rule in weak if not rule.startswith("ca-qc")}
    assert listed


def confirm(office, rule, reader, **changed):
    entered = {"edition": "of March 2026", "by": reader.pk, "on": "2026-03-12"}
    return office.post(f"/shop/limits/{rule}/", entered | changed)


@pytest.mark.usefixtures("in_shop")
def test_having_read_a_limit_is_recorded_with_who_which_edition_and_when(office, shop, lead):
    rule = a_limit_from_memory(shop)
    assert confirm(office, rule, lead).status_code == 302
    row = ConfirmedLimit.objects.get()
    assert (row.rule, row.edition, row.by, row.on, row.shop) == (rule, "of March 2026", lead, date(2026, 3, 12), shop)
    assert "read it on 12 March 2026: of March 2026" in office.get("/shop/limits/").content.decode()


@pytest.mark.usefixtures("in_shop")
def test_what_was_confirmed_is_what_the_judge_takes(office, shop, lead):
    rule = a_limit_from_memory(shop)
    confirm(office, rule, lead)
    assert read_confirmed(json.dumps(confirmed_by(shop)), shipped(), today=DAY) == {rule}


@pytest.mark.usefixtures("in_shop")
def test_a_confirmation_taken_back_no_longer_counts_and_stays_in_its_history(office, shop, lead):
    rule = a_limit_from_memory(shop)
    confirm(office, rule, lead)
    row = ConfirmedLimit.objects.get()
    office.post(f"/shop/confirmations/{row.pk}/take-back/")
    assert not ConfirmedLimit.objects.exists()
    assert [one.history_type for one in ConfirmedLimit.history.filter(id=row.pk)] == ["-", "+"]


@pytest.mark.usefixtures("in_shop")
@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"edition": ""}, "edition"),
        ({"on": (timezone.localdate() + timedelta(days=2)).isoformat()}, "on"),
        ({"by": "5d3c1c5e-3f3f-4e58-9a34-1d1f1e0a7b11"}, "by"),
    ],
)
def test_a_confirmation_without_person_day_or_edition_is_refused(office, shop, lead, changed, field):
    answer = confirm(office, a_limit_from_memory(shop), lead, **changed)
    assert answer.status_code == 400
    assert field in answer.context["form"].errors
    assert not ConfirmedLimit.objects.exists()


@pytest.mark.usefixtures("in_shop")
def test_somebody_of_another_shop_has_not_read_it_for_this_one(office, shop, other_shop):
    stranger = engage(Role.LEAD, at=other_shop)
    assert "by" in confirm(office, a_limit_from_memory(shop), stranger).context["form"].errors


@pytest.mark.parametrize("rule", ["no.such.rule", "us.federal.lining.steering.air_disc"])
def test_a_rule_that_needs_no_confirming_has_no_page(office, rule):
    """The air disc's 1/8 in was read in the text (49 CFR 393.47(d)(1), found): there is nothing to confirm."""
    assert office.get(f"/shop/limits/{rule}/").status_code == 404


@pytest.mark.parametrize("address", ["/shop/", "/shop/policy/", "/shop/limits/"])
def test_looking_changes_nothing(office, shop, address):
    before = shop.history.count()
    assert office.get(address).status_code == 200
    assert shop.history.count() == before
