"""The flows that are open in a chat: beginning one, feeding it, going back, and what happens when it ends.

The flow on top is the one that is talked about. One below it waits and is taken up again when the one above has ended.
"""

from collections.abc import Mapping
from datetime import timedelta

from pydantic import JsonValue

from bot.model.conversation import Done, Given, OpenFlow
from bot.model.fact import Corrected, PlanClosed
from bot.schedule.cases import dose_withheld
from bot.schedule.journal import open_plan
from bot.talk.draft import Draft
from bot.talk.flow import FLOWS, Next
from bot.talk.tub_names import tub_name
from bot.talk.turn import PLAIN, NotResumable, Turn, hand_out, is_withheld, remaining, run, show, show_in_short
from bot.talk.words import Line, line, lines

DEPTH = 3
PASSING = frozenset({"rest_day", "oxidise", "soaked", "holiday_dose", "better_ph", "put_aside", "check_volume"})
"""Flows that are over when another begins: a dose of the routine is computed anew when it is asked for."""
OLD = timedelta(hours=24)
"""So long a test, or something told in passing, is gone on with."""
STAYS = ("case", "told")
"""Kinds of facts that did more than to be written down."""


def forget_unknown(draft: Draft) -> None:
    """Close flows that this version no longer has, or that are about a tub that is somebody else's by now."""
    theirs = {tub.key for tub in (*draft.known.tubs, draft.tub) if tub}
    known = tuple(
        one for one in draft.conversation.flows if one.flow in FLOWS and (one.tub is None or one.tub.key in theirs)
    )
    if len(known) < len(draft.conversation.flows):
        _put(draft, known)


def top(draft: Draft) -> OpenFlow | None:
    """The flow that is talked about."""
    flows = draft.conversation.flows
    return flows[-1] if flows else None


def is_paused(draft: Draft) -> bool:
    """Whether what is talked about has to wait until staff have cleared a danger."""
    opened = top(draft)
    return is_withheld(draft, opened.flow if opened else "")


def begin(draft: Draft, name: str, args: Mapping[str, JsonValue] | None = None, before: tuple[Line, ...] = ()) -> None:
    """Begin a flow on top of what is open. A flow of that name that is open already begins again."""
    assert draft.person
    over = [
        one for one in draft.conversation.flows if one.flow in PASSING or (one.flow == name and _is_here(draft, one))
    ]
    flows = tuple(opened for opened in draft.conversation.flows if opened not in over)
    for opened in over:
        _drop_timer(draft, opened)
        _drop_routine_plan(draft, opened)
    serial = draft.conversation.serial + 1
    opened = OpenFlow(
        flow=name, serial=serial, began=draft.now, person=draft.person, tub=draft.tub, args=dict(args or {})
    )
    _put(draft, (*flows[-(DEPTH - 1) :], opened), serial)
    _advance(draft, run(draft, opened, fresh=True), before)


def _is_here(draft: Draft, opened: OpenFlow) -> bool:
    """Whether a flow is about the tub that is talked about."""
    return opened.tub is None or draft.tub is None or opened.tub.key == draft.tub.key


def _drop_routine_plan(draft: Draft, opened: OpenFlow) -> None:
    """A dose of the routine that was named and not poured is no plan any more."""
    plan = open_plan(draft.journal)
    if (
        opened.flow in PASSING
        and _is_here(draft, opened)
        and plan
        and plan[1].reading is None
        and plan[0].person == opened.person.key
    ):
        draft.record(PlanClosed(plan_key=plan[1].plan_key, how="superseded"))


def take_up(draft: Draft, name: str) -> bool:
    """Bring the open flow of that name to the top; False if none is open."""
    flows = draft.conversation.flows
    found = next((opened for opened in flows if opened.flow == name and _is_here(draft, opened)), None)
    if found is None:
        return False
    _put(draft, (*(opened for opened in flows if opened.serial != found.serial), found))
    return True


