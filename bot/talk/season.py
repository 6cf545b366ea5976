"""What the season has taught of a tub, in words: the personal card and what the books say, each told when it is new."""

from bot.model.fact import (
    RETEST,
    CardTold,
    CaseOpened,
    Corrected,
    Plain,
    PlanClosed,
    ReadingTaken,
    StartedUp,
    StepPassed,
    StripsOpened,
    TestWanted,
    Warned,
)
from bot.model.message import Button
from bot.schedule.cases import doses_held
from bot.schedule.journal import facts, filled_at, in_danger, last, last_at, open_plan
from bot.schedule.season import season_of, started
from bot.talk import stack
from bot.talk.amounts import measured
from bot.talk.draft import Draft
from bot.talk.names import product_name
from bot.talk.overview import button_of, care_menu
from bot.talk.words import Line, Span, line, lines
from dosing import season

MATERIAL = 0.3
"""A card whose amounts moved by less than this share is the same card to whoever pours by the spoon (common practice).
"""
STRIPS = 4
"""Tests after which an owner has settled in enough to be asked for a better one (common practice)."""
SPOKEN = ("active_chlorine_low", "cyanurate_high", "cyanurate_rising")
"""What the books may find, the gravest first."""
EXAMPLES = ((2, 30.0), (4, 60.0))
"""Soaks that a card is compared by: people and minutes. The first is its example."""


def my_card(draft: Draft) -> None:
    """The personal card, or why there is none now."""
    if in_danger(draft.journal) or doses_held(draft.journal):
        draft.say(line("danger.paused" if in_danger(draft.journal) else "case.doses_held"))
        return
    found = season_of(draft.tub, draft.known.dealer, draft.journal, draft.now)
    if found is None or found.card is None:
        why = found.no_card if found else "no_reading"
        draft.say(line(f"card.none.{why}"), _test_first(draft))
    elif not found.card.most:
        draft.say(line("routine.none.enough"), care_menu(draft))
    else:
        _told(draft, found.card)
        draft.say(card_lines(draft, found, found.card, "card.head"), _card_menu(draft))


def _test_first(draft: Draft) -> tuple[tuple[Button, ...], ...]:
    return ((button_of(draft, "test"),),)


def _card_menu(draft: Draft) -> tuple[tuple[Button, ...], ...]:
    return ((button_of(draft, "dose"),), *care_menu(draft))


def card_lines(draft: Draft, found: season.Season, card: season.Card, head: str) -> Line:
    """The card in this owner's own measures."""
    product = found.tub.kit.named(card.product)
    assert product

    def poured(grams: float) -> Line:
        return measured(product, grams, draft.words.units)

    people, minutes = EXAMPLES[0]
    each = line("card.each_soak", fixed=poured(card.each_soak), more=poured(0.5 * card.each_bather_hour))
    soak = line("card.example", count=people, span=Span(minutes), amount=poured(card.after_soak(people, minutes)))
    holiday = line("card.before_holiday", amount=poured(card.before_holiday)) if card.before_holiday else None
    return lines(
        line(head, product=product_name(card.product)),
        lines(each, line("card.most", amount=poured(card.most)), soak, gap=" "),
        line("card.idle", count=card.idle_days, amount=poured(card.idle)),
        lines(holiday, line("card.after_holiday"), gap="\n"),
        line("card.until", count=max(1, round(card.good_for_hours / 24.0))),
    )


def tell_news(draft: Draft) -> None:
    """After a test has ended and nothing else is talked about: the card, where it is new or has changed. One that is
    held down by what the test found today is no news.
    """
    if draft.person is None or draft.tub is None or stack.top(draft) or not _settled_here(draft):
        return
    if doses_held(draft.journal) or open_plan(draft.journal) or not started(draft.journal):
        return
    found = season_of(draft.tub, draft.known.dealer, draft.journal, draft.now)
    if found is None:
        return
    if (litres := _contradicted(draft, found)) is not None:
        stack.begin(draft, "check_volume", {"litres": litres})
        return
    if books := _books(draft, found):
        draft.say(lines(*books), care_menu(draft))
    elif last(draft.journal, CardTold) and _wants_better_ph(draft, found):
        draft.record(Warned(caution="better_ph"))
        stack.begin(draft, "better_ph")
        return
    if found.card is None or found.card.idle >= found.card.most:
        return
    told = last(draft.journal, CardTold)
    if told is None or _changed(told[1], found.card):
        _told(draft, found.card)
        draft.say(
            card_lines(draft, found, found.card, "card.first" if told is None else "card.changed"), _card_menu(draft)
        )


