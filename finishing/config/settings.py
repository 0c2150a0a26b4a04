"""Django settings: the embedded default (SQLite, no service), changed by the environment."""

import os
import secrets
import zoneinfo
from pathlib import Path
from urllib.parse import urlsplit

from finishing.config.environment import WholeNumber, whole_numbers
from finishing.config.hosts import allowed_hosts
from finishing.config.mail import mailers

zoneinfo.reset_tzpath(())  # zones from the pinned package only: calendars differ by machine else

BASE_DIR = Path(__file__).resolve().parents[2]
VAR_DIR = Path(os.environ.get("COATWEAVE_VAR", BASE_DIR / "var"))
"""Where the database and the machine's own keys live; not in the repository."""

PHOTO_DIR = VAR_DIR / "photos"
"""What crews have photographed, by company; only its own people are shown it."""

FEED_DIR = VAR_DIR / "feeds"
"""The last bytes of each calendar feed, which answer while the database fails."""


def _own_key(name: str) -> str:
    """Return the key of this installation, made on first use and readable by its owner only."""
    path = VAR_DIR / name
    if not path.exists():
        VAR_DIR.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(48) + "\n")
    return path.read_text(encoding="ascii").splitlines()[0]


DEBUG = os.environ.get("COATWEAVE_DEBUG") == "1"
SECRET_KEY = os.environ.get("COATWEAVE_SECRET_KEY") or _own_key("secret_key")
LINK_KEY = os.environ.get("COATWEAVE_LINK_KEY") or _own_key("link_key")
"""Makes secret addresses; a key of its own, so that sessions and links change apart."""
FORMER_LINK_KEYS = os.environ.get("COATWEAVE_FORMER_LINK_KEYS", "").split()
"""Keys that addresses were made with before, so that those can be shown again; what was given out
works without them too."""
SEAL_KEY = os.environ.get("COATWEAVE_SEAL_KEY") or _own_key("seal_key")
"""Encrypts what has to be had again: webhooks' secrets, passwords of calendar servers."""
FORMER_SEAL_KEYS = os.environ.get("COATWEAVE_FORMER_SEAL_KEYS", "").split()
"""Keys that still open what was encrypted with them."""
ALLOWED_HOSTS = os.environ.get("COATWEAVE_HOSTS", "127.0.0.1,localhost,[::1]").split(",")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "finishing",
    "scheduling",
    "api.web",
    "api.rest",
    "drf_spectacular",
    "drf_spectacular_sidecar",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "finishing.config.urls"
WSGI_APPLICATION = "finishing.config.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "api.access.shown_rights",
            ]
        },
    }
]
SECURE_CSP = {"default-src": ["'self'"], "frame-ancestors": ["'none'"], "form-action": ["'self'"]}
SECURE_REFERRER_POLICY = "same-origin"

DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": VAR_DIR / "coatweave.sqlite3",
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
        },
    }
}
if CACHE_URL := os.environ.get("COATWEAVE_CACHE_URL", ""):
    CACHES = {
        "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CACHE_URL}
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "finishing.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}", "OPTIONS": options}
    for name, options in (
        ("UserAttributeSimilarityValidator", {}),
        ("MinimumLengthValidator", {"min_length": 12}),
        ("CommonPasswordValidator", {}),
        ("NumericPasswordValidator", {}),
    )
]
OTP_TOTP_ISSUER = "Coatweave"
"""What a phone calls the codes."""
PASSWORD_RESET_TIMEOUT = 60 * 60
"""How long the link of a forgotten password is good, in seconds."""
LOGIN_URL = "web:sign_in"
LOGIN_REDIRECT_URL = "web:today"
LOGOUT_REDIRECT_URL = "web:sign_in"

