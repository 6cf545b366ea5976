"""What each method of the API does."""

from tests.botapi.methods import answering, editing, looking, media, sending, settings, topics
from tests.botapi.methods.registry import METHODS, Method

__all__ = ["METHODS", "Method", "answering", "editing", "looking", "media", "sending", "settings", "topics"]
