"""Every word and every mark can be read in both themes; hues stand in the themes and nowhere else.

The figures are those of the Web Content Accessibility Guidelines 2.2: 4.5 to 1 for text (success criterion 1.4.3),
3 to 1 for the edge of a control (1.4.11), reckoned by their relative luminance.
"""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from treadle.rules.model import OUTCOMES

SHEET = files("treadle.web.base").joinpath("static/treadle/treadle.css").read_text(encoding="utf-8")
REPORT = files("treadle.reports").joinpath("report.css").read_text(encoding="utf-8")
THEMES = {"light": "\n:root {", "dark": '\n:root[data-theme="dark"] {'}
BY_SYSTEM = ':root:not([data-theme="light"]) {'
TINTED = tuple(f"{outcome}-tint" for outcome in OUTCOMES)


def luminance(hue):
    parts = [int(hue[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def hues_after(beginning, sheet=SHEET):
    block = sheet.partition(beginning)[2].partition("}")[0]
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", block))


PAIRS = [
    *[(outcome, ground) for outcome in OUTCOMES for ground in ("card", "paper")],
    *[(outcome, f"{outcome}-tint") for outcome in OUTCOMES],
    *[("ink", ground) for ground in ("card", "paper", "pad", *TINTED)],
    *[("soft", ground) for ground in ("card", "paper", "pad")],
    *[("on-bar", "bar"), ("bar-soft", "bar"), ("on-bar", "bar-field"), ("bar-soft", "bar-field")],
    *[("on-steel", "steel"), ("card", "ink"), ("on-here", "here"), ("on-hold", "hold-fill")],
]
"""What is written on what."""


def too_faint(hues, pairs, least):
    return [
        f"--{text} on --{ground}: {contrast(hues[text], hues[ground]):.2f}; make it {least} or more."
        for text, ground in pairs
        if contrast(hues[text], hues[ground]) < least
    ]


def test_contrast_is_reckoned_as_the_guidelines_do():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", THEMES)
def test_everything_written_can_be_read(theme):
    assert too_faint(hues_after(THEMES[theme]), PAIRS, 4.5) == []


@pytest.mark.parametrize("theme", THEMES)
def test_the_edge_of_every_control_can_be_seen(theme):
    edges = [("edge", ground) for ground in ("card", "paper", "pad")]
    assert too_faint(hues_after(THEMES[theme]), edges, 3) == []


def test_a_hue_too_faint_is_found():
    hues = hues_after(THEMES["light"]) | {"fix": "#d9824f"}
    assert [line.partition(":")[0] for line in too_faint(hues, PAIRS, 4.5)] == [
        "--fix on --card",
        "--fix on --paper",
        "--fix on --fix-tint",
    ]


def test_the_five_hues_differ_within_a_theme_and_between_the_themes():
    shown = [hues_after(beginning)[outcome] for beginning in THEMES.values() for outcome in OUTCOMES]
    assert len(set(shown)) == 2 * len(OUTCOMES)


def test_the_dark_theme_is_the_same_chosen_or_from_the_device():
    assert hues_after(BY_SYSTEM) == hues_after(THEMES["dark"])


def test_both_themes_give_every_hue():
    assert hues_after(THEMES["light"]).keys() == hues_after(THEMES["dark"]).keys()


@pytest.mark.parametrize("theme", THEMES)
def test_screens_have_the_hues_of_the_report(theme):
    beginning = {"light": "\n.report,\n.report-page {", "dark": '\n:root[data-theme="dark"] .report-page {'}[theme]
    report = hues_after(beginning, REPORT)
    ours = hues_after(THEMES[theme])
    shared = report.keys() & ours.keys() - {"steel"}
    assert set(OUTCOMES) < shared
    assert {name: ours[name] for name in shared} == {name: report[name] for name in shared}


def hues_outside_the_themes(sheet):
    ruled = re.sub(r"--[\w-]+: #[0-9a-f]{6};", "", re.sub(r"/\*.*?\*/", "", sheet, flags=re.DOTALL))
    return re.findall(r"#[0-9a-f]{3,8}\b(?=[^{}]*})|\brgba?\([^)]*\)", ruled)


def test_hues_stand_in_the_themes_alone():
    assert hues_outside_the_themes(SHEET) == []
    assert hues_outside_the_themes(".key { color: #ff0000; }\n:root { --ink: #1b1f23; }") == ["#ff0000"]


def names_not_given(sheet):
    given = set(re.findall(r"(--[\w-]+):", sheet))
    return sorted(set(re.findall(r"var\((--[\w-]+)", sheet)) - given)


def test_every_hue_asked_for_is_given():
    assert names_not_given(SHEET) == []
    assert names_not_given(":root { --ink: #1b1f23; } a { color: var(--inc); }") == ["--inc"]


def test_the_typeface_is_the_one_shipped_with_the_reports():
    asked = re.findall(r'url\("\.\./fonts/([^"]+)"\)', SHEET)
    shipped = {path.name for path in files("treadle.reports").joinpath("fonts").iterdir()}
    assert len(asked) == 2
    assert set(asked) <= shipped
    assert SHEET.count("url(") == len(asked)
