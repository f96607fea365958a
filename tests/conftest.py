"""Property tests draw the same examples in every run; ``--hypothesis-profile=search`` draws new."""

from hypothesis import settings

# No test is timed: on a busy machine one call in a thousand is slow.
settings.register_profile("same", derandomize=True, database=None, deadline=None)
settings.register_profile("search", derandomize=False, deadline=None)
settings.load_profile("same")
