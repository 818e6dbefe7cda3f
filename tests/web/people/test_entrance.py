"""Signing in and out, the language before it, too many tries, and founding the shop of an empty installation."""

from __future__ import annotations

from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.test import Client, override_settings
from web.factories import person as engage

from treadle.web.first_start import open_first_start, token_fits
from treadle.web.people import crew
from treadle.web.people.models import Person, Role, Shop

PASSWORD = "chock-the-wheels-first"
WELCOME = {
    "name": "Saltgrass Haulage",
    "zone": "America/Denver",
    "runs_in": ["us", "ca-qc"],
    "measure": "in",
    "paper": "letter",
    "lead": "Rosa Quill",
    "sign_in": "R.Quill",
    "new_password": PASSWORD,
    "new_password_again": PASSWORD,
}


def sign_in(client, name="r.quill", password=PASSWORD, **more):
    return client.post("/sign-in/", {"username": name, "password": password, **more})


@pytest.fixture
def quill(shop):
    return engage(Role.LEAD, at=shop, sign_in="r.quill", password=PASSWORD)


# -- signing in


def test_the_right_password_leads_to_the_page_that_was_asked_for(client, quill):
    answer = sign_in(client, next="/people/")
    assert (answer.status_code, answer.headers["Location"]) == (302, "/people/")
    assert client.get("/people/").status_code == 200


def test_capitals_in_the_sign_in_name_do_not_count(client, quill):
    assert sign_in(client, " R.QUILL ").status_code == 302


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"])
def test_nobody_is_sent_to_another_site_after_signing_in(client, quill, elsewhere):
    assert sign_in(client, next=elsewhere).headers["Location"] == "/"


def test_a_wrong_password_keeps_the_name_and_not_the_password(client, quill):
    answer = sign_in(client, password="not-the-one-at-all")
    text = answer.content.decode()
    assert answer.status_code == 400
    assert "Name and password do not belong together." in text
    assert 'value="r.quill"' in text
    assert "not-the-one-at-all" not in text


def test_a_wrong_name_is_told_the_same_as_a_wrong_password(client, quill):
    known, unknown = (sign_in(client, name, "wrong-wrong-wrong").context["form"] for name in ("r.quill", "nobody"))
    assert known.non_field_errors() == unknown.non_field_errors()


def test_the_sign_in_page_is_in_the_language_of_the_browser_until_another_is_chosen(client, db):
    spanish = {"Accept-Language": "fr, es-MX;q=0.8, en;q=0.5"}
    assert 'lang="es"' in client.get("/sign-in/", headers=spanish).content.decode()
    answer = client.post("/language/", {"language": "en", "next": "/sign-in/?next=/units/"}, headers=spanish)
    assert answer.headers["Location"] == "/sign-in/?next=/units/"
    assert 'lang="en"' in client.get("/sign-in/", headers=spanish).content.decode()


def test_a_language_nobody_speaks_here_is_not_taken(client, db):
    assert client.post("/language/", {"language": "tlh"}).status_code == 400


def test_whoever_is_signed_in_keeps_the_language_they_choose(client, quill):
    client.force_login(quill, backend="django.contrib.auth.backends.ModelBackend")
    client.post("/language/", {"language": "es"})
    quill.refresh_from_db()
    assert quill.language == "es"
    assert 'lang="es"' in client.get("/me/").content.decode()


def test_signing_out_takes_a_form_and_ends_the_session(client, quill):
    sign_in(client)
    assert client.get("/sign-out/").status_code == 405
    assert client.get("/me/").status_code == 200
    assert client.post("/sign-out/").headers["Location"] == "/sign-in/"
    assert client.get("/me/").status_code == 302


def test_a_shared_device_forgets_the_session_when_its_browser_closes(client, quill):
    sign_in(client)
    assert client.cookies[settings.SESSION_COOKIE_NAME]["max-age"] == settings.SESSION_COOKIE_AGE
    client.post("/sign-out/")
    sign_in(client, leave_at_close="on")
    assert client.cookies[settings.SESSION_COOKIE_NAME]["max-age"] == ""


def test_no_script_reads_the_session_and_no_other_site_sends_it(client, quill):
    sign_in(client)
    kept = client.cookies[settings.SESSION_COOKIE_NAME]
    assert (bool(kept["httponly"]), kept["samesite"]) == (True, "Lax")


def test_a_form_without_its_token_is_not_taken(quill):
    strict = Client(enforce_csrf_checks=True)
    answer = sign_in(strict)
    assert answer.status_code == 403
    assert "Not taken" in answer.content.decode()


def test_passwords_are_kept_with_argon2(db):
    # The tests exchange the hasher for a quick one; the shop's own settings are these.
    from treadle.web import settings as of_the_shop  # noqa: PLC0415 - the module itself, not the settings in force

    with override_settings(PASSWORD_HASHERS=of_the_shop.PASSWORD_HASHERS):
        somebody = Person()
        somebody.set_password(PASSWORD)
    assert somebody.password.startswith("argon2$argon2id$")
    assert Argon2PasswordHasher().verify(PASSWORD, somebody.password)


# -- too many tries


def lock(client, name="r.quill"):
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = sign_in(client, name, "wrong-wrong-wrong")
    return answer


def test_too_many_tries_are_told_how_long_it_stays_so_and_whom_to_ask(client, quill):
    answer = lock(client)
    text = answer.content.decode()
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "900")
    assert "Try again in 15 min" in text
    assert "ask the lead or the owner" in text
    assert sign_in(client).status_code == 429, "the right password must not open it either"


def test_trying_on_does_not_make_the_wait_longer(client, quill):
    lock(client)
    AccessAttempt.objects.update(attempt_time=AccessAttempt.objects.get().attempt_time - timedelta(minutes=10))
    assert "Try again in 5 min" in sign_in(client).content.decode()
    assert "Try again in 5 min" in sign_in(client).content.decode()


