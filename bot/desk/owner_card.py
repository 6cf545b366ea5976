"""An owner on one screen, for the dealer: how to reach them, their tub, its last tests and doses, what is open."""

import hashlib
from dataclasses import dataclass

from bot.model.fact import Added, CaseOpened, Entry, ReadingTaken
from bot.model.person import Person
from bot.model.sought import Seek
from bot.model.tub import Tub
from bot.schedule.cases import BY_STAFF, CaseState
from bot.schedule.journal import facts, filled_at, last_at, standing
from bot.talk import handling, office, stack
from bot.talk.buttons import CaseButton, PersonButton, encode
from bot.talk.card import Buttons, Story
from bot.talk.draft import Draft
from bot.talk.drawings import water_chart
from bot.talk.names import product_name, reading_line
from bot.talk.rising import again_after, alert, audience, look_after
from bot.talk.words import Line, Volume, line, lines, verbatim
from dosing import limits_for

TESTS, DOSES, PHONES = 2, 3, 2


@dataclass(frozen=True)
class Owner:
    """An owner and the tub they came to last, with its standing journal and whoever else is on it."""

    person: Person
    tub: Tub | None
    journal: tuple[Entry, ...]
    others: tuple[Person, ...]


@office.on_person("card")
def show(draft: Draft, key: str) -> None:
    """Show the card of that owner."""
    owner = _owner(draft, key)
    if owner is not None:
        draft.say(card(owner), handling.labelled(draft, _may(draft, owner)))


@office.on_person("chart")
def chart(draft: Draft, key: str) -> None:
    """Show the chart of that owner's tub."""
    owner = _owner(draft, key)
    if owner is None or owner.tub is None:
        return
    dealer = draft.known.dealer
    scale, limits = owner.tub.scale or dealer.scale, limits_for(dealer.locale)
    picture = water_chart(draft.words, owner.tub, scale, limits, owner.journal, draft.now)
    name = verbatim(owner.person.name or "?")
    if picture is None:
        draft.say(line("owner_card.no_chart", name=name))
    else:
        draft.say(line("owner_card.chart", name=name), enclosure=picture)


@office.on_person("hand")
def hand_over(draft: Draft, key: str) -> None:
    """Open a case about that owner for the technicians: nobody has it yet."""
    owner = _owner(draft, key)
    if owner is None:
        return
    name = verbatim(owner.person.name or "?")
    if _cases(draft, owner):
        draft.say(line("owner_card.has_case", name=name), handling.labelled(draft, _case_buttons(draft, owner)))
        return
    case = f"{key[:12]}-{hashlib.sha256(draft.arrival.update.encode()).hexdigest()[:4]}"
    fact = CaseOpened(case=case, klass="question", reasons=(BY_STAFF,))
    told = [one for one in audience(draft, fact, 1) if one != draft.person]
    if not told:
        draft.say(line("owner_card.nobody"))
        return
    tub = owner.tub.key if owner.tub else None
    draft.record(fact, tub=tub, person=key)
    state = CaseState(draft.entries[-1], fact)
    story = Story(fact, state, owner.person, owner.tub, owner.journal, draft.known.dealer)
    alert(draft, story, told)
    look_after(draft, story, 1, draft.now + again_after(draft))
    draft.say(line("owner_card.handed", name=name))


@office.on_person("hand_on")
def hand_tub_on(draft: Draft, key: str) -> None:
    """Make a link by which somebody else has the tub alone; not while somebody answers about it."""
    owner = _owner(draft, key)
    if owner is None:
        return
    name = owner.person.name or "?"
    if owner.tub is None:
        draft.say(line("owner_card.no_tub"))
    elif _cases(draft, owner):
        draft.say(
            line("owner_card.has_case", name=verbatim(name)), handling.labelled(draft, _case_buttons(draft, owner))
        )
    else:
        called = owner.tub.name or owner.tub.model or owner.tub.serial or owner.tub.key
        stack.begin(draft, "hand_tub_on", {"tub": owner.tub.key, "name": name, "called": called})


def card(owner: Owner) -> Line:
    """The owner in a few lines."""
    person, tub, journal = owner.person, owner.tub, owner.journal
    filled = filled_at(journal)
    others = tuple(verbatim(one.name) for one in owner.others if one.name)
    return lines(
        verbatim(person.name or "?"),
        verbatim(", ".join((*person.phones[:PHONES], *filter(None, [person.email])))) if _reach(person) else None,
        _stands(person),
        line("case.reads", language=line(f"language.{person.language}")),
        line("owner_card.with", names=others) if others else None,
        line(
            "case.tub",
            volume=Volume(tub.volume) if tub.volume else line("unknown"),
            sanitizer=line(f"sanitizer.{tub.sanitizer}") if tub.sanitizer else line("unknown"),
            model=tub.model or line("unknown"),
        )
        if tub
        else line("owner_card.no_tub"),
        line("tub.filled", at=filled) if filled else None,
        *(
            line("case.tested", at=entry.at, values=reading_line(test))
            for entry, test in facts(journal, ReadingTaken, lambda fact: not fact.source)[-TESTS:]
        ),
        *(
            line("case.added", at=entry.at, product=product_name(added.product), grams=round(added.grams or 0, 1))
            for entry, added in facts(journal, Added)[-DOSES:]
        ),
        gap="\n",
    )


def _reach(person: Person) -> bool:
    return bool(person.phones or person.email)


def _stands(person: Person) -> Line | None:
    """Why no message reaches somebody."""
    if person.standing in ("blocked", "stopped"):
        return line(f"owner_card.{person.standing}")
    return line("owner_card.not_joined") if person.address is None else None


def _owner(draft: Draft, key: str) -> Owner | None:
    """The owner of that key; None before they are looked up, or (said so) where there is none."""
    found = draft.found(Seek(what="owner", words=key))
    if found is None:
        return None
    person = next((one for one in found.people if one.key == key), None)
    if person is None:
        draft.say(line("talk.old_button"))
        return None
    tub = next(iter(found.tubs), None)
    return Owner(person, tub, standing(found.entries), tuple(one for one in found.people if one.key != key))


def _cases(draft: Draft, owner: Owner) -> list[Story]:
    return [story for story in handling.stories(draft) if story.owner and story.owner.key == owner.person.key]


def _may(draft: Draft, owner: Owner) -> Buttons:
    key, cases = owner.person.key, _cases(draft, owner)

    def button(action: str, does: str) -> tuple[Line, str]:
        return line(f"owner_card.do.{action}"), encode(PersonButton(key, does))

    reached = owner.person.standing == "active" and owner.person.address is not None
    write = (button("write", "open"),) if reached and not cases else ()
    hand = () if cases else (button("hand", "hand"),)
    tested = last_at(owner.journal, ReadingTaken, lambda fact: not fact.source)
    drawn = (button("chart", "chart"),) if tested else ()
    sold = (button("hand_on", "hand_on"),) if owner.tub and not cases else ()
    rows = ((*write, *hand), (*drawn, *sold), *_case_buttons(draft, owner))
    return tuple(row for row in rows if row)


def _case_buttons(draft: Draft, owner: Owner) -> Buttons:
    return tuple(
        ((line("case.do.show"), encode(CaseButton(story.fact.case, "show"))),) for story in _cases(draft, owner)
    )
