"""What is to be sent out: a row for each thing, written with what it tells of."""

from django.db import models

from finishing.models.owned import Owned


class Outgoing(Owned):
    """One thing to be sent to one place. Its ``key`` says what it is, so that it is written once.

    ``due_at``: not to be tried before. ``claimed_until``: whoever sends it has it until then; one
    who ends meanwhile leaves it to the next. ``error``: why the last attempt failed, in words that
    hold no secret.
    """

    class Kind(models.TextChoices):
        MAIL = "mail"
        WEBHOOK = "webhook"
        CALENDAR = "calendar"
        LOOK = "look", "look whether visits still fit the air"

    class State(models.TextChoices):
        WAITING = "waiting"
        SENT = "sent"
        GIVEN_UP = "given_up"
        OVERTAKEN = "overtaken", "not needed any more"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    key = models.CharField(max_length=320)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    recipient = models.CharField(max_length=254, help_text="an address, or what it is called")
    publication = models.ForeignKey(
        "scheduling.Publication", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    crew = models.ForeignKey(
        "finishing.Crew", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    webhook = models.ForeignKey(
        "scheduling.Webhook", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    calendar = models.ForeignKey(
        "scheduling.CalendarPush", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    payload = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField()
    due_at = models.DateTimeField()
    claimed_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    ended_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["created_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["company", "key"], name="outgoing_once"),
        ]
        indexes = [
            models.Index(
                fields=["due_at"], condition=models.Q(state="waiting"), name="outgoing_waiting"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
