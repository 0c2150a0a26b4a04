#!/usr/bin/env python
"""Coatweave's command line: ``uv run manage.py COMMAND``."""

import os
import sys

from django.core.management import execute_from_command_line
from django.db import OperationalError, connection

from finishing.config.reachable import unreachable

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "finishing.config.settings")
    try:
        execute_from_command_line(sys.argv)
    except OperationalError as error:
        if connection.connection is not None:  # it was reached: this is a fault of ours
            raise
        raise SystemExit(unreachable(error)) from None
