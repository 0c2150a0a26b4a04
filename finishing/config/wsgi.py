"""The WSGI application, for any WSGI server."""

import os

from django.core.wsgi import get_wsgi_application
from django.utils.module_loading import import_string

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.config.settings")
application = get_wsgi_application()
import_string("scheduling.jobs.begin_watching")()
import_string("finishing.config.first_code.show_first_code")()
