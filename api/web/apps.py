"""The pages' app."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "api.web"
    label = "web"
