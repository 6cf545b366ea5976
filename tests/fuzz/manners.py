"""What every message keeps to, in every language: one question at a time, short enough for a phone, labels that fit a
button, nothing that may not be said, no English in another language, cautions in full once only.
"""

import re
from dataclasses import dataclass, field

from bot.channels.rehearsal import buttons_of
from bot.model.message import Message
from bot.talk.turn import ROWS, SCREEN
from bot.talk.words import SOURCE, catalogue
from tests.talk.cases.test_must_not_say import forbidden
from tests.talk.test_languages import ENGLISH, plain

LABEL = 20
_QUOTED = re.compile(r"[“„«\"][^”“»\"]*[”“»\"]")


def _full_cautions(language: str) -> dict[str, str]:
    """The sentence of every caution that has a shorter form, by code."""
    found = {}
    for message in catalogue(language):
        key = message.id if isinstance(message.id, str) else ""
        code = key.removeprefix("caution.")
        short = catalogue(language).get(f"caution.short.{code}")
        if key.startswith("caution.") and not key.startswith("caution.short.") and short and short.string:
            sentence = str(message.string)
            if sentence not in str(short.string):
                found[code] = sentence
    return found


@dataclass
class Manners:
    """Looks at what one person is sent in one language, message by message."""

    language: str
    _shown: dict[str, tuple[str | None, str]] = field(default_factory=dict)

    def faults(self, message: Message, plan: str) -> list[str]:
        """What is wrong with a message; `plan` is the key of the plan that is open."""
        text = message.text
        found = [f"may not be said: {said!r}" for said in forbidden(self.language, text)]
        if len(text) > SCREEN:
            found.append(f"{len(text)} characters")
        if (lines := sum(bool(line.strip()) for line in text.splitlines())) > ROWS:
            found.append(f"{lines} lines")
        if _QUOTED.sub("", text).count("?") > 1:
            found.append("more than one question")
        labels = [one.label for one in buttons_of(message)]
        found += [f"a label of {len(label)}: {label!r}" for label in labels if len(label) > LABEL]
        if self.language != SOURCE:
            said = plain("\n".join((text, *labels)))
            found += [f"English: {wording!r}" for wording in ENGLISH if wording in said]
        return found + self._cautions_again(message, plan)

    def _cautions_again(self, message: Message, plan: str) -> list[str]:
        if message.dose is None:
            return []
        where = (message.asks, f"{plan} {message.dose.product} {message.dose.grams}")
        again = []
        for code, sentence in _full_cautions(self.language).items():
            if sentence in message.text:
                key = f"{code}:{message.dose.product}"
                if self._shown.setdefault(key, where) != where:
                    again.append(f"the caution {code!r} in full again")
        return again
