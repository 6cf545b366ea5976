"""Free text that is no red flag, no command and no answer: readings, what was done, requests, symptoms, or anything."""

from dataclasses import replace
from datetime import timedelta

from pydantic import JsonValue

from bot.model.fact import Added, CaseSaid, Corrected, Entry, ReadingTaken
from bot.model.message import Button
from bot.schedule.cases import lately_closed
from bot.schedule.journal import facts, last
from bot.talk import stack
from bot.talk.amounts import mass
from bot.talk.cases import back_button
from bot.talk.draft import Draft
from bot.talk.flows.log_event import EVENTS, is_plain
from bot.talk.flows.pads import told_json
from bot.talk.names import product_name
from bot.talk.overview import care_menu
from bot.talk.poured import poured
from bot.talk.turn import Turn
from bot.talk.understand import Heard, readings, requests, symptoms
from bot.talk.understand.events import EventHeard, events
from bot.talk.words import Line, line, lines

SAME_TEST = timedelta(minutes=60)
"""Numbers told so soon after others are the same test, read again."""
NOT_HERE = frozenset({"bypass_protection", "wiring", "medical", "other_owner_data", "internals", "pool_not_tub"})
"""Requests after which nothing else in the text is acted on."""
URGENT = ("slime", "green", "brown", "rash", "eyes")
"""Symptoms that are answered before others of the same text."""


def understand_freely(draft: Draft, text: str, turn: Turn | None) -> None:
    """Answer a text that was nothing else. Never silent."""
    asked_for = requests(text)
    said = tuple(line(f"request.{code}", dealer=draft.known.dealer.name) for code in asked_for)
    if NOT_HERE & set(asked_for):
        _answer(draft, turn, said)
        return
    told = tuple(event for event in events(text, draft.now.astimezone(draft.words.zone)) if event.kind != "glass")
    heard = readings(text, sanitizer=draft.tub.sanitizer if draft.tub else None)
    if (heard.values or any(doubt.key for doubt in heard.doubts)) and draft.tub:
        _readings(draft, turn, heard, told, (*said, *_symptom_lines(text)))
    elif not told and _correct_amount(draft, text):
        return
    elif (found := _symptoms(text)) and not turn:
        stack.begin(draft, "symptom", {"what": found[0], "text": text}, said)
    elif found:
        stack.resume(draft, (*said, line(f"symptom.{found[0]}")))
    elif told and draft.tub:
        stack.begin(draft, "log_event", {"events": EVENTS.dump_python(told, mode="json")}, said)
    elif said:
        _answer(draft, turn, said)
    else:
        _unknown(draft, text, turn)


def _answer(draft: Draft, turn: Turn | None, said: tuple[Line, ...]) -> None:
    """Say it and go back to what is open, or offer what can be done."""
    if turn:
        stack.resume(draft, said)
    else:
        draft.say(lines(*said), care_menu(draft))


def _readings(
    draft: Draft,
    turn: Turn | None,
    heard: Heard,
    told: tuple[EventHeard, ...],
    before: tuple[Line, ...],
) -> None:
    if turn and turn.wait:
        stack.resume(draft, (*before, line("freely.too_early")))
        return
    if turn and turn.open.flow != "weekly_test" and turn.ask and turn.ask.dose:
        stack.resume(draft, (*before, line("freely.test_comes")))
        return
    if (wrong := _told_wrong(draft)) is not None:
        entry, earlier = wrong
        draft.record(Corrected(of=entry.key))
        both = {**earlier.values, **heard.values}
        heard = replace(heard, values=both, method=heard.method or earlier.method)
        before = (*before, line("freely.corrected"))
    _then(draft, told, "weekly_test", {**told_json(heard), "at": draft.now.isoformat()}, before)


def _then(
    draft: Draft, told: tuple[EventHeard, ...], flow: str, args: dict[str, JsonValue], before: tuple[Line, ...]
) -> None:
    """Begin a flow; what was plainly told as done is written down before it."""
    kit = (draft.tub.kit if draft.tub else None) or draft.known.dealer.kit
    plain = tuple(event for event in told if is_plain(event, kit))
    if plain and draft.tub:
        then: JsonValue = {"flow": flow, "args": args}
        stack.begin(draft, "log_event", {"events": EVENTS.dump_python(plain, mode="json"), "then": then}, before)
    else:
        stack.begin(draft, flow, args, before)


def _told_wrong(draft: Draft) -> tuple[Entry, ReadingTaken] | None:
    """The test that new numbers replace: this person's own, told just now, and nothing has gone in since."""
    found = last(draft.journal, ReadingTaken, lambda fact: not fact.source)
    if found is None or not draft.person or found[0].person != draft.person.key:
        return None
    entry = found[0]
    poured_since = any(at.at >= entry.at for at, _ in facts(draft.journal, Added))
    return None if poured_since or draft.now - entry.at > SAME_TEST else found


def _correct_amount(draft: Draft, text: str) -> bool:
    """An amount told after a dose was recorded corrects the record; False if the text is none, or there is no dose."""
    person = draft.person.key if draft.person else None
    found = last(draft.journal, Added, lambda fact: fact.plan_key is not None)
    if found is None or found[0].person != person or draft.now - found[0].at > timedelta(days=1):
        return False
    entry, added = found
    kit = (draft.tub.kit if draft.tub else None) or draft.known.dealer.kit
    grams = poured(text, added.grams or 0.0, kit.named(added.product or ""), alone=False)
    if grams is None or not added.grams or grams > 5 * added.grams:
        return False
    share = grams / added.grams
    right = added.model_copy(
        update={
            "grams": round(grams, 2),
            "substances": {name: round(part * share, 3) for name, part in added.substances.items()},
        }
    )
    draft.record(Corrected(of=entry.key, fact=right))
    units = draft.person.units if draft.person else "metric"
    stack.resume(draft, (line("freely.amount", product=product_name(added.product), amount=mass(grams, units)),))
    return True


def _symptoms(text: str) -> list[str]:
    found = list(symptoms(text))
    return sorted(found, key=lambda code: URGENT.index(code) if code in URGENT else len(URGENT))


def _symptom_lines(text: str) -> tuple[Line, ...]:
    """What is said of a symptom beside readings: the reading decides, so only the first cause in one sentence."""
    return tuple(line(f"symptom.short.{code}") for code in _symptoms(text)[:1])


def _unknown(draft: Draft, text: str, turn: Turn | None) -> None:
    """Nothing that is known. Soon after a case was closed it may be about that: it is kept there, and asked."""
    lately = lately_closed(draft.journal, draft.person.key, draft.now) if draft.person else None
    if turn:
        stack.resume(draft, (line("talk.not_understood"),))
    elif lately:
        draft.record(CaseSaid(case=lately.fact.case, side="owner", text=text[:4096]))
        label, data = back_button(lately.fact.case)
        again = Button(label=draft.words.text(label), data=data)
        draft.say(line("case.is_it_back"), ((again,), *care_menu(draft)))
    else:
        draft.say(line("freely.unknown"), care_menu(draft))
