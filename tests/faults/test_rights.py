"""Who may do what: every command, order, task and button, tried by everybody who can write to the bot.

The rows come from the product's own tables. What has no rule here fails, and so does a rule for what is no more. A rule
names who may; for them something has to come of it, and for everybody else nothing may: no fact, no message to anybody,
no conversation, nothing shown. To whom a thing does not belong, it looks like one that does not exist.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import bot
from bot.desk.rounds.telling import BUTTONS
from bot.model.event import Began, Tapped, Wrote
from bot.model.person import digest_of
from bot.schedule.reminders import NAMES
from bot.talk import alarm, commands, handling, office, orders, round_answers
from bot.talk.buttons import (
    AnswerButton,
    CaseButton,
    CommandButton,
    PersonButton,
    Pressed,
    ReminderButton,
    RoundButton,
    encode,
)
from bot.talk.owner import BEFORE_CONSENT
from bot.talk.words import languages
from tests.faults.town import INVITES, PEOPLE, Attempt, Town

BOT = Path(bot.__file__).parent
NOBODY: frozenset[str] = frozenset()
HOUSEHOLD = frozenset({"owner", "mate"})
OWNERS = HOUSEHOLD | {"owner in danger", "owner whose case is over", "other owner", "foreign owner"}
ANY_OWNER = OWNERS | {"newcomer"}
DEALER = frozenset({"dealer"})
ALONE = frozenset({"holder", "technician", "dealer"})
STAFF = ALONE | {"technician in the group", "dealer in the group"}
THEIRS = frozenset({"foreign technician", "foreign dealer"})
STRANGERS = frozenset({"stranger", "foreign stranger"})
REMOVED = frozenset({"removed technician", "removed dealer"})

COMMANDS = {
    **dict.fromkeys(["start", "stop", "erase", "cancel", "help", "back", "language", "danger"], ANY_OWNER),
    **dict.fromkeys(["test", "fill", "startup", "pause", "export", "person", "soaked", "new_strips"], OWNERS),
    **dict.fromkeys(["better_ph", "shocked", "refill", "quiet", "reminders", "units", "settings", "open"], OWNERS),
    **dict.fromkeys(["restart_flow", "tub", "history", "chart", "calendar", "card", "dose", "correct"], OWNERS),
    **dict.fromkeys(["household", "tubs", "hand_on"], OWNERS),
}
"""What owners may say at any time, in their own chat and about their own tub; some before they agreed to anything."""
TASKS = dict.fromkeys(
    ["round", "new_round", "last_rounds", "attention", "more_names", "numbers", "needs", "duplicates", "audit"], DEALER
)
ORDERS = {
    **dict.fromkeys(["help", "start"], ALONE | THEIRS),
    **dict.fromkeys(["find", "figures", "team", "case"], ALONE | THEIRS),
    "import": DEALER | {"foreign dealer"},
    "invites": DEALER | {"foreign dealer"},
}
CASES = {
    **dict.fromkeys(["take", "answer", "give", "hold", "free", "test", "plan", "close"], frozenset({"holder"})),
    **dict.fromkeys(["over", "note", "show", "clear"], STAFF | {"holder"}),
    **dict.fromkeys(["again"], STAFF),
    "standing": frozenset({"holder"}),
    "book": frozenset({"holder"}),
    "back": frozenset({"owner whose case is over"}),
    "helped": frozenset({"owner whose case is over"}),
    "mistake": frozenset({"owner in danger"}),
}
"""What may be done with a case that Tom has; `again`, `back` and `helped`: with one that is over."""
PERSONS = {
    "open": STAFF,
    **dict.fromkeys(["card", "chart", "hand", "hand_on"], DEALER),
    **dict.fromkeys(["remove", "gone"], DEALER | {"dealer in the group"}),
}
ABOUT_OWNERS = {"open", "card", "chart", "hand", "hand_on"}
ROUNDS = {
    **dict.fromkeys(["pause", "resume", "cancel", "report"], DEALER),
    **dict.fromkeys(["done", "call", "read"], ANY_OWNER - {"foreign owner"}),
}
REMINDERS = dict.fromkeys(["done", "later", "not_mine"], HOUSEHOLD)
LETS_IN = {"fresh": frozenset({"stranger"}) | REMOVED, "abroad": frozenset({"foreign stranger"})}


@pytest.fixture(scope="module")
def town() -> Iterator[Town]:
    town = Town()
    yield town
    town.world.close()


def actions_in_source(button: str) -> set[str]:
    """The actions of such buttons that the conversations name one by one."""
    found = re.compile(rf'{button}\([\w.]+, ("\w+"(?: \| "\w+")*)')
    texts = (path.read_text("utf-8") for path in BOT.rglob("*.py"))
    return {name for text in texts for names in found.findall(text) for name in re.findall(r"\w+", names)}


def tap(pressed: Pressed) -> Tapped:
    return Tapped(data=encode(pressed))


def same(one: Attempt, other: Attempt) -> bool:
    """Whether nobody could tell the two apart by what is said, or by what would come of them."""
    said = [re.sub(r"p-[a-z]+-\d+", "the case", text) for text in (*one.told, "|", *other.told)]
    middle = said.index("|")
    return (said[:middle], one.changed) == (said[middle + 1 :], other.changed)


def cases_of(town: Town, action: str) -> str:
    return {"again": town.closed, "back": town.closed, "helped": town.closed, "mistake": town.danger}.get(
        action, town.case
    )


def round_of(town: Town, action: str) -> str:
    return {"pause": town.running, "cancel": town.running, "resume": town.paused}.get(action, town.done)


# -- nothing without a rule


def test_every_command_order_task_and_button_has_a_rule() -> None:
    assert COMMANDS.keys() == commands.FLOW_OF.keys() | commands.AT_ONCE.keys() | {"danger"}
    assert ORDERS.keys() == orders.ORDERS.keys()
    assert TASKS.keys() == office.TASKS.keys()
    assert CASES.keys() == handling.ACTIONS.keys() | actions_in_source("CaseButton") | {"book"}
    assert PERSONS.keys() == actions_in_source("PersonButton") | office.ON_PERSON.keys()
    assert ROUNDS.keys() == {name for names in BUTTONS.values() for name in names} | set(round_answers.ANSWERS)


def test_what_is_obeyed_before_consent_is_what_the_rules_say() -> None:
    assert {name for name, may in COMMANDS.items() if "newcomer" in may} == BEFORE_CONSENT


# -- commands


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_touches_nobody_else_and_is_nothing_to_those_it_is_not_for(town: Town, name: str, who: str) -> None:
    variants = {"language": [f"language:{one}" for one in languages()], "danger": ["danger"]}
    variants["danger"] += [f"danger:{kind}" for kind in alarm.KINDS]
    unknown = town.tries(who, tap(CommandButton("no_such")))
    for command in variants.get(name, [name]):
        attempt = town.tries(who, tap(CommandButton(command)))
        if name == "danger" and who in ANY_OWNER | STRANGERS:
            assert attempt.told
            assert not {one for one in attempt.reached if not one.startswith("tells ")}
        elif who in COMMANDS[name]:
            welcomed = (name, who) == ("start", "newcomer")
            assert same(attempt, unknown) == welcomed, command
            assert not attempt.reached - {"errand privacy.export"}, command
        else:
            assert same(attempt, unknown), command
            assert not attempt.begun - {"welcome"}


# -- the dealer's people


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("name", TASKS)
def test_rounds_are_for_the_dealer_alone(town: Town, name: str, who: str) -> None:
    unknown = town.tries(who, tap(CommandButton("no_such")))
    tapped, written = town.tries(who, tap(CommandButton(name))), town.tries(who, Wrote(text=f"/{name}"))
    if who in TASKS[name] | {"foreign dealer"}:
        assert not same(tapped, unknown)
        assert (tapped.told, tapped.begun) == (written.told, written.begun)
    else:
        assert same(tapped, unknown)
        assert not written.begun & {
            "round",
            "cancel_round",
            "attention",
            "more_names",
            "numbers",
            "needs",
            "duplicates",
            "audit",
        }
    for key in (town.done, town.running, town.paused):
        assert who in DEALER or key not in " ".join(written.told + tapped.told)


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("name", ORDERS)
def test_an_order_shows_and_does_nothing_for_those_it_is_not_for(town: Town, name: str, who: str) -> None:
    words = {"find": " quince", "case": " Adaline"}.get(name, "")
    attempt = town.tries(who, Wrote(text=f"/{name}{words}"))
    if who in ORDERS[name]:
        assert attempt.told
    else:
        assert not attempt.begun & {"invites", "bring_owners"}
        assert not {one for one in attempt.reached if one.startswith(("shown", "person", "link", "errand", "erased"))}
        assert who in HOUSEHOLD or "Tom" not in " ".join(attempt.told)
    if who in THEIRS:
        assert not attempt.reached - {f"shown{words}", "errand invites.look"}
        assert "Una" not in " ".join(attempt.told)


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("action", CASES)
def test_a_case_is_in_the_hands_of_those_who_may(town: Town, action: str, who: str) -> None:
    name = action if action != "book" else "book0"
    attempt = town.tries(who, tap(CaseButton(cases_of(town, action), name)))
    guessed = town.tries(who, tap(CaseButton("p-nobody-9", name)))
    if who in CASES[action]:
        assert not same(attempt, guessed)
        assert attempt.changed or action in ("standing", "answer", "take")
    elif who in STAFF:
        assert not {one for one in attempt.changed if not one.startswith("shown")}
    else:
        assert same(attempt, guessed)
        assert not attempt.reached


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("action", [*PERSONS, "x", ""])
def test_a_button_about_a_person_is_for_the_dealer_s_people_and_only_its_own_action_takes_somebody_out(
    town: Town, action: str, who: str
) -> None:
    whom = "p-adaline" if action in ABOUT_OWNERS else "p-una" if who != "technician" else "p-tom"
    attempt = town.tries(who, tap(PersonButton(whom, action)))
    guessed = town.tries(who, tap(PersonButton("p-nobody", action)))
    if who in PERSONS.get(action, NOBODY):
        assert not same(attempt, guessed)
        assert ("person p-una" in attempt.reached) == (action == "gone")
    else:
        assert same(attempt, guessed)
        assert not attempt.reached


def test_the_dealer_cannot_take_an_owner_or_themselves_out(town: Town) -> None:
    for key in ("p-dee", "p-adaline", "p-fay", "p-finn"):
        assert not town.tries("dealer", tap(PersonButton(key, "gone"))).reached


# -- rounds and reminders


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("action", ROUNDS)
def test_a_round_is_led_by_the_dealer_and_answered_by_those_it_reached(town: Town, action: str, who: str) -> None:
    attempt = town.tries(who, tap(RoundButton(round_of(town, action), action)))
    guessed = town.tries(who, tap(RoundButton("r00000000", action)))
    if who in ROUNDS[action]:
        assert attempt.changed
        assert not same(attempt, guessed)
    else:
        assert not {one for one in attempt.changed if one != "welcome"}
        assert who in DEALER or same(attempt, guessed)


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("answer", REMINDERS)
def test_a_reminder_is_answered_by_the_tub_s_own_people(town: Town, answer: str, who: str) -> None:
    for what in NAMES:
        attempt = town.tries(who, tap(ReminderButton("t-adaline", what, answer)))
        guessed = town.tries(who, tap(ReminderButton("t-nobody", what, answer)))
        if who in REMINDERS[answer] and what != "dose":
            assert attempt.changed
        else:
            assert same(attempt, guessed)
            assert not attempt.changed - {"welcome"}


# -- forged, replayed, guessed


FORGED = (
    *("", "1", "1a", "1a.", "1a.0.0.99", "1a.1.0.0", "1a.-1.0.0", "1a.9999999999.0.0", "1a.1.0.0.0", "2a.1.0.0"),
    *("1c.", "1c.round_", "1c.__class__", "1k.p-adaline-1", "1k.p-adaline-1.", "1k..take", "1k.p-adaline-1.take.x"),
    *("1k.p-adaline-1.book99", "1k.p-adaline-1.book-1", "1k.p-adaline-1.book\u0663", "1k.p-adaline-1.drop"),
    *("1p.p-una", "1p.p-una.", "1p.p-una.erase", "1p..gone", "1r.t-adaline.test.", "1r.t-adaline..done", "1o..start"),
    *("1r.t-adaline.test+refill.drop", "1o.x.discard", "\x00", "1k.\u202e.take", "'; drop table people; --"),
)


@pytest.mark.parametrize("who", PEOPLE)
def test_what_no_button_ever_carried_does_nothing(town: Town, who: str) -> None:
    for data in FORGED:
        attempt = town.tries(who, Tapped(data=data))
        assert attempt.told, data
        assert not {one for one in attempt.changed if one != "welcome" and not one.startswith("shown")}, data
        assert who in STAFF | HOUSEHOLD or not attempt.reached, data


@pytest.mark.parametrize("who", PEOPLE)
def test_an_answer_button_of_somebody_else_s_conversation_answers_nothing(town: Town, who: str) -> None:
    serials = {flow.serial for other in PEOPLE for flow in town.tries(other, Wrote(text="")).known.conversation.flows}
    own = {flow.serial for flow in town.tries(who, Wrote(text="")).known.conversation.flows}
    for serial in (serials | set(range(12))) - own:
        attempt = town.tries(who, tap(AnswerButton(serial, 0, 0)))
        assert not {one for one in attempt.changed if one != "welcome" and not one.startswith("shown")}


@pytest.mark.parametrize("who", PEOPLE)
@pytest.mark.parametrize("invite", INVITES)
def test_an_invite_lets_in_whom_it_may_once_and_nobody_by_an_old_or_guessed_one(
    town: Town, invite: str, who: str
) -> None:
    attempt = town.tries(who, Began(invite=digest_of(invite)))
    if who in LETS_IN.get(invite, NOBODY):
        assert "invite" in attempt.reached
        assert [person.role for person in attempt.outcome.people] == ["technician"]
    else:
        assert "invite" not in attempt.reached
        assert not attempt.outcome.links
        was = attempt.known.person
        assert all(was and person.role == was.role for person in attempt.outcome.people)
    if who in REMOVED and invite != "fresh":
        assert not attempt.outcome.people
