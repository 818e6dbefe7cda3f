"""`why --list` as JSON."""

import json


def test_why_list_json_prints_json(treadle):
    assert json.loads(treadle("why", "--list", "--json").output)
