"""The trade's app."""

from django.apps import AppConfig


class FinishingConfig(AppConfig):
    name = "finishing"
