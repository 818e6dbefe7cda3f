"""What a walk came to: kept as it was given, shown in either language, on paper and as tables; files in; set aside."""

from __future__ import annotations

import csv
import io
import json
import uuid
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image
from python_calamine import load_workbook
from web.line import walk as walked_line
from web.walkaround.rig import combination, everything, post, stroke, walk_of

from treadle.assess import assess
from treadle.rules.load import shipped
from treadle.web.walkaround import enter
from treadle.web.walkaround.models import Judged, Photo, Reading, SetAside, WalkAround
from treadle.web.walkaround.pictures import LONGEST_SIDE, cleaned
from treadle.web.walkaround.stored import assessment_from, read_back
from treadle.web.walkaround.to_core import record_of

pytestmark = pytest.mark.usefixtures("in_shop")


@pytest.fixture
def lead(person):
    return person("lead", "technician")


@pytest.fixture
def units(lead):
    return combination(lead)


@pytest.fixture
def judged(units, lead, shop):
    """A walk with one over-stroked brake and one thin lining."""
    strokes, linings = {("K-12", 2, "left"): "2 1/8 in"}, {("T-7", 1, "right"): "7/32 in"}
    return walked_line(units[0], lead, shop, at=timezone.now() - timedelta(hours=1), strokes=strokes, linings=linings)[
        1
    ]


@pytest.fixture
def desk(lead):
    client = Client()
    client.force_login(lead, backend="django.contrib.auth.backends.ModelBackend")
    return client


def page_of(walk):
    return f"/walkarounds/{walk.pk}/"


# -- as it was given


@pytest.mark.parametrize("language", ["en", "es"])
def test_what_is_read_back_is_what_was_judged(judged, language):
    record, back = read_back(judged)
    anew = assess(record_of(judged.inputs), shipped(), on=judged.on)
    assert back.as_json("en")["findings"] == judged.result["findings"]
    policy_has_its_say = [one for one in anew.findings if one.verdict.layer != "policy"]
    said = [(one.unit, one.axle, one.side, one.says(language), one.remedy(language)) for one in back.findings]
    for one in policy_has_its_say:
        assert (one.unit, one.axle, one.side, one.says(language), one.remedy(language)) in said
    assert record.occasion == "service"


def test_a_sentence_that_a_later_edition_no_longer_has_stands_as_it_was_kept(judged):
    judged.result["findings"][0] |= {"code": "no_such_code", "says": "As it was said.", "remedy": "As it was advised."}
    finding = assessment_from(judged.result, "en").findings[0]
    assert (finding.says("es"), finding.remedy("es")) == ("As it was said.", "As it was advised.")


def test_an_old_assessment_is_shown_under_its_own_edition(judged, desk, lead, shop):
    """It must not follow a change of the rules: an assessment names the edition it was made under (design, 3)."""
    old = Judged.objects.get(pk=judged.pk)
    copy = {name: getattr(old, name) for name in ("about", "on", "occasion", "inputs", "policy")}
    result = {**old.result, "edition": "edition-of-long-ago", "outcome": "watch"}
    earlier = timezone.now() - timedelta(days=2)
    before = Judged(
        **copy,
        edition="edition-of-long-ago",
        outcome="watch",
        result=result,
        entered_by=lead,
        entered_at=earlier,
        walk_around=old.walk_around,
    )
    before.save()
    text = desk.get(page_of(old.walk_around), {"of": str(before.pk)}).content.decode()
    assert "edition-of-long-ago" in text
    assert old.edition in desk.get(page_of(old.walk_around)).content.decode()


def test_the_page_names_what_was_found_with_its_rule_and_the_count(judged, desk):
    """Type 30 standard limit 2 in, drum lining 1/4 in (us-rules A.4 and A.3)."""
    text = desk.get(page_of(judged.walk_around)).content.decode()
    assert "49 CFR 393.47(e)" in text
    assert "49 CFR 393.47(d)" in text
    assert "of 10 brakes" in text
    spanish = Client()
    spanish.force_login(judged.entered_by, backend="django.contrib.auth.backends.ModelBackend")
    judged.entered_by.language = "es"
    judged.entered_by.save()
    assert "Carrera aplicada" in spanish.get(page_of(judged.walk_around)).content.decode()


