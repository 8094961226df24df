"""Django's settings: one SQLite store unless `EGGTOOTH_DATABASE` names another, the pages here only."""

from __future__ import annotations

import os

from eggtooth.records.databases import database
from eggtooth.records.place import database_address, secret_key, store_path

STORE = store_path()
SECRET_KEY = secret_key(STORE)
DEBUG = False
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", *os.environ.get("EGGTOOTH_HOSTS", "").split()]
HTTPS = os.environ.get("EGGTOOTH_HTTPS") == "1"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
# With this prefix a browser takes a cookie only over https, from this very host, and for the whole site.
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = (
    f"{'__Host-' if HTTPS else ''}{n}" for n in ("sessionid", "csrftoken")
)
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
if os.environ.get("EGGTOOTH_PROXY") == "1":  # a door of one's own stands before the pages and says so
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "eggtooth.records.apps.RecordsConfig",
    "eggtooth.web",
]
AUTH_USER_MODEL = "records.Person"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}", "OPTIONS": options}
    for name, options in (
        ("UserAttributeSimilarityValidator", {"user_attributes": ["name"]}),
        ("MinimumLengthValidator", {"min_length": 12}),
    )
] + [{"NAME": "eggtooth.records.passwords.CommonWithin"}]
LOGIN_URL = "/sign-in"
SESSION_COOKIE_AGE = 30 * 24 * 3600  # a month: the phone in the room should not ask every evening
SESSION_COOKIE_SAMESITE = "Strict"
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "eggtooth.web.headers.strict",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "eggtooth.web.doors.Doors",
]
ROOT_URLCONF = "eggtooth.web.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "eggtooth.web.first_page.invented",
            ],
            "builtins": [
                "django.templatetags.i18n",
                "eggtooth.web.days",
                "eggtooth.web.names",
                "eggtooth.web.speech",
            ],
        },
    }
]
LANGUAGE_CODE = "en-gb"
# One catalogue each for English and German; the kinds of English differ in how a date is written.
LANGUAGES = [
    ("en-gb", "English"),
    ("en", "English (US)"),
    ("en-au", "English (Australia)"),
    ("en-ca", "English (Canada)"),
    ("en-ie", "English (Ireland)"),
    ("de", "Deutsch"),
]
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True

DATABASES = {"default": database(STORE, database_address())}
LOGGING = {  # what went wrong behind a page is told to whoever runs the server
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"stderr": {"class": "logging.StreamHandler"}},
    "loggers": {
        "django.request": {"handlers": ["stderr"], "level": "ERROR", "propagate": False},
        "eggtooth.doors": {"handlers": ["stderr"], "level": "WARNING"},
    },
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"  # moments of noting; what the room's clock showed is kept as text
USE_I18N = True
CSRF_COOKIE_SAMESITE = "Strict"
CSRF_FAILURE_VIEW = "eggtooth.web.stale_page.refused"
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
