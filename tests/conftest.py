"""What holds for every test."""

from hypothesis import settings

# No ordinary test judges a time: beside other work one drawn household takes five times as long as the next.
settings.register_profile("untimed", settings.default, deadline=None)
settings.load_profile("untimed")