def test_what_came_late_is_said_and_can_be_judged(judged, desk):
    walk = judged.walk_around
    post(desk, "readings", stroke(walk, "2 1/2 in", axle=3))
    assert "1 reading came in after" in desk.get(page_of(walk)).content.decode()
    desk.post(f"/walkarounds/{walk.pk}/finish/")
    assert "came in after" not in desk.get(page_of(walk)).content.decode()
    assert walk.judged.count() == 2


# -- papers and tables


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_report_is_a_pdf_on_either_paper(judged, desk, paper):
    answer = desk.get(f"/walkarounds/{judged.walk_around_id}/report.pdf", {"paper": paper})
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_another_paper_or_kind_of_file_is_not_there(judged, desk):
    assert desk.get(f"/walkarounds/{judged.walk_around_id}/report.pdf", {"paper": "a0"}).status_code == 404
    assert desk.get(f"/walkarounds/{judged.walk_around_id}/report.doc").status_code == 404


def test_findings_come_as_csv_and_as_a_workbook(judged, desk):
    text = desk.get(f"/walkarounds/{judged.walk_around_id}/report.csv").content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {"2 1/8 in", "7/32 in"} <= {row["measured"] for row in rows}
    book = load_workbook(io.BytesIO(desk.get(f"/walkarounds/{judged.walk_around_id}/report.xlsx").content))
    assert len(book.get_sheet_by_name(book.sheet_names[0]).to_python()) == len(rows) + 1


def test_the_json_is_the_assessment_as_kept_and_its_inputs_judge_to_the_same(judged, desk):
    kept = json.loads(desk.get(f"/walkarounds/{judged.walk_around_id}/report.json").content)
    assert kept == judged.result
    inputs = json.loads(desk.get(f"/walkarounds/{judged.walk_around_id}/report.json", {"what": "inputs"}).content)
    assert assess(record_of(inputs), shipped(), on=judged.on).outcome == kept["outcome"] == "fix"


# -- files in


def handed_in(desk, *files, **fields):
    given = [SimpleUploadedFile(name, content) for name, content in files]
    return desk.post("/walkarounds/file/", {"handed_in": given, **fields})


@pytest.fixture
def file(judged):
    """A file of the same units, walked anew."""
    taken = {**judged.inputs["taken"], "at": (timezone.now() - timedelta(minutes=20)).isoformat(), "by": "O. Teague"}
    readings = [
        {name: value for name, value in one.items() if name not in ("id", "at", "by")}
        for one in judged.inputs["readings"]
    ]
    once = {json.dumps(one, sort_keys=True): one for one in readings}
    return {**judged.inputs, "taken": taken, "readings": list(once.values())}


def as_json(file):
    return ("walk.json", json.dumps(file).encode())


def test_a_file_for_units_of_the_shop_is_entered_row_by_row_and_judged(desk, file):
    before = Reading.objects.count()
    answer = handed_in(desk, as_json(file))
    assert answer.status_code == 302
    walk = WalkAround.objects.latest("entered_at")
    assert answer.headers["Location"] == page_of(walk)
    assert Reading.objects.count() == before + len(file["readings"])
    assert walk.judged.get().outcome == "fix"


def test_the_same_file_handed_in_again_is_known(desk, file):
    first, again = handed_in(desk, as_json(file)), handed_in(desk, as_json(file))
    assert first.headers["Location"] == again.headers["Location"]
    assert WalkAround.objects.count() == 2


def test_a_file_whose_unit_differs_is_refused_with_every_difference_named(desk, file):
    file["units"][0]["axles"][1] |= {"chamber": {"design": "clamp", "type": "24", "stroke_class": "standard"}}
    file["units"][0]["built"] = "2020-01"
    answer = handed_in(desk, as_json(file))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "chamber.type" in text
    assert "&#x27;24&#x27;" in text
    assert "&#x27;2020-01&#x27;" in text
    assert WalkAround.objects.count() == 1


def test_what_a_file_leaves_open_contradicts_nothing(desk, file):
    for unit in file["units"]:
        for axle in unit["axles"]:
            axle.pop("drum", None)
    assert handed_in(desk, as_json(file)).status_code == 302


