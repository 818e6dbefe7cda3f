"""The demo shows a report everything it has to show."""

from treadle.assess.verdict import worst


def test_the_demo_has_every_outcome_at_its_ends_but_hold(demo):
    ends = [outcome for unit in demo.assessment.units for axle in unit.axles for _, outcome in axle.ends]
    assert {"fix", "unseen", "watch", "good"} == set(ends)
    assert len(ends) == 10


def test_the_demo_may_not_leave_but_is_not_held(demo):
    assert demo.assessment.outcome == "fix"
    assert worst(one.outcome for one in demo.assessment.findings) == "fix"


def test_in_the_demo_the_pressure_falls_along_the_strokes_and_stays_where_several_layers_speak(demo):
    strokes = [one for one in demo.walk_around.readings if one.kind == "applied_stroke"]
    pressures = [one.taken.reservoir.value for one in strokes]
    assert pressures == sorted(pressures, reverse=True)
    assert len(set(pressures)) > 5
    assert min(pressures) >= 90
    assert max(pressures) <= 100
    assert [one.taken.at for one in strokes] == sorted(one.taken.at for one in strokes)


def test_the_demo_has_a_limit_nobody_confirmed_and_a_reason_for_what_was_not_seen(demo):
    assert any(one.verdict.unconfirmed for one in demo.assessment.findings)
    assert any(one.verdict.args.get("reason") for one in demo.assessment.findings)
