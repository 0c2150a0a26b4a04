"""How many requests a minute a token, or a person, may send."""

import time
from typing import Any

from django.conf import settings
from django.core.cache import cache
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from api.access import token_of, who_asks

WINDOW_S = 60


class PerMinute(BaseThrottle):
    """Counts by whole minutes of the clock: a number that is counted up, which no two requests
    at once read alike."""

    def allow_request(self, request: Request, view: Any) -> bool:  # noqa: ARG002
        self.now_s = time.time()
        who = token_of(request) or who_asks(request)
        if who is None:
            return True
        key = f"api:{type(who).__name__}:{who.pk}:{int(self.now_s // WINDOW_S)}"
        cache.add(key, 0, timeout=2 * WINDOW_S)
        try:
            return cache.incr(key) <= settings.API_PER_MINUTE
        except ValueError:  # the cache has gone, or come back, since: it counts anew
            return True

    def wait(self) -> float:
        """Return the seconds until the next minute, at least one."""
        return max(1, WINDOW_S - int(self.now_s % WINDOW_S))
