"""What a child that solves would answer, worked out in the process of the test.

Starting one takes longer than a short search: a search of so much work, which ends by itself, is
done here instead, by the child's own code on its own lines. Searches of so many seconds, and those
of tests that use ``started_child``, have a child.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout
from io import StringIO
from time import monotonic
from typing import Any

from scheduling.services import child
from scheduling.services.child import Child, ChildEnded
from scheduling.solver import __main__ as solver
from scheduling.solver.outcome import Limits
from scheduling.solver.serialize import limits_to_json

answers_of_a_process = Child._answers


def answers_here[T](
    asked: Child,
    request: dict[str, Any],
    limits: Limits,
    should_stop: Callable[[], bool],
    read: Callable[[dict[str, Any]], T],
) -> Iterator[T]:
    """Stands for ``Child._answers``."""
    if asked != Child() or limits.work is None:
        yield from answers_of_a_process(asked, request, limits, should_stop, read)
        return
    began, said = monotonic(), StringIO()
    document = json.dumps({**request, "limits": limits_to_json(limits)})
    with redirect_stdout(said):
        solver._answer(json.loads(document), lambda: monotonic() - began)
    for line in said.getvalue().splitlines():
        if should_stop():
            raise ChildEnded("stopped on request")
        yield child._understood(line, read)[1]
