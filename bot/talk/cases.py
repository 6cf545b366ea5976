"""Cases: a question goes to the dealer's people, and what they say of it comes back."""

from collections.abc import Sequence

from bot.model.fact import Added, CaseCleared, CaseOpened, Entry, ReadingTaken
from bot.model.known import Case
from bot.model.person import Person
from bot.schedule.journal import facts, open_cases
from bot.talk.buttons import CaseButton, CommandButton, encode
from bot.talk.draft import Draft
from bot.talk.names import product_name, reading_line
from bot.talk.words import Line, Volume, line, lines, verbatim

LASTING = frozenset({"soiled", "glass", "slime", "flakes"})
"""Reasons that only a purge, drain, clean and refill ends."""


def new_case(journal: Sequence[Entry], owner: Person | None) -> str:
    """A short key for the next case of this owner."""
    serial = sum(1 for entry in journal if isinstance(entry.fact, CaseOpened)) + 1
    return f"{owner.key[:12] if owner else 'stranger'}-{serial}"


def open_case(draft: Draft, fact: CaseOpened) -> None:
    """Tell every technician, or the dealer where there is none, that a case was opened, with all that is known."""
    for person in staff_of(draft):
        draft.tell(person, card(draft, fact), (case_buttons(fact),))


def case_buttons(fact: CaseOpened) -> tuple[tuple[Line, str], ...]:
    """What staff may do with a case."""
    ends = "case.clear" if fact.klass in ("danger", "water") else "case.close"
    return (
        (line("case.answer"), encode(CaseButton(fact.case, "answer"))),
        (line(ends), encode(CaseButton(fact.case, "clear"))),
    )


def open_case_named(draft: Draft, name: str) -> Case | None:
    """The open case of that key among those that staff can see."""
    return next(
        (
            case
            for case in draft.known.cases
            if isinstance(case.entry.fact, CaseOpened) and case.entry.fact.case == name
        ),
        None,
    )


def head(fact: CaseOpened, name: str) -> Line:
    """A case in one line and its owner's words."""
    told = verbatim(f"“{fact.text}”") if fact.text else None
    return lines(line(f"case.head.{fact.klass}", name=name or "?", case=fact.case), told, gap="\n")


def card(draft: Draft, fact: CaseOpened) -> Line:
    """The case in the few lines that a technician needs first."""
    tub = draft.tub
    return lines(
        head(fact, draft.person.name if draft.person else ""),
        line("case.why", reasons=tuple(line(f"case.reason.{reason}") for reason in fact.reasons))
        if fact.reasons
        else None,
        line(
            "case.tub",
            volume=Volume(tub.volume) if tub.volume else line("unknown"),
            sanitizer=line(f"sanitizer.{tub.sanitizer}") if tub.sanitizer else line("unknown"),
            model=tub.model or line("unknown"),
        )
        if tub
        else None,
        *(
            line("case.tested", at=entry.at, values=reading_line(test))
            for entry, test in facts(draft.journal, ReadingTaken, lambda fact: not fact.source)[-3:]
        ),
        *(
            line("case.added", at=entry.at, product=product_name(added.product), grams=round(added.grams or 0, 1))
            for entry, added in facts(draft.journal, Added)[-4:]
        ),
        gap="\n",
    )


def clear(draft: Draft, case: Case, by: str = "staff", note: str = "") -> None:
    """Staff end a case; its owner is told, and may go on."""
    assert isinstance(case.entry.fact, CaseOpened)
    cleared = CaseCleared.model_validate({"case": case.entry.fact.case, "by": by, "note": note})
    draft.record(cleared, tub=case.entry.tub)
    if case.owner:
        go_on = ((line("talk.go_on"), encode(CommandButton("open"))),)
        who = draft.person.name if draft.person else ""
        key = "case.cleared" if case.entry.fact.klass in ("danger", "water") else "case.closed"
        draft.tell(case.owner, line(key, name=who), (go_on,), lane="reply")


def clear_by_reading(journal: Sequence[Entry]) -> list[tuple[Entry, CaseOpened]]:
    """The water cases that a good reading may clear."""
    return [
        (entry, fact)
        for entry, fact in open_cases(journal)
        if fact.klass == "water" and not LASTING & set(fact.reasons)
    ]


def staff_of(draft: Draft) -> list[Person]:
    """The technicians, or the dealer's people where there is none."""
    technicians = [person for person in draft.known.staff if person.role == "technician"]
    return technicians or list(draft.known.staff)
