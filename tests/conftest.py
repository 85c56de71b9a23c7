"""Examples made by chance are the same ones in every run; ``HYPOTHESIS_PROFILE=search`` looks for new ones."""

import os

from hypothesis import settings

settings.register_profile("steady", derandomize=True, database=None, deadline=None)
settings.register_profile("search", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
