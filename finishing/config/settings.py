"""Django settings: the embedded default (SQLite, no service), changed by the environment."""

import os
import zoneinfo
from pathlib import Path
from urllib.parse import urlsplit

from finishing.config.environment import read_environment
from finishing.config.logs import logging_settings

zoneinfo.reset_tzpath(())  # zones from the pinned package only: calendars differ by machine else

BASE_DIR = Path(__file__).resolve().parents[2]
GIVEN = read_environment(os.environ, base_dir=BASE_DIR)

VAR_DIR = GIVEN.var_dir
"""Where the database and the machine's own keys live; not in the repository."""

PHOTO_DIR = VAR_DIR / "photos"
"""What crews have photographed, by company; only its own people are shown it."""

FEED_DIR = VAR_DIR / "feeds"
"""The last bytes of each calendar feed, which answer while the database fails."""

DEBUG = GIVEN.debug
SECRET_KEY = GIVEN.keys.secret
LINK_KEY, FORMER_LINK_KEYS = GIVEN.keys.link, GIVEN.keys.former_link
SEAL_KEY, FORMER_SEAL_KEYS = GIVEN.keys.seal, GIVEN.keys.former_seal

ALLOWED_HOSTS = list(GIVEN.web.hosts)
SITE_URL = GIVEN.web.site_url
"""Where links in calendar entries and command output point."""
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = GIVEN.web.is_https
"""Cookies go over TLS alone where the site has it, and so does everybody."""
CSRF_TRUSTED_ORIGINS = [SITE_URL] if GIVEN.web.is_https else []
"""A proxy that ends TLS asks this process over plain HTTP, and forms still come from https."""
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]
"""Asked by this machine, which comes by no proxy."""
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if GIVEN.web.is_https else None
TRUSTED_PROXIES = GIVEN.web.trusted_proxies
"""Through how many proxies of one's own every request comes: so much of X-Forwarded-For is true."""
SECURE_HSTS_SECONDS = GIVEN.web.hsts_seconds
SECURE_HSTS_INCLUDE_SUBDOMAINS = GIVEN.web.hsts_subdomains
SECURE_HSTS_PRELOAD = GIVEN.web.hsts_preload

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
SECURE_CSP = {
    "default-src": ["'self'"],
    "base-uri": ["'none'"],
    "frame-ancestors": ["'none'"],
    "form-action": ["'self'"],
}
SECURE_REFERRER_POLICY = "same-origin"

DATABASES = {"default": GIVEN.database}
if GIVEN.cache_url:
    CACHES = {
        "default": {
            "BACKEND": "finishing.services.shared_cache.SharedCache",
            "LOCATION": GIVEN.cache_url,
        }
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
    "EXCEPTION_HANDLER": "api.rest.errors.problem_response",
    "URL_FORMAT_OVERRIDE": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Coatweave",
    "DESCRIPTION": "Plans of plasterboard finishing crews. Errors are RFC 9457 problems.",
    "VERSION": "1",
    "DEFAULT_GENERATOR_CLASS": "api.rest.schema.Generator",
    "SCHEMA_PATH_PREFIX": "/api/v1/",
    "SERVE_INCLUDE_SCHEMA": False,
    "POSTPROCESSING_HOOKS": [],  # words stand where they are asked for, under no made-up name
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
}

SOLVER_MEMORY_MB = GIVEN.solver_memory_mb
"""Address space the solver's child process may use."""
RUN_LEASE_SECONDS = GIVEN.run_lease_seconds
"""How long whoever makes a plan may be silent before somebody else begins its run anew."""
RUN_LOOK_SECONDS = GIVEN.run_lease_seconds / 4
"""How often such runs are looked for."""
RUN_PROBLEM_DAYS = GIVEN.run_problem_days
"""After how many days the problem of a run is cut down to what pages of old runs need."""
API_PER_MINUTE = GIVEN.api_per_minute
"""Requests to the API that a token, or a person, may send in a minute."""
CURE_PRICES = {"crew_day": 8.0, "overtime": 1.5, "compound": 2.0, "release": 4.0, "dryer": 1.0}
"""Plain weights by which things that would help a late house are ranked where they save as many
days: an extra day of a crew, an hour more on one day, another compound, a day's earlier opening, a
dehumidifier (twice that where all there are stand elsewhere)."""

NIGHT_PLANS = GIVEN.night_plans
"""Whether Celery's clock has proposals made at night, at 01:05 UTC."""

METRICS_TOKEN = GIVEN.metrics_token
"""Whoever sends it may read figures at /metrics; nobody while it is blank."""

MAILERS = GIVEN.mailers
"""Without a mail server messages are written to the console."""
MAIL_ID_HOST = urlsplit(SITE_URL).hostname or "localhost"
"""What stands behind the @ of a message's id (RFC 5322, 3.6.4)."""
DEFAULT_FROM_EMAIL = GIVEN.mail_from or f"coatweave@{MAIL_ID_HOST}"

WEBHOOK_HOSTS = GIVEN.webhook_hosts
"""Where webhooks may be sent; nowhere while it is blank."""
CALDAV_HOSTS = GIVEN.caldav_hosts
"""Calendar servers that visits may be put on; none while it is blank."""
CALDAV_CA_FILE = GIVEN.caldav_ca_file
"""Whom certificates of calendar servers are from, where that is an authority of one's own."""

FORECAST_URL, FORECAST_KEY = GIVEN.forecast_url, GIVEN.forecast_key
"""Where hourly forecasts come from; nothing is fetched while it is blank."""
FORECAST_MINUTES = GIVEN.forecast_minutes
"""A forecast younger than this is not fetched again."""

CELERY_BROKER_URL = GIVEN.broker_url
"""Redis, for plans made by Celery workers; while it is blank a thread of the web process makes
them."""
ANSWERS_BY_WORKERS = bool(GIVEN.broker_url and GIVEN.cache_url)
"""Whether workers find what takes a moment, and leave it in the cache for pages to show."""
CELERY_TASK_IGNORE_RESULT = True
"""The row of a run says how it stands; nobody asks a task."""
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
"""A plan takes seconds: whoever is free takes the next."""
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BEAT_SCHEDULE_FILENAME = str(VAR_DIR / "celery_beat")

LOGGING = logging_settings(GIVEN.log_format)
