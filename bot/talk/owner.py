"""What an owner says or does, in the order in which it is looked at: red flags, then commands, then the open question,
then free text. There is always an answer.
"""

from bot.model.event import Answered, Began, Blocked, Fell, Returned, Sent, Tapped, Unblocked, Wrote
from bot.model.fact import Noted, Resumed
from bot.schedule.journal import in_danger, open_cases
from bot.talk import cases, commands, relay, reminders, rising, round_answers, stack, tubs
from bot.talk.alarm import offer_alarm
from bot.talk.answering import is_put_off, label_typed, leads_on, option_meant
from bot.talk.buttons import AnswerButton, CaseButton, CommandButton, ReminderButton, RoundButton, decode
from bot.talk.danger import look_for_danger, misunderstood
from bot.talk.door import join
from bot.talk.draft import WHICH_TUB, Draft
from bot.talk.flow import Again, Ask, Heard
from bot.talk.freely import understand_freely
from bot.talk.overview import care_menu
from bot.talk.turn import Turn
from bot.talk.understand import agree, command, flags, unsure
from bot.talk.words import line, verbatim
from bot.talk.worry import WORRY, answer, ask_whether, is_doubtful, leave_a_tap

BEFORE_CONSENT = frozenset({"start", "stop", "erase", "cancel", "help", "back", "language", "danger"})
"""Commands that are obeyed before a person has agreed to what is kept."""
WITHOUT_TUB = BEFORE_CONSENT | {"export"}
"""Commands that are obeyed where somebody has no tub."""
ALWAYS = BEFORE_CONSENT | {"person"}
"""Commands that are obeyed while it is open whether there is danger."""


def owner_step(draft: Draft) -> None:
    """Answer one event of an owner."""
    if draft.tub is None and not _may_without_tub(draft):
        draft.say(line("household.no_tub"))
        return
    match draft.arrival.event:
        case Wrote() as wrote:
            _wrote(draft, wrote)
        case Tapped(data=data):
            _tapped(draft, data)
        case Answered(asks=name, value=value):
            _answered(draft, name, value)
        case Sent() as sent:
            _sent(draft, sent)
        case Began():
            _began(draft)
        case Fell() as fell:
            _fell(draft, fell)
        case Returned() as returned:
            _returned(draft, returned)
        case Blocked():
            relay.owner_left(draft)
            draft.change_person(standing="blocked")
        case Unblocked():
            draft.change_person(standing="active")
        case None:
            draft.say(line("talk.unreadable"))


def _may_without_tub(draft: Draft) -> bool:
    """What somebody who has left their only tub may still do: all that needs none."""
    match draft.arrival.event:
        case Wrote(text=text):
            return bool(stack.top(draft) or flags(text)) or command(text) in WITHOUT_TUB
        case Tapped(data=data):
            pressed = decode(data)
            named = isinstance(pressed, CommandButton) and pressed.command.partition(":")[0] in WITHOUT_TUB
            return named or isinstance(pressed, AnswerButton)
        case Sent():
            return False
    return True


def _wrote(draft: Draft, wrote: Wrote) -> None:
    if not is_doubtful(draft, wrote.text) and look_for_danger(draft, wrote.text):
        return
    if _is_answer_to_worry(draft, wrote.text) or ask_whether(draft, wrote, lambda: _fits(draft, wrote.text)):
        return
    if wrote.forwarded or wrote.edited:
        _not_fresh(draft, wrote)
    elif not _chooses_tub(draft, wrote.text) and not tubs.ask_which(draft):
        _go_on(draft, wrote)
    leave_a_tap(draft, wrote.text)


def _chooses_tub(draft: Draft, text: str) -> bool:
    """Whether a text says which of several tubs is meant. Anything else takes the place of what was written before."""
    turn = stack.look(draft)
    if turn is None or turn.open.flow != WHICH_TUB:
        return False
    place = option_meant(draft, turn, text)
    if place is None:
        stack.drop_top(draft)
        return False
    _choose(draft, turn, place)
    return True


def _about(draft: Draft, tub: str) -> None:
    """That tub is meant from now on; what was written before it was asked is about it."""
    if not draft.turn_to(tub):
        if draft.seeks is None:
            stack.resume(draft, (line("talk.old_button"),))
        return
    tubs.choose(draft, tub)
    opened = stack.top(draft)
    if opened is None or opened.flow not in (WHICH_TUB, "tubs"):
        stack.resume(draft, (line("tubs.chosen"),))
        return
    stack.drop_top(draft)
    if text := opened.args.get("text"):
        _go_on(draft, Wrote(text=str(text)))
    elif not (name := opened.args.get("command")) or not commands.obey(draft, str(name)):
        draft.say(line("tubs.chosen"), care_menu(draft))


