"""What to do at once, for whoever tells of a danger in another language than the one that is spoken with them."""

from functools import cache
from importlib.resources import files

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from bot.talk.understand import Flag, language
from bot.talk.words import Line, Words, languages, line, verbatim

_OF_KIND = {"eye": "splash", "skin": "splash", "about_to_mix": "fumes"}
_OF_NUMBER = {1: "electric", 2: "burning", 5: "person", 6: "fumes", 7: "swallowed"}
"""The gravest red flags: the only ones that are recognised in the languages that have no catalogue."""


def first_words(text: str, flag: Flag, reader: str, emergency: str | None) -> Line | None:
    """The first words about `flag` in the language of `text`; None where that is the reader's, or is not known."""
    spoken = language(text)
    if spoken is None or spoken == reader:
        return None
    if spoken in languages():
        return verbatim(Words(spoken).text(line(f"flag.{flag.kind}")))
    what = _OF_KIND.get(flag.kind) or _OF_NUMBER.get(flag.number)
    if what is None or (ours := _sentences(spoken)) is None:
        return None
    call = ours["first.call"].format(number=emergency) if emergency else ours["first.call_unknown"]
    return verbatim(f"{call}\n{ours[f'first.{what}']}")


@cache
def _sentences(language: str) -> dict[str, str] | None:
    """The few sentences of a language that has no catalogue of its own."""
    source = files("bot.talk") / "first" / f"{language}.po"
    if not source.is_file():
        return None
    with source.open("rb") as file:
        read: Catalog = read_po(file)
    return {str(message.id): str(message.string) for message in read if message.id}
