"""A case on one screen: who, which tub, what happened, what was tested and added, what was advised, who has it."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from math import isfinite

from bot.model.dealer import Dealer
from bot.model.fact import Added, CaseOpened, Entry, ReadingTaken
from bot.model.known import Case
from bot.model.person import Person
from bot.model.tub import Tub
from bot.schedule.cases import CaseState, case_named
from bot.schedule.journal import facts, open_plan, standing
from bot.talk.amounts import mass
from bot.talk.buttons import CaseButton, encode
from bot.talk.draft import Draft
from bot.talk.names import product_name, reading_line
from bot.talk.understand.rules import rules
from bot.talk.words import Line, Volume, line, lines, verbatim
from dosing import DEFAULT_SCALE, Interval, Reading

TOLD = 200
"""Characters of the owner's own words on a card; all of them are in the chat."""
SAID = 110
HEALTH = (5, 7, 8, 9, 10, 13, 17)
"""The red flags that are about somebody's health."""
UNREACHABLE = ("blocked", "erased")
Buttons = tuple[tuple[tuple[Line, str], ...], ...]


@dataclass(frozen=True)
class Story:
    """A case and what is known around it. `state` is None where nothing of it was written down (a stranger's)."""

    fact: CaseOpened
    state: CaseState | None
    owner: Person | None
    tub: Tub | None
    journal: tuple[Entry, ...]
    dealer: Dealer | None = None
    called: str = ""
    """What the channel calls whoever it is about, where nobody knows more."""

    @property
    def name(self) -> str:
        """What its owner is called."""
        return (self.owner.name if self.owner else "") or self.called or "?"

    @property
    def reachable(self) -> bool:
        """Whether a message can reach its owner."""
        return self.owner is not None and self.owner.standing not in UNREACHABLE

    @property
    def about_health(self) -> bool:
        """Whether what is sent in it may show somebody's body."""
        return bool(set(self.fact.reasons) & health_reasons())

    def holder(self, staff: Iterable[Person]) -> Person | None:
        """Who of the dealer's active people has it."""
        return next((one for one in staff if self.state and one.key == self.state.by), None)


@cache
def health_reasons() -> frozenset[str]:
    """The reasons that are about somebody's health."""
    return frozenset({rule.name for rule in rules("flag") if rule.number in HEALTH} | {"alarm", "ph_with_symptoms"})


def story_of(case: Case, dealer: Dealer) -> Story:
    """An open case as the dealer's people know it."""
    assert isinstance(case.entry.fact, CaseOpened)
    journal = standing(case.journal)
    state = case_named(journal, case.entry.fact.case) or CaseState(case.entry, case.entry.fact)
    return Story(state.fact, state, case.owner, case.tub, journal, dealer)


def story_here(draft: Draft, fact: CaseOpened) -> Story:
    """A case of the tub that is talked about."""
    state = case_named(draft.journal, fact.case)
    mine = state is None or draft.person is None or state.entry.person == draft.person.key
    opener = None if mine else next((one for one in draft.known.household if one.key == state.entry.person), None)  # type: ignore[union-attr]
    return Story(
        fact,
        state,
        opener or draft.person,
        draft.tub,
        draft.journal,
        draft.known.dealer,
        draft.arrival.name,
    )


def head(story: Story) -> Line:
    """A case in one line and its owner's words."""
    told = verbatim(f"“{cut(story.fact.text, TOLD)}”") if story.fact.text else None
    title = line(f"case.head.{story.fact.klass}", name=story.name, case=story.fact.case)
    return lines(title, told, gap="\n")