def _fits(draft: Draft, text: str) -> bool:
    """Whether a text answers what is open, or goes to a technician who is in the conversation."""
    if open_cases(draft.journal):
        return True
    turn = None if stack.is_paused(draft) else stack.look(draft)
    if turn is None:
        return False
    return option_meant(draft, turn, text) is not None or bool(turn.ask and turn.ask.reads and turn.ask.reads(text))


def _is_answer_to_worry(draft: Draft, text: str) -> bool:
    """Where it was asked whether there is danger, that is answered first: anything else has to wait, but for help. A
    person who has their case reads it all the same.
    """
    turn = stack.look(draft)
    if turn is None or turn.open.flow != WORRY:
        return False
    if command(text) in ALWAYS:
        return False
    if not _heard(draft, turn, text):
        relay.pass_on(draft, text, quietly=True)
        stack.resume(draft, (line("talk.no_matter"),) if unsure(text) else ())
        offer_alarm(draft)
    return True


def _go_on(draft: Draft, wrote: Wrote) -> None:
    turn = None if stack.is_paused(draft) else stack.look(draft)
    wanted = command(wrote.text)
    if turn and wanted and (labelled := label_typed(draft, turn, wrote.text)) is not None:
        _choose(draft, turn, labelled)
        return
    if turn and turn.ask and wanted and _answers(turn.ask, wanted, wrote.text) and _heard(draft, turn, wrote.text):
        return
    if turn is None and wanted in (None, "person") and round_answers.said(draft, wrote.text):
        return
    if wanted and _may_ask_for(draft, wanted) and commands.obey(draft, wanted):
        return
    if turn and _heard(draft, turn, wrote.text):
        return
    if relay.pass_on(draft, wrote.text):
        stack.remind(draft)
        return
    if in_danger(draft.journal):
        draft.record(Noted(text=wrote.text[:4096]))
        draft.say(line("danger.paused"))
    elif turn and leads_on(draft, turn, wrote.text):
        pass
    elif _has_agreed(draft):
        understand_freely(draft, wrote.text, turn)
    else:
        _ask_to_agree(draft)


def _not_fresh(draft: Draft, wrote: Wrote) -> None:
    """What was written elsewhere, or changed afterwards, answers nothing; a person may read it all the same."""
    if relay.pass_on(draft, wrote.text, edited=wrote.edited):
        return
    if wrote.forwarded:
        draft.record(Noted(text=wrote.text[:4096]))
        stack.resume(draft, (line("talk.forwarded"),))
    else:
        stack.resume(draft, (line("talk.edited"),))


def _answers(ask: Ask, wanted: str, text: str) -> bool:
    """Whether what could be a command is the answer to an open question: `tub`, or `une personne` where people are
    counted.
    """
    if wanted == "person":
        return ask.reads is not None and isinstance(ask.reads(text), Heard)
    return wanted == ask.key


def _has_agreed(draft: Draft) -> bool:
    return draft.person is not None and draft.person.agreed_at is not None


def _may_ask_for(draft: Draft, name: str) -> bool:
    """Whether a command is obeyed: before anybody agreed to what is kept, only those that keep nothing are."""
    return _has_agreed(draft) or name.partition(":")[0] in BEFORE_CONSENT


def _ask_to_agree(draft: Draft) -> None:
    """Go back to the question that comes before all others, or ask it anew where it was closed."""
    if stack.top(draft):
        stack.resume(draft, (line("talk.not_understood"),))
        offer_alarm(draft)
    else:
        stack.begin(draft, "welcome")


def _heard(draft: Draft, turn: Turn, text: str) -> bool:
    """Take a text as an answer to what is open; False if it is none."""
    if turn.wait:
        early = option_meant(draft, turn, text)
        if early is not None:
            stack.end_wait(draft, turn.open, turn.wait.key, turn.wait.early[early].value)
            return True
        if agree(text) is not None:
            stack.resume(draft)
            return True
        return False
    if turn.ask is None:
        return False
    chosen = option_meant(draft, turn, text)
    if chosen is not None:
        _choose(draft, turn, chosen)
        return True
    return _read(draft, turn.ask, text)


def _read(draft: Draft, ask: Ask, text: str) -> bool:
    match ask.reads(text) if ask.reads and not is_put_off(text) else None:
        case Heard(value, also):
            stack.feed(draft, ask.key, value, also)
        case Again(why):
            stack.resume(draft, (why,))
        case None:
            return False
    return True


