"""What the dealer's people say and do. Whoever has a case writes to its owner in plain text."""

from pydantic import JsonValue

from bot.model.event import Answered, Began, Blocked, Fell, File, Returned, Sent, Tapped, Unblocked, Wrote
from bot.model.fact import CaseNoted, CaseSaid
from bot.talk import card, handling, office, orders, stack, team
from bot.talk.booking import book
from bot.talk.buttons import AnswerButton, CaseButton, CommandButton, PersonButton, decode
from bot.talk.card import Story, first_name
from bot.talk.door import invited
from bot.talk.draft import Draft
from bot.talk.flow import Again, Heard
from bot.talk.flows.dose_guard import objections_to
from bot.talk.relay import NOT_PASSED, answer
from bot.talk.understand import option
from bot.talk.words import line

SHOWN = 5
SHEETS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".xls", ".ods", ".numbers")
"""Endings of files that lists are kept in."""


def staff_step(draft: Draft) -> None:
    """Answer one event of a technician or of the dealer."""
    assert draft.person
    if draft.person.standing in ("stopped", "erased"):
        if isinstance(draft.arrival.event, Began) and draft.arrival.event.invite:
            invited(draft)
        elif not isinstance(draft.arrival.event, Fell | Blocked):
            draft.say(line("staff.no_longer", dealer=draft.known.dealer.name))
        return
    match draft.arrival.event:
        case Tapped(data=data):
            _tapped(draft, data)
        case Wrote(text=text, edited=edited):
            _wrote(draft, text, edited=edited)
        case Answered(asks=name, value=value):
            _answered(draft, name, value)
        case Sent(files=files, caption=caption):
            _sent(draft, files, caption)
        case Blocked():
            _left(draft)
        case Unblocked() | Began():
            draft.change_person(standing="active")
            _overview(draft)
        case (Fell() | Returned()) as ended:
            _waited(draft, ended)
        case _:
            _overview(draft)


def _waited(draft: Draft, ended: Fell | Returned) -> None:
    """What a flow waited for has come."""
    key = ended.due if isinstance(ended, Fell) else ended.errand
    waiting = next((flow for flow in draft.conversation.flows if flow.waits_for == key), None)
    if waiting:
        stack.end_wait(draft, waiting, ended.what, None if isinstance(ended, Fell) else ended.result)


def _sent(draft: Draft, files: tuple[File, ...], caption: str) -> None:
    if len(files) == 1 and _may_be_list(draft, files[0]):
        _list_given(draft, files[0], caption)
    else:
        _to_owner(draft, caption, files)


def _may_be_list(draft: Draft, file: File) -> bool:
    """Whether a file may be the dealer's list of owners: then it goes to nobody without a question."""
    assert draft.person
    is_sheet = file.what == "document" and file.name.lower().endswith(SHEETS)
    return draft.person.role == "dealer" and not draft.in_group and is_sheet


def _list_given(draft: Draft, file: File, caption: str) -> None:
    args: dict[str, JsonValue] = {"file": file.model_dump(mode="json"), "name": file.name}
    if story := _meant(draft):
        about: dict[str, JsonValue] = {"case": story.fact.case, "owner": story.name, "caption": caption}
        stack.begin(draft, "given_list", {**args, **about})
    else:
        stack.begin(draft, "bring_owners", args)


def _left(draft: Draft) -> None:
    """Nothing reaches this person any more, so the cases that they have go back to all."""
    for story in handling.mine(draft):
        handling.give_back(draft, story)
    draft.change_person(standing="blocked")


def _tapped(draft: Draft, data: str) -> None:
    pressed = decode(data)
    if office.press(draft, pressed):
        return
    match pressed:
        case CaseButton(name, "show"):
            orders.show(draft, name)
        case CaseButton(name, "again"):
            orders.open_again(draft, name)
        case CaseButton(name, action) if action.startswith("book"):
            book(draft, name, action)
        case CaseButton(name, action):
            handling.act(draft, name, action)
        case PersonButton(key, "open"):
            orders.open_for(draft, key)
        case PersonButton(key, "remove" | "gone" as action):
            team.remove(draft, key, action)
        case AnswerButton() as button:
            turn = stack.look(draft)
            fits = turn and (turn.open.serial, len(turn.open.given)) == (button.serial, button.position)
            if turn and turn.ask and fits and button.option < len(turn.options):
                stack.feed(draft, turn.ask.key, turn.options[button.option].value)
            else:
                stack.resume(draft, (line("talk.old_button"),))
        case CommandButton() if not draft.in_group:
            _overview(draft)
        case _:
            draft.say(line("talk.old_button"))


