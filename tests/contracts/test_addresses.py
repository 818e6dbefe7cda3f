"""No file holds the address of a package registry, or the path of somebody's machine."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from contracts.tree import files_of_the_tree, shown

# Each pattern is broken by brackets, so that this file does not hold what it looks for.
REGISTRY = re.compile(
    r"py[p]i\.org|test\.py[p]i|pythonh[o]sted\.org|registry\.npmj[s]|conda\.anac[o]nda"
    r"|(?<!no-emit-)index-[u]rl\b"
)
MACHINE = re.compile(
    r"(?<![\w.:/-])/(?:h[o]me|r[o]ot|U[s]ers|t[m]p|w[o]rk|m[n]t|o[p]t|w[o]rkspace|var/f[o]lders)/\w|\b[A-Z]:\\\w"
)


def addresses_in(paths: Iterable[Path]) -> list[str]:
    """Each line with an address or path that belongs to no checkout, with what to do."""
    out = []
    for path in paths:
        try:
            lines = path.read_text(encoding="utf-8").splitlines()
        except UnicodeDecodeError:
            continue  # a typeface, a picture
        for number, line in enumerate(lines, start=1):
            if REGISTRY.search(line):
                out.append(f"{shown(path)}:{number}: the address of a registry. Leave it out; each user has their own.")
            if MACHINE.search(line):
                out.append(f"{shown(path)}:{number}: a path of one machine. Write it from the root of the project.")
    return out


def test_no_file_holds_the_address_of_a_registry_or_the_path_of_a_machine():
    assert addresses_in(files_of_the_tree()) == []


@pytest.mark.parametrize(
    "line",
    [
        "https://" + "pypi." + "org/simple",
        "https://files." + "python" + "hosted.org/packages/a.whl",
        "--index" + "-url https://example.org/simple",
        "source: " + "/" + "home/ab/treadle",
        "'" + "/" + "tmp/walk.json'",
        "C:" + "\\Users\\ab",
    ],
)
def test_an_address_or_path_is_found(line, tmp_path):
    path = tmp_path / "notes.md"
    path.write_text(f"\n{line}\n", encoding="utf-8")
    assert [one.partition(": ")[0] for one in addresses_in([path])] == ["notes.md:2"]


@pytest.mark.parametrize(
    "line",
    [
        "https://json-schema.org/draft/2020-12/schema",
        "uv pip compile --no-emit-index" + "-url requirements/run.in",
        "docs/home/page.md, ./tmp/x, reports/work/list",
        "left/right, and/or, mm/in",
        "https://example.org/" + "home/page",
        "ratio 1:\\2",
    ],
)
def test_what_is_no_address_of_that_kind_is_left_alone(line, tmp_path):
    path = tmp_path / "notes.md"
    path.write_text(line, encoding="utf-8")
    assert addresses_in([path]) == []


def test_a_file_that_is_no_text_is_passed_by(tmp_path):
    path = tmp_path / "face.ttf"
    path.write_bytes(b"\xff\xfe\x00\x01")
    assert addresses_in([path]) == []
