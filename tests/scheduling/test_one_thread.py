"""Work in the background of a process."""

import logging
import threading

import pytest

from scheduling.one_thread import OneThread

LONG_ENOUGH_S = 60.0


def test_jobs_are_done_one_after_another_in_another_thread() -> None:
    done: list[tuple[int, str]] = []
    over = threading.Event()

    def work(job: int) -> None:
        done.append((job, threading.current_thread().name))
        if job == 3:
            over.set()

    thread = OneThread(work)
    for job in (1, 2, 3):
        thread.start(job)
    assert over.wait(LONG_ENOUGH_S)
    assert done == [(1, "background"), (2, "background"), (3, "background")]


def test_a_job_is_queued_once_and_once_more_while_it_goes_on() -> None:
    done: list[int] = []
    begun, go_on, over = threading.Event(), threading.Event(), threading.Event()

    def work(job: int) -> None:
        begun.set()
        assert go_on.wait(LONG_ENOUGH_S)
        done.append(job)
        if job == 2:
            over.set()

    thread = OneThread(work)
    thread.start(1)
    assert begun.wait(LONG_ENOUGH_S)
    for job in (1, 1, 2):
        thread.start(job)
    go_on.set()
    assert over.wait(LONG_ENOUGH_S)
    assert done == [1, 1, 2]


def test_a_failed_job_is_logged_and_the_next_one_done(caplog: pytest.LogCaptureFixture) -> None:
    over = threading.Event()

    def work(job: int) -> None:
        if job == 1:
            raise OSError("no space left on device")
        over.set()

    logging.getLogger("scheduling").propagate = True
    try:
        thread = OneThread(work)
        thread.start(1)
        thread.start(2)
        assert over.wait(LONG_ENOUGH_S)
    finally:
        logging.getLogger("scheduling").propagate = False
    assert "job 1 failed" in caplog.text
    assert "no space left on device" in caplog.text
