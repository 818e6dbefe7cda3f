"""What docstrings say of parameters is what the code takes, so that they cannot rot unseen."""

from __future__ import annotations

import ast
import textwrap

import pytest
from contracts.docstrings import Parameter, described_in, entries_of, faults_of, is_exception, sections_of
from contracts.tree import SOURCE, modules_below, parsed, shown

MODULES = [path for path in modules_below(SOURCE) if path.parent.name != "migrations"]
"""All but the migrations, which Django writes and names for what they change."""


def test_every_docstring_describes_the_parameters_its_function_takes():
    found = [
        f"{shown(path)}:{one.line}: {one.name} {fault}"
        for path in MODULES
        for one in described_in(parsed(path))
        for fault in faults_of(one)
    ]
    assert found == []


def test_parameters_are_described_at_all():
    described = [one for path in MODULES for one in described_in(parsed(path)) if "Parameters\n---" in one.docstring]
    assert len(described) >= 5


def test_every_module_opens_with_a_sentence_of_what_lives_there():
    bare = [shown(path) for path in MODULES if not (ast.get_docstring(parsed(path)) or "").strip()]
    assert bare == [], "Open it with one sentence: what lives here, and what does not."


WHOLE = '''
def area(width, *, height=1.0, unit="m"):
    """Area of a plate.

    Parameters
    ----------
    width : float
        How wide.
    height, unit : float, optional
        How high, and in what.

    Returns
    -------
    float
        The area.

    Raises
    ------
    OutOfRange
        Less than nothing.

    Examples
    --------
    >>> area(2)
    2.0
    """
'''


def faults(text):
    return [fault for one in described_in(ast.parse(textwrap.dedent(text))) for fault in faults_of(one)]


def test_a_docstring_that_says_what_the_code_says_has_no_fault():
    assert faults(WHOLE) == []
    (one,) = described_in(ast.parse(WHOLE))
    assert one.takes == (Parameter("width", False), Parameter("height", True), Parameter("unit", True))


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("width, *,", "breadth, *,", "describes width, height, unit and takes breadth, height, unit"),
        ("width, *,", "width, depth, *,", "takes width, depth, height, unit"),
        ("height, unit : float", "unit, height : float", "describes width, unit, height"),
        ("    width : float\n        How wide.\n", "", "describes height, unit"),
        ("width : float", "width", "does not say of what kind width is"),
        ("OutOfRange\n", "OutOfTown\n", "raises OutOfTown, which is no exception"),
        ("Returns\n    -------", "Gives\n    -------", "has a section Gives"),
        ("Raises\n    ------", "Parameters\n    ----------", "has its sections in the order"),
    ],
)
def test_a_docstring_that_says_otherwise_is_found(old, new, fault):
    assert WHOLE.count(old) == 1
    found = faults(WHOLE.replace(old, new))
    assert any(fault in one for one in found), found


def test_a_record_describes_its_fields_and_a_method_leaves_itself_out():
    text = '''
    class Plate:
        """A plate.

        Parameters
        ----------
        width : float
            How wide.
        """

        width: float
        height: float = 1.0
        _area: float = 0.0

        def scaled(self, by):
            """Return a larger one.

            Parameters
            ----------
            by : float
                How much.
            """
    '''
    assert faults(text) == ["describes width and takes width, height. Describe each, in that order."]


def test_an_exception_is_known_wherever_it_is_ours_and_another_class_is_not_one():
    assert is_exception("BadInput")
    assert is_exception("NoShopInScope")
    assert is_exception("ReleaseRefused")
    assert not is_exception("ShopRow")


def test_what_is_private_or_has_no_docstring_is_left_alone():
    assert list(described_in(ast.parse('def _hidden(a):\n    """Parameters."""\n\ndef bare(a):\n    return a\n'))) == []


def test_sections_and_entries_are_read_as_they_stand():
    docstring = "One line.\n\nNotes\n-----\nWords: these are no entry.\n\nRaises\n------\nBadInput\n    Always.\n"
    assert sections_of(docstring) == [("Notes", "Words: these are no entry."), ("Raises", "BadInput\n    Always.")]
    assert entries_of("a, b : int\n    Numbers.\nc\n    More.") == [("a", "int"), ("b", "int"), ("c", "")]
