"""Work in the background of a process, without a broker: one job after another."""

import logging
from collections.abc import Callable, Hashable
from queue import SimpleQueue
from threading import Lock, Thread

from django.db import connections

log = logging.getLogger(__name__)


class OneThread[Job: Hashable]:
    """Does jobs, each named by what is to be done, in the order in which they come, in one thread.

    The thread begins with the first job and ends with the process, whatever it is doing.
    """

    def __init__(self, work: Callable[[Job], object]) -> None:
        self._work = work
        self._waiting: SimpleQueue[Job] = SimpleQueue()
        self._known: set[Job] = set()
        self._lock = Lock()
        self._thread: Thread | None = None

    def start(self, job: Job) -> None:
        """Put a job in the queue, unless it is there. One that is going on is done once more: it
        may have begun before there was what it is asked for now."""
        with self._lock:
            if job in self._known:
                return
            self._known.add(job)
            self._waiting.put(job)
            if self._thread is None:
                self._thread = Thread(target=self._go_on, name="background", daemon=True)
                self._thread.start()

    def _go_on(self) -> None:
        while True:
            job = self._waiting.get()
            with self._lock:
                self._known.discard(job)
            try:
                self._work(job)
            except Exception:  # the next job is not to suffer
                log.exception("job %s failed", job)
            finally:
                connections.close_all()  # no request ends here that would close them
