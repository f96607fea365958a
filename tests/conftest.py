"""Property tests draw the same examples in every run; ``--hypothesis-profile=search`` draws new."""

from hypothesis import settings

settings.register_profile("same", derandomize=True, database=None)
settings.register_profile("search", derandomize=False)
settings.load_profile("same")
