"""The project's settings hold together."""

from django.core.management import call_command
from pytest_django import Settings


def test_system_check_and_migrations_are_clean(db: None, settings: Settings) -> None:
    """Tests take their tables from the models, which is quicker: migrations lead to the same."""
    settings.MIGRATION_MODULES = {}
    call_command("check", fail_level="WARNING")
    call_command("makemigrations", check=True, dry_run=True)
