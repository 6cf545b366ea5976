"""The message of a round, as each owner gets it: in their language or the one it falls back to, with what stands for
their name, tub and date, who sends it, and how to stop.
"""

from collections.abc import Mapping
from string import Formatter

from bot.model.dealer import Dealer
from bot.model.message import Button, Message
from bot.model.person import Person
from bot.model.round import Candidate, Round, Whom
from bot.talk.buttons import CommandButton, RoundButton, encode
from bot.talk.words import Line, Words, line, lines, verbatim

LONGEST = 1500
"""Characters of a message to many, in one language: what people read on a phone without turning away."""
PLACEHOLDERS = ("name", "tub", "due")


def fault(text: str, whom: Whom) -> Line | None:
    """What is wrong with a text, in a sentence; None if nothing is."""
    if not text.strip():
        return line("bulk.text.empty")
    if len(text) > LONGEST:
        return line("bulk.text.long", count=len(text), most=LONGEST)
    try:
        fields = [(name, spec, how) for _, name, spec, how in Formatter().parse(text) if name is not None]
    except ValueError:
        return line("bulk.text.brace")
    for name, spec, how in fields:
        if name not in PLACEHOLDERS or spec or how:
            return line("bulk.text.unknown", name=verbatim(name or "{}"))
        if name == "due" and whom.about is None:
            return line("bulk.text.no_due")
    return None


def language_of(texts: Mapping[str, str], reader: str, otherwise: str) -> str:
    """Which text somebody gets: that of their language, else that of `otherwise`, else the first."""
    return next(name for name in (reader, otherwise, *texts) if name in texts)


def letter(round_: Round, candidate: Candidate, dealer: Dealer) -> Message:
    """The message as it arrives. The round has a text."""
    person = candidate.person
    return Message(
        to=person.key,
        lane="bulk",
        text=_text(round_, candidate, dealer),
        buttons=_buttons(round_, person),
        round=round_.key,
        keeps_quiet=round_.kind == "reminder",
    )


def _text(round_: Round, candidate: Candidate, dealer: Dealer) -> str:
    person = candidate.person
    language = language_of(round_.texts, person.language, round_.language)
    written = Words(language, person.units, person.zone)
    tub = candidate.tub
    called = tub.name or tub.model if tub else None
    said = round_.texts[language].format_map(
        {
            "name": (person.name.split() or [written.text(line("bulk.somebody"))])[0],
            "tub": called or written.text(line("bulk.your_tub")),
            "due": written.text(line("bulk.day", day=candidate.due)) if candidate.due else "",
        }
    )
    head = line(f"bulk.head.{round_.kind}", dealer=dealer.name) if round_.kind != "reminder" else None
    return Words.of(person).text(
        lines(head, verbatim(said.strip()), line(f"bulk.foot.{round_.kind}", dealer=dealer.name))
    )


def _buttons(round_: Round, person: Person) -> tuple[tuple[Button, ...], ...]:
    words = Words.of(person)

    def answer(name: str) -> Button:
        return Button(label=words.text(line(f"bulk.do.{name}")), data=encode(RoundButton(round_.key, name)))

    first = answer("done" if round_.kind == "reminder" else "read")
    if round_.kind == "reminder" and round_.whom.about is None and round_.whom.untested is not None:
        first = Button(label=words.text(line("button.test")), data=encode(CommandButton("test")))
    return ((first, answer("call")),)
