"""The phone's arithmetic: it reads what hands write as the server does, and says of a reading what the judge says."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from importlib.resources import files

import pytest
from web.walkaround.rig import combination

from treadle.assess import assess
from treadle.measure import read_quantity, show_number
from treadle.rules.load import shipped
from treadle.web.base.scope import shop_scope
from treadle.web.units.to_core import units_as_file
from treadle.web.walkaround.to_core import record_of

CASES = tomllib.loads(files("treadle.measure").joinpath("cases.toml").read_text(encoding="utf-8"))
MODULES = "import('/static/treadle/{}.js')"
BASE = {"reservoir": "90 psi", "engine": "off", "spring_brakes": "released"}

READ = """async (cases) => {
  const { read, Unreadable } = await import('/static/treadle/measure.js');
  const plain = (value) => `${value[0]}/${value[1]}`;
  return cases.map(({ text, dimension, field, nominal }) => {
    try {
      const size = read(text, { dimension, field: field ?? null, nominal: nominal ? read(nominal) : null });
      return { value: plain(size.value), unit: size.unit, step: plain(size.step), shown: size.shown };
    } catch (fault) {
      if (!(fault instanceof Unreadable)) throw fault;
      return { why: fault.why, guess: fault.guess };
    }
  });
}"""


@pytest.fixture
def page(page_of):
    return page_of("technician", path="/walkarounds/")


def test_every_way_of_writing_a_quantity_is_read_as_the_server_reads_it(page):
    """The table of cases is the one the server's parser is tested by (measure/cases.toml)."""
    got = page.evaluate(READ, CASES["reads"])
    expected = [
        {
            "value": str(Fraction(case["value"]).as_integer_ratio()[0])
            + "/"
            + str(Fraction(case["value"]).denominator),
            "unit": case["unit"],
            "step": str(Fraction(case["step"]).numerator) + "/" + str(Fraction(case["step"]).denominator),
            "shown": case["shown"],
        }
        for case in CASES["reads"]
    ]
    assert got == expected


def test_every_way_that_is_refused_is_refused_for_the_same_reason(page):
    got = page.evaluate(READ, CASES["refuses"])
    assert got == [{"why": case["why"], "guess": case.get("guess")} for case in CASES["refuses"]]


def test_numbers_are_shown_as_the_server_shows_them(page):
    numbers = [
        (n, d, unit) for d in (1, 2, 8, 16, 32, 64, 3, 10, 1000) for n in (0, 1, 7, 17, 135) for unit in ("in", "mm")
    ]
    got = page.evaluate(
        """async (numbers) => {
          const { fraction, show } = await import('/static/treadle/measure.js');
          return numbers.map(([over, under, unit]) => show(fraction(over, under), unit));
        }""",
        numbers,
    )
    assert got == [show_number(Fraction(n, d), unit) for n, d, unit in numbers]


@pytest.mark.parametrize(("one", "other"), [("1 in", "254/10 mm"), ("1 mi", "1609344 mm"), ("1 psi", None)])
def test_units_are_converted_by_the_same_exact_factors(page, one, other):
    size = read_quantity(one, "pressure" if "psi" in one else "length", where="test")
    target = "kPa" if other is None else "mm"
    got = page.evaluate(
        """async ([text, target, dimension]) => {
          const { convert, read } = await import('/static/treadle/measure.js');
          const size = read(text, { dimension });
          return convert(size.value, size.unit, target).map(String);
        }""",
        [one, target, size.dimension],
    )
    assert Fraction(int(got[0]), int(got[1])) == size.in_unit(target)


SAY = """async ([limits, cases]) => {
  const { endOf, readOr, verdictOn, verdictOnWord } = await import('/static/treadle/limits.js');
  return cases.map(({ axle, kind, place, part, reservoir, text, word }) => {
    const end = endOf(limits, axle, 'left');
    const about = { kind, place, part, reservoir: readOr(reservoir, { dimension: 'pressure' }) };
    const found = word ? verdictOnWord(end, word, about) : verdictOn(limits, end, readOr(text), about);
    return found && { outcome: found.outcome, says: found.says, does: found.does };
  });
}"""


