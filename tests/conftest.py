"""What all tests share."""

from hypothesis import HealthCheck, settings

# The same examples on every machine and in every run: a red run is one that can be repeated, and
# a busy machine is no fault. To look further, run the soak tests with a larger COATWEAVE_SOAK.
settings.register_profile(
    "repeatable",
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("repeatable")