def _contradicted(draft: Draft, found: season.Season) -> float | None:
    """Litres that the tub seems to hold where its doses contradict what is on file; asked about once in a water."""
    litres = next((each.numbers["litres"] for each in found.findings if each.code == "volume_contradicted"), None)
    return litres if litres is not None and _first_time(draft, "volume") else None


def _books(draft: Draft, found: season.Season) -> tuple[Line, ...]:
    """What has gathered in this water and was not told of it yet; the gravest of what says the same."""
    known = {finding.code: finding.numbers for finding in found.findings}
    codes = [code for code in SPOKEN if code in known and not (code == "cyanurate_rising" and len(known) > 1)]
    return tuple(
        line(f"books.{code}", **{name: round(value, 1) for name, value in known[code].items()})
        for code in codes
        if _first_time(draft, f"books.{code}")
    )


def _wants_better_ph(draft: Draft, found: season.Season) -> bool:
    """Whether a better pH would tell more than further strips of this bottle; asked once for each."""
    if not found.wants_better_ph or len(facts(draft.journal, ReadingTaken, lambda fact: not fact.source)) < STRIPS:
        return False
    opened, asked = last_at(draft.journal, StripsOpened), last_at(draft.journal, Warned, _is_better_ph)
    return asked is None or (opened is not None and opened > asked)


def _is_better_ph(fact: Warned) -> bool:
    return fact.caution == "better_ph"


def _first_time(draft: Draft, what: str) -> bool:
    """Whether something is said for the first time in this water; then it is noted that it was."""
    since = filled_at(draft.journal)
    said = facts(draft.journal, Warned, lambda fact: fact.caution == what)
    if any(since is None or entry.at >= since for entry, _ in said):
        return False
    draft.record(Warned(caution=what))
    return True


def _settled_here(draft: Draft) -> bool:
    """Whether a test or the start-up has come to its end here, and nothing of it is left for later or for a person."""
    told = [entry.fact for entry in draft.entries]
    left = any(
        isinstance(fact, CaseOpened) or (isinstance(fact, TestWanted) and fact.why != "first_week") for fact in told
    )
    return not left and any(map(_ends, told))


def _ends(fact: Plain | Corrected) -> bool:
    """Whether with this nothing of a test or a start-up is left to do."""
    match fact:
        case PlanClosed(how=how):
            return how == "done"
        case StepPassed(step=step):
            return step == RETEST
        case _:
            return isinstance(fact, StartedUp)


def _told(draft: Draft, card: season.Card) -> None:
    told = CardTold(
        product=card.product,
        each_soak=card.each_soak,
        each_bather_hour=card.each_bather_hour,
        idle_days=card.idle_days,
        idle=card.idle,
    )
    before = last(draft.journal, CardTold)
    if before is None or before[1] != told:
        draft.record(told)


def _changed(told: CardTold, card: season.Card) -> bool:
    """Whether somebody who pours by the spoon would pour another amount."""
    if (told.product, told.idle_days) != (card.product, card.idle_days):
        return True
    before = [told.idle, *(_soak(told.each_soak, told.each_bather_hour, *soak) for soak in EXAMPLES)]
    now = [card.idle, *(_soak(card.each_soak, card.each_bather_hour, *soak) for soak in EXAMPLES)]
    return any(abs(new - old) > max(MATERIAL * max(new, old), card.step) for new, old in zip(now, before, strict=True))


def _soak(each: float, each_hour: float, people: int, minutes: float) -> float:
    return each + each_hour * people * minutes / 60.0
