"""A cache whose Redis is away keeps and counts in this process, and says so once."""

import pytest

from finishing.services.shared_cache import ASKED_AGAIN_AFTER_S, SharedCache

NOBODY_THERE = "redis://127.0.0.1:1/1"


def test_nobody_is_told_that_redis_is_away(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    now = 1000.0
    monkeypatch.setattr("finishing.services.shared_cache.monotonic", lambda: now)
    monkeypatch.setattr(SharedCache, "_away_until", 0.0)
    cache = SharedCache(NOBODY_THERE, {})
    cache.clear()
    assert cache.is_away
    assert cache.get("answer", "none") == "none"
    cache.set("answer", {"of": 42})
    assert (cache.get("answer"), cache.has_key("answer")) == ({"of": 42}, True)
    assert [cache.add("count", 0, timeout=60), cache.add("count", 0, timeout=60)] == [True, False]
    assert [cache.incr("count"), cache.incr("count")] == [1, 2]
    assert [cache.touch("count", 60), cache.delete("answer"), cache.delete("answer")] == [
        True,
        True,
        False,
    ]
    with pytest.raises(ValueError, match="answer"):
        cache.incr("answer")
    assert len(caplog.records) == 1, "it is not asked again for each of these"
    now += ASKED_AGAIN_AFTER_S
    assert not cache.is_away
    assert SharedCache(NOBODY_THERE, {}).get("count") == 2, "all threads share what is kept"
    assert len(caplog.records) == 2
