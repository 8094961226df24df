"""Django's settings: one SQLite store by default, the pages on this machine only."""

from __future__ import annotations

from eggtooth.records.place import secret_key, store_path

STORE = store_path()
SECRET_KEY = secret_key(STORE)
DEBUG = False
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]

INSTALLED_APPS = ["django.contrib.staticfiles", "eggtooth.records.apps.RecordsConfig", "eggtooth.web"]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "eggtooth.web.headers.strict",
]
ROOT_URLCONF = "eggtooth.web.urls"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True

DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": STORE,
        "OPTIONS": {
            # A writer takes the lock when it begins, not half-way, so that two never block each other.
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,  # seconds to wait for the other writer
            # WAL: readers go on while one writes. FULL: what was answered "kept" survives a power cut.
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-65536;",
        },
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"  # moments of noting; what the room's clock showed is kept as text
USE_I18N = False
CSRF_COOKIE_SAMESITE = "Strict"
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
