"""Loading law from files: what a file may say, and that a broken one is refused with file, key and line."""

import textwrap
from datetime import date
from fractions import Fraction

import pytest

from treadle.errors import DataFault
from treadle.rules.load import load, shipped
from treadle.words import LANGUAGES, explain

STROKE = """\
label.en = "Stroke"
label.es = "Carrera"
quantity = "applied_stroke"
comparator = "breach_if_more_than"
applies = { brake = "air_drum" }
layer = "operate"
then = "fix"
basis = "found"

[[value]]
as_printed = "1 3/4 (44.5)"
customary = { value = "1 3/4", unit = "in" }
metric = { value = 44.5, unit = "mm" }
source = "cfr-49-393"
locator = "393.47(e)"
effective_from = 2012-09-05
"""
LATER_VALUE = """
[[value]]
as_printed = "2 (50.8)"
customary = { value = "2", unit = "in" }
source = "cfr-49-393"
locator = "393.47(e)"
effective_from = 2020-01-01
"""
SIZES = """\
needs = { reservoir = ["80 psi", "100 psi"], engine = "off" }
over = ["85 psi", "100 psi"]
plus = "6.4 mm"
percent = 80
figure_from = "chamber.rated_stroke"
either = { quantity = "above_fastener", comparator = "breach_if_less_than", metric = { value = 1, unit = "mm" } }
"""
LEAK = """\
label.en = "Leak"
label.es = "Fuga"
quantity = "condition"
comparator = "breach_if_seen"
layer = "operate"
then = "fix"
basis = "found"

[[value]]
as_printed = "free of leaks"
source = "cfr-49-393"
locator = "393.45"
effective_from = 2005-09-14
"""
CONDITION = """\
label.en = "a wet hose"
label.es = "una manguera mojada"
part = "air"
breaches = [
  "us.leak",
]
"""


@pytest.fixture
def rule_set(tmp_path):
    """Write files below a folder and load it; with nothing given, one rule on a stroke."""

    def made(files=None):
        for path, text in ({"us/stroke.toml": STROKE} if files is None else files).items():
            file = tmp_path / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8", newline="")
        return load(tmp_path)

    return made


@pytest.fixture
def fault_of(rule_set):
    """The one problem for which a folder is refused, said in every language."""

    def problem(files):
        with pytest.raises(DataFault) as fault:
            rule_set(files)
        (found,) = fault.value.problems
        for language in LANGUAGES:
            assert explain(fault.value, language).startswith(f"{found.where}: ")
        return found

    return problem


def line_of(text, start):
    """The number of the line that begins like this."""
    (number,) = [number for number, line in enumerate(text.splitlines(), start=1) if line.startswith(start)]
    return number


# -- what a file says


def test_a_rule_is_named_by_the_path_of_its_file(rule_set):
    rules = rule_set({"us/stroke.toml": STROKE, "ca-qc/r32/lining/thin.toml": STROKE}).rules
    assert list(rules) == ["ca-qc.r32.lining.thin", "us.stroke"]
    assert [rule.id for rule in rules.values()] == list(rules)
    assert [rule.jurisdiction for rule in rules.values()] == ["ca-qc", "us"]


def test_a_rule_keeps_its_figures_exactly_as_both_systems_print_them(rule_set):
    (value,) = rule_set().rules["us.stroke"].values
    (row,) = value.rows
    assert (row.figure.customary.value, row.figure.metric.value) == (Fraction(7, 4), Fraction(445, 10))
    assert (str(row.figure.customary), str(row.figure.metric)) == ("1 3/4 in", "44.5 mm")
    assert (row.as_printed, row.basis, value.cited) == ("1 3/4 (44.5)", "found", "49 CFR 393.47(e)")
    assert (value.effective_from, value.ends) == (date(2012, 9, 5), None)


def test_a_single_word_is_a_list_of_one(rule_set):
    assert rule_set().rules["us.stroke"].applies == {"brake": ("air_drum",)}


@pytest.mark.parametrize(
    ("row_basis", "value_basis", "basis"),
    [("memory", "secondary", "memory"), (None, "secondary", "secondary"), (None, None, "found")],
)
def test_a_figures_basis_is_its_rows_else_its_values_else_its_rules(row_basis, value_basis, basis, rule_set):
    text = STROKE + (f'basis = "{value_basis}"\n' if value_basis else "")
    text += '\n[[value.row]]\nwhen = { type = "20" }\nas_printed = "2"\ncustomary = { value = 2, unit = "in" }\n'
    text += f'basis = "{row_basis}"\n' if row_basis else ""
    (row,) = rule_set({"us/stroke.toml": text}).rules["us.stroke"].values[0].rows
    assert (row.basis, row.when, str(row.figure.customary)) == (basis, {"type": ("20",)}, "2 in")


