"""A combination to walk, and a phone that sends entries about it; helpers."""

from __future__ import annotations

import uuid
from datetime import timedelta

from django.utils import timezone
from web.line import tractor, trailer

from treadle.web.units.couple import couple
from treadle.web.walkaround.enter import begin

ZONE = "America/Denver"
HELD = {"reservoir": "90 psi", "engine": "off", "spring_brakes": "released"}
ENDS = [("K-12", 1), ("K-12", 2), ("K-12", 3), ("T-7", 1), ("T-7", 2)]


def combination(by):
    """A 3-axle tractor with a tandem trailer behind it: ten wheel ends."""
    long_ago = timezone.now() - timedelta(days=300)
    unit, behind = tractor(by, at=long_ago), trailer(by, at=long_ago)
    couple(unit, behind, at=long_ago, by=by)
    return unit, behind


def walk_of(unit, by, *, occasion="service", alone=False, at=None):
    """Begin a walk-around."""
    begun = begin(uuid.uuid4(), occasion=occasion, unit=unit, at=at or timezone.now(), zone=ZONE, by=by, alone=alone)
    return begun.row


def stroke(walk, value="1 1/2 in", **more):
    """An applied stroke of the tractor's second axle, left, as a phone sends it."""
    return {
        "id": str(uuid.uuid4()),
        "walk_around": str(walk.pk),
        "unit": walk.combination[0],
        "axle": 2,
        "side": "left",
        "kind": "applied_stroke",
        "value": value,
        "at": timezone.now().isoformat(),
        "zone": ZONE,
        **HELD,
        **more,
    }


def post(client, path, body):
    """Send JSON to the API."""
    return client.post(f"/api/{path}", body, content_type="application/json", headers={"Accept": "application/json"})


def slugs(answer):
    """Why something was refused."""
    return [one["slug"] for one in answer.json()["problems"]]


def everything(walk, *, skip=()):
    """Every entry a service walk-around of the combination needs, all good, but for the ends to be skipped."""
    for unit, axle in ENDS:
        for side in ("left", "right"):
            if (unit, axle, side) in skip:
                continue
            here = {"unit": unit, "axle": axle, "side": side}
            yield stroke(walk, "1 1/4 in", **here)
            for shoe in ("upper", "lower"):
                yield stroke(walk, "1/2 in", **here, kind="lining", shoe=shoe, place="centre")
            yield stroke(walk, "none_seen", **here, kind="condition")
