"""One short question where a text may tell of a danger in words that nobody foresaw: better asked than missed."""

from bot.talk.emergency import contacts_in
from bot.talk.flow import Ask, Flow, Option, Start, flow
from bot.talk.words import line
from bot.talk.worry import CHOICES


@flow("worry")
def worry(start: Start) -> Flow:
    """Args: `about` (a key of `CHOICES`), `text` (what was written), `fresh` (false for what was written elsewhere)."""
    about = str(start.args["about"])
    choices = CHOICES[about]
    named = tuple(Option(kind, line(f"worry.{kind}")) for kind in choices)
    none = Option("no", line("worry.none" if len(choices) > 1 else "worry.no"))
    known = contacts_in(start.person.zone, start.dealer.contacts)
    asked = line(f"worry.ask.{about}", emergency=known.emergency or line("contact.emergency_unknown"))
    yield Ask("which", asked, (*named, none), name="worry")
    return None
