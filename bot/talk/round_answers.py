"""What an owner says to a message that went to many: counted there, and dealt with in their own conversation."""

import re

from bot.model.fact import CaseOpened
from bot.model.round import Asked, RoundAnswer
from bot.model.trail import RoundAnswered
from bot.schedule.journal import open_cases
from bot.talk import reminders, stack
from bot.talk.buttons import RoundButton
from bot.talk.cases import new_case, open_case
from bot.talk.draft import Draft
from bot.talk.understand import agree, option
from bot.talk.understand.normalise import bare, normalise
from bot.talk.words import SOURCE, Words, line

_WORD = re.compile(r"[^\W_]+")
MOST_WORDS = 10
"""Longer texts are read as what they say, not as an answer to a message to many."""

FRESH_SECONDS = 3 * 86400
"""How long after a round a text alone answers it (common practice)."""
ANSWERS: tuple[RoundAnswer, ...] = ("done", "call", "read")


def tapped(draft: Draft, button: RoundButton) -> None:
    """A button under the message."""
    asked = next((one for one in draft.known.asked if one.round == button.round), None)
    answer = next((one for one in ANSWERS if one == button.action), None)
    if asked is None or answer is None:
        stack.resume(draft, (line("talk.old_button"),))
    else:
        _answered(draft, asked, answer)


def said(draft: Draft, text: str) -> bool:
    """Take a text as the answer to the newest round where nothing else is asked; False if it is none."""
    asked = next(iter(draft.known.asked), None)
    if asked is None or asked.answer is not None or (draft.now - asked.at).total_seconds() > FRESH_SECONDS:
        return False
    if _speaks_of(draft, text, "who"):
        draft.say(line("bulk.who", dealer=draft.known.dealer.name))
        return True
    answer = _meant(draft, text, asked)
    if answer is not None:
        _answered(draft, asked, answer, text)
    return answer is not None


def _meant(draft: Draft, text: str, asked: Asked) -> RoundAnswer | None:
    """The answer that a text is."""
    first: RoundAnswer = "done" if asked.kind == "reminder" else "read"
    answers: tuple[RoundAnswer, ...] = (first, "call")
    place = option(text, [draft.words.text(line(f"bulk.do.{name}")) for name in answers])
    if place is not None:
        return answers[place]
    if _speaks_of(draft, text, "call"):
        return "call"
    return first if agree(text) else None


def _speaks_of(draft: Draft, text: str, what: str) -> bool:
    """Whether a short text holds one of the beginnings of words, or whole phrases, that the catalogue has for this."""
    said = f" {' '.join(_WORD.findall(bare(normalise(text))))} "
    if said.count(" ") > MOST_WORDS:
        return False
    spoken = "|".join(words.text(line(f"bulk.words.{what}")) for words in (draft.words, Words(SOURCE)))
    return any(f" {bare(normalise(word))}" in said for word in spoken.split("|"))


def _answered(draft: Draft, asked: Asked, answer: RoundAnswer, text: str = "") -> None:
    if asked.answer in (answer, "call"):
        draft.say(line("bulk.thanks.again"))
        return
    draft.record(RoundAnswered(round=asked.round, answer=answer))
    if answer == "call":
        _call(draft, text)
    elif answer == "done" and asked.about and draft.tub and draft.tub.key == asked.tub:
        reminders.answered(draft, asked.tub, asked.about, "done")
    else:
        draft.say(line(f"bulk.thanks.{answer}"))


def _call(draft: Draft, text: str) -> None:
    """The dealer's people are asked to call, unless they are already."""
    asked = any("call_me" in fact.reasons for _, fact in open_cases(draft.journal))
    if not asked:
        case = CaseOpened(case=new_case(draft.journal, draft.person), klass="question", reasons=("call_me",), text=text)
        draft.record(case)
        open_case(draft, case)
    draft.say(line("bulk.thanks.call", dealer=draft.known.dealer.name))
