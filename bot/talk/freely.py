"""Free text that is no red flag, no command and no answer: readings, what was done, requests, symptoms, or anything."""

from dataclasses import replace
from datetime import timedelta

from pydantic import JsonValue

from bot.model.fact import Added, CaseOpened, CaseSaid, Corrected, Entry, ReadingTaken
from bot.model.message import Button
from bot.schedule.cases import lately_closed
from bot.schedule.journal import facts, last, open_cases
from bot.talk import stack
from bot.talk.alarm import offer_alarm
from bot.talk.amounts import mass
from bot.talk.cases import back_button, new_case, open_case
from bot.talk.draft import Draft
from bot.talk.earlier import Earlier, told_apart
from bot.talk.flows.pads import told_json
from bot.talk.flows.told_events import EVENTS, is_plain
from bot.talk.guides import told_answer
from bot.talk.names import product_name
from bot.talk.news import news
from bot.talk.overview import care_menu
from bot.talk.poured import poured
from bot.talk.questions import blend, blend_line, short_answers, told_chlorine
from bot.talk.tongues import offer_languages
from bot.talk.turn import Turn
from bot.talk.understand import Doubt, Heard, courtesy, questions, readings, requests, symptoms, volume
from bot.talk.understand.events import EventHeard, events
from bot.talk.words import Line, Volume, line, lines, verbatim

SAME_TEST = timedelta(minutes=60)
"""Numbers told so soon after others are the same test, read again."""
NOT_HERE = frozenset({"bypass_protection", "wiring", "medical", "other_owner_data", "internals", "pool_not_tub"})
"""Requests after which nothing else in the text is acted on."""
HANDED_ON = frozenset({"bypass_protection", "wiring", "pool_not_tub", "complaint"})
"""What a person of the dealer's hears of at once."""
URGENT = ("bleached", "air_bubbles", "power_cut", "slime", "green", "brown", "rash", "eyes", "error_code", "no_flow")
"""Symptoms that are answered before others of the same text."""
SAME_VOLUME = 0.03
"""Litres so close together are one volume, rounded differently (common practice)."""
COVERED = {
    "same_tap": ("scale",),
    "masking": ("cloudy", "foam"),
    "bigger_shock": ("sanitizer_vanishes",),
    "eggs": ("smell",),
}
"""Symptoms of which an answer says the same as is said of them."""
CHALK_PH, CHALK_HARDNESS = 8.0, 150.0
"""From that pH and hardness on warm water is so far above saturation that chalk clouds it (common practice)."""
NEW_WATER = frozenset({"drained", "refilled", "topped_up"})


def understand_freely(draft: Draft, text: str, turn: Turn | None) -> None:
    """Answer a text that was nothing else. Never silent."""
    asked_for = requests(text)
    said = (*_optional(offer_languages(draft, text)), *(_request_line(draft, code) for code in asked_for))
    if HANDED_ON & {*asked_for, *questions(text)}:
        _hand_on(draft, text, tuple(code for code in (*asked_for, *questions(text)) if code in HANDED_ON))
    if NOT_HERE & set(asked_for):
        _answer(draft, turn, said)
        return
    mixture = blend(text)
    skip = ("guests",) if "wants_guarantee_safe" in asked_for else ()
    skip = (*skip, "how_to_adjust") if readings(text).values else skip
    answers = short_answers(draft, text, skip) if mixture is None else (blend_line(draft, mixture),)
    said = (*said, *answers)
    told, known = news(draft, events(text, draft.now.astimezone(draft.words.zone)))
    earlier = told_apart(text, draft.now.astimezone(draft.words.zone), draft.tub.sanitizer if draft.tub else None)
    heard = _without_source(earlier.heard, mixture)
    found = _symptoms(text)
    if "bleached" in found and not turn and draft.tub:
        args: dict[str, JsonValue] = {"what": "bleached", "text": text}
        first = _first_word(draft, told, "bleached")
        _then(draft, told, "symptom", args, (*said, *_optional(told_chlorine(draft, text)), *first))
    elif earlier.lost and not turn and draft.tub:
        _then(draft, told, "symptom", {"what": "sanitizer_vanishes", "text": text}, said)
    elif (heard.values or any(doubt.key for doubt in heard.doubts)) and draft.tub:
        _readings(draft, turn, text, heard, told, (*said, *_symptom_lines(found, text, heard)))
    elif not told and _correct_amount(draft, text):
        return
    elif "away" in questions(text) and not turn:
        _then(draft, told, "pause", {}, (*said, line("answer.away", dealer=draft.known.dealer.name)))
    elif found and not turn:
        first = () if said else _first_word(draft, told, found[0])
        _then(draft, told, "symptom", {"what": found[0], "text": text}, (*said, *first))
    elif told and draft.tub and not mixture:
        _log(draft, told, turn, (*said, *(line(f"guide.{code}.do") for code in found[:1])))
    elif found:
        stack.resume(draft, (*said, line(f"guide.{found[0]}.do")))
    else:
        _nothing_to_do(draft, turn, text, earlier, (*said, *known))


