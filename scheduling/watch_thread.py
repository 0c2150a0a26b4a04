"""A thread of a web process that looks for work again and again, without a broker."""

import logging
from collections.abc import Callable
from threading import Event, Lock, Thread

from django.db import connections

log = logging.getLogger(__name__)


class WatchThread:
    """Does what there is to do when it is woken, and again and again, until the process ends.

    work: does all that is due; returns in how many seconds more is, None for no idea.
    longest_pause_s: work that another process has stored is found after so long.
    """

    def __init__(self, work: Callable[[], float | None], longest_pause_s: float) -> None:
        self._work = work
        self._longest_pause_s = longest_pause_s
        self._woken = Event()
        self._lock = Lock()
        self._thread: Thread | None = None

    def begin(self) -> None:
        """Start the thread, unless it runs."""
        with self._lock:
            if self._thread is None:
                self._thread = Thread(target=self._go_on, name="watching", daemon=True)
                self._thread.start()

    def wake(self) -> None:
        """Have the thread look now, if this process has one."""
        self._woken.set()

    def _go_on(self) -> None:
        while True:
            self._woken.clear()
            self._woken.wait(timeout=self._look())

    def _look(self) -> float:
        try:
            pause_s = self._work()
        except Exception:  # it has to look again, whatever this was
            log.exception("what is due could not be looked at")
            pause_s = None
        finally:
            connections.close_all()  # no request ends here that would close them
        return self._longest_pause_s if pause_s is None else min(pause_s, self._longest_pause_s)
