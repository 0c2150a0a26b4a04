"""What all tests share."""

from hypothesis import HealthCheck, settings

# The same examples on every machine and in every run: a red run is one that can be repeated.
# To look further, run the soak tests with a larger COATWEAVE_SOAK. How slow the machine is at
# drawing them is no fault of the code.
settings.register_profile(
    "repeatable",
    derandomize=True,
    database=None,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("repeatable")
