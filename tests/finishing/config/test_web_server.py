"""What gunicorn does as a process begins."""

import gc

from finishing.config.web_server import post_worker_init


def test_what_is_loaded_is_set_aside_before_the_first_request() -> None:
    """Else garbage in rings waits for a quarter as many objects as are loaded."""
    ring: list[object] = []
    ring.append(ring)
    try:
        post_worker_init(None)
        assert gc.get_freeze_count() > len(gc.get_objects(generation=2))
        assert not any(found is ring for found in gc.get_objects())
    finally:
        gc.unfreeze()
