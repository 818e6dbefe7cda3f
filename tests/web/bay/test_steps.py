"""Doing a job: hold points that are not skipped, a second person who is one, one record of each act."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone
from web import line

from treadle.errors import BadInput
from treadle.web.bay import fitting, jobs, steps
from treadle.web.bay.models import StepRecord, Tool, TorqueRecord

PASSWORD = "chock-the-wheels-first"  # of everybody the fixtures engage


def state_of(job, step):
    return next(one for one in steps.states_of(job) if one.step.id == step)


def done_until(job, step, crew, at):
    """Write down every step before one."""
    for state in steps.states_of(job):
        if state.step.id == step:
            return
        if not state.done:
            line.write_down(job, state, *crew, at=at, tool="TW-2")


def write(job, step, by, at, **more):
    state = state_of(job, step)
    return steps.write_down(job, state.task, state.step, record_id=uuid.uuid4(), by=by, at=at, **more)


def page_of(job, step):
    return f"/bay/{job.number}/steps/1/{step}/"


def sent(**more):
    return {"record": str(uuid.uuid4()), "note": "", **more}


def test_a_step_after_a_hold_point_waits_for_it(reline, technician, now):
    write(reline, "make_safe.level", technician, now)
    with pytest.raises(steps.HoldPointOpen) as refused:
        write(reline, "make_safe.raise", technician, now)
    assert refused.value.barrier.step.id == "make_safe.chocks"


def test_a_hold_point_of_one_end_keeps_nobody_from_the_other(reline, crew, now):
    technician, _ = crew
    done_until(reline, "strip.cage/left", crew, now)
    write(reline, "strip.cage/right", technician, now, confirmed=True)
    assert state_of(reline, "strip.cage/right").done
    with pytest.raises(steps.HoldPointOpen):
        write(reline, "strip.wheels_off_duals/left", technician, now)


def test_too_little_air_does_not_pass_the_hold_point_and_stays_on_the_form(reline, crew, now, asked):
    technician, _ = crew
    # At least 100 psi before spring brakes are released: common practice, no source.
    done_until(reline, "make_safe.pressure", crew, now)
    answer = asked(technician, page_of(reline, "make_safe.pressure"), sent(measured_0_0="95"))
    assert answer.status_code == 422
    assert 'value="95"' in answer.content.decode()
    assert not state_of(reline, "make_safe.pressure").done
    assert asked(technician, page_of(reline, "make_safe.pressure"), sent(measured_0_0="100")).status_code == 302
    assert state_of(reline, "make_safe.pressure").row.measured["entries"][0]["value"] == "100 psi"


def test_a_form_sent_twice_is_written_once(reline, technician, asked):
    form = sent()
    for _ in range(2):
        assert asked(technician, page_of(reline, "make_safe.level"), form).headers["Location"].endswith("/steps/")
    assert StepRecord.objects.count() == 1


def test_what_another_wrote_meanwhile_is_shown_and_not_written_over(reline, technician, lead, asked):
    asked(technician, page_of(reline, "make_safe.level"), sent())
    answer = asked(lead, page_of(reline, "make_safe.level"), sent(), follow=True)
    assert f"{technician.name} wrote this step down meanwhile" in answer.content.decode()
    assert StepRecord.objects.get().entered_by == technician


def test_the_service_refuses_a_second_record_of_a_step(reline, technician, lead, now):
    first = write(reline, "make_safe.level", technician, now)
    with pytest.raises(steps.AlreadyWritten) as refused:
        write(reline, "make_safe.level", lead, now)
    assert refused.value.row == first


def test_a_correction_is_a_new_row_that_points_at_the_old(reline, technician, now, asked):
    first = write(reline, "make_safe.level", technician, now)
    form = sent(corrects=str(first.pk), why_corrected="It was bay 2.", note="Bay 2, level.")
    assert asked(technician, page_of(reline, "make_safe.level"), form).status_code == 302
    stands = state_of(reline, "make_safe.level").row
    assert (stands.corrects, stands.why_corrected, stands.note) == (first, "It was bay 2.", "Bay 2, level.")
    assert StepRecord.objects.filter(pk=first.pk, note="").exists()


def test_the_second_person_enters_their_own_password(reline, crew, now, asked):
    technician, lead = crew
    step = "rebuild.springs_seated/left"
    line.measure_after_work(reline, technician, reline.shop, now)
    done_until(reline, step, crew, now)
    form = {"confirmed": "on", "second": str(lead.pk)}
    refused = asked(technician, page_of(reline, step), sent(**form, second_password="of-somebody-else"))
    assert "not the password of the person chosen" in refused.content.decode()
    assert not state_of(reline, step).done
    assert asked(technician, page_of(reline, step), sent(**form, second_password=PASSWORD)).status_code == 302
    assert state_of(reline, step).row.second == lead


def test_a_password_somebody_else_made_proves_no_second_person(reline, crew, now, asked):
    technician, lead = crew
    step = "rebuild.springs_seated/left"
    line.measure_after_work(reline, technician, reline.shop, now)
    done_until(reline, step, crew, now)
    lead.must_change_password = True
    lead.save()
    form = sent(confirmed="on", second=str(lead.pk), second_password=PASSWORD)
    assert asked(technician, page_of(reline, step), form).status_code == 422


def test_a_driver_is_no_second_person(reline, crew, person, now):
    technician, _ = crew
    step = "rebuild.springs_seated/left"
    line.measure_after_work(reline, technician, reline.shop, now)
    done_until(reline, step, crew, now)
    with pytest.raises(BadInput) as refused:
        write(reline, step, technician, now, confirmed=True, second=person("driver"))
    assert refused.value.problems[0].slug == "second_may_not"


@pytest.fixture
def at_torque(reline, crew, now):
    """The job at the final torque of its left wheel."""
    technician, _ = crew
    line.measure_after_work(reline, technician, reline.shop, now)
    done_until(reline, "refit.torque/left", crew, now)
    return reline


def torque(step, value, wrench="TW-2"):
    record = step.torque[0]
    form = {"torque_record": record.key, "wrench": wrench, "torque_value": value, "torque_unit": "lbf·ft"}
    return sent(**form, lubrication="as the wheel maker says")


def test_one_whole_torque_record_is_taken_with_a_value_in_its_own_band(at_torque, technician, asked):
    # 450 to 500 lbf·ft for M22 x 1.5: shop-work 1.1, found in a vehicle maker's manual.
    step = state_of(at_torque, "refit.torque/left").step
    assert len(step.torque) > 1
    refused = asked(technician, page_of(at_torque, "refit.torque/left"), torque(step, "505"))
    assert "outside 450" in refused.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert asked(technician, page_of(at_torque, "refit.torque/left"), torque(step, "475")).status_code == 302
    row = TorqueRecord.objects.get()
    assert (row.final, row.band["low"], row.band["high"], row.studs) == ("475 lbf·ft", "450 lbf·ft", "500 lbf·ft", 10)
    assert row.band["source"] == step.torque[0].source


@pytest.mark.parametrize(
    "tool",
    [
        (-1, "torque_wrench", "was due"),
        (None, "torque_wrench", "no calibration is on record"),
        (30, "gauge", "Select a valid choice"),
    ],
)
def test_only_a_torque_wrench_in_calibration_tightens_a_wheel(at_torque, technician, asked, tool):
    due, kind, says = tool
    day = None if due is None else timezone.localdate() + timedelta(days=due)
    Tool.objects.create(number="TW-9", kind=kind, calibration_due_on=day)
    step = state_of(at_torque, "refit.torque/left").step
    answer = asked(technician, page_of(at_torque, "refit.torque/left"), torque(step, "475", wrench="TW-9"))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not TorqueRecord.objects.exists()


def test_a_corrected_torque_replaces_the_first_and_both_are_kept(at_torque, technician, now, asked):
    step = state_of(at_torque, "refit.torque/left").step
    asked(technician, page_of(at_torque, "refit.torque/left"), torque(step, "475"))
    first = state_of(at_torque, "refit.torque/left").row
    again = torque(step, "480") | {"corrects": str(first.pk), "why_corrected": "read wrongly"}
    assert asked(technician, page_of(at_torque, "refit.torque/left"), again).status_code == 302
    assert [one.final for one in steps.torques_of(at_torque)] == ["480 lbf·ft"]
    assert TorqueRecord.objects.count() == 2


def test_the_lead_passes_over_a_plain_step_with_a_reason_and_never_a_hold_point(reline, technician, lead, now, asked):
    over = f"/bay/{reline.number}/steps/1/pass-over/"
    assert asked(technician, f"{over}make_safe.level/", sent(why="done before")).status_code == 403
    asked(lead, f"{over}make_safe.level/", sent(why=""))
    assert not state_of(reline, "make_safe.level").done
    asked(lead, f"{over}make_safe.level/", sent(why="done before"))
    assert state_of(reline, "make_safe.level").row.passed_over_because == "done before"
    answer = asked(lead, f"{over}make_safe.chocks/", sent(why="in a hurry"), follow=True)
    assert "a hold point is never passed over" in answer.content.decode()
    assert not state_of(reline, "make_safe.chocks").done


def test_nobody_writes_on_a_paused_job_or_one_that_is_not_theirs(reline, technician, person, now):
    with pytest.raises(BadInput) as refused:
        write(reline, "make_safe.level", line.qualified(person("technician")), now)
    assert refused.value.problems[0].slug == "not_on_job"
    jobs.pause(reline, by=technician, why="parts")
    with pytest.raises(BadInput) as refused:
        write(reline, "make_safe.level", technician, now)
    assert refused.value.problems[0].slug == "job_not_under_way"


def test_the_list_comes_anew_only_once_somebody_wrote_something(reline, technician, lead, asked):
    page = asked(lead, f"/bay/{reline.number}/steps/").content.decode()
    address = page.partition('hx-get="')[2].partition('"')[0].replace("&amp;", "&")
    assert asked(lead, address).status_code == 204
    asked(technician, page_of(reline, "make_safe.level"), sent())
    anew = asked(lead, address)
    assert f"{technician.name} wrote this step down" in anew.content.decode()


def test_readings_of_the_proof_show_with_their_verdict_at_the_step(reline, technician, shop, now, asked):
    # 49 CFR 393.47(e): 2 in for a standard type 30.  Source: the sheet of US rules, found.
    page = asked(technician, page_of(reline, "prove.applied_stroke/left")).content.decode()
    assert "not measured yet (1 wanted)" in page
    line.measure_after_work(reline, technician, shop, now, stroke="2 1/8 in")
    page = asked(technician, page_of(reline, "prove.applied_stroke/left")).content.decode()
    assert "say-fix" in page
    assert "393.47(e)" in page


def test_a_drum_is_replaced_while_the_reline_has_the_brake_open_and_each_act_stands_once(reline, lead):
    jobs.add_task(reline, {"procedure": "drum_replacement", "axle": 2, "sides": ["left", "right"]}, by=lead)
    ids = [state.step.id for state in steps.states_of(reline)]
    assert len(ids) == len(set(ids))
    assert ids.index("strip.shoes_off/right") < ids.index("inspect.new_drum/left") < ids.index("rebuild.shoes_on/left")


def test_a_new_drum_is_measured_itself_and_not_by_the_readings_of_the_old(reline, crew, now):
    technician, lead = crew
    jobs.add_task(reline, {"procedure": "drum_replacement", "axle": 2, "sides": ["left", "right"]}, by=lead)
    line.measure_after_work(reline, technician, reline.shop, now - timedelta(hours=4))
    done_until(reline, "inspect.new_drum/left", crew, now - timedelta(hours=3))
    for side in line.SIDES:
        spec = {"nominal": "16.5 in", "discard": "16.62 in"}
        part = {"axle": 2, "side": side, "slot": "drum", "spec": spec, "lot": "D-7"}
        fitting.record_part(reline, **part, at=now - timedelta(hours=2), by=technician, why="past its size")
    assert state_of(reline, "inspect.drum_size/left").done
    with pytest.raises(steps.HoldPointLacks) as refused:
        write(reline, "inspect.new_drum/left", technician, now - timedelta(hours=1), confirmed=True)
    assert {one.code for one in refused.value.missing} == {"no_measurement"}


def test_measuring_begins_one_proof_and_takes_it_up_again(reline, technician, now, asked):
    first = asked(technician, f"/bay/{reline.number}/measure/", {}).headers["Location"]
    proof = steps.proof_of(reline)
    assert first == f"/walkarounds/{proof.pk}/walk/"
    assert [(end["unit"], end["axle"], end["side"]) for end in proof.touched] == [
        ("K-12", 2, "left"),
        ("K-12", 2, "right"),
    ]
    proof.finished_at = now
    proof.save()
    assert asked(technician, f"/bay/{reline.number}/measure/", {}).headers["Location"] == first
    proof.refresh_from_db()
    assert proof.finished_at is None
