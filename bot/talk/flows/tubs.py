"""Several tubs: which one is meant, what they are called, and one more."""

from collections.abc import Sequence

from pydantic import JsonValue

from bot.model.tub import Tub
from bot.schedule.journal import filled_at
from bot.talk.draft import WHICH_TUB
from bot.talk.flow import Again, Ask, Change, Flow, Heard, Keep, Live, Next, Option, Say, Start, flow
from bot.talk.tub_names import tub_name
from bot.talk.words import Line, line, lines, verbatim

LONGEST = 30
"""Characters of a tub's name."""
CLOSE = Option("close", line("household.do.close"))


@flow(WHICH_TUB)
def which_tub(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """Ask which tub is meant; whoever reads the answer goes on with what was written."""
    tubs = yield Keep("tubs", _tubs)
    yield Ask("which_tub", line("tubs.which"), _options(tubs), columns=1)
    return None


@flow("tubs")
def tubs(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """The tubs, and naming the one that is meant."""
    there = yield Keep("tubs", _tubs)
    names = tuple(option.label for option in _options(there))
    text = line("tubs.one" if len(names) == 1 else "tubs.list", tubs=names)
    name = Option("name", line("tubs.do.name"))
    said = yield Ask("what", text, (*(_options(there) if len(names) > 1 else ()), name, CLOSE), name="tubs", columns=1)
    if said == "name":
        return Next("name_tub")
    if said == "close":
        yield Say(line("household.closed"))
    return None


@flow("name_tub")
def name_tub(start: Start) -> Flow:
    """Give the tub a name of its own."""
    assert start.tub
    called = tub_name(start.tub, (start.tub,))
    name = yield Ask("name", line("tubs.name", tub=called), (Option("", line("button.skip")),), _reads_name)
    if name:
        yield Change("set", tub={"name": name})
    yield Say(line("tubs.named", tub=verbatim(str(name))) if name else line("household.closed"))
    return None


@flow("another_tub")
def another_tub(start: Start) -> Flow:
    """An owner has come to one more tub: what is it called, and what has to be known of it."""
    assert start.tub
    here = start.tub.key
    others = yield Keep("others", lambda live: any(one.key != here for one in live.known.tubs))
    said: Line = line("tubs.another") if others else line("tubs.back")
    if others and not start.tub.name:
        name = yield Ask("name", lines(said, line("tubs.name_new")), (Option("", line("button.skip")),), _reads_name)
        if name:
            yield Change("set", tub={"name": name})
    else:
        yield Say(said)
    ready = yield Keep("ready", lambda live: _is_ready(start.tub, live))
    return None if ready else Next("welcome")


def _is_ready(tub: Tub | None, live: Live) -> JsonValue:
    """Whether nothing has to be asked of a tub before it can be cared for."""
    return tub is not None and bool(tub.volume and tub.sanitizer) and filled_at(live.journal) is not None


def _tubs(live: Live) -> JsonValue:
    return [tub.model_dump(mode="json", include={"key", "dealer", "name", "model"}) for tub in live.known.tubs]


def _options(kept: object) -> tuple[Option, ...]:
    """The tubs that were there, oldest first."""
    assert isinstance(kept, list)
    there: Sequence[Tub] = [Tub.model_validate(one) for one in kept]
    return tuple(Option(f"/about:{tub.key}", tub_name(tub, there)) for tub in reversed(there))


def _reads_name(text: str) -> Heard | Again | None:
    name = " ".join(text.split())
    if not name or name.startswith("/"):
        return None
    return Heard(name) if len(name) <= LONGEST else Again(line("tubs.name_long", most=LONGEST))
