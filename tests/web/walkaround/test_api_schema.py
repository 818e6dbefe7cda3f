"""The API keeps what its description promises, whatever it is sent: no fault, and no answer it does not name."""

from __future__ import annotations

import pytest
import schemathesis
from django.conf import settings
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from django.middleware.csrf import _get_new_csrf_string
from django.test import Client
from hypothesis import HealthCheck, Phase
from hypothesis import settings as hypothesis_settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance, status_code_conformance
from web.walkaround.rig import combination, walk_of

from treadle.web.api import api
from treadle.web.base.scope import shop_scope

EXAMPLES = 15
"""For each operation; the run is the same every time."""
CHECKS = [not_a_server_error, status_code_conformance, response_schema_conformance]

schema = schemathesis.openapi.from_dict(api.get_openapi_schema(), config=None)


@pytest.fixture
def one_connection():
    """Keep the test's own connection, which a server would put away after each request."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def signed_in(person, one_connection):
    """The headers of a lead who walks round a combination, and the walk."""
    lead = person("lead", "technician")
    with shop_scope(lead.shop_id):
        walk = walk_of(combination(lead)[0], lead)
    client = Client()
    client.force_login(lead, backend="django.contrib.auth.backends.ModelBackend")
    token = _get_new_csrf_string()
    session = client.cookies[settings.SESSION_COOKIE_NAME].value
    cookies = f"{settings.SESSION_COOKIE_NAME}={session}; {settings.CSRF_COOKIE_NAME}={token}"
    return {"Cookie": cookies, "X-CSRFToken": token}, walk


def lead_further_in(body, walk):
    """Name a walk-around and unit that are there, and every other time a moment that can be, so that more is tried."""
    if "walk_around" in body:
        body["walk_around"] = str(walk.pk)
    if "unit" in body:
        body["unit"] = walk.combination[0]
    if "at" in body and len(str(body)) % 2:
        body["at"] = "2026-10-02T07:40:00-06:00"
        body |= {"zone": "America/Denver"} if "zone" in body else {}


@schema.parametrize()
@hypothesis_settings(
    max_examples=EXAMPLES,
    derandomize=True,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_operation_answers_as_it_says_it_does(case, signed_in):
    headers, walk = signed_in
    if "walk_around" in case.path_parameters:
        case.path_parameters["walk_around"] = str(walk.pk)
    if isinstance(case.body, dict):
        lead_further_in(case.body, walk)
    case.operation.app = get_wsgi_application()
    answer = case.call(headers=headers)
    case.validate_response(answer, checks=CHECKS)


def test_the_description_names_every_refusal():
    for path, operations in api.get_openapi_schema()["paths"].items():
        for operation in operations.values():
            assert {401, 403, 404, 409, 422} <= set(operation["responses"]), path
