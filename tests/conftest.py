"""What all tests share."""

from hypothesis import settings

# The same examples on every machine and in every run: a red run is one that can be repeated.
# To look further, run the soak tests with a larger COATWEAVE_SOAK.
settings.register_profile("repeatable", derandomize=True, database=None)
settings.load_profile("repeatable")
