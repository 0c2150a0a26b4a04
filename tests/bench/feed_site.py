"""The site as gunicorn serves it, with an empty address besides its own."""

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.config.settings")

from django.conf import settings

from finishing.config.wsgi import application

settings.ROOT_URLCONF = "tests.bench.feed_urls"
__all__ = ["application"]
