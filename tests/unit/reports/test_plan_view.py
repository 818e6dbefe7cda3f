"""The plan view: drawn from the record, left on the left, every outcome by mark and word, every stroke as read."""

import copy
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from treadle.reports.plan_view import WIDTH, Manner, draw, ends_shown, plan_view
from treadle.words import say

SVG = "{http://www.w3.org/2000/svg}"


def drawn(judged, number, language="en", name="plan"):
    unit = next(unit for unit in judged.walk_around.units if unit.number == number)
    return plan_view(unit, judged.assessment, language, name=name)


def root_of(judged, number, language="en"):
    return ET.fromstring(drawn(judged, number, language).svg)


def of_class(root, name):
    return [one for one in root.iter() if name in (one.get("class") or "").split()]


def texts(root):
    return ["".join(one.itertext()) for one in root.iter(f"{SVG}text")]


def read(text):
    """A text as one would type it: plain spaces, a plain slash."""
    return text.replace("\u00a0", " ").replace("\N{FRACTION SLASH}", "/")


def by_side(one):
    """Left or right, by where a mark or text stands."""
    x = one.get("x") or one.get("transform").removeprefix("translate(").split()[0]
    return "left" if float(x) < WIDTH / 2 else "right"


def test_a_steering_axle_has_single_wheels_and_any_other_two_at_each_end(demo):
    assert len(of_class(root_of(demo, "K-12"), "wheel")) == 2 + 4 + 4
    assert len(of_class(root_of(demo, "T-7"), "wheel")) == 4 + 4


def test_every_end_has_its_mark_on_its_own_side(demo):
    for unit in demo.assessment.units:
        root = root_of(demo, unit.number)
        for side in ("left", "right"):
            there = [
                one.get("class").split()[1].removeprefix("mark-")
                for one in of_class(root, "mark")
                if by_side(one) == side
            ]
            assert there == [dict(axle.ends)[side] for axle in unit.axles]


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_mark_has_its_word_beside_it(demo, language):
    for unit in demo.assessment.units:
        outcomes = [outcome for axle in unit.axles for _, outcome in axle.ends]
        root = root_of(demo, unit.number, language)
        written = texts(root)
        for outcome in set(outcomes):
            word = say(f"outcome.{outcome}", language)
            assert written.count(word) == outcomes.count(outcome) == len(of_class(root, f"mark-{outcome}"))


def test_every_stroke_stands_beside_its_wheel_as_it_was_read(demo):
    root = root_of(demo, "T-7")
    values = [(by_side(one), read("".join(one.itertext()))) for one in of_class(root, "value")]
    expected = [("left", "1 9/16 in"), ("right", "2 1/8 in"), ("left", "1 1/2 in"), ("right", "1 5/8 in")]
    assert values == expected


def test_the_measured_value_is_the_largest_thing_beside_a_wheel(demo):
    root = root_of(demo, "K-12")
    value = {float(one.get("font-size")) for one in of_class(root, "value")}
    others = {float(one.get("font-size")) for one in root.iter(f"{SVG}text") if "value" not in one.get("class").split()}
    assert min(value) > max(others)


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_description_says_every_end_with_outcome_and_value(demo, language):
    drawing = drawn(demo, "T-7", language)
    root = ET.fromstring(drawing.svg)
    assert root.find(f"{SVG}title").text == drawing.title
    assert root.find(f"{SVG}desc").text == drawing.description
    said = {
        "en": "T-7: fix. Axle 1 left: good, applied stroke 1 9/16 in. Axle 1 right: fix, applied stroke 2 1/8 in. "
        "Axle 2 left: unseen, applied stroke 1 1/2 in. Axle 2 right: good, applied stroke 1 5/8 in.",
        "es": "T-7: reparar. Eje 1 izquierdo: bueno, carrera aplicada 1 9/16 in. Eje 1 derecho: reparar, carrera "
        "aplicada 2 1/8 in. Eje 2 izquierdo: sin ver, carrera aplicada 1 1/2 in. Eje 2 derecho: bueno, carrera "
        "aplicada 1 5/8 in.",
    }
    assert said[language] == drawing.description


def test_a_drawing_has_attributes_and_classes_only(demo):
    for number in ("K-12", "T-7"):
        root = root_of(demo, number)
        for one in root.iter():
            assert "style" not in one.attrib
            assert not [name for name in one.attrib if name.startswith("on")]
            assert one.tag.removeprefix(SVG) in {"svg", "title", "desc", "g", "path", "rect", "circle", "text", "tspan"}


def test_it_is_a_picture_with_a_name_and_a_description(demo):
    root = ET.fromstring(drawn(demo, "K-12", name="first").svg)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "first-title first-desc"


def test_a_hostile_unit_number_stays_text(hostile):
    unit = hostile.walk_around.units[1]
    drawing = plan_view(unit, hostile.assessment)
    root = ET.fromstring(drawing.svg)
    assert unit.number in root.find(f"{SVG}title").text
    assert "<b>" not in drawing.svg


