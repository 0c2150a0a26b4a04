"""Writes that programs have sent under a key of theirs, so that none is carried out twice."""

from django.db import models

from finishing.models.owned import Owned


class SentRequest(Owned):
    """A write, known by who sent it and the key they gave it.

    sender: which token or person. request_sha256: hex, of what was asked for. claim: who carries
    it out just now. status, headers, body: what was answered, once it is done; status 0 until then.
    """

    sender = models.CharField(max_length=80)
    key = models.CharField(max_length=255)
    request_sha256 = models.CharField(max_length=64)
    claim = models.UUIDField()
    claimed_at = models.DateTimeField()
    status = models.PositiveSmallIntegerField(default=0)
    headers = models.JSONField(default=dict, blank=True)
    body = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["claimed_at"])]
        constraints = [
            models.UniqueConstraint(
                fields=["company", "sender", "key"], name="request_of_sender_once"
            )
        ]

    def __str__(self) -> str:
        return self.key