def test_after_the_wait_the_right_password_opens(client, quill):
    lock(client)
    AccessAttempt.objects.update(attempt_time=AccessAttempt.objects.get().attempt_time - timedelta(minutes=16))
    assert sign_in(client).status_code == 302


def test_the_lock_is_of_one_name_at_one_address(client, shop, quill):
    engage(Role.DRIVER, at=shop, sign_in="t.vane", password=PASSWORD)
    lock(client)
    assert sign_in(client, "t.vane").status_code == 302
    elsewhere = Client(REMOTE_ADDR="192.0.2.44")
    assert sign_in(elsewhere).status_code == 302


def test_spelling_a_name_otherwise_gives_no_more_tries(client, quill):
    for name in ("R.Quill", "r.quill ", "R.QUILL", "r.Quill", " r.quill"):
        sign_in(client, name, "wrong-wrong-wrong")
    assert sign_in(client, "r.quilL", "wrong-wrong-wrong").status_code == 429


def test_a_success_forgives_the_tries_before_it(client, quill):
    for _ in range(settings.AXES_FAILURE_LIMIT - 1):
        sign_in(client, password="wrong-wrong-wrong")
    assert sign_in(client).status_code == 302
    client.post("/sign-out/")
    assert sign_in(client, password="wrong-wrong-wrong").status_code == 400


@pytest.mark.usefixtures("in_shop")
def test_a_new_password_from_the_lead_lifts_the_lock(client, quill):
    lock(client)
    lent = crew.lend_password(quill)
    assert sign_in(client, password=lent).status_code == 302


def test_the_locked_page_speaks_spanish(client, quill):
    client.cookies["language"] = "es"
    assert "Demasiados intentos" in lock(client).content.decode()


# -- founding


@pytest.fixture
def data(tmp_path):
    with override_settings(DATA=tmp_path):
        yield tmp_path


@pytest.fixture
def token(data):
    return open_first_start(data)


def found(client, token, **changed):
    return client.post(f"/welcome/?token={token}", WELCOME | changed)


def test_the_printed_address_founds_the_shop_and_signs_its_lead_in(client, db, token, data):
    assert client.get(f"/welcome/?token={token}").status_code == 200
    answer = found(client, token)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")
    shop, lead = Shop.objects.get(), Person.across_shops.get()
    assert (shop.name, shop.zone, shop.runs_in) == ("Saltgrass Haulage", "America/Denver", ["us", "ca-qc"])
    assert (shop.measure, shop.paper, shop.is_demo) == ("in", "letter", False)
    assert (lead.name, lead.sign_in, lead.shop, lead.roles) == ("Rosa Quill", "r.quill", shop, {"lead", "technician"})
    assert client.get("/shop/").status_code == 200
    assert not token_fits(data, token)


def test_a_founded_shop_ages_readings_from_the_first_day(client, db, token):
    """90 days or 25,000 miles until the shop says otherwise: design, section 3."""
    found(client, token)
    assert Shop.objects.get().policy["age"] == {"days": 90, "miles": 25000}


def test_the_shop_speaks_the_language_it_was_founded_in(client, db, token):
    client.cookies["language"] = "es"
    found(client, token)
    assert (Shop.objects.get().language, Person.across_shops.get().language) == ("es", "es")


@pytest.mark.parametrize("wrong", ["", "guessed"])
def test_without_the_token_nothing_is_founded(client, db, token, wrong):
    answer = found(client, wrong)
    assert answer.status_code == 403
    assert "address it printed last" in answer.content.decode()
    assert not Shop.objects.exists()


def test_once_there_is_a_shop_the_way_in_is_closed(client, shop, token):
    assert client.get(f"/welcome/?token={token}").status_code == 403
    answer = found(client, token)
    assert answer.status_code == 403
    assert "way in is closed" in answer.content.decode()
    assert Shop.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "field", "says"),
    [
        ({"name": ""}, "name", "Fill this in."),
        ({"zone": "Mars/Olympus"}, "zone", "Select a valid choice. Mars/Olympus is not one of the available choices."),
        ({"runs_in": []}, "runs_in", "Choose at least one."),
        ({"sign_in": "r quill"}, "sign_in", "At least two letters or figures, no blanks"),
        ({"new_password_again": "another-one-altogether"}, "new_password_again", "The two are not the same."),
        ({"new_password": "short", "new_password_again": "short"}, "new_password", "too short"),
        ({"new_password": "password123", "new_password_again": "password123"}, "new_password", "too common"),
        ({"new_password": "rosa.quill", "new_password_again": "rosa.quill"}, "new_password", "too similar"),
    ],
)
@pytest.mark.django_db
def test_what_cannot_be_so_is_said_beside_its_field_and_the_rest_stays(client, token, changed, field, says):
    answer = found(client, token, **changed)
    text = answer.content.decode()
    assert answer.status_code == 400
    assert says in " ".join(answer.context["form"].errors[field])
    assert 'value="Rosa Quill"' in text
    assert PASSWORD not in text
    assert not Shop.objects.exists()


def test_every_zone_offered_is_one_the_clock_knows():
    from zoneinfo import ZoneInfo  # noqa: PLC0415 - of this test alone

    from treadle.web.people.zones import zones  # noqa: PLC0415

    assert len(zones()) > 300
    assert all(ZoneInfo(zone) for zone in zones())


def test_an_empty_installation_says_how_to_begin(client, db):
    assert "There is no shop here yet." in client.get("/sign-in/").content.decode()


def test_a_shop_that_is_there_is_not_offered_for_founding(client, shop):
    assert "There is no shop here yet." not in client.get("/sign-in/").content.decode()