def test_a_rule_may_borrow_the_rows_in_force_in_another(rule_set):
    borrower = STROKE.replace('basis = "found"', 'basis = "found"\nsame_limit_as = "us.stroke"')
    borrower = "\n".join(line for line in borrower.splitlines() if not line.startswith(("customary", "metric")))
    borrower = borrower.replace("2012-09-05", "2020-06-01")
    rules = rule_set({"us/stroke.toml": STROKE + LATER_VALUE, "us/annual.toml": borrower}).rules
    assert rules["us.annual"].values[0].rows == rules["us.stroke"].values[1].rows


def test_a_rule_may_not_borrow_from_before_the_other_was_in_force(fault_of):
    borrower = STROKE.replace('basis = "found"', 'basis = "found"\nsame_limit_as = "us.stroke"')
    borrower = "\n".join(line for line in borrower.splitlines() if not line.startswith(("customary", "metric")))
    borrower = borrower.replace("2012-09-05", "2012-09-04")
    found = fault_of({"us/stroke.toml": STROKE, "us/annual.toml": borrower})
    assert (found.slug, found.details["day"]) == ("values_out_of_order", date(2012, 9, 4))
    assert found.where == f"rules/data/us/annual.toml, line {line_of(borrower, 'effective_from')}"


def test_windows_ranges_and_alternatives_become_quantities(rule_set):
    text = STROKE.replace('basis = "found"', f'basis = "found"\n{SIZES}', 1)
    rule = rule_set({"us/stroke.toml": text}).rules["us.stroke"]
    assert [str(size) for size in (*rule.window.reservoir, *rule.over, rule.plus)] == [
        "80 psi",
        "100 psi",
        "85 psi",
        "100 psi",
        "6.4 mm",
    ]
    assert (rule.window.engine, rule.percent, str(rule.either.figure.metric)) == ("off", Fraction(4, 5), "1 mm")


def test_conditions_are_read_from_their_own_folder(rule_set):
    made = rule_set({"us/leak.toml": LEAK, "conditions/hose_leak.toml": CONDITION})
    assert list(made.rules) == ["us.leak"]
    condition = made.conditions["hose_leak"]
    assert (condition.name, condition.part, condition.breaches) == ("hose_leak", "air", ("us.leak",))


@pytest.mark.parametrize(
    ("name", "brake", "spring_brake", "can_be"),
    [
        ("rotor_cracked", "air_disc", None, True),
        ("rotor_cracked", "air_drum", True, False),
        ("drum_cracked", "air_disc", None, False),
        ("drum_cracked", "hydraulic_drum", None, True),
        ("cam_flipped", "air_wedge", None, False),
        ("spring_brake_caged", "air_drum", False, False),
        ("spring_brake_caged", "air_drum", True, True),
        ("spring_brake_caged", "air_drum", None, True),
        ("lining_loose", "electric", False, True),
    ],
)
def test_a_condition_can_be_seen_only_where_there_is_what_it_is_about(name, brake, spring_brake, can_be):
    """A drum brake has no rotor, a disc brake no drum; what the record leaves open can be (common practice)."""
    assert shipped().conditions[name].can_be_at(brake, spring_brake=spring_brake) is can_be


def test_files_of_other_kinds_are_left_alone(rule_set):
    assert list(rule_set({"us/stroke.toml": STROKE, "us/README.md": "# Not a rule"}).rules) == ["us.stroke"]


def test_the_trade_everywhere_is_no_place_a_unit_runs_in(rule_set):
    made = rule_set({"us/stroke.toml": STROKE, "trade/habit.toml": STROKE, "ca-qc/x.toml": STROKE})
    assert made.jurisdictions == {"us", "ca-qc"}


# -- broken files


def changed(old, new):
    assert STROKE.count(old) == 1, "the change must be to one place"
    return STROKE.replace(old, new)


