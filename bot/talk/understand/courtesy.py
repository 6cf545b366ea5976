"""Greetings and thanks: what deserves an answer, and asks for nothing."""

from functools import cache
from typing import Literal

from bot.talk.understand.lexicon import Lexicon
from bot.talk.understand.tokens import tokens
from bot.talk.understand.words import table

Courtesy = Literal["hello", "thanks"]
_LONGEST = 8


@cache
def _words() -> Lexicon:
    return Lexicon(table("courtesy"), ("shello", "hall", "hey", "hay", "tanks", "tank", "call", "hell", "held", "bay"))


def courtesy(text: str) -> Courtesy | None:
    """A text that greets (also where it thanks) or thanks and says nothing else; None for any other."""
    words = [token for token in tokens(text) if token.kind != "mark" or token.text not in ".,!?;:-'\"()…"]
    hits = _words().longest(words)
    if not hits or len(words) > _LONGEST or len({i for h in hits for i in range(h.start, h.end)}) < len(words):
        return None
    labels = {hit.label for hit in hits}
    return "hello" if "hello" in labels else "thanks" if "thanks" in labels else None