def card(story: Story) -> Line:
    """The case in the few lines that a technician needs first."""
    fact, tub, owner, state = story.fact, story.tub, story.owner, story.state
    units = owner.units if owner else "metric"
    reasons = tuple(line(f"case.reason.{reason}") for reason in fact.reasons[:3])
    last = state.said[-1] if state and state.said and state.said[-1].text else None
    return lines(
        head(story),
        line("case.why", reasons=reasons) if reasons else None,
        line(
            "case.tub",
            volume=Volume(tub.volume) if tub.volume else line("unknown"),
            sanitizer=line(f"sanitizer.{tub.sanitizer}") if tub.sanitizer else line("unknown"),
            model=cut(tub.model, 40) if tub.model else line("unknown"),
        )
        if tub
        else None,
        line("case.reads", language=line(f"language.{owner.language}")) if owner else None,
        *_tests(story),
        *(
            line("case.added", at=entry.at, product=product_name(added.product), grams=round(added.grams or 0, 1))
            for entry, added in facts(story.journal, Added)[-3:]
        ),
        _advised(story, units),
        line(f"case.last.{last.side}", text=cut(last.text, SAID)) if last else None,
        line("case.noted", text=cut(state.notes[-1], SAID)) if state and state.notes else None,
        line("case.holds") if state and (state.held or state.decides) else None,
        gap="\n",
    )


def _tests(story: Story) -> list[Line]:
    """The last two tests; of the newest, how far each value may be off."""
    found = facts(story.journal, ReadingTaken, lambda test: not test.source)[-2:]
    return [
        line("case.tested", at=entry.at, values=_unsure(story, test) if entry is found[-1][0] else reading_line(test))
        for entry, test in found
    ]


def _unsure(story: Story, test: ReadingTaken) -> tuple[Line, ...]:
    """The values of a test, each with what it may be: a pad reaches to the middle between its neighbours."""
    scale = (story.tub.scale if story.tub else None) or (story.dealer.scale if story.dealer else DEFAULT_SCALE)
    may_be = Reading(values=test.values, method=test.method).intervals(scale)
    return tuple(
        _with_ends(value, may_be[key]) if test.values[key].kind == "value" else value
        for key, value in zip(test.values, reading_line(test), strict=True)
    )


def _with_ends(value: Line, ends: Interval) -> Line:
    if not isfinite(ends.high):
        return line("case.value_or_more", value=value, low=_short(ends.low))
    return line("case.value", value=value, low=_short(ends.low), high=_short(ends.high))


def _short(value: float) -> float:
    return round(value, 1) if value < 20 else round(value)


def _advised(story: Story, units: str) -> Line | None:
    """The plan that is open, as it was issued."""
    found = open_plan(story.journal)
    if found is None:
        return None
    doses = tuple(
        line("case.dose", product=product_name(step.product), amount=mass(step.grams, units))
        for step in found[1].plan.steps
        if step.grams
    )
    if not doses:
        return None
    return line("case.decided" if found[1].by else "case.advised", at=found[0].at, doses=doses[:3])


def offered(story: Story) -> Buttons:
    """What may be done with a case that nobody has."""
    if story.state is None:
        return ()
    return ((_button(story, "take"), _ends(story)),)


def handling(story: Story) -> Buttons:
    """What whoever has a case may do with it. No dose is named in a danger anyhow, and no test begins."""
    held = story.state is not None and (story.state.held or story.state.decides)
    plan = ((_button(story, "plan"), _button(story, "test")),) if story.tub else ()
    doses = (_button(story, "free" if held else "hold"),)
    standing = (_button(story, "standing"),) if story.dealer and story.dealer.answers else ()
    rest = ((_button(story, "note"), _button(story, "give")), (_ends(story),))
    if story.fact.klass == "danger":
        return (standing, *rest) if standing else rest
    return (*plan, (*doses, *standing), *rest)


def taken_by(story: Story, holder: Person) -> Line:
    """Who has a case."""
    return line("case.has", holder=first_name(holder), name=story.name, case=story.fact.case)


def over(story: Story) -> Buttons:
    """What others may do with a case that somebody has."""
    return ((_button(story, "over"),),)


def answering(story: Story) -> Buttons:
    """What may be done with what an owner wrote."""
    return ((_button(story, "answer"),),)


def first_name(person: Person) -> str:
    """What the dealer's people are called towards owners."""
    return (person.name.split() or ["?"])[0]


def cut(text: str, longest: int) -> str:
    """A text that is at most so long."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"


def _button(story: Story, action: str) -> tuple[Line, str]:
    return line(f"case.do.{action}"), encode(CaseButton(story.fact.case, action))


def _ends(story: Story) -> tuple[Line, str]:
    return _button(story, "clear" if story.fact.klass in ("danger", "water") else "close")