BROKEN = {
    "an unknown key": (
        changed('layer = "operate"', 'layer = "operate"\ncolour = "red"'),
        ("bad_data_entry", "colour = ", {"key": "colour"}),
    ),
    "an unknown key of a value": (
        changed('locator = "393.47(e)"', 'locator = "393.47(e)"\nchapter = "4"'),
        ("bad_data_entry", "chapter", {"key": "value.0.chapter"}),
    ),
    "a word that is no layer": (
        changed('layer = "operate"', 'layer = "federal"'),
        ("bad_data_entry", "layer", {"key": "layer"}),
    ),
    "a word that is no outcome of a breach": (
        changed('then = "fix"', 'then = "good"'),
        ("bad_data_entry", "then", {"key": "then"}),
    ),
    "a word that is no basis": (
        changed('basis = "found"', 'basis = "hearsay"'),
        ("bad_data_entry", "basis", {"key": "basis"}),
    ),
    "a day in quotation marks": (
        changed("effective_from = 2012-09-05", 'effective_from = "2012-09-05"'),
        ("bad_data_entry", "effective_from", {"key": "value.0.effective_from"}),
    ),
    "a condition nobody can ask about": (
        changed('applies = { brake = "air_drum" }', 'applies = { colour = "red" }'),
        ("bad_data_entry", "applies", {"key": "colour"}),
    ),
    "an unknown source": (
        changed('source = "cfr-49-393"', 'source = "cfr-49-999"'),
        ("unknown_source", "source", {"source": "cfr-49-999"}),
    ),
    "an unknown second source": (
        changed('locator = "393.47(e)"', 'locator = "393.47(e)"\nalso = [{ source = "nowhere", locator = "1" }]'),
        ("unknown_source", "also", {"source": "nowhere"}),
    ),
    "a limit like that of a rule that is not there": (
        changed('then = "fix"', 'then = "fix"\nsame_limit_as = "elsewhere.stroke"'),
        ("unknown_rule", "same_limit_as", {"rule": "elsewhere.stroke"}),
    ),
    "yielding to a rule that is not there": (
        changed('then = "fix"', 'then = "fix"\nunless_listed_in = "elsewhere.stroke"'),
        ("unknown_rule", "unless_listed_in", {"rule": "elsewhere.stroke"}),
    ),
    "a limit without a figure": (
        changed(
            'customary = { value = "1 3/4", unit = "in" }\nmetric = { value = 44.5, unit = "mm" }\n',
            "",
        ),
        ("bad_data_entry", "as_printed", {"key": "metric, customary"}),
    ),
    "values out of order": (
        STROKE + LATER_VALUE.replace("2020-01-01", "2012-09-04"),
        ("values_out_of_order", None, {"day": date(2012, 9, 4)}),
    ),
    "two values from one day": (
        STROKE + LATER_VALUE.replace("2020-01-01", "2012-09-05"),
        ("values_out_of_order", None, {"day": date(2012, 9, 5)}),
    ),
    "a figure that is no quantity": (
        changed('value = "1 3/4", unit = "in"', 'value = "one", unit = "in"'),
        ("bad_data_entry", None, {"key": "one in"}),
    ),
    "no value at all": (
        STROKE.partition("[[value]]")[0],
        ("bad_data_entry", None, {"key": "value"}),
    ),
}
"""A file, and for it the slug, how the line named begins, and the details; None where no one line is at fault."""


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_refused_with_file_line_and_key(name, fault_of):
    text, (slug, start, details) = BROKEN[name]
    found = fault_of({"us/stroke.toml": text})
    assert found.slug == slug
    assert details.items() <= found.details.items()
    if start is None:
        assert found.where.startswith("rules/data/us/stroke.toml, line ")
    else:
        assert found.where == f"rules/data/us/stroke.toml, line {line_of(text, start)}"


@pytest.mark.parametrize(
    "key",
    ["label", "quantity", "comparator", "layer", "then", "basis", "as_printed", "source", "locator", "effective_from"],
)
def test_a_missing_key_is_refused_by_its_name(key, fault_of):
    text = "\n".join(line for line in STROKE.splitlines() if not line.startswith(key))
    found = fault_of({"us/stroke.toml": text})
    assert (found.slug, found.details["key"].rpartition(".")[2]) == ("bad_data_entry", key)
    assert found.where.startswith("rules/data/us/stroke.toml, line ")


