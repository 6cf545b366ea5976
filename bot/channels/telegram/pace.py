"""How fast the service lets a bot write, by its published limits: 20 messages a minute to a group, one a second to a
person. A group takes a few at once, so that what belongs together comes together.
"""

GROUP_SECONDS, GROUP_BURST = 4.0, 5
"""In any 60 seconds no more than 5 + 60 / 4 = 20."""


def chat_seconds(chat: str) -> float:
    """Seconds between two messages of a chat; groups have negative numbers."""
    return GROUP_SECONDS if chat.startswith("-") else 1.0


def chat_burst(chat: str) -> int:
    """How many messages a chat that rested takes at once."""
    return GROUP_BURST if chat.startswith("-") else 1
