"""Django's settings; what may differ from place to place comes from `config`."""

from __future__ import annotations

import secrets
import sqlite3
from pathlib import Path
from typing import Any

from csp.constants import NONE, SELF

from treadle.web.config import config
from treadle.web.data_folder import here
from treadle.web.database import databases

_CONFIG = config()
_HERE = Path(__file__).resolve().parent
DATA = _CONFIG.data or here()

SECRET_KEY = _CONFIG.secret_key or secrets.token_urlsafe(48)
DEBUG = False
ALLOWED_HOSTS = [name.strip() for name in _CONFIG.hosts.split(",")]

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "django_htmx",
    "simple_history",
    "treadle.web.base",
    "treadle.web.people",
    "treadle.web.units",
    "treadle.web.walkaround",
    "treadle.web.bay",
    "treadle.web.dispatch",
    "treadle.web.records",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "treadle.web.server.headers.Headers",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "treadle.web.server.write_lock.WriteLock",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "treadle.web.people.middleware.ScopeAndLanguage",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "treadle.web.urls"
WSGI_APPLICATION = "treadle.web.wsgi.application"
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "treadle.web.people.context.surroundings",
            ],
        },
    },
]

DATABASES = databases(_CONFIG, DATA, sqlite3.sqlite_version_info)
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.Person"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("sign_in", "name")},
    },
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "/sign-in/"
LOGIN_REDIRECT_URL = "/"
AXES_USERNAME_FORM_FIELD = "username"  # as the sign-in form has it; left alone, tries count under no name at all
AXES_FAILURE_LIMIT = 6
AXES_COOLOFF_TIME = 0.25
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # the page says how long; trying meanwhile does not lengthen it
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "treadle.web.people.access.locked_out"
AXES_VERBOSE = False

USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = True
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es-mx", "Español")]  # Mexican Spanish keeps the decimal point

STATIC_URL = "/static/"
STATIC_ROOT = _CONFIG.static or DATA / "cache" / "static"
STATICFILES_DIRS = [("fonts", _HERE.parent / "reports" / "fonts")]
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {
            "location": DATA / "files",
            "file_permissions_mode": 0o600,
            "directory_permissions_mode": 0o700,
        },
    },
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _CONFIG.https
# Over TLS its name holds browsers to what it begins with: no other host or path may set it.
SESSION_COOKIE_NAME = "__Host-treadle" if _CONFIG.https else "treadle"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 14
CSRF_FAILURE_VIEW = "treadle.web.people.access.csrf_refused"
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024

SIMPLE_HISTORY_HISTORY_ID_USE_UUID = True

# What goes wrong is written to standard error; a page that is not there is nothing gone wrong.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING"},
        "django.request": {"level": "ERROR"},
    },
}