@pytest.mark.parametrize(
    ("kind", "roles"),
    [
        ("tractor", ["steer", "drive", "drive"]),
        ("truck", ["steer", "steer", "drive"]),
        ("bus", ["steer", "drive"]),
        ("trailer", ["trailer", "trailer", "trailer"]),
        ("dolly", ["dolly"]),
    ],
)
def test_every_kind_of_unit_is_drawn_inside_its_frame(fields, judge, kind, roles):
    axle = fields["units"][0]["axles"][1]
    unit = fields["units"][0]
    unit["kind"], unit["axles"] = kind, [copy.deepcopy(axle) | {"role": role} for role in roles]
    fields |= {"units": [unit], "combinations": [], "readings": []}
    del fields["taken"]["meter"]
    root = root_of(judge(fields), "K-12")
    assert len(of_class(root, "wheel")) == sum(2 if role == "steer" else 4 for role in roles)
    assert len(of_class(root, "body")) >= 2
    height = float(root.get("height"))
    for one in root.iter(f"{SVG}rect"):
        assert float(one.get("x")) >= 0
        assert float(one.get("x")) + float(one.get("width")) <= WIDTH
        assert float(one.get("y")) >= 0
        assert float(one.get("y")) + float(one.get("height")) <= height


def test_two_kinds_of_unit_do_not_look_alike(fields, judge):
    bodies = set()
    for kind in ("tractor", "truck", "bus"):
        fields["units"][0]["kind"] = kind
        root = root_of(judge(fields), "K-12")
        bodies.add(tuple(one.get("d") for one in of_class(root, "body")))
    assert len(bodies) == 3


def test_an_axle_whose_ends_differ_shows_it_between_them(pair):
    judged = pair("18")
    root = root_of(judged, "D-3")
    between = of_class(root, "mark-fix")
    assert len(between) == 1
    x = float(between[0].get("transform").removeprefix("translate(").split()[0])
    assert WIDTH / 2 - 60 < x < WIDTH / 2
    assert "Axle 1, its two ends together: fix." in drawn(judged, "D-3").description


def test_where_no_rod_can_be_seen_the_thinnest_pad_is_shown_and_named(pair):
    judged = pair("32")
    written = [read(text) for text in texts(root_of(judged, "T-1"))]
    assert written.count("7/16 in") == 2
    assert written.count("pad") == 2


def test_an_end_nobody_asked_about_says_so_and_has_no_mark(fields, judge):
    fields["occasion"] = "after_work"
    fields["touched"] = [{"unit": "T-7", "axle": 1, "side": "right"}]
    fields["readings"] = [reading for reading in fields["readings"] if reading["unit"] == "T-7"]
    root = root_of(judge(fields), "K-12")
    assert not of_class(root, "mark")
    assert texts(root).count("not asked for") == 6


def test_a_rod_that_bottomed_is_a_word_and_a_raised_axle_is_named(fields, judge):
    fields["units"][0]["axles"][2] |= {"role": "lift", "lift_raised": True}
    for reading in fields["readings"]:
        if reading["kind"] == "applied_stroke" and (reading["axle"], reading["unit"]) == (2, "K-12"):
            del reading["value"]
            reading["special"] = "bottomed"
    written = texts(root_of(judge(fields), "K-12"))
    assert written.count("bottomed") == 2
    assert "raised" in written


# -- on a screen


def on_screen(judged, number, **manner):
    unit = next(unit for unit in judged.walk_around.units if unit.number == number)
    ends = ends_shown(unit, judged.assessment)
    drawing = draw(unit, ends, outcome="fix", joints={}, language="en", manner=Manner(**manner))
    return drawing, ET.fromstring(drawing.svg)


def test_each_wheel_end_is_a_link_that_says_what_it_leads_to(demo):
    links = {(axle, side): f"/{axle}/{side}?a=1&b=2" for axle in (1, 2, 3) for side in ("left", "right")}
    drawing, root = on_screen(demo, "K-12", links=links)
    found = list(root.iter(f"{SVG}a"))
    assert [one.get("href") for one in found] == list(links.values())
    assert all(one.get("aria-label") in drawing.description for one in found)
    assert root.get("role") == "group"  # what stands in an image is not offered to those who cannot see it


def test_a_link_is_wide_and_tall_enough_for_a_thumb_on_a_phone_and_overlaps_no_other(demo):
    links = {(axle, side): "/" for axle in (1, 2, 3) for side in ("left", "right")}
    _, root = on_screen(demo, "K-12", links=links)
    phone = 330 / WIDTH  # a card on a phone 390 px wide; look.md asks for targets of 48 px
    tops = {"left": [], "right": []}
    for hit in of_class(root, "hit"):
        assert float(hit.get("width")) * phone >= 48
        assert float(hit.get("height")) * phone >= 48
        side = "left" if float(hit.get("x")) < WIDTH / 2 else "right"
        tops[side].append((float(hit.get("y")), float(hit.get("height"))))
    for ordered in tops.values():
        assert all(y + tall <= below for (y, tall), (below, _) in pairwise(ordered))


def test_only_the_wheels_where_one_is_are_marked(demo):
    _, root = on_screen(demo, "K-12", here=(2, "left"))
    marked = of_class(root, "is-here")
    assert [by_side(one) for one in marked] == ["left", "left"]
    assert not of_class(root_of(demo, "K-12"), "is-here")


def test_an_axle_with_one_wheel_at_each_end_is_drawn_so(demo):
    _, root = on_screen(demo, "T-7", single={2})
    assert len(of_class(root, "wheel")) == 4 + 2


def test_spread_axles_stand_further_apart(demo):
    def heights(**manner):
        return {float(one.get("y")) for one in of_class(on_screen(demo, "T-7", **manner)[1], "wheel")}

    close, apart = sorted(heights()), sorted(heights(spread=True))
    assert apart[1] - apart[0] > close[1] - close[0]


def test_a_bare_drawing_says_nothing_of_its_wheel_ends(demo):
    drawing, root = on_screen(demo, "T-7", bare=True)
    assert texts(root) == []
    assert drawing.description == ""
    assert not of_class(root, "mark")
    assert int(root.get("width")) < WIDTH