def judged(unit, kind, *, axle, text=None, special=None, place=None, reservoir="90 psi"):
    """What the judge says of one reading by itself, worst first."""
    reading = {"unit": "K-12", "axle": axle, "side": "left", "kind": kind}
    reading |= {"value": text} if text else {"special": special}
    shoe = {"shoe": "upper", "place": place} if kind == "lining" else {}
    file = {
        "treadle": "walkaround/1",
        "occasion": "service",
        "units": [unit],
        "taken": {"at": "2026-10-02T07:40:00-06:00", "by": "R. Quill", **BASE, "reservoir": reservoir},
        "readings": [reading | shoe],
    }
    found = assess(record_of(file), shipped()).findings
    here = [one for one in found if (one.axle, one.side) == (axle, "left") and one.verdict.args.get("kind") == kind]
    return next(one for one in here if one.verdict.code not in ("missing", "not_seen"))


def readings():
    """Strokes, linings and drums round every limit, in inches and in millimetres, at pressures in and out of range."""
    for eighths in range(8, 25):
        for reservoir in ("90 psi", "70 psi", "110 psi", "620 kPa"):
            text = f"{show_number(Fraction(eighths, 8), 'in')} in"
            yield {"axle": 2, "kind": "applied_stroke", "text": text, "reservoir": reservoir}
    for millimetres in (40, 47, 50, 51, 52):
        yield {"axle": 2, "kind": "applied_stroke", "text": f"{millimetres} mm", "reservoir": "90 psi"}
    for place in ("centre", "thinnest"):
        for number in range(2, 13):
            yield {"axle": 3, "kind": "lining", "place": place, "text": f"{number}/32 in"}
        for tenths in (47, 48, 63, 64, 65, 79, 80):
            yield {"axle": 1, "kind": "lining", "place": place, "text": f"{tenths / 10} mm"}
    for thousandths in (0, 99, 100, 119, 120, 121, 180):
        yield {"axle": 2, "kind": "drum_diameter", "text": f"{16.5 + thousandths / 1000:.3f} in"}
        yield {"axle": 2, "kind": "drum_diameter", "text": f"{(16.5 + thousandths / 1000) * 25.4:.1f} mm"}
    for word in ("no_movement", "bottomed"):
        for reservoir in ("90 psi", "110 psi"):
            yield {"axle": 2, "kind": "applied_stroke", "word": word, "reservoir": reservoir}


def test_what_the_screen_says_of_a_reading_is_what_the_judge_says_word_for_word(page, person, shop):
    with shop_scope(shop.pk):
        unit = units_as_file([combination(person("lead"))[0]])[0]
    cases = list(readings())
    limits = page.request.get("/api/limits/K-12?occasion=service").json()
    got = page.evaluate(SAY, [limits, [case | {"part": "upper shoe"} for case in cases]])
    for case, said in zip(cases, got, strict=True):
        special = case.get("word")
        finding = judged(
            unit,
            case["kind"],
            axle=case["axle"],
            text=case.get("text"),
            special=special,
            place=case.get("place"),
            reservoir=case.get("reservoir", "90 psi"),
        )
        assert said == {"outcome": finding.outcome, "says": finding.says("en"), "does": finding.remedy("en")}, case


def test_once_more_is_asked_one_step_either_side_of_the_edge_and_nowhere_else(page, person, shop):
    """Type 30 standard: 2 in passes, 2 1/8 in does not (us-rules A.4); the tool's step is 1/8 in."""
    with shop_scope(shop.pk):
        combination(person("lead"))
    limits = page.request.get("/api/limits/K-12?occasion=service").json()
    asked = page.evaluate(
        """async ([limits, texts]) => {
          const { askOnceMore, endOf, readOr } = await import('/static/treadle/limits.js');
          const { stepOf } = await import('/static/treadle/pads.js');
          const end = endOf(limits, 2, 'left');
          const about = { kind: 'applied_stroke', reservoir: readOr('90 psi', { dimension: 'pressure' }) };
          return texts.map((text) => {
            const size = readOr(text);
            return askOnceMore(limits, end, size, about, stepOf('stroke-in', size.value));
          });
        }""",
        [limits, ["1 3/4 in", "1 7/8 in", "1 15/16 in", "2 in", "2 1/16 in", "2 1/8 in", "2 1/4 in"]],
    )
    assert asked == [False, False, False, True, True, True, False]


def test_a_pressure_between_two_whole_numbers_is_left_to_the_server(page, person, shop):
    with shop_scope(shop.pk):
        combination(person("lead"))
    limits = page.request.get("/api/limits/K-12?occasion=service").json()
    cases = [{"axle": 2, "kind": "applied_stroke", "text": "1 in", "reservoir": "79.5 psi"}]
    assert page.evaluate(SAY, [limits, cases]) == [None]
