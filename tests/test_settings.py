"""The project's settings hold together."""

from django.core.management import call_command


def test_system_check_and_migrations_are_clean(db: None) -> None:
    call_command("check", fail_level="WARNING")
    call_command("makemigrations", check=True, dry_run=True)
