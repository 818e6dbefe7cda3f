"""Django's settings for the tests: the real ones, with what makes a test slow or late to fail exchanged; a helper.

Tests that need a database get SQLite in a file of their own, since a server under test is asked by several threads.
With TREADLE_TEST_DATABASE=postgresql they get PostgreSQL: that of TREADLE_TEST_PG (an address as in
TREADLE_DATABASE_URL) where it is given, else one that is started for them and ends with them.
"""

from __future__ import annotations

import atexit
import os
import tempfile
from pathlib import Path

from web_postgresql import start_postgresql

_FOLDER = tempfile.TemporaryDirectory(prefix="treadle-test-")
atexit.register(_FOLDER.cleanup)

# The tests decide, whatever the environment of whoever runs them says; a process of theirs may be told otherwise.
for _name in ("TREADLE_DATABASE_URL", "TREADLE_HTTPS", "TREADLE_DEMO", "TREADLE_HOSTS", "TREADLE_STATIC"):
    os.environ.pop(_name, None)
os.environ["TREADLE_DATA"] = _FOLDER.name
if os.environ.get("TREADLE_TEST_DATABASE") == "postgresql":
    if "TREADLE_TEST_PG" not in os.environ:
        os.environ["TREADLE_TEST_PG"] = start_postgresql()  # workers of pytest-xdist find it there
    os.environ["TREADLE_DATABASE_URL"] = os.environ["TREADLE_TEST_PG"]

from treadle.web.settings import *  # noqa: E402, F403
from treadle.web.settings import DATABASES, STORAGES  # noqa: E402

os.environ.pop("TREADLE_DATABASE_URL", None)

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A test's database need not survive the machine; its transactions are as in the shop.
    _QUICK = {"init_command": "PRAGMA journal_mode=MEMORY;PRAGMA synchronous=OFF;"}
    DATABASES = {
        "default": {
            **DATABASES["default"],
            "TEST": {"NAME": Path(_FOLDER.name) / "test.sqlite3"},
            "OPTIONS": {**DATABASES["default"]["OPTIONS"], **_QUICK},
        }
    }

ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
SECRET_KEY = "of-the-tests-alone"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {**STORAGES, "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_AUTOREFRESH = True  # served from where they lie, so nothing need be gathered first
WHITENOISE_USE_FINDERS = True
