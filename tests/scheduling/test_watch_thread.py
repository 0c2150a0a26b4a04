"""A thread that looks for work again and again, whatever happens."""

import threading

import pytest

from scheduling.watch_thread import WatchThread

LONG_ENOUGH_S = 60.0


class Work:
    """Work that goes wrong the first time; ``done`` is set once it was looked for often enough."""

    def __init__(self, *, often: int, pause_s: float | None) -> None:
        self.often, self.pause_s, self.looks = often, pause_s, 0
        self.done = threading.Event()
        self.first = threading.Event()

    def __call__(self) -> float | None:
        self.looks += 1
        self.first.set()
        if self.looks >= self.often:
            self.done.set()
        if self.looks == 1:
            raise ZeroDivisionError
        return self.pause_s


@pytest.mark.parametrize("pause_s", [None, 0.0, 1000.0])
def test_it_looks_again_after_a_fault_and_at_the_latest_after_the_longest_pause(
    pause_s: float | None,
) -> None:
    work = Work(often=3, pause_s=pause_s)
    thread = WatchThread(work, longest_pause_s=0.001)
    thread.begin()
    thread.begin()
    assert work.done.wait(LONG_ENOUGH_S)


def test_it_looks_when_it_is_woken() -> None:
    work = Work(often=2, pause_s=None)
    thread = WatchThread(work, longest_pause_s=1000)
    thread.wake()
    assert not work.first.is_set(), "without a thread nothing happens"
    thread.begin()
    assert work.first.wait(LONG_ENOUGH_S)
    thread.wake()
    assert work.done.wait(LONG_ENOUGH_S)
