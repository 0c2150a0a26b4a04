"""What keeps something from being sent."""

from datetime import timedelta


class NotSent(Exception):  # noqa: N818 - it may well be the other server's fault
    """It was not sent: the message says why, and holds no secret.

    for_good: another attempt would end the same. pause: how long the other side asks to be left
    alone, where it does.
    """

    def __init__(self, why: str, *, for_good: bool = False, pause: timedelta | None = None) -> None:
        super().__init__(why)
        self.for_good = for_good
        self.pause = pause or timedelta()


class Overtaken(Exception):  # noqa: N818 - nothing is wrong
    """There is nothing to tell any more."""