def _nothing_to_do(draft: Draft, turn: Turn | None, text: str, earlier: Earlier, said: tuple[Line, ...]) -> None:
    """Answer a text that brought nothing to act on: what was read earlier wants a test of now."""
    if earlier.then and draft.tub:
        _test_again(draft, turn, (*said, line("freely.earlier")))
    elif "how_to_adjust" in questions(text) and draft.tub:
        _test_again(draft, turn, said)
    elif said:
        _answer(draft, turn, said)
    else:
        _unknown(draft, turn, text)


def _first_word(draft: Draft, told: tuple[EventHeard, ...], symptom: str) -> tuple[Line, ...]:
    """What matters most of a symptom, said at once where the question whether something was done stands before it."""
    return (line(f"symptom.short.{symptom}"),) if _plain(draft, told) and draft.tub else ()


def _optional(said: Line | None) -> tuple[Line, ...]:
    return () if said is None else (said,)


def _request_line(draft: Draft, code: str) -> Line:
    return line(f"request.{code}", dealer=draft.known.dealer.name)


def _hand_on(draft: Draft, text: str, reasons: tuple[str, ...]) -> None:
    """Open a question for the dealer's people, once for each kind."""
    named = tuple(f"asked_{code}" for code in dict.fromkeys(reasons))
    standing = {reason for _, fact in open_cases(draft.journal) for reason in fact.reasons}
    if not draft.person or set(named) <= standing:
        return
    fact = CaseOpened(case=new_case(draft.journal, draft.person), klass="question", reasons=named, text=text[:4096])
    draft.record(fact)
    open_case(draft, fact)


def _without_source(heard: Heard, mixture: float | None) -> Heard:
    """The hardness of the water that a tub was filled with is not the tub's."""
    if mixture is None:
        return heard
    own = {key: said for key, said in heard.values.items() if key not in ("ch", "th")}
    return replace(heard, values=own, doubts=tuple(doubt for doubt in heard.doubts if doubt.key not in ("ch", "th")))


def _answer(draft: Draft, turn: Turn | None, said: tuple[Line, ...]) -> None:
    """Say it and go back to what is open, or offer what can be done."""
    if turn:
        stack.resume(draft, said)
    else:
        draft.say(lines(*said), care_menu(draft))


def _readings(
    draft: Draft,
    turn: Turn | None,
    text: str,
    heard: Heard,
    told: tuple[EventHeard, ...],
    before: tuple[Line, ...],
) -> None:
    if turn and turn.wait and turn.open.flow != "symptom":
        stack.resume(draft, (*before, line("freely.too_early")))
        return
    if turn and turn.open.flow not in stack.PASSING | {"weekly_test"} and turn.ask and turn.ask.dose:
        stack.resume(draft, (*before, line("freely.test_comes")))
        return
    if turn and turn.open.flow == "symptom":
        stack.drop_top(draft)
    if (wrong := _told_wrong(draft)) is not None:
        entry, earlier = wrong
        draft.record(Corrected(of=entry.key))
        both = {**earlier.values, **heard.values}
        heard = replace(heard, values=both, method=heard.method or earlier.method)
        before = (*before, line("freely.corrected"))
    metals = _stained(_symptoms(text), text)
    args = {**told_json(heard), "at": draft.now.isoformat(), "after": _after(text), "binder": metals}
    flow, args = _by_volume(draft, text, told, "weekly_test", args)
    if flow == "which_volume":
        stack.begin(draft, flow, args, before)
    else:
        _then(draft, told, flow, args, (*before, *_filed_volume(draft, text)))


def _after(text: str) -> str | None:
    """The symptom for which more is said once the readings are in range; of air everything is said already."""
    found = _symptoms(text)[:1]
    return found[0] if found and found[0] != "air_bubbles" else None


def _by_volume(
    draft: Draft, text: str, told: tuple[EventHeard, ...], flow: str, args: dict[str, JsonValue]
) -> tuple[str, dict[str, JsonValue]]:
    """Where the text tells litres that are not those on file, the question which of them holds comes first."""
    litres = _litres_told(text, told)
    filed = draft.tub.volume if draft.tub else None
    if not litres or (filed and any(abs(each - filed) <= SAME_VOLUME * filed for each in litres)):
        return flow, args
    if plain := _plain(draft, told):
        args = {"events": EVENTS.dump_python(plain, mode="json"), "then": {"flow": flow, "args": args}}
        flow = "log_event"
    return "which_volume", {"said": list(litres), "filed": filed, "then": {"flow": flow, "args": args}}


