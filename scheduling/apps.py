"""The plan's app."""

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"

    def ready(self) -> None:
        """Have what is written to be sent on its way once it is stored."""
        from scheduling.jobs import send_soon  # noqa: PLC0415 - models are not there before
        from scheduling.services.outbox import outbox_filled  # noqa: PLC0415

        outbox_filled.connect(send_soon)