def test_a_unit_the_shop_does_not_have_is_named(desk, file):
    text = json.dumps(file).replace("T-7", "T-77").encode()
    answer = handed_in(desk, ("walk.json", text))
    assert answer.status_code == 422
    assert "T-77" in answer.content.decode()


def test_a_file_with_a_reading_that_cannot_be_so_is_refused_whole(desk, file):
    here = {"unit": "K-12", "axle": 3, "side": "right"}
    file["readings"].append({**here, "kind": "free_stroke", "value": "3 in"})
    before = Reading.objects.count()
    assert "cannot be so" in handed_in(desk, as_json(file)).content.decode()
    assert Reading.objects.count() == before


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ([("walk.pdf", b"%PDF")], "is not a kind of file that is read here"),
        ([("units.csv", b"number\n")], "wheel_ends.csv"),
        ([("walk.json", b"{")], "this is not JSON"),
        ([("walk.xlsx", b"no workbook")], "cannot be read"),
        ([("walk.json", b"\xff\xfe")], "not UTF-8 text"),
        ([("a.json", b"{}"), ("b.json", b"{}")], "is not a kind of file that is read here"),
    ],
    ids=["a pdf", "one table", "broken json", "no workbook", "no text", "two files"],
)
def test_a_file_that_is_none_says_what_is_taken(desk, units, files, says):
    answer = handed_in(desk, *files)
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_the_form_sent_without_a_file_asks_for_one(desk, units):
    assert handed_in(desk).status_code == 422


# -- pictures


def picture(width=2400, height=1800, orientation=None):
    drawn = io.BytesIO()
    image = Image.new("RGB", (width, height), "white")
    exif = Image.Exif()
    exif[0x010F] = "a maker's name"
    if orientation:
        exif[0x0112] = orientation
    image.save(drawn, "JPEG", exif=exif)
    return drawn.getvalue()