def _choose(draft: Draft, turn: Turn, place: int) -> None:
    chosen = turn.options[place].value
    if chosen.startswith("/about:"):
        _about(draft, chosen.partition(":")[2])
    elif chosen.startswith("/"):
        commands.obey(draft, chosen[1:])
    elif turn.open.flow == WORRY:
        if text := answer(draft, turn, chosen):
            _go_on(draft, Wrote(text=text))
        elif text == "":
            stack.resume(draft)
    elif turn.ask:
        stack.feed(draft, turn.ask.key, chosen)
    elif turn.wait:
        stack.end_wait(draft, turn.open, turn.wait.key, chosen)


def _tapped(draft: Draft, data: str) -> None:
    match decode(data):
        case AnswerButton() as button:
            _tapped_answer(draft, button)
        case CommandButton(name) if not _may_ask_for(draft, name):
            _ask_to_agree(draft)
        case CommandButton(name) if name.startswith("about:"):
            _about(draft, name.partition(":")[2])
        case CommandButton(name) if tubs.ask_which(draft) or commands.obey(draft, name):
            pass
        case ReminderButton(tub, what, answer):
            if draft.turn_to(tub) or draft.seeks is None:
                reminders.answered(draft, tub, what, answer)
        case RoundButton() as button:
            round_answers.tapped(draft, button)
        case CaseButton(case, "mistake"):
            misunderstood(draft, case)
        case CaseButton(case, "back"):
            cases.came_back(draft, case)
        case CaseButton(case, "helped"):
            cases.helped(draft, case)
        case _:
            stack.resume(draft, (line("talk.old_button"),))


def _tapped_answer(draft: Draft, button: AnswerButton) -> None:
    if stack.is_paused(draft):
        draft.say(line("danger.paused"))
        return
    turn = stack.look(draft)
    if turn is None or turn.open.serial != button.serial:
        stack.resume(draft, (line("talk.old_button"),))
    elif len(turn.open.given) != button.position:
        stack.resume(draft, (line("talk.answered_already"),))
    elif button.option >= len(turn.options):
        stack.resume(draft, (line("talk.old_button"),))
    else:
        _choose(draft, turn, button.option)


def _answered(draft: Draft, name: str, value: str) -> None:
    if stack.is_paused(draft):
        draft.say(line("danger.paused"))
        return
    turn = stack.look(draft)
    if turn is None or turn.ask is None or (turn.ask.name or turn.ask.key) != name:
        stack.resume(draft, (line("talk.not_asked"),))
        return
    place = next((place for place, one in enumerate(turn.options) if one.value == value), None)
    if place is not None:
        _choose(draft, turn, place)
    elif not _heard(draft, turn, value):
        stack.resume(draft, (line("talk.not_understood"),))
        offer_alarm(draft)


def _sent(draft: Draft, sent: Sent) -> None:
    what = sent.files[0].what if sent.files else "other"
    draft.record(Noted(text=f"[{what}] {sent.caption}".strip()[:4096]))
    flagged = bool(sent.caption) and look_for_danger(draft, sent.caption)
    if relay.pass_on(draft, sent.caption, sent.files, quietly=flagged) or flagged:
        return
    stack.resume(draft, (line(f"sent.{what}"),))


def _began(draft: Draft) -> None:
    assert draft.person
    if isinstance(draft.arrival.event, Began) and draft.arrival.event.invite and join(draft):
        return
    if draft.person.standing in ("stopped", "blocked"):
        draft.change_person(standing="active")
        draft.record(Resumed())
    if stack.top(draft):
        stack.resume(draft, (line("door.back_again", name=verbatim(draft.person.name)),))
    elif not _has_agreed(draft):
        stack.begin(draft, "welcome")
    else:
        commands.obey(draft, "help")


def _returned(draft: Draft, returned: Returned) -> None:
    """What an errand came to, for the flow that waits for it; nothing where that was closed meanwhile."""
    waiting = next((flow for flow in draft.conversation.flows if flow.waits_for == returned.errand), None)
    if waiting and (waiting.tub is None or draft.turn_to(waiting.tub.key) or draft.seeks is None):
        stack.end_wait(draft, waiting, returned.what, returned.result)


def _fell(draft: Draft, fell: Fell) -> None:
    if fell.due.startswith("k."):
        rising.look(draft, fell)
        return
    if fell.due.startswith(cases.PLAN_COMES):
        stack.begin(draft, "sent_plan", {"plan": fell.due.removeprefix(cases.PLAN_COMES)})
        return
    opened = next((flow for flow in draft.conversation.flows if flow.waits_for == fell.due), None)
    if opened is None:
        reminders.fell(draft, fell)
        return
    if in_danger(draft.journal):
        stack.hold(draft, opened, fell.what)
        return
    stack.end_wait(draft, opened, fell.what)
