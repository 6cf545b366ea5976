"""What the dealer's people say and do."""

from bot.model.event import Answered, Began, Blocked, Fell, Tapped, Unblocked, Wrote
from bot.model.fact import CaseOpened
from bot.model.known import Case
from bot.model.message import Button
from bot.talk import stack
from bot.talk.buttons import AnswerButton, CaseButton, CommandButton, decode
from bot.talk.cases import case_buttons, clear, head, open_case_named
from bot.talk.draft import Draft
from bot.talk.flow import Again, Heard
from bot.talk.understand import option
from bot.talk.words import line


def staff_step(draft: Draft) -> None:
    """Answer one event of a technician or of the dealer."""
    assert draft.person
    match draft.arrival.event:
        case Tapped(data=data):
            _tapped(draft, data)
        case Wrote(text=text):
            _wrote(draft, text)
        case Answered(value=text):
            _wrote(draft, text)
        case Blocked():
            draft.change_person(standing="blocked")
        case Unblocked() | Began():
            draft.change_person(standing="active")
            _overview(draft)
        case Fell(due=due, what=what):
            waiting = next((flow for flow in draft.conversation.flows if flow.waits_for == due), None)
            if waiting:
                stack.end_wait(draft, waiting, what)
        case _:
            _overview(draft)


def _tapped(draft: Draft, data: str) -> None:
    match decode(data):
        case CaseButton(name, action):
            _case(draft, name, action)
        case AnswerButton() as button:
            turn = stack.look(draft)
            fits = turn and (turn.open.serial, len(turn.open.given)) == (button.serial, button.position)
            if turn and turn.ask and fits and button.option < len(turn.options):
                stack.feed(draft, turn.ask.key, turn.options[button.option].value)
            else:
                stack.resume(draft, (line("talk.old_button"),))
        case CommandButton():
            _overview(draft)
        case _:
            draft.say(line("talk.old_button"))


def _case(draft: Draft, name: str, action: str) -> None:
    case = open_case_named(draft, name)
    if case is None:
        draft.say(line("case.closed_already", case=name))
    elif action == "clear":
        clear(draft, case)
        draft.say(line("case.cleared_by_you", name=_owner(case)))
    elif case.owner:
        stack.begin(draft, "answer_case", {"case": name, "name": _owner(case), "owner": case.owner.key})


def _owner(case: Case) -> str:
    return case.owner.name if case.owner else "?"


def _wrote(draft: Draft, text: str) -> None:
    turn = stack.look(draft)
    if turn is None or turn.ask is None:
        _overview(draft)
        return
    place = option(text, [draft.words.text(one.label) for one in turn.options])
    if place is not None:
        stack.feed(draft, turn.ask.key, turn.options[place].value)
        return
    match turn.ask.reads(text) if turn.ask.reads else None:
        case Heard(value, also):
            stack.feed(draft, turn.ask.key, value, also)
        case Again(why):
            stack.resume(draft, (why,))
        case None:
            stack.resume(draft, (line("talk.not_understood"),))


def _overview(draft: Draft) -> None:
    if not draft.known.cases:
        draft.say(line("staff.no_cases"))
    for case in draft.known.cases[:5]:
        if isinstance(case.entry.fact, CaseOpened):
            row = tuple(
                Button(label=draft.words.text(label), data=data) for label, data in case_buttons(case.entry.fact)
            )
            draft.say(head(case.entry.fact, _owner(case)), (row,))
