"""Running a flow: from the top, fed with what it was given, up to what it now asks or waits for."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from pydantic import JsonValue, TypeAdapter
from pydantic_core import to_jsonable_python

from bot.model.conversation import Done, Given, OpenFlow
from bot.model.due import Due
from bot.model.enclosure import Enclosure
from bot.model.errand import Errand
from bot.model.fact import CaseOpened, CaseSaid, Corrected, Plain, PlanSent, Told
from bot.model.message import Button
from bot.schedule.cases import dose_withheld
from bot.schedule.journal import in_danger
from bot.talk import relay
from bot.talk.buttons import AnswerButton, CommandButton, encode
from bot.talk.cases import deliver, open_case
from bot.talk.draft import Draft
from bot.talk.flow import (
    FLOWS,
    Ask,
    Change,
    Doing,
    Erase,
    Flow,
    Keep,
    Leave,
    Live,
    Next,
    Option,
    OrderRound,
    Record,
    Say,
    Start,
    Tell,
    Wait,
    Withdraw,
    WriteRound,
)
from bot.talk.mates import leave
from bot.talk.words import Line, Span, line, lines

PLAIN: TypeAdapter[Plain] = TypeAdapter(Plain)


SCREEN, ROWS = 900, 14
"""Characters, and written lines, that a phone shows at once (common practice)."""
SHORT = 160
"""Characters of three lines or so."""


class NotResumable(Exception):
    """A flow could not be run with what it was given: it has changed too much since."""


class KeptFailed(Exception):
    """A value to be kept could not be computed. That is a fault, not a flow that has changed: it goes to the engine."""


@dataclass
class Turn:
    """How far a flow has come."""

    open: OpenFlow
    says: list[Line] = field(default_factory=list)
    shows: list[tuple[Line, Enclosure]] = field(default_factory=list)
    """What is said with an enclosure, each a message of its own."""
    ask: Ask | None = None
    wait: Wait | None = None
    finished: bool = False
    next: Next | None = None
    offers: tuple[Option, ...] = ()
    """Commands offered with what was said, where nothing is asked."""
    fixed: set[str] = field(default_factory=set)
    """Keys of answered questions that cannot be undone."""
    met: set[str] = field(default_factory=set)
    """Keys of the effects on the way."""

    @property
    def options(self) -> tuple[Option, ...]:
        """The buttons that can be tapped now."""
        if self.ask:
            return self.ask.options
        return self.wait.early if self.wait else ()


def run(draft: Draft, opened: OpenFlow, new: frozenset[str] = frozenset(), *, fresh: bool = False) -> Turn:
    """Run `opened` as far as it goes. `new` are the keys given by this very arrival: what the flow said before the
    first of them was said with the question itself. `fresh`: the flow begins now. Raises NotResumable.
    """
    try:
        return _Runner(draft, opened, new, fresh=fresh).run()
    except (LookupError, TypeError, ValueError, AssertionError) as error:
        raise NotResumable(f"{opened.flow} cannot be resumed: {error!r}") from error


class _Runner:
    def __init__(self, draft: Draft, opened: OpenFlow, new: frozenset[str], *, fresh: bool) -> None:
        self.draft = draft
        self.new = new
        self.turn = Turn(opened)
        self.in_new = False
        self.speaks = fresh or bool(new)
        self.given = {given.key: given for given in opened.given}
        self.flow: Flow = FLOWS[opened.flow](
            Start(draft.known.dealer, opened.person, opened.tub, opened.args, opened.began)
        )

    def run(self) -> Turn:
        received: object = None
        while True:
            try:
                doing = self.flow.send(received)
            except StopIteration as end:
                self.turn.finished, self.turn.next = True, end.value
                return self._spoken()
            if isinstance(doing, Ask | Wait) and doing.key not in self.given:
                self._stop_at(doing)
                return self._spoken()
            received = self._do(doing)

    def _do(self, doing: Doing) -> object:
        match doing:
            case Say(text, enclosure) if enclosure:
                self.turn.shows.append((text, enclosure))
            case Say(text):
                self.turn.says.append(text)
                self.turn.offers = doing.offers or self.turn.offers
            case Keep(key, make):
                return self._keep(key, make)
            case Record(key, fact):
                return self._effect(key, fact, doing.at, doing.tub)
            case Change():
                self._change(doing)
            case Tell():
                self._tell(doing)
            case Withdraw(key, entry):
                self._withdraw(key, entry)
            case Erase() | Leave():
                self._depart(doing)
            case WriteRound() | OrderRound():
                self._round(doing)
            case Ask(key) | Wait(key):
                if isinstance(doing, Ask) and doing.fixed and self.given[key].value not in doing.undoable:
                    self.turn.fixed.add(key)
                return self._feed(key)
        return None

    def _stop_at(self, doing: Ask | Wait) -> None:
        if isinstance(doing, Ask):
            self.turn.ask = doing
        else:
            self.turn.wait = doing
            self._set_timer(doing)

    def _spoken(self) -> Turn:
        if not self.speaks:
            self._unsay()
        return self.turn

    def _unsay(self) -> None:
        """What was said and shown so far went out before."""
        self.turn.says.clear()
        self.turn.shows.clear()

    def _feed(self, key: str) -> JsonValue:
        if not self.in_new:
            self._unsay()
        self.in_new = self.in_new or key in self.new
        return self.given[key].value

    def _give(self, given: Given) -> None:
        self.given[given.key] = given
        self.turn.open = self.turn.open.model_copy(update={"given": (*self.turn.open.given, given)})

    def _keep(self, key: str, make: Callable[[Live], JsonValue]) -> JsonValue:
        if key not in self.given:
            known = self.draft.known.model_copy(update={"tub": self.draft.tub, "person": self.draft.person})
            live = Live(self.draft.now, known, self.draft.journal)
            try:
                value = make(live)
            except Exception as error:
                raise KeptFailed(f"{self.turn.open.flow} could not compute {key!r}") from error
            self._give(Given(key=key, how="kept", value=value, at=self.draft.now))
        return self.given[key].value

    def _effect(self, key: str, fact: Plain, at: datetime | None = None, tub: str | None = None) -> str:
        self.turn.met.add(key)
        text = PLAIN.dump_json(fact).decode()
        before = next((done for done in self.turn.open.done if done.key == key), None)
        if before and before.fact == text:
            return before.entry
        if before:
            entry = before.entry
            self.draft.record(Corrected(of=entry, fact=fact), at=at, tub=tub)
        else:
            entry = self.draft.record(fact, at=at, tub=tub)
            if isinstance(fact, CaseOpened):
                open_case(self.draft, fact)
            elif isinstance(fact, CaseSaid) and fact.side == "staff":
                relay.answer(self.draft, fact)
            elif isinstance(fact, PlanSent):
                deliver(self.draft, fact, tub)
        self._mark(Done(key=key, entry=entry, fact=text))
        return entry

    def _mark(self, done: Done) -> None:
        others = tuple(one for one in self.turn.open.done if one.key != done.key)
        self.turn.open = self.turn.open.model_copy(update={"done": (*others, done)})

    def _tell(self, tell: Tell) -> None:
        known = self.draft.known
        people = [*known.household, *known.staff, *(case.owner for case in known.cases if case.owner)]
        person = next(person for person in people if person.key == tell.person)
        if all(done.key != tell.key for done in self.turn.open.done):
            self.draft.tell(person, tell.text, (tell.buttons,) if tell.buttons else (), lane="reply")
            self._mark(Done(key=tell.key, entry="", fact=""))

    def _change(self, change: Change) -> None:
        for about, values, apply in (
            ("tub", change.tub, self.draft.change_tub),
            ("person", change.person, self.draft.change_person),
        ):
            if not values:
                continue
            told = Told.model_validate({"about": about, "values": to_jsonable_python(values)})
            before = len(self.draft.entries)
            self._effect(f"{change.key}.{about}", told)
            if len(self.draft.entries) > before:
                apply(**values)

    def _withdraw(self, key: str, entry: str) -> None:
        if all(done.key != key for done in self.turn.open.done):
            self._mark(Done(key=key, entry=self.draft.record(Corrected(of=entry)), fact=""))

    def _depart(self, doing: Erase | Leave) -> None:
        if all(done.key != doing.key for done in self.turn.open.done):
            self._mark(Done(key=doing.key, entry="", fact=""))
            if isinstance(doing, Erase):
                self.draft.forget_person()
            else:
                leave(self.draft)

    def _round(self, doing: WriteRound | OrderRound) -> None:
        if any(done.key == doing.key for done in self.turn.open.done):
            return
        self._mark(Done(key=doing.key, entry="", fact=""))
        if isinstance(doing, OrderRound):
            self.draft.round_orders.append((doing.round, doing.order))
        else:
            wakes = self._timer(doing.round.wakes) if doing.round.wakes else ""
            self.draft.rounds.append(doing.round.model_copy(update={"wakes": wakes}))

    def _timer(self, wait: str) -> str:
        """The key of the due row that ends a wait."""
        return f"t.{self.turn.open.person.key}.{self.turn.open.serial}.{wait}"

    def _set_timer(self, wait: Wait) -> None:
        person = self.turn.open.person.key
        key = self._timer(wait.key)
        if self.turn.open.waits_for == key:
            return
        self.turn.open = self.turn.open.model_copy(update={"waits_for": key})
        dealer = self.draft.known.dealer.key
        if wait.errand:
            kind, args = wait.errand
            self.draft.errands.append(
                Errand(key=key, dealer=dealer, person=person, kind=kind, what=wait.key, args=dict(args))
            )
            return
        at = self.draft.now + timedelta(minutes=wait.minutes)
        tub = self.draft.tub.key if self.draft.tub else None
        self.draft.set_due(Due(key=key, dealer=dealer, kind="timer", what=wait.key, person=person, tub=tub, at=at))


WITHOUT_WATER = frozenset(
    {
        "welcome",
        "erase",
        "ask_a_person",
        "language",
        "settings",
        "quiet_hours",
        "units",
        "reminders",
        "pause",
        "later",
        "put_aside",
        "household",
        "which_tub",
        "tubs",
        "name_tub",
        "another_tub",
    }
)
"""Flows that name no dose: they go on while a danger is open."""


def is_withheld(draft: Draft, flow: str) -> bool:
    """Whether a flow has to wait until staff have cleared a danger."""
    return flow not in WITHOUT_WATER and in_danger(draft.journal)


def show(draft: Draft, turn: Turn, before: tuple[Line, ...] = (), waiting: Line | None = None) -> None:
    """Say what the flow said and what it asks or waits for, in one message where a phone shows it at once. `waiting`
    stands for what a wait says.
    """
    says = [*before, *turn.says]
    hand_out(draft, turn)
    if (turn.ask or turn.wait) and is_withheld(draft, turn.open.flow):
        draft.say(lines(*before, line("danger.paused")))
    elif turn.ask:
        ask = turn.ask
        late = ask.late if ask.until and draft.now > ask.until else None
        if ask.dose and dose_withheld(draft.journal):
            says, late = list(before), line("case.doses_held")
        if says and not _fits(draft, lines(*says, late or ask.text)):
            draft.say(lines(*says))
            says = []
        draft.say(
            lines(*says, late or ask.text),
            _keyboard(draft, turn),
            asks=ask.name or ask.key,
            dose=None if late else ask.dose,
            wait_minutes=ask.wait_minutes,
        )
    elif turn.wait:
        minutes = turn.wait.wait_minutes if turn.wait.wait_minutes is not None else round(turn.wait.minutes) or None
        draft.say(lines(*says, waiting or turn.wait.text), _keyboard(draft, turn), wait_minutes=minutes)
    elif says:
        draft.say(lines(*says), _keyboard(draft, turn))


def show_in_short(draft: Draft, turn: Turn) -> None:
    """Ask again what is open, without what was said with it; what fills more than a few lines is only pointed at."""
    assert turn.ask
    short = turn.ask.dose is None and len(draft.words.text(turn.ask.text)) <= SHORT
    what = turn.ask.text if short else line("talk.still_open")
    draft.say(what, _keyboard(draft, turn), asks=turn.ask.name or turn.ask.key)


def _fits(draft: Draft, what: Line) -> bool:
    """Whether a phone shows it without scrolling."""
    text = draft.words.text(what)
    return len(text) <= SCREEN and sum(bool(row.strip()) for row in text.splitlines()) <= ROWS


def hand_out(draft: Draft, turn: Turn) -> None:
    """Say what goes with an enclosure."""
    for text, enclosure in turn.shows:
        draft.say(text, enclosure=enclosure)


def _keyboard(draft: Draft, turn: Turn) -> tuple[tuple[Button, ...], ...]:
    position = len(turn.open.given)
    buttons = []
    for number, option in enumerate(turn.options or turn.offers):
        pressed = (
            CommandButton(option.value[1:])
            if option.value.startswith("/")
            else AnswerButton(turn.open.serial, position, number)
        )
        buttons.append(Button(label=draft.words.text(option.label), data=encode(pressed)))
    columns = turn.ask.columns if turn.ask else 2
    return tuple(tuple(buttons[start : start + columns]) for start in range(0, len(buttons), columns))


def remaining(draft: Draft, turn: Turn) -> Line:
    """How long a wait still takes."""
    if turn.wait and turn.wait.errand:
        return turn.wait.text
    due = next((due for due in draft.known.dues if due.key == turn.open.waits_for), None)
    minutes = max(1, round((due.at - draft.now).total_seconds() / 60)) if due else 1
    return line("wait.left", span=Span(minutes))