def test_a_label_in_one_language_only_is_refused(fault_of):
    text = "\n".join(line for line in STROKE.splitlines() if not line.startswith("label.es"))
    assert fault_of({"us/stroke.toml": text}).details["key"] == "label.es"


@pytest.mark.parametrize(
    ("broken", "line"),
    [
        ('then = "fix', 7),
        ('then = "fix"\nthen = "watch"', 8),
        ("then : fix", 7),
    ],
    ids=["a text without its end", "a key written twice", "not TOML"],
)
def test_what_is_no_toml_is_refused_with_its_file_and_line(broken, line, fault_of):
    found = fault_of({"us/stroke.toml": changed('then = "fix"', broken)})
    assert (found.slug, found.where) == ("bad_data_entry", "rules/data/us/stroke.toml")
    assert f"at line {line}," in found.details["reason"]


def test_a_condition_that_breaches_a_rule_that_is_not_there_is_refused(fault_of):
    found = fault_of({"conditions/hose_leak.toml": CONDITION})
    assert (found.slug, found.details) == ("unknown_rule", {"rule": "us.leak"})
    line = line_of(CONDITION, '  "us.leak"')
    assert found.where == f"rules/data/conditions/hose_leak.toml, line {line}"


def test_a_condition_may_breach_no_rule_that_measures(fault_of):
    found = fault_of({"us/leak.toml": STROKE, "conditions/hose_leak.toml": CONDITION})
    assert (found.slug, found.details) == ("unknown_rule", {"rule": "us.leak"})


def test_a_condition_of_no_known_part_is_refused_at_its_line(fault_of):
    text = CONDITION.replace('"air"', '"weather"')
    found = fault_of({"us/leak.toml": LEAK, "conditions/hose_leak.toml": text})
    assert (found.slug, found.where) == ("bad_data_entry", "rules/data/conditions/hose_leak.toml, line 3")


# -- the edition


TWO_FILES = {"us/stroke.toml": STROKE, "us/leak.toml": LEAK}


def test_the_same_files_make_the_same_edition_wherever_they_lie(tmp_path):
    for folder, order in (("one", 1), ("two", -1)):
        for path, text in list(TWO_FILES.items())[::order]:
            file = tmp_path / folder / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
    assert load(tmp_path / "one").edition == load(tmp_path / "two").edition


def test_what_is_no_rule_does_not_move_the_edition(rule_set, tmp_path):
    before = rule_set(TWO_FILES).edition
    assert rule_set({"us/README.md": "# Read me"}).edition == before


@pytest.mark.parametrize(
    "change",
    [
        {"us/stroke.toml": STROKE.replace("44.5", "44.6")},
        {"us/stroke.toml": STROKE + "# a remark\n"},
        {"us/stroke.toml": STROKE.replace("layer = ", "layer  = ")},
        {"us/stroke.toml": STROKE.removesuffix("\n")},
        {"us/leak.toml": LEAK.replace("Fuga", "fuga")},
        {"us/new.toml": LEAK},
        {"conditions/hose_leak.toml": CONDITION},
    ],
    ids=["a figure", "a remark", "a blank", "the last line's end", "a label", "a rule more", "a condition more"],
)
def test_any_change_to_the_files_makes_another_edition(change, rule_set):
    before = rule_set(TWO_FILES).edition
    assert rule_set(change).edition != before


def test_a_rule_that_moves_makes_another_edition(rule_set, tmp_path):
    before = rule_set(TWO_FILES).edition
    (tmp_path / "us/stroke.toml").rename(tmp_path / "us/strokes.toml")
    assert load(tmp_path).edition != before


def test_text_that_moves_from_one_file_to_the_next_makes_another_edition(rule_set):
    """The files are not merely written one behind the other."""
    before = rule_set({"us/a.toml": STROKE + "# remark\n", "us/b.toml": LEAK}).edition
    assert rule_set({"us/a.toml": STROKE, "us/b.toml": "# remark\n" + LEAK}).edition != before


def test_an_edition_is_short_enough_to_print_and_compare():
    edition = shipped().edition
    assert len(edition) == 12
    assert set(edition) <= set("0123456789abcdef")


def test_the_shipped_rules_are_loaded_once():
    assert shipped() is shipped()


def test_the_helper_finds_one_line_or_none():
    text = textwrap.dedent("a = 1\nb = 2\nab = 3\n")
    assert line_of(text, "b") == 2
    with pytest.raises(ValueError, match="too many"):
        line_of(text, "a")
