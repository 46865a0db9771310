"""A member's words become a request, or one question."""

from bot.language.hearing import Hearing, Understood
from bot.language.understand import Tongue, tongues, understand

__all__ = ["Hearing", "Tongue", "Understood", "tongues", "understand"]