def _answered(draft: Draft, name: str, value: str) -> None:
    """An answer to the open question of that name, in no language."""
    turn = stack.look(draft)
    if turn and turn.ask and (turn.ask.name or turn.ask.key) == name and value in [one.value for one in turn.options]:
        stack.feed(draft, turn.ask.key, value)
    else:
        _wrote(draft, value)


def _goes_to_the_office(draft: Draft, text: str) -> bool:
    """Do what the dealer asks for; a word without a slash may be an answer, or meant for the owner of a case."""
    turn = stack.look(draft)
    busy = (turn is not None and turn.ask is not None) or bool(handling.mine(draft))
    return (text.startswith("/") or not busy) and office.obey(draft, text)


def _wrote(draft: Draft, text: str, *, edited: bool = False) -> None:
    if text.strip().casefold() == "/cases":
        _overview(draft)
        return
    if (_goes_to_the_office(draft, text) and not edited) or orders.obey(draft, text):
        return
    turn = stack.look(draft)
    if turn is None or turn.ask is None or edited:
        _to_owner(draft, text, edited=edited)
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


def _to_owner(draft: Draft, text: str, files: tuple[File, ...] = (), *, edited: bool = False) -> None:
    """Pass words and files on to the owner of the case that this person writes in, or keep a note in it."""
    story = _meant(draft)
    if story is None:
        if draft.in_group:
            _among_us(draft, text)
        else:
            _overview(draft, refused=True)
        return
    if (note := _note_in(draft, text)) is not None and not files:
        handling.write(draft, story, CaseNoted(case=story.fact.case, text=note[:4096]))
        draft.say(line("case.note_kept", name=story.name))
        return
    if story.owner is None or not story.reachable:
        draft.say(line("case.unreachable", name=story.name))
        return
    if files and all(file.what in NOT_PASSED for file in files):
        draft.say(line("case.file_lost"))
        return
    case = story.fact.case
    if objections_to(story, text, draft.known.dealer, draft.now):
        kept: list[JsonValue] = [file.model_dump(mode="json") for file in files]
        stack.begin(draft, "say_dose", {"case": case, "text": text, "files": kept, "edited": edited})
        return
    said = CaseSaid(case=case, side="staff", text=text[:4096], files=files, edited=edited)
    handling.write(draft, story, said)
    answer(draft, said)
    draft.say(line("case.sent", name=story.name))


def _among_us(draft: Draft, text: str) -> None:
    """What was said in the topic of a case by somebody who does not have it stays there; a note is kept."""
    story = handling.story_named(draft, draft.known.case_here)
    if story is None:
        draft.say(line("case.closed_already", case=draft.known.case_here))
    elif (note := _note_in(draft, text)) is not None:
        handling.write(draft, story, CaseNoted(case=story.fact.case, text=note[:4096]))
        draft.say(line("case.note_kept", name=story.name))
    elif holder := story.holder(draft.known.staff):
        told = line("case.among_us", name=story.name, holder=first_name(holder))
        draft.say(told, handling.labelled(draft, card.over(story)))
    else:
        draft.say(line("case.among_us_free", name=story.name), handling.labelled(draft, card.offered(story)))


def _meant(draft: Draft) -> Story | None:
    """The case that this person writes in: the one chosen last, or the only one they have."""
    mine = handling.mine(draft)
    if draft.in_group:
        return next((story for story in mine if story.fact.case == draft.known.case_here), None)
    chosen = next((story for story in mine if story.fact.case == draft.conversation.case), None)
    return chosen or (mine[0] if len(mine) == 1 else None)


def _note_in(draft: Draft, text: str) -> str | None:
    """What stands behind the word for a note, in the reader's language or ours."""
    word, colon, rest = text.partition(":")
    said = word.strip().casefold()
    if colon and rest.strip() and said in ("note", draft.words.text(line("case.note_word")).casefold()):
        return rest.strip()
    return None


def _overview(draft: Draft, *, refused: bool = False) -> None:
    """The open cases. `refused`: what was just written went to nobody."""
    stories = handling.stories(draft)
    if not stories:
        draft.say(line("staff.no_cases"), handling.labelled(draft, office.menu()) if office.may(draft) else ())
        return
    if refused:
        draft.say(line("case.for_whom" if len(handling.mine(draft)) > 1 else "case.take_first"))
    for story in stories[:SHOWN]:
        holder = story.holder(draft.known.staff)
        if holder == draft.person:
            draft.say(card.head(story), handling.labelled(draft, card.answering(story)))
        elif holder:
            draft.say(card.taken_by(story, holder), handling.labelled(draft, card.over(story)))
        else:
            draft.say(card.head(story), handling.labelled(draft, card.offered(story)))
    if len(stories) > SHOWN:
        draft.say(line("staff.more_cases", count=len(stories) - SHOWN))
