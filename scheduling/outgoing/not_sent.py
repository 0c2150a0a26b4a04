"""What keeps something from being sent."""


class NotSent(Exception):  # noqa: N818 - it may well be the other server's fault
    """It was not sent: the message says why, and holds no secret.

    for_good: another attempt would end the same.
    """

    def __init__(self, why: str, *, for_good: bool = False) -> None:
        super().__init__(why)
        self.for_good = for_good


class Overtaken(Exception):  # noqa: N818 - nothing is wrong
    """There is nothing to tell any more."""