def feed(draft: Draft, key: str, value: JsonValue, also: Mapping[str, JsonValue] | None = None) -> None:
    """Give the flow on top an answer, and those to later questions that came with it, and go on."""
    opened = top(draft)
    assert opened
    answers = {key: value, **{k: v for k, v in (also or {}).items() if k != key}}
    held = {given.key for given in opened.given}
    new = tuple(Given(key=k, how="answer", value=v, at=draft.now) for k, v in answers.items() if k not in held)
    _go_on(draft, opened, new)


def end_wait(draft: Draft, opened: OpenFlow, key: str, value: JsonValue = None) -> None:
    """The wait of an open flow has ended: bring that flow to the top and go on."""
    others = tuple(flow for flow in draft.conversation.flows if flow.serial != opened.serial)
    _drop_timer(draft, opened)
    opened = opened.model_copy(update={"waits_for": None})
    _put(draft, (*others, opened))
    _go_on(draft, opened, (Given(key=key, how="waited", value=value, at=draft.now),))


def resume(draft: Draft, before: tuple[Line, ...] = ()) -> None:
    """Ask again what is open now; if nothing is, say `before` alone, or that nothing is open."""
    opened = top(draft)
    if opened is None:
        draft.say(before[0] if before else line("talk.nothing_open"))
        return
    if not _is_here(draft, opened) and opened.tub:
        draft.say(lines(*before, line("tubs.waiting", tub=tub_name(opened.tub, draft.known.tubs))))
        return
    if is_paused(draft):
        draft.say(lines(*before, line("danger.paused")))
        return
    if opened.unheard:
        new = tuple(given for given in opened.given if given.key in opened.unheard)
        older = tuple(given for given in opened.given if given.key not in opened.unheard)
        _go_on(draft, opened.model_copy(update={"given": older, "unheard": ()}), new)
        return
    turn = _try(draft, opened)
    if turn.finished:
        _advance(draft, turn, before)
        return
    _put(draft, (*draft.conversation.flows[:-1], turn.open))
    if turn.wait:
        show(draft, turn, before, waiting=remaining(draft, turn))
    else:
        show(draft, turn, before)


def remind(draft: Draft) -> None:
    """Ask in short what is open, after something else was said: once, until it is answered or asked anew."""
    turn = look(draft)
    if turn is None or turn.ask is None or turn.open.brought_back == len(turn.open.given) or is_paused(draft):
        return
    if not _is_here(draft, turn.open) or (turn.ask.dose and dose_withheld(draft.journal)):
        return
    turn.open = turn.open.model_copy(update={"brought_back": len(turn.open.given)})
    _put(draft, (*draft.conversation.flows[:-1], turn.open))
    show_in_short(draft, turn)


def look(draft: Draft) -> Turn | None:
    """How far the flow on top has come, without saying or changing anything."""
    opened = top(draft)
    if opened is None or opened.unheard:
        return None
    try:
        return run(draft, opened)
    except NotResumable:
        return None


def hold(draft: Draft, opened: OpenFlow, key: str) -> None:
    """A wait ended while nothing may go on: keep that it did, and say nothing until the flow is taken up again."""
    given = Given(key=key, how="waited", value=None, at=draft.now)
    held = opened.model_copy(
        update={"waits_for": None, "given": (*opened.given, given), "unheard": (*opened.unheard, key)}
    )
    _put(draft, tuple(held if flow.serial == opened.serial else flow for flow in draft.conversation.flows))


def back(draft: Draft) -> None:
    """Forget the newest answer and ask that question again. What was poured stays: it can only be corrected."""
    opened = top(draft)
    if opened is None:
        draft.say(line("talk.nothing_open"))
        return
    places = [place for place, given in enumerate(opened.given) if given.how == "answer"]
    if not places:
        resume(draft, (line("back.first"),))
        return
    place = places[-1]
    if opened.given[place].key in _fixed(draft, opened):
        resume(draft, (line("back.poured"),))
        return
    _drop_timer(draft, opened)
    opened = opened.model_copy(update={"given": opened.given[:place], "waits_for": None})
    _put(draft, (*draft.conversation.flows[:-1], _reopened(draft, opened)))
    resume(draft)


