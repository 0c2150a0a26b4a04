"""A cache that processes share, in Redis, and that nobody waits for while Redis is away.

Meanwhile each process keeps by itself what it finds, and counts by itself what it is asked.
"""

import logging
from collections.abc import Callable
from time import monotonic
from typing import Any, ClassVar

from django.core.cache.backends.base import DEFAULT_TIMEOUT, BaseCache
from django.core.cache.backends.locmem import LocMemCache
from django.core.cache.backends.redis import RedisCache
from redis.backoff import NoBackoff
from redis.exceptions import RedisError
from redis.retry import Retry

log = logging.getLogger(__name__)

WAITS_S = 1.0
"""A Redis that takes longer to answer is away too."""
ASKED_AGAIN_AFTER_S = 5.0


class SharedCache(BaseCache):
    """Redis, or this process's own memory for as long as Redis does not answer."""

    _away_until: ClassVar[float] = 0.0

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        super().__init__(params)
        waits = {"socket_connect_timeout": WAITS_S, "socket_timeout": WAITS_S}
        again = Retry(NoBackoff(), 1)  # a connection that was kept open is dead after a restart
        self._redis = RedisCache(server, {**params, "OPTIONS": {**waits, "retry": again}})
        self._here = LocMemCache("while Redis is away", params)

    @property
    def is_away(self) -> bool:
        """Whether other processes do not find what is kept now."""
        return monotonic() < SharedCache._away_until

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        return self._asked(lambda cache: cache.get(key, default, version))

    def set(
        self, key: Any, value: Any, timeout: Any = DEFAULT_TIMEOUT, version: int | None = None
    ) -> None:
        self._asked(lambda cache: cache.set(key, value, timeout, version))

    def add(
        self, key: Any, value: Any, timeout: Any = DEFAULT_TIMEOUT, version: int | None = None
    ) -> bool:
        return self._asked(lambda cache: cache.add(key, value, timeout, version))

    def touch(self, key: Any, timeout: Any = DEFAULT_TIMEOUT, version: int | None = None) -> bool:
        return self._asked(lambda cache: cache.touch(key, timeout, version))

    def delete(self, key: Any, version: int | None = None) -> bool:
        return self._asked(lambda cache: cache.delete(key, version))

    def has_key(self, key: Any, version: int | None = None) -> bool:
        return self._asked(lambda cache: cache.has_key(key, version))

    def incr(self, key: Any, delta: int = 1, version: int | None = None) -> int:
        return self._asked(lambda cache: cache.incr(key, delta, version))

    def clear(self) -> None:
        self._asked(lambda cache: cache.clear())

    def _asked[T](self, ask: Callable[[BaseCache], T]) -> T:
        if not self.is_away:
            try:
                return ask(self._redis)
            except RedisError as error:
                log.warning("Redis is away, what is kept is kept in each process: %s", error)
                SharedCache._away_until = monotonic() + ASKED_AGAIN_AFTER_S
        return ask(self._here)
