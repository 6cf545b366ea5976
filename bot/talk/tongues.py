"""Texts in a language that has no catalogue: one polite line, once, that offers those that have."""

from bot.model.fact import Warned
from bot.schedule.journal import facts
from bot.talk.draft import Draft
from bot.talk.understand import language
from bot.talk.words import Line, languages, line

OFFERED = "languages"
"""The name under which it is noted that the languages were offered."""


def offer_languages(draft: Draft, text: str) -> Line | None:
    """The line that offers the languages spoken here, if the text is in another one and it was not said before."""
    spoken = language(text)
    if spoken is None or spoken in languages() or draft.tub is None or draft.person is None:
        return None
    if any(fact.caution == OFFERED for _, fact in facts(draft.journal, Warned)):
        return None
    draft.record(Warned(caution=OFFERED))
    return line("freely.languages", languages=tuple(line(f"freely.language.{name}") for name in languages()))