def test_a_picture_is_made_small_upright_and_free_of_what_the_camera_wrote():
    """Orientation 6: turned by 90 degrees (Exif 2.3, tag 274)."""
    with Image.open(io.BytesIO(cleaned(picture(orientation=6)))) as kept:
        assert kept.size == (LONGEST_SIDE * 3 // 4, LONGEST_SIDE)
        assert dict(kept.getexif()) == {}


def sent_picture(walk, content, **more):
    return {
        "id": str(uuid.uuid4()),
        "walk_around": str(walk.pk),
        "unit": "K-12",
        "axle": 2,
        "side": "left",
        "at": timezone.now().isoformat(),
        "zone": "America/Denver",
        "file": SimpleUploadedFile("p.jpg", content, content_type="image/jpeg"),
        **more,
    }


def test_a_picture_is_kept_once_under_its_id(desk, units, lead):
    walk = walk_of(units[0], lead)
    sent = sent_picture(walk, picture(40, 30))
    assert desk.post("/api/photos", sent).status_code == 201
    again = {**sent, "file": SimpleUploadedFile("p.jpg", picture(40, 30))}
    assert desk.post("/api/photos", again).status_code == 200
    other = {**sent, "file": SimpleUploadedFile("p.jpg", picture(30, 40))}
    assert desk.post("/api/photos", other).status_code == 409
    photo = Photo.objects.get()
    shown = desk.get(f"/walkarounds/photos/{photo.pk}.jpg")
    assert shown.headers["Content-Type"] == "image/jpeg"


@pytest.mark.parametrize("content", [b"no picture", b"\xff\xd8\xff"], ids=["text", "torn"])
def test_what_is_no_picture_is_refused(desk, units, lead, content):
    answer = desk.post("/api/photos", sent_picture(walk_of(units[0], lead), content))
    assert answer.status_code == 422
    assert Photo.objects.count() == 0


# -- set aside


def test_what_was_set_aside_is_settled_by_the_lead_once(desk, units, lead):
    walk = walk_of(units[0], lead)
    entry = stroke(walk)
    post(desk, "readings", entry)
    post(desk, "readings", entry | {"value": "2 in"})
    row = SetAside.objects.get()
    assert "1 entry could not be taken" in desk.get("/walkarounds/").content.decode()
    assert "2 in" in desk.get("/walkarounds/set-aside/").content.decode()
    desk.post(f"/walkarounds/set-aside/{row.pk}/settle/", {"how": ""})
    row.refresh_from_db()
    assert row.settled_at is None
    desk.post(f"/walkarounds/set-aside/{row.pk}/settle/", {"how": "entered by hand"})
    desk.post(f"/walkarounds/set-aside/{row.pk}/settle/", {"how": "something else"})
    row.refresh_from_db()
    assert (row.settled_how, row.settled_by) == ("entered by hand", lead)


# -- list and beginning


def test_an_empty_list_teaches_the_next_step(browser_of):
    assert "/walkarounds/begin/" in browser_of("technician").get("/walkarounds/").content.decode()
    assert "/walkarounds/begin/" not in browser_of("owner").get("/walkarounds/").content.decode()


def test_without_units_the_lead_is_led_to_register_one(browser_of):
    assert "/units/-/register/" in browser_of("lead").get("/walkarounds/begin/").content.decode()
    assert "/units/-/register/" not in browser_of("technician").get("/walkarounds/begin/").content.decode()


def test_ones_own_walks_come_first_with_how_far_they_are(desk, units, lead, person):
    other, mine = walk_of(units[1], person("technician"), alone=True), walk_of(units[0], lead, alone=True)
    post(desk, "readings", stroke(mine))
    text = desk.get("/walkarounds/").content.decode()
    assert text.index(str(mine.pk)) < text.index(str(other.pk))
    assert "1 of 24 needed readings" in text


def begin_form(desk, number="K-12", **fields):
    return desk.post(f"/walkarounds/begin/{number}/", {"id": str(uuid.uuid4()), "occasion": "service", **fields})


def test_a_walk_begins_from_the_form_and_a_double_tap_begins_one(desk, units):
    token = str(uuid.uuid4())
    first, again = begin_form(desk, id=token), begin_form(desk, id=token)
    assert first.headers["Location"] == again.headers["Location"] == f"/walkarounds/{token}/walk/"
    assert WalkAround.objects.get().combination == ["K-12", "T-7"]


def test_with_a_caller_the_keepers_screen_opens(desk, units, person):
    caller = person("technician")
    where = begin_form(desk, caller=str(caller.pk)).headers["Location"]
    assert where.endswith(f"/keep/?caller={caller.pk}")


def test_the_form_offers_a_new_meter_when_it_went_back(desk, units):
    answer = begin_form(desk, **{"meter_K-12": "100"})
    assert answer.status_code == 422
    assert 'name="replaced_K-12"' in answer.content.decode()
    assert WalkAround.objects.count() == 0
    assert begin_form(desk, **{"meter_K-12": "100", "replaced_K-12": "on"}).status_code == 302


def test_a_driver_is_offered_the_daily_and_no_other(browser_of, units):
    text = browser_of("driver").get("/walkarounds/begin/K-12/").content.decode()
    assert 'value="daily"' in text
    assert 'value="service"' not in text


def test_a_walk_that_is_over_leads_to_what_it_came_to(desk, judged):
    answer = desk.get(f"/walkarounds/{judged.walk_around_id}/walk/")
    assert answer.headers["Location"] == page_of(judged.walk_around)


def test_the_list_takes_as_many_queries_for_many_walks_as_for_few(desk, units, lead, shop, django_assert_num_queries):
    walked_line(units[0], lead, shop, at=timezone.now() - timedelta(days=3))
    with CaptureQueriesContext(connection) as few:
        desk.get("/walkarounds/")
    for age in (4, 5):
        walked_line(units[0], lead, shop, at=timezone.now() - timedelta(days=age))
    with django_assert_num_queries(len(few)):
        desk.get("/walkarounds/")


def test_all_that_a_service_needs_counts_up_to_all_of_it(desk, units, lead):
    walk = walk_of(units[0], lead)
    for entry in everything(walk, skip={("T-7", 2, "right")}):
        assert post(desk, "readings", entry).status_code == 201
    assert "36 of 40 needed readings" in desk.get("/walkarounds/").content.decode()
    enter.abandon(walk, by=lead, at=timezone.now())
    assert str(walk.pk) not in desk.get("/walkarounds/").content.decode()
