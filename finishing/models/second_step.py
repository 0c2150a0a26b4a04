"""What the second step of signing in is checked by."""

from django.db import models


class PhoneKey(models.Model):
    """The key that somebody's phone makes codes from. sealed_key: see ``seal``, in it hexadecimal.

    is_on: whether signing in asks for a code; the key is shown until it does. last_step: that of
    the code that was used last (RFC 6238, 4.2): a code is good once.
    """

    user = models.OneToOneField("finishing.User", on_delete=models.CASCADE, related_name="+")
    sealed_key = models.TextField()
    is_on = models.BooleanField(default=False)
    last_step = models.BigIntegerField(default=-1)

    def __str__(self) -> str:
        return f"{self.user_id} {'on' if self.is_on else 'off'}"


class WrittenCode(models.Model):
    """A code that somebody wrote down and has not used. sha256: of its 64 random bits."""

    user = models.ForeignKey("finishing.User", on_delete=models.CASCADE, related_name="+")
    sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["user", "sha256"], name="one_written_code_once")
        ]

    def __str__(self) -> str:
        return f"of {self.user_id}"
