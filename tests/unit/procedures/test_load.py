"""Loading procedures: those that come with Treadle, and the refusal of a broken file by file and key."""

import shutil
from importlib.resources import as_file, files

import pytest

from treadle.errors import DataFault
from treadle.procedures import edition, load, shipped
from treadle.words import LANGUAGES, catalogue, explain


@pytest.fixture
def refused(tmp_path):
    """Spoil one shipped file and return file and key of the refusal, said in every language."""

    def refusal(file, old, new):
        with as_file(files("treadle.procedures").joinpath("data")) as data:
            shutil.copytree(data, tmp_path / "data")
        path = tmp_path / "data" / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(DataFault) as fault:
            load(tmp_path / "data")
        (problem,) = fault.value.problems
        for language in LANGUAGES:
            assert problem.where in explain(fault.value, language)
        return problem.where, problem.details.get("key") or problem.details.get("source")

    return refusal


def test_the_procedures_that_come_with_treadle_are_all_there():
    assert set(shipped()) == {
        "scam_reline",
        "drum_replacement",
        "chamber_replacement",
        "adjuster_replacement",
        "find_overstroke_cause",
    }
    assert [key for key, one in shipped().items() if one.wheels_off] == ["drum_replacement", "scam_reline"]


def test_an_edition_changes_with_the_data_and_with_a_sentence(tmp_path, monkeypatch):
    with as_file(files("treadle.procedures").joinpath("data")) as data:
        shutil.copytree(data, tmp_path / "data")
    as_shipped = edition()
    assert edition(tmp_path / "data") == as_shipped
    path = tmp_path / "data" / "figures.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("100 psi", "90 psi", 1), encoding="utf-8")
    assert edition(tmp_path / "data") != as_shipped
    other_words = {code: f"{text} " for code, text in catalogue("es").items()}
    monkeypatch.setattr("treadle.procedures.read.catalogue", lambda language: other_words)
    assert edition() != as_shipped


STEP = "steps/make_safe.toml"


@pytest.mark.parametrize(
    ("file", "old", "new", "key"),
    [
        ("scam_reline.toml", "cautions = [", "cautions = ", ""),
        ("scam_reline.toml", '"makers_prevail", ', "", "cautions"),
        ("scam_reline.toml", '"qualified_person", ', "", "cautions"),
        ("scam_reline.toml", '"both_ends"', '"made_up"', "procedure.caution.made_up"),
        ("scam_reline.toml", '"make_safe.level"', '"make_safe.made_up"', "steps"),
        ("scam_reline.toml", '"make_safe.level"', '"make_safe.chocks"', "steps"),
        ("scam_reline.toml", '"make_safe.level"', '"find.cause"', "steps"),
        ("scam_reline.toml", "steps = [", "extra = 1\nsteps = [", "extra"),
        (STEP, "[level]", "[levelled]", "procedure.make_safe.levelled.action"),
        (STEP, '["truck_chocks"]', '["made_up"]', "procedure.tool.made_up"),
        (STEP, '["roll_away"]', '["made_up"]', "level.hazards"),
        (STEP, 'figures = ["system_pressure"]', 'figures = ["made_up"]', "pressure.figures"),
        (STEP, 'at_least = "system_pressure"', 'at_least = "made_up"', "pressure.measure"),
        (STEP, 'kind = "reservoir"', 'kind = "made_up"', "pressure.measure"),
        (STEP, 'hold = ["measurement"]', "", "pressure.measure"),
        (STEP, 'hold = ["confirm"]', 'hold = ["measurement"]', "chocks.measure"),
        (STEP, 'hold = ["confirm"]', 'hold = ["made_up"]', "chocks.hold.0"),
        (STEP, 'when.suspension = ["air"]', 'when.colour = ["air"]', "suspension_air.when.colour"),
        (STEP, 'like = "suspension_air"', 'like = "made_up"', "procedure.make_safe.made_up.purpose"),
        ("steps/refit.toml", "torque = true", "torque = false", "torque.torque"),
        ("hazards.toml", 'basis = "practice"', 'basis = "found"', "spring_held_by_air.cites"),
        ("hazards.toml", "[roll_away]", "[made_up]", "procedure.hazard.made_up"),
        ("hazards.toml", 'source = "sae-j348"', 'source = "made-up"', "made-up"),
        ("torque.toml", 'lubrication = "dry"', 'lubrication = "wet"', "hub_m22_newsletter.lubrication"),
        ("torque.toml", 'high = "500 lbf·ft"', 'high = "500 psi"', "hub_m22.high"),
        ("figures.toml", 'low = "100 psi"', 'low = "100"', "system_pressure.low"),
        ("figures.toml", 'high = "100 psi"', 'high = "100 in"', "stroke_pressure.high"),
        ("figures.toml", 'source = "common-practice"', 'source = "made-up"', "made-up"),
    ],
)
def test_a_broken_file_is_refused_with_its_name_and_key(file, old, new, key, refused):
    assert refused(file, old, new) == (f"procedures/data/{file}", key or None)
