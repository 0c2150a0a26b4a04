"""The API: its page that describes it."""

from django.apps import AppConfig


class RestConfig(AppConfig):
    name = "api.rest"
    label = "rest"
