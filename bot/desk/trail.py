"""Who did what, in words: for the command line, the dealer's chat and a table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.desk.leaving import csv_of
from bot.model.fact import CaseCleared, CaseGivenBack, CaseOpened, CaseReopened, CaseTaken, DosesHeld, Entry, PlanSent
from bot.model.sought import Found
from bot.model.trail import Acted, HouseholdChanged, InvitesIssued, OwnersBrought, RoundOrdered
from bot.talk.words import Line, Words, line, lines, verbatim

SHOWN = 12
"""As many as fit a phone's screen."""


@dataclass(frozen=True, slots=True)
class Deed:
    """What somebody did."""

    at: datetime
    who: Line
    what: Line
    via: str


def deeds(found: Found) -> list[Deed]:
    """Everything that was found, oldest first. Who was erased has no name any more."""
    names = {person.key: person.name for person in found.people if person.name}
    names |= {tub.key: tub.name or tub.model or tub.serial or tub.key for tub in found.tubs}
    return [Deed(one.at, _who(one, names), what, one.via) for one in found.entries if (what := _what(one, names))]


def _who(entry: Entry, names: dict[str, str]) -> Line:
    if entry.person is None:
        return line("audit.command_line" if entry.via == "command" else "audit.nobody")
    return verbatim(names[entry.person]) if entry.person in names else line("audit.nobody")


def _what(entry: Entry, names: dict[str, str]) -> Line | None:  # noqa: PLR0911
    match entry.fact:
        case OwnersBrought() as brought:
            return line("audit.brought", file=brought.file, new=brought.new, changed=brought.changed)
        case InvitesIssued(what=what, people=people):
            return line(f"audit.invites.{what}", count=len(people))
        case RoundOrdered(order=order, people=people, round=name):
            return line(f"audit.round.{order}", round=name, people=people)
        case HouseholdChanged(what=what):
            return line(f"audit.household.{what}", tub=names.get(entry.tub or "", entry.tub or "?"))
        case Acted(what=what, about=about):
            called = tuple(verbatim(names.get(key, key)) for key in about) or line("audit.nobody")
            return line(f"audit.acted.{what}", about=called)
        case CaseOpened() | CaseTaken() | CaseGivenBack() | CaseReopened() | PlanSent() as fact:
            return line(f"audit.case.{fact.kind}", case=fact.case)
        case CaseCleared(case=case, by="staff"):
            return line("audit.case.cleared", case=case)
        case DosesHeld(case=case, held=held):
            return line("audit.case.held" if held else "audit.case.freed", case=case)
    return None


def told(found: Sequence[Deed]) -> Line:
    """The newest, the newest last."""
    if not found:
        return line("audit.none")
    shown = found[-SHOWN:]
    rows = (line("audit.row", at=one.at, who=one.who, what=one.what) for one in shown)
    head = line("audit.head", count=len(found), shown=SHOWN) if len(found) > SHOWN else line("audit.head_all")
    return lines(head, lines(*rows, gap="\n"))


def trail_csv(found: Iterable[Deed], words: Words) -> bytes:
    """A row for each deed: when (in the reader's zone), who, what, through what."""
    titles = [words.text(line(f"audit.title.{name}")) for name in ("at", "who", "what", "via")]
    rows = (
        (one.at.astimezone(words.zone).isoformat(" ", "seconds"), words.text(one.who), words.text(one.what), one.via)
        for one in found
    )
    return csv_of(titles, rows)