DATA_UPLOAD_MAX_NUMBER_FIELDS = 20_000
"""The rows of an area's rooms have 15 fields each: Django's 1,000 would be 66 rooms."""

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LOCALE_PATHS = [BASE_DIR / "finishing" / "config" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"
STATIC_URL = "static/"
WHITENOISE_USE_FINDERS = True
"""Static files come straight from the packages that ship them: nothing to collect first."""

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.rest.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_THROTTLE_CLASSES": ["api.rest.throttling.PerMinute"],
    "DEFAULT_PARSER_CLASSES": ["api.rest.parsers.BoundedJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_METADATA_CLASS": None,
    "DEFAULT_SCHEMA_CLASS": "api.rest.schema.Description",
    "EXCEPTION_HANDLER": "api.rest.errors.problem_response",
    "URL_FORMAT_OVERRIDE": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Coatweave",
    "DESCRIPTION": "Plans of plasterboard finishing crews. Errors are RFC 9457 problems.",
    "VERSION": "1",
    "SCHEMA_PATH_PREFIX": "/api/v1/",
    "SERVE_INCLUDE_SCHEMA": False,
    "POSTPROCESSING_HOOKS": [],  # words stand where they are asked for, under no made-up name
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
}

_NUMBERS = whole_numbers(
    os.environ,
    {
        "COATWEAVE_SOLVER_MEMORY_MB": WholeNumber(default=4096, least=1, most=1_000_000),
        "COATWEAVE_FORECAST_MINUTES": WholeNumber(default=60, least=0, most=7 * 24 * 60),
        "COATWEAVE_HSTS_SECONDS": WholeNumber(default=0, least=0, most=63_072_000),
        "COATWEAVE_MAIL_PORT": WholeNumber(default=0, least=1, most=65_535),
        "COATWEAVE_API_PER_MINUTE": WholeNumber(default=600, least=1, most=1_000_000),
    },
)
SOLVER_MEMORY_MB = _NUMBERS["COATWEAVE_SOLVER_MEMORY_MB"]
"""Address space the solver's child process may use."""
API_PER_MINUTE = _NUMBERS["COATWEAVE_API_PER_MINUTE"]
"""Requests to the API that a token, or a person, may send in a minute."""
CURE_PRICES = {"crew_day": 8.0, "overtime": 1.5, "compound": 2.0, "release": 4.0, "dryer": 1.0}
"""Plain weights by which things that would help a late house are ranked where they save as many
days: an extra day of a crew, an hour more on one day, another compound, a day's earlier opening, a
dehumidifier (twice that where all there are stand elsewhere)."""
SITE_URL = os.environ.get("COATWEAVE_SITE_URL", "http://127.0.0.1:8000")
"""Where links in calendar entries and command output point."""
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SITE_URL.startswith("https://")
"""Cookies go over TLS alone where the site has it."""
CSRF_TRUSTED_ORIGINS = [SITE_URL] if SESSION_COOKIE_SECURE else []
"""A proxy that ends TLS asks this process over plain HTTP, and forms still come from https."""
SECURE_HSTS_SECONDS = _NUMBERS["COATWEAVE_HSTS_SECONDS"]
if SESSION_COOKIE_SECURE:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

MAILERS = mailers(os.environ, port=_NUMBERS["COATWEAVE_MAIL_PORT"], timeout_s=30)
"""From COATWEAVE_MAIL_HOST, COATWEAVE_MAIL_SECURITY (starttls, tls, plain), COATWEAVE_MAIL_USER and
COATWEAVE_MAIL_PASSWORD; without a host messages are written to the console."""
MAIL_ID_HOST = urlsplit(SITE_URL).hostname or "localhost"
"""What stands behind the @ of a message's id (RFC 5322, 3.6.4)."""
DEFAULT_FROM_EMAIL = os.environ.get("COATWEAVE_MAIL_FROM") or f"coatweave@{MAIL_ID_HOST}"

WEBHOOK_HOSTS = allowed_hosts(os.environ, "COATWEAVE_WEBHOOK_HOSTS")
"""Where webhooks may be sent; nowhere while it is blank."""
CALDAV_HOSTS = allowed_hosts(os.environ, "COATWEAVE_CALDAV_HOSTS")
"""Calendar servers that visits may be put on; none while it is blank."""
CALDAV_CA_FILE = os.environ.get("COATWEAVE_CALDAV_CA_FILE", "")
"""Whom certificates of calendar servers are from, where that is an authority of one's own."""

FORECAST_URL = os.environ.get("COATWEAVE_FORECAST_URL", "")
"""Where hourly forecasts come from; nothing is fetched while it is blank."""
FORECAST_KEY = os.environ.get("COATWEAVE_FORECAST_KEY", "")
FORECAST_MINUTES = _NUMBERS["COATWEAVE_FORECAST_MINUTES"]
"""A forecast younger than this is not fetched again."""

CELERY_BROKER_URL = os.environ.get("COATWEAVE_CELERY_BROKER_URL", "")
"""Redis, for plans made by Celery workers; while it is blank a thread of the web process makes
them."""
CELERY_TASK_IGNORE_RESULT = True
"""The row of a run says how it stands; nobody asks a task."""
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
"""A plan takes seconds: whoever is free takes the next."""
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "celery_beat")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"secrets": {"()": "finishing.config.redact.SecretsFilter"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "filters": ["secrets"]},
    },
    "loggers": {
        **{
            name: {"handlers": ["console"], "level": "INFO", "propagate": False}
            for name in ("django", "django.server", "scheduling")
        },
        "httpx": {"filters": ["secrets"]},
    },
}
