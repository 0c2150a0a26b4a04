"""What all tests share."""

from hypothesis import settings

# The same examples on every machine and in every run: a red run is one that can be repeated.
# New examples are looked for by the soak run, which draws from seeds of its own.
settings.register_profile("repeatable", derandomize=True, database=None)
settings.load_profile("repeatable")
