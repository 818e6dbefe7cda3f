"""A shop's folder: outside the source tree, its owner's alone, and with a key that stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from treadle.web.data_folder import default_data_folder, in_source_tree, make_private, secret_key, source_tree
from treadle.web.first_start import KEPT, close_first_start, open_first_start, token_fits


@pytest.mark.parametrize(
    ("platform", "environment", "expected"),
    [
        ("linux", {}, "home/.local/share/treadle"),
        ("linux", {"XDG_DATA_HOME": "data"}, "data/treadle"),
        ("darwin", {"XDG_DATA_HOME": "data"}, "home/Library/Application Support/treadle"),
        ("win32", {}, "home/AppData/Local/treadle"),
        ("win32", {"LOCALAPPDATA": "local"}, "local/treadle"),
    ],
)
def test_data_goes_where_each_system_keeps_it(platform, environment, expected):
    # XDG base directory specification; Apple's file system guide; Windows' known folders.
    found = default_data_folder(environment=environment, home=Path("home"), platform=platform)
    assert found.as_posix() == expected


def test_the_source_tree_is_no_place_for_records(tmp_path):
    tree = source_tree()
    assert (tree / "pyproject.toml").exists()
    assert in_source_tree(tree / "data")
    assert in_source_tree(tree)
    assert not in_source_tree(tmp_path)
    assert not in_source_tree(tree.parent)


def test_a_link_into_the_source_tree_is_seen_through(tmp_path):
    (tmp_path / "looks-outside").symlink_to(source_tree() / "docs")
    assert in_source_tree(tmp_path / "looks-outside")


def test_a_folder_is_its_owners_alone_even_if_it_was_open_before(tmp_path):
    folder = tmp_path / "open"
    folder.mkdir(mode=0o755)
    make_private(folder)
    make_private(tmp_path / "new" / "deep")
    assert [(path.stat().st_mode & 0o777) for path in (folder, tmp_path / "new" / "deep")] == [0o700, 0o700]


def test_the_key_is_made_once_long_and_its_owners_alone(tmp_path):
    first = secret_key(tmp_path)
    assert secret_key(tmp_path) == first
    assert len(first) >= 50
    assert (tmp_path / "secret-key").stat().st_mode & 0o777 == 0o600
    (other := tmp_path / "other").mkdir()
    assert secret_key(other) != first


# -- the first start


def test_the_token_of_the_first_start_fits_and_no_other_does(tmp_path):
    token = open_first_start(tmp_path)
    assert token_fits(tmp_path, token)
    assert not token_fits(tmp_path, token[:-1])
    assert not token_fits(tmp_path, "")
    assert not token_fits(tmp_path, "é" * 32)


def test_only_the_last_token_fits(tmp_path):
    earlier, last = open_first_start(tmp_path), open_first_start(tmp_path)
    assert not token_fits(tmp_path, earlier)
    assert token_fits(tmp_path, last)


def test_no_token_fits_once_the_shop_has_its_lead_or_before_any_was_made(tmp_path):
    assert not token_fits(tmp_path, "")
    token = open_first_start(tmp_path)
    close_first_start(tmp_path)
    close_first_start(tmp_path)
    assert not token_fits(tmp_path, token)


def test_the_token_itself_is_kept_nowhere(tmp_path):
    token = open_first_start(tmp_path)
    assert token not in (tmp_path / KEPT).read_text()
    assert (tmp_path / KEPT).stat().st_mode & 0o777 == 0o600