def _reopened(draft: Draft, opened: OpenFlow) -> OpenFlow:
    """Take back what was written down because of an answer that has been taken back."""
    met = run(draft, opened).met
    gone = [done for done in opened.done if done.key not in met and _can_be_taken_back(done)]
    for done in gone:
        draft.record(Corrected(of=done.entry))
    return opened.model_copy(update={"done": tuple(done for done in opened.done if done not in gone)})


def _can_be_taken_back(done: Done) -> bool:
    """Whether an effect was a fact alone: what people were told, and a profile as it is now, stay as they are until
    another answer changes them.
    """
    return bool(done.fact) and PLAIN.validate_json(done.fact).kind not in STAYS


def start_over(draft: Draft) -> None:
    """Begin the flow on top again, with no answers."""
    opened = top(draft)
    if opened is None:
        draft.say(line("talk.nothing_open"))
        return
    _drop_timer(draft, opened)
    begin(draft, opened.flow, opened.args, (line("talk.again_from_start"),))


def drop_all(draft: Draft) -> None:
    """Close every flow without a word."""
    for opened in draft.conversation.flows:
        _drop_timer(draft, opened)
    _put(draft, ())


def drop_about(draft: Draft, case: str) -> None:
    """Close what is open about a case without a word: it comes to its end."""
    about = [opened for opened in draft.conversation.flows if opened.args.get("case") == case]
    for opened in about:
        _drop_timer(draft, opened)
    _put(draft, tuple(opened for opened in draft.conversation.flows if opened not in about))


def drop_top(draft: Draft) -> None:
    """Close the flow on top without a word."""
    opened = top(draft)
    if opened:
        _drop_timer(draft, opened)
        _put(draft, draft.conversation.flows[:-1])


def _put(draft: Draft, flows: tuple[OpenFlow, ...], serial: int | None = None) -> None:
    update: dict[str, object] = {"flows": flows}
    if serial is not None:
        update["serial"] = serial
    draft.conversation = draft.conversation.model_copy(update=update)


def _drop_timer(draft: Draft, opened: OpenFlow) -> None:
    if opened.waits_for:
        draft.cancel_due(opened.waits_for)


def _go_on(draft: Draft, opened: OpenFlow, new: tuple[Given, ...]) -> None:
    opened = opened.model_copy(update={"given": (*opened.given, *new)})
    try:
        turn = run(draft, opened, frozenset(given.key for given in new))
    except NotResumable:
        begin(draft, opened.flow, opened.args, (line("talk.restarted"),))
        return
    _advance(draft, turn)


def _try(draft: Draft, opened: OpenFlow) -> Turn:
    try:
        return run(draft, opened)
    except NotResumable:
        fresh = opened.model_copy(update={"given": (), "done": (), "waits_for": None, "began": draft.now})
        turn = run(draft, fresh, fresh=True)
        turn.says.insert(0, line("talk.restarted"))
        return turn


def _advance(draft: Draft, turn: Turn, before: tuple[Line, ...] = ()) -> None:
    others = tuple(flow for flow in draft.conversation.flows if flow.serial != turn.open.serial)
    if not turn.finished:
        _put(draft, (*others, turn.open))
        show(draft, turn, before)
        return
    _drop_timer(draft, turn.open)
    others = tuple(flow for flow in others if not _is_of_another_day(draft, flow))
    _put(draft, others)
    hand_out(draft, turn)
    said = (*before, *turn.says)
    match turn.next:
        case Next(flow, args):
            begin(draft, flow, args, said)
        case None if others:
            resume(draft, (*said, line("talk.where_we_were")))
        case None if said:
            show(draft, Turn(turn.open, list(said), offers=turn.offers))
        case None if not turn.shows:
            draft.say(line("talk.done"))


def _is_of_another_day(draft: Draft, opened: OpenFlow) -> bool:
    """Whether it is a test or a remark of another day: nobody wants to go back to it, and another test is due."""
    touched = max([opened.began, *(given.at for given in opened.given)])
    return opened.flow in ("weekly_test", "log_event") and not opened.waits_for and draft.now - touched > OLD


def _fixed(draft: Draft, opened: OpenFlow) -> set[str]:
    """Keys of answers that cannot be undone, found by running the flow and looking at its questions."""
    return set(run(draft, opened).fixed)
