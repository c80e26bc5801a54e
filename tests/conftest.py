"""For all tests: no deadline for one example. Speed is measured in benchmarks/, not on a machine that is busy."""

from hypothesis import settings

settings.register_profile("suite", deadline=None)
settings.load_profile("suite")
