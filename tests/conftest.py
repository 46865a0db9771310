"""What every test shares: no example is failed for being slow on a busy machine."""

from hypothesis import settings

settings.register_profile("stirbell", deadline=None)
settings.load_profile("stirbell")
