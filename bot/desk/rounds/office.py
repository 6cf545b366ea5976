"""Rounds in the dealer's own chat: what is asked for by a word, and the buttons under a round's progress."""

from bot.desk.rounds import flow  # noqa: F401  (registers the conversations)
from bot.desk.rounds.telling import BUTTONS, progress
from bot.model.message import Button
from bot.model.round import RoundOrder, RoundView
from bot.model.trail import RoundOrdered
from bot.talk import office, stack
from bot.talk.buttons import CommandButton, RoundButton, encode
from bot.talk.draft import Draft
from bot.talk.words import line

SHOWN = 3


@office.task("round")
def rounds(draft: Draft) -> None:
    """The rounds that are under way, with what can be done; where there are none, a new one is written."""
    under_way = [view for view in draft.known.rounds if view.state in ("running", "paused")]
    if not under_way:
        stack.begin(draft, "round")
        return
    for view in under_way[:SHOWN]:
        draft.say(progress(view), _buttons(draft, view))
    new = Button(label=draft.words.text(line("bulk.new")), data=encode(CommandButton("new_round")))
    draft.say(line("bulk.another"), ((new,),))


@office.task("new_round")
def new_round(draft: Draft) -> None:
    """Write a round, whatever is under way."""
    stack.begin(draft, "round")


@office.task("last_rounds")
def last_rounds(draft: Draft) -> None:
    """The newest rounds, the answers to them, and their reports."""
    ended = [view for view in draft.known.rounds if view.state in BUTTONS]
    if not ended:
        draft.say(line("bulk.none"))
    for view in reversed(ended[:SHOWN]):
        draft.say(progress(view), _buttons(draft, view))


def _buttons(draft: Draft, view: RoundView) -> tuple[tuple[Button, ...], ...]:
    names = BUTTONS.get(view.state, ())
    return (
        tuple(
            Button(label=draft.words.text(line(f"bulk.order.{name}")), data=encode(RoundButton(view.round.key, name)))
            for name in names
        ),
    )


def _pressed(draft: Draft, button: RoundButton) -> None:
    """Pause a round, go on with it, cancel what is left of it, or report on it again."""
    view = next((one for one in draft.known.rounds if one.round.key == button.round), None)
    if view is None or button.action not in BUTTONS.get(view.state, ()):
        draft.say(line("bulk.not_now") if view is None else progress(view))
        return
    if button.action == "cancel":
        stack.begin(draft, "cancel_round", {"round": button.round, "left": view.left})
        return
    order: RoundOrder = button.action  # type: ignore[assignment]
    draft.round_orders.append((button.round, order))
    if order in ("pause", "resume"):
        draft.record(RoundOrdered(round=button.round, order=order))
    draft.say(line(f"bulk.told.{order}", round=button.round))


office.ON_ROUND.append(_pressed)
