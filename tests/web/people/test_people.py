"""Who works here: adding, roles from day to day, passwords, qualifications, leaving; the last lead stays."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone
from web.factories import person as engage

from treadle.web.base.scope import shop_scope
from treadle.web.people import crew
from treadle.web.people.models import Person, Qualification, Role, RoleHeld
from treadle.web.people.refusal import Refused

BACKEND = "django.contrib.auth.backends.ModelBackend"
PASSWORD = "chock-the-wheels-first"
NOW = timezone.now()
TODAY = timezone.localdate()


@pytest.fixture
def lead(shop):
    return engage(Role.LEAD, at=shop, sign_in="r.quill", password=PASSWORD)


@pytest.fixture
def office(lead):
    """The browser of the lead."""
    client = Client()
    client.force_login(lead, backend=BACKEND)
    return client


@pytest.fixture
def technician(shop):
    return engage(Role.TECHNICIAN, at=shop, sign_in="o.teague", password=PASSWORD)


def roles_of(person):
    return Person.across_shops.get(pk=person.pk).roles


# -- adding


def add(office, **changed):
    entered = {"name": "Ines Vane", "sign_in": "I.Vane", "speaks": "es", "roles": ["technician", "driver"]}
    return office.post("/people/add/", entered | changed)


def test_somebody_added_has_their_roles_and_a_password_shown_once(office, lead):
    answer = add(office)
    made = Person.across_shops.get(sign_in="i.vane")
    assert (made.shop, made.language, made.roles) == (lead.shop, "es", {"technician", "driver"})
    assert made.check_password(answer.context["lent"])
    assert answer.context["lent"] in answer.content.decode()
    assert made.must_change_password
    held = RoleHeld.across_shops.filter(person=made)
    assert {one.given_by for one in held} == {lead}


@pytest.mark.parametrize(
    ("changed", "field"), [({"name": ""}, "name"), ({"sign_in": "r.quill"}, "sign_in"), ({"roles": ["king"]}, "roles")]
)
def test_what_cannot_be_added_is_said_and_stays_entered(office, changed, field):
    answer = add(office, **changed)
    assert answer.status_code == 400
    assert list(answer.context["form"].errors) == [field]
    assert 'value="technician"' in answer.content.decode()
    assert not Person.across_shops.filter(sign_in="i.vane").exists()


def test_a_sign_in_name_is_one_persons_over_all_shops(office, other_shop):
    engage(at=other_shop, sign_in="i.vane")
    assert "Somebody already signs in as i.vane." in add(office).content.decode()


@pytest.mark.usefixtures("in_shop")
def test_of_two_who_take_a_name_at_once_the_second_is_refused(shop, lead):
    with pytest.raises(Refused, match="sign_in_taken"):
        crew.take_on(shop, name="Rosa Other", sign_in="R.QUILL", language="en", roles=["driver"], by=lead, at=NOW)
    assert not Person.across_shops.filter(name="Rosa Other").exists()


def test_first_signing_in_asks_for_a_password_of_ones_own_and_then_everything_opens(office):
    lent = add(office).context["lent"]
    new = Client()
    assert new.post("/sign-in/", {"username": "i.vane", "password": lent}).status_code == 302
    assert new.get("/me/").headers["Location"] == "/me/password/"
    page = new.get("/me/password/").content.decode()
    assert "Elija su propia contraseña" in page
    assert 'class="places"' not in page
    own = {"password": lent, "new_password": PASSWORD, "new_password_again": PASSWORD}
    assert new.post("/me/password/", own).headers["Location"] == "/"
    assert new.get("/me/").status_code == 200


def test_lent_passwords_are_long_unlike_and_free_of_letters_that_look_alike():
    made = {crew.lent_password() for _ in range(200)}
    assert len(made) == 200
    assert {len(one) for one in made} == {19}
    assert not set("".join(made)) & set("ilo01")


# -- roles


def test_a_role_is_given_from_now_and_ended_now_and_both_stay_on_record(office, lead, technician):
    office.post(f"/people/{technician.pk}/give-role/", {"role": "dispatcher"})
    assert roles_of(technician) == {"technician", "dispatcher"}
    held = RoleHeld.across_shops.get(person=technician, role="dispatcher")
    assert (held.given_by, held.until) == (lead, None)
    assert abs(held.since - timezone.now()) < timedelta(minutes=1)
    office.post(f"/people/roles/{held.pk}/end/")
    held.refresh_from_db()
    assert held.ended_by == lead
    assert held.until > held.since
    assert roles_of(technician) == {"technician"}
    assert "Roles before" in office.get(f"/people/{technician.pk}/").content.decode()


def test_giving_a_role_twice_gives_it_once(office, technician):
    for _ in range(2):
        assert office.post(f"/people/{technician.pk}/give-role/", {"role": "driver"}).status_code == 302
    assert RoleHeld.across_shops.filter(person=technician, role="driver").count() == 1


def test_ending_a_role_twice_leaves_the_first_end(office, technician):
    held = RoleHeld.across_shops.get(person=technician)
    office.post(f"/people/roles/{held.pk}/end/")
    held.refresh_from_db()
    first = held.until
    office.post(f"/people/roles/{held.pk}/end/")
    held.refresh_from_db()
    assert held.until == first


@pytest.mark.usefixtures("in_shop")
def test_the_database_holds_no_role_twice_at_a_time(technician):
    with pytest.raises(IntegrityError), transaction.atomic():
        RoleHeld(person=technician, role="technician").save()


def test_a_role_that_does_not_exist_is_refused(office, technician):
    answer = office.post(f"/people/{technician.pk}/give-role/", {"role": "king"})
    assert answer.status_code == 409
    assert "There is no such role." in answer.content.decode()


def test_the_last_lead_keeps_the_role(office, lead):
    held = RoleHeld.across_shops.get(person=lead, role="lead")
    answer = office.post(f"/people/roles/{held.pk}/end/")
    assert answer.status_code == 409
    assert "is the only lead" in answer.content.decode()
    assert roles_of(lead) == {"lead"}


def test_the_last_lead_cannot_leave(office, lead):
    answer = office.post(f"/people/{lead.pk}/let-go/")
    assert answer.status_code == 409
    assert Person.across_shops.get(pk=lead.pk).is_active


def test_a_lead_of_another_shop_does_not_count(office, lead, other_shop):
    engage(Role.LEAD, at=other_shop)
    held = RoleHeld.across_shops.get(person=lead, role="lead")
    assert office.post(f"/people/roles/{held.pk}/end/").status_code == 409


def test_a_lead_may_go_where_another_stays(office, lead, shop):
    engage(Role.LEAD, at=shop)
    held = RoleHeld.across_shops.get(person=lead, role="lead")
    assert office.post(f"/people/roles/{held.pk}/end/").headers["Location"] == "/"
    assert roles_of(lead) == frozenset()


# -- leaving and coming back


def test_whoever_leaves_is_signed_out_and_what_they_did_keeps_their_name(office, technician):
    theirs = Client()
    theirs.force_login(technician, backend=BACKEND)
    assert office.get(f"/people/{technician.pk}/let-go/").status_code == 200
    assert Person.across_shops.get(pk=technician.pk).is_active, "a page that asks must not act"
    office.post(f"/people/{technician.pk}/let-go/")
    gone = Person.across_shops.get(pk=technician.pk)
    assert (gone.is_active, gone.roles, gone.name) == (False, frozenset(), technician.name)
    assert theirs.get("/me/").headers["Location"].startswith("/sign-in/")
    assert theirs.post("/sign-in/", {"username": "o.teague", "password": PASSWORD}).status_code == 400


def test_whoever_comes_back_gets_a_new_password_and_no_role_by_itself(office, technician):
    office.post(f"/people/{technician.pk}/let-go/")
    answer = office.post(f"/people/{technician.pk}/take-back/")
    back = Person.across_shops.get(pk=technician.pk)
    assert back.check_password(answer.context["lent"])
    assert (back.is_active, back.must_change_password, back.roles) == (True, True, frozenset())


def test_no_role_is_given_to_somebody_who_left(office, technician):
    office.post(f"/people/{technician.pk}/let-go/")
    assert office.post(f"/people/{technician.pk}/give-role/", {"role": "driver"}).status_code == 409
    assert roles_of(technician) == frozenset()


# -- passwords


def test_a_reset_signs_the_person_out_everywhere(office, technician):
    theirs = Client()
    theirs.force_login(technician, backend=BACKEND)
    answer = office.post(f"/people/{technician.pk}/reset-password/")
    assert theirs.get("/me/").status_code == 302
    assert theirs.post("/sign-in/", {"username": "o.teague", "password": PASSWORD}).status_code == 400
    entered = {"username": "o.teague", "password": answer.context["lent"]}
    assert theirs.post("/sign-in/", entered).status_code == 302


def test_opening_the_page_of_a_reset_changes_nothing(office, technician):
    office.get(f"/people/{technician.pk}/reset-password/")
    assert Person.across_shops.get(pk=technician.pk).check_password(PASSWORD)


def test_ones_own_password_is_changed_and_not_reset(office, lead):
    assert office.post(f"/people/{lead.pk}/reset-password/").headers["Location"] == "/me/password/"
    assert Person.across_shops.get(pk=lead.pk).check_password(PASSWORD)


def test_a_changed_password_ends_the_other_sessions_and_keeps_this_one(office, lead):
    other = Client()
    other.force_login(lead, backend=BACKEND)
    new = "slack the adjuster twice"
    entered = {"password": PASSWORD, "new_password": new, "new_password_again": new}
    assert office.post("/me/password/", entered).headers["Location"] == "/me/"
    assert office.get("/me/").status_code == 200
    assert other.get("/me/").status_code == 302


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"password": "not-that-one-either"}, "password"),
        ({"new_password": PASSWORD, "new_password_again": PASSWORD}, "new_password"),
        ({"new_password_again": "something-else-entirely"}, "new_password_again"),
    ],
)
def test_a_password_that_will_not_do_is_not_taken(office, lead, changed, field):
    new = "slack the adjuster twice"
    entered = {"password": PASSWORD, "new_password": new, "new_password_again": new} | changed
    answer = office.post("/me/password/", entered)
    assert answer.status_code == 400
    assert field in answer.context["form"].errors
    assert Person.across_shops.get(pk=lead.pk).check_password(PASSWORD)


# -- qualifications


EVIDENCE = {
    "for_what": "brakes",
    "ground": "year",
    "evidence": "Fourteen months of brake work under R. Quill, letter in the office drawer.",
    "limited_to": "adjusting",
    "granted_on": "2025-02-03",
    "expires_on": "",
}


def test_a_qualification_is_recorded_with_its_evidence_its_days_and_who_recorded_it(office, lead, technician):
    office.post(f"/people/{technician.pk}/qualify/", EVIDENCE)
    made = Qualification.across_shops.get()
    assert (made.person, made.recorded_by, made.for_what, made.ground) == (technician, lead, "brakes", "year")
    assert (made.granted_on, made.expires_on, made.limited_to) == (date(2025, 2, 3), None, "adjusting")
    assert technician.qualified("brakes", date(2025, 2, 3)) == made
    assert technician.qualified("brakes", date(2025, 2, 2)) is None
    assert technician.qualified("annual", date(2025, 2, 3)) is None


def test_the_page_says_what_evidence_counts_and_by_which_rule(office, technician):
    """49 CFR 396.25(d) and 396.19(a): a programme or one year; proof kept one year after (both read secondhand)."""
    text = office.get(f"/people/{technician.pk}/qualify/").content.decode()
    for said in ("49 CFR 396.25(d)", "49 CFR 396.19(a)", "at least one year", "one year after", "secondary copies"):
        assert said in text


def test_a_corrected_qualification_keeps_what_it_said_before(office, technician):
    office.post(f"/people/{technician.pk}/qualify/", EVIDENCE)
    made = Qualification.across_shops.get()
    ends = EVIDENCE | {"expires_on": "2026-01-31"}
    assert office.post(f"/people/qualifications/{made.pk}/", ends).status_code == 302
    made.refresh_from_db()
    assert made.expires_on == date(2026, 1, 31)
    assert [one.expires_on for one in made.history.all()] == [date(2026, 1, 31), None]
    assert technician.qualified("brakes", date(2026, 1, 31)) == made
    assert technician.qualified("brakes", date(2026, 2, 1)) is None
    assert "ran out on 31 January 2026" in office.get("/people/").content.decode()


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"ground": ""}, "ground"),
        ({"evidence": " "}, "evidence"),
        ({"granted_on": (TODAY + timedelta(days=2)).isoformat()}, "granted_on"),
        ({"expires_on": "2025-02-02"}, "expires_on"),
    ],
)
def test_a_qualification_that_cannot_be_so_is_refused_and_stays_entered(office, technician, changed, field):
    answer = office.post(f"/people/{technician.pk}/qualify/", EVIDENCE | changed)
    assert answer.status_code == 400
    assert field in answer.context["form"].errors
    assert "adjusting" in answer.content.decode()
    assert not Qualification.across_shops.exists()


# -- the list, the start and the menu


def test_the_list_shows_this_shops_people_and_nobody_elses(office, technician, other_shop):
    engage(Role.LEAD, at=other_shop, sign_in="far.away")
    text = office.get("/people/").content.decode()
    assert "o.teague" in text
    assert "far.away" not in text


@pytest.mark.parametrize(
    ("roles", "first"),
    [
        (("lead",), "units:list"),
        (("owner",), "units:list"),
        (("technician",), "walkaround:list"),
        (("dispatcher",), "dispatch:board"),
        (("driver",), "driver:door"),
        (("inspector",), "records:list"),
        (("driver", "technician"), "walkaround:list"),
    ],
)
def test_each_role_has_its_own_start(person, roles, first):
    from treadle.web.people.access import homes_for  # noqa: PLC0415 - of this test alone

    assert homes_for(person(*roles))[0] == first


def test_somebody_without_a_role_is_told_so_and_may_sign_out(person):
    client = Client()
    client.force_login(person(), backend=BACKEND)
    answer = client.get("/")
    assert answer.status_code == 403
    assert 'action="/sign-out/"' in answer.content.decode()
    assert client.post("/sign-out/").headers["Location"] == "/sign-in/"
    assert client.get("/").headers["Location"].startswith("/sign-in/")


def test_the_menu_offers_people_and_shop_to_those_who_keep_them(browser_of):
    offered = {
        role: [page["url"] for page in browser_of(role).get("/me/").context["own_pages"]]
        for role in ("technician", "owner", "lead")
    }
    assert offered == {
        "technician": ["/me/"],
        "owner": ["/me/", "/people/"],
        "lead": ["/me/", "/people/", "/shop/"],
    }


def test_own_settings_are_kept_and_the_answer_is_in_the_new_language(office, lead):
    answer = office.post("/me/", {"speaks": "es", "measure": "mm"}, follow=True)
    lead.refresh_from_db()
    assert (lead.language, lead.measure) == ("es", "mm")
    assert "Guardado." in answer.content.decode()
    office.post("/me/", {"speaks": "es", "measure": "shop"})
    lead.refresh_from_db()
    assert lead.measure == ""


def test_the_last_lead_is_kept_by_the_service_whoever_asks(shop, lead):
    with shop_scope(shop.pk), pytest.raises(Refused, match="last_lead"):
        crew.let_go(lead, by=lead, at=NOW)