def _litres_told(text: str, told: tuple[EventHeard, ...]) -> tuple[float, ...]:
    """What a text says the tub holds: two numbers where the gallon could be either; nothing where it speaks of water
    that was drained or topped up.
    """
    if any(event.kind in NEW_WATER for event in told):
        return ()
    match volume(text):
        case Doubt(code="which_gallon", choices=choices):
            return tuple(choices)
        case float() as litres:
            return (litres,)
    return ()


def _filed_volume(draft: Draft, text: str) -> tuple[Line, ...]:
    """Which gallon was taken, said where the text left it open."""
    said = volume(text)
    if isinstance(said, Doubt) and said.code == "which_gallon" and draft.tub and draft.tub.volume:
        return (line("volume.as_filed", volume=Volume(draft.tub.volume)),)
    return ()


def _plain(draft: Draft, told: tuple[EventHeard, ...]) -> tuple[EventHeard, ...]:
    """What was told so plainly that it needs no question."""
    kit = (draft.tub.kit if draft.tub else None) or draft.known.dealer.kit
    return tuple(event for event in told if is_plain(event, kit))


def _test_again(draft: Draft, turn: Turn | None, said: tuple[Line, ...]) -> None:
    """A test of now, unless one is under way or something else is open."""
    if turn:
        stack.resume(draft, said)
    else:
        stack.begin(draft, "weekly_test", {}, said)


def _log(draft: Draft, told: tuple[EventHeard, ...], turn: Turn | None, before: tuple[Line, ...]) -> None:
    """Ask whether what was told is right. What is being asked about stays; what is told again counts as told last."""
    args: dict[str, JsonValue] = {}
    if turn and turn.open.flow == "log_event":
        earlier = EVENTS.validate_python(turn.open.args["events"])
        again = {(event.kind, event.role) for event in told}
        told = (*(event for event in earlier if (event.kind, event.role) not in again), *told)
        args = {"then": turn.open.args["then"]} if "then" in turn.open.args else {}
    stack.begin(draft, "log_event", {**args, "events": EVENTS.dump_python(told, mode="json")}, before)


def _then(
    draft: Draft, told: tuple[EventHeard, ...], flow: str, args: dict[str, JsonValue], before: tuple[Line, ...]
) -> None:
    """Begin a flow; what was plainly told as done is written down before it."""
    plain = _plain(draft, told)
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
    found: list[str] = list(symptoms(text))
    if "air_bubbles" in found:
        found = [code for code in found if code not in ("cloudy", "foam")]
    return sorted(found, key=lambda code: URGENT.index(code) if code in URGENT else len(URGENT))


def _symptom_lines(found: list[str], text: str, heard: Heard) -> tuple[Line, ...]:
    """What is said of a symptom beside readings: the reading decides, so only the first cause in one sentence, and
    none where the answer to a question said it already.
    """
    if not found:
        return ()
    if found[0] == "cloudy" and _chalky(heard):
        return (line("symptom.short.cloudy_chalk"),)
    if any(found[0] in COVERED.get(code, ()) for code in questions(text)):
        return ()
    return (line(f"symptom.short.{found[0]}"), *((line("answer.binder"),) if _stained(found, text) else ()))


def _stained(found: list[str], text: str) -> bool:
    """Whether the colour is that of metals: brown, or a green that can be seen through."""
    return found[:1] == ["brown"] or (found[:1] == ["green"] and not _grown(text))


def _chalky(heard: Heard) -> bool:
    """Whether the readings are those of water that drops its calcium: so high a pH, and no soft water."""
    ph, hardness = heard.values.get("ph"), heard.values.get("ch") or heard.values.get("th")
    return bool(ph and ph.low and ph.low >= CHALK_PH and not (hardness and (hardness.high or 0.0) < CHALK_HARDNESS))


def _grown(text: str) -> bool:
    answer = told_answer("green", text)
    return answer is not None and answer.key == "hazy"


def _unknown(draft: Draft, turn: Turn | None, text: str) -> None:
    """Nothing that is known. Soon after a case was closed it may be about that: it is kept there, and asked."""
    lately = lately_closed(draft.journal, draft.person.key, draft.now) if draft.person else None
    if not turn and draft.person and draft.person.standing == "stopped":
        draft.say(line("stop.done"))
    elif (polite := courtesy(text)) is not None:
        name = draft.person.name if draft.person else ""
        hello = line("freely.hello", name=verbatim(name)) if name else line("freely.hello_you")
        _answer(draft, turn, (hello if polite == "hello" else line("freely.thanks"),))
        return
    elif turn:
        stack.resume(draft, (line("talk.not_understood"),))
    elif lately:
        draft.record(CaseSaid(case=lately.fact.case, side="owner", text=text[:4096]))
        label, data = back_button(lately.fact.case)
        again = Button(label=draft.words.text(label), data=data)
        draft.say(line("case.is_it_back"), ((again,), *care_menu(draft)))
    else:
        draft.say(line("freely.unknown"), care_menu(draft))
    offer_alarm(draft)
