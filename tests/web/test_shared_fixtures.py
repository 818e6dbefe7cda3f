"""The fixtures that tests of the web door share do what they say."""

from __future__ import annotations

import pytest

from treadle.web.base.scope import shop_in_scope


def test_a_person_has_the_roles_given_and_belongs_to_the_shop_given(person, shop, other_shop):
    lead, driver, nobody = person("lead", "owner"), person("driver", at=other_shop), person()
    assert [one.roles for one in (lead, driver, nobody)] == [{"lead", "owner"}, {"driver"}, frozenset()]
    assert [one.shop for one in (lead, driver)] == [shop, other_shop]


def test_people_of_one_role_are_several(person):
    assert person("driver").sign_in != person("driver").sign_in


def test_a_browser_is_signed_in_as_its_person(browser_of):
    browser = browser_of("technician", sign_in="r-quill")
    assert browser.session["_auth_user_backend"].endswith("ModelBackend")


@pytest.mark.usefixtures("in_shop")
def test_the_first_shop_is_in_scope(shop):
    assert shop_in_scope() == shop.pk
