"""The plan's app. What it hears of is loaded when it is first heard of: most commands never do."""

from typing import Any

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    name = "scheduling"

    def ready(self) -> None:
        """Have what is written to be sent on its way once it is stored, and visits looked at once
        there is new air."""
        from finishing.services.air import air_stored  # noqa: PLC0415 - models are not there before
        from scheduling.services.outbox import outbox_filled  # noqa: PLC0415

        outbox_filled.connect(_send_soon)
        air_stored.connect(_ask_to_look)


def _send_soon(**_signal: Any) -> None:
    from scheduling.jobs import send_soon  # noqa: PLC0415

    send_soon()


def _ask_to_look(**signal: Any) -> None:
    from scheduling.services.looks import ask_to_look  # noqa: PLC0415

    ask_to_look(company_id=signal["source"].company_id)
